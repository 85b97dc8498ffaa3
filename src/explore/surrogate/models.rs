//! A Gaussian process for each output that matters, kept up to date.

use rayon::prelude::*;

use super::super::Axis;
use super::super::ledger::Ledger;
use super::super::response::{Coordinates, Kernel, Model, Posterior, Sample, Setup, Variable};
use super::asked::{Asked, Models};
use super::tame::Tame;

/// Choices of at most this many have no order for a process, more are places in a row.
const KINDS: usize = 5;
/// Up to this many designs all models are tried each time, later only when the designs have doubled.
const FEW: usize = 60;
/// Lengths are sought anew when there are this many times as many designs.
const GROWTH: f64 = 1.15;
/// Beyond this many not any more.
const MANY: usize = 150;
/// A positive axis whose ends have this ratio may count by its logarithm.
const SPAN: f64 = 5.0;
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
    axes: Vec<Axis>,
    systems: Vec<Coordinates>,
    objectives: usize,
    kept: Vec<Kept>,
}

/// How designs and figures enter a process.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Way {
    /// Which coordinates.
    system: usize,
    /// Figures as they are, or else tamed.
    raw: bool,
}

#[derive(Clone, Debug)]
struct Kept {
    output: Output,
    setup: Option<Setup>,
    way: Way,
    /// Designs when all models were tried, and when lengths were sought.
    tried: usize,
    sought: usize,
}

/// Coordinates of the axes: those without order only where there is room for them. Where a positive axis spans much,
/// also coordinates with the logarithm of all such axes: sections and thicknesses often count by their powers.
fn systems(axes: &[Axis]) -> Option<Vec<Coordinates>> {
    let by_power = |axis: &Axis| match *axis {
        Axis::Continuous {
            low,
            high,
            step,
            log: false,
        } if low > 0.0 && high >= SPAN * low => Axis::Continuous {
            low,
            high,
            step,
            log: true,
        },
        Axis::Integer { low, high } if low > 0 && high as f64 >= SPAN * low as f64 => {
            Axis::Continuous {
                low: low as f64,
                high: high as f64,
                step: None,
                log: true,
            }
        }
        _ => axis.clone(),
    };
    let powers: Vec<Axis> = axes.iter().map(by_power).collect();
    let mut systems = vec![coordinates(axes)?];
    if powers != axes {
        systems.push(coordinates(&powers)?);
    }
    Some(systems)
}

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
            way: Way::default(),
            tried: 0,
            sought: 0,
        };
        Some(Self {
            axes: axes.to_vec(),
            systems: systems(axes)?,
            objectives,
            kept: outputs.map(kept).collect(),
        })
    }

    /// Processes over the designs of a ledger; `tames` are those of the objectives. Nothing where one can't be
    /// fitted, for want of designs.
    pub(super) fn models(&mut self, ledger: &Ledger<'_>, tames: &[Tame]) -> Option<Models> {
        let designs = self.designs(ledger);
        let place = |system: &Coordinates| -> Vec<Vec<f64>> {
            let place = |&design: &usize| {
                let mut at = vec![0.0; system.count()];
                system.place(&self.inside(ledger.x(design)), &mut at);
                at
            };
            designs.iter().map(place).collect()
        };
        let places: Vec<Vec<Vec<f64>>> = self.systems.iter().map(place).collect();
        let (systems, objectives) = (&self.systems, self.objectives);
        let rows: Vec<&[f64]> = designs.iter().map(|&design| ledger.row(design)).collect();
        let failed: Vec<bool> = designs
            .iter()
            .map(|&design| ledger.violation(design) == f64::INFINITY)
            .collect();
        let process = |kept: &mut Kept| -> Option<Option<(Output, Asked)>> {
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
            let samples: Vec<Sample> = places.iter().map(|at| sample(at, &values)).collect();
            kept.seek(systems, &samples, tame);
            let system = kept.way.system;
            let mut sample = samples[system].clone();
            if !kept.way.raw {
                sample = tamed(sample, tame);
            }
            let setup = kept.setup.as_ref();
            let fitted = setup.and_then(|setup| Posterior::new(setup, &systems[system], &sample));
            match fitted {
                Some(posterior) => Some(Some((kept.output, Asked { system, posterior }))),
                // Who fails where can be left open; objectives and constraints can't.
                None => (kept.output == Output::Success).then_some(None),
            }
        };
        let fitted: Vec<_> = self.kept.par_iter_mut().map(process).collect();
        let fitted: Option<Vec<_>> = fitted.into_iter().collect();
        let mut models = Models {
            systems: self.systems.clone(),
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

    /// A design as it is, but for what has no logarithm.
    fn inside(&self, x: &[f64]) -> Vec<f64> {
        let each = self.axes.iter().zip(x).map(|(axis, &x)| match *axis {
            Axis::Continuous { low, .. } if low > 0.0 => x.max(low / SPAN),
            Axis::Integer { low, .. } if low > 0 => x.max(low as f64 / SPAN),
            _ => x,
        });
        each.collect()
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
}

/// Designs whose figure is known; infinite ones count as the worst finite one.
fn sample(at: &[Vec<f64>], values: &[f64]) -> Sample {
    let most = |sign: f64| {
        let finite = values.iter().filter(|value| value.is_finite());
        finite.fold(0.0_f64, |most, value| most.max(sign * value))
    };
    let (high, low) = (most(1.0), -most(-1.0));
    let known: Vec<usize> = (0..values.len()).filter(|&k| !values[k].is_nan()).collect();
    Sample {
        at: known.iter().map(|&k| at[k].clone()).collect(),
        y: known.iter().map(|&k| values[k].clamp(low, high)).collect(),
        weights: vec![1.0; known.len()],
    }
}

fn tamed(mut sample: Sample, tame: Tame) -> Sample {
    sample.y.iter_mut().for_each(|y| *y = tame.value(*y));
    sample
}

impl Kept {
    /// Looks for a better setup where it is time to: of tamed figures and of those as they are, the one that is less
    /// off, as tamed, on designs left out.
    fn seek(&mut self, systems: &[Coordinates], samples: &[Sample], tame: Tame) {
        let count = samples[0].y.len();
        let due = |then: usize, factor: f64| count as f64 >= factor * then as f64;
        let all = self.setup.is_none()
            || count <= FEW && due(self.tried, GROWTH)
            || count <= MANY && due(self.tried, 2.0);
        let (near, way) = (self.setup.take(), self.way);
        let candidates: Vec<(Way, Model)> = match &near {
            _ if all => (0..systems.len())
                .flat_map(|system| [false, true].map(|raw| Way { system, raw }))
                .flat_map(|way| MODELS.map(|model| (way, model)))
                .collect(),
            Some(setup) if due(self.sought, GROWTH) => vec![(way, setup.model())],
            _ => {
                self.setup = near;
                return;
            }
        };
        if all {
            self.tried = count;
        }
        self.sought = count;
        let drawn_in: Vec<Sample> = samples
            .iter()
            .map(|sample| tamed(sample.clone(), tame))
            .collect();
        let mut least = f64::INFINITY;
        for (candidate, model) in candidates {
            let Way { system, raw } = candidate;
            let own = if raw {
                &samples[system]
            } else {
                &drawn_in[system]
            };
            let near = near.as_ref().filter(|_| candidate == way);
            let Some(setup) = Setup::of(model, &systems[system], own, near) else {
                continue;
            };
            let errors = own.y.iter().zip(setup.left_out()).zip(&drawn_in[system].y);
            let error: f64 = errors
                .map(|((own, left_out), y)| {
                    let expected = own - left_out;
                    let error = if raw { tame.value(expected) } else { expected } - y;
                    (error / (1.0 + tame.beyond(*y) / tame.size)).powi(2)
                })
                .sum();
            if error < least {
                (least, self.setup, self.way) = (error, Some(setup), candidate);
            }
        }
        self.setup = self.setup.take().or(near);
    }
}
