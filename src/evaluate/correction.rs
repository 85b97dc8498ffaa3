//! The beam's figures set right by what solids say: which figures, and by how much.

use std::fmt;
use std::sync::Arc;

use super::evaluator::{Answer, Evaluator, Solved, load_size};
use super::measures::{Acting, LoadName};
use super::outside::Ask;
use super::truth::SolidFacts;
use crate::solid::Density;

/// Displacements below this, in mm, are none.
const STILL_MM: f64 = 1e-9;

/// A figure that beam and solid both give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Target {
    /// Stiffness of a load case.
    Stiffness(usize),
    /// Greatest displacement of a load case.
    Displacement(usize),
    /// Greatest stress at the drilled holes in a load case.
    Peak(usize),
    /// First natural frequency.
    Frequency,
}

/// Logarithms of solid over beam, one for each of [`Evaluator::targets`], from the variables in base units.
#[derive(Clone)]
pub struct Ratios(Arc<Write>);

/// Writes logarithms from variables.
type Write = dyn Fn(&[f64], &mut [f64]) + Send + Sync;

impl Ratios {
    /// Ratios from a function that writes them.
    pub fn new(write: impl Fn(&[f64], &mut [f64]) + Send + Sync + 'static) -> Ratios {
        Ratios(Arc::new(write))
    }
}

impl fmt::Debug for Ratios {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Ratios")
    }
}

/// What a design's stiffness, displacements and frequency rest on.
#[derive(Clone, Debug, Default)]
pub enum Truth {
    /// The beam alone.
    #[default]
    Beam,
    /// The beam times ratios learnt from solids.
    Law(Ratios),
    /// A solid of every design at a density, times constant ratios (logarithms, one a target) that finer meshes
    /// gave; the beam where a design can't be meshed.
    Solid(Density, Vec<f64>),
}

impl Evaluator {
    /// The same study resting on another truth.
    pub fn resting_on(&self, truth: Truth) -> Evaluator {
        Evaluator {
            truth,
            ..self.clone()
        }
    }

    /// What this evaluator rests on.
    pub fn truth(&self) -> &Truth {
        &self.truth
    }

    /// The figures that beam and solid both give, in order, with the measures' names.
    pub fn targets(&self) -> &[(Target, String)] {
        &self.targets
    }

    /// The beam's figures of a design, one for each target; `None` where the design can't be solved.
    pub fn beam(&self, variables: &[f64]) -> Option<Vec<f64>> {
        self.resting_on(Truth::Beam).searched(variables)
    }

    /// The figures of a design as this evaluator's truth has them, one for each target.
    pub fn searched(&self, variables: &[f64]) -> Option<Vec<f64>> {
        let (_, answer, trouble) = self.examine(variables, false, Ask::Nobody);
        let answer = answer.filter(|_| trouble.is_none())?;
        let solved = answer.solved.as_ref()?;
        let of = |target: &(Target, String)| figure(target.0, &answer, solved);
        Some(self.targets.iter().map(of).collect())
    }

    /// A solid's figures, one for each target; not a number where it has none.
    pub fn figures(&self, facts: &SolidFacts) -> Vec<f64> {
        let of = |target: &(Target, String)| match target.0 {
            Target::Stiffness(load) => facts.loads[load].stiffness,
            Target::Displacement(load) => facts.loads[load].displacement_mm,
            Target::Peak(load) => facts.loads[load]
                .row_peak
                .map_or(f64::NAN, |peak| peak.equivalent_mpa),
            Target::Frequency => facts
                .modes
                .first()
                .map_or(f64::NAN, |mode| mode.frequency_hz),
        };
        self.targets.iter().map(of).collect()
    }

    /// Sets the beam's figures right.
    pub(super) fn correct(&self, answer: &Answer, solved: &mut Solved, slots: &[f64]) {
        let targets = &self.targets;
        let mut logs = vec![0.0; targets.len()];
        match &self.truth {
            Truth::Beam => {}
            Truth::Law(ratios) => (ratios.0)(&slots[..self.setup.variables.len()], &mut logs),
            Truth::Solid(density, finer) => {
                if let Ok(facts) = self.solid_of(answer, slots, *density, 1) {
                    let found = self.figures(&facts);
                    for (k, target) in targets.iter().enumerate() {
                        let beam = figure(target.0, answer, solved);
                        logs[k] = (found[k] / beam).ln() + finer.get(k).copied().unwrap_or(0.0);
                    }
                }
            }
        }
        self.correct_by(logs, solved);
    }

    /// Sets the beam's figures right by logarithms that are known.
    pub(super) fn correct_by(&self, logs: Vec<f64>, solved: &mut Solved) {
        for (target, log) in self.targets.iter().zip(&logs) {
            let ratio = if log.is_finite() { log.exp() } else { 1.0 };
            match target.0 {
                Target::Stiffness(load) => solved.responses[load].work_n_mm /= ratio,
                Target::Displacement(load) => {
                    solved.responses[load].greatest_displacement_mm *= ratio;
                }
                Target::Peak(load) => {
                    for hole in &mut solved.responses[load].holes {
                        hole.peak_mpa *= ratio;
                    }
                }
                Target::Frequency => solved.frequency_hz *= ratio,
            }
        }
        solved.logs = logs;
    }
}

/// The figures that beam and solid both give in a study with these load cases.
///
/// `drilled`: whether there are hole rows.
pub(super) fn targets(loads: &[LoadName], drilled: bool) -> Vec<(Target, String)> {
    let mut targets = Vec::new();
    for (index, load) in loads.iter().enumerate() {
        if load.acting != Acting::Inertia {
            targets.push((Target::Stiffness(index), format!("{}.stiffness", load.name)));
        }
        // A blade opened far is no matter of small deflection, which solids are solved for.
        if load.acting != Acting::Opening {
            targets.push((
                Target::Displacement(index),
                format!("{}.displacement", load.name),
            ));
        }
    }
    for (index, load) in loads.iter().enumerate() {
        if drilled && load.acting != Acting::Opening {
            targets.push((Target::Peak(index), format!("{}.peak at holes", load.name)));
        }
    }
    targets.push((Target::Frequency, "frequency".into()));
    targets
}

fn figure(target: Target, answer: &Answer, solved: &Solved) -> f64 {
    match target {
        Target::Stiffness(load) => {
            let size = load_size(&answer.loadings[load], &answer.part, &answer.layout);
            size * size / solved.responses[load].work_n_mm
        }
        // Where the sections' middles hardly move, as under a moment alone, solid over beam says nothing.
        Target::Displacement(load) => match solved.responses[load].greatest_displacement_mm {
            still if still < STILL_MM => f64::NAN,
            moved => moved,
        },
        Target::Peak(load) => solved.responses[load]
            .holes
            .first()
            .map_or(f64::NAN, |hole| hole.peak_mpa),
        Target::Frequency => solved.frequency_hz,
    }
}
