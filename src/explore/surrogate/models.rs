//! A Gaussian process for each output that matters, kept up to date.

use rayon::prelude::*;

use super::super::Axis;
use super::super::ledger::Ledger;
use super::super::response::{
    Coordinates, Kernel, Look, MOST, Model, Posterior, Sample, Setup, Variable,
};
use super::improvement::Guess;
use super::tame::Tame;

/// Choices of at most this many have no order for a process, more are places in a row.
const KINDS: usize = 5;
/// Up to this many designs all models are tried each time, later only when the designs have doubled.
const FEW: usize = 60;
/// Lengths are sought anew when there are this many times as many designs.
const GROWTH: f64 = 1.15;
/// Designs that processes are fitted to at most.
const MOST_DESIGNS: usize = 400;
const MODELS: [Model; 4] = [
    model(Kernel::SquaredExponential, false),
    model(Kernel::SquaredExponential, true),
    model(Kernel::Matern, false),
    model(Kernel::Matern, true),
];

const fn model(kernel: Kernel, quadratic: bool) -> Model {
    Model::Process { kernel, quadratic }
}

/// What is asked of a process.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Output {
    Objective(usize),
    Constraint(usize),
    /// 1 for a design that could be evaluated, 0 for one that failed.
    Success,
}

/// Setups found so far, and when they are sought anew.
pub(super) struct Memory {
    coordinates: Coordinates,
    objectives: usize,
    constraints: usize,
    kept: Vec<Kept>,
}

#[derive(Clone, Debug)]
struct Kept {
    output: Output,
    setup: Option<Setup>,
    /// Designs when all models were tried, and when lengths were sought.
    tried: usize,
    sought: usize,
}

/// Coordinates of the axes: those without order only where there is room for them.
fn coordinates(axes: &[Axis]) -> Option<Coordinates> {
    let variables = |kinds: usize| -> Vec<Variable> {
        let variable = |axis: &Axis| match *axis {
            Axis::Choice { count } if count > kinds => Variable::Number {
                low: 0.0,
                high: count as f64 - 1.0,
                log: false,
            },
            _ => Variable::of(axis, None),
        };
        axes.iter().map(variable).collect()
    };
    Coordinates::new(&variables(KINDS))
        .or_else(|_| Coordinates::new(&variables(0)))
        .ok()
}

impl Memory {
    /// Nothing where there are more axes than a process takes.
    pub(super) fn new(axes: &[Axis], objectives: usize, constraints: usize) -> Option<Self> {
        let outputs = (0..objectives)
            .map(Output::Objective)
            .chain((0..constraints).map(Output::Constraint))
            .chain([Output::Success]);
        let kept = |output| Kept {
            output,
            setup: None,
            tried: 0,
            sought: 0,
        };
        Some(Self {
            coordinates: coordinates(axes)?,
            objectives,
            constraints,
            kept: outputs.map(kept).collect(),
        })
    }

    /// Processes over the designs of a ledger; `tames` are those of the objectives. Nothing where one can't be
    /// fitted, for want of designs.
    pub(super) fn models(&mut self, ledger: &Ledger<'_>, tames: &[Tame]) -> Option<Models> {
        let designs = self.designs(ledger);
        let at: Vec<Vec<f64>> = designs
            .iter()
            .map(|&design| {
                let mut at = vec![0.0; self.coordinates.count()];
                self.coordinates.place(ledger.x(design), &mut at);
                at
            })
            .collect();
        let (coordinates, objectives) = (&self.coordinates, self.objectives);
        let rows: Vec<&[f64]> = designs.iter().map(|&design| ledger.row(design)).collect();
        let failed: Vec<bool> = designs
            .iter()
            .map(|&design| ledger.violation(design) == f64::INFINITY)
            .collect();
        let process = |kept: &mut Kept| -> Option<Option<(Output, Posterior)>> {
            let values: Vec<f64> = match kept.output {
                Output::Objective(k) => rows.iter().map(|row| row[k]).collect(),
                Output::Constraint(k) => rows.iter().map(|row| row[objectives + k]).collect(),
                Output::Success => failed
                    .iter()
                    .map(|&failed| f64::from(u8::from(!failed)))
                    .collect(),
            };
            let needless = match kept.output {
                Output::Objective(_) => false,
                Output::Constraint(_) => !values.iter().any(|value| *value > 0.0),
                Output::Success => values.iter().all(|value| *value == 1.0),
            };
            if needless {
                return Some(None);
            }
            let tame = match kept.output {
                Output::Objective(k) => tames[k],
                Output::Constraint(_) => Tame::about_zero(&values),
                Output::Success => Tame {
                    low: 0.0,
                    high: 1.0,
                    size: 1.0,
                },
            };
            let sample = sample(&at, &values, tame);
            kept.seek(coordinates, &sample);
            let fitted = kept
                .setup
                .as_ref()
                .and_then(|setup| Posterior::new(setup, coordinates, &sample));
            match fitted {
                Some(posterior) => Some(Some((kept.output, posterior))),
                // Who fails where can be left open; objectives and constraints can't.
                None => (kept.output == Output::Success).then_some(None),
            }
        };
        let fitted: Vec<_> = self.kept.par_iter_mut().map(process).collect();
        let fitted: Option<Vec<_>> = fitted.into_iter().collect();
        let mut models = Models {
            coordinates: self.coordinates.clone(),
            objectives: Vec::new(),
            constraints: Vec::new(),
            success: None,
        };
        for (output, posterior) in fitted?.into_iter().flatten() {
            match output {
                Output::Objective(_) => models.objectives.push(posterior),
                Output::Constraint(_) => models.constraints.push(posterior),
                Output::Success => models.success = Some(posterior),
            }
        }
        Some(models)
    }

    /// All designs, or where there are very many those that are least behind the others: by violation, then by how
    /// much of the designs each is worse than.
    fn designs(&self, ledger: &Ledger<'_>) -> Vec<usize> {
        let mut designs: Vec<usize> = (0..ledger.len()).collect();
        if designs.len() <= MOST_DESIGNS {
            return designs;
        }
        let worse = |a: usize, b: usize| {
            let goals = ledger.goals(a).iter().zip(ledger.goals(b));
            goals.clone().all(|(a, b)| a >= b)
        };
        let behind: Vec<usize> = designs
            .iter()
            .map(|&design| {
                let others = designs.iter().filter(|&&other| {
                    ledger.violation(other) == 0.0 && other != design && worse(design, other)
                });
                others.count()
            })
            .collect();
        designs.sort_by(|&a, &b| {
            let violation = ledger.violation(a).total_cmp(&ledger.violation(b));
            violation.then(behind[a].cmp(&behind[b])).then(a.cmp(&b))
        });
        // One in four of those left out stays nevertheless, so that far places are not forgotten.
        let near = MOST_DESIGNS * 3 / 4;
        let far: Vec<usize> = designs.split_off(near);
        let step = far.len().div_ceil(MOST_DESIGNS - near);
        designs.extend(far.into_iter().step_by(step));
        designs.sort_unstable();
        designs
    }

    pub(super) fn constraints(&self) -> usize {
        self.constraints
    }
}

/// Designs whose figure is known; infinite ones count as the worst finite one.
fn sample(at: &[Vec<f64>], values: &[f64], tame: Tame) -> Sample {
    let most = |sign: f64| {
        let finite = values.iter().filter(|value| value.is_finite());
        finite.fold(0.0_f64, |most, value| most.max(sign * value))
    };
    let (high, low) = (most(1.0), -most(-1.0));
    let known: Vec<usize> = (0..values.len()).filter(|&k| !values[k].is_nan()).collect();
    Sample {
        at: known.iter().map(|&k| at[k].clone()).collect(),
        y: known
            .iter()
            .map(|&k| tame.value(values[k].clamp(low, high)))
            .collect(),
        weights: vec![1.0; known.len()],
    }
}

impl Kept {
    fn seek(&mut self, coordinates: &Coordinates, sample: &Sample) {
        let count = sample.y.len();
        let due = |then: usize, factor: f64| count as f64 >= factor * then as f64;
        let all =
            self.setup.is_none() || count <= FEW && due(self.tried, GROWTH) || due(self.tried, 2.0);
        let models = match &self.setup {
            _ if all => MODELS.to_vec(),
            Some(setup) if due(self.sought, GROWTH) => vec![setup.model()],
            _ => return,
        };
        if all {
            self.tried = count;
        }
        self.sought = count;
        let found = Setup::least(&models, coordinates, sample, self.setup.as_ref());
        self.setup = found.or(self.setup.take());
    }
}

/// What is expected of any design.
#[derive(Clone, Debug)]
pub(super) struct Models {
    coordinates: Coordinates,
    objectives: Vec<Posterior>,
    /// Those that some design breaks.
    constraints: Vec<Posterior>,
    success: Option<Posterior>,
}

/// Least probability that a design can be evaluated.
const LEAST_SUCCESS: f64 = 0.02;

impl Models {
    pub(super) fn constraints(&self) -> usize {
        self.constraints.len()
    }

    /// Coordinates of a design.
    pub(super) fn place(&self, x: &[f64]) -> [f64; MOST] {
        let mut at = [0.0; MOST];
        self.coordinates
            .place(x, &mut at[..self.coordinates.count()]);
        at
    }

    /// Expected objectives and violated constraints, in that order.
    pub(super) fn means(&self, x: &[f64], look: &mut Look, means: &mut [f64]) {
        let at = self.place(x);
        let at = &at[..self.coordinates.count()];
        let outputs = self.objectives.iter().chain(&self.constraints);
        for (mean, output) in means.iter_mut().zip(outputs) {
            *mean = output.mean(at, look);
        }
    }

    /// Objectives with their deviations.
    pub(super) fn objectives(&self, x: &[f64], look: &mut Look) -> Vec<Guess> {
        let at = self.place(x);
        let at = &at[..self.coordinates.count()];
        let outputs = self.objectives.iter();
        outputs.map(|output| output.at(at, look)).collect()
    }

    /// Constraints with their deviations.
    pub(super) fn limits(&self, x: &[f64], look: &mut Look) -> Vec<Guess> {
        let at = self.place(x);
        let at = &at[..self.coordinates.count()];
        let outputs = self.constraints.iter();
        outputs.map(|output| output.at(at, look)).collect()
    }

    /// Probability that a design can be evaluated.
    pub(super) fn success(&self, x: &[f64], look: &mut Look) -> f64 {
        let at = self.place(x);
        let at = &at[..self.coordinates.count()];
        let success = self.success.as_ref();
        success.map_or(1.0, |success| {
            success.mean(at, look).clamp(LEAST_SUCCESS, 1.0)
        })
    }

    /// Takes a design as known, as expected.
    pub(super) fn believe(&mut self, x: &[f64], look: &mut Look) {
        let at = self.place(x);
        let at = &at[..self.coordinates.count()];
        for output in self.objectives.iter_mut().chain(&mut self.constraints) {
            output.believe(at, look);
        }
    }
}
