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
    /// The Halton sequence with permuted digits from the seed. At most 64 axes.
    Halton,
    /// A Latin hypercube made as even as can be within a fixed amount of work. At most 64 axes.
    EvenLatinHypercube {
        /// What even means.
        by: Evenness,
    },
    /// Designs that keep the problem's rules ([`super::Problem::allows`]), each as far as can be from those before.
    /// At most 64 axes.
    SpaceFilling,
    /// Both bounds of every axis: all combinations, or a regular fraction of them.
    TwoLevel {
        /// Halvings: 2^(axes - halvings) designs. 0 is the full factorial.
        halvings: usize,
    },
    /// Both bounds of every axis in the fewest designs that tell the axes apart; two axes' interplay blurs the rest.
    PlackettBurman,
    /// Corners, ends of the axes and centre: what a quadratic fit needs.
    CentralComposite {
        /// Where the ends of the axes lie.
        axial: Axial,
        /// Halvings of the corners, which must leave resolution V at least. 0 takes all.
        halvings: usize,
    },
    /// Middles of edges or faces and the centre: a quadratic fit without corners. At least 3 axes.
    BoxBehnken,
    /// Evolutionary search for the front of one to four objectives.
    Search,
    /// Search for evaluators that take seconds: Gaussian processes say which designs of one to four objectives are
    /// expected to gain most. Some 50 to 1,000 evaluations, at most 64 axes.
    Surrogate {
        /// Designs chosen together and evaluated side by side. One makes the most of a budget, as many as threads of
        /// the time; the designs depend on it, but not on the threads.
        batch: usize,
    },
}

impl Plan {
    /// Whether it searches: it needs something to make least, and later designs depend on what came out of earlier
    /// ones.
    pub fn learns(&self) -> bool {
        matches!(self, Self::Search | Self::Surrogate { .. })
    }
}

/// What an even Latin hypercube is made even by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evenness {
    /// Least centred discrepancy: every box anchored at a corner holds its share. For averages and fits.
    Discrepancy,
    /// Greatest least distance: no two designs are close. For surrogates.
    Distance,
}

/// Where the axial designs of a central composite lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axial {
    /// On the bounds; the corners are drawn in so that every design is as far from the centre as rotatability asks.
    Inscribed,
    /// On the bounds, as the corners are: three levels an axis, not rotatable.
    Faced,
    /// Beyond the bounds, on which the corners lie: rotatable. Only for continuous axes without steps.
    Circumscribed,
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
    /// Designs of this block that came onto the front; a later one of the block may beat an earlier.
    pub entered: &'a [usize],
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
    /// Of these feasible.
    pub feasible: usize,
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

/// One machine's part of the designs where several take part: blocks of `unit` designs are dealt out in turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which shard, from 0.
    pub index: usize,
    /// How many shards there are, at least 1.
    pub count: usize,
    /// Designs dealt out at a time, at least 1.
    pub unit: usize,
}

impl Shard {
    /// Everything.
    pub const ALL: Self = Self {
        index: 0,
        count: 1,
        unit: 1 << 12,
    };

    /// Whether a design belongs to this shard.
    pub fn holds(&self, design: usize) -> bool {
        design / self.unit % self.count == self.index
    }
}

/// Designs known from earlier, by their numbers: the first so many of a range of numbers, none where none is known.
/// Variables and rows, flat. Ranges are asked for in rising order.
pub type Recall<'a> = &'a dyn Fn(Range<usize>) -> (Vec<f64>, Vec<f64>);

/// What a stream of designs came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Streamed {
    /// Designs of all shards, in the order of their numbers.
    pub designs: usize,
    /// Feasible designs of this shard.
    pub feasible: usize,
    /// Feasible designs of this shard that no other of it beats, in the order of their numbers.
    pub front: Vec<usize>,
    /// Growth of the front.
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
    /// A plan has a fixed number of designs, and that is more than may be evaluated.
    PlanTooLarge {
        /// Its designs.
        designs: usize,
        /// Designs that may still be evaluated.
        budget: usize,
    },
    /// A plan does not exist for so many axes.
    AxisCount {
        /// Which plan.
        plan: &'static str,
        /// Axes given.
        axes: usize,
        /// Fewest possible.
        least: usize,
        /// Most possible.
        most: usize,
    },
    /// There is no such fraction of a two-level factorial, or none that is good enough.
    NoFraction {
        /// Axes given.
        axes: usize,
        /// Halvings asked for.
        halvings: usize,
        /// Halvings that are possible, besides 0.
        possible: Vec<usize>,
    },
    /// A circumscribed design leaves the bounds of an axis that has steps or items only.
    BeyondBounds {
        /// Which axis.
        axis: usize,
    },
    /// The Sobol or Halton sequence serves fewer axes.
    TooManyAxes {
        /// Axes given.
        axes: usize,
        /// Axes served.
        most: usize,
    },
    /// The plan learns from its designs, and can't let them go or leave some to other machines.
    NoStream,
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
            Self::NoStream => write!(
                f,
                "stream a plan that learns from its designs; samplers and grids can be"
            ),
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
            Self::PlanTooLarge { designs, budget } => {
                write!(
                    f,
                    "evaluate a plan of {designs} designs with a budget of {budget}"
                )
            }
            Self::AxisCount {
                plan,
                axes,
                least,
                most,
            } => {
                write!(
                    f,
                    "lay a {plan} design over {axes} axes: {least} to {most} are possible"
                )
            }
            Self::NoFraction {
                axes,
                halvings,
                possible,
            } => {
                write!(f, "halve a factorial of {axes} axes {halvings} times")?;
                match possible.split_last() {
                    None => write!(f, ": it can't be halved"),
                    Some((last, [])) => write!(f, ": {last} is possible"),
                    Some((last, rest)) => {
                        let rest: Vec<String> = rest.iter().map(usize::to_string).collect();
                        write!(f, ": {} and {last} are possible", rest.join(", "))
                    }
                }
            }
            Self::BeyondBounds { axis } => {
                write!(
                    f,
                    "go beyond the bounds of axis {axis}: it has steps or items only"
                )
            }
            Self::TooManyAxes { axes, most } => {
                write!(f, "sample {axes} axes: the sequence serves {most}")
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
