//! A problem given by a function.

use super::{Axis, Problem};

/// A [`Problem`] made of axes and a function that writes the row of a design.
///
/// The row handed to the function holds NaN; it has one place for each objective (to be made least), then one for
/// each constraint (met at 0 or below). What must be made most is negated by the function. The function may be called
/// from several threads at once.
#[derive(Clone, Debug)]
pub struct Function<F> {
    axes: Vec<Axis>,
    objectives: usize,
    constraints: usize,
    evaluate: F,
}

impl<F: Fn(&[f64], &mut [f64]) + Sync> Function<F> {
    /// A problem of so many objectives and constraints.
    pub fn new(axes: Vec<Axis>, objectives: usize, constraints: usize, evaluate: F) -> Self {
        Self {
            axes,
            objectives,
            constraints,
            evaluate,
        }
    }
}

impl<F: Fn(&[f64], &mut [f64]) + Sync> Problem for Function<F> {
    fn axes(&self) -> &[Axis] {
        &self.axes
    }
    fn objectives(&self) -> usize {
        self.objectives
    }
    fn constraints(&self) -> usize {
        self.constraints
    }
    fn width(&self) -> usize {
        self.objectives + self.constraints
    }
    fn evaluate(&self, x: &[f64], row: &mut [f64]) {
        (self.evaluate)(x, row);
    }
}
