//! Rows of drilled holes.

use super::StripName;

/// How deep a hole goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Depth {
    /// Through the strip.
    Through,
    /// Depth of the full diameter from the drilled face, in mm; the drill point goes deeper.
    Blind(f64),
}

/// A row (or several parallel rows) of equal holes in one strip, axis normal to the strip's face.
///
/// Holes in the floor are drilled along the tool axis from the top; holes in walls and ribs along `y`, walls
/// from their outside face.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleRow {
    /// Name from the study.
    pub name: String,
    /// Which strip is drilled.
    pub strip: StripName,
    /// Diameter, in mm.
    pub diameter_mm: f64,
    /// Distance between neighbouring holes of one row along the path (measured on the path), in mm.
    pub pitch_mm: f64,
    /// Through, or blind to a depth.
    pub depth: Depth,
    /// Number of parallel rows, 1 or more.
    pub rows: usize,
    /// Distance between neighbouring rows across the strip, in mm; of no effect for one row.
    pub row_gap_mm: f64,
    /// Shift of every second row along the path as a share of the pitch: 0 in line, 0.5 staggered.
    pub stagger: f64,
    /// Middle of the rows across the strip, in mm: `y` from the path for the floor; `z` from the underside
    /// for a wall or rib.
    pub offset_mm: f64,
    /// Range of the path (from, to) that the rows may use, in mm. `None`: the whole path.
    pub span_mm: Option<(f64, f64)>,
    /// Least distance along the path from the edge of a hole to a boss or to the end of an open path or of
    /// the span, in mm.
    pub clearance_mm: f64,
}

/// One drilled hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    /// Index of its row in [`super::Part::hole_rows`].
    pub row: usize,
    /// Which of the parallel rows, from 0 at the lowest offset.
    pub line: usize,
    /// Centre along the path, in mm.
    pub station_mm: f64,
    /// Centre across the strip, in mm: `y` in the floor, `z` in walls and ribs.
    pub across_mm: f64,
}

/// Point angle of a common twist drill, in degrees (ISO 5419 type N for steel and general use).
pub const POINT_ANGLE_DEG: f64 = 118.0;

/// Height of the cone that the drill's point leaves, in mm, for a 118 degree point.
///
/// `(d/2) / tan(59 deg)`. `diameter` in mm.
pub fn drill_point_height_mm(diameter: f64) -> f64 {
    0.5 * diameter / (0.5 * POINT_ANGLE_DEG).to_radians().tan()
}
