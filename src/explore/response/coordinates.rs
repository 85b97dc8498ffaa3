//! Where a design stands: its variables as coordinates of one size.

use super::super::Axis;
use super::FitError;

/// Most coordinates of a law.
pub(in super::super) const MOST: usize = 64;
/// Listed numbers whose ratio passes this are placed by their logarithm.
const DECADES: f64 = 100.0;

/// A variable of a law.
#[derive(Clone, Debug, PartialEq)]
pub enum Variable {
    /// A number between two bounds; outside them the law is continued.
    Number {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
        /// Whether ratios matter rather than differences. Needs a lower bound above 0.
        log: bool,
    },
    /// One of a list of numbers; the value is the index into it, from 0. Its number counts, by its logarithm where
    /// the list spans more than two decades.
    Listed(Vec<f64>),
    /// One of some things without order; the value is its index, from 0. Each has an offset of its own, and is as
    /// far from every other.
    Kind {
        /// How many there are.
        count: usize,
    },
}

impl Variable {
    /// The variable that an axis is; `numbers` are those behind a choice, if there are any.
    pub fn of(axis: &Axis, numbers: Option<&[f64]>) -> Self {
        match (axis, numbers) {
            (&Axis::Continuous { low, high, log, .. }, _) => Self::Number { low, high, log },
            (&Axis::Integer { low, high }, _) => Self::Number {
                low: low as f64,
                high: high as f64,
                log: false,
            },
            (Axis::Choice { .. }, Some(numbers)) => Self::Listed(numbers.to_vec()),
            (&Axis::Choice { count }, None) => Self::Kind { count },
        }
    }

    fn is_sound(&self) -> bool {
        match self {
            Self::Number { low, high, log } => {
                low.is_finite() && high.is_finite() && low <= high && (!log || *low > 0.0)
            }
            Self::Listed(numbers) => {
                !numbers.is_empty() && numbers.iter().all(|number| number.is_finite())
            }
            Self::Kind { count } => *count > 0,
        }
    }

    /// Whether a value can be placed.
    pub(super) fn holds(&self, x: f64) -> bool {
        let indexes = |count: usize| x.fract() == 0.0 && (0.0..count as f64).contains(&x);
        match self {
            Self::Number { log, .. } => x.is_finite() && (!log || x > 0.0),
            Self::Listed(numbers) => indexes(numbers.len()),
            Self::Kind { count } => indexes(*count),
        }
    }
}

/// Coordinates of all variables: numbers run from -1 to 1 over their range, kinds are 0 or 1.
#[derive(Clone, Debug)]
pub(in super::super) struct Coordinates {
    scales: Vec<Scale>,
    /// Variable behind each coordinate; those of one variable share a length.
    pub(super) variable: Vec<usize>,
    /// Whether a coordinate is a number: only these have squares and products.
    pub(super) number: Vec<bool>,
}

#[derive(Clone, Debug)]
enum Scale {
    Linear { middle: f64, half: f64 },
    Log { middle: f64, half: f64 },
    Listed(Vec<f64>),
    Kind { count: usize },
}

impl Coordinates {
    pub(in super::super) fn new(variables: &[Variable]) -> Result<Self, FitError> {
        if let Some(variable) = variables.iter().position(|each| !each.is_sound()) {
            return Err(FitError::BadVariable { variable });
        }
        let scales: Vec<Scale> = variables.iter().map(scale).collect();
        let mut variable = Vec::new();
        let mut number = Vec::new();
        for (index, scale) in scales.iter().enumerate() {
            variable.resize(variable.len() + scale.count(), index);
            number.resize(variable.len(), !matches!(scale, Scale::Kind { .. }));
        }
        if variable.len() > MOST {
            return Err(FitError::TooManyCoordinates {
                coordinates: variable.len(),
                most: MOST,
            });
        }
        Ok(Self {
            scales,
            variable,
            number,
        })
    }

    /// Number of coordinates.
    pub(in super::super) fn count(&self) -> usize {
        self.variable.len()
    }

    /// Writes the coordinates of a design; an index outside its list gives NaN or no kind at all.
    pub(in super::super) fn place(&self, x: &[f64], at: &mut [f64]) {
        let mut next = 0;
        for (scale, &x) in self.scales.iter().zip(x) {
            match scale {
                Scale::Linear { middle, half } => at[next] = (x - middle) / half,
                Scale::Log { middle, half } => at[next] = (x.ln() - middle) / half,
                Scale::Listed(places) => {
                    at[next] = places.get(x as usize).copied().unwrap_or(f64::NAN);
                }
                Scale::Kind { count } => {
                    at[next..next + count].fill(0.0);
                    if let Some(kind) = at[next..next + count].get_mut(x as usize) {
                        *kind = 1.0;
                    }
                }
            }
            next += scale.count();
        }
    }
}

impl Scale {
    fn count(&self) -> usize {
        match self {
            Self::Kind { count } => *count,
            _ => 1,
        }
    }
}

fn scale(variable: &Variable) -> Scale {
    // A range without width has one place only, the middle.
    let half = |low: f64, high: f64| if high > low { (high - low) / 2.0 } else { 1.0 };
    match variable {
        &Variable::Number { low, high, log } if log => Scale::Log {
            middle: (low.ln() + high.ln()) / 2.0,
            half: half(low.ln(), high.ln()),
        },
        &Variable::Number { low, high, .. } => Scale::Linear {
            middle: low + (high - low) / 2.0,
            half: half(low, high),
        },
        Variable::Listed(numbers) => {
            let low = numbers.iter().copied().fold(f64::INFINITY, f64::min);
            let high = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let log = low > 0.0 && high / low > DECADES;
            let line = scale(&Variable::Number { low, high, log });
            let place = |&number: &f64| match line {
                Scale::Linear { middle, half } => (number - middle) / half,
                Scale::Log { middle, half } => (number.ln() - middle) / half,
                _ => 0.0,
            };
            Scale::Listed(numbers.iter().map(place).collect())
        }
        &Variable::Kind { count } => Scale::Kind { count },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_become_minus_one_to_one() {
        let variables = [
            Variable::Number {
                low: 2.0,
                high: 6.0,
                log: false,
            },
            Variable::Number {
                low: 1.0,
                high: 100.0,
                log: true,
            },
            Variable::Listed(vec![3.0, 2.0, 7.0]),
            Variable::Listed(vec![1.0, 1000.0, 10.0]),
            Variable::Kind { count: 3 },
        ];
        let coordinates = Coordinates::new(&variables).unwrap();
        let mut at = [9.0; 7];
        coordinates.place(&[5.0, 10.0, 0.0, 2.0, 1.0], &mut at);
        let right = [0.5, 0.0, -0.6, -1.0 / 3.0, 0.0, 1.0, 0.0];
        for (at, right) in at.iter().zip(right) {
            assert!((at - right).abs() < 1e-15, "{at} for {right}");
        }
        assert_eq!(coordinates.variable, [0, 1, 2, 3, 4, 4, 4]);
    }

    #[test]
    fn axes_become_variables() {
        let choice = Axis::Choice { count: 2 };
        assert_eq!(Variable::of(&choice, None), Variable::Kind { count: 2 });
        assert_eq!(
            Variable::of(&choice, Some(&[2.0, 3.0])),
            Variable::Listed(vec![2.0, 3.0])
        );
        assert_eq!(
            Variable::of(&Axis::Integer { low: 2, high: 5 }, None),
            Variable::Number {
                low: 2.0,
                high: 5.0,
                log: false
            }
        );
    }

    #[test]
    fn unsound_variables_are_refused() {
        for variable in [
            Variable::Number {
                low: 1.0,
                high: 0.0,
                log: false,
            },
            Variable::Number {
                low: 0.0,
                high: 1.0,
                log: true,
            },
            Variable::Listed(vec![]),
            Variable::Listed(vec![f64::NAN]),
            Variable::Kind { count: 0 },
        ] {
            assert!(Coordinates::new(&[variable]).is_err());
        }
        assert!(matches!(
            Coordinates::new(&[Variable::Kind { count: 65 }]),
            Err(FitError::TooManyCoordinates { .. })
        ));
    }
}
