//! The frame itself: path, section, hole rows, bosses, carried masses; and what follows from them by
//! geometry alone: segments of constant section, holes, volume, mass, geometric rules.
//!
//! Conventions. Lengths in mm, angles in rad. `s` runs along the path; `y` lies in the plane of the path and
//! points to the **left** of the direction of travel (toward the centre on a left-turning arc, so toward the
//! inside of a closed path drawn counter-clockwise); `z` is the tool axis, `z = 0` the underside of the
//! floor. The path is the line `y = 0`, midway across the floor. Curvature is positive where the path turns
//! left. The *outer* wall stands at `y = -width/2`, the *inner* wall at `y = +width/2`.

mod boss;
mod holes;
mod layout;
mod path;
mod rules;
mod section;
mod volume;

pub use boss::{Bore, Boss, CarriedMass, Counterbore};
pub use holes::{Depth, Hole, HoleRow, POINT_ANGLE_DEG, drill_point_height_mm};
pub use layout::{Layout, LayoutError, MOST_HOLES, Perforation, Segment, SegmentKind};
pub use path::{Path, PathError, Piece, Pose};
pub use rules::{Place, Rule, RuleKind, Rules};
pub use section::{Rib, Section, Slits, Strip, StripName, Wall};
pub use volume::{Item, MassItem, Volume, carried_g};

/// A frame with every dimension fixed.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Centreline of the frame.
    pub path: Path,
    /// Section wherever no boss is.
    pub section: Section,
    /// Places with another section.
    pub bosses: Vec<Boss>,
    /// Rows of drilled holes.
    pub hole_rows: Vec<HoleRow>,
    /// Masses that ride on the frame.
    pub carried: Vec<CarriedMass>,
}
