//! What a design whose objectives are uncertain is expected to add to the front.

use statrs::function::erf::erfc;

use super::super::filter::front;
use super::super::hypervolume::hypervolume;

/// Probability of a standard normal number below `z`.
pub(super) fn normal_below(z: f64) -> f64 {
    0.5 * erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

fn normal_density(z: f64) -> f64 {
    const FACTOR: f64 = 0.398_942_280_401_432_7;
    FACTOR * (-0.5 * z * z).exp()
}

/// Logarithm of [`normal_below`], far out as well.
///
/// Source: Abramowitz and Stegun 1964, 26.2.12 (tail; from memory).
pub(super) fn ln_normal_below(z: f64) -> f64 {
    if z > -10.0 {
        return normal_below(z).ln();
    }
    let inverse = 1.0 / (z * z);
    let series = 1.0 - inverse * (1.0 - inverse * (3.0 - 15.0 * inverse));
    (normal_density(0.0) * series / -z).ln() - 0.5 * z * z
}

/// An uncertain figure: its expected value and standard deviation.
pub(super) type Guess = (f64, f64);

/// How far below `limit` a figure is expected to be, 0 where it is above.
///
/// Source: Jones, Schonlau and Welch, J. Global Optimization 13, 1998, equation 15 (from memory).
pub(super) fn shortfall((mean, deviation): Guess, limit: f64) -> f64 {
    let z = (limit - mean) / deviation;
    if !(deviation > 0.0) || z.abs() > 1e6 {
        return (limit - mean).max(0.0);
    }
    (deviation * (z * normal_below(z) + normal_density(z))).max(0.0)
}

/// The points to improve on, and how far improvement counts.
#[derive(Clone, Debug)]
pub(super) struct Mark {
    /// Flat; no point beats another; two objectives: by the first.
    points: Vec<f64>,
    reference: Vec<f64>,
}

impl Mark {
    pub(super) fn new(points: &[f64], reference: Vec<f64>) -> Self {
        let mut mark = Self {
            points: Vec::new(),
            reference,
        };
        mark.add(points);
        mark
    }

    /// Takes points in, and leaves out those that another beats.
    pub(super) fn add(&mut self, points: &[f64]) {
        let width = self.reference.len();
        self.points.extend_from_slice(points);
        let mut left: Vec<&[f64]> = front(&self.points, width)
            .into_iter()
            .map(|k| &self.points[k * width..(k + 1) * width])
            .filter(|point| point.iter().zip(&self.reference).all(|(p, r)| p < r))
            .collect();
        left.sort_by(|a, b| a[0].total_cmp(&b[0]));
        self.points = left.concat();
    }

    /// Least value of an objective, if there is a point.
    pub(super) fn least(&self, objective: usize) -> Option<f64> {
        let points = self.points.chunks_exact(self.reference.len());
        points.map(|point| point[objective]).reduce(f64::min)
    }

    /// Expected gain of hypervolume by a design whose objectives are independent normal figures; with one objective
    /// the expected improvement.
    ///
    /// With S(u) the expected shortfall of an objective below u, the gain is the integral of dS_1 dS_2 ... over all
    /// that no point beats: a sum over strips in two objectives. In more it is the hypervolume that is not dominated
    /// when every objective u is measured by S(u).
    ///
    /// Source: Emmerich, Deutz and Klinkenberg, IEEE CEC 2011; Yang, Emmerich, Deutz and Bäck, J. Global Optimization
    /// 75, 2019 (from memory); the measuring by S is our own way of writing their sum over boxes.
    pub(super) fn gain(&self, guesses: &[Guess]) -> f64 {
        match (guesses, self.reference.as_slice()) {
            ([guess], [reference]) => {
                shortfall(*guess, self.points.first().copied().unwrap_or(*reference))
            }
            ([one, other], [end, top]) => {
                let (mut gain, mut before, mut level) = (0.0, 0.0, *top);
                for &[x, y] in self.points.as_chunks::<2>().0 {
                    let here = shortfall(*one, x);
                    if here > before {
                        gain += (here - before) * shortfall(*other, level);
                    }
                    (before, level) = (here, y);
                }
                gain + (shortfall(*one, *end) - before).max(0.0) * shortfall(*other, level)
            }
            _ => {
                let measured = |point: &[f64]| -> Vec<f64> {
                    let each = guesses.iter().zip(point);
                    each.map(|(guess, u)| shortfall(*guess, *u)).collect()
                };
                let reference = measured(&self.reference);
                let points: Vec<f64> = self
                    .points
                    .chunks_exact(guesses.len())
                    .flat_map(measured)
                    .collect();
                let whole: f64 = reference.iter().product();
                let gain = whole - hypervolume(&points, &reference);
                // What is lost to rounding is no gain.
                if gain > 1e-13 * whole { gain } else { 0.0 }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::random::Random;
    use super::*;

    /// Φ(1.96) and Φ(-3) from tables (Abramowitz and Stegun 1964, table 26.1; from memory); the tail's logarithm
    /// joins the other at -10.
    #[test]
    fn normal_probabilities() {
        assert!((normal_below(1.96) - 0.975_002_104_9).abs() < 1e-9);
        assert!((normal_below(-3.0) - 0.001_349_898_03).abs() < 1e-10);
        assert!((ln_normal_below(-10.0 - 1e-9) / ln_normal_below(-10.0) - 1.0).abs() < 1e-6);
        assert!((ln_normal_below(-40.0) + 804.608_442).abs() < 1e-5);
        // Expected shortfall at the mean is σ/√(2π).
        assert!((shortfall((2.0, 3.0), 2.0) - 3.0 * 0.398_942_280_4).abs() < 1e-9);
        assert_eq!(shortfall((2.0, 0.0), 5.0), 3.0);
        assert_eq!(shortfall((2.0, 0.0), 1.0), 0.0);
    }

    fn normal(random: &mut Random) -> f64 {
        let length = (-2.0 * (1.0 - random.unit()).ln()).sqrt();
        length * (std::f64::consts::TAU * random.unit()).cos()
    }

    /// Against the mean gain of designs drawn at random; four deviations of that mean, and a millionth for gains so
    /// rare that no draw has any.
    #[test]
    fn expected_gain_is_the_mean_of_gains() {
        let mut random = Random::new(5);
        for width in 1..=4 {
            for round in 0..4 {
                let points: Vec<f64> = (0..7 * width).map(|_| random.unit()).collect();
                let reference = vec![1.1; width];
                let mark = Mark::new(&points, reference.clone());
                let guesses: Vec<Guess> = (0..width)
                    .map(|_| (0.8 * random.unit(), 0.3 * random.unit()))
                    .collect();
                let before = hypervolume(&points, &reference);
                let (mut sum, mut squares, draws) = (0.0, 0.0, 30_000);
                for _ in 0..draws {
                    let drawn = guesses.iter().map(|(m, s)| m + s * normal(&mut random));
                    let more: Vec<f64> = points.iter().copied().chain(drawn).collect();
                    let gain = hypervolume(&more, &reference) - before;
                    sum += gain;
                    squares += gain * gain;
                }
                let mean = sum / f64::from(draws);
                let error = (squares / f64::from(draws) - mean * mean).max(0.0).sqrt()
                    / f64::from(draws).sqrt();
                let found = mark.gain(&guesses);
                assert!(
                    (found - mean).abs() < 4.0 * error + 1e-6,
                    "{width} objectives, round {round}: {found} for {mean} ± {error}"
                );
            }
        }
    }

    /// Without uncertainty the gain is that of the hypervolume.
    #[test]
    fn certain_gain() {
        let points = [0.2, 0.8, 0.5, 0.5, 0.8, 0.1];
        let mark = Mark::new(&points, vec![1.0, 1.0]);
        let gain = |x: f64, y: f64| mark.gain(&[(x, 0.0), (y, 0.0)]);
        assert!((gain(0.4, 0.4) - (0.1 * 0.4 + 0.3 * 0.1)).abs() < 1e-12);
        assert_eq!(gain(0.6, 0.6), 0.0);
        assert!((gain(0.0, 1.5)).abs() < 1e-12);
    }
}
