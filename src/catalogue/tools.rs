//! Drills and end mills, and how much an end mill's tooth may take.

use serde::Serialize;

use super::rows::{DrillRow, EndMillRow};

/// What a cutting tool is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ToolMaterial {
    /// High-speed steel.
    Hss,
    /// Solid cemented carbide.
    Carbide,
}

impl ToolMaterial {
    /// In words: `HSS`, `carbide`.
    pub fn words(self) -> &'static str {
        match self {
            ToolMaterial::Hss => "HSS",
            ToolMaterial::Carbide => "carbide",
        }
    }

    fn read(text: &Option<String>, default: ToolMaterial) -> Result<ToolMaterial, &'static str> {
        match text.as_deref() {
            None => Ok(default),
            Some("hss") => Ok(ToolMaterial::Hss),
            Some("carbide") => Ok(ToolMaterial::Carbide),
            Some(_) => Err("material"),
        }
    }
}

/// A twist drill with a 118 degree point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drill {
    /// Key and designation: `3.2 mm`, `1/8 in`, `#30`, `E`.
    pub id: String,
    /// `metric`, `number`, `letter`, `fraction`, or what a user's file says.
    pub system: String,
    /// Diameter, in mm.
    pub diameter_mm: f64,
    /// Length of the flutes, in mm: the deepest hole.
    pub flute_length_mm: f64,
    /// How far it reaches out of its holder, in mm; at least the flutes.
    pub reach_mm: f64,
    /// Price of one.
    pub price: f64,
    /// Holes that it lasts for, whatever is drilled; `None`: what is usual in the material.
    pub life_holes: Option<f64>,
    /// What it is made of.
    pub material: ToolMaterial,
    /// What it is good for; may be empty.
    pub note: String,
    /// Where the figures come from.
    pub source: String,
}

/// An end mill with a flat end or a corner radius.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EndMill {
    /// Key and designation: `3 mm`, `1/8 in`.
    pub id: String,
    /// Diameter, in mm.
    pub diameter_mm: f64,
    /// Number of teeth.
    pub flutes: f64,
    /// Length of the flutes, in mm.
    pub flute_length_mm: f64,
    /// Radius of the corner between side and end, in mm; 0 for a flat end.
    pub corner_radius_mm: f64,
    /// How far it reaches down beside a wall, in mm: the flutes, or more where its neck is relieved.
    pub reach_mm: f64,
    /// Price of one.
    pub price: f64,
    /// Longest time in cut before it is changed, in min; `None`: what is usual in the material.
    pub life_min: Option<f64>,
    /// What it is made of.
    pub material: ToolMaterial,
    /// What else to know; may be empty.
    pub note: String,
    /// Where the figures come from.
    pub source: String,
}

/// The tools in stock.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Tools {
    /// End mills, in any order.
    pub end_mills: Vec<EndMill>,
    /// Drills, in any order.
    pub drills: Vec<Drill>,
}

/// Price of a drill where the catalogue has none: 1.5 + 0.2 D + 0.03 D² in high-speed steel, six times that in carbide.
/// Invented, in euros.
///
/// `diameter` D in mm.
pub fn usual_drill_price(diameter: f64, material: ToolMaterial) -> f64 {
    let share = match material {
        ToolMaterial::Hss => 1.0,
        ToolMaterial::Carbide => 6.0,
    };
    share * (1.5 + 0.2 * diameter + 0.03 * diameter * diameter)
}

/// Price of an end mill where the catalogue has none: 9 + D + 0.12 D² in carbide, 0.4 of that in high-speed steel.
/// Invented, in euros.
///
/// `diameter` D in mm.
pub fn usual_mill_price(diameter: f64, material: ToolMaterial) -> f64 {
    let share = match material {
        ToolMaterial::Hss => 0.4,
        ToolMaterial::Carbide => 1.0,
    };
    share * (9.0 + diameter + 0.12 * diameter * diameter)
}

const USER: &str = "user's catalogue file";

impl Drill {
    pub(super) fn from_row(row: &DrillRow) -> Result<Drill, &'static str> {
        let diameter_mm = row.diameter_mm.ok_or("diameter_mm")?;
        let flute_length_mm = row.flute_length_mm.ok_or("flute_length_mm")?;
        let material = ToolMaterial::read(&row.material, ToolMaterial::Hss)?;
        let reach_mm = row.reach_mm.unwrap_or(flute_length_mm);
        if reach_mm < flute_length_mm {
            return Err("reach_mm");
        }
        Ok(Drill {
            id: row.id.clone().ok_or("id")?,
            system: row.system.clone().unwrap_or_else(|| "user".into()),
            diameter_mm,
            flute_length_mm,
            reach_mm,
            price: row
                .price
                .unwrap_or_else(|| usual_drill_price(diameter_mm, material)),
            life_holes: row.life_holes,
            material,
            note: row.note.clone().unwrap_or_default(),
            source: row.source.clone().unwrap_or_else(|| USER.into()),
        })
    }
}

impl EndMill {
    pub(super) fn from_row(row: &EndMillRow) -> Result<EndMill, &'static str> {
        let diameter_mm = row.diameter_mm.ok_or("diameter_mm")?;
        let corner_radius_mm = row.corner_radius_mm.unwrap_or(0.0);
        if corner_radius_mm > 0.5 * diameter_mm {
            return Err("corner_radius_mm");
        }
        let flutes = row.flutes.ok_or("flutes")?;
        if flutes.fract() != 0.0 {
            return Err("flutes");
        }
        let flute_length_mm = row.flute_length_mm.ok_or("flute_length_mm")?;
        let material = ToolMaterial::read(&row.material, ToolMaterial::Carbide)?;
        let reach_mm = row.reach_mm.unwrap_or(flute_length_mm);
        if reach_mm < flute_length_mm {
            return Err("reach_mm");
        }
        Ok(EndMill {
            id: row.id.clone().ok_or("id")?,
            diameter_mm,
            flutes,
            flute_length_mm,
            corner_radius_mm,
            reach_mm,
            price: row
                .price
                .unwrap_or_else(|| usual_mill_price(diameter_mm, material)),
            life_min: row.life_min,
            material,
            note: row.note.clone().unwrap_or_default(),
            source: row.source.clone().unwrap_or_else(|| USER.into()),
        })
    }
}

/// Chip load of a carbide end mill in aluminium at one diameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChipLoad {
    /// Diameter, in mm.
    pub diameter_mm: f64,
    /// Careful, in mm a tooth.
    pub low_mm: f64,
    /// Usual, in mm a tooth.
    pub typical_mm: f64,
    /// Bold, in mm a tooth.
    pub high_mm: f64,
}

/// Chip loads of carbide end mills with 2 or 3 flutes in aluminium, slotting or half engaged, by diameter.
///
/// Source: common practice, no source.
pub fn chip_loads() -> Vec<ChipLoad> {
    include_str!("data/chip_loads.csv")
        .lines()
        .skip(1)
        .filter_map(|line| {
            let mut cells = line.split(',').map_while(|cell| cell.parse::<f64>().ok());
            Some(ChipLoad {
                diameter_mm: cells.next()?,
                low_mm: cells.next()?,
                typical_mm: cells.next()?,
                high_mm: cells.next()?,
            })
        })
        .collect()
}
