//! Materials: what structure and machining need to know of them.

use std::fmt;

use serde::Serialize;

use super::rows::MaterialRow;
use super::tools::ToolMaterial;

/// Recommended range of cutting speeds, in m/min.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Speeds {
    /// Slow end, in m/min.
    pub low: f64,
    /// Fast end, in m/min.
    pub high: f64,
}

impl Speeds {
    /// Middle of the range, in m/min.
    pub fn middle(self) -> f64 {
        0.5 * (self.low + self.high)
    }
}

/// Where a group of properties comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Source {
    /// What: `density`, `elastic`, `strength`, `fatigue`, `expansion`, `cutting force`, `speeds`,
    /// `tool life`, `price`.
    pub of: &'static str,
    /// Source and its standing: read, from memory, or common practice without a source.
    pub text: String,
}

/// A material. What its rows leave out is `None`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Material {
    /// Key in the catalogue: `al6061_t6511`.
    pub id: String,
    /// Designation: `6061-T6511`.
    pub name: String,
    /// Another designation that it answers to; empty where there is none.
    pub also: String,
    /// Form and condition, and whether figures are typical or minimum.
    pub form: String,
    /// Material group of ISO 513: P, M, K, N, S, H (and O for others).
    pub iso_group: char,
    /// Density, in kg/m³.
    pub density_kg_m3: f64,
    /// Young's modulus, in GPa.
    pub modulus_gpa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Yield (0.2 % proof) strength, in MPa.
    pub yield_mpa: Option<f64>,
    /// Tensile strength, in MPa.
    pub ultimate_mpa: Option<f64>,
    /// Fatigue strength (amplitude, smooth bar, mean), in MPa.
    pub fatigue_mpa: Option<f64>,
    /// Cycles of the fatigue strength.
    pub fatigue_cycles: Option<f64>,
    /// Thermal expansion, in 1e-6 per K.
    pub expansion_1e6_per_k: Option<f64>,
    /// Specific cutting force at 1 mm chip thickness (Kienzle), in MPa.
    pub kc11_mpa: Option<f64>,
    /// Kienzle's exponent.
    pub mc: Option<f64>,
    /// Milling with carbide.
    pub mill_carbide: Option<Speeds>,
    /// Milling with high-speed steel.
    pub mill_hss: Option<Speeds>,
    /// Drilling with carbide.
    pub drill_carbide: Option<Speeds>,
    /// Drilling with high-speed steel.
    pub drill_hss: Option<Speeds>,
    /// Drill feed at 1.5 mm diameter, in mm a turn.
    pub drill_feed_at_1_5_mm: Option<f64>,
    /// Drill feed at 12.5 mm diameter, in mm a turn.
    pub drill_feed_at_12_5_mm: Option<f64>,
    /// Taylor's constant for carbide (cutting speed that wears the edge out in 1 min), in m/min.
    pub taylor_c_carbide_m_min: Option<f64>,
    /// Taylor's exponent for carbide.
    pub taylor_n_carbide: Option<f64>,
    /// Taylor's constant for high-speed steel, in m/min.
    pub taylor_c_hss_m_min: Option<f64>,
    /// Taylor's exponent for high-speed steel.
    pub taylor_n_hss: Option<f64>,
    /// Relative price of stock, 1 low to 6 high.
    pub price_class: Option<f64>,
    /// Price of stock cut to size, for a kilogram.
    pub price_per_kg: Option<f64>,
    /// What chips and offcuts are sold back for, for a kilogram.
    pub chips_per_kg: Option<f64>,
    /// Where the figures come from.
    pub sources: Vec<Source>,
    /// What else to know; may be empty.
    pub note: String,
}

/// A property that a calculation needs and the catalogue does not have.
#[derive(Clone, Debug, PartialEq)]
pub struct MissingProperty {
    /// Key of the material, drill, end mill or machine.
    pub id: String,
    /// Name of the property, as a user's file writes it.
    pub property: &'static str,
}

impl fmt::Display for MissingProperty {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "`{}` has no `{}` in the catalogue",
            self.id, self.property
        )
    }
}

impl std::error::Error for MissingProperty {}

impl Material {
    /// Yield strength, in MPa.
    ///
    /// # Errors
    /// [`MissingProperty`] where the catalogue has none.
    pub fn need_yield_mpa(&self) -> Result<f64, MissingProperty> {
        self.need(self.yield_mpa, "yield_mpa")
    }

    /// A property that must be there; `property` is its key.
    ///
    /// # Errors
    /// [`MissingProperty`] where `value` is `None`.
    pub fn need(&self, value: Option<f64>, property: &'static str) -> Result<f64, MissingProperty> {
        value.ok_or_else(|| MissingProperty {
            id: self.id.clone(),
            property,
        })
    }

    /// Recommended milling speeds with a tool of the given material, where known.
    pub fn mill_speeds(&self, tool: ToolMaterial) -> Option<Speeds> {
        match tool {
            ToolMaterial::Carbide => self.mill_carbide,
            ToolMaterial::Hss => self.mill_hss,
        }
    }

    /// Recommended drilling speeds with a tool of the given material, where known.
    pub fn drill_speeds(&self, tool: ToolMaterial) -> Option<Speeds> {
        match tool {
            ToolMaterial::Carbide => self.drill_carbide,
            ToolMaterial::Hss => self.drill_hss,
        }
    }

    /// Taylor's (constant in m/min, exponent) for a tool of the given material, where both are known.
    pub fn taylor(&self, tool: ToolMaterial) -> Option<(f64, f64)> {
        match tool {
            ToolMaterial::Carbide => self.taylor_c_carbide_m_min.zip(self.taylor_n_carbide),
            ToolMaterial::Hss => self.taylor_c_hss_m_min.zip(self.taylor_n_hss),
        }
    }

    pub(super) fn from_row(row: &MaterialRow) -> Result<Material, &'static str> {
        let text = |value: &Option<String>| value.clone().unwrap_or_default();
        let speeds = |low: Option<f64>, high: Option<f64>| {
            Some(Speeds {
                low: low?,
                high: high?,
            })
        };
        let id = row.id.clone().ok_or("id")?;
        let sources = [
            ("density", &row.density_source),
            ("elastic", &row.elastic_source),
            ("strength", &row.strength_source),
            ("fatigue", &row.fatigue_source),
            ("expansion", &row.expansion_source),
            ("cutting force", &row.cutting_force_source),
            ("speeds", &row.speed_source),
            ("tool life", &row.tool_life_source),
            ("price", &row.price_source),
        ];
        Ok(Material {
            name: row.name.clone().unwrap_or_else(|| id.clone()),
            id,
            also: text(&row.also),
            form: text(&row.form),
            iso_group: text(&row.iso_group).chars().next().unwrap_or('O'),
            density_kg_m3: row.density_kg_m3.ok_or("density_kg_m3")?,
            modulus_gpa: row.modulus_gpa.ok_or("modulus_gpa")?,
            poisson: row.poisson.ok_or("poisson")?,
            yield_mpa: row.yield_mpa,
            ultimate_mpa: row.ultimate_mpa,
            fatigue_mpa: row.fatigue_mpa,
            fatigue_cycles: row.fatigue_cycles,
            expansion_1e6_per_k: row.expansion_1e6_per_k,
            kc11_mpa: row.kc11_mpa,
            mc: row.mc,
            mill_carbide: speeds(row.mill_carbide_low_m_min, row.mill_carbide_high_m_min),
            mill_hss: speeds(row.mill_hss_low_m_min, row.mill_hss_high_m_min),
            drill_carbide: speeds(row.drill_carbide_low_m_min, row.drill_carbide_high_m_min),
            drill_hss: speeds(row.drill_hss_low_m_min, row.drill_hss_high_m_min),
            drill_feed_at_1_5_mm: row.drill_feed_at_1_5_mm,
            drill_feed_at_12_5_mm: row.drill_feed_at_12_5_mm,
            taylor_c_carbide_m_min: row.taylor_c_carbide_m_min,
            taylor_n_carbide: row.taylor_n_carbide,
            taylor_c_hss_m_min: row.taylor_c_hss_m_min,
            taylor_n_hss: row.taylor_n_hss,
            price_class: row.price_class,
            price_per_kg: row.price_per_kg,
            chips_per_kg: row.chips_per_kg,
            sources: sources
                .into_iter()
                .filter_map(|(of, text)| text.clone().map(|text| Source { of, text }))
                .collect(),
            note: text(&row.note),
        })
    }
}
