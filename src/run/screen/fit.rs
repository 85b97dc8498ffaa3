//! A quadratic in all dimensions, with its statistics.

use serde::Serialize;

use super::ends;
use super::means::Coordinate;
use crate::analyse::{Fit, regress};
use crate::evaluate::setup::Variable;

/// Designs fitted, at most.
const MOST_ROWS: usize = 4_096;
/// Terms, at most; with more the products are left out.
const MOST_TERMS: usize = 160;
/// Designs for each term, at least.
const ROWS_A_TERM: usize = 3;

/// How good a fit is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FitFigures {
    /// Share of the variance explained, R².
    pub r2: f64,
    /// The same, less what as many meaningless terms would explain.
    pub adjusted_r2: f64,
    /// Share explained of designs that the fit does not know (by leaving out one at a time).
    pub predicted_r2: f64,
    /// Residual standard deviation, in the measure's unit.
    pub deviation: f64,
    /// Designs less terms.
    pub freedom: usize,
}

/// A linear and a quadratic fit of a measure in coded dimensions, -1 at the lower and 1 at the upper bound.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct QuadraticFit {
    /// How good a linear fit is.
    pub linear: FitFigures,
    /// How good the quadratic is.
    pub quadratic: FitFigures,
    /// Value in the middle of all ranges.
    pub constant: f64,
    /// Terms of the quadratic, the strongest first.
    pub terms: Vec<TermRow>,
}

/// A term of a fit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TermRow {
    /// As printed: `hole`, `hole²`, `hole × pitch`.
    pub name: String,
    /// The one or two dimensions in it.
    pub dimensions: Vec<usize>,
    /// Coefficient, in the measure's unit.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
    /// Value over error.
    pub t: f64,
    /// Probability of a t as large were there no effect.
    pub p: f64,
}

/// The fits; `None` with too few designs. `values` are by block as [`crate::explore::screening::blocks`] lays them:
/// the first two designs of each are independent of all others and are fitted.
pub(super) fn quadratic(
    variables: &[Variable],
    coordinate: &Coordinate<'_>,
    values: &[f64],
) -> Option<QuadraticFit> {
    let count = variables.len();
    let rows: Vec<usize> = (0..values.len())
        .filter(|row| row % (count + 2) < 2 && values[*row].is_finite())
        .take(MOST_ROWS)
        .collect();
    let y: Vec<f64> = rows.iter().map(|&row| values[row]).collect();
    let coded: Vec<Vec<f64>> = (0..count)
        .map(|axis| {
            let [low, high] = ends(&variables[axis]).map(|each| each / variables[axis].unit.size);
            let half = (high - low) / 2.0;
            let place = |&row: &usize| match half > 0.0 {
                true => (coordinate(row, axis) - low) / half - 1.0,
                false => 0.0,
            };
            rows.iter().map(place).collect()
        })
        .collect();
    let mut terms: Vec<Vec<usize>> = (0..count).map(|axis| vec![axis]).collect();
    let linear = fitted(&coded, &terms, &y)?;
    terms.extend((0..count).map(|axis| vec![axis, axis]));
    let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| vec![a, b]));
    if terms.len() + count * (count - 1) / 2 <= MOST_TERMS {
        terms.extend(pairs);
    }
    let full = fitted(&coded, &terms, &y)?;
    let constant = full.coefficients[0].map_or(f64::NAN, |each| each.value);
    let row = |(term, found): (&Vec<usize>, &Option<crate::analyse::Coefficient>)| {
        let found = (*found)?;
        let name = |axis: usize| &variables[axis].name;
        Some(TermRow {
            name: match term[..] {
                [a, b] if a == b => format!("{}²", name(a)),
                [a, b] => format!("{} × {}", name(a), name(b)),
                _ => name(term[0]).clone(),
            },
            dimensions: match term[..] {
                [a, b] if a == b => vec![a],
                _ => term.clone(),
            },
            value: found.value,
            error: found.error,
            t: found.t,
            p: found.p,
        })
    };
    let mut rows: Vec<TermRow> = terms
        .iter()
        .zip(&full.coefficients[1..])
        .filter_map(row)
        .collect();
    rows.sort_by(|a, b| b.t.abs().total_cmp(&a.t.abs()));
    Some(QuadraticFit {
        linear: figures(&linear),
        quadratic: figures(&full),
        constant,
        terms: rows,
    })
}

fn fitted(coded: &[Vec<f64>], terms: &[Vec<usize>], y: &[f64]) -> Option<Fit> {
    if y.len() < ROWS_A_TERM * (terms.len() + 1) {
        return None;
    }
    let column = |term: &Vec<usize>| -> Vec<f64> {
        let at = |row: usize| term.iter().map(|&axis| coded[axis][row]).product();
        (0..y.len()).map(at).collect()
    };
    let columns: Vec<Vec<f64>> = terms.iter().map(column).collect();
    regress(&columns, y).ok()
}

fn figures(fit: &Fit) -> FitFigures {
    FitFigures {
        r2: fit.r2,
        adjusted_r2: fit.adjusted_r2,
        predicted_r2: fit.predicted_r2,
        deviation: fit.deviation,
        freedom: fit.freedom,
    }
}
