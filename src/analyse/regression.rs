//! Least squares with its statistics.

use std::collections::BTreeMap;
use std::fmt;

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, FisherSnedecor, StudentsT};

/// Share of a column's length that must be new for it to count.
const NEW: f64 = 1e-10;

/// A fitted coefficient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficient {
    /// Its value, in the measure's unit over the column's.
    pub value: f64,
    /// Standard error.
    pub error: f64,
    /// Value over standard error.
    pub t: f64,
    /// Probability of a |t| as large or larger were the true value 0.
    pub p: f64,
}

/// Whether a fit leaves more than the scatter of repeated rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LackOfFit {
    /// Sum of squares between the fit and the means of repeated rows, and its degrees of freedom.
    pub lack: (f64, usize),
    /// Sum of squares within repeated rows, and its degrees of freedom.
    pub pure: (f64, usize),
    /// Ratio of the mean squares.
    pub f: f64,
    /// Probability of a ratio as large or larger were nothing lacking.
    pub p: f64,
}

/// A least-squares fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The constant, then one a column; `None` for a column that the others already hold.
    pub coefficients: Vec<Option<Coefficient>>,
    /// Rows less coefficients.
    pub freedom: usize,
    /// Residual sum of squares.
    pub residual: f64,
    /// Residual standard deviation; not a number without freedom.
    pub deviation: f64,
    /// Share of the variance about the mean that is explained, R².
    pub r2: f64,
    /// R² less what as many meaningless columns would explain.
    pub adjusted_r2: f64,
    /// Share explained of rows left out of the fit one by one, from the PRESS.
    pub predicted_r2: f64,
    /// Sum of squares of what each row is missed by when the fit does not know it (PRESS).
    pub press: f64,
    /// Ratio of the mean squares explained and left.
    pub f: f64,
    /// Probability of a ratio as large or larger if no column had an effect.
    pub p: f64,
    /// How the fit compares with the scatter, where rows are repeated.
    pub lack_of_fit: Option<LackOfFit>,
}

/// Why nothing can be fitted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RegressionError {
    /// Columns and measure have different numbers of rows.
    Ragged,
    /// A number is NaN or infinite.
    NotFinite,
    /// Fewer rows than coefficients.
    TooFewRows {
        /// Rows.
        rows: usize,
        /// Coefficients.
        coefficients: usize,
    },
}

impl fmt::Display for RegressionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ragged => write!(f, "fit columns of different lengths"),
            Self::NotFinite => write!(f, "fit numbers that are not finite"),
            Self::TooFewRows { rows, coefficients } => {
                write!(f, "fit {coefficients} coefficients to {rows} rows")
            }
        }
    }
}

impl std::error::Error for RegressionError {}

/// Fits y = b0 + Σ b_k x_k by least squares.
///
/// `columns` x (coefficients − 1, rows), `y` (rows). Columns are centred and brought to one length, then factored by
/// Householder reflections with pivoting; one of which less than 1e-10 is new is left out. Nothing lost by squaring:
/// the normal equations are never formed.
///
/// # Errors
///
/// Columns of other lengths than `y`, numbers that are not finite, fewer rows than coefficients.
///
/// Sources: Golub and Van Loan, Matrix Computations, 5.2 and 5.4; Montgomery, Peck and Vining, Introduction to Linear
/// Regression Analysis (statistics; both from memory).
pub fn regress(columns: &[Vec<f64>], y: &[f64]) -> Result<Fit, RegressionError> {
    let rows = y.len();
    if rows == 0 {
        let coefficients = columns.len() + 1;
        return Err(RegressionError::TooFewRows { rows, coefficients });
    }
    if columns.iter().any(|column| column.len() != rows) {
        return Err(RegressionError::Ragged);
    }
    if columns
        .iter()
        .flatten()
        .chain(y)
        .any(|each| !each.is_finite())
    {
        return Err(RegressionError::NotFinite);
    }
    let means: Vec<f64> = columns.iter().map(|column| mean(column)).collect();
    let lengths: Vec<f64> = columns
        .iter()
        .zip(&means)
        .map(|(column, mean)| {
            column
                .iter()
                .map(|x| (x - mean).powi(2))
                .sum::<f64>()
                .sqrt()
        })
        .collect();
    // A column whose spread is rounding is constant.
    let kept: Vec<usize> = (0..columns.len())
        .filter(|&k| lengths[k] > NEW * means[k].abs() * (rows as f64).sqrt())
        .collect();
    let scaled = DMatrix::from_fn(rows, kept.len(), |row, k| {
        (columns[kept[k]][row] - means[kept[k]]) / lengths[kept[k]]
    });
    let y_mean = mean(y);
    let centred = DVector::from_iterator(rows, y.iter().map(|y| y - y_mean));
    let factored = Factored::new(scaled, rows)?;
    let (slopes, fitted) = factored.solve(&centred);
    let residuals = &centred - &fitted;
    let freedom = rows - 1 - factored.rank;
    let residual = residuals.norm_squared();
    let deviation = match freedom {
        0 => f64::NAN,
        _ => (residual / freedom as f64).sqrt(),
    };

    let mut coefficients = vec![None; columns.len() + 1];
    let (mut constant, mut along) = (y_mean, vec![0.0; kept.len()]);
    for (&place, slope) in factored.order.iter().zip(&slopes) {
        let column = kept[place];
        let value = slope / lengths[column];
        constant -= value * means[column];
        along[place] = means[column] / lengths[column];
        let error = deviation * factored.variance(&unit(kept.len(), place)).sqrt();
        coefficients[column + 1] = Some(coefficient(value, error / lengths[column], freedom));
    }
    let error = deviation * (1.0 / rows as f64 + factored.variance(&along)).sqrt();
    coefficients[0] = Some(coefficient(constant, error, freedom));

    let total = centred.norm_squared();
    let press: f64 = residuals
        .iter()
        .zip(factored.leverages())
        .map(|(residual, leverage)| (residual / (1.0 - 1.0 / rows as f64 - leverage)).powi(2))
        .sum();
    let explained = (total - residual) / factored.rank as f64;
    let f = explained / (residual / freedom as f64);
    Ok(Fit {
        coefficients,
        freedom,
        residual,
        deviation,
        r2: 1.0 - residual / total,
        adjusted_r2: 1.0 - residual / freedom as f64 / (total / (rows - 1) as f64),
        predicted_r2: 1.0 - press / total,
        press,
        f,
        p: beyond(f, factored.rank, freedom),
        lack_of_fit: lack_of_fit(columns, y, residual, freedom),
    })
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn unit(length: usize, place: usize) -> Vec<f64> {
    let mut unit = vec![0.0; length];
    unit[place] = 1.0;
    unit
}

fn coefficient(value: f64, error: f64, freedom: usize) -> Coefficient {
    let t = value / error;
    let p = match StudentsT::new(0.0, 1.0, freedom as f64) {
        Ok(distribution) if t.is_finite() => 2.0 * distribution.sf(t.abs()),
        Ok(_) if t.is_infinite() => 0.0,
        _ => f64::NAN,
    };
    Coefficient { value, error, t, p }
}

/// Probability of a ratio of mean squares of f or more.
fn beyond(f: f64, above: usize, below: usize) -> f64 {
    match FisherSnedecor::new(above as f64, below as f64) {
        Ok(distribution) if f.is_finite() => distribution.sf(f.max(0.0)),
        Ok(_) if f == f64::INFINITY => 0.0,
        _ => f64::NAN,
    }
}

/// Columns as Q R, those that are new.
struct Factored {
    q: DMatrix<f64>,
    r: DMatrix<f64>,
    /// Which column each column of R belongs to.
    order: Vec<usize>,
    rank: usize,
}

impl Factored {
    fn new(columns: DMatrix<f64>, rows: usize) -> Result<Self, RegressionError> {
        let count = columns.ncols();
        let mut places = DMatrix::from_fn(1, count, |_, k| k as f64);
        let factored = columns.col_piv_qr();
        factored.p().permute_columns(&mut places);
        let (q, r) = (factored.q(), factored.r());
        let rank = (0..r.nrows().min(count))
            .take_while(|&k| r[(k, k)].abs() > NEW)
            .count();
        if rows < rank + 1 {
            return Err(RegressionError::TooFewRows {
                rows,
                coefficients: rank + 1,
            });
        }
        Ok(Self {
            q: q.columns(0, rank).into_owned(),
            r: r.view((0, 0), (rank, rank)).into_owned(),
            order: places
                .iter()
                .take(rank)
                .map(|&place| place as usize)
                .collect(),
            rank,
        })
    }

    /// Slopes in the order of R, and the fitted values.
    fn solve(&self, y: &DVector<f64>) -> (Vec<f64>, DVector<f64>) {
        // The second pass takes up what rounding left of the first.
        let mut shares = self.q.tr_mul(y);
        let rest = y - &self.q * &shares;
        shares += self.q.tr_mul(&rest);
        let fitted = &self.q * &shares;
        let slopes = self.r.solve_upper_triangular(&shares);
        (
            slopes.map_or(Vec::new(), |slopes| slopes.iter().copied().collect()),
            fitted,
        )
    }

    /// c' (X'X)^-1 c for a vector c over the columns.
    fn variance(&self, c: &[f64]) -> f64 {
        let c = DVector::from_iterator(self.rank, self.order.iter().map(|&place| c[place]));
        let solved = self.r.tr_solve_upper_triangular(&c);
        solved.map_or(f64::NAN, |solved| solved.norm_squared())
    }

    fn leverages(&self) -> impl Iterator<Item = f64> + '_ {
        self.q.row_iter().map(|row| row.norm_squared())
    }
}

/// What repeated rows say of a fit; `None` where none is repeated, or where the fit has as many coefficients as there
/// are different rows.
fn lack_of_fit(
    columns: &[Vec<f64>],
    y: &[f64],
    residual: f64,
    freedom: usize,
) -> Option<LackOfFit> {
    let mut groups: BTreeMap<Vec<u64>, Vec<f64>> = BTreeMap::new();
    for (row, &y) in y.iter().enumerate() {
        let key = columns.iter().map(|column| (column[row] + 0.0).to_bits());
        groups.entry(key.collect()).or_default().push(y);
    }
    let pure_freedom = y.len() - groups.len();
    let within = |group: &Vec<f64>| {
        let mean = mean(group);
        group.iter().map(|y| (y - mean).powi(2)).sum::<f64>()
    };
    let pure: f64 = groups.values().map(within).sum();
    let lack_freedom = freedom.checked_sub(pure_freedom).filter(|&left| left > 0)?;
    if pure_freedom == 0 {
        return None;
    }
    let lack = (residual - pure).max(0.0);
    let f = lack / lack_freedom as f64 / (pure / pure_freedom as f64);
    Some(LackOfFit {
        lack: (lack, lack_freedom),
        pure: (pure, pure_freedom),
        f,
        p: beyond(f, lack_freedom, pure_freedom),
    })
}
