//! Everything known of one design, for people: values with units, and where they come from.

use serde::Serialize;

use super::calibration::Calibrated;
use super::proof::Proof;
use crate::machining::{FeatureCost, Plan};
use crate::part::{Layout, Part};
use crate::structure::{Field, ModeShape};

/// A value with its name and unit, in the unit named.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Named {
    /// Name as formulas use it.
    pub name: String,
    /// Value in `unit`.
    pub value: f64,
    /// Unit as printed; empty for a plain number.
    pub unit: String,
}

/// A constraint, judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judged {
    /// Name from the study.
    pub name: String,
    /// The constraint as written.
    pub text: String,
    /// Left side, in `unit`.
    pub value: f64,
    /// Right side, in `unit`.
    pub limit: f64,
    /// `at most` or `at least`.
    pub relation: &'static str,
    /// Unit of both sides.
    pub unit: String,
    /// Whether it is met.
    pub met: bool,
    /// Room left as a share of the limit (of 1 in base units where the limit is zero); negative when broken.
    pub margin: f64,
}

/// Properties of one section of the part, perforation included.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SectionRow {
    /// Which: `frame`, `frame, drilled`, `boss lug`.
    pub name: String,
    /// (name, value, unit) in the order to print.
    pub values: Vec<Named>,
    /// Why the beam model is outside its validated range for this section; empty where it is inside.
    pub outside_range: String,
}

/// Greatest local stress of a load case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadPeak {
    /// Stress, in MPa.
    pub mpa: f64,
    /// Where, in words: `hole row relief in the floor, s = 31.2 mm`.
    pub place: String,
    /// The same in the plan, (x, y) in mm.
    pub at_mm: [f64; 2],
}

/// Fatigue of a load case that says how often it comes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadFatigue {
    /// Factor by which the load's cycle may grow.
    pub safety: f64,
    /// From what, in words.
    pub words: String,
}

/// A wall or rib pushed aside.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WallRow {
    /// Which: `outer wall`, `rib 1, boss lug`.
    pub name: String,
    /// Height above the floor, in mm.
    pub height_mm: f64,
    /// Thickness, in mm.
    pub thickness_mm: f64,
    /// Height over thickness.
    pub slenderness: f64,
    /// Force of the cutter square to it in its finish pass, in N; 0 where no pocket touches it.
    pub cut_force_n: f64,
    /// Deflection of the free edge under that force, in mm.
    pub cut_mm: f64,
    /// Deflection under the study's pressing force, in mm.
    pub press_mm: f64,
    /// How it is held, in words.
    pub held: String,
}

/// A screw on a boss.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScrewRow {
    /// Boss.
    pub name: String,
    /// Clamp force, in N.
    pub clamp_n: f64,
    /// Pressure under the head, in MPa.
    pub bearing_mpa: f64,
    /// Yield strength over that pressure.
    pub bearing_safety: f64,
    /// Diameter of the clamped cone at the far side, in mm.
    pub cone_mm: f64,
    /// Room between cone and edges of the boss, on the diameter, in mm.
    pub cone_room_mm: f64,
    /// Room between the head and what stands beside it, in mm.
    pub head_room_mm: f64,
    /// Stiffness of the clamped cone, in N/mm.
    pub stiffness_n_mm: f64,
}

/// One load case, answered.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadRow {
    /// Name from the study.
    pub name: String,
    /// In words: what holds and what pulls.
    pub words: String,
    /// Load over the displacement of its points along it; absent where only acceleration loads the frame.
    pub stiffness: Option<Named>,
    /// Greatest displacement, in mm.
    pub displacement_mm: f64,
    /// Station of the greatest displacement, in mm.
    pub displacement_at_mm: f64,
    /// Greatest nominal stress, in MPa.
    pub stress_mpa: f64,
    /// Where, in words: `outer wall, s = 31.2 mm (in boss lug 2)`.
    pub stress_place: String,
    /// The same in the plan, (x, y) in mm.
    pub stress_at_mm: Option<[f64; 2]>,
    /// Yield strength over the greatest nominal stress.
    pub safety: f64,
    /// Greatest local stress, where the frame is drilled.
    pub peak: Option<LoadPeak>,
    /// Fatigue, where the load case asks for it.
    pub fatigue: Option<LoadFatigue>,
    /// Forces and moments to draw.
    pub arrows: Vec<Arrow>,
    /// Supports to draw.
    pub supports: Vec<Held>,
    /// Movement and stress along the path, at true scale; movements set right as [`LoadRow::displacement_mm`] is.
    pub field: Field,
    /// Opening of a blade; absent where none is opened.
    pub opening: Option<OpeningRow>,
}

/// A force and moment on the frame.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Arrow {
    /// Point of the path in the plan, (x, y) in mm.
    pub at_mm: [f64; 2],
    /// Force along the plan's x, y, z, in N.
    pub force_n: [f64; 3],
    /// Moment about the plan's x, y, z, in N mm.
    pub moment_n_mm: [f64; 3],
    /// Whether it stands for the inertia of the whole frame, and so acts nowhere in particular.
    pub inertia: bool,
}

/// A place of the frame that a support holds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Held {
    /// Point of the path in the plan, (x, y) in mm.
    pub at_mm: [f64; 2],
    /// Direction of the first of its axes, in rad from the plan's x: 0, or the path's heading there.
    pub heading: f64,
    /// Whether it holds against moving along its three axes; the third is the tool axis.
    pub moves: [bool; 3],
    /// Whether it holds against turning about them.
    pub turns: [bool; 3],
    /// Whether it keeps the section from warping.
    pub warp: bool,
}

/// A blade opened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OpeningRow {
    /// Force that holds it open, in N.
    pub force_n: f64,
    /// Energy stored, in N mm.
    pub energy_n_mm: f64,
    /// Safety against fatigue between the two openings.
    pub fatigue_safety: f64,
    /// Force against opening, (mm, N), from rest on.
    pub curve: Vec<(f64, f64)>,
}

/// A dimension with the tolerance that the process gives it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ToleranceRow {
    /// In words: `outer wall, thickness`.
    pub name: String,
    /// Nominal size, in mm; 0 for a place.
    pub size_mm: f64,
    /// To either side, in mm.
    pub plus_minus_mm: f64,
    /// What it rests on.
    pub basis: String,
}

/// One line of the mass account.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MassRow {
    /// What it is.
    pub name: String,
    /// Volume, in mm³; negative for holes.
    pub volume_mm3: f64,
    /// Mass, in g; negative for holes.
    pub mass_g: f64,
}

/// A geometric rule, judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RuleRow {
    /// Measure name: `ligament`.
    pub name: String,
    /// Least value, in mm.
    pub value_mm: f64,
    /// Where, in words.
    pub place: String,
}

/// One design, in full.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// Design variables.
    pub variables: Vec<Named>,
    /// Derived values.
    pub derived: Vec<Named>,
    /// Measures.
    pub measures: Vec<Named>,
    /// Objectives, by name.
    pub objectives: Vec<Named>,
    /// Constraints.
    pub constraints: Vec<Judged>,
    /// Section properties.
    pub sections: Vec<SectionRow>,
    /// Load cases.
    pub loads: Vec<LoadRow>,
    /// First natural vibrations of the beam, lowest first, supported as for the frequency; not set right by solids.
    pub modes: Vec<ModeShape>,
    /// Walls and ribs, the softest first.
    pub walls: Vec<WallRow>,
    /// Screws on bosses; equal ones once.
    pub screws: Vec<ScrewRow>,
    /// Operations, cycle time.
    pub plan: Plan,
    /// What each feature takes of time and money, and a gram removed there; the cheapest gram first.
    pub features: Vec<FeatureCost>,
    /// What the process gives each dimension.
    pub tolerances: Vec<ToleranceRow>,
    /// What money is counted in: `EUR`.
    pub currency: String,
    /// Mass account.
    pub mass: Vec<MassRow>,
    /// Geometric rules.
    pub rules: Vec<RuleRow>,
    /// The solid answer beside the others; absent where it was not asked for.
    pub proof: Option<Proof>,
    /// What the calibration did to the figures, where the study has one.
    pub calibration: Option<Calibrated>,
    /// What the reader must know: outside the validated range, unmachinable slot, missing data.
    pub remarks: Vec<String>,
    /// The frame with its dimensions fixed; absent where it can't be built (`remarks` say why).
    #[serde(skip)]
    pub part: Option<Part>,
    /// The frame cut into segments.
    #[serde(skip)]
    pub layout: Option<Layout>,
}
