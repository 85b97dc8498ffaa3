//! Dimensions and units: the only place where numbers change their unit.
//!
//! Inside `fretwork` every number is in mm, N, s, tonne (so stress in N/mm² = MPa, density in t/mm³), rad and
//! one unit of money, unless its name says otherwise (`mass_g`).

/// Exponents of length, mass, time, angle, money.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub struct Dimension(pub [i8; 5]);

/// A unit: its symbol, what it measures, and how many base units (mm, t, s, rad, money) it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As written in a study and printed: `mm`, `N/mm`, `g`.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// Size in base units: 1 g is 1e-6 t.
    pub size: f64,
}
