//! The frame as a solid: meshed in hexahedra slab by slab, equal slabs condensed once and joined.
//!
//! Source: substructures, Przemieniecki 1963; a chain of equal ones doubled (both from memory).

mod bend;
mod chain;
mod condense;
mod cut;
mod density;
mod dissect;
mod drill;
mod error;
mod frame;
mod grid;
mod hexahedron;
mod inside;
mod lengths;
mod mean;
mod mesh;
mod mesh_error;
mod modes;
mod pattern;
mod piece;
mod planes;
mod reduce;
mod slab;
mod slopes;
mod spec;
mod surface;
#[cfg(test)]
mod tests;
mod ties;
mod vibrate;

pub use cut::cut;
pub use density::Density;
pub use error::SolidError;
pub use frame::{HolePeak, Solid, SolidResponse};
pub use mesh_error::MeshError;
pub use modes::{Mode, Vibration, modes};
pub use slab::{Cut, Face, HoleWall, Link, Plane, Seat, Slab};
pub use surface::Patch;
