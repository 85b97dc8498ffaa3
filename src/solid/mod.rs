//! The frame as a solid: meshed in hexahedra slab by slab, equal slabs condensed once and joined.
//!
//! Source: substructures, Przemieniecki 1963; a chain of equal ones doubled (both from memory).

mod chain;
mod condense;
mod dissect;
mod error;
mod frame;
mod hexahedron;
mod mean;
mod modes;
mod reduce;
mod slab;
#[cfg(test)]
mod tests;

pub use error::SolidError;
pub use frame::{HolePeak, Solid, SolidResponse};
pub use modes::{Mode, ModeKind, Vibration, modes};
pub use slab::{Cut, Face, HoleWall, Link, Plane, Seat, Slab};
