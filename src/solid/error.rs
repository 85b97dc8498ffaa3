//! What can go wrong with a solid.

use std::fmt;

use super::condense::Bad;

/// Why the solid answer could not be had.
#[derive(Clone, Debug, PartialEq)]
pub enum SolidError {
    /// An element of a slab is turned inside out.
    Element {
        /// Which slab.
        slab: usize,
        /// Which element.
        element: usize,
    },
    /// A node of a slab has no stiffness.
    Loose {
        /// Which slab.
        slab: usize,
    },
    /// The frame can move without strain.
    Free,
    /// The iteration for the frequencies did not settle.
    Unsettled,
}

impl SolidError {
    pub(super) fn mesh(slab: usize, bad: Bad) -> SolidError {
        match bad {
            Bad::Element(element) => SolidError::Element { slab, element },
            Bad::Node(_) => SolidError::Loose { slab },
        }
    }
}

impl fmt::Display for SolidError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SolidError::Element { slab, element } => write!(
                f,
                "mesh the frame: element {element} of slab {slab} is turned inside out"
            ),
            SolidError::Loose { slab } => {
                write!(f, "mesh the frame: a node of slab {slab} hangs loose")
            }
            SolidError::Unsettled => write!(f, "find the natural frequencies in solid"),
            SolidError::Free => write!(f, "hold the frame: it can move without strain"),
        }
    }
}

impl std::error::Error for SolidError {}
