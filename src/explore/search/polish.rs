//! Refining single designs of the front in their continuous variables.

use std::cell::RefCell;

use argmin::core::{ArgminError, CostFunction, Error as Refusal, Executor};
use argmin::solver::neldermead::NelderMead;
use rayon::prelude::*;

use super::super::axis::Scale;
use super::super::ledger::{Ledger, Shelf};
use super::super::{Ending, Error, violation};

/// Evaluations for each continuous axis that one refinement gets.
const EVALUATIONS_PER_AXIS: usize = 15;
/// First step, as a share of an axis.
const STEP: f64 = 0.02;
/// Value of a design that misses a constraint by next to nothing.
const INFEASIBLE: f64 = 1e3;
/// No value is worse, so that the solver can reckon with it.
const WORST: f64 = 1e12;
/// Weight of the sum of all objectives beside the worst of them.
const SUM_WEIGHT: f64 = 0.01;

/// Refines designs spread over the front, side by side, with about as many evaluations as given.
///
/// Each refinement makes the worst of the objectives' changes least, relative to the front's size, and so moves
/// toward designs that are better in all. It never leaves the box, and every design it sees is kept.
///
/// Source: Wierzbicki, in Multiple Criteria Decision Making, Springer 1980 (achievement function); Nelder and Mead,
/// The Computer Journal 7, 1965.
pub(super) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    front: &[usize],
    evaluations: usize,
) -> Result<Option<Ending>, Error> {
    let free: Vec<usize> = (0..scales.len())
        .filter(|&axis| scales[axis].count.is_none())
        .collect();
    // Fewer evaluations would not even lay out one simplex, which the solver takes for granted.
    if front.is_empty() || free.is_empty() || evaluations < 2 * (free.len() + 1) {
        return Ok(None);
    }
    let share = EVALUATIONS_PER_AXIS * free.len() + 1;
    let count = (evaluations / share).clamp(1, front.len());
    let spread = |k: usize| front[(k * 2 + 1) * front.len() / (2 * count)];
    let sizes = sizes(ledger, front);
    let shelf = ledger.shelf();
    let refine = |k: usize| {
        let design = spread(k);
        Refinement {
            shelf: &shelf,
            scales,
            free: &free,
            x: shelf.x(design),
            goals: shelf.goals(design),
            sizes: &sizes,
            left: (evaluations / count).min(share),
            seen: RefCell::default(),
        }
        .run()
    };
    let seen: Vec<Vec<(Vec<f64>, Vec<f64>)>> = (0..count).into_par_iter().map(refine).collect();
    let mut rows = Vec::new();
    for (x, row) in seen.into_iter().flatten() {
        if ledger.propose(&x) {
            rows.extend(row);
        }
    }
    ledger.keep(&rows)
}

/// Range of each objective over the front.
fn sizes(ledger: &Ledger<'_>, front: &[usize]) -> Vec<f64> {
    let size = |k: usize| {
        let values = || front.iter().map(|&design| ledger.goals(design)[k]);
        let size =
            values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min);
        if size > 0.0 { size } else { 1.0 }
    };
    (0..ledger.objectives()).map(size).collect()
}

struct Refinement<'r> {
    shelf: &'r Shelf<'r>,
    scales: &'r [Scale],
    free: &'r [usize],
    x: &'r [f64],
    goals: &'r [f64],
    sizes: &'r [f64],
    left: usize,
    seen: RefCell<Vec<(Vec<f64>, Vec<f64>)>>,
}

impl Refinement<'_> {
    /// All designs seen, with their rows.
    fn run(self) -> Vec<(Vec<f64>, Vec<f64>)> {
        let start: Vec<f64> = self
            .free
            .iter()
            .map(|&axis| self.scales[axis].place(self.x[axis]))
            .collect();
        let corner = |axis: Option<usize>| {
            let mut corner = start.clone();
            if let Some(axis) = axis {
                corner[axis] += if corner[axis] > 0.5 { -STEP } else { STEP };
            }
            corner
        };
        let simplex = (0..start.len())
            .map(|axis| corner(Some(axis)))
            .chain([corner(None)])
            .collect();
        let left = self.left as u64;
        let executor = Executor::new(&self, NelderMead::new(simplex)).timer(false);
        // Runs until it converges or the evaluations are used up, which ends it with a refusal; what was seen counts.
        drop(executor.configure(|state| state.max_iters(left)).run());
        self.seen.into_inner()
    }
}

impl CostFunction for &Refinement<'_> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, places: &Vec<f64>) -> Result<f64, Refusal> {
        let mut seen = self.seen.borrow_mut();
        if seen.len() >= self.left {
            return Err(ArgminError::ConditionViolated {
                text: "evaluations used up".into(),
            }
            .into());
        }
        let mut x = self.x.to_vec();
        for (&axis, place) in self.free.iter().zip(places) {
            x[axis] = self.scales[axis].value(place.clamp(0.0, 1.0));
        }
        let row = self.shelf.row(&x);
        let violation = violation(&row, self.goals.len(), self.shelf.constraints());
        let changes = || {
            row.iter()
                .zip(self.goals)
                .zip(self.sizes)
                .map(|((now, then), size)| (now - then) / size)
        };
        let value = if violation > 0.0 {
            INFEASIBLE + violation
        } else {
            changes().fold(f64::NEG_INFINITY, f64::max) + SUM_WEIGHT * changes().sum::<f64>()
        };
        seen.push((x, row));
        Ok(if value.is_nan() {
            WORST
        } else {
            value.clamp(-WORST, WORST)
        })
    }
}
