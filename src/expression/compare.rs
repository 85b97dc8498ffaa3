//! The two sides of a constraint.

use super::{Fault, FaultKind};
use std::ops::Range;

/// How the left side must compare with the right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// `<=`
    AtMost,
    /// `>=`
    AtLeast,
}

/// Bytes of the left side, how it compares, bytes of the right side.
///
/// # Errors
/// No comparison, several, or another sign than `<=` and `>=`.
pub fn split_comparison(text: &str) -> Result<(Range<usize>, Order, Range<usize>), Fault> {
    let fault = |range, kind| Fault {
        range,
        other: None,
        kind,
    };
    let is_sign = |letter: char| matches!(letter, '<' | '>' | '=' | '≤' | '≥' | '!');
    let Some(start) = text.find(is_sign) else {
        return Err(fault(0..text.len(), FaultKind::ComparisonMissing));
    };
    let length = text[start..].find(|letter| !is_sign(letter));
    let end = length.map_or(text.len(), |length| start + length);
    let order = match &text[start..end] {
        "<=" | "≤" => Order::AtMost,
        ">=" | "≥" => Order::AtLeast,
        sign => return Err(fault(start..end, FaultKind::ComparisonSign(sign.into()))),
    };
    if let Some(second) = text[end..].find(is_sign) {
        let at = end + second;
        let width = text[at..].chars().next().map_or(1, char::len_utf8);
        return Err(fault(at..at + width, FaultKind::ComparisonTwice));
    }
    Ok((0..start, order, end..text.len()))
}
