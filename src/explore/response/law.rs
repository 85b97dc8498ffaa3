//! Surfaces of many outputs over the same designs.

use rayon::prelude::*;

use super::FitError;
use super::coordinates::{Coordinates, MOST, Variable};
use super::fit::{Fitted, Model, Tried, attempt, fit, parts, rms};
use super::process::Sample;

/// Least designs with an output.
const LEAST: usize = 4;
/// A model whose leave-one-out error is this many times the least is not tried further.
const HOPELESS: f64 = 1.3;
/// A simpler model stays where another is not better by this share.
const BETTER: f64 = 0.98;

/// How a law is fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Parts the designs are dealt out to; each is predicted by fits to all others. More parts cost time and judge
    /// fits to nearly as many designs as the final one. Default: 8.
    pub parts: usize,
    /// Seed of the dealing. Default: 1.
    pub seed: u64,
    /// Models to choose from, the preferred first; empty: a quadratic. Default: all.
    pub models: Vec<Model>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            parts: 8,
            seed: 1,
            models: Model::ALL.to_vec(),
        }
    }
}

/// Designs whose outputs are known.
#[derive(Clone, Copy, Debug, Default)]
pub struct Designs<'a> {
    /// Variables, flat: (designs, variables).
    pub points: &'a [f64],
    /// Outputs, flat: (designs, outputs); NaN where one is not known.
    pub values: &'a [f64],
    /// Weight of each design: its noise is divided by it. Empty: all 1.
    pub weights: &'a [f64],
}

/// How far off an output is on designs that the surface was not fitted to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Misfit {
    /// Root of the mean square of value less prediction.
    pub rms: f64,
    /// Largest size of value less prediction.
    pub worst: f64,
    /// Designs judged.
    pub designs: usize,
}

impl Misfit {
    fn of(errors: &[f64]) -> Self {
        Self {
            rms: rms(errors),
            worst: errors
                .iter()
                .fold(0.0, |worst, error| error.abs().max(worst)),
            designs: errors.len(),
        }
    }
}

/// Surfaces of many outputs over the same designs.
#[derive(Clone, Debug)]
pub struct Law {
    variables: Vec<Variable>,
    coordinates: Coordinates,
    settings: Settings,
    points: Vec<f64>,
    values: Vec<f64>,
    weights: Vec<f64>,
    outputs: Vec<Tried>,
}

impl Law {
    /// A law fitted to designs.
    ///
    /// For each output every model of the settings is fitted; those of little leave-one-out error are fitted again
    /// without each part of the designs, and the one with the least error on what was left out is taken. The same arguments give the same bytes on any number of threads.
    ///
    /// # Errors
    ///
    /// Variables without values, lengths that don't belong together, points, values or weights that are not finite,
    /// an output known of fewer than four designs.
    pub fn fit(
        variables: &[Variable],
        designs: Designs<'_>,
        settings: &Settings,
    ) -> Result<Self, FitError> {
        let coordinates = Coordinates::new(variables)?;
        let outputs = check(variables, designs)?;
        let weights = match designs.weights {
            [] => vec![1.0; designs.points.len() / variables.len()],
            weights => weights.to_vec(),
        };
        let mut law = Self {
            variables: variables.to_vec(),
            coordinates,
            settings: settings.clone(),
            points: designs.points.to_vec(),
            values: designs.values.to_vec(),
            weights,
            outputs: Vec::new(),
        };
        let samples = (0..outputs)
            .map(|output| law.sample(output, outputs))
            .collect::<Result<Vec<_>, _>>()?;
        let models = match settings.models.as_slice() {
            [] => &[Model::Quadratic],
            models => models,
        };
        let pairs: Vec<(usize, Model)> = (0..outputs)
            .flat_map(|output| models.iter().map(move |&model| (output, model)))
            .collect();
        let fitted: Vec<Option<Fitted>> = pairs
            .par_iter()
            .map(|&(output, model)| fit(model, &law.coordinates, &samples[output], None))
            .collect();
        let error = |fitted: &Fitted| rms(&fitted.left_out);
        let least: Vec<f64> = fitted
            .chunks(models.len())
            .map(|each| {
                each.iter()
                    .flatten()
                    .map(error)
                    .fold(f64::INFINITY, f64::min)
            })
            .collect();
        let tried: Vec<Option<Tried>> = pairs
            .par_iter()
            .zip(fitted)
            .map(|(&(output, model), fitted)| {
                let fitted = fitted.filter(|fitted| error(fitted) <= HOPELESS * least[output])?;
                law.attempt(model, fitted, &samples[output])
            })
            .collect();
        for (output, tried) in tried.chunks(models.len()).enumerate() {
            let best = tried.iter().flatten().reduce(|best, next| {
                if next.rms() < BETTER * best.rms() {
                    next
                } else {
                    best
                }
            });
            // Where the designs are too few for every model asked for, a quadratic still has its constant.
            let best = best.cloned().or_else(|| law.quadratic(&samples[output]));
            law.outputs.extend(best);
        }
        Ok(law)
    }

    fn attempt(&self, model: Model, fitted: Fitted, sample: &Sample) -> Option<Tried> {
        let parts = parts(sample.y.len(), self.settings.parts, self.settings.seed);
        attempt(model, fitted, &self.coordinates, sample, &parts)
    }

    fn quadratic(&self, sample: &Sample) -> Option<Tried> {
        let fitted = fit(Model::Quadratic, &self.coordinates, sample, None)?;
        self.attempt(Model::Quadratic, fitted, sample)
    }

    /// Designs with an output known.
    fn sample(&self, output: usize, outputs: usize) -> Result<Sample, FitError> {
        let mut sample = Sample {
            at: Vec::new(),
            y: Vec::new(),
            weights: Vec::new(),
        };
        let rows = self.points.chunks(self.variables.len());
        for (design, x) in rows.enumerate() {
            let y = self.values[design * outputs + output];
            if !y.is_nan() {
                let mut at = vec![0.0; self.coordinates.count()];
                self.coordinates.place(x, &mut at);
                sample.at.push(at);
                sample.y.push(y);
                sample.weights.push(self.weights[design]);
            }
        }
        let designs = sample.y.len();
        if designs < LEAST {
            return Err(FitError::TooFew {
                output,
                designs,
                least: LEAST,
            });
        }
        Ok(sample)
    }

    /// This law with more designs, all fitted anew.
    ///
    /// # Errors
    ///
    /// As [`Law::fit`].
    pub fn refit(&self, more: Designs<'_>) -> Result<Self, FitError> {
        check(&self.variables, more)?;
        let weights = match more.weights {
            [] => vec![1.0; more.points.len() / self.variables.len()],
            weights => weights.to_vec(),
        };
        let designs = Designs {
            points: &[&self.points, more.points].concat(),
            values: &[&self.values, more.values].concat(),
            weights: &[self.weights.as_slice(), &weights].concat(),
        };
        Self::fit(&self.variables, designs, &self.settings)
    }

    /// Number of outputs.
    pub fn outputs(&self) -> usize {
        self.outputs.len()
    }

    /// Number of designs fitted.
    pub fn designs(&self) -> usize {
        self.weights.len()
    }

    /// Writes the outputs of a design; NaN for one whose variables can't be placed. Takes no memory.
    ///
    /// # Panics
    ///
    /// Fewer variables or places for outputs than the law has.
    pub fn predict(&self, x: &[f64], outputs: &mut [f64]) {
        assert!(x.len() >= self.variables.len() && outputs.len() >= self.outputs.len());
        let outputs = &mut outputs[..self.outputs.len()];
        let sound = |(variable, x): (&Variable, &f64)| variable.holds(*x);
        if !self.variables.iter().zip(x).all(sound) {
            outputs.fill(f64::NAN);
            return;
        }
        let mut at = [0.0; MOST];
        let at = &mut at[..self.coordinates.count()];
        self.coordinates.place(x, at);
        pulp::Arch::new().dispatch(Prediction {
            outputs: &self.outputs,
            at,
            values: outputs,
        });
    }

    /// Misfit of each output on designs that were left out of the fit and predicted by the rest.
    ///
    /// Those fits had fewer designs than the final one, but the model was chosen by this figure; a check against
    /// designs of their own is [`Law::misfit_on`].
    pub fn misfit(&self) -> Vec<Misfit> {
        let outputs = self.outputs.iter();
        outputs.map(|output| Misfit::of(&output.unseen)).collect()
    }

    /// Leave-one-out misfit of each output, terms and lengths kept: optimistic.
    pub fn leave_one_out(&self) -> Vec<Misfit> {
        let outputs = self.outputs.iter();
        outputs
            .map(|output| Misfit::of(&output.fitted.left_out))
            .collect()
    }

    /// Misfit of each output on other designs, whose weights don't matter.
    ///
    /// # Errors
    ///
    /// Lengths that don't belong together, points or values that are not finite, another number of outputs.
    pub fn misfit_on(&self, others: Designs<'_>) -> Result<Vec<Misfit>, FitError> {
        let outputs = check(&self.variables, others)?;
        if outputs != self.outputs.len() {
            return Err(FitError::Shape {
                points: others.points.len(),
                values: others.values.len(),
                weights: others.weights.len(),
            });
        }
        let mut errors = vec![Vec::new(); outputs];
        let mut prediction = vec![0.0; outputs];
        let points = others.points.chunks(self.variables.len());
        for (x, values) in points.zip(others.values.chunks(outputs)) {
            self.predict(x, &mut prediction);
            for output in 0..outputs {
                if !values[output].is_nan() {
                    errors[output].push(values[output] - prediction[output]);
                }
            }
        }
        Ok(errors.iter().map(|errors| Misfit::of(errors)).collect())
    }

    /// Model of each output.
    pub fn models(&self) -> Vec<Model> {
        self.outputs.iter().map(|output| output.model).collect()
    }
}

/// Work done in wide registers where the processor has them. No sum changes its order and nothing is fused, so the
/// bytes are the same without.
struct Prediction<'a> {
    outputs: &'a [Tried],
    at: &'a [f64],
    values: &'a mut [f64],
}

impl pulp::WithSimd for Prediction<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        for (value, output) in self.values.iter_mut().zip(self.outputs) {
            *value = output.fitted.surface.at(self.at);
        }
    }
}

/// Number of outputs of designs that are sound.
fn check(variables: &[Variable], designs: Designs<'_>) -> Result<usize, FitError> {
    let (points, values, weights) = (designs.points, designs.values, designs.weights);
    let shape = FitError::Shape {
        points: points.len(),
        values: values.len(),
        weights: weights.len(),
    };
    let count = points.len().checked_div(variables.len()).unwrap_or(0);
    let outputs = values.len().checked_div(count).unwrap_or(0);
    if outputs == 0
        || points.len() != count * variables.len()
        || values.len() != count * outputs
        || !(weights.is_empty() || weights.len() == count)
    {
        return Err(shape);
    }
    for (design, x) in points.chunks(variables.len()).enumerate() {
        let wrong = |(variable, x): (&Variable, &f64)| !variable.holds(*x);
        if let Some(variable) = variables.iter().zip(x).position(wrong) {
            return Err(FitError::BadPoint { design, variable });
        }
    }
    if let Some(at) = values.iter().position(|value| value.is_infinite()) {
        return Err(FitError::BadValue {
            design: at / outputs,
            output: at % outputs,
        });
    }
    match weights
        .iter()
        .position(|weight| !(weight.is_finite() && *weight > 0.0))
    {
        Some(design) => Err(FitError::BadWeight { design }),
        None => Ok(outputs),
    }
}
