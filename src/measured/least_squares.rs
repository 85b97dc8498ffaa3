//! Least squares with errors of the readings that are known beforehand.

use std::fmt;

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Share of a column's length that must be new for it to count.
const NEW: f64 = 1e-10;

/// Errors of readings.
#[derive(Clone, Debug, PartialEq)]
pub enum Noise {
    /// Standard error of each reading, (rows); they err on their own.
    Apart(Vec<f64>),
    /// Covariance of the readings, (rows, rows); some err together.
    Joint(DMatrix<f64>),
}

/// Fitted values with what is known of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Values, one a column.
    pub values: Vec<f64>,
    /// Their covariance, (columns, columns), from the errors of the readings as they were stated.
    pub covariance: DMatrix<f64>,
    /// Sum of squares of the residuals, each over its error.
    pub chi2: f64,
    /// Rows less columns.
    pub freedom: usize,
}

/// Why nothing can be fitted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FitError {
    /// Matrix, readings and errors have different numbers of rows.
    Ragged,
    /// A number is NaN or infinite, or an error is not above 0.
    NotFinite,
    /// Fewer rows than columns.
    TooFewRows {
        /// Rows.
        rows: usize,
        /// Columns.
        columns: usize,
    },
    /// This column holds nothing that the others do not.
    Alike(usize),
    /// The model has no answer where the fit leads.
    NoAnswer,
}

impl fmt::Display for FitError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FitError::Ragged => write!(out, "fit columns of different lengths"),
            FitError::NotFinite => {
                write!(
                    out,
                    "fit numbers that are not finite, or errors that are not above 0"
                )
            }
            FitError::TooFewRows { rows, columns } => {
                write!(out, "fit {columns} values to {rows} readings")
            }
            FitError::Alike(column) => {
                write!(out, "tell value {} from the others", column + 1)
            }
            FitError::NoAnswer => write!(out, "work the model out where the fit leads"),
        }
    }
}

impl std::error::Error for FitError {}

impl Noise {
    /// Rows.
    pub fn len(&self) -> usize {
        match self {
            Noise::Apart(errors) => errors.len(),
            Noise::Joint(covariance) => covariance.nrows(),
        }
    }

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Rows divided by their errors; of joint errors, turned into rows that err on their own (Cholesky).
    ///
    /// # Errors
    /// `Ragged`, `NotFinite` where an error is not above 0 or the covariance is none.
    pub fn whiten(&self, mut rows: DMatrix<f64>) -> Result<DMatrix<f64>, FitError> {
        if rows.nrows() != self.len() {
            return Err(FitError::Ragged);
        }
        match self {
            Noise::Apart(errors) => {
                if errors
                    .iter()
                    .any(|error| !(*error > 0.0 && error.is_finite()))
                {
                    return Err(FitError::NotFinite);
                }
                for (mut row, error) in rows.row_iter_mut().zip(errors) {
                    row /= *error;
                }
                Ok(rows)
            }
            Noise::Joint(covariance) => {
                let factor = covariance.clone().cholesky().ok_or(FitError::NotFinite)?;
                let solved = factor.l().solve_lower_triangular(&rows);
                solved.ok_or(FitError::NotFinite)
            }
        }
    }
}

impl Estimate {
    /// Standard error of a value, from the errors of the readings as they were stated.
    pub fn error(&self, column: usize) -> f64 {
        self.covariance[(column, column)].sqrt()
    }

    /// How many times as far as stated the readings lie from the fit: the root of chi-square over the degrees of
    /// freedom (Birge, Phys. Rev. 40, 1932; from memory). Not a number without freedom.
    pub fn ratio(&self) -> f64 {
        match self.freedom {
            0 => f64::NAN,
            _ => (self.chi2 / self.freedom as f64).sqrt(),
        }
    }

    /// Standard error of a value; larger by [`Estimate::ratio`] where that is above 1: errors stated too small are
    /// mended, none is made smaller by luck.
    pub fn cautious_error(&self, column: usize) -> f64 {
        let ratio = self.ratio();
        self.error(column) * if ratio > 1.0 { ratio } else { 1.0 }
    }

    /// Half the width of the interval that holds a value with a chance (0.95) of `share`: Student's t times
    /// [`Estimate::cautious_error`]. Infinite without freedom.
    pub fn half_width(&self, column: usize, share: f64) -> f64 {
        students(self.freedom, share) * self.cautious_error(column)
    }
}

/// Student's t whose interval, both ways, holds `share`; infinite without freedom.
pub(super) fn students(freedom: usize, share: f64) -> f64 {
    match StudentsT::new(0.0, 1.0, freedom as f64) {
        Ok(distribution) if freedom > 0 => distribution.inverse_cdf(0.5 + 0.5 * share),
        _ => f64::INFINITY,
    }
}

/// Fits readings y (rows) by A x, A (rows, columns), where each reading has an error of its own.
///
/// Rows are divided by their errors, columns brought to one length, and the matrix is factored by Householder
/// reflections; the normal equations are never formed. There is no constant unless a column is one.
///
/// # Errors
/// Rows that do not fit together, numbers that are not finite, fewer rows than columns, a column that the others
/// hold already.
///
/// Sources: Golub and Van Loan, Matrix Computations, 5.3; Bevington and Robinson, Data Reduction and Error Analysis,
/// 7 (covariance; both from memory).
pub fn weighted(a: &DMatrix<f64>, y: &[f64], noise: &Noise) -> Result<Estimate, FitError> {
    let (rows, columns) = a.shape();
    if y.len() != rows || noise.len() != rows {
        return Err(FitError::Ragged);
    }
    if a.iter().chain(y).any(|number| !number.is_finite()) {
        return Err(FitError::NotFinite);
    }
    if rows < columns || columns == 0 {
        return Err(FitError::TooFewRows { rows, columns });
    }
    let readings = DMatrix::from_column_slice(rows, 1, y);
    let (white, y) = (
        noise.whiten(a.clone())?,
        noise.whiten(readings)?.column(0).into_owned(),
    );
    solve(white, &y)
}

/// As [`weighted`], rows already divided by their errors.
pub(super) fn solve(mut a: DMatrix<f64>, y: &DVector<f64>) -> Result<Estimate, FitError> {
    let (rows, columns) = a.shape();
    if rows < columns || columns == 0 {
        return Err(FitError::TooFewRows { rows, columns });
    }
    let lengths: Vec<f64> = a.column_iter().map(|column| column.norm()).collect();
    for (column, length) in lengths.iter().enumerate() {
        if !(*length > 0.0 && length.is_finite()) {
            return Err(FitError::Alike(column));
        }
        a.column_mut(column).unscale_mut(*length);
    }
    let factored = a.clone().qr();
    let (q, r) = (factored.q(), factored.r());
    if let Some(column) = (0..columns).find(|k| !(r[(*k, *k)].abs() > NEW)) {
        return Err(FitError::Alike(column));
    }
    let upper = |b: &DVector<f64>| r.solve_upper_triangular(b).ok_or(FitError::NotFinite);
    let mut x = upper(&q.tr_mul(y))?;
    // The second pass takes up what rounding left of the first.
    let rest = y - &a * &x;
    x += upper(&q.tr_mul(&rest))?;
    let chi2 = (y - &a * &x).norm_squared();
    let inverse = r
        .solve_upper_triangular(&DMatrix::identity(columns, columns))
        .ok_or(FitError::NotFinite)?;
    let mut covariance = &inverse * inverse.transpose();
    for row in 0..columns {
        for column in 0..columns {
            covariance[(row, column)] /= lengths[row] * lengths[column];
        }
    }
    Ok(Estimate {
        values: x
            .iter()
            .zip(&lengths)
            .map(|(x, length)| x / length)
            .collect(),
        covariance,
        chi2,
        freedom: rows - columns,
    })
}
