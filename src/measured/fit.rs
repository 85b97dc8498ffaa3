//! A model fitted to readings by steps of least squares.

use nalgebra::{DMatrix, DVector};

use super::least_squares::{Estimate, FitError, Noise, solve};

/// Rounds after which a fit that still moves is given up, and halvings of a step that makes it worse.
const MOST_ROUNDS: usize = 60;
const MOST_HALVINGS: usize = 30;

/// Movement, over the standard error of each value, at which a fit is settled. Finer is of no use, and models with whole
/// numbers in them (passes of a cutter) are not smooth enough for it.
const SETTLED: f64 = 1e-4;

/// A model: values in, figures out (rows); `None` where it has no answer.
pub type Model<'a> = dyn Fn(&[f64]) -> Option<Vec<f64>> + 'a;

/// A model fitted to readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Values with their covariance.
    pub estimate: Estimate,
    /// The model's figures there, (rows).
    pub figures: Vec<f64>,
    /// Rounds that it took.
    pub rounds: usize,
    /// Whether it settled.
    pub settled: bool,
}

/// Fits the values of a model to readings y (rows), from `start`, by Gauss and Newton's steps, halved where they lead
/// uphill.
///
/// `steps`: by how much each value is moved both ways to see what it does; a thousandth of what would be much.
///
/// # Errors
/// As [`super::weighted`], and `NoAnswer` where the model has none at the start or beside it.
///
/// Source: Björck, Numerical Methods for Least Squares Problems, 9.2 (from memory).
pub fn fit(
    model: &Model,
    start: &[f64],
    steps: &[f64],
    y: &[f64],
    noise: &Noise,
) -> Result<Fitted, FitError> {
    let residuals = |figures: &[f64]| -> Result<DVector<f64>, FitError> {
        if figures.len() != y.len() || noise.len() != y.len() {
            return Err(FitError::Ragged);
        }
        if figures.iter().chain(y).any(|figure| !figure.is_finite()) {
            return Err(FitError::NoAnswer);
        }
        let apart = y.iter().zip(figures).map(|(y, figure)| y - figure);
        let apart = DMatrix::from_iterator(y.len(), 1, apart);
        Ok(noise.whiten(apart)?.column(0).into_owned())
    };
    let mut values = start.to_vec();
    let mut figures = model(&values).ok_or(FitError::NoAnswer)?;
    let mut apart = residuals(&figures)?;
    for round in 1..=MOST_ROUNDS {
        let white = noise.whiten(slopes(model, &values, steps)?)?;
        let step = solve(white, &apart)?;
        let moved = |share: f64| -> Vec<f64> {
            let pairs = values.iter().zip(&step.values);
            pairs.map(|(value, step)| value + share * step).collect()
        };
        let small = |k: usize| step.values[k].abs() <= SETTLED * step.error(k);
        let done = (0..values.len()).all(small);
        let mut share = 1.0;
        let mut better = None;
        for _ in 0..MOST_HALVINGS {
            let next = moved(share);
            let found = model(&next).and_then(|figures| {
                let apart = residuals(&figures).ok()?;
                Some((next, figures, apart))
            });
            better = found.filter(|(_, _, next)| {
                done || next.norm_squared() <= apart.norm_squared() * (1.0 + 1e-12)
            });
            if better.is_some() {
                break;
            }
            share *= 0.5;
        }
        let stuck = better.is_none();
        if let Some(found) = better {
            (values, figures, apart) = found;
        }
        if done || stuck || round == MOST_ROUNDS {
            let estimate = Estimate {
                values,
                chi2: apart.norm_squared(),
                ..step
            };
            return Ok(Fitted {
                estimate,
                figures,
                rounds: round,
                settled: done || stuck,
            });
        }
    }
    Err(FitError::NoAnswer)
}

/// What each value does to the figures, (rows, values): central differences, one-sided where the model has an answer
/// on one side only.
///
/// # Errors
/// `NoAnswer`.
pub fn slopes(model: &Model, values: &[f64], steps: &[f64]) -> Result<DMatrix<f64>, FitError> {
    let mut columns = Vec::with_capacity(values.len());
    for (k, step) in steps.iter().enumerate().take(values.len()) {
        let at = |by: f64| {
            let mut moved = values.to_vec();
            moved[k] += by;
            let figures = model(&moved)?;
            let finite = figures.iter().all(|figure| figure.is_finite());
            finite.then(|| (DVector::from_vec(figures), by))
        };
        let (high, low) = (at(*step), at(-*step));
        let ends = match (high, low) {
            (Some(high), Some(low)) => Some((high, low)),
            (Some(high), None) => at(0.0).map(|here| (high, here)),
            (None, Some(low)) => at(0.0).map(|here| (here, low)),
            (None, None) => None,
        };
        let ((high, up), (low, down)) = ends.ok_or(FitError::NoAnswer)?;
        columns.push((high - low) / (up - down));
    }
    match columns.is_empty() {
        true => Err(FitError::TooFewRows {
            rows: 0,
            columns: 0,
        }),
        false => Ok(DMatrix::from_columns(&columns)),
    }
}
