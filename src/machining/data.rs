//! Cutting data of a material by way of cutting and tool material, and what is missing of them.

use std::fmt;

use super::practice::{HSS_SPEED, UNKNOWN_DRILL_FEED, group_chip, unknown_life_min};
use crate::catalogue::{Material, Speeds, ToolMaterial, Tools};

/// Why no plan can be made.
#[derive(Clone, Debug, PartialEq)]
pub enum MachiningError {
    /// The stock holds no end mill.
    NoEndMill,
    /// The machine has no laser.
    NoLaser {
        /// Id of the machine.
        machine: String,
    },
    /// No energy is known for cutting the material by laser.
    NoSeverance {
        /// Id of the material.
        material: String,
    },
    /// The material has no specific cutting force (`kc11_mpa`, `mc`).
    NoCuttingForce {
        /// Id of the material.
        material: String,
    },
    /// No cutting speed of the material is known for a way of cutting, with any tool.
    NoSpeed {
        /// Id of the material.
        material: String,
        /// Way of cutting.
        work: Work,
    },
}

impl fmt::Display for MachiningError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MachiningError::NoEndMill => write!(f, "no end mill is in stock"),
            MachiningError::NoLaser { machine } => write!(f, "`{machine}` is no laser cutter"),
            MachiningError::NoSeverance { material } => write!(
                f,
                "no speed is known for cutting `{material}` by laser: it is no metal"
            ),
            MachiningError::NoCuttingForce { material } => write!(
                f,
                "`{material}` has no specific cutting force (`kc11_mpa`, `mc`) in the catalogue, so that milling and \
                 drilling can't be estimated"
            ),
            MachiningError::NoSpeed { material, work } => {
                let (doing, key) = (work.words(), work.key());
                write!(
                    f,
                    "`{material}` has no speed of {doing} (`{key}_carbide_low_m_min`, `{key}_carbide_high_m_min`, or \
                     the same of hss) in the catalogue, so that {doing} can't be estimated"
                )
            }
        }
    }
}

impl std::error::Error for MachiningError {}

/// A way of cutting that has speeds of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// Milling.
    Mill,
    /// Drilling.
    Drill,
}

impl Work {
    fn words(self) -> &'static str {
        match self {
            Work::Mill => "milling",
            Work::Drill => "drilling",
        }
    }

    /// How the catalogue's keys begin.
    fn key(self) -> &'static str {
        match self {
            Work::Mill => "mill",
            Work::Drill => "drill",
        }
    }

    fn speeds(self, material: &Material, tool: ToolMaterial) -> Option<Speeds> {
        match self {
            Work::Mill => material.mill_speeds(tool),
            Work::Drill => material.drill_speeds(tool),
        }
    }

    /// Whether the stock holds such a tool; a drill that is not in stock is one of high-speed steel.
    fn uses(self, tools: &Tools, of: ToolMaterial) -> bool {
        match self {
            Work::Mill => tools.end_mills.iter().any(|mill| mill.material == of),
            Work::Drill => {
                of == ToolMaterial::Hss || tools.drills.iter().any(|drill| drill.material == of)
            }
        }
    }
}

const BOTH: [ToolMaterial; 2] = [ToolMaterial::Hss, ToolMaterial::Carbide];

/// The material under the tool. Pairs are for tools of (high-speed steel, carbide).
#[derive(Clone, Debug, PartialEq)]
pub(super) struct CuttingData {
    pub kc11: f64,
    pub mc: f64,
    /// Speeds, in m/min.
    pub mill: [f64; 2],
    pub drill: [f64; 2],
    /// Whether it can be drilled.
    pub drilling: Result<(), MachiningError>,
    /// Drill feed a turn at 1.5 and 12.5 mm.
    pub feed_at: Option<(f64, f64)>,
    pub chip_share: f64,
    /// Taylor's constant and exponent.
    pub taylor: [Option<(f64, f64)>; 2],
    pub group: char,
}

impl CuttingData {
    /// The data of a material; what is derived or assumed of it is told in `assumed`.
    ///
    /// # Errors
    /// [`MachiningError`] where it cannot be milled for want of a cutting force or a speed.
    pub(super) fn of(
        material: &Material,
        tools: &Tools,
        assumed: &mut Vec<String>,
    ) -> Result<CuttingData, MachiningError> {
        let (Some(kc11), Some(mc)) = (material.kc11_mpa, material.mc) else {
            return Err(MachiningError::NoCuttingForce {
                material: material.id.clone(),
            });
        };
        let mill = speeds(material, Work::Mill, tools, assumed)?;
        let drill = speeds(material, Work::Drill, tools, assumed);
        let data = CuttingData {
            kc11,
            mc,
            mill,
            // Spots and broken edges are milled.
            drill: drill.clone().unwrap_or(mill),
            drilling: drill.map(|_| ()),
            feed_at: material
                .drill_feed_at_1_5_mm
                .zip(material.drill_feed_at_12_5_mm),
            chip_share: group_chip(material.iso_group),
            taylor: BOTH.map(|tool| material.taylor(tool)),
            group: material.iso_group,
        };
        data.tell_assumed(material, tools, assumed);
        Ok(data)
    }

    fn tell_assumed(&self, material: &Material, tools: &Tools, assumed: &mut Vec<String>) {
        let name = &material.name;
        if !"PMKNSH".contains(self.group) {
            assumed.push(format!(
                "{name}: no group of ISO 513 (P, M, K, N, S, H) in the catalogue, cautious chip loads assumed"
            ));
        }
        if self.feed_at.is_none() {
            assumed.push(format!(
                "{name}: no drill feed in the catalogue, {UNKNOWN_DRILL_FEED} of the diameter a turn assumed"
            ));
        }
        for tool in BOTH {
            if self.taylor[tool as usize].is_none() && Work::Mill.uses(tools, tool) {
                assumed.push(format!(
                    "{name}: no life of {} end mills (`taylor_c_...`, `taylor_n_...`) in the catalogue, {} min in cut assumed",
                    tool.words(),
                    unknown_life_min(self.group)
                ));
            }
        }
    }
}

/// Cutting speeds in m/min for (HSS, carbide), the middle of the range; what is not known is derived from the
/// other, with a remark if the stock holds such a tool.
fn speeds(
    material: &Material,
    work: Work,
    tools: &Tools,
    assumed: &mut Vec<String>,
) -> Result<[f64; 2], MachiningError> {
    let middle = |tool| work.speeds(material, tool).map(Speeds::middle);
    let known = BOTH.map(middle);
    let both = match known {
        [Some(hss), Some(carbide)] => [hss, carbide],
        [Some(hss), None] => [hss, hss / HSS_SPEED],
        [None, Some(carbide)] => [HSS_SPEED * carbide, carbide],
        [None, None] => {
            return Err(MachiningError::NoSpeed {
                material: material.id.clone(),
                work,
            });
        }
    };
    for tool in BOTH {
        if known[tool as usize].is_none() && work.uses(tools, tool) {
            assumed.push(format!(
                "{}: no {} speed for {} in the catalogue, {:.0} m/min assumed",
                material.name,
                work.words(),
                tool.words(),
                both[tool as usize]
            ));
        }
    }
    Ok(both)
}
