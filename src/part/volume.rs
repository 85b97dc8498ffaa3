//! Exact volume and mass, itemised.

/// One line of the volume account.
#[derive(Clone, Debug, PartialEq)]
pub struct MassItem {
    /// What it is: `floor`, `outer wall`, `rib 1`, `boss lug`, `holes relief`, `bearing insert`.
    pub name: String,
    /// Volume, in mm³: negative for holes, zero for carried masses.
    pub volume_mm3: f64,
    /// Mass, in g: negative for holes.
    pub mass_g: f64,
}

/// Volume and mass of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Volume {
    /// Volume of the metal, in mm³.
    pub metal_mm3: f64,
    /// Mass of the metal, in g.
    pub metal_g: f64,
    /// Mass of the metal and of all carried masses, in g.
    pub total_g: f64,
    /// Where it comes from; adds up to the totals.
    pub items: Vec<MassItem>,
}
