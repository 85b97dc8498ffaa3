//! Stiffness and strength of the frame as a chain of exact arc elements with restrained warping.
//!
//! Units here: mm, N, MPa, s, and so tonne for mass. Directions in the plan are global: x, y in the plane of
//! the path, z along the tool axis.

#![allow(
    clippy::needless_range_loop,
    reason = "matrix code is written with the indices of its formulas"
)]

mod blade;
mod block;
mod check;
pub mod clamp;
mod distortion;
mod element;
mod error;
mod factor;
pub mod fatigue;
mod field;
mod frequency;
mod ladder;
mod model;
mod modes;
mod notch;
mod opening;
mod perforated;
mod piece;
pub mod plate;
mod plates;
mod response;
mod run;
mod section;
mod slit;
mod stress;
mod stress_points;
mod thinwall;
mod torsion;
mod wall;
mod wide;

pub use blade::{Bent, BladePiece};
pub use distortion::{OutsideRange, outside_validated_range};
pub use error::{Caution, StructureError};
pub use field::{Field, FieldPlace, MOST_PLACES};
pub use model::{Carried, Model, PointMass};
pub use modes::{ModeKind, ModeShape};
pub use notch::{
    FarStress, HoleFactors, edge_peak_mpa, hole_factors, plate_bending, row_across_net,
    single_hole_net,
};
pub use opening::{Endurance, Opened, Opening};
pub use perforated::{StripFactors, strip_factors};
pub use response::LoadResponse;
pub use section::{Metal, SectionProperties};
pub use stress::{HoleStress, StripStress};
pub use wall::{WallGive, WallTable};

/// Axes in which a direction is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub enum Frame {
    /// Of the plan: x, y, z.
    Plan,
    /// Of the path at that place: along the path, to its left (inward on a closed path), along the tool axis.
    Path,
}

/// A support at a node.
#[derive(Clone, Debug, PartialEq)]
pub struct Support {
    /// Node of the [`crate::part::Layout`].
    pub node: usize,
    /// Axes of the held directions.
    pub frame: Frame,
    /// Held displacements along the three axes.
    pub hold_move: [bool; 3],
    /// Held rotations about the three axes.
    pub hold_turn: [bool; 3],
    /// Whether warping is held.
    pub hold_warp: bool,
}

/// A force and moment at a node.
#[derive(Clone, Debug, PartialEq)]
pub struct Action {
    /// Node of the [`crate::part::Layout`].
    pub node: usize,
    /// Axes in which the components are given.
    pub frame: Frame,
    /// Force, in N.
    pub force: [f64; 3],
    /// Moment, in N mm.
    pub moment: [f64; 3],
    /// Where the force acts off the path: (y, z) in mm, in path axes.
    pub offset_mm: (f64, f64),
}

/// A load case on a layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Loading {
    /// Supports. Empty: the frame floats, and the actions must balance.
    pub supports: Vec<Support>,
    /// Forces and moments at nodes.
    pub actions: Vec<Action>,
    /// Acceleration of the frame and all it carries, in mm/s², plan axes: the frame feels the opposite
    /// inertia force.
    pub acceleration: [f64; 3],
}
