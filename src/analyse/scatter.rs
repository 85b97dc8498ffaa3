//! What samples of scattered parts say: moments, chances with their sampling error, shares of a variance.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Standard score of 95 % to both sides.
const SCORE_95: f64 = 1.959_963_984_540_054;

/// Mean and standard deviation (of n - 1) of values; not a number where there are too few.
pub fn moments(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (mean, (squares / (count - 1.0)).sqrt())
}

/// A chance counted from samples.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Chance {
    /// Share of the samples.
    pub share: f64,
    /// From where the true chance may lie, 95 % sure,
    pub low: f64,
    /// and to where.
    pub high: f64,
}

/// The chance of what was met so many times in `of` samples, with its interval of 95 %.
///
/// Of independent samples; evenly spread ones are off by less. Source: Wilson, Probable inference, the law of
/// succession, and statistical inference, Journal of the American Statistical Association 22, 1927 (from memory).
pub fn chance(met: usize, of: usize) -> Chance {
    let (n, z2) = (of as f64, SCORE_95 * SCORE_95);
    let share = met as f64 / n;
    let middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = SCORE_95 / (1.0 + z2 / n) * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    Chance {
        share,
        low: if met == 0 { 0.0 } else { middle - half },
        high: if met == of { 1.0 } else { middle + half },
    }
}

/// Linear regression of many figures on the same scores.
pub struct Regressor {
    columns: DMatrix<f64>,
    normal: Cholesky<f64, Dyn>,
}

/// Shares of a figure's variance.
#[derive(Clone, Debug, PartialEq)]
pub struct Shares {
    /// Of each score: the square of its standardised regression coefficient.
    pub shares: Vec<f64>,
    /// Coefficient of determination: what the scores explain together, linearly. The shares add up to it where the
    /// scores are uncorrelated over the samples; what is left is curvature and what scores do together.
    pub explained: f64,
    /// Change of the figure with a score: one standard deviation up.
    pub slopes: Vec<f64>,
}

impl Regressor {
    /// From the scores of every sample (n_samples rows of equal length); `None` where these are too few or too much
    /// alike.
    pub fn new(scores: &[Vec<f64>]) -> Option<Regressor> {
        let width = scores.first().map_or(0, Vec::len);
        if scores.len() < width + 2 {
            return None;
        }
        let columns = DMatrix::from_fn(scores.len(), width + 1, |row, column| match column {
            0 => 1.0,
            _ => scores[row][column - 1],
        });
        let normal = Cholesky::new(columns.transpose() * &columns)?;
        Some(Regressor { columns, normal })
    }

    /// Shares of the variance of a figure, one value a sample; `None` where it does not vary or is not finite.
    ///
    /// Least squares; the squares of standardised coefficients are first-order indices of a linear function of
    /// uncorrelated scores (Saltelli and others, Global Sensitivity Analysis: The Primer, 2008, from memory).
    pub fn shares(&self, values: &[f64]) -> Option<Shares> {
        let (mean, sd) = moments(values);
        if !(sd > 1e-12 * mean.abs().max(f64::MIN_POSITIVE)) || !sd.is_finite() {
            return None;
        }
        let values = DVector::from_column_slice(values);
        let fit = self.normal.solve(&(self.columns.transpose() * &values));
        let left = (&values - &self.columns * &fit).norm_squared();
        let all = values.add_scalar(-mean).norm_squared();
        let slopes: Vec<f64> = fit.iter().skip(1).copied().collect();
        let shares = slopes.iter().enumerate().map(|(index, slope)| {
            let column: Vec<f64> = self.columns.column(index + 1).iter().copied().collect();
            (slope * moments(&column).1 / sd).powi(2)
        });
        Some(Shares {
            shares: shares.collect(),
            explained: 1.0 - left / all,
            slopes,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_have_the_published_intervals() {
        // Newcombe, Statistics in Medicine 17, 1998, table I, score method without correction (from memory).
        for (met, of, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let found = chance(met, of);
            assert!((found.low - low).abs() < 6e-5, "{met}/{of}: {found:?}");
            assert!((found.high - high).abs() < 6e-5, "{met}/{of}: {found:?}");
        }
        assert_eq!(chance(20, 20).high, 1.0);
    }

    #[test]
    fn shares_of_a_linear_function_are_exact() {
        // A full 2^3 plan: 3 a + 4 b, c idle: variance 9 + 16 (over n).
        let scores: Vec<Vec<f64>> = (0..8)
            .map(|k| {
                (0..3)
                    .map(|bit| if k >> bit & 1 == 1 { 1.0 } else { -1.0 })
                    .collect()
            })
            .collect();
        let values: Vec<f64> = scores
            .iter()
            .map(|s| 7.0 + 3.0 * s[0] + 4.0 * s[1])
            .collect();
        let found = Regressor::new(&scores).unwrap().shares(&values).unwrap();
        for (share, expected) in found.shares.iter().zip([9.0 / 25.0, 16.0 / 25.0, 0.0]) {
            assert!((share - expected).abs() < 1e-12, "{found:?}");
        }
        assert!((found.explained - 1.0).abs() < 1e-12);
        assert!((found.slopes[1] - 4.0).abs() < 1e-12);
        // With a product, which no linear term explains: variance 9 + 16 + 25.
        let bent: Vec<f64> = values
            .iter()
            .zip(&scores)
            .map(|(v, s)| v + 5.0 * s[0] * s[2])
            .collect();
        let found = Regressor::new(&scores).unwrap().shares(&bent).unwrap();
        assert!((found.explained - 0.5).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn what_does_not_vary_has_no_shares() {
        let scores = vec![vec![1.0], vec![-1.0], vec![0.5]];
        let regressor = Regressor::new(&scores).unwrap();
        assert_eq!(regressor.shares(&[2.0, 2.0, 2.0]), None);
        assert_eq!(regressor.shares(&[2.0, f64::NAN, 2.0]), None);
        assert!(Regressor::new(&scores[..2]).is_none());
    }
}
