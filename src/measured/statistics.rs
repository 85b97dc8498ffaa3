//! What repeated readings say: mean, scatter, a reading that stands apart, scatter pooled over several series.

use super::least_squares::students;

/// Chance at which a reading of a sound series is taken for one that stands apart.
pub const CHANCE_APART: f64 = 0.05;

/// A series of readings of one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Mean.
    pub mean: f64,
    /// Standard deviation of a reading, with (n - 1); `None` of a single reading.
    pub deviation: Option<f64>,
    /// Readings.
    pub count: usize,
    /// The reading (by its index) that stands apart from the others, if one does.
    pub apart: Option<usize>,
}

impl Series {
    /// What readings of one thing say, whose figures go in steps of `step`; `None` of none.
    ///
    /// A reading that is one step off does not stand apart: where the others are alike, the test knows nothing else.
    pub fn of(readings: &[f64], step: f64) -> Option<Series> {
        let count = readings.len();
        if count == 0 {
            return None;
        }
        let mean = readings.iter().sum::<f64>() / count as f64;
        let squares: f64 = readings.iter().map(|each| (each - mean).powi(2)).sum();
        let deviation = (count > 1).then(|| (squares / (count - 1) as f64).sqrt());
        Some(Series {
            mean,
            deviation,
            count,
            apart: grubbs(readings).filter(|at| (readings[*at] - mean).abs() > 1.5 * step),
        })
    }

    /// Standard error of the mean; `None` of a single reading.
    pub fn error(&self) -> Option<f64> {
        self.deviation.map(|each| each / (self.count as f64).sqrt())
    }
}

/// The reading that stands apart from the others, by its index, if one does: Grubbs' test both ways at a chance of
/// 5 % ([`CHANCE_APART`]). `None` of fewer than three readings, of which none can be told to stand apart.
///
/// Source: Grubbs, Procedures for detecting outlying observations in samples, Technometrics 11, 1969.
pub fn grubbs(readings: &[f64]) -> Option<usize> {
    let (at, statistic) = farthest(readings)?;
    (statistic > grubbs_limit(readings.len(), CHANCE_APART)).then_some(at)
}

/// The reading farthest from the mean, by its index, and its distance over the standard deviation.
pub fn farthest(readings: &[f64]) -> Option<(usize, f64)> {
    let count = readings.len() as f64;
    if readings.len() < 3 {
        return None;
    }
    let mean = readings.iter().sum::<f64>() / count;
    let squares: f64 = readings.iter().map(|each| (each - mean).powi(2)).sum();
    let deviation = (squares / (count - 1.0)).sqrt();
    let far = |at: &usize| (readings[*at] - mean).abs();
    let at = (0..readings.len()).max_by(|a, b| far(a).total_cmp(&far(b)))?;
    // Readings that are alike but for rounding have none that stands apart.
    let alike = deviation <= 1e-12 * mean.abs();
    (!alike && deviation > 0.0).then(|| (at, far(&at) / deviation))
}

/// Greatest distance from the mean over the standard deviation that n readings of a sound series have, but for a chance
/// of `chance`, both ways.
///
/// G = (n - 1)/sqrt(n) sqrt(t²/(n - 2 + t²)) with Student's t at chance/(2n) and n - 2 degrees of freedom.
///
/// Source: Grubbs, 1969; the formula as in the NIST/SEMATECH e-Handbook, 1.3.5.17.1 (from memory).
pub fn grubbs_limit(count: usize, chance: f64) -> f64 {
    if count < 3 {
        return f64::INFINITY;
    }
    let n = count as f64;
    let t = students(count - 2, 1.0 - chance / n);
    (n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt()
}

/// Standard deviation pooled over series, from their sums of squares about their means and degrees of freedom, with the
/// degrees of freedom that it has; `None` where none has any.
///
/// Source: NIST/SEMATECH e-Handbook, 2.4.4.1.
pub fn pooled(series: impl IntoIterator<Item = (f64, usize)>) -> Option<(f64, usize)> {
    let mut total = (0.0, 0);
    for (squares, freedom) in series {
        total = (total.0 + squares, total.1 + freedom);
    }
    (total.1 > 0).then(|| ((total.0 / total.1 as f64).sqrt(), total.1))
}
