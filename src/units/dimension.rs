//! What a quantity measures.

use std::fmt;

/// Exponents of length, mass, time, angle, money.
///
/// Angle is a dimension of its own, so that `N mm/rad` and `N mm` are told apart; `1 rad` turns a plain number
/// into an angle and back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub struct Dimension(pub [i8; 5]);

impl Dimension {
    /// A plain number.
    pub const NUMBER: Dimension = Dimension([0; 5]);
    /// Length.
    pub const LENGTH: Dimension = Dimension([1, 0, 0, 0, 0]);
    /// Mass.
    pub const MASS: Dimension = Dimension([0, 1, 0, 0, 0]);
    /// Time.
    pub const TIME: Dimension = Dimension([0, 0, 1, 0, 0]);
    /// Angle.
    pub const ANGLE: Dimension = Dimension([0, 0, 0, 1, 0]);
    /// Money.
    pub const MONEY: Dimension = Dimension([0, 0, 0, 0, 1]);
    /// Force.
    pub const FORCE: Dimension = Dimension([1, 1, -2, 0, 0]);
    /// Moment of a force.
    pub const MOMENT: Dimension = Dimension([2, 1, -2, 0, 0]);
    /// Stress.
    pub const STRESS: Dimension = Dimension([-1, 1, -2, 0, 0]);
    /// Acceleration.
    pub const ACCELERATION: Dimension = Dimension([1, 0, -2, 0, 0]);

    /// Dimension of a product; `None` where an exponent leaves -127..127.
    pub fn times(self, other: Dimension) -> Option<Dimension> {
        self.combine(other, i8::checked_add)
    }

    /// Dimension of a quotient; `None` where an exponent leaves -127..127.
    pub fn over(self, other: Dimension) -> Option<Dimension> {
        self.combine(other, i8::checked_sub)
    }

    /// Dimension of a power; `None` where an exponent would not be a whole number or leaves -127..127.
    pub fn power(self, exponent: f64) -> Option<Dimension> {
        let mut result = [0; 5];
        for (to, from) in result.iter_mut().zip(self.0) {
            let scaled = f64::from(from) * exponent;
            if scaled.round() != scaled || scaled.abs() > 127.0 {
                return None;
            }
            *to = scaled as i8;
        }
        Some(Dimension(result))
    }

    fn combine(self, other: Dimension, by: fn(i8, i8) -> Option<i8>) -> Option<Dimension> {
        let mut result = [0; 5];
        for (index, to) in result.iter_mut().enumerate() {
            *to = by(self.0[index], other.0[index])?;
        }
        Some(Dimension(result))
    }

    /// As a product of base units: `mm t/s^2` style text, empty for a plain number. Cut to what a
    /// [`super::Symbol`] holds.
    pub(super) fn product(self) -> String {
        let names = ["mm", "t", "s", "rad", "money"];
        let mut factors = Vec::new();
        for (name, exponent) in names.iter().zip(self.0) {
            match exponent {
                0 => {}
                1 => factors.push((*name).to_string()),
                _ => factors.push(format!("{name}^{exponent}")),
            }
        }
        factors.join(" ")
    }
}

impl fmt::Display for Dimension {
    /// In words, for messages: `a length`, `a plain number`; otherwise the product of base units.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words = match self.0 {
            [0, 0, 0, 0, 0] => "a plain number",
            [1, 0, 0, 0, 0] => "a length",
            [2, 0, 0, 0, 0] => "an area",
            [3, 0, 0, 0, 0] => "a volume",
            [0, 1, 0, 0, 0] => "a mass",
            [0, 0, 1, 0, 0] => "a time",
            [0, 0, 0, 1, 0] => "an angle",
            [0, 0, 0, 0, 1] => "an amount of money",
            [1, 1, -2, 0, 0] => "a force",
            [2, 1, -2, 0, 0] => "a moment",
            [-1, 1, -2, 0, 0] => "a stress",
            [0, 1, -2, 0, 0] => "a stiffness (force per length)",
            [2, 1, -2, -1, 0] => "a stiffness (moment per angle)",
            [1, 0, -2, 0, 0] => "an acceleration",
            [1, 0, -1, 0, 0] => "a speed",
            [0, 0, -1, 0, 0] => "a frequency",
            [-3, 1, 0, 0, 0] => "a density",
            [-1, 0, 0, 0, 0] => "one over a length",
            _ => return write!(out, "a quantity in {}", self.product()),
        };
        out.write_str(words)
    }
}
