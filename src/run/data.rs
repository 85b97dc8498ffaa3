//! A run as plain data: what store, page and terminal are made from.

use std::ops::Range;

use super::failed::Failed;
use super::learn::LawRow;
use super::robust::Scatter;
use super::shortfall::Shortfall;
use super::why::Why;
use crate::evaluate::Sheet;

/// What a column of the designs holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A design variable.
    Variable,
    /// A derived value.
    Derived,
    /// A measure.
    Measure,
    /// The value of an objective that is not itself a measure.
    Objective,
}

/// A column of the designs.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Name as formulas use it: `hole`, `mass`, `squeeze.stiffness`.
    pub name: String,
    /// Unit of the numbers in the column; empty for plain numbers.
    pub unit: String,
    /// What it holds.
    pub role: Role,
}

/// An objective.
#[derive(Clone, Debug, PartialEq)]
pub struct Goal {
    /// Index of its column.
    pub column: usize,
    /// Whether more is better.
    pub most: bool,
}

/// A constraint, in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Name from the study.
    pub name: String,
    /// As written.
    pub text: String,
}

/// Designs of a run, in the order of evaluation; design 0 is the baseline.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Designs {
    /// Values, row by row, one a column, in the columns' units.
    pub values: Vec<f64>,
    /// For each design its greatest relative violation of a constraint: 0 where all are met.
    pub violation: Vec<f64>,
    /// Which designs these are; absent where they are all that were evaluated.
    pub thinned: Option<Thinned>,
}

/// Some designs out of many.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Thinned {
    /// Numbers of the designs held, rising.
    pub numbers: Vec<usize>,
    /// Designs evaluated.
    pub evaluated: usize,
    /// Of these feasible.
    pub feasible: usize,
}

impl Designs {
    /// Number of designs evaluated.
    pub fn len(&self) -> usize {
        match &self.thinned {
            None => self.violation.len(),
            Some(thinned) => thinned.evaluated,
        }
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Number of feasible designs.
    pub fn feasible(&self) -> usize {
        match &self.thinned {
            None => self.violation.iter().filter(|each| **each <= 0.0).count(),
            Some(thinned) => thinned.feasible,
        }
    }

    /// Numbers of the designs held, rising.
    pub fn held(&self) -> impl DoubleEndedIterator<Item = usize> + '_ {
        let number = |place: usize| match &self.thinned {
            None => place,
            Some(thinned) => thinned.numbers[place],
        };
        (0..self.violation.len()).map(number)
    }

    /// Place of a design among those held.
    fn place(&self, design: usize) -> Option<usize> {
        match &self.thinned {
            None => (design < self.violation.len()).then_some(design),
            Some(thinned) => thinned.numbers.binary_search(&design).ok(),
        }
    }

    /// Whether a design is held.
    pub fn holds(&self, design: usize) -> bool {
        self.place(design).is_some()
    }

    /// The values of a design that is held, one a column.
    ///
    /// # Panics
    /// Where the design is not held: the baseline, the front and what [`Designs::held`] names are.
    pub fn row(&self, design: usize) -> &[f64] {
        let width = self.values.len() / self.violation.len().max(1);
        let place = self.place(design).expect("a design that is held");
        &self.values[place * width..(place + 1) * width]
    }

    /// Greatest relative violation of a design; infinite where it is not held.
    pub fn violation_of(&self, design: usize) -> f64 {
        self.place(design)
            .map_or(f64::INFINITY, |place| self.violation[place])
    }
}

/// How far the search was after some evaluations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Milestone {
    /// Designs evaluated.
    pub designs: usize,
    /// Of these feasible.
    pub feasible: usize,
    /// Designs on the front.
    pub front: usize,
    /// Hypervolume of the front in objectives scaled by the final front (0 to about 1).
    pub hypervolume: f64,
}

/// A finished (or cleanly stopped) run.
#[derive(Clone, Debug)]
pub struct Finished {
    /// File stem of the study: `yaw-ring`.
    pub study: String,
    /// Title from the study.
    pub title: String,
    /// Notes from the study.
    pub notes: String,
    /// Columns of the designs.
    pub columns: Vec<Column>,
    /// Objectives.
    pub goals: Vec<Goal>,
    /// Constraints.
    pub limits: Vec<Limit>,
    /// Every design.
    pub designs: Designs,
    /// Non-dominated feasible designs, in order of the first objective.
    pub front: Vec<usize>,
    /// Today's revision, in full.
    pub baseline: Sheet,
    /// Candidates in full: (design, sheet), in order of the front. All of the front where it is small enough
    /// for a page, else a selection spread evenly over it.
    pub sheets: Vec<(usize, Sheet)>,
    /// How the search went.
    pub trace: Vec<Milestone>,
    /// How it ended, in words: `all 24000 evaluations used`.
    pub ending: String,
    /// How good the law is that the figures rest on; empty where they rest on something else.
    pub law: Vec<LawRow>,
    /// What the reader must know of the figures.
    pub remarks: Vec<String>,
    /// Whether the study asks a program of its own about every design.
    pub asks: bool,
    /// Designs about which that program gave no answer, in order.
    pub failures: Vec<Failed>,
    /// What is told of candidates beside their sheets, in the order of the sheets; empty where every step would need
    /// a solid of its own.
    pub told: Vec<Told>,
    /// Why no design is feasible, where none is.
    pub shortfall: Option<Shortfall>,
}

/// What is told of a candidate beside its sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// Design.
    pub design: usize,
    /// Why it is as it is.
    pub why: Option<Why>,
    /// How it comes out of the shop.
    pub scatter: Option<Scatter>,
}

/// Designs as they are evaluated, in order.
#[derive(Clone, Copy, Debug)]
pub struct Batch<'a> {
    /// Number of the first.
    pub first: usize,
    /// Values, row by row, one a column, in the columns' units.
    pub values: &'a [f64],
    /// Greatest relative violation of each design.
    pub violation: &'a [f64],
    /// The search's own numbers for each design, row by row, from which it can be replayed to the bit.
    pub search: &'a [f64],
    /// Designs on the front so far.
    pub front: usize,
    /// Designs among them about which the study's program gave no answer.
    pub failures: &'a [Failed],
}

/// Designs known from an earlier sitting of the same run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Known {
    /// The designs, as [`Batch`] gave them, counted from 0.
    pub designs: Designs,
    /// The search's own numbers, row by row.
    pub search: Vec<f64>,
    /// Designs about which the study's program gave no answer, in order.
    pub failures: Vec<Failed>,
}

impl Known {
    /// The designs of a range of numbers, as far as they are known.
    pub fn of(&self, range: Range<usize>) -> Known {
        let count = self.designs.violation.len();
        let (from, to) = (range.start.min(count), range.end.min(count));
        let slice = |numbers: &[f64]| {
            let width = numbers.len() / count.max(1);
            numbers[from * width..to * width].to_vec()
        };
        Known {
            designs: Designs {
                values: slice(&self.designs.values),
                violation: slice(&self.designs.violation),
                thinned: None,
            },
            search: slice(&self.search),
            failures: (self.failures.iter())
                .filter(|failed| range.contains(&failed.design))
                .cloned()
                .collect(),
        }
    }
}

/// Gives the known designs of a range of numbers: the first so many of them, none where none is known. Asked in
/// rising order.
pub type Recall<'a> = &'a dyn Fn(Range<usize>) -> Known;

/// Designs in a part file, and designs dealt out to a shard at a time. Fixed, so that the same run gives the same
/// files on any number of threads and machines and after any number of stops.
pub const PART: usize = 4096;

/// One of several shards of a run, each evaluated by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which, from 1.
    pub number: usize,
    /// How many there are.
    pub of: usize,
}

impl Shard {
    /// Whether a part of the run belongs to the shard.
    pub fn holds(&self, part: usize) -> bool {
        part % self.of == self.number - 1
    }

    /// How many of a run's designs belong to the shard.
    pub fn designs(&self, all: usize) -> usize {
        let parts = (0..all.div_ceil(PART)).filter(|part| self.holds(*part));
        parts.map(|part| PART.min(all - part * PART)).sum()
    }
}

/// The texts that a study is read from.
#[derive(Clone, Debug, Default)]
pub struct Source {
    /// Name of the study file, as messages print it.
    pub file: String,
    /// File stem of the study: `yaw-ring`.
    pub study: String,
    /// The study file.
    pub text: String,
    /// The catalogue file that the study names, if it names one.
    pub catalogue: Option<String>,
}

/// What a call may change in a study's exploring plan.
#[derive(Clone, Copy, Debug, Default)]
pub struct Overrides {
    /// Seed.
    pub seed: Option<u64>,
    /// Evaluations.
    pub evaluations: Option<usize>,
}

/// A mistake in a study.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Mistake {
    /// What is wrong, as `room/fault`.
    pub code: String,
    /// What is wrong, in words.
    pub what: String,
    /// Line in the study file, from 1; 0 where the mistake has no place in it.
    pub line: usize,
    /// Column in the line, in letters, from 1.
    pub column: usize,
    /// What to do about it; may be empty.
    pub mend: String,
}

/// All mistakes of a study.
#[derive(Clone, Debug, Default)]
pub struct Mistakes {
    /// One by one.
    pub list: Vec<Mistake>,
    /// All of them in print, with terminal colours.
    pub printed: String,
}

/// A study read, checked and ready to be evaluated.
#[derive(Clone, Debug)]
pub struct Job {
    /// File stem of the study.
    pub study: String,
    /// Title of the study.
    pub title: String,
    /// The study file.
    pub study_text: String,
    /// The catalogue entries that the study uses, as TOML.
    pub catalogue_text: String,
    /// Seed, overrides applied.
    pub seed: u64,
    /// Designs to evaluate at most, overrides applied.
    pub evaluations: usize,
    /// Columns of the designs.
    pub columns: Vec<Column>,
    /// Number of the search's own numbers a design, see [`Batch::search`].
    pub search_width: usize,
    /// Objectives.
    pub goals: Vec<Goal>,
    /// Constraints.
    pub limits: Vec<Limit>,
    /// Names of the design variables.
    pub axes: Vec<String>,
    /// Names of the figures that beam and solid both give.
    pub targets: Vec<String>,
    /// Files that the study's command names, each with the SHA-256 of its contents; empty where it asks no program.
    pub program: Vec<(String, String)>,
    /// The earlier run that this one does again, if it does.
    pub origin: Option<Origin>,
    /// The shard that is evaluated here, if not all are.
    pub shard: Option<Shard>,
}

/// An earlier run that is done again under other conditions.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Origin {
    /// Name of its folder: `yaw-ring-001`.
    pub run: String,
    /// What its designs follow from, in one number, as its manifest has it.
    pub fingerprint: String,
    /// Program and version that made it.
    pub tool: String,
    /// What is otherwise.
    pub changes: Vec<Change>,
    /// Its candidates as places on the axes: they are evaluated first.
    pub starts: Vec<Vec<f64>>,
}

/// A condition that differs between two runs.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Change {
    /// What differs: `material`, `machine`, `drills`, `end mills`, `tool version`, `seed`, `evaluations`.
    pub what: String,
    /// What it was.
    pub from: String,
    /// What it is.
    pub to: String,
}

/// What a study means, in words.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Meaning {
    /// Dimensions of the part in today's revision, a line each.
    pub part: Vec<String>,
    /// Design variables.
    pub variables: Vec<VariableMeaning>,
    /// Designs in the space; absent where it is continuous or too large to count.
    pub designs: Option<u64>,
    /// Degrees of freedom of the frame, supports aside.
    pub freedoms: usize,
    /// Load cases, a line each.
    pub loads: Vec<String>,
    /// The program that is asked about every design, and what it measures, a line each.
    pub program: Vec<String>,
    /// Constraints, as written.
    pub constraints: Vec<String>,
    /// Objectives, as written: `least mass`.
    pub objectives: Vec<String>,
    /// Exploring plan, in words.
    pub plan: String,
    /// What the user should know before running.
    pub remarks: Vec<String>,
}

/// A design variable, in words.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct VariableMeaning {
    /// Name.
    pub name: String,
    /// How it may vary: `2 to 4 mm in steps of 0.1 mm`.
    pub range: String,
    /// Value in today's revision, with its unit.
    pub baseline: String,
    /// Number of values; absent where it is continuous.
    pub values: Option<u64>,
}

/// What an observer of a run answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Next {
    /// Go on.
    Continue,
    /// End after this batch.
    Stop,
}
