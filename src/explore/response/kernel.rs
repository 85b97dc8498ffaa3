//! How alike the values at two places are, by their distance.

/// Correlation of two places by the square of their distance, measured in lengths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kernel {
    /// exp(-r²/2): values as smooth as can be.
    SquaredExponential,
    /// Matérn of order 5/2, (1 + s + s²/3) exp(-s) with s = sqrt(5) r: two derivatives.
    ///
    /// Source: Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, equation 4.17 (from memory).
    Matern,
}

/// Places reckoned side by side.
pub(super) const LANES: usize = 16;

impl Kernel {
    /// Correlation, by the square of the distance.
    pub(super) fn correlation(self, square: f64) -> f64 {
        let mut lanes = [square; 1];
        self.correlations(&mut lanes);
        lanes[0]
    }

    /// Turns squares of distances into correlations.
    #[inline(always)]
    pub(super) fn correlations<const N: usize>(self, squares: &mut [f64; N]) {
        match self {
            Self::SquaredExponential => {
                for each in squares {
                    *each = exponential(-0.5 * *each);
                }
            }
            Self::Matern => {
                for each in squares {
                    // Rounding can leave the square of a distance a hair below 0.
                    let square = 5.0 * if *each > 0.0 { *each } else { 0.0 };
                    let s = square.sqrt();
                    *each = (1.0 + s + square * (1.0 / 3.0)) * exponential(-s);
                }
            }
        }
    }

    /// Turns squares of distances into derivatives of the correlation by them.
    #[inline(always)]
    pub(super) fn slopes<const N: usize>(self, squares: &mut [f64; N]) {
        match self {
            Self::SquaredExponential => {
                for each in squares {
                    *each = -0.5 * exponential(-0.5 * *each);
                }
            }
            Self::Matern => {
                for each in squares {
                    let s = (5.0 * *each).sqrt();
                    *each = -5.0 / 6.0 * (1.0 + s) * exponential(-s);
                }
            }
        }
    }
}

/// e^x for x at most a hair above 0; below -700 as at -700.
///
/// 2^k times the series of 2^f, |f| <= 1/2, which twelve powers end to rounding. No branch and no table, so that
/// a row of them is reckoned side by side.
#[inline(always)]
fn exponential(x: f64) -> f64 {
    /// 3 * 2^51: adding it leaves the nearest whole number in the lowest bits.
    const SHIFT: f64 = 6_755_399_441_055_744.0;
    /// ln(2)^k / k!, k from 0.
    const SERIES: [f64; 13] = series();
    let scaled = std::f64::consts::LOG2_E * if x > -700.0 { x } else { -700.0 };
    let shifted = scaled + SHIFT;
    let f = scaled - (shifted - SHIFT);
    let mut sum = SERIES[12];
    let mut k = 12;
    while k > 0 {
        k -= 1;
        sum = sum * f + SERIES[k];
    }
    f64::from_bits(sum.to_bits().wrapping_add(shifted.to_bits() << 52))
}

const fn series() -> [f64; 13] {
    let mut series = [1.0; 13];
    let mut k = 1;
    while k < 13 {
        series[k] = series[k - 1] * std::f64::consts::LN_2 / k as f64;
        k += 1;
    }
    series
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exponential_is_right() {
        for k in 0..=70_000 {
            let x = -f64::from(k) * 0.01;
            let right = x.exp();
            // The argument's own rounding grows with it.
            let tolerance = 1e-15 * (1.0 + x.abs());
            assert!((exponential(x) / right - 1.0).abs() < tolerance, "at {x}");
        }
        assert_eq!(exponential(0.0), 1.0);
        assert!(exponential(-1e300) < 1e-300);
        assert!(exponential(f64::NAN) < 1e-300 || exponential(f64::NAN).is_nan());
    }

    #[test]
    fn slopes_are_those_of_the_correlations() {
        for kernel in [Kernel::SquaredExponential, Kernel::Matern] {
            for square in [0.01, 0.3, 1.0, 7.0] {
                let by = 1e-5;
                let slope = (kernel.correlation(square + by) - kernel.correlation(square - by))
                    / (2.0 * by);
                let mut right = [square];
                kernel.slopes(&mut right);
                assert!((slope / right[0] - 1.0).abs() < 1e-6);
            }
        }
    }
}
