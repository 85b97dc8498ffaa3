//! What the processes of all outputs say of a design.

use super::super::response::{Coordinates, Look, MOST, Posterior};
use super::improvement::Guess;

/// A process and the coordinates it takes.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    pub(super) system: usize,
    pub(super) posterior: Posterior,
}

/// What is expected of any design.
#[derive(Clone, Debug)]
pub(super) struct Models {
    pub(super) systems: Vec<Coordinates>,
    pub(super) objectives: Vec<Asked>,
    /// Those that some design breaks.
    pub(super) constraints: Vec<Asked>,
    pub(super) success: Option<Asked>,
}

/// Least probability that a design can be evaluated.
const LEAST_SUCCESS: f64 = 0.02;

/// A design's coordinates in every system.
struct Place([[f64; MOST]; 2]);

impl Models {
    pub(super) fn constraints(&self) -> usize {
        self.constraints.len()
    }

    fn place(&self, x: &[f64]) -> Place {
        let mut at = [[0.0; MOST]; 2];
        for (system, at) in self.systems.iter().zip(&mut at) {
            system.place(x, &mut at[..system.count()]);
        }
        Place(at)
    }

    fn coordinates<'p>(&self, place: &'p Place, asked: &Asked) -> &'p [f64] {
        &place.0[asked.system][..self.systems[asked.system].count()]
    }

    /// Expected objectives and violated constraints, in that order.
    pub(super) fn means(&self, x: &[f64], look: &mut Look, means: &mut [f64]) {
        let place = self.place(x);
        let outputs = self.objectives.iter().chain(&self.constraints);
        for (mean, output) in means.iter_mut().zip(outputs) {
            *mean = output
                .posterior
                .mean(self.coordinates(&place, output), look);
        }
    }

    fn guesses(&self, outputs: &[Asked], x: &[f64], look: &mut Look) -> Vec<Guess> {
        let place = self.place(x);
        let guess = |output: &Asked| output.posterior.at(self.coordinates(&place, output), look);
        outputs.iter().map(guess).collect()
    }

    /// Objectives with their deviations.
    pub(super) fn objectives(&self, x: &[f64], look: &mut Look) -> Vec<Guess> {
        self.guesses(&self.objectives, x, look)
    }

    /// Constraints with their deviations.
    pub(super) fn limits(&self, x: &[f64], look: &mut Look) -> Vec<Guess> {
        self.guesses(&self.constraints, x, look)
    }

    /// Probability that a design can be evaluated.
    pub(super) fn success(&self, x: &[f64], look: &mut Look) -> f64 {
        let place = self.place(x);
        self.success.as_ref().map_or(1.0, |success| {
            let mean = success
                .posterior
                .mean(self.coordinates(&place, success), look);
            mean.clamp(LEAST_SUCCESS, 1.0)
        })
    }

    /// Takes a design as known, as expected.
    pub(super) fn believe(&mut self, x: &[f64], look: &mut Look) {
        let place = self.place(x);
        let systems = &self.systems;
        for output in self.objectives.iter_mut().chain(&mut self.constraints) {
            let at = &place.0[output.system][..systems[output.system].count()];
            output.posterior.believe(at, look);
        }
    }
}
