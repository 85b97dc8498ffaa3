//! Search for evaluators that take seconds a design: processes fitted to all designs so far say where the next are
//! expected to gain most.
//!
//! Some designs spread over the space come first. Then, block after block, each output gets a Gaussian process, the
//! evolutionary search runs on what these expect, and of all that it finds the designs of the greatest expected gain
//! of hypervolume, times the probability of meeting every constraint, are evaluated.
//!
//! Source: Jones, Schonlau and Welch, J. Global Optimization 13, 1998 (one objective); Emmerich, Giannakoglou and
//! Naujoks, IEEE Trans. Evol. Comput. 10(4), 2006 (more); Schonlau, Welch and Jones, IMS Lecture Notes 34, 1998
//! (probability of meeting constraints; all from memory).

mod asked;
mod improvement;
mod models;
mod propose;
mod tame;

use super::axis::Scale;
use super::ledger::Ledger;
use super::random::Random;
use super::response::spread;
use super::samplers::latin_hypercube;
use super::{Ending, Error, Problem, Settings};
use models::Memory;
use propose::Proposer;

/// Designs of the beginning: so many and so many for each axis, and at most this share of the budget.
const START: (usize, usize) = (6, 3);
const START_SHARE: usize = 3;

/// Searches until the budget is used up, the front stalls, the observer stops it or the space is exhausted.
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    problem: &dyn Problem,
    scales: &[Scale],
    settings: &Settings,
    batch: usize,
) -> Result<Ending, Error> {
    let axes = problem.axes();
    let memory = Memory::new(axes, problem.objectives(), problem.constraints()).ok_or(
        Error::TooManyAxes {
            axes: axes.len(),
            most: super::response::MOST,
        },
    )?;
    let wanted = (START.0 + START.1 * axes.len()).min(settings.evaluations / START_SHARE);
    let mut fill = Filling {
        even: spread(axes, 4 * wanted.max(1), settings.seed, &mut |_| true)?,
        next: 0,
        scales,
        random: Random::new(settings.seed),
    };
    let mut proposer = Proposer::new(problem, scales, memory, settings.seed);
    let missing = wanted.saturating_sub(ledger.proposed());
    fill.propose(ledger, missing.max(1));
    loop {
        if ledger.proposed() == ledger.len() {
            return Ok(Ending::Exhausted);
        }
        if let Some(ending) = ledger.evaluate()? {
            return Ok(ending);
        }
        let batch = batch.clamp(1, ledger.room());
        if !proposer.propose(ledger, batch) {
            fill.propose(ledger, batch);
        }
    }
}

/// Designs that fill the space, for the beginning and for want of better ones.
struct Filling<'s> {
    /// Flat.
    even: Vec<f64>,
    next: usize,
    scales: &'s [Scale],
    random: Random,
}

impl Filling<'_> {
    /// Proposes so many new designs, fewer where there are none.
    fn propose(&mut self, ledger: &mut Ledger<'_>, count: usize) {
        let goal = ledger.proposed() + count.min(ledger.room());
        let axes = self.scales.len();
        while ledger.proposed() < goal {
            match self.even.get(self.next..self.next + axes) {
                Some(x) => {
                    self.next += axes;
                    ledger.propose(x);
                }
                None => {
                    if !latin_hypercube::propose_at_random(ledger, self.scales, &mut self.random) {
                        return;
                    }
                }
            }
        }
    }
}
