//! Values of a variable: which it can take, which is nearest, how that is said.

use super::ranges::bounds;
use crate::evaluate::setup::{Range, Variable};
use crate::units::{Dimension, Unit, UnitFault, print_number, read_quantity};
use std::fmt;

/// Why a value given for a variable cannot be taken.
#[derive(Clone, Debug, PartialEq)]
pub enum ValueFault {
    /// The text is no quantity.
    Unreadable(UnitFault),
    /// It measures something else.
    Kind {
        /// What it must measure.
        wanted: Dimension,
        /// What it measures.
        found: Dimension,
    },
    /// The variable cannot take it.
    Outside {
        /// What it can be, in words.
        range: String,
        /// The nearest value that it can take, in words.
        nearest: String,
    },
}

impl fmt::Display for ValueFault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(fault) => fault.kind.fmt(out),
            Self::Kind { wanted, found } => write!(out, "{wanted} is asked for, this is {found}"),
            Self::Outside { range, nearest } => {
                write!(out, "it can be {range}; nearest is {nearest}")
            }
        }
    }
}

/// Value in base units of a text given for a variable: `3.2 mm`.
///
/// # Errors
/// The text is no quantity, of another kind, or nothing that the variable can take.
pub fn variable_value(variable: &Variable, text: &str) -> Result<f64, ValueFault> {
    let (value, unit) = read_quantity(text).map_err(ValueFault::Unreadable)?;
    if unit.dimension != variable.unit.dimension {
        let (wanted, found) = (variable.unit.dimension, unit.dimension);
        return Err(ValueFault::Kind { wanted, found });
    }
    let nearest = nearest_value(&variable.range, value);
    if is_same(nearest, value) {
        return Ok(nearest);
    }
    Err(ValueFault::Outside {
        range: range_words(&variable.range, variable.unit),
        nearest: variable.unit.print(nearest),
    })
}

/// Whether two values differ by rounding only.
pub(super) fn is_same(nearest: f64, value: f64) -> bool {
    (nearest - value).abs() <= 1e-9 * nearest.abs().max(1e-6)
}

/// The value of a range that is nearest to another.
pub(super) fn nearest_value(range: &Range, value: f64) -> f64 {
    match range {
        Range::Continuous { low, high, step } => {
            let inside = value.clamp(*low, *high);
            match step {
                Some(step) => {
                    let most = ((high - low) / step + 1e-9).floor();
                    low + ((inside - low) / step).round().min(most) * step
                }
                None => inside,
            }
        }
        Range::Integer { low, high } => value.round().clamp(*low as f64, *high as f64),
        Range::Choice(values) => values
            .iter()
            .copied()
            .min_by(|a, b| (a - value).abs().total_cmp(&(b - value).abs()))
            .unwrap_or(value),
    }
}

/// A range in words: `1 mm to 2.5 mm in steps of 0.1 mm`.
pub(super) fn range_words(range: &Range, unit: Unit) -> String {
    match range {
        Range::Continuous { low, high, step } => {
            let ends = format!("{} to {}", unit.print(*low), unit.print(*high));
            match step {
                Some(step) => format!("{ends} in steps of {}", unit.print(*step)),
                None => ends,
            }
        }
        Range::Integer { low, high } => format!("whole numbers {low} to {high}"),
        Range::Choice(values) if values.len() > 12 => {
            let all = bounds(range);
            format!(
                "one of {} values, {} to {}",
                values.len(),
                unit.print(all.0),
                unit.print(all.1)
            )
        }
        Range::Choice(values) => {
            let numbers: Vec<String> = values
                .iter()
                .map(|value| print_number(value / unit.size))
                .collect();
            format!("one of {} {}", numbers.join(", "), unit.symbol)
                .trim_end()
                .to_string()
        }
    }
}
