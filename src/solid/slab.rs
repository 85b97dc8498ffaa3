//! What the mesher hands over: a frame cut by plane cross-sections into slabs, each meshed once.
//!
//! Axes of a slab: the origin at the path's point in the slab's first plane, x along the path there, y to its
//! left, z along the tool axis; mm. A slab ends in another plane cross-section, whose axes are turned about z
//! by [`Slab::turn`].

use crate::part::Pose;

/// A length of frame between two plane cross-sections in 27-node hexahedra.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Slab {
    /// Places of the nodes, in mm.
    pub nodes: Vec<[f64; 3]>,
    /// Elements, node `i + 3 j + 9 k` with i along the path, j to the left and k upward (around a hole i away
    /// from it), so that every element is right-handed.
    pub elements: Vec<[u32; 27]>,
    /// Nodes of the first plane, in the order of its [`Face`]; `u32::MAX` for those of a neighbour's section
    /// that this slab lacks.
    pub start: Vec<u32>,
    /// Nodes of the last plane, likewise.
    pub end: Vec<u32>,
    /// Walls of the drilled holes in it, whole or in part.
    pub holes: Vec<HoleWall>,
    /// Place (x, y) of the path in the last plane, in mm.
    pub reach_mm: (f64, f64),
    /// Turn of the path from first to last plane, in rad, positive to the left.
    pub turn: f64,
    /// Names the mesh's connections: slabs of equal topology have equal `elements`, `start` and `end`.
    pub topology: u64,
}

/// Nodes on the wall of a hole.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleWall {
    /// Row of the part's hole rows; `None`: the bore of a boss.
    pub row: Option<usize>,
    /// Which of the parallel rows.
    pub line: usize,
    /// Nodes on the hole's wall (and its bottom where it is blind).
    pub nodes: Vec<u32>,
}

/// The mesh of a plane cross-section: places (y, z) in mm, and 9-node quadrilaterals, node `j + 3 k`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Face {
    /// Places (y, z), in mm.
    pub nodes: Vec<[f64; 2]>,
    /// Quadrilaterals, node `j + 3 k` with j to the left and k upward.
    pub quads: Vec<[u32; 9]>,
}

/// A slab in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// Index in [`Cut::slabs`].
    pub slab: usize,
    /// Whether it stands as its own mirror image, last plane first.
    pub mirrored: bool,
}

/// A plane cross-section of the frame, between two links (or at an end).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Place along the path, in mm.
    pub station_mm: f64,
    /// Index in [`Cut::faces`].
    pub face: usize,
    /// Place and heading of the path there, in the plan.
    pub pose: Pose,
}

/// Where a station of a load, support or carried mass went: shares on one or two planes that add up to 1 and
/// whose mean place is the station. A support sits on the plane with the greater share.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seat {
    /// The station asked for, in mm.
    pub station_mm: f64,
    /// (index in [`Cut::planes`], share).
    pub shares: [(usize, f64); 2],
}

/// A frame as a chain of slabs.
///
/// Link i lies between planes i and i + 1; in a closed frame the last link ends at plane 0.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cut {
    /// Whether the last link ends at plane 0.
    pub closed: bool,
    /// Distinct slabs.
    pub slabs: Vec<Slab>,
    /// Distinct faces.
    pub faces: Vec<Face>,
    /// The chain.
    pub links: Vec<Link>,
    /// Its planes.
    pub planes: Vec<Plane>,
    /// Seats of the stations asked for, in their order.
    pub seats: Vec<Seat>,
    /// What was idealised, in words.
    pub remarks: Vec<String>,
}
