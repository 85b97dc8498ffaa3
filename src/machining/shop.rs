//! The shop: stock, material and machine, with every cutting condition that no design changes worked out once.

use std::fmt;

use super::cost::{Rates, Wear};
use super::cutting;
use super::life::taylor_life_min;
use super::practice::*;
use super::step::{Limit, Step, Tool};
use super::tooling::{Bit, Cutter, Limits, chip_load};
use crate::catalogue::{Machine, Material, ToolMaterial, Tools, chip_loads, usual_drill_price};
use crate::part::drill_point_height_mm;

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
                "`{material}` has no specific cutting force (`kc11_mpa`, `mc`) in the catalogue"
            ),
        }
    }
}

impl std::error::Error for MachiningError {}

/// Speed and feed of a cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cut {
    pub rpm: f64,
    pub feed_mm_s: f64,
    pub limit: Limit,
}

/// How an end mill is in the metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Engaged {
    /// Depth of cut along the tool, in mm.
    pub depth: f64,
    /// Width of cut across it, in mm.
    pub width: f64,
    /// How far the tool reaches down beside metal, in mm.
    pub reach: f64,
    /// How far the wall beside the tool gives, in mm per N; 0 where none is cut.
    pub wall_give: f64,
}

impl Engaged {
    /// A cut beside no wall that could give.
    pub(super) fn new(depth: f64, width: f64, reach: f64) -> Engaged {
        Engaged {
            depth,
            width,
            reach,
            wall_give: 0.0,
        }
    }
}

/// Stock, material and machine, ready to plan any number of designs.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    pub(super) cutters: Vec<Cutter>,
    pub(super) drills: Vec<Bit>,
    pub(super) spot_rpm: f64,
    pub(super) spot_wear: Wear,
    pub(super) limits: Limits,
    pub(super) rates: Rates,
    pub(super) plain_slenderness: f64,
    /// What had to be assumed about the material.
    pub(super) assumed: Vec<String>,
    cutting: CuttingData,
}

/// The material under the tool.
#[derive(Clone, Debug, PartialEq)]
struct CuttingData {
    kc11: f64,
    mc: f64,
    mill: [f64; 2],
    drill: [f64; 2],
    feed_at: Option<(f64, f64)>,
    chip_share: f64,
    /// Taylor's constant and exponent.
    taylor: [Option<(f64, f64)>; 2],
    group: char,
}

impl Shop {
    /// The shop for these tools in stock, this material and this machine.
    ///
    /// # Errors
    /// [`MachiningError`] where no end mill is in stock or the material's cutting force is not known.
    pub fn new(
        tools: &Tools,
        material: &Material,
        machine: &Machine,
    ) -> Result<Shop, MachiningError> {
        if tools.end_mills.is_empty() {
            return Err(MachiningError::NoEndMill);
        }
        let (Some(kc11), Some(mc)) = (material.kc11_mpa, material.mc) else {
            return Err(MachiningError::NoCuttingForce {
                material: material.id.clone(),
            });
        };
        let mut assumed = Vec::new();
        let cutting = CuttingData {
            kc11,
            mc,
            mill: speeds(
                material,
                "milling",
                Material::mill_speeds,
                tools,
                &mut assumed,
            ),
            drill: speeds(
                material,
                "drilling",
                Material::drill_speeds,
                tools,
                &mut assumed,
            ),
            feed_at: material
                .drill_feed_at_1_5_mm
                .zip(material.drill_feed_at_12_5_mm),
            chip_share: group_chip(material.iso_group),
            taylor: [ToolMaterial::Hss, ToolMaterial::Carbide].map(|tool| material.taylor(tool)),
            group: material.iso_group,
        };
        if !"PMKNSH".contains(material.iso_group) {
            assumed.push(format!(
                "{}: no group of ISO 513 (P, M, K, N, S, H) in the catalogue, cautious chip loads assumed",
                material.name
            ));
        }
        if cutting.feed_at.is_none() {
            assumed.push(format!("{}: no drill feed in the catalogue, {UNKNOWN_DRILL_FEED} of the diameter a turn assumed", material.name));
        }
        if material.price_per_kg.is_none() {
            assumed.push(format!(
                "{}: no price (`price_per_kg`) in the catalogue, {UNKNOWN_PRICE_PER_KG} a kilogram assumed",
                material.name
            ));
        }
        for (tool, unknown) in [ToolMaterial::Hss, ToolMaterial::Carbide]
            .into_iter()
            .zip(cutting.taylor.iter().map(Option::is_none))
        {
            if unknown && tools.end_mills.iter().any(|mill| mill.material == tool) {
                assumed.push(format!(
                    "{}: no life of {} end mills (`taylor_c_...`, `taylor_n_...`) in the catalogue, {} min in cut assumed",
                    material.name,
                    tool.words(),
                    unknown_life_min(material.iso_group)
                ));
            }
        }
        let mut shop = Shop {
            cutters: Vec::new(),
            drills: Vec::new(),
            spot_rpm: 0.0,
            spot_wear: Wear {
                price: SPOT_PRICE,
                life: 1.0,
            },
            limits: Limits::of(machine),
            rates: Rates::of(material, machine),
            plain_slenderness: plain_slenderness(material.iso_group, material.modulus_gpa),
            assumed,
            cutting,
        };
        shop.spot_rpm = shop
            .capped(
                shop.cutting.drill[ToolMaterial::Carbide as usize],
                0.5 * SPOT_TOOL_MM,
            )
            .0;
        shop.spot_wear.life = shop.mill_life_s(
            shop.spot_rpm,
            0.5 * SPOT_TOOL_MM,
            ToolMaterial::Carbide,
            None,
        );
        shop.cutters = shop.sharpen(tools);
        shop.drills = tools
            .drills
            .iter()
            .map(|drill| Bit {
                flute_length: drill.flute_length_mm,
                wear: Wear {
                    price: drill.price,
                    life: drill
                        .life_holes
                        .unwrap_or_else(|| holes_per_drill(material.iso_group)),
                },
                words: format!("drill {}, {}", drill.id, drill.material.words()),
                ..shop.bit(drill.diameter_mm, drill.material)
            })
            .collect();
        shop.drills
            .sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        Ok(shop)
    }

    /// The same shop, parts made so many in one go (at least one).
    pub fn for_batch(mut self, parts: f64) -> Shop {
        self.rates.batch = parts.max(1.0);
        self
    }

    fn sharpen(&self, tools: &Tools) -> Vec<Cutter> {
        let loads = chip_loads();
        let mut cutters: Vec<_> = tools
            .end_mills
            .iter()
            .map(|mill| {
                let hss = mill.material == ToolMaterial::Hss;
                let share = self.cutting.chip_share * if hss { HSS_CHIP } else { 1.0 };
                let (rpm, limit) =
                    self.capped(self.cutting.mill[mill.material as usize], mill.diameter_mm);
                Cutter {
                    diameter: mill.diameter_mm,
                    flutes: mill.flutes,
                    flute_length: mill.flute_length_mm,
                    chip: share * chip_load(&loads, mill.diameter_mm),
                    side_force: 0.0,
                    rpm,
                    limit,
                    wear: Wear {
                        price: mill.price,
                        life: self.mill_life_s(rpm, mill.diameter_mm, mill.material, mill.life_min),
                    },
                    words: format!(
                        "end mill {}, {} flutes, {}",
                        mill.id,
                        mill.flutes,
                        mill.material.words()
                    ),
                }
            })
            .collect();
        cutters.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        for cutter in &mut cutters {
            cutter.side_force = self.side_force(cutter);
        }
        cutters
    }

    /// Force with which a cutter pushes a wall aside in its finish pass, per depth of cut, in N/mm.
    fn side_force(&self, cutter: &Cutter) -> f64 {
        let cut = self.mill(cutter, Engaged::new(1.0, FINISH_ALLOWANCE_MM, 0.0));
        let chip_load = 60.0 * cut.feed_mm_s / (cutter.rpm * cutter.flutes);
        let width = FINISH_ALLOWANCE_MM.min(cutter.diameter);
        let chip = cutting::mean_chip_mm(chip_load, width, cutter.diameter);
        let CuttingData { kc11, mc, .. } = self.cutting;
        SIDE_SHARE * cutting::specific_force_mpa(kc11, mc, chip) * chip
    }

    /// Speed in rev/min for a cutting speed in m/min and a diameter in mm, within what the spindle can do.
    fn capped(&self, cutting_speed: f64, diameter: f64) -> (f64, Limit) {
        let wanted = cutting::spindle_speed_rpm(cutting_speed, diameter);
        if wanted > self.limits.fastest_rpm {
            (self.limits.fastest_rpm, Limit::SpindleSpeed)
        } else {
            (wanted.max(self.limits.slowest_rpm), Limit::ChipLoad)
        }
    }

    /// A drill of any diameter in mm.
    pub(super) fn bit(&self, diameter: f64, material: ToolMaterial) -> Bit {
        let (rpm, mut limit) = self.capped(self.cutting.drill[material as usize], diameter);
        let mut feed_per_turn = match self.cutting.feed_at {
            Some((at_1_5, _)) if diameter < 1.5 => at_1_5 * diameter / 1.5,
            Some((at_1_5, at_12_5)) => {
                at_1_5 + (at_12_5 - at_1_5) * (diameter.min(12.5) - 1.5) / 11.0
            }
            None => UNKNOWN_DRILL_FEED * diameter,
        };
        let CuttingData { kc11, mc, .. } = self.cutting;
        let sine_of_half_point = 0.5 / drill_point_height_mm(1.0).hypot(0.5);
        let chip = 0.5 * feed_per_turn * sine_of_half_point;
        let torque = cutting::drill_torque_n_m(
            cutting::specific_force_mpa(kc11, mc, chip),
            feed_per_turn,
            diameter,
        );
        let power_w = torque * rpm * std::f64::consts::PI / 30.0;
        if power_w > self.limits.power_w {
            feed_per_turn *= (self.limits.power_w / power_w).powf(1.0 / (1.0 - mc));
            limit = Limit::Power;
        }
        let mut feed_mm_s = rpm * feed_per_turn / 60.0;
        if feed_mm_s > self.limits.feed {
            feed_mm_s = self.limits.feed;
            limit = Limit::FeedLimit;
        }
        Bit {
            diameter,
            flute_length: f64::INFINITY,
            hss: material == ToolMaterial::Hss,
            rpm,
            feed_mm_s,
            limit,
            wear: self.special_wear(diameter),
            words: String::new(),
        }
    }

    /// What a step takes of its tool's life, and that tool's wear.
    pub(super) fn wear(&self, step: &Step) -> (f64, Wear) {
        match step.tool {
            Tool::Hand | Tool::Laser => (0.0, Wear::NONE),
            Tool::EndMill(index) => (step.cut_s, self.cutters[index].wear),
            Tool::Spot => (step.cut_s, self.spot_wear),
            Tool::Drill(index) => (step.count, self.drills[index].wear),
            Tool::SpecialDrill(diameter) => (step.count, self.special_wear(diameter)),
        }
    }

    /// Wear of a drill that is not in stock, by diameter in mm.
    pub(super) fn special_wear(&self, diameter: f64) -> Wear {
        Wear {
            price: usual_drill_price(diameter, ToolMaterial::Hss),
            life: holes_per_drill(self.cutting.group),
        }
    }

    /// Time in cut in s that a milling tool lasts: Taylor's, at most what its row or the material's group allows.
    fn mill_life_s(
        &self,
        rpm: f64,
        diameter: f64,
        material: ToolMaterial,
        longest_min: Option<f64>,
    ) -> f64 {
        let group = self.cutting.group;
        let speed = rpm * std::f64::consts::PI * diameter / 1000.0;
        let life = match self.cutting.taylor[material as usize] {
            Some((constant, exponent)) => taylor_life_min(speed, constant, exponent),
            None => unknown_life_min(group),
        };
        60.0 * life.min(longest_min.unwrap_or_else(|| longest_life_min(group)))
    }

    /// Speed and feed of an end mill in a cut: chip load with radial thinning, then the machine's feed, then its
    /// power (Kienzle); the last that bound is named.
    pub(super) fn mill(&self, cutter: &Cutter, engaged: Engaged) -> Cut {
        let Engaged { depth, width, .. } = engaged;
        let width = width.clamp(1e-3 * cutter.diameter, cutter.diameter);
        let chip_load = cutting::thinned_chip_load_mm(cutter.chip, width, cutter.diameter)
            .min(MOST_THINNING * cutter.chip);
        let per_s = cutter.rpm * cutter.flutes / 60.0;
        let mut cut = Cut {
            rpm: cutter.rpm,
            feed_mm_s: per_s * chip_load,
            limit: cutter.limit,
        };
        if cut.feed_mm_s > self.limits.feed {
            cut.feed_mm_s = self.limits.feed;
            cut.limit = Limit::FeedLimit;
        }
        let chip = cutting::mean_chip_mm(cut.feed_mm_s / per_s, width, cutter.diameter);
        let CuttingData { kc11, mc, .. } = self.cutting;
        let power_w =
            depth * width * cut.feed_mm_s * cutting::specific_force_mpa(kc11, mc, chip) / 1000.0;
        if power_w > self.limits.power_w {
            cut.feed_mm_s *= (self.limits.power_w / power_w).powf(1.0 / (1.0 - mc));
            cut.limit = Limit::Power;
        }
        cut
    }

    /// The widest end mill not wider than `room` in mm, if there is one.
    pub(super) fn widest_within(&self, room: f64) -> Option<usize> {
        self.cutters
            .iter()
            .rposition(|cutter| cutter.diameter <= room)
    }

    /// The drill in stock for a hole of this diameter in mm, if there is one.
    pub(super) fn drill_for(&self, diameter: f64) -> Option<usize> {
        let off = |bit: &Bit| (bit.diameter - diameter).abs();
        (0..self.drills.len())
            .filter(|&index| off(&self.drills[index]) <= SAME_DRILL_MM)
            .min_by(|&a, &b| off(&self.drills[a]).total_cmp(&off(&self.drills[b])))
    }

    /// The tool in words; empty for none.
    pub(super) fn words(&self, tool: Tool) -> String {
        match tool {
            Tool::Hand | Tool::Laser => String::new(),
            Tool::EndMill(index) => self.cutters[index].words.clone(),
            Tool::Drill(index) => self.drills[index].words.clone(),
            Tool::SpecialDrill(diameter) => format!("drill {diameter:.3} mm, not in stock"),
            Tool::Spot => format!("90° mill {SPOT_TOOL_MM} mm, 2 flutes, carbide"),
        }
    }
}

/// Cutting speeds in m/min for (HSS, carbide), the middle of the range; what is not known is derived from the
/// other, with a remark if the stock holds such a tool.
fn speeds(
    material: &Material,
    doing: &str,
    range: fn(&Material, ToolMaterial) -> Option<crate::catalogue::Speeds>,
    tools: &Tools,
    assumed: &mut Vec<String>,
) -> [f64; 2] {
    let hss = range(material, ToolMaterial::Hss).map(|speeds| speeds.middle());
    let carbide = range(material, ToolMaterial::Carbide).map(|speeds| speeds.middle());
    let used = |of: ToolMaterial| match doing {
        "milling" => tools.end_mills.iter().any(|mill| mill.material == of),
        _ => of == ToolMaterial::Hss || tools.drills.iter().any(|drill| drill.material == of),
    };
    let mut note = |of: ToolMaterial, known: Option<f64>, speed: f64| {
        if known.is_none() && used(of) {
            assumed.push(format!(
                "{}: no {doing} speed for {} in the catalogue, {speed:.0} m/min assumed",
                material.name,
                of.words()
            ));
        }
        speed
    };
    let slow = hss
        .or(carbide.map(|speed| HSS_SPEED * speed))
        .unwrap_or(UNKNOWN_SPEED_M_MIN);
    let fast = carbide
        .or(hss.map(|speed| speed / HSS_SPEED))
        .unwrap_or(UNKNOWN_SPEED_M_MIN);
    [
        note(ToolMaterial::Hss, hss, slow),
        note(ToolMaterial::Carbide, carbide, fast),
    ]
}
