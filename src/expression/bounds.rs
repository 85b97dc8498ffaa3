//! Interval arithmetic over postfix code: bounds that hold for every value of the slots.

use super::code::{Op, apply_one, apply_two};

type Interval = (f64, f64);
const LINE: Interval = (f64::NEG_INFINITY, f64::INFINITY);

/// Bounds of the code's value; the whole line where it is empty.
pub(super) fn run(code: &[Op], slots: &[Interval]) -> Interval {
    let mut stack: Vec<Interval> = Vec::with_capacity(code.len());
    for op in code {
        let result = match (*op, op.takes()) {
            (Op::Constant(value), _) => (value, value),
            (Op::Slot(slot), _) => slots.get(slot as usize).copied().unwrap_or(LINE),
            (op, 1) => one(op, stack.pop().unwrap_or(LINE)),
            (op, _) => {
                let right = stack.pop().unwrap_or(LINE);
                two(op, stack.pop().unwrap_or(LINE), right)
            }
        };
        stack.push(if result.0 <= result.1 { result } else { LINE });
    }
    stack.pop().unwrap_or(LINE)
}

fn one(op: Op, (low, high): Interval) -> Interval {
    if low == high {
        let value = apply_one(op, low);
        return (value, value);
    }
    match op {
        Op::Negate => (-high, -low),
        Op::Absolute if low >= 0.0 => (low, high),
        Op::Absolute if high <= 0.0 => (-high, -low),
        Op::Absolute => (0.0, high.max(-low)),
        Op::Root => (low.max(0.0).sqrt(), high.sqrt()),
        Op::Sine | Op::Cosine => (-1.0, 1.0),
        Op::Floor | Op::Ceiling | Op::Round => (apply_one(op, low), apply_one(op, high)),
        Op::PowerWhole(exponent) => whole_power((low, high), exponent),
        _ => LINE,
    }
}

fn whole_power((low, high): Interval, exponent: i32) -> Interval {
    let spans_zero = low < 0.0 && high > 0.0;
    if exponent < 0 && low <= 0.0 && high >= 0.0 {
        return LINE;
    }
    let (at_low, at_high) = (low.powi(exponent), high.powi(exponent));
    let bounds = (at_low.min(at_high), at_low.max(at_high));
    if exponent % 2 == 0 && spans_zero {
        (0.0, bounds.1)
    } else {
        bounds
    }
}

fn two(op: Op, left: Interval, right: Interval) -> Interval {
    match op {
        Op::Add => (left.0 + right.0, left.1 + right.1),
        Op::Subtract => (left.0 - right.1, left.1 - right.0),
        Op::Least => (left.0.min(right.0), left.1.min(right.1)),
        Op::Most => (left.0.max(right.0), left.1.max(right.1)),
        Op::Multiply => corners(op, left, right),
        Op::Divide if right.0 > 0.0 || right.1 < 0.0 => corners(op, left, right),
        Op::Power if left.0 > 0.0 => corners(op, left, right),
        _ => LINE,
    }
}

/// Least and most over the four corners, for operations that are monotone in each operand.
fn corners(op: Op, left: Interval, right: Interval) -> Interval {
    let mut bounds = (f64::INFINITY, f64::NEG_INFINITY);
    for (a, b) in [
        (left.0, right.0),
        (left.0, right.1),
        (left.1, right.0),
        (left.1, right.1),
    ] {
        let value = apply_two(op, a, b);
        if value.is_nan() {
            return LINE;
        }
        bounds = (bounds.0.min(value), bounds.1.max(value));
    }
    bounds
}
