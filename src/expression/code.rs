//! Postfix code and its evaluation.

/// Most values that wait at once during an evaluation; a formula that needs more is refused when read.
pub(super) const STACK: usize = 16;

/// One step of postfix code.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Op {
    Constant(f64),
    Slot(u32),
    Negate,
    Add,
    Subtract,
    Multiply,
    Divide,
    Power,
    PowerWhole(i32),
    Least,
    Most,
    Absolute,
    Root,
    Sine,
    Cosine,
    Tangent,
    Floor,
    Ceiling,
    Round,
}

impl Op {
    /// How many values the step takes; it leaves one.
    pub(super) fn takes(self) -> usize {
        match self {
            Op::Constant(_) | Op::Slot(_) => 0,
            Op::Add
            | Op::Subtract
            | Op::Multiply
            | Op::Divide
            | Op::Power
            | Op::Least
            | Op::Most => 2,
            _ => 1,
        }
    }
}

/// Value of the code; NaN for an empty one.
pub(super) fn run(code: &[Op], slots: &[f64]) -> f64 {
    if let [Op::Constant(value)] = code {
        return *value;
    }
    // Indices are cut to the stack's size, which the reader guarantees anyway, so that no bounds are checked.
    const MASK: usize = STACK - 1;
    let mut stack = [0.0_f64; STACK];
    let mut top = f64::NAN;
    let mut count = 0_usize;
    for op in code {
        match op.takes() {
            0 => {
                stack[count & MASK] = top;
                count = count.wrapping_add(1);
                top = match *op {
                    Op::Constant(value) => value,
                    Op::Slot(slot) => slots.get(slot as usize).copied().unwrap_or(f64::NAN),
                    _ => f64::NAN,
                };
            }
            1 => top = apply_one(*op, top),
            _ => {
                count = count.wrapping_sub(1);
                top = apply_two(*op, stack[count & MASK], top);
            }
        }
    }
    top
}

#[inline(always)]
pub(super) fn apply_one(op: Op, value: f64) -> f64 {
    match op {
        Op::Negate => -value,
        Op::PowerWhole(exponent) => value.powi(exponent),
        Op::Absolute => value.abs(),
        Op::Root => value.sqrt(),
        Op::Sine => value.sin(),
        Op::Cosine => value.cos(),
        Op::Tangent => value.tan(),
        Op::Floor => value.floor(),
        Op::Ceiling => value.ceil(),
        Op::Round => value.round(),
        _ => f64::NAN,
    }
}

#[inline(always)]
pub(super) fn apply_two(op: Op, left: f64, right: f64) -> f64 {
    match op {
        Op::Add => left + right,
        Op::Subtract => left - right,
        Op::Multiply => left * right,
        Op::Divide => left / right,
        Op::Power => left.powf(right),
        // `f64::min` would drop a NaN, and a fault upstream with it.
        Op::Least if left.is_nan() || right.is_nan() => f64::NAN,
        Op::Most if left.is_nan() || right.is_nan() => f64::NAN,
        Op::Least => left.min(right),
        Op::Most => left.max(right),
        _ => f64::NAN,
    }
}
