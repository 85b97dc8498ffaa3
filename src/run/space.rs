//! Between a study and the explorer: axes, and rows of plain numbers.
//!
//! A row is: objectives, violations (constraints, then geometry, then tools, the chance of meeting all where it is asked
//! for, and whether a program that was asked gave no answer, in studies that ask one), then the columns after the
//! variables, in their units.

use super::data::Column;
use super::prepare::Prepared;
use crate::evaluate::setup::{Range, Variable};
use crate::evaluate::{Evaluator, Record};
use crate::explore::{Axis, Problem};
use crate::study::Study;

/// Bounds whose ratio passes this are searched in their logarithm.
const DECADES: f64 = 100.0;

/// Number of objectives and violations at the head of a row.
pub fn row_head(study: &Study) -> usize {
    let chance = usize::from(study.scatter.chance.is_some());
    let missing = usize::from(study.asking.is_some());
    study.objectives.len() + study.constraints.len() + 2 + chance + missing
}

/// A study's space, as the explorer sees it.
pub struct Space<'a> {
    axes: Vec<Axis>,
    evaluator: &'a Evaluator,
    /// Columns after the variables: which slot, and the size of its unit; no slot for an objective's own.
    passengers: Vec<Passenger>,
    objectives: usize,
}

enum Passenger {
    Slot(usize, f64),
    Objective(usize, f64, bool),
}

impl<'a> Space<'a> {
    /// The space of a prepared study.
    pub fn new(prepared: &'a Prepared) -> Space<'a> {
        let study = &prepared.study;
        let sizes: Vec<f64> = study
            .variables
            .iter()
            .map(|each| each.unit.size)
            .chain(study.derived.iter().map(|each| each.unit.size))
            .chain(study.measures.iter().map(|each| each.1.size))
            .collect();
        let first = study.variables.len();
        let columns: &[Column] = &prepared.job.columns;
        let mut passengers: Vec<Passenger> = (first..sizes.len())
            .map(|slot| Passenger::Slot(slot, sizes[slot]))
            .collect();
        for column in sizes.len()..columns.len() {
            for (index, goal) in prepared.job.goals.iter().enumerate() {
                if goal.column == column {
                    let size = study.objectives[index].unit.size;
                    passengers.push(Passenger::Objective(index, size, goal.most));
                    break;
                }
            }
        }
        Space {
            axes: study.variables.iter().map(axis).collect(),
            evaluator: &prepared.evaluator,
            passengers,
            objectives: study.objectives.len(),
        }
    }

    /// Variables, in base units, at places on the axes.
    fn variables(&self, x: &[f64]) -> Vec<f64> {
        let variables = self.evaluator.setup().variables.iter().zip(x);
        variables
            .map(|(variable, &at)| value(variable, at))
            .collect()
    }

    /// The columns after the variables, in their units, of a design's record.
    pub fn columns<'b>(&'b self, record: &'b Record) -> impl Iterator<Item = f64> + 'b {
        self.passengers.iter().map(|passenger| match *passenger {
            Passenger::Slot(slot, size) => record.slots[slot] / size,
            Passenger::Objective(index, size, most) => {
                let value = record.objectives[index] / size;
                if most { -value } else { value }
            }
        })
    }
}

impl Problem for Space<'_> {
    fn axes(&self) -> &[Axis] {
        &self.axes
    }

    fn objectives(&self) -> usize {
        self.objectives
    }

    fn constraints(&self) -> usize {
        self.evaluator.violations()
    }

    fn width(&self) -> usize {
        self.objectives + self.evaluator.violations() + self.passengers.len()
    }

    fn allows(&self, x: &[f64]) -> bool {
        self.evaluator.keeps_rules(&self.variables(x))
    }

    fn evaluate(&self, x: &[f64], row: &mut [f64]) {
        let record = self.evaluator.record(&self.variables(x));
        let (objectives, rest) = row.split_at_mut(self.objectives);
        let (violations, passengers) = rest.split_at_mut(record.violations.len());
        objectives.copy_from_slice(&record.objectives);
        violations.copy_from_slice(&record.violations);
        for (cell, value) in passengers.iter_mut().zip(self.columns(&record)) {
            *cell = value;
        }
    }
}

fn axis(variable: &Variable) -> Axis {
    match &variable.range {
        Range::Continuous { low, high, step } => Axis::Continuous {
            low: *low,
            high: *high,
            step: *step,
            log: *low > 0.0 && high / low > DECADES,
        },
        Range::Integer { low, high } => Axis::Integer {
            low: *low,
            high: *high,
        },
        Range::Choice(values) => Axis::Choice {
            count: values.len(),
        },
    }
}

/// Value of a variable, in base units, at a place on its axis.
pub fn value(variable: &Variable, at: f64) -> f64 {
    match &variable.range {
        Range::Choice(values) => values.get(at as usize).copied().unwrap_or(f64::NAN),
        _ => at,
    }
}

/// Place on its axis of a variable's value in base units.
pub fn place(variable: &Variable, value: f64) -> f64 {
    match &variable.range {
        Range::Choice(values) => {
            let near = |each: &f64| (each - value).abs() <= 1e-9 * value.abs().max(1e-12);
            values.iter().position(near).unwrap_or(0) as f64
        }
        _ => value,
    }
}
