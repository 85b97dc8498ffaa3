//! Distributions of a deviation, reached by a standard normal score so that deviations can be correlated.

use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// Standard deviations that a tolerance to either side counts as where it is read as a normal distribution: common
/// practice, no source.
pub const TOLERANCE_SDS: f64 = 3.0;

/// Kind of distribution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Normal.
    Normal,
    /// The same chance everywhere within the limits.
    Uniform,
    /// A peak in the middle, falling to nothing at the limits.
    Triangular,
    /// Normal, with nothing beyond the limits: what is outside is sorted out.
    Truncated,
}

/// How a quantity deviates from its nominal value: symmetric about `middle`, in whatever unit the quantity has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Distribution {
    /// Normal.
    Normal {
        /// Mean.
        middle: f64,
        /// Standard deviation.
        sd: f64,
    },
    /// Uniform.
    Uniform {
        /// Mean.
        middle: f64,
        /// From the mean to either limit.
        half: f64,
    },
    /// Triangular.
    Triangular {
        /// Mean and peak.
        middle: f64,
        /// From the mean to either limit.
        half: f64,
    },
    /// Truncated normal.
    Truncated {
        /// Mean.
        middle: f64,
        /// Standard deviation before it was cut off.
        sd: f64,
        /// From the mean to where it is cut off, to either side.
        half: f64,
    },
}

impl Distribution {
    /// The distribution that a tolerance of so much to either side stands for: of a normal one three standard
    /// deviations, of others the limits. A truncated one has half of it as its standard deviation.
    pub fn of_tolerance(shape: Shape, half: f64) -> Distribution {
        let middle = 0.0;
        match shape {
            Shape::Normal => Distribution::Normal {
                middle,
                sd: half / TOLERANCE_SDS,
            },
            Shape::Uniform => Distribution::Uniform { middle, half },
            Shape::Triangular => Distribution::Triangular { middle, half },
            Shape::Truncated => Distribution::Truncated {
                middle,
                sd: 0.5 * half,
                half,
            },
        }
    }

    /// Mean.
    pub fn mean(&self) -> f64 {
        match *self {
            Distribution::Normal { middle, .. }
            | Distribution::Uniform { middle, .. }
            | Distribution::Triangular { middle, .. }
            | Distribution::Truncated { middle, .. } => middle,
        }
    }

    /// Standard deviation.
    ///
    /// Limits a either side: uniform a/√3, triangular a/√6 (JCGM 100:2008, 4.3.7 and 4.3.9, from memory); truncated
    /// at k standard deviations σ either side: σ² (1 − 2 k φ(k) / (1 − 2 Φ(−k))) (Johnson, Kotz and Balakrishnan,
    /// Continuous Univariate Distributions 1, 1994, section 10.1, from memory).
    pub fn sd(&self) -> f64 {
        match *self {
            Distribution::Normal { sd, .. } => sd,
            Distribution::Uniform { half, .. } => half / 3.0_f64.sqrt(),
            Distribution::Triangular { half, .. } => half / 6.0_f64.sqrt(),
            Distribution::Truncated { sd, half, .. } => {
                if !(sd > 0.0 && half > 0.0) {
                    return 0.0;
                }
                let k = half / sd;
                let cut = 2.0 * k * Normal::standard().pdf(k) / (1.0 - 2.0 * share_below(-k));
                sd * (1.0 - cut).max(0.0).sqrt()
            }
        }
    }

    /// The value below which lies as much of the distribution as lies below `score` of the standard normal one.
    pub fn at(&self, score: f64) -> f64 {
        let below = share_below(-score.abs());
        let off = match *self {
            Distribution::Normal { middle, sd } => return middle + sd * score,
            Distribution::Uniform { half, .. } => half * (1.0 - 2.0 * below),
            Distribution::Triangular { half, .. } => half * (1.0 - (2.0 * below).sqrt()),
            Distribution::Truncated { sd, half, .. } => {
                if !(sd > 0.0 && half > 0.0) {
                    0.0
                } else {
                    let cut = share_below(-half / sd);
                    -sd * score_of(cut + below * (1.0 - 2.0 * cut))
                }
            }
        };
        self.mean() + off.copysign(score)
    }

    /// The same about the same mean, its spread `factor` times as wide.
    pub fn spread(&self, factor: f64) -> Distribution {
        let mut wider = *self;
        match &mut wider {
            Distribution::Normal { sd, .. } => *sd *= factor,
            Distribution::Uniform { half, .. } | Distribution::Triangular { half, .. } => {
                *half *= factor;
            }
            Distribution::Truncated { sd, half, .. } => {
                *sd *= factor;
                *half *= factor;
            }
        }
        wider
    }

    /// Middle and spread, `factor` times as great: from shares of a size to the size's own unit.
    pub fn scaled(&self, factor: f64) -> Distribution {
        let mut scaled = self.spread(factor.abs());
        match &mut scaled {
            Distribution::Normal { middle, .. }
            | Distribution::Uniform { middle, .. }
            | Distribution::Triangular { middle, .. }
            | Distribution::Truncated { middle, .. } => *middle *= factor,
        }
        scaled
    }

    /// What it is called.
    pub fn words(&self) -> &'static str {
        match self {
            Distribution::Normal { .. } => "normal",
            Distribution::Uniform { .. } => "uniform",
            Distribution::Triangular { .. } => "triangular",
            Distribution::Truncated { .. } => "truncated normal",
        }
    }
}

/// Share of the standard normal distribution below a score.
pub fn share_below(score: f64) -> f64 {
    Normal::standard().cdf(score)
}

/// The score below which a share (above 0, below 1) of the standard normal distribution lies.
pub fn score_of(share: f64) -> f64 {
    Normal::standard().inverse_cdf(share)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean and standard deviation by the midpoint rule over equal shares, against what the distribution says.
    fn check(distribution: Distribution, sd: f64) {
        let count = 200_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for k in 0..count {
            let value = distribution.at(score_of((f64::from(k) + 0.5) / f64::from(count)));
            sum += value;
            squares += value * value;
        }
        let mean = sum / f64::from(count);
        let found = (squares / f64::from(count) - mean * mean).sqrt();
        assert!(
            (mean - distribution.mean()).abs() < 1e-6,
            "{distribution:?}"
        );
        assert!((found - sd).abs() < 1e-4 * sd, "{distribution:?}: {found}");
        assert!(
            (distribution.sd() - sd).abs() < 1e-6 * sd,
            "{distribution:?}"
        );
    }

    #[test]
    fn moments_are_the_closed_forms() {
        let middle = 0.3;
        check(Distribution::Normal { middle, sd: 2.0 }, 2.0);
        check(
            Distribution::Uniform { middle, half: 1.5 },
            1.5 / 3.0_f64.sqrt(),
        );
        check(
            Distribution::Triangular { middle, half: 1.5 },
            1.5 / 6.0_f64.sqrt(),
        );
        // Cut at one standard deviation either side: variance 1 - 2 φ(1) / 0.6826895 = 0.2911251 with
        // φ(1) = 0.2419707 (tables of the normal distribution, from memory).
        let sd = 2.0;
        let cut = Distribution::Truncated {
            middle,
            sd,
            half: 2.0,
        };
        check(cut, 2.0 * 0.291_125_1_f64.sqrt());
    }

    #[test]
    fn quantiles_stand_where_they_must() {
        // Triangular on -1..1: the lower quarter ends at -1 + sqrt(2 / 4).
        let triangle = Distribution::Triangular {
            middle: 0.0,
            half: 1.0,
        };
        assert!((triangle.at(score_of(0.25)) + 1.0 - 0.5_f64.sqrt()).abs() < 1e-9);
        let flat = Distribution::Uniform {
            middle: 5.0,
            half: 2.0,
        };
        assert!((flat.at(score_of(0.9)) - 6.6).abs() < 1e-9);
        let cut = Distribution::Truncated {
            middle: 0.0,
            sd: 1.0,
            half: 2.0,
        };
        assert!((cut.at(40.0) - 2.0).abs() < 1e-6 && (cut.at(-40.0) + 2.0).abs() < 1e-6);
        assert_eq!(cut.at(0.0), 0.0);
        // 1.959964 and 0.975: tables of the normal distribution (from memory).
        assert!((score_of(0.975) - 1.959_963_985).abs() < 1e-8);
    }

    #[test]
    fn a_tolerance_of_nothing_scatters_nothing() {
        for shape in [
            Shape::Normal,
            Shape::Uniform,
            Shape::Triangular,
            Shape::Truncated,
        ] {
            let none = Distribution::of_tolerance(shape, 0.0);
            assert_eq!((none.sd(), none.at(2.0)), (0.0, 0.0), "{shape:?}");
        }
    }

    #[test]
    fn wider_keeps_the_middle_and_scaled_does_not() {
        let shifted = Distribution::Normal {
            middle: 0.1,
            sd: 0.02,
        };
        assert_eq!(shifted.spread(0.5).at(1.0), 0.11);
        assert!((shifted.scaled(10.0).at(1.0) - 1.2).abs() < 1e-12);
    }
}
