//! Outputs as a process likes them: untouched where it matters, by their logarithm far away.

/// An output's figures, those outside a range drawn in.
///
/// The order stays, the slope is continuous: beyond a bound at a distance d the figure becomes the bound and
/// s ln(1 + d/s), s the range's size.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tame {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) size: f64,
}

impl Tame {
    pub(super) fn value(&self, y: f64) -> f64 {
        if y > self.high {
            self.high + self.size * ((y - self.high) / self.size).ln_1p()
        } else if y < self.low {
            self.low - self.size * ((self.low - y) / self.size).ln_1p()
        } else {
            y
        }
    }

    /// How far outside the range a figure is.
    pub(super) fn beyond(&self, y: f64) -> f64 {
        (y - self.high).max(self.low - y).max(0.0)
    }

    /// For a constraint, which matters about 0: of the size that a quarter of its figures stays below.
    ///
    /// Source: Eriksson and Poloczek, AISTATS 2021 (logarithm on both sides of a constraint's limit; from memory).
    pub(super) fn about_zero(values: &[f64]) -> Self {
        let mut sizes: Vec<f64> = values
            .iter()
            .map(|value| value.abs())
            .filter(|size| *size > 0.0 && size.is_finite())
            .collect();
        sizes.sort_by(f64::total_cmp);
        let size = sizes.get(sizes.len() / 4).copied().unwrap_or(1.0);
        Self {
            low: 0.0,
            high: 0.0,
            size,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_and_slope_stay() {
        let tame = Tame {
            low: -1.0,
            high: 2.0,
            size: 3.0,
        };
        assert_eq!(tame.value(0.7), 0.7);
        for bound in [-1.0, 2.0] {
            let slope = (tame.value(bound + 1e-6) - tame.value(bound - 1e-6)) / 2e-6;
            assert!((slope - 1.0).abs() < 1e-5);
        }
        let values = [-1e9, -5.0, -1.0, 0.0, 2.0, 2.5, 1e12].map(|y| tame.value(y));
        assert!(values.is_sorted() && values[6] < 100.0);
        let about_zero = Tame::about_zero(&[4.0, -4.0, 1.0, 8.0]);
        assert_eq!(about_zero.size, 4.0);
        assert_eq!(about_zero.value(0.0), 0.0);
    }
}
