//! Why a part can't be meshed.

use std::fmt;

/// Why a part can't be meshed. Its beam is not touched by it.
#[derive(Clone, Debug, PartialEq)]
pub enum MeshError {
    /// A hole touches or cuts another hole, or nearly so.
    HolesTouch {
        /// Name of the row or boss.
        name: String,
        /// Where along the path, in mm.
        station_mm: f64,
        /// Metal left, in mm; negative where they overlap.
        metal_mm: f64,
    },
    /// Rows stand so close that the holes of one reach between those of the other.
    RowsEntwined {
        /// Name of the row.
        name: String,
        /// Where along the path, in mm.
        station_mm: f64,
    },
    /// A hole touches or cuts the edge of its strip or a strip that stands on it.
    HoleCutsEdge {
        /// Name of the row or boss.
        name: String,
        /// Metal left, in mm; negative where it is cut.
        metal_mm: f64,
    },
    /// The drill point of a blind hole comes out below, or no skin is left.
    NoSkin {
        /// Name of the row or boss.
        name: String,
        /// Metal left under the full diameter, in mm.
        metal_mm: f64,
    },
    /// The section changes within the reach of a hole.
    HoleCutsJoint {
        /// Name of the row or boss.
        name: String,
        /// Where the section changes, in mm along the path.
        station_mm: f64,
    },
    /// Blind holes in walls and ribs are not meshed.
    BlindInWall {
        /// Name of the row.
        name: String,
    },
    /// The path turns so tightly that the section folds onto itself.
    TightArc {
        /// Radius of the path, in mm.
        radius_mm: f64,
        /// Distance of the section's edge from the path, in mm.
        edge_mm: f64,
    },
    /// One slab has more elements than can be condensed.
    TooManyElements {
        /// Where along the path, in mm.
        station_mm: f64,
        /// Elements it would have.
        elements: usize,
        /// Elements it may have.
        most: usize,
    },
}

impl fmt::Display for MeshError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MeshError::HolesTouch {
                name,
                station_mm,
                metal_mm,
            } => write!(
                f,
                "mesh holes {name} at s = {station_mm:.2} mm: {metal_mm:.3} mm of metal between neighbours; widen the pitch or drill smaller"
            ),
            MeshError::RowsEntwined { name, station_mm } => write!(
                f,
                "mesh holes {name} at s = {station_mm:.2} mm: rows reach between one another; set them farther apart, or in line"
            ),
            MeshError::HoleCutsEdge { name, metal_mm } => write!(
                f,
                "mesh holes {name}: {metal_mm:.3} mm of metal to an edge or a standing strip; move the row or drill smaller"
            ),
            MeshError::NoSkin { name, metal_mm } => write!(
                f,
                "mesh blind holes {name}: {metal_mm:.3} mm of metal under them; drill less deep or through"
            ),
            MeshError::HoleCutsJoint { name, station_mm } => write!(
                f,
                "mesh holes {name} at s = {station_mm:.2} mm, where the section changes; give the row more clearance"
            ),
            MeshError::BlindInWall { name } => write!(
                f,
                "mesh blind holes {name} in a wall or rib; drill them through"
            ),
            MeshError::TightArc { radius_mm, edge_mm } => write!(
                f,
                "mesh an arc of radius {radius_mm:.2} mm: the section reaches {edge_mm:.2} mm toward its centre; make the arc wider"
            ),
            MeshError::TooManyElements {
                station_mm,
                elements,
                most,
            } => write!(
                f,
                "mesh the frame at s = {station_mm:.2} mm: {elements} elements without a plane to cut at, {most} allowed; give rows of holes one pitch, or a coarser mesh"
            ),
        }?;
        write!(f, " (the beam's answer stands)")
    }
}

impl std::error::Error for MeshError {}
