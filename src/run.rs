//! Where the rooms meet: a study explored, and what came of it as plain data.

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

/// All designs of a run, in the order of evaluation; design 0 is the baseline.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Designs {
    /// Values, row by row, one a column, in the columns' units.
    pub values: Vec<f64>,
    /// For each design its greatest relative violation of a constraint: 0 where all are met.
    pub violation: Vec<f64>,
}

impl Designs {
    /// Number of designs.
    pub fn len(&self) -> usize {
        self.violation.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.violation.is_empty()
    }

    /// The values of one design, one a column.
    pub fn row(&self, design: usize) -> &[f64] {
        let width = self.values.len() / self.violation.len().max(1);
        &self.values[design * width..(design + 1) * width]
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
}

/// Designs as they are evaluated, in order.
#[derive(Clone, Copy, Debug)]
pub struct Batch<'a> {
    /// Values, row by row, one a column, in the columns' units.
    pub values: &'a [f64],
    /// Greatest relative violation of each design.
    pub violation: &'a [f64],
    /// The search's own numbers for each design, row by row, from which it can be replayed to the bit.
    pub search: &'a [f64],
    /// Designs on the front so far.
    pub front: usize,
}

/// Designs known from an earlier sitting of the same run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Known {
    /// The designs, as [`Batch`] gave them.
    pub designs: Designs,
    /// The search's own numbers, row by row.
    pub search: Vec<f64>,
}
