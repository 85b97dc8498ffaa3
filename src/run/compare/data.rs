//! Two runs compared, as plain data.

use crate::run::data::Change;

/// What became of one run's candidates under the conditions of another.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// The earlier run.
    pub before: RunFacts,
    /// The later run.
    pub after: RunFacts,
    /// What differs between the two.
    pub changes: Vec<Change>,
    /// Causes that a change is split by, in the order of the shares: of `study`, `material`, `tools`, `machine`, `law`
    /// those that differ, and `tool version` last where figures come out otherwise today than they were stored.
    pub causes: Vec<String>,
    /// What the reader must know: what can't be compared.
    pub remarks: Vec<String>,
    /// Design variables.
    pub variables: Vec<Figure>,
    /// Measures and objectives that both runs have.
    pub figures: Vec<Figure>,
    /// Objectives that both runs have.
    pub objectives: Vec<Objective>,
    /// Today's revision of the earlier run.
    pub baseline: OldCandidate,
    /// The earlier run's candidates, in the order of its front.
    pub candidates: Vec<OldCandidate>,
    /// Candidates of the later run that the earlier one had not among its own, in the order of its front.
    pub newcomers: Vec<Newcomer>,
    /// How each figure moved, in the order of the figures.
    pub moves: Vec<Move>,
}

/// A run as a comparison shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct RunFacts {
    /// Name of its folder.
    pub run: String,
    /// Title of its study.
    pub title: String,
    /// Program and version that made it.
    pub tool: String,
    /// Id of its material.
    pub material: String,
    /// Id of its machine.
    pub machine: String,
    /// Drills in stock.
    pub drills: String,
    /// End mills in stock.
    pub end_mills: String,
    /// Designs evaluated.
    pub designs: usize,
    /// Numbers of its candidates.
    pub front: Vec<usize>,
    /// For each candidate its objectives, in their units.
    pub points: Vec<Vec<f64>>,
    /// Share of the box around both fronts, a tenth wider on the bad side, that its front beats: 0 to 1.
    pub hypervolume_share: f64,
}

/// A column that both runs have.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Name.
    pub name: String,
    /// Unit; empty for plain numbers.
    pub unit: String,
}

/// An objective that both runs have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Objective {
    /// Which figure.
    pub figure: usize,
    /// Whether more is better.
    pub most: bool,
}

/// What becomes of a candidate under the other run's conditions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// No candidate there is better in every objective.
    Stays,
    /// A candidate there is better.
    Beaten,
    /// It breaks a constraint there.
    Breaks,
    /// It can't be made there: a tool is missing, or a variable can't take its value.
    NotMade,
}

impl Fate {
    /// In words: `stays`, `beaten`, `breaks a constraint`, `can't be made`.
    pub fn words(self) -> &'static str {
        match self {
            Fate::Stays => "stays",
            Fate::Beaten => "beaten",
            Fate::Breaks => "breaks a constraint",
            Fate::NotMade => "can't be made",
        }
    }
}

/// A design of the earlier run under the later run's conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct OldCandidate {
    /// Its number in the earlier run.
    pub design: usize,
    /// Its variables, in their units.
    pub variables: Vec<f64>,
    /// What becomes of it.
    pub fate: Fate,
    /// By what: the better candidate, the constraint, the missing tool; empty where it stays.
    pub why: String,
    /// Whether a later candidate beats it under the earlier run's conditions too: then it is the search that went
    /// further, not the conditions alone.
    pub by_search: bool,
    /// The candidate of the later run that is nearest to it; `None` where that run has none.
    pub nearest: Option<Nearest>,
    /// Its figures as the earlier run stored them, in their units.
    pub before: Vec<f64>,
    /// Its figures under the later run's conditions; not a number where it can't be made.
    pub after: Vec<f64>,
    /// For each figure the share of every cause in the change, in the figure's unit; they add up to the change.
    pub shares: Vec<Vec<f64>>,
}

/// The candidate of the other run that is nearest in the variables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// Its number in the other run.
    pub design: usize,
    /// How far it is: root mean square over the variables of the difference as a share of the variable's range; 0
    /// where it is the same design.
    pub distance: f64,
}

/// A candidate of the later run that was none of the earlier.
#[derive(Clone, Debug, PartialEq)]
pub struct Newcomer {
    /// Its number in the later run.
    pub design: usize,
    /// Its variables, in their units.
    pub variables: Vec<f64>,
    /// What would have become of it in the earlier run: `Stays` where only its search had not come across it.
    pub fate_before: Fate,
    /// By what.
    pub why: String,
    /// The earlier candidate nearest to it.
    pub nearest: Option<Nearest>,
}

/// How a figure moved over the earlier run's candidates that can still be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// Median before.
    pub before: f64,
    /// Median of the change.
    pub change: f64,
    /// Tenth and ninetieth part of the changes lie below these.
    pub spread: (f64, f64),
    /// Median of each cause's share. Medians need not add up.
    pub shares: Vec<f64>,
    /// Candidates counted.
    pub designs: usize,
}

/// Why two runs can't be laid over each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Incomparable {
    /// Their studies vary other things.
    Variables {
        /// Variables that only the earlier run has.
        before: Vec<String>,
        /// Variables that only the later run has.
        after: Vec<String>,
    },
    /// They have no objective in common.
    Objectives,
    /// A run has no designs.
    Empty {
        /// Name of its folder.
        run: String,
    },
    /// A study asks a program of the user's, which would have to be asked again about every candidate.
    Asks,
    /// A study can't be evaluated under the other run's conditions.
    Conditions {
        /// Why not, in words.
        why: String,
    },
}

impl std::fmt::Display for Incomparable {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Incomparable::Variables { before, after } => {
                write!(f, "compare studies that vary other things:")?;
                let list = |names: &[String]| match names {
                    [] => "none".into(),
                    names => names.join(", "),
                };
                write!(
                    f,
                    " only before {}, only after {}",
                    list(before),
                    list(after)
                )
            }
            Incomparable::Objectives => write!(f, "compare runs that have no objective in common"),
            Incomparable::Empty { run } => write!(f, "compare with {run}, which has no designs"),
            Incomparable::Asks => f.write_str(
                "compare runs whose study asks a program of its own: it would have to be asked again about every \
                 candidate",
            ),
            Incomparable::Conditions { why } => {
                write!(
                    f,
                    "evaluate a study under the other run's conditions: {why}"
                )
            }
        }
    }
}

impl std::error::Error for Incomparable {}

impl Comparison {
    /// Earlier candidates with a fate.
    pub fn count(&self, fate: Fate) -> usize {
        let with = |each: &&OldCandidate| each.fate == fate;
        self.candidates.iter().filter(with).count()
    }

    /// Earlier candidates beaten by a later one that beats them under the earlier conditions too.
    pub fn beaten_by_search(&self) -> usize {
        let both = |each: &&OldCandidate| each.fate == Fate::Beaten && each.by_search;
        self.candidates.iter().filter(both).count()
    }

    /// New candidates that the earlier run would have kept, had its search come across them.
    pub fn overlooked(&self) -> usize {
        let stays = |each: &&Newcomer| each.fate_before == Fate::Stays;
        self.newcomers.iter().filter(stays).count()
    }

    /// Figures that moved in a candidate or in the baseline, objectives first.
    pub fn moved(&self) -> Vec<usize> {
        let differs = |each: &OldCandidate, at: usize| {
            let (was, is) = (each.before[at], each.after[at]);
            (is - was).abs() > UNMOVED * was.abs()
        };
        let moved = |at: &usize| {
            let all = self.candidates.iter().chain([&self.baseline]);
            all.into_iter().any(|each| differs(each, *at))
        };
        let is_goal = |at: &usize| self.objectives.iter().any(|goal| goal.figure == *at);
        let goals = self.objectives.iter().map(|goal| goal.figure);
        let others = (0..self.figures.len()).filter(|at| !is_goal(at));
        goals.chain(others).filter(moved).collect()
    }
}

/// Relative change below which a figure has not moved.
const UNMOVED: f64 = 1e-6;
