//! Arithmetic over named quantities, with dimensions checked when it is read.
//!
//! A formula is read once into postfix code and then evaluated without allocation. What can be written:
//!
//! - numbers with units: `0.8 mm`, `10 N/mm`, `2 mm^2` (which is 2 square millimetres). A unit belongs to the
//!   number before it, tighter than any operator: `x / 2 N/mm` divides by 2 N/mm. The number `0` needs no unit;
//! - names of letters, digits, `_` and dots: `wall`, `squeeze.stiffness`;
//! - `+ - * / ^` and parentheses. `^` binds tightest and to the right, then the sign, then `* /`, then `+ -`, as
//!   in printed mathematics: `-2^2` is -4, `2^3^2` is 512, `2^-1` is 0.5;
//! - `min(a, b, ...)`, `max(a, b, ...)`, `abs`, `sqrt`, `sin`, `cos`, `tan` (of angles), `floor`, `ceil`,
//!   `round` (of plain numbers; halves away from zero) and `pi`.

mod bounds;
mod code;
mod compare;
mod fault;
mod read;

pub use compare::{Order, split_comparison};
pub use fault::{Fault, FaultKind};
pub use read::FUNCTIONS;

use crate::units::Dimension;
use code::{Op, Step};

/// An expression read once and evaluated many times.
#[derive(Clone, Debug, PartialEq)]
pub struct Formula {
    /// As written.
    pub text: String,
    /// What the result measures.
    pub dimension: Dimension,
    /// What is looked at: uses, bounds.
    code: Vec<Op>,
    /// The same, as it is run.
    steps: Vec<Step>,
}

impl Formula {
    /// Formula of one fixed value in base units.
    pub fn constant(value: f64, dimension: Dimension) -> Formula {
        Formula::from_code(value.to_string(), dimension, vec![Op::Constant(value)])
    }

    fn from_code(text: String, dimension: Dimension, code: Vec<Op>) -> Formula {
        let steps = code::steps(&code);
        Formula {
            text,
            dimension,
            code,
            steps,
        }
    }

    /// Formula from its text. `names` says for a name which slot holds it and what it measures.
    ///
    /// # Errors
    /// Every fault found, in the order of the text, each with its bytes.
    pub fn read(
        text: &str,
        names: &dyn Fn(&str) -> Option<(usize, Dimension)>,
    ) -> Result<Formula, Vec<Fault>> {
        read::read(text, names, None)
    }

    /// As [`Formula::read`], where the result must measure `wanted`.
    ///
    /// # Errors
    /// Every fault found, in the order of the text, each with its bytes.
    pub fn read_as(
        text: &str,
        wanted: Dimension,
        names: &dyn Fn(&str) -> Option<(usize, Dimension)>,
    ) -> Result<Formula, Vec<Fault>> {
        read::read(text, names, Some(wanted))
    }

    /// Value in base units. `slots`: the named quantities in base units, in the order of the names given when
    /// the formula was read; a missing one is NaN. May be infinite or NaN where the arithmetic is (division by
    /// zero); callers check.
    pub fn value(&self, slots: &[f64]) -> f64 {
        code::run(&self.steps, slots)
    }

    /// Bounds between which the value lies when every slot lies between its own, by interval arithmetic: never
    /// too narrow, often too wide. The whole line where nothing can be said; a missing slot counts as such.
    pub fn bounds(&self, slots: &[(f64, f64)]) -> (f64, f64) {
        bounds::run(&self.code, slots)
    }

    /// Slots that the value depends on, in the order of the text; one that is used twice comes twice.
    pub fn uses(&self) -> impl Iterator<Item = usize> + '_ {
        self.code.iter().filter_map(|op| match op {
            Op::Slot(slot) => Some(*slot as usize),
            _ => None,
        })
    }

    /// The value in base units where it depends on no slot.
    pub fn constant_value(&self) -> Option<f64> {
        match self.code[..] {
            [Op::Constant(value)] => Some(value),
            _ => None,
        }
    }

    /// Whether the value depends on no slot.
    pub fn is_constant(&self) -> bool {
        self.constant_value().is_some()
    }
}

#[cfg(test)]
mod tests;
