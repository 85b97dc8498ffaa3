//! Text to postfix code, by binding powers; dimensions are checked on the way.

use super::code::{Op, STACK, apply_one, apply_two};
use super::{Fault, FaultKind, Formula};
use crate::units::{Dimension, number_length, read_quantity, unit_length};
use std::ops::Range;

/// Names of the functions.
pub const FUNCTIONS: &[&str] = &[
    "min", "max", "abs", "sqrt", "sin", "cos", "tan", "floor", "ceil", "round",
];

const DEEPEST: usize = 64;
const LONGEST: usize = 4000;
/// Binding power of the sign: tighter than `*`, looser than `^`.
const SIGN: u8 = 5;

type Names<'a> = &'a dyn Fn(&str) -> Option<(usize, Dimension)>;

pub(super) fn read(
    text: &str,
    names: Names,
    wanted: Option<Dimension>,
) -> Result<Formula, Vec<Fault>> {
    let mut reader = Reader {
        text,
        at: 0,
        depth: 0,
        names,
        code: Vec::new(),
        faults: Vec::new(),
    };
    let operand = reader.whole();
    if let Some(operand) = &operand {
        reader.check_wanted(operand, wanted);
    }
    if reader.faults.is_empty() && reader.stack_needed() > STACK {
        reader.note(0..text.len(), None, FaultKind::TooDeep);
    }
    let dimension = operand.and_then(|operand| operand.dimension);
    if reader.faults.is_empty() {
        let dimension = dimension.or(wanted).unwrap_or(Dimension::NUMBER);
        Ok(Formula::from_code(
            text.trim().to_string(),
            dimension,
            reader.code,
        ))
    } else {
        reader.faults.sort_by_key(|fault| fault.range.start);
        Err(reader.faults)
    }
}

/// What is known of a part of the expression.
#[derive(Clone)]
struct Operand {
    range: Range<usize>,
    /// `None` fits anything: the number 0, and what follows from a fault already noted.
    dimension: Option<Dimension>,
    /// A number written without a unit.
    bare: bool,
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    depth: usize,
    names: Names<'a>,
    code: Vec<Op>,
    faults: Vec<Fault>,
}

impl Reader<'_> {
    /// The whole text as one expression; `None` where its syntax is broken (the fault is noted).
    fn whole(&mut self) -> Option<Operand> {
        if self.text.len() > LONGEST {
            return self.stop(0..self.text.len(), FaultKind::TooDeep);
        }
        if self.text.trim().is_empty() {
            return self.stop(0..self.text.len(), FaultKind::Empty);
        }
        let operand = self.expression(0)?;
        match self.peek() {
            None => Some(operand),
            Some(letter) => {
                let range = self.at..self.at + letter.len_utf8();
                let kind = match letter {
                    ')' => FaultKind::Unopened,
                    '<' | '>' | '=' | '≤' | '≥' => FaultKind::Comparison,
                    _ => FaultKind::OperatorMissing,
                };
                self.stop(range, kind)
            }
        }
    }

    fn expression(&mut self, least: u8) -> Option<Operand> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return self.stop(self.at..self.text.len(), FaultKind::TooDeep);
        }
        let mut left = self.operand()?;
        while let Some((op, left_power, right_power)) = self.peek().and_then(infix) {
            if left_power < least {
                break;
            }
            self.at += 1;
            let right = self.expression(right_power)?;
            left = self.join(op, left, right);
        }
        self.depth -= 1;
        Some(left)
    }

    fn operand(&mut self) -> Option<Operand> {
        let Some(letter) = self.peek() else {
            let end = self.text.trim_end().len();
            let last = self.text[..end]
                .chars()
                .next_back()
                .map_or(0, char::len_utf8);
            return self.stop(end - last..end, FaultKind::OperandMissing);
        };
        let start = self.at;
        match letter {
            '-' | '+' => {
                self.at += 1;
                let inner = self.expression(SIGN)?;
                if letter == '-' {
                    self.emit(Op::Negate, start..inner.range.end);
                }
                Some(Operand {
                    range: start..inner.range.end,
                    ..inner
                })
            }
            '(' => {
                self.at += 1;
                let inner = self.expression(0)?;
                self.close(start)?;
                Some(Operand {
                    range: start..self.at,
                    ..inner
                })
            }
            '0'..='9' | '.' => self.number(),
            _ if letter.is_alphabetic() || letter == '_' => self.name(),
            _ => {
                let end = start + letter.len_utf8();
                self.stop(start..end, FaultKind::OperandMissing)
            }
        }
    }

    fn number(&mut self) -> Option<Operand> {
        let start = self.at;
        let digits = number_length(&self.text[start..]);
        if digits == 0 {
            return self.stop(start..start + 1, FaultKind::OperandMissing);
        }
        let unit = unit_length(&self.text[start + digits..]);
        self.at = start + digits + unit;
        let range = start..self.at;
        let dimension = match read_quantity(&self.text[range.clone()]) {
            Ok((value, unit)) => {
                self.code.push(Op::Constant(value));
                (value != 0.0 || !unit.symbol.is_empty()).then_some(unit.dimension)
            }
            Err(fault) => {
                self.code.push(Op::Constant(1.0));
                self.unit_fault(start, fault);
                None
            }
        };
        Some(Operand {
            range,
            dimension,
            bare: unit == 0,
        })
    }

    fn unit_fault(&mut self, start: usize, fault: crate::units::UnitFault) {
        use crate::units::UnitFaultKind::Unknown;
        let range = start + fault.range.start..start + fault.range.end;
        let kind = match fault.kind {
            Unknown(symbol) if (self.names)(&symbol).is_some() => {
                FaultKind::NameAfterNumber(symbol)
            }
            other => FaultKind::Unit(other),
        };
        self.note(range, None, kind);
    }

    fn name(&mut self) -> Option<Operand> {
        let start = self.at;
        let rest = &self.text[start..];
        let part = |letter: char| letter.is_alphanumeric() || letter == '_' || letter == '.';
        let length = rest.find(|letter| !part(letter)).unwrap_or(rest.len());
        let name = rest[..length].trim_end_matches('.').to_string();
        self.at += name.len();
        if self.peek() == Some('(') {
            return self.call(start, &name);
        }
        let range = start..start + name.len();
        let dimension = if name == "pi" {
            self.code.push(Op::Constant(std::f64::consts::PI));
            Some(Dimension::NUMBER)
        } else if let Some((slot, dimension)) = (self.names)(&name) {
            self.code
                .push(Op::Slot(u32::try_from(slot).unwrap_or(u32::MAX)));
            Some(dimension)
        } else {
            self.code.push(Op::Constant(1.0));
            self.note(range.clone(), None, FaultKind::UnknownName(name));
            None
        };
        Some(Operand {
            range,
            dimension,
            bare: false,
        })
    }

    fn call(&mut self, start: usize, name: &str) -> Option<Operand> {
        let open = self.at;
        self.at += 1;
        let function = function(name);
        let fold = function.filter(|(_, op)| op.takes() == 2).map(|(_, op)| op);
        let mut count = 1;
        let mut first = self.expression(0)?;
        while self.peek() == Some(',') {
            self.at += 1;
            let next = self.expression(0)?;
            count += 1;
            // Further arguments of a function of one leave stray code; the call is refused below.
            if let Some(op) = fold {
                first = self.join(op, first, next);
            }
        }
        self.close(open)?;
        let range = start..self.at;
        let mut result = Operand {
            range: range.clone(),
            dimension: None,
            bare: false,
        };
        let Some((known, op)) = function else {
            let place = start..start + name.len();
            self.note(place, None, FaultKind::UnknownFunction(name.to_string()));
            return Some(result);
        };
        let takes_two = op.takes() == 2;
        if takes_two != (count >= 2) {
            let takes = if takes_two {
                "two arguments or more"
            } else {
                "one argument"
            };
            let function = known.to_string();
            self.note(range, None, FaultKind::Arguments { function, takes });
            return Some(result);
        }
        if takes_two {
            result.dimension = first.dimension;
            return Some(result);
        }
        result.dimension = self.function_dimension(known, op, &first);
        self.emit(op, range);
        Some(result)
    }

    fn function_dimension(
        &mut self,
        function: &'static str,
        op: Op,
        argument: &Operand,
    ) -> Option<Dimension> {
        let found = argument.dimension?;
        let (wanted, result) = match op {
            Op::Absolute => return Some(found),
            Op::Root => {
                let root = found.power(0.5);
                if root.is_none() {
                    self.note(argument.range.clone(), None, FaultKind::Exponent);
                }
                return root;
            }
            Op::Sine | Op::Cosine | Op::Tangent => (Dimension::ANGLE, Dimension::NUMBER),
            _ => (Dimension::NUMBER, Dimension::NUMBER),
        };
        if found != wanted {
            let kind = FaultKind::ArgumentKind {
                function,
                wanted,
                found,
            };
            self.note(argument.range.clone(), None, kind);
            return None;
        }
        Some(result)
    }

    fn join(&mut self, op: Op, left: Operand, right: Operand) -> Operand {
        let range = left.range.start..right.range.end;
        let dimension = self.joined_dimension(op, &left, &right);
        self.emit(op, range.clone());
        Operand {
            range,
            dimension,
            bare: left.bare && right.bare,
        }
    }

    fn joined_dimension(&mut self, op: Op, left: &Operand, right: &Operand) -> Option<Dimension> {
        let done = match op {
            Op::Add => "added",
            Op::Subtract => "subtracted",
            Op::Power => return self.power_dimension(left, right),
            Op::Multiply | Op::Divide => {
                let (a, b) = (left.dimension?, right.dimension?);
                let result = if op == Op::Multiply {
                    a.times(b)
                } else {
                    a.over(b)
                };
                if result.is_none() {
                    self.note(left.range.start..right.range.end, None, FaultKind::TooDeep);
                }
                return result;
            }
            _ => "compared",
        };
        match (left.dimension, right.dimension) {
            (Some(a), Some(b)) if a != b => {
                let kind = FaultKind::Mismatch {
                    left: a,
                    right: b,
                    done,
                };
                self.note(left.range.clone(), Some(right.range.clone()), kind);
                None
            }
            (a, b) => a.or(b),
        }
    }

    fn power_dimension(&mut self, base: &Operand, exponent: &Operand) -> Option<Dimension> {
        let fixed = match self.code.last() {
            Some(Op::Constant(value)) => Some(*value),
            _ => None,
        };
        if exponent
            .dimension
            .is_some_and(|found| found != Dimension::NUMBER)
        {
            self.note(exponent.range.clone(), None, FaultKind::Exponent);
            return None;
        }
        let of_base = base.dimension?;
        if of_base == Dimension::NUMBER {
            return Some(of_base);
        }
        let result = fixed.and_then(|value| of_base.power(value));
        if result.is_none() {
            self.note(exponent.range.clone(), None, FaultKind::Exponent);
        }
        result
    }

    /// Adds a step; steps on fixed numbers are done at once.
    fn emit(&mut self, op: Op, range: Range<usize>) {
        let folded = match (op.takes(), &self.code[..]) {
            (1, [.., Op::Constant(value)]) => Some((1, apply_one(op, *value))),
            (2, [.., Op::Constant(left), Op::Constant(right)]) => {
                Some((2, apply_two(op, *left, *right)))
            }
            _ => None,
        };
        match (folded, op, self.code.last()) {
            (Some((count, value)), ..) => {
                if !value.is_finite() && self.faults.is_empty() {
                    self.note(range, None, FaultKind::NotFinite);
                }
                self.code.truncate(self.code.len() - count);
                self.code.push(Op::Constant(value));
            }
            (None, Op::Power, Some(Op::Constant(exponent)))
                if exponent.fract() == 0.0 && exponent.abs() <= 9.0 =>
            {
                let exponent = *exponent as i32;
                self.code.pop();
                self.code.push(Op::PowerWhole(exponent));
            }
            _ => self.code.push(op),
        }
    }

    fn check_wanted(&mut self, operand: &Operand, wanted: Option<Dimension>) {
        let (Some(wanted), Some(found)) = (wanted, operand.dimension) else {
            return;
        };
        if wanted != found {
            let bare = operand.bare && found == Dimension::NUMBER;
            let kind = FaultKind::Wanted {
                wanted,
                found,
                bare,
            };
            self.note(operand.range.clone(), None, kind);
        }
    }

    fn stack_needed(&self) -> usize {
        let mut count: usize = 0;
        let mut most = 0;
        for op in &self.code {
            count = (count + 1).saturating_sub(op.takes());
            most = most.max(count);
        }
        most
    }

    fn close(&mut self, open: usize) -> Option<()> {
        match self.peek() {
            Some(')') => {
                self.at += 1;
                Some(())
            }
            None => self.stop(open..open + 1, FaultKind::Unclosed),
            Some(letter) => {
                let range = self.at..self.at + letter.len_utf8();
                self.stop(range, FaultKind::OperatorMissing)
            }
        }
    }

    /// The next letter that is no space.
    fn peek(&mut self) -> Option<char> {
        let rest = &self.text[self.at..];
        self.at += rest.len() - rest.trim_start().len();
        self.text[self.at..].chars().next()
    }

    fn note(&mut self, range: Range<usize>, other: Option<Range<usize>>, kind: FaultKind) {
        self.faults.push(Fault { range, other, kind });
    }

    /// Notes a fault after which reading cannot go on.
    fn stop<T>(&mut self, range: Range<usize>, kind: FaultKind) -> Option<T> {
        self.note(range, None, kind);
        None
    }
}

/// Operator of a letter with its left and right binding powers.
fn infix(letter: char) -> Option<(Op, u8, u8)> {
    Some(match letter {
        '+' => (Op::Add, 1, 2),
        '-' => (Op::Subtract, 1, 2),
        '*' => (Op::Multiply, 3, 4),
        '/' => (Op::Divide, 3, 4),
        '^' => (Op::Power, 8, SIGN),
        _ => return None,
    })
}

fn function(name: &str) -> Option<(&'static str, Op)> {
    const OPS: [Op; 10] = [
        Op::Least,
        Op::Most,
        Op::Absolute,
        Op::Root,
        Op::Sine,
        Op::Cosine,
        Op::Tangent,
        Op::Floor,
        Op::Ceiling,
        Op::Round,
    ];
    let index = FUNCTIONS.iter().position(|known| *known == name)?;
    Some((FUNCTIONS[index], OPS[index]))
}
