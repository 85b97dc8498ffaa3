//! The frame as a solid: meshed in hexahedra slab by slab, equal slabs condensed once and joined.

mod bend;
mod cut;
mod density;
mod drill;
mod grid;
mod lengths;
mod mesh;
mod mesh_error;
mod pattern;
mod planes;
mod slab;
mod spec;

pub use cut::cut;
pub use density::Density;
pub use mesh_error::MeshError;
pub use slab::{Cut, Face, HoleWall, Link, Plane, Seat, Slab};
