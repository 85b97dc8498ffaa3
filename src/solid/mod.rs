//! The frame as a solid: meshed in hexahedra slab by slab, equal slabs condensed once and joined.

mod slab;

pub use slab::{Cut, Face, HoleWall, Link, Plane, Seat, Slab};
