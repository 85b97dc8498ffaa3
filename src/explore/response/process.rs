//! Gaussian process on a trend, its lengths found by the likelihood.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::{cholesky_in_place, cholesky_in_place_scratch};
use faer::linalg::matmul::triangular::{self, BlockStructure};
use faer::linalg::triangular_inverse::invert_lower_triangular;
use faer::{Accum, Mat, MatRef, Par};

use super::basis::{Basis, dot};
use super::kernel::{Kernel, LANES};

/// Least share of noise, which keeps the correlation matrix well away from singular.
const LEAST_NOISE: f64 = 1e-10;
/// Lengths expected before the designs are seen, in half ranges, and the spread of their logarithm: weak, so that
/// variables without effect don't send their lengths to infinity.
const LENGTH: f64 = 2.0;
const LENGTH_SPREAD: f64 = 1.5;
/// The same for the noise, as a share of the process's variance.
const NOISE: f64 = 1e-5;
const NOISE_SPREAD: f64 = 4.0;
/// Evaluations of the likelihood at most: from the expectation, and from lengths of nearly the same designs.
const EVALUATIONS: usize = 60;
const EVALUATIONS_AGAIN: usize = 16;

/// Designs with one output known.
#[derive(Clone, Debug)]
pub(in super::super) struct Sample {
    /// Coordinates, by design.
    pub(in super::super) at: Vec<Vec<f64>>,
    /// Values.
    pub(in super::super) y: Vec<f64>,
    /// Weights: the noise of a design is divided by its weight.
    pub(in super::super) weights: Vec<f64>,
}

impl Sample {
    /// The designs at some indices.
    pub(super) fn only(&self, rows: &[usize]) -> Self {
        Self {
            at: rows.iter().map(|&row| self.at[row].clone()).collect(),
            y: rows.iter().map(|&row| self.y[row]).collect(),
            weights: rows.iter().map(|&row| self.weights[row]).collect(),
        }
    }
}

/// y = X b + Z, Z of covariance s² (K + noise / weights), K by a kernel with one length a variable.
///
/// With R = K + noise / weights and P = R^-1 - R^-1 X (X' R^-1 X)^-1 X' R^-1, n designs and p columns of X, the
/// lengths and the noise make (n - p) ln(y'Py) + ln|R| + ln|X' R^-1 X| least: the restricted likelihood, s² and b
/// taken out. The weights of the correlations are Py, the leave-one-out residuals (Py)_i / P_ii.
///
/// Source: Patterson and Thompson, Biometrika 58, 1971 (restricted likelihood; from memory); Dubrule, Mathematical
/// Geology 15, 1983 (leave-one-out; from memory).
pub(super) struct Process<'a> {
    kernel: Kernel,
    sample: &'a Sample,
    /// Columns of X, not weighted.
    trend: &'a [Vec<f64>],
    /// Variable of each coordinate, and how many variables there are.
    variable: &'a [usize],
    variables: usize,
    /// Coordinates, (coordinates, designs).
    across: Vec<Vec<f64>>,
}

/// All that follows from lengths and noise.
pub(super) struct State {
    /// P, lower triangle.
    p: Mat<f64>,
    /// Py: the weights of the correlations.
    pub(super) weights: Vec<f64>,
    /// y'Py.
    square: f64,
    /// Coefficients b of the trend.
    pub(super) coefficients: Vec<f64>,
    criterion: f64,
}

impl State {
    /// Value of each design less its prediction from all others.
    pub(super) fn left_out(&self) -> Vec<f64> {
        let each = self.weights.iter().enumerate();
        each.map(|(row, weight)| weight / self.p[(row, row)])
            .collect()
    }
}

/// Designs and trend made independent: all times L^-1 where R = L L'.
pub(super) struct White {
    /// L^-1, lower triangle.
    pub(super) inverse: Mat<f64>,
    ln_r: f64,
    /// Of the trend.
    pub(super) basis: Basis,
    /// Of the values: shares in the trend's basis, and the rest.
    shares: Vec<f64>,
    rest: Vec<f64>,
    /// y'Py.
    pub(super) square: f64,
}

impl White {
    /// Coefficients b of the trend.
    pub(super) fn coefficients(&self) -> Vec<f64> {
        self.basis.coefficients(self.shares.clone())
    }

    /// Py: the weights of the correlations.
    pub(super) fn weights(&self) -> Vec<f64> {
        let rest = Mat::from_fn(self.rest.len(), 1, |row, _| self.rest[row]);
        product(self.inverse.transpose(), UPPER, rest.as_ref()).remove(0)
    }

    fn state(self) -> State {
        let (inverse, basis, rest) = (&self.inverse, &self.basis, &self.rest);
        let count = rest.len();
        let freedom = (count - basis.q.len()) as f64;
        let mut p = Mat::<f64>::zeros(count, count);
        triangular::matmul(
            p.as_mut(),
            LOWER,
            Accum::Replace,
            inverse.transpose(),
            UPPER,
            inverse.as_ref(),
            LOWER,
            1.0,
            Par::Seq,
        );
        let white = Mat::from_fn(count, basis.q.len() + 1, |row, column| {
            basis.q.get(column).unwrap_or(rest)[row]
        });
        let mut columns = product(inverse.transpose(), UPPER, white.as_ref());
        let weights = columns.pop().unwrap_or_default();
        let columns = Mat::from_fn(count, columns.len(), |row, column| columns[column][row]);
        triangular::matmul(
            p.as_mut(),
            LOWER,
            Accum::Add,
            columns.as_ref(),
            FULL,
            columns.transpose(),
            FULL,
            -1.0,
            Par::Seq,
        );
        State {
            p,
            weights,
            square: self.square,
            coefficients: self.coefficients(),
            criterion: 0.5 * (freedom * self.square.ln() + self.ln_r + basis.ln_determinant()),
        }
    }
}

const LOWER: BlockStructure = BlockStructure::TriangularLower;
const UPPER: BlockStructure = BlockStructure::TriangularUpper;
const FULL: BlockStructure = BlockStructure::Rectangular;

/// Columns of a triangular matrix times another.
fn product(
    left: MatRef<'_, f64>,
    structure: BlockStructure,
    right: MatRef<'_, f64>,
) -> Vec<Vec<f64>> {
    let mut columns = Mat::<f64>::zeros(left.nrows(), right.ncols());
    triangular::matmul(
        columns.as_mut(),
        FULL,
        Accum::Replace,
        left,
        structure,
        right,
        FULL,
        1.0,
        Par::Seq,
    );
    let column = |column: usize| {
        (0..left.nrows())
            .map(|row| columns[(row, column)])
            .collect()
    };
    (0..right.ncols()).map(column).collect()
}

impl<'a> Process<'a> {
    pub(super) fn new(
        kernel: Kernel,
        sample: &'a Sample,
        trend: &'a [Vec<f64>],
        variable: &'a [usize],
    ) -> Self {
        let across = (0..variable.len())
            .map(|coordinate| sample.at.iter().map(|at| at[coordinate]).collect())
            .collect();
        Self {
            kernel,
            sample,
            trend,
            variable,
            variables: variable.last().map_or(0, |last| last + 1),
            across,
        }
    }

    /// Logarithms of lengths and noise before the designs are seen.
    fn start(&self) -> Vec<f64> {
        let mut start = vec![LENGTH.ln(); self.variables];
        start.push(NOISE.ln());
        start
    }

    /// Most likely logarithms of lengths and noise; `near` are those of nearly the same designs.
    pub(super) fn likeliest(&self, near: Option<&[f64]>) -> Option<Vec<f64>> {
        let (start, most) = match near {
            Some(near) => (near.to_vec(), EVALUATIONS_AGAIN),
            None => (self.start(), EVALUATIONS),
        };
        let mut f = |parameters: &[f64]| {
            let state = self.state(parameters)?;
            Some((
                state.criterion + self.expectation(parameters).0,
                self.slope(parameters, &state),
            ))
        };
        super::minimise::minimise(&mut f, start, most).map(|(parameters, _)| parameters)
    }

    /// What the expectation of lengths and noise adds to the criterion, and its gradient.
    fn expectation(&self, parameters: &[f64]) -> (f64, Vec<f64>) {
        let mut sum = 0.0;
        let slope = parameters
            .iter()
            .enumerate()
            .map(|(k, parameter)| {
                let (middle, spread) = if k < self.variables {
                    (LENGTH.ln(), LENGTH_SPREAD)
                } else {
                    (NOISE.ln(), NOISE_SPREAD)
                };
                let off = (parameter - middle) / spread;
                sum += 0.5 * off * off;
                off / spread
            })
            .collect();
        (sum, slope)
    }

    /// One over the square of each coordinate's length.
    fn sharpness(&self, parameters: &[f64]) -> Vec<f64> {
        let sharpness = |&variable: &usize| (-2.0 * parameters[variable]).exp();
        self.variable.iter().map(sharpness).collect()
    }

    /// Length of each coordinate.
    pub(super) fn lengths(&self, parameters: &[f64]) -> Vec<f64> {
        let length = |&variable: &usize| parameters[variable].exp();
        self.variable.iter().map(length).collect()
    }

    /// Squares of the distances of a design from those before it.
    #[inline(always)]
    fn squares(&self, row: usize, sharpness: &[f64], squares: &mut [f64]) {
        squares.fill(0.0);
        for (across, sharpness) in self.across.iter().zip(sharpness) {
            let here = across[row];
            for (square, there) in squares.iter_mut().zip(across) {
                *square += sharpness * (here - there) * (here - there);
            }
        }
    }

    /// Noise of a design of weight 1, as a share of the process's variance.
    pub(super) fn share_of_noise(&self, parameters: &[f64]) -> f64 {
        self.noise(parameters) + LEAST_NOISE
    }

    fn noise(&self, parameters: &[f64]) -> f64 {
        parameters[self.variables].exp()
    }

    /// What follows from lengths and noise; nothing where the matrix can't be factorised.
    pub(super) fn state(&self, parameters: &[f64]) -> Option<State> {
        Some(self.whiten(parameters)?.state())
    }

    /// Designs and trend made independent by lengths and noise; nothing where the matrix can't be factorised.
    pub(super) fn whiten(&self, parameters: &[f64]) -> Option<White> {
        if parameters.iter().any(|each| !(each.abs() < 50.0)) {
            return None;
        }
        let count = self.sample.y.len();
        let sharpness = self.sharpness(parameters);
        let noise = self.share_of_noise(parameters);
        let mut lines = vec![0.0; count * count];
        pulp::Arch::new().dispatch(Correlate {
            process: self,
            sharpness: &sharpness,
            lines: &mut lines,
        });
        let mut r = Mat::<f64>::zeros(count, count);
        for column in 0..count {
            for row in column + 1..count {
                r[(row, column)] = lines[row * count + column];
            }
            r[(column, column)] = 1.0 + noise / self.sample.weights[column];
        }
        let scratch = cholesky_in_place_scratch::<f64>(count, Par::Seq, Default::default());
        let mut memory = MemBuffer::new(scratch);
        cholesky_in_place(
            r.as_mut(),
            Default::default(),
            Par::Seq,
            MemStack::new(&mut memory),
            Default::default(),
        )
        .ok()?;
        let ln_r: f64 = (0..count).map(|k| 2.0 * r[(k, k)].ln()).sum();
        let mut inverse = Mat::<f64>::zeros(count, count);
        invert_lower_triangular(inverse.as_mut(), r.as_ref(), Par::Seq);
        let given = self.trend.len() + 1;
        let given = Mat::from_fn(count, given, |row, column| {
            self.trend.get(column).unwrap_or(&self.sample.y)[row]
        });
        let mut white = product(inverse.as_ref(), LOWER, given.as_ref());
        let y = white.pop()?;
        let mut basis = Basis::default();
        for column in white {
            if !basis.push(column) {
                return None;
            }
        }
        let least = 1e-24 * dot(&y, &y) + f64::MIN_POSITIVE;
        let (shares, rest) = basis.split(y);
        let square = dot(&rest, &rest).max(least);
        Some(White {
            inverse,
            ln_r,
            basis,
            shares,
            rest,
            square,
        })
    }

    /// Correlations of every design with those before it, line by line.
    #[inline(always)]
    fn correlate(&self, sharpness: &[f64], lines: &mut [f64]) {
        let count = self.sample.y.len();
        for row in 0..count {
            let line = &mut lines[row * count..][..row];
            self.squares(row, sharpness, line);
            for part in line.chunks_mut(LANES) {
                let mut lanes = [0.0; LANES];
                lanes[..part.len()].copy_from_slice(part);
                self.kernel.correlations(&mut lanes);
                part.copy_from_slice(&lanes[..part.len()]);
            }
        }
    }

    /// Gradient of the criterion: the half of tr(P dR) - (n - p) (Py)' dR (Py) / y'Py, and the expectation's.
    fn slope(&self, parameters: &[f64], state: &State) -> Vec<f64> {
        pulp::Arch::new().dispatch(Slope {
            process: self,
            parameters,
            state,
        })
    }

    #[inline(always)]
    fn gradient(&self, parameters: &[f64], state: &State) -> Vec<f64> {
        let count = self.sample.y.len();
        let sharpness = self.sharpness(parameters);
        let factor = (count - self.trend.len()) as f64 / state.square;
        let weights = &state.weights;
        let mut slope = self.expectation(parameters).1;
        let mut squares = vec![0.0; count];
        for row in 0..count {
            self.squares(row, &sharpness, &mut squares[..row]);
            for (part, squares) in squares[..row].chunks_mut(LANES).enumerate() {
                let mut lanes = [0.0; LANES];
                lanes[..squares.len()].copy_from_slice(squares);
                self.kernel.slopes(&mut lanes);
                for (lane, square) in squares.iter_mut().enumerate() {
                    let column = part * LANES + lane;
                    let share = state.p[(row, column)] - factor * weights[row] * weights[column];
                    *square = -2.0 * share * lanes[lane];
                }
            }
            for ((across, sharpness), variable) in
                self.across.iter().zip(&sharpness).zip(self.variable)
            {
                let here = across[row];
                let mut sum = [0.0; 4];
                for (shares, there) in squares[..row].chunks(4).zip(across.chunks(4)) {
                    for ((sum, share), there) in sum.iter_mut().zip(shares).zip(there) {
                        *sum += share * (here - there) * (here - there);
                    }
                }
                slope[*variable] += sharpness * ((sum[0] + sum[1]) + (sum[2] + sum[3]));
            }
            let share = state.p[(row, row)] - factor * weights[row] * weights[row];
            slope[self.variables] +=
                0.5 * share * self.noise(parameters) / self.sample.weights[row];
        }
        slope
    }
}

/// Work done in wide registers where the processor has them; no bit changes, since nothing is reordered or fused.
struct Correlate<'a> {
    process: &'a Process<'a>,
    sharpness: &'a [f64],
    lines: &'a mut [f64],
}

impl pulp::WithSimd for Correlate<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        self.process.correlate(self.sharpness, self.lines);
    }
}

/// As [`Correlate`].
struct Slope<'a> {
    process: &'a Process<'a>,
    parameters: &'a [f64],
    state: &'a State,
}

impl pulp::WithSimd for Slope<'_> {
    type Output = Vec<f64>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<f64> {
        self.process.gradient(self.parameters, self.state)
    }
}

#[cfg(test)]
mod tests;
