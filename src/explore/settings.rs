//! How to explore, and what comes back: plain data.

use std::fmt;
use std::ops::Range;

/// How designs are chosen.
#[derive(Clone, Debug, PartialEq)]
pub enum Plan {
    /// Every combination of levels, first axis slowest.
    Grid {
        /// Levels of each axis, spread evenly from bound to bound; 0 means all values of a discrete axis.
        levels: Vec<usize>,
    },
    /// One design in each of as many strata as designs, on every axis, paired at random.
    LatinHypercube,
    /// The Sobol sequence with nested uniform scrambling from the seed: the most even filling. At most 64 axes.
    Sobol,
    /// Evolutionary search for the front of one to four objectives.
    Search,
}

/// A part of the search that can be left out, to measure what it is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ingredient {
    /// Children by differential evolution.
    Differential,
    /// Children by crossover.
    Crossover,
    /// Breeding with neighbours on the front.
    Neighbours,
    /// Breeding from the ends of the front.
    Ends,
    /// Mutations to the bounds of an axis.
    Bounds,
    /// Going back to the limits that a child crossed.
    Limits,
    /// Filling gaps of the front.
    Gaps,
    /// A population that grows; without, it has a hundred members.
    Growth,
    /// Survival by hypervolume; without, by distance.
    Hypervolume,
}

/// How a space is explored.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// How designs are chosen.
    pub plan: Plan,
    /// Most designs to evaluate, starts included.
    pub evaluations: usize,
    /// Seed of everything random.
    pub seed: u64,
    /// Designs to evaluate first, as they are: today's revision, for example. They may lie off the steps or outside
    /// the bounds of continuous and integer axes. One value an axis.
    pub start: Vec<Vec<f64>>,
    /// The search ends when the front's hypervolume has gained less than 0.01 % in this many evaluations. Less
    /// saves time, more is thorough. Default: never.
    pub stall_after: Option<usize>,
    /// Share of the budget, 0 to 1, that the search keeps for its end: to refine designs of the front in their
    /// continuous variables by Nelder-Mead; of one objective, to refine the best by turns so and by steps on its
    /// discrete axes. A twentieth of 5,000 evaluations led the ten-bar truss to its published optimum, where none
    /// stayed 0.2 % above; for fronts it gains nothing (`DEVELOPERS.md`). Default: 0.
    pub polish: f64,
    /// Ingredients that the search for a front does without. More leaves a poorer search. Default: none.
    pub without: Vec<Ingredient>,
}

impl Settings {
    /// Settings of a plan with nothing special.
    pub fn new(plan: Plan, evaluations: usize, seed: u64) -> Self {
        Self {
            plan,
            evaluations,
            seed,
            start: Vec::new(),
            stall_after: None,
            polish: 0.0,
            without: Vec::new(),
        }
    }
}

/// Designs of an earlier, stopped run, in order of evaluation; flat.
#[derive(Clone, Copy, Debug, Default)]
pub struct Known<'a> {
    /// Variables, (designs, axes).
    pub xs: &'a [f64],
    /// Rows, (designs, width).
    pub rows: &'a [f64],
}

/// What the observer answers.
///
/// A limit of time is a clock in the observer: it is asked after every block, which has 16 designs in a young search
/// and at most 200 (of one objective: 18 for each axis), and the run ends in good order with all it has found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Next {
    /// Go on.
    Continue,
    /// End after this block.
    Stop,
}

/// A block of designs just finished, and where the run stands.
#[derive(Clone, Debug)]
pub struct Progress<'a> {
    /// Indices of the designs of this block.
    pub block: Range<usize>,
    /// Their variables, flat.
    pub xs: &'a [f64],
    /// Their rows, flat.
    pub rows: &'a [f64],
    /// Most designs to be evaluated.
    pub budget: usize,
    /// Feasible designs so far.
    pub feasible: usize,
    /// Designs on the front so far.
    pub front: usize,
    /// Hypervolume of the front at the last of some sixteen looks, in its own box as in [`TracePoint`].
    pub hypervolume: f64,
}

/// Why a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The budget was used up, or the grid was complete.
    Budget,
    /// The front no longer gained.
    Stalled,
    /// The observer stopped it.
    Stopped,
    /// There were no more designs in the space.
    Exhausted,
}

/// The front's hypervolume at one moment.
///
/// Objectives are scaled so that the box around the *last* front goes from 0 to 1, and the reference point is 1.1
/// in each. An exact figure up to three objectives, an estimate for more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TracePoint {
    /// Designs evaluated by then.
    pub evaluations: usize,
    /// Designs on the front.
    pub front: usize,
    /// Hypervolume of the front.
    pub hypervolume: f64,
}

/// All that a run found.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Variables of all designs in order of evaluation, (designs, axes).
    pub xs: Vec<f64>,
    /// Rows of all designs, (designs, width).
    pub rows: Vec<f64>,
    /// Feasible designs.
    pub feasible: usize,
    /// Feasible designs that no other beats, in order of evaluation.
    pub front: Vec<usize>,
    /// Growth of the front, some sixteen moments and the end.
    pub trace: Vec<TracePoint>,
    /// Why it ended.
    pub ending: Ending,
}

/// Why a space can't be explored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Error {
    /// No axis was given.
    NoAxes,
    /// An axis has reversed, infinite or unworkable bounds.
    BadAxis {
        /// Which axis.
        axis: usize,
    },
    /// A start has the wrong length, or a value that its axis can't take.
    BadStart {
        /// Which start.
        start: usize,
    },
    /// A row is too short for objectives and constraints.
    NarrowRow {
        /// Its length.
        width: usize,
        /// Objectives and constraints together.
        needed: usize,
    },
    /// There are at most four objectives, and for the search at least one.
    ObjectiveCount {
        /// How many there are.
        objectives: usize,
    },
    /// A grid needs one number of levels for each axis.
    LevelCount {
        /// Levels given.
        levels: usize,
        /// Axes.
        axes: usize,
    },
    /// A continuous axis without steps has no end of values and needs levels.
    EndlessAxis {
        /// Which axis.
        axis: usize,
    },
    /// A grid has more designs than may be evaluated.
    GridTooLarge {
        /// Its designs; `None` beyond what can be counted.
        designs: Option<u64>,
        /// Designs that may still be evaluated.
        budget: usize,
    },
    /// The Sobol sequence serves fewer axes.
    TooManyAxes {
        /// Axes given.
        axes: usize,
        /// Axes served.
        most: usize,
    },
    /// Known variables and rows are not of whole designs, or not of as many.
    BadKnown,
    /// A known design is not the one that these settings lead to.
    KnownDiffers {
        /// Its index.
        design: usize,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoAxes => write!(f, "explore a space without axes"),
            Self::BadAxis { axis } => write!(
                f,
                "use axis {axis}: bounds reversed, not finite or unworkable"
            ),
            Self::BadStart { start } => {
                write!(f, "use start {start}: wrong length or impossible value")
            }
            Self::NarrowRow { width, needed } => {
                write!(
                    f,
                    "fit {needed} objectives and constraints into rows of {width}"
                )
            }
            Self::ObjectiveCount { objectives } => {
                write!(
                    f,
                    "search with {objectives} objectives: one to four are possible"
                )
            }
            Self::LevelCount { levels, axes } => write!(f, "lay {levels} levels over {axes} axes"),
            Self::EndlessAxis { axis } => write!(
                f,
                "lay a grid over axis {axis}: it needs a number of levels"
            ),
            Self::GridTooLarge {
                designs: Some(designs),
                budget,
            } => {
                write!(
                    f,
                    "evaluate a grid of {designs} designs with a budget of {budget}"
                )
            }
            Self::GridTooLarge {
                designs: None,
                budget,
            } => {
                write!(
                    f,
                    "evaluate a grid of more designs than can be counted with a budget of {budget}"
                )
            }
            Self::TooManyAxes { axes, most } => {
                write!(f, "sample {axes} axes: the Sobol sequence serves {most}")
            }
            Self::BadKnown => write!(f, "resume: known variables and rows do not belong together"),
            Self::KnownDiffers { design } => {
                write!(
                    f,
                    "resume: design {design} is not the one that these settings lead to"
                )
            }
        }
    }
}

impl std::error::Error for Error {}
