//! What can go wrong with a frame's structure.

use super::distortion::OutsideRange;
use std::fmt;

/// Why a frame could not be computed.
#[derive(Clone, Debug, PartialEq)]
pub enum StructureError {
    /// A length, thickness, modulus or mass is not finite or not of the right sign.
    Size {
        /// What it is.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// The section reaches to or beyond the centre of the arc.
    Tight {
        /// Which segment kind of the layout.
        kind: usize,
        /// Radius of the path, in mm.
        radius_mm: f64,
        /// How far the section reaches toward the centre, in mm.
        reach_mm: f64,
    },
    /// A support, action or mass names a node that is not there.
    NoNode {
        /// The node.
        node: usize,
        /// How many there are.
        nodes: usize,
    },
    /// Two supports at one node hold directions in different axes.
    MixedAxes {
        /// The node.
        node: usize,
    },
    /// The supports leave the whole frame free to move.
    FreeToMove {
        /// Direction of the free displacement at the frame's middle, plan axes, of unit length or zero.
        slide: [f64; 3],
        /// Axis of the free rotation, plan axes, of unit length or zero.
        turn: [f64; 3],
    },
    /// A floating frame is loaded by actions that do not balance.
    Unbalanced {
        /// Sum of the forces, in N.
        force: [f64; 3],
        /// Sum of the moments about the plan's origin, in N mm.
        moment: [f64; 3],
    },
    /// The equations could not be solved at a node, which a rigid-motion check should have found.
    Singular {
        /// The layout's node, or the last before the place.
        node: usize,
        /// Degree of freedom: 0-2 displacement, 3-5 rotation, 6 warping.
        freedom: usize,
    },
    /// The iteration for the frequency did not settle.
    NoFrequency,
    /// A blade has no stable equilibrium at an opening, or none was found.
    NoOpening {
        /// The opening, in mm.
        to_mm: f64,
    },
}

impl fmt::Display for StructureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            StructureError::Size { what, value } => {
                write!(f, "compute the frame: {what} is {value}")
            }
            StructureError::Tight {
                radius_mm,
                reach_mm,
                ..
            } => write!(
                f,
                "compute the frame: the section reaches {reach_mm:.2} mm toward the centre of an arc of radius {radius_mm:.2} mm"
            ),
            StructureError::NoNode { node, nodes } => {
                write!(f, "find node {node}: the frame has {nodes}")
            }
            StructureError::MixedAxes { node } => write!(
                f,
                "hold node {node}: its supports use both plan and path axes"
            ),
            StructureError::FreeToMove { slide, turn } => {
                write!(
                    f,
                    "hold the frame: it is free to {}",
                    free_motion(slide, turn)
                )
            }
            StructureError::Unbalanced { force, moment } => write!(
                f,
                "balance the floating frame: forces add up to ({:.4}, {:.4}, {:.4}) N and moments to ({:.4}, {:.4}, {:.4}) N mm",
                force[0], force[1], force[2], moment[0], moment[1], moment[2]
            ),
            StructureError::Singular { node, freedom } => write!(
                f,
                "solve the frame at node {node}: {} has no stiffness",
                [
                    "moving along x",
                    "moving along y",
                    "moving along z",
                    "turning about x",
                    "turning about y",
                    "turning about z",
                    "warping"
                ][(*freedom).min(6)]
            ),
            StructureError::NoFrequency => write!(f, "find the first frequency"),
            StructureError::NoOpening { to_mm } => write!(
                f,
                "open the blade to {to_mm:.3} mm: it finds no stable shape there; see what its supports hold along the \
                 path"
            ),
        }
    }
}

/// A rigid motion in words.
fn free_motion(slide: &[f64; 3], turn: &[f64; 3]) -> String {
    let vector = |v: &[f64; 3]| format!("({:.3}, {:.3}, {:.3})", v[0], v[1], v[2]);
    let length = |v: &[f64; 3]| v.iter().map(|x| x * x).sum::<f64>();
    match (length(slide) > 1e-12, length(turn) > 1e-12) {
        (true, true) => format!(
            "turn about {} while its middle slides along {}",
            vector(turn),
            vector(slide)
        ),
        (false, true) => format!("turn about {} through its middle", vector(turn)),
        _ => format!("slide along {}", vector(slide)),
    }
}

impl std::error::Error for StructureError {}

/// A caution about a result that was computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Caution {
    /// Which segment kind of the layout.
    pub kind: usize,
    /// Why its section is out of the checked range.
    pub reason: OutsideRange,
}
