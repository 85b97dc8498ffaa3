//! The path cut at every change: segments of constant section, perforation and curvature.

use super::{Depth, Hole, Section, StripName};

/// Holes repeated along a segment in one strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Perforation {
    /// The drilled strip.
    pub strip: StripName,
    /// Index of the row in [`super::Part::hole_rows`].
    pub row: usize,
    /// Diameter, in mm.
    pub diameter_mm: f64,
    /// Pitch along the path, in mm.
    pub pitch_mm: f64,
    /// Through, or blind.
    pub depth: Depth,
    /// Number of parallel rows.
    pub rows: usize,
    /// Distance between rows across the strip, in mm.
    pub row_gap_mm: f64,
    /// Shift of every second row, as a share of the pitch.
    pub stagger: f64,
    /// Middle of the rows across the strip, in mm (`y` in the floor, `z` elsewhere).
    pub offset_mm: f64,
}

/// A length of the path over which nothing changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Start along the path, in mm.
    pub start_mm: f64,
    /// Which [`SegmentKind`] it is: equal kinds are equal in everything but their place.
    pub kind: usize,
}

/// What equal segments share.
#[derive(Clone, Debug, PartialEq)]
pub struct SegmentKind {
    /// Length along the path, in mm.
    pub length_mm: f64,
    /// Signed curvature of the path, in 1/mm.
    pub curvature: f64,
    /// Index in [`Layout::sections`].
    pub section: usize,
    /// Holes in its strips; empty where there are none.
    pub perforations: Vec<Perforation>,
}

/// A part cut into segments, with a node at every joint.
///
/// A closed path of n segments has n nodes, node i at the start of segment i; segment n-1 runs back to node
/// 0. An open path has n + 1 nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Whether the last segment joins the first.
    pub closed: bool,
    /// Length of the path, in mm.
    pub length_mm: f64,
    /// Distinct sections: 0 is the part's own, the others are bosses'.
    pub sections: Vec<Section>,
    /// Distinct segments.
    pub kinds: Vec<SegmentKind>,
    /// Segments in order along the path.
    pub segments: Vec<Segment>,
    /// Stations of the nodes, in mm.
    pub nodes_mm: Vec<f64>,
    /// For each station asked for, its node.
    pub station_nodes: Vec<usize>,
    /// Every drilled hole of the hole rows (bores of bosses are not among them), row by row.
    pub holes: Vec<Hole>,
}
