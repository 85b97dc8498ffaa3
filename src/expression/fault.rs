//! What can be wrong with an expression.

use crate::units::{Dimension, Unit, UnitFaultKind};
use std::fmt;
use std::ops::Range;

/// A fault in an expression, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Bytes of the text at fault.
    pub range: Range<usize>,
    /// Bytes of the other operand where two do not fit together.
    pub other: Option<Range<usize>>,
    /// What is wrong.
    pub kind: FaultKind,
}

/// What can be wrong with an expression.
#[derive(Clone, Debug, PartialEq)]
pub enum FaultKind {
    /// Nothing is written.
    Empty,
    /// A number, name or parenthesis is missing here.
    OperandMissing,
    /// Two operands follow one another.
    OperatorMissing,
    /// A parenthesis is not closed.
    Unclosed,
    /// A parenthesis closes what was not opened.
    Unopened,
    /// Nested too deeply, or too long.
    TooDeep,
    /// A name that stands for nothing here.
    UnknownName(String),
    /// A function that there is not.
    UnknownFunction(String),
    /// A function with too few or too many arguments.
    Arguments {
        /// Its name.
        function: String,
        /// What it takes, in words.
        takes: &'static str,
    },
    /// The unit after a number.
    Unit(UnitFaultKind),
    /// A name where only a unit may stand: `2 hole`.
    NameAfterNumber(String),
    /// Two operands that measure different things.
    Mismatch {
        /// What the first measures.
        left: Dimension,
        /// What the second measures.
        right: Dimension,
        /// What was to be done with them: `added`, `compared`.
        done: &'static str,
    },
    /// The result measures something else than what is asked for.
    Wanted {
        /// What is asked for.
        wanted: Dimension,
        /// What it measures.
        found: Dimension,
        /// Whether it is a number written without a unit.
        bare: bool,
    },
    /// A function was given something else than it takes.
    ArgumentKind {
        /// Its name.
        function: &'static str,
        /// What it takes.
        wanted: Dimension,
        /// What it was given.
        found: Dimension,
    },
    /// An exponent that is no plain fixed number, or leaves no whole powers of the units.
    Exponent,
    /// The arithmetic of the fixed numbers gives no finite number.
    NotFinite,
    /// A comparison where a value is asked for.
    Comparison,
    /// No comparison where one is asked for.
    ComparisonMissing,
    /// More than one comparison.
    ComparisonTwice,
    /// `<`, `>`, `=` or `==`.
    ComparisonSign(String),
}

impl FaultKind {
    /// Short code: what is wrong, as `room/fault`.
    pub fn code(&self) -> &'static str {
        match self {
            Self::UnknownName(_) | Self::NameAfterNumber(_) => "expression/unknown-name",
            Self::UnknownFunction(_) => "expression/unknown-function",
            Self::Arguments { .. } => "expression/arguments",
            Self::Unit(UnitFaultKind::NotFinite) | Self::NotFinite => "expression/not-finite",
            Self::Unit(_) => "units/unknown",
            Self::Wanted { bare: true, .. } => "units/missing",
            Self::Wanted { .. } => "units/wrong-kind",
            Self::Mismatch { .. } | Self::ArgumentKind { .. } | Self::Exponent => {
                "expression/dimensions"
            }
            Self::ComparisonMissing => "constraint/no-comparison",
            Self::Comparison | Self::ComparisonTwice | Self::ComparisonSign(_) => {
                "constraint/comparison"
            }
            Self::Empty
            | Self::OperandMissing
            | Self::OperatorMissing
            | Self::Unclosed
            | Self::Unopened
            | Self::TooDeep => "expression/syntax",
        }
    }

    /// What to write instead, where that can be said.
    pub fn mend(&self) -> Option<String> {
        let example = |dimension: Dimension| match dimension {
            Dimension::NUMBER => "a plain number without a unit".to_string(),
            other => format!("{other} in, for example, `{}`", Unit::base(other).symbol),
        };
        match self {
            Self::Unit(kind) => kind.mend(),
            Self::NameAfterNumber(name) => Some(format!("to multiply, write `* {name}`")),
            Self::OperatorMissing => Some("put one of + - * / ^ between them".into()),
            Self::Wanted {
                wanted: Dimension::ACCELERATION,
                found: Dimension::MASS,
                ..
            } => Some("write gn for multiples of standard gravity: `40 gn`; g is gram".into()),
            Self::Wanted { wanted, .. } => Some(format!("write {}", example(*wanted))),
            Self::ArgumentKind {
                wanted: Dimension::ANGLE,
                found: Dimension::NUMBER,
                ..
            } => Some("multiply a plain number by `1 rad` (or `1 deg`)".into()),
            Self::ArgumentKind {
                wanted: Dimension::NUMBER,
                ..
            } => Some("divide by a unit first: `round(x / 1 mm) * 1 mm`".into()),
            Self::Mismatch { left, right, .. } => mismatch_mend(*left, *right),
            Self::UnknownFunction(_) => Some(format!("there are: {}", super::FUNCTIONS.join(", "))),
            Self::ComparisonMissing => Some("write `... <= ...` or `... >= ...`".into()),
            Self::ComparisonTwice => Some("write two constraints".into()),
            Self::ComparisonSign(sign) if sign.starts_with('<') => Some("write <=".into()),
            Self::ComparisonSign(sign) if sign.starts_with('>') => Some("write >=".into()),
            Self::ComparisonSign(_) => {
                Some("write <= or >=; equality cannot be met by a search".into())
            }
            Self::Comparison => Some("comparisons belong into [constraints]".into()),
            Self::Empty => Some("write a quantity or an expression".into()),
            Self::OperandMissing => Some("write what follows the operator, or take it out".into()),
            Self::Unclosed => Some("add `)`".into()),
            Self::Unopened => Some("take this out, or add `(`".into()),
            Self::TooDeep => Some("name parts of it in [derived]".into()),
            Self::Arguments { function, takes } if takes.starts_with("two") => {
                Some(format!("write {function}(a, b)"))
            }
            Self::Arguments { function, .. } => Some(format!("write {function}(a)")),
            Self::Exponent => Some("give the exponent as a number: `(a^2 + b^2)^0.5`".into()),
            Self::NotFinite => Some("mind divisions by zero and roots of negative numbers".into()),
            Self::UnknownName(_) | Self::ArgumentKind { .. } => None,
        }
    }
}

fn mismatch_mend(left: Dimension, right: Dimension) -> Option<String> {
    let other = match (left, right) {
        (Dimension::NUMBER, other) | (other, Dimension::NUMBER) => other,
        _ => return Some("add and compare like with like".into()),
    };
    let symbol = Unit::base(other).symbol;
    Some(format!("give the plain number a unit, such as `{symbol}`"))
}

impl fmt::Display for FaultKind {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => out.write_str("nothing is written here"),
            Self::OperandMissing => out.write_str("a number, name or parenthesis is missing here"),
            Self::OperatorMissing => out.write_str("no operator before this"),
            Self::Unclosed => out.write_str("this parenthesis is not closed"),
            Self::Unopened => out.write_str("this closes what was not opened"),
            Self::TooDeep => out.write_str("the expression is nested too deeply or too long"),
            Self::UnknownName(name) => write!(out, "`{name}` stands for nothing here"),
            Self::NameAfterNumber(name) => write!(out, "`{name}` is no unit"),
            Self::UnknownFunction(name) => write!(out, "there is no function `{name}`"),
            Self::Arguments { function, takes } => write!(out, "`{function}` takes {takes}"),
            Self::Unit(kind) => kind.fmt(out),
            Self::Mismatch { left, right, done } => {
                write!(out, "{left} and {right} cannot be {done}")
            }
            Self::Wanted { wanted, bare: true, .. } => write!(out, "{wanted} needs a unit"),
            Self::Wanted { wanted, found, .. } => write!(out, "{wanted} is asked for, this is {found}"),
            Self::ArgumentKind { function, wanted, found } => {
                write!(out, "`{function}` takes {wanted}, this is {found}")
            }
            Self::Exponent => out.write_str(
                "the exponent of a quantity with a unit must be a fixed plain number that leaves whole powers",
            ),
            Self::NotFinite => out.write_str("this gives no finite number"),
            Self::Comparison => out.write_str("a comparison is no value"),
            Self::ComparisonMissing => out.write_str("a constraint compares two sides"),
            Self::ComparisonTwice => out.write_str("a constraint compares two sides, not three"),
            Self::ComparisonSign(sign) => write!(out, "`{sign}` is no comparison of a constraint"),
        }
    }
}
