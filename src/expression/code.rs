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

/// A step as it is run: one of arithmetic may bring its right operand along, which spares a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Step {
    Plain(Op),
    AddSlot(u32),
    SubtractSlot(u32),
    MultiplySlot(u32),
    DivideSlot(u32),
    AddConstant(f64),
    SubtractConstant(f64),
    MultiplyConstant(f64),
    DivideConstant(f64),
}

/// Steps of the code with right operands joined to their operation.
pub(super) fn steps(code: &[Op]) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::with_capacity(code.len());
    for op in code {
        let joined = match (op, steps.last()) {
            (Op::Add, Some(Step::Plain(Op::Slot(slot)))) => Step::AddSlot(*slot),
            (Op::Subtract, Some(Step::Plain(Op::Slot(slot)))) => Step::SubtractSlot(*slot),
            (Op::Multiply, Some(Step::Plain(Op::Slot(slot)))) => Step::MultiplySlot(*slot),
            (Op::Divide, Some(Step::Plain(Op::Slot(slot)))) => Step::DivideSlot(*slot),
            (Op::Add, Some(Step::Plain(Op::Constant(value)))) => Step::AddConstant(*value),
            (Op::Subtract, Some(Step::Plain(Op::Constant(value)))) => {
                Step::SubtractConstant(*value)
            }
            (Op::Multiply, Some(Step::Plain(Op::Constant(value)))) => {
                Step::MultiplyConstant(*value)
            }
            (Op::Divide, Some(Step::Plain(Op::Constant(value)))) => Step::DivideConstant(*value),
            _ => {
                steps.push(Step::Plain(*op));
                continue;
            }
        };
        steps.pop();
        steps.push(joined);
    }
    steps
}

/// Value of the steps; NaN where there are none.
pub(super) fn run(steps: &[Step], slots: &[f64]) -> f64 {
    if let [Step::Plain(Op::Constant(value))] = steps {
        return *value;
    }
    // Indices are cut to the stack's size, which the reader guarantees anyway, so that no bounds are checked.
    const MASK: usize = STACK - 1;
    let slot = |index: u32| slots.get(index as usize).copied().unwrap_or(f64::NAN);
    let mut stack = [0.0_f64; STACK];
    let mut top = f64::NAN;
    let mut count = 0_usize;
    for step in steps {
        match *step {
            Step::Plain(Op::Constant(value)) => {
                stack[count & MASK] = top;
                count = count.wrapping_add(1);
                top = value;
            }
            Step::Plain(Op::Slot(index)) => {
                stack[count & MASK] = top;
                count = count.wrapping_add(1);
                top = slot(index);
            }
            Step::Plain(op) if op.takes() == 1 => top = apply_one(op, top),
            Step::Plain(op) => {
                count = count.wrapping_sub(1);
                top = apply_two(op, stack[count & MASK], top);
            }
            Step::AddSlot(index) => top += slot(index),
            Step::SubtractSlot(index) => top -= slot(index),
            Step::MultiplySlot(index) => top *= slot(index),
            Step::DivideSlot(index) => top /= slot(index),
            Step::AddConstant(value) => top += value,
            Step::SubtractConstant(value) => top -= value,
            Step::MultiplyConstant(value) => top *= value,
            Step::DivideConstant(value) => top /= value,
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
