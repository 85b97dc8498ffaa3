//! What an evaluator needs to know: the study without its file.
//!
//! Formulas read from *slots*: first every design variable, then every derived value, then every measure of the
//! frame (see [`super::measures`]), then every measure from outside (see [`super::outside`]), all in base units (mm, t, s, rad).

use super::calibration::Calibration;
use super::outside::OutsideMeasure;
use super::scatter::ScatterPlan;
use crate::expression::Formula;
use crate::part::StripName;
use crate::structure::Frame;
use crate::units::Unit;

/// How a design variable may vary. Numbers in base units.
#[derive(Clone, Debug, PartialEq)]
pub enum Range {
    /// Any value between two bounds.
    Continuous {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
        /// Values are rounded to `low + k * step` where given.
        step: Option<f64>,
    },
    /// Whole numbers between two bounds, both included.
    Integer {
        /// Lower bound.
        low: i64,
        /// Upper bound.
        high: i64,
    },
    /// One of a list, in the given order.
    Choice(Vec<f64>),
}

/// A design variable.
#[derive(Clone, Debug, PartialEq)]
pub struct Variable {
    /// Name from the study.
    pub name: String,
    /// Unit for printing, as the study wrote it.
    pub unit: Unit,
    /// How it may vary.
    pub range: Range,
    /// Value in today's revision, in base units.
    pub baseline: f64,
}

/// A named formula of the study.
#[derive(Clone, Debug, PartialEq)]
pub struct Derived {
    /// Name from the study.
    pub name: String,
    /// Unit for printing.
    pub unit: Unit,
    /// Its arithmetic.
    pub formula: Formula,
    /// Whether it uses a measure, and so is known only after evaluation.
    pub after: bool,
}

/// Path with formulas for its sizes.
#[derive(Clone, Debug, PartialEq)]
pub enum PathRecipe {
    /// Circle of a radius.
    Circle(Formula),
    /// Stadium: length of the straight sides, radius of the ends.
    Stadium(Formula, Formula),
    /// Rounded rectangle: length, width, radius of the corners.
    RoundedRectangle(Formula, Formula, Formula),
    /// Chain of pieces.
    Chain {
        /// In order.
        pieces: Vec<PieceRecipe>,
        /// Whether it closes.
        closed: bool,
    },
}

/// A piece of a chain.
#[derive(Clone, Debug, PartialEq)]
pub enum PieceRecipe {
    /// Straight, of a length.
    Line(Formula),
    /// Arc: radius, angle (positive to the left).
    Arc(Formula, Formula),
}

/// A wall: thickness, height from the underside of the floor.
#[derive(Clone, Debug, PartialEq)]
pub struct WallRecipe {
    /// Thickness.
    pub thickness: Formula,
    /// Height from the underside of the floor.
    pub height: Formula,
}

/// A rib: offset, thickness, height.
#[derive(Clone, Debug, PartialEq)]
pub struct RibRecipe {
    /// Middle of the rib from the path, toward the inner wall.
    pub offset: Formula,
    /// Thickness.
    pub thickness: Formula,
    /// Height from the underside of the floor.
    pub height: Formula,
}

/// A section with formulas.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionRecipe {
    /// Overall width.
    pub width: Formula,
    /// Floor thickness.
    pub floor: Formula,
    /// Outer wall.
    pub outer_wall: Option<WallRecipe>,
    /// Inner wall.
    pub inner_wall: Option<WallRecipe>,
    /// Ribs.
    pub ribs: Vec<RibRecipe>,
}

/// A place on the path.
#[derive(Clone, Debug, PartialEq)]
pub enum Station {
    /// Length along the path from its start, in mm.
    Length(Formula),
    /// Angle around a circular path from its start, in rad.
    Angle(Formula),
    /// Share of the path's length, 0 to 1.
    Share(Formula),
}

/// A boss (one entry a place).
#[derive(Clone, Debug, PartialEq)]
pub struct BossRecipe {
    /// Name.
    pub name: String,
    /// Places of its middle.
    pub at: Vec<Station>,
    /// Length along the path.
    pub length: Formula,
    /// Section over that length, complete (what the study leaves out is the part's own).
    pub section: SectionRecipe,
    /// Bore.
    pub bore: Option<BoreRecipe>,
    /// Screw through the bore: clamp force and diameter of the head's bearing face.
    pub screw: Option<(Formula, Formula)>,
}

/// A bore of a boss.
#[derive(Clone, Debug, PartialEq)]
pub struct BoreRecipe {
    /// Diameter.
    pub diameter: Formula,
    /// `None`: through.
    pub depth: Option<Formula>,
    /// Whether it is reamed.
    pub reamed: bool,
    /// Diameter and depth of its counterbore.
    pub counterbore: Option<(Formula, Formula)>,
}

/// A hole row.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleRowRecipe {
    /// Name.
    pub name: String,
    /// Drilled strip.
    pub strip: StripName,
    /// Diameter.
    pub diameter: Formula,
    /// Pitch along the path.
    pub pitch: Formula,
    /// `None`: through.
    pub depth: Option<Formula>,
    /// Number of rows (rounded to a whole number; 0 leaves the row out).
    pub rows: Formula,
    /// Distance between rows.
    pub row_gap: Formula,
    /// Shift of every second row, as a share of the pitch.
    pub stagger: Formula,
    /// Middle of the rows across the strip.
    pub offset: Formula,
    /// Range along the path.
    pub span: Option<(Station, Station)>,
    /// Clear distance to bosses and ends.
    pub clearance: Formula,
}

/// Slits that part the floor lengthwise.
#[derive(Clone, Debug, PartialEq)]
pub struct SlitRecipe {
    /// Name.
    pub name: String,
    /// Number of slits side by side (rounded to a whole number; 0 leaves them out).
    pub count: Formula,
    /// Width of each slit.
    pub width: Formula,
    /// Range along the path.
    pub span: (Station, Station),
}

/// A carried mass.
#[derive(Clone, Debug, PartialEq)]
pub struct CarriedRecipe {
    /// Name.
    pub name: String,
    /// Mass at each station, or altogether where spread.
    pub mass: Formula,
    /// Stations; empty: spread along the path.
    pub at: Vec<Station>,
    /// Centre of mass off the path (y, z).
    pub offset: (Formula, Formula),
}

/// A parametric part.
#[derive(Clone, Debug, PartialEq)]
pub struct PartRecipe {
    /// Path.
    pub path: PathRecipe,
    /// Section.
    pub section: SectionRecipe,
    /// Bosses.
    pub bosses: Vec<BossRecipe>,
    /// Slits.
    pub slits: Vec<SlitRecipe>,
    /// Hole rows.
    pub hole_rows: Vec<HoleRowRecipe>,
    /// Carried masses.
    pub carried: Vec<CarriedRecipe>,
    /// Force with which a wall's free edge is pressed, in N.
    pub press: Formula,
}

/// A support of a load case.
#[derive(Clone, Debug, PartialEq)]
pub struct SupportRecipe {
    /// Where; several places are held alike.
    pub at: Vec<Station>,
    /// Axes of the held directions.
    pub frame: Frame,
    /// Held displacements.
    pub hold_move: [bool; 3],
    /// Held rotations.
    pub hold_turn: [bool; 3],
    /// Whether warping is held.
    pub hold_warp: bool,
}

/// A force or moment of a load case.
#[derive(Clone, Debug, PartialEq)]
pub struct ActionRecipe {
    /// Where; several places are loaded alike.
    pub at: Vec<Station>,
    /// Axes of the components.
    pub frame: Frame,
    /// Force, in N.
    pub force: [Formula; 3],
    /// Moment, in N mm.
    pub moment: [Formula; 3],
    /// Where the force acts off the path (y, z).
    pub offset: (Formula, Formula),
}

/// A place moved along the tool axis.
#[derive(Clone, Debug, PartialEq)]
pub struct OpeningRecipe {
    /// Where.
    pub at: Station,
    /// How far.
    pub to: Formula,
    /// Where it comes back to.
    pub from: Formula,
}

/// A load case.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadRecipe {
    /// Name; its measures are `name.stiffness` and so on.
    pub name: String,
    /// Supports; empty: the frame floats.
    pub supports: Vec<SupportRecipe>,
    /// Forces and moments.
    pub actions: Vec<ActionRecipe>,
    /// Acceleration in plan axes, in mm/s².
    pub acceleration: [Formula; 3],
    /// A place moved far along the tool axis, instead of forces and acceleration.
    pub opening: Option<OpeningRecipe>,
    /// How the load comes and goes; `None`: fatigue is not looked at.
    pub fatigue: Option<Cycles>,
}

/// A load that comes and goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycles {
    /// How often.
    pub count: f64,
    /// Least load over the load case, -1 to below 1: -1 fully reversed, 0 from zero to the load.
    pub ratio: f64,
}

/// How two sides of a constraint must compare.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relation {
    /// Left side at most the right side.
    AtMost,
    /// Left side at least the right side.
    AtLeast,
}

/// A constraint: `value` at most or at least `limit`.
#[derive(Clone, Debug, PartialEq)]
pub struct Constraint {
    /// Name from the study.
    pub name: String,
    /// Left side.
    pub value: Formula,
    /// How it must compare.
    pub relation: Relation,
    /// Right side.
    pub limit: Formula,
    /// Unit for printing both sides.
    pub unit: Unit,
}

/// An objective.
#[derive(Clone, Debug, PartialEq)]
pub struct Objective {
    /// What it is called: its name, or the formula's text.
    pub name: String,
    /// What is made least or most.
    pub value: Formula,
    /// Whether more is better.
    pub most: bool,
    /// Share of the parts that come out so good or better, where scatter counts.
    pub quantile: Option<f64>,
    /// Unit for printing.
    pub unit: Unit,
}

/// All that an evaluator needs of a study.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// Design variables; slots 0, 1, ...
    pub variables: Vec<Variable>,
    /// Derived values, in the order in which they are worked out; slots after the variables.
    pub derived: Vec<Derived>,
    /// Load cases; none without a part.
    pub loads: Vec<LoadRecipe>,
    /// Measures that come from outside; slots after those of the frame.
    pub outside: Vec<OutsideMeasure>,
    /// Constraints.
    pub constraints: Vec<Constraint>,
    /// Objectives.
    pub objectives: Vec<Objective>,
    /// Parts made in one go.
    pub batch: f64,
    /// Money that prices are in.
    pub currency: Unit,
    /// How parts scatter, and what is asked of them.
    pub scatter: ScatterPlan,
    /// What measured parts say of the model.
    pub calibration: Calibration,
}

impl Setup {
    /// Number of violations of a design: constraints, geometric rules, tools in stock; where it is asked for, the chance
    /// of meeting all together; and where measures come from outside, whether they are missing.
    pub fn violations(&self) -> usize {
        let chance = usize::from(self.scatter.chance.is_some());
        self.constraints.len() + 2 + chance + usize::from(!self.outside.is_empty())
    }
}
