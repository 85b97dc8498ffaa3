//! One output: models fitted, and chosen between by what they say of designs they have not seen.

use super::super::random::Random;
use super::basis::Basis;
use super::coordinates::Coordinates;
use super::kernel::Kernel;
use super::process::{Process, Sample};
use super::surface::{Bumps, Surface};
use super::terms::{Term, columns, left_out, select, terms};

/// What is fitted to an output.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Model {
    /// A quadratic by least squares, of those terms that the designs can carry.
    Quadratic,
    /// A Gaussian process on a trend.
    Process {
        /// Its correlation.
        kernel: Kernel,
        /// Whether the trend is such a quadratic, or else linear.
        quadratic: bool,
    },
}

impl Model {
    /// All there are, the simple ones first.
    pub const ALL: [Self; 5] = [
        Self::Quadratic,
        Self::process(Kernel::SquaredExponential, false),
        Self::process(Kernel::SquaredExponential, true),
        Self::process(Kernel::Matern, false),
        Self::process(Kernel::Matern, true),
    ];

    const fn process(kernel: Kernel, quadratic: bool) -> Self {
        Self::Process { kernel, quadratic }
    }
}

/// A model fitted to some designs.
#[derive(Clone, Debug)]
pub(super) struct Fitted {
    pub(super) surface: Surface,
    /// Value less prediction from all other designs, in order of the designs.
    pub(super) left_out: Vec<f64>,
    /// Logarithms of lengths and noise; empty for a quadratic.
    parameters: Vec<f64>,
}

/// Designs that a process needs beyond the terms of its trend.
pub(super) const FREEDOM: usize = 5;

/// Fits a model; lengths are sought from `start` on where there is one.
///
/// Nothing where the designs are too few for a process.
pub(super) fn fit(
    model: Model,
    coordinates: &Coordinates,
    sample: &Sample,
    start: Option<&[f64]>,
) -> Option<Fitted> {
    let quadratic = !matches!(
        model,
        Model::Process {
            quadratic: false,
            ..
        }
    );
    let (terms, basis, y) = trend(coordinates, sample, quadratic);
    let Model::Process { kernel, .. } = model else {
        let coefficients = basis.coefficients(basis.split(y.clone()).0);
        return Some(Fitted {
            surface: Surface::new(coordinates.count(), &terms, &coefficients, None),
            left_out: left_out(&basis, y, &sample.weights),
            parameters: Vec::new(),
        });
    };
    if sample.y.len() < terms.len() + FREEDOM {
        return None;
    }
    let trend = columns(&terms, &sample.at, &vec![1.0; sample.y.len()]);
    let process = Process::new(kernel, sample, &trend, &coordinates.variable);
    let parameters = process.likeliest(start)?;
    let state = process.state(&parameters)?;
    let lengths = process.lengths(&parameters);
    let bumps = Bumps::new(kernel, &lengths, &sample.at, &state.weights);
    Some(Fitted {
        surface: Surface::new(
            coordinates.count(),
            &terms,
            &state.coefficients,
            Some(bumps),
        ),
        left_out: state.left_out(),
        parameters,
    })
}

/// Terms that the designs carry, their weighted columns as a basis, and the weighted values.
pub(super) fn trend(
    coordinates: &Coordinates,
    sample: &Sample,
    quadratic: bool,
) -> (Vec<Term>, Basis, Vec<f64>) {
    let terms = terms(coordinates, quadratic);
    let weighted = columns(&terms, &sample.at, &sample.weights);
    let y: Vec<f64> = sample
        .y
        .iter()
        .zip(&sample.weights)
        .map(|(y, weight)| y * weight.sqrt())
        .collect();
    let mut chosen = select(&terms, &weighted, &y);
    chosen.sort_unstable();
    let mut basis = Basis::default();
    chosen.retain(|&term| basis.push(weighted[term].clone()));
    let terms = chosen.iter().map(|&term| terms[term]).collect();
    (terms, basis, y)
}

/// A model fitted to all designs, and what its like, fitted to the other parts, said of each part.
#[derive(Clone, Debug)]
pub(super) struct Tried {
    pub(super) model: Model,
    pub(super) fitted: Fitted,
    /// Value less prediction by a fit without this design and others, in order of the designs.
    pub(super) unseen: Vec<f64>,
}

impl Tried {
    pub(super) fn rms(&self) -> f64 {
        rms(&self.unseen)
    }
}

pub(super) fn rms(errors: &[f64]) -> f64 {
    let sum: f64 = errors.iter().map(|error| error * error).sum();
    (sum / errors.len() as f64).sqrt()
}

/// Fits the model of a fit once more without each part of the designs: terms and lengths anew each time.
pub(super) fn attempt(
    model: Model,
    fitted: Fitted,
    coordinates: &Coordinates,
    sample: &Sample,
    parts: &[Vec<usize>],
) -> Option<Tried> {
    let start = (!fitted.parameters.is_empty()).then_some(fitted.parameters.as_slice());
    let mut unseen = vec![0.0; sample.y.len()];
    let mut seen = vec![true; sample.y.len()];
    for part in parts {
        part.iter().for_each(|&row| seen[row] = false);
        let rows: Vec<usize> = (0..seen.len()).filter(|&row| seen[row]).collect();
        let without = fit(model, coordinates, &sample.only(&rows), start)?;
        for &row in part {
            unseen[row] = sample.y[row] - without.surface.at(&sample.at[row]);
            seen[row] = true;
        }
    }
    Some(Tried {
        model,
        fitted,
        unseen,
    })
}

/// Designs dealt out to parts at random.
pub(super) fn parts(designs: usize, parts: usize, seed: u64) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..designs).collect();
    Random::new(seed).shuffle(&mut order);
    let parts = parts.clamp(2, designs);
    (0..parts)
        .map(|part| order.iter().copied().skip(part).step_by(parts).collect())
        .collect()
}
