//! What may vary: axes of the space, and the mapping between a value and its place in 0 to 1.

use super::Error;

/// An axis of the space.
#[derive(Clone, Debug, PartialEq)]
pub enum Axis {
    /// Any number between two bounds.
    Continuous {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
        /// Values are `low + k * step` where given.
        step: Option<f64>,
        /// Whether ratios matter rather than differences: the axis is then sampled and searched evenly in its
        /// logarithm. Needs a lower bound above 0; useful where the bounds span several powers of ten.
        log: bool,
    },
    /// Whole numbers between two bounds, both included.
    Integer {
        /// Lower bound.
        low: i64,
        /// Upper bound.
        high: i64,
    },
    /// One of a list; the value is the index into it, from 0. A list in order of size is searched best.
    Choice {
        /// Length of the list.
        count: usize,
    },
}

/// Whole numbers up to this one are exact in an `f64`.
const EXACT: i64 = 1 << 53;

impl Axis {
    /// Number of different values, or `None` where there is no end of them.
    pub fn count(&self) -> Option<u64> {
        match *self {
            Self::Continuous { low, high, .. } if low == high => Some(1),
            Self::Continuous { step: None, .. } => None,
            Self::Continuous {
                low,
                high,
                step: Some(step),
                ..
            } => Some(steps(low, high, step) as u64 + 1),
            Self::Integer { low, high } => Some(high.abs_diff(low) + 1),
            Self::Choice { count } => Some(count as u64),
        }
    }

    /// The value of the axis that is nearest to another: on a step where it has them, never outside the bounds.
    pub fn nearest(&self, value: f64) -> f64 {
        match *self {
            Self::Continuous {
                low,
                high,
                step: None,
                ..
            } => value.clamp(low, high),
            _ => {
                let scale = Scale::new(self);
                scale.value(scale.place(value))
            }
        }
    }

    fn is_sound(&self) -> bool {
        match *self {
            Self::Continuous {
                low,
                high,
                step,
                log,
            } => {
                low.is_finite()
                    && high.is_finite()
                    && low <= high
                    && (high - low).is_finite()
                    && (!log || low > 0.0)
                    && step.is_none_or(|step| step > 0.0 && steps(low, high, step) < EXACT as f64)
            }
            Self::Integer { low, high } => -EXACT <= low && low <= high && high <= EXACT,
            Self::Choice { count } => count > 0,
        }
    }
}

/// Whole steps that fit between two bounds; a hair short of a whole step counts as one.
fn steps(low: f64, high: f64, step: f64) -> f64 {
    ((high - low) / step + 1e-9).floor()
}

/// An axis ready for use: values to places in 0 to 1 and back.
///
/// A discrete axis of n values cuts 0 to 1 into n cells of equal width, so that even sampling gives every value
/// the same probability; the place of a value is the middle of its cell.
#[derive(Clone, Debug)]
pub(crate) struct Scale {
    low: f64,
    high: f64,
    shape: Shape,
    pub(crate) count: Option<u64>,
}

#[derive(Clone, Copy, Debug)]
enum Shape {
    Linear,
    Log { span: f64 },
    Cells { cells: f64, step: f64 },
    LogCells { cells: f64, step: f64, span: f64 },
}

impl Scale {
    fn new(axis: &Axis) -> Self {
        let (low, high, shape) = match *axis {
            Axis::Continuous {
                low,
                high,
                step,
                log,
            } => {
                let span = if log { (high / low).ln() } else { 0.0 };
                let shape = match (step, log) {
                    _ if low == high => Shape::Linear,
                    (None, false) => Shape::Linear,
                    (None, true) => Shape::Log { span },
                    (Some(step), false) => Shape::Cells {
                        cells: steps(low, high, step) + 1.0,
                        step,
                    },
                    (Some(step), true) => Shape::LogCells {
                        cells: steps(low, high, step) + 1.0,
                        step,
                        span,
                    },
                };
                (low, high, shape)
            }
            Axis::Integer { low, high } => {
                let (low, high) = (low as f64, high as f64);
                (
                    low,
                    high,
                    Shape::Cells {
                        cells: high - low + 1.0,
                        step: 1.0,
                    },
                )
            }
            Axis::Choice { count } => (
                0.0,
                count as f64 - 1.0,
                Shape::Cells {
                    cells: count as f64,
                    step: 1.0,
                },
            ),
        };
        Self {
            low,
            high,
            shape,
            count: axis.count(),
        }
    }

    /// Value at a place from 0 to 1, on a step where the axis has them, never outside the bounds.
    pub(crate) fn value(&self, place: f64) -> f64 {
        let value = match self.shape {
            Shape::Linear => self.low + (self.high - self.low) * place,
            Shape::Log { span } => self.low * (span * place).exp(),
            Shape::Cells { cells, step } => {
                self.low + (cells * place).floor().clamp(0.0, cells - 1.0) * step
            }
            Shape::LogCells { cells, step, span } => {
                let value = self.low * (span * place).exp();
                self.low + ((value - self.low) / step).round().clamp(0.0, cells - 1.0) * step
            }
        };
        if place >= 1.0 && matches!(self.shape, Shape::Linear | Shape::Log { .. }) {
            return self.high;
        }
        // Adding zero turns -0 into 0, so that equal values have equal bits.
        value.clamp(self.low, self.high) + 0.0
    }

    /// Place of a value, from 0 to 1; values outside the bounds go to the nearer end.
    pub(crate) fn place(&self, value: f64) -> f64 {
        if self.low == self.high {
            return 0.5;
        }
        let place = match self.shape {
            Shape::Linear => (value - self.low) / (self.high - self.low),
            Shape::Log { span } | Shape::LogCells { span, .. } => {
                (value.max(self.low) / self.low).ln() / span
            }
            Shape::Cells { cells, step } => (((value - self.low) / step).round() + 0.5) / cells,
        };
        place.clamp(0.0, 1.0)
    }

    /// Value at a share, 0 to 1, of the way from bound to bound, along the logarithm where the axis has one: the
    /// bounds themselves at 0 and 1, the nearest step or item between them; half-way goes up.
    pub(crate) fn between(&self, share: f64) -> f64 {
        match self.shape {
            Shape::Cells { cells, step } => {
                let cell = (share * (cells - 1.0)).round().clamp(0.0, cells - 1.0);
                (self.low + cell * step).min(self.high) + 0.0
            }
            _ => self.value(share),
        }
    }

    /// Share, 0 to 1, of the way from bound to bound at which a value lies; one half where the axis has one value.
    pub(crate) fn share(&self, value: f64) -> f64 {
        match self.shape {
            Shape::Cells { cells, step } if cells > 1.0 => {
                (((value - self.low) / step).round() / (cells - 1.0)).clamp(0.0, 1.0)
            }
            _ => self.place(value),
        }
    }

    /// As [`Self::between`], also beyond the bounds; `None` where the axis has steps or items, or one value.
    pub(crate) fn beyond(&self, share: f64) -> Option<f64> {
        match self.shape {
            Shape::Linear if self.low < self.high => {
                Some(self.low + (self.high - self.low) * share)
            }
            Shape::Log { span } => Some(self.low * (span * share).exp()),
            _ => None,
        }
    }

    /// The `k`-th of `levels` values spread evenly from bound to bound; `levels` equal to the count gives all.
    pub(crate) fn level(&self, k: u64, levels: u64) -> f64 {
        match (self.shape, self.count) {
            (Shape::LogCells { step, .. }, Some(count)) if levels == count => {
                (self.low + k as f64 * step).min(self.high)
            }
            (Shape::Cells { cells, step }, _) if levels > 1 => {
                let cell = (k as f64 * (cells - 1.0) / (levels - 1) as f64).round();
                (self.low + cell * step).min(self.high) + 0.0
            }
            _ if levels > 1 => self.value(k as f64 / (levels - 1) as f64),
            _ => self.value(0.5),
        }
    }
}

/// Scales of all axes.
///
/// # Errors
///
/// An axis whose bounds are reversed, not finite or too large, whose step is not above 0, whose lower bound is not
/// above 0 although it is logarithmic, or without a choice.
pub(crate) fn scales(axes: &[Axis]) -> Result<Vec<Scale>, Error> {
    match axes.iter().position(|axis| !axis.is_sound()) {
        Some(axis) => Err(Error::BadAxis { axis }),
        None => Ok(axes.iter().map(Scale::new).collect()),
    }
}

/// Number of designs in a space, or `None` where an axis has no end of values or the number passes `u64`.
pub(crate) fn space_size(scales: &[Scale]) -> Option<u64> {
    scales
        .iter()
        .try_fold(1_u64, |size, scale| size.checked_mul(scale.count?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(axis: Axis) -> Scale {
        scales(&[axis]).unwrap().remove(0)
    }

    #[test]
    fn values_are_as_likely_as_each_other() {
        let scale = scale(Axis::Integer { low: -2, high: 4 });
        let mut seen = [0; 7];
        for k in 0..7_000 {
            seen[(scale.value((k as f64 + 0.5) / 7_000.0) + 2.0) as usize] += 1;
        }
        assert_eq!(seen, [1_000; 7]);
    }

    #[test]
    fn places_lead_back_to_their_values() {
        let continuous = |step, log| Axis::Continuous {
            low: 0.3,
            high: 7.9,
            step,
            log,
        };
        for axis in [
            continuous(None, false),
            continuous(None, true),
            continuous(Some(0.2), false),
            continuous(Some(0.2), true),
            Axis::Integer { low: -5, high: 12 },
            Axis::Choice { count: 9 },
        ] {
            let scale = scale(axis.clone());
            for k in 0..=1_000 {
                let value = scale.value(k as f64 / 1_000.0);
                let again = scale.value(scale.place(value));
                assert!(
                    (value - again).abs() < 1e-12,
                    "{axis:?}: {value} became {again}"
                );
                assert!((scale.low..=scale.high).contains(&value));
            }
        }
    }

    #[test]
    fn unsound_axes_are_refused() {
        let continuous = |low, high, step, log| Axis::Continuous {
            low,
            high,
            step,
            log,
        };
        for axis in [
            continuous(1.0, 0.0, None, false),
            continuous(f64::NAN, 0.0, None, false),
            continuous(0.0, f64::INFINITY, None, false),
            continuous(0.0, 1.0, Some(0.0), false),
            continuous(0.0, 1.0, Some(f64::NAN), false),
            continuous(0.0, 1.0, None, true),
            continuous(0.0, 1.0, Some(1e-300), false),
            Axis::Integer { low: 3, high: 2 },
            Axis::Integer {
                low: i64::MIN,
                high: i64::MAX,
            },
            Axis::Choice { count: 0 },
        ] {
            assert!(matches!(scales(&[axis]), Err(Error::BadAxis { axis: 0 })));
        }
    }

    #[test]
    fn counts() {
        let continuous = |step| Axis::Continuous {
            low: 0.0,
            high: 0.3,
            step,
            log: false,
        };
        assert_eq!(continuous(Some(0.1)).count(), Some(4));
        assert_eq!(continuous(Some(0.25)).count(), Some(2));
        assert_eq!(continuous(None).count(), None);
        let wide = scales(&vec![
            Axis::Integer {
                low: 0,
                high: 999_999
            };
            8
        ])
        .unwrap();
        assert_eq!(space_size(&wide), None);
    }
}
