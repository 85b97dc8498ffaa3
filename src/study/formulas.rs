//! Expressions and fixed quantities of the file.

use super::keys::{CURRENCIES, Kind, Need, Quantity, Sign};
use super::names::{Role, Stage};
use super::problem::{Problem, nearest, suggest};
use super::reader::{Entries, Reader, Value};
use crate::expression::{FUNCTIONS, Fault, FaultKind, Formula};
use crate::units::{Dimension, Unit, print_number, read_quantity};
use std::ops::Range;
use toml::de::DeValue;

/// Text of an expression and where it lies in the file.
pub(super) struct Written {
    pub text: String,
    /// Place of the whole value.
    pub span: Range<usize>,
    /// Where the first byte of `text` lies; `None` where the file writes it differently (escapes).
    start: Option<usize>,
}

impl Written {
    /// Place in the file of some bytes of the text.
    pub fn place(&self, range: &Range<usize>) -> Range<usize> {
        match self.start {
            Some(start) if !range.is_empty() => start + range.start..start + range.end,
            _ => self.span.clone(),
        }
    }

    /// Some bytes of the text as a text of their own.
    pub fn part(&self, range: Range<usize>) -> Written {
        Written {
            text: self.text[range.clone()].to_string(),
            span: self.place(&range),
            start: self.start.map(|start| start + range.start),
        }
    }
}

impl Reader<'_> {
    /// Text of a value that may be an expression: a string or a number. Anything else is noted.
    pub fn written(&mut self, name: &str, wanted: &str, value: &Value) -> Option<Written> {
        let span = value.span();
        let text = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(integer) => {
                let number = i64::from_str_radix(integer.as_str(), integer.radix());
                number.map_or_else(
                    |_| integer.as_str().to_string(),
                    |number| number.to_string(),
                )
            }
            DeValue::Float(float) if float.as_str().ends_with(['n', 'f']) => {
                let title = format!("`{name}` must be a finite number");
                let problem = Problem::new("study/not-finite", title, span, "not finite");
                self.note(problem.mend("write a finite number"));
                return None;
            }
            DeValue::Float(float) => float.as_str().to_string(),
            _ => {
                self.wrong_type(name, wanted, value);
                return None;
            }
        };
        let raw = self.text.get(span.clone()).unwrap_or_default();
        let start = raw
            .find(&text)
            .filter(|at| raw.len() - text.len() - at <= 1);
        let start = start.map(|at| span.start + at);
        Some(Written { text, span, start })
    }

    /// Formula of an expression; `wanted`: what it must measure.
    pub fn formula_of(
        &mut self,
        written: &Written,
        wanted: Option<Dimension>,
        stage: Stage,
    ) -> Option<Formula> {
        self.check_money(written);
        self.names.take_touched_broken();
        let names = |name: &str| self.names.find(name, stage);
        let read = match wanted {
            Some(wanted) => Formula::read_as(&written.text, wanted, &names),
            None => Formula::read(&written.text, &names),
        };
        let broken = self.names.take_touched_broken();
        match read {
            Ok(formula) => Some(formula),
            Err(faults) => {
                let follows =
                    |fault: &Fault| broken && fault.kind.code() != "expression/unknown-name";
                for fault in faults.iter().filter(|fault| !follows(fault)) {
                    self.note_fault(written, fault, stage);
                }
                None
            }
        }
    }

    /// Notes amounts in another money than the study's: nothing is converted.
    fn check_money(&mut self, written: &Written) {
        let text = &written.text;
        let part_of_word = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.');
        for word in text.split(|c| !part_of_word(c)) {
            if word == self.currency || !CURRENCIES.contains(&word) {
                continue;
            }
            let start = word.as_ptr() as usize - text.as_ptr() as usize;
            let place = written.place(&(start..start + word.len()));
            let title = format!("the study counts in {}, not in {word}", self.currency);
            let problem = Problem::new("units/other-money", title, place, "another money");
            self.note(problem.mend(format!(
                "write the amount in {}, or `currency = \"{word}\"`",
                self.currency
            )));
        }
    }

    /// Notes a fault of an expression as a problem of the study.
    pub fn note_fault(&mut self, written: &Written, fault: &Fault, stage: Stage) {
        let place = written.place(&fault.range);
        let problem = match &fault.kind {
            FaultKind::UnknownName(name) => self.unknown_name(name, place, stage),
            FaultKind::Mismatch { left, right, .. } => {
                let title = fault.kind.to_string();
                let problem = Problem::new(
                    "expression/dimensions",
                    title,
                    place,
                    format!("this is {left}"),
                );
                match &fault.other {
                    Some(other) => problem.with(written.place(other), format!("this is {right}")),
                    None => problem,
                }
            }
            FaultKind::Wanted {
                wanted,
                found,
                bare,
            } => {
                let title = fault.kind.to_string();
                let label = format!("this is {found}");
                let problem = Problem::new(fault.kind.code(), title, place, label);
                if *bare {
                    let number = &written.text[fault.range.clone()];
                    let unit = Unit::base(*wanted).symbol;
                    return self.note(problem.mend(format!("write \"{number} {unit}\"")));
                }
                problem
            }
            FaultKind::NotFinite => {
                let title = "the arithmetic gives no finite number";
                Problem::new(fault.kind.code(), title, place, "not finite")
            }
            FaultKind::UnknownFunction(name) => {
                let problem =
                    Problem::new(fault.kind.code(), fault.kind.to_string(), place, "here");
                return self.note(problem.mend_if(suggest(name, FUNCTIONS)));
            }
            kind => Problem::new(kind.code(), kind.to_string(), place, "here"),
        };
        self.note(problem.mend_if(fault.kind.mend()));
    }

    fn unknown_name(&self, name: &str, place: Range<usize>, stage: Stage) -> Problem {
        let later = "expression/known-later";
        let role = self.names.slot(name).map(|slot| self.names.list[slot].role);
        match role {
            Some(Role::Measure | Role::Derived { read: true, .. }) => {
                let title = format!("`{name}` is known only after a design is evaluated");
                Problem::new(later, title, place, "known too late")
                    .mend("use variables and derived values without measures here")
            }
            Some(Role::Derived { read: false, .. }) => {
                let title = format!("`{name}` is defined further down");
                Problem::new(later, title, place, "not known yet")
                    .mend(format!("move `{name}` above this"))
            }
            _ => {
                let known = self.names.visible(stage);
                let problem = Problem::new(
                    "expression/unknown-name",
                    format!("`{name}` stands for nothing here"),
                    place,
                    "no variable, derived value or measure",
                );
                match nearest(name, known.iter().copied()) {
                    Some(near) => problem.mend(format!("did you mean `{near}`?")),
                    None => problem.mend(format!("known here: {}", known.join(", "))),
                }
            }
        }
    }

    /// Formula of a key; a harmless one where it is at fault, `None` where it is left out without a default.
    pub fn formula_if(&mut self, entries: &Entries, name: &str) -> Option<Formula> {
        let key = entries.table.key(name)?;
        let (Kind::Formula(quantity) | Kind::FormulaOr(quantity, _)) = key.kind else {
            return None;
        };
        match (entries.node(name), &key.need) {
            (Some(node), _) => Some(self.formula_value(name, node.value, quantity)),
            (None, Need::Default(text)) => {
                Formula::read_as(text, quantity.dimension, &|_| None).ok()
            }
            (None, _) => None,
        }
    }

    /// Formula of a key; a harmless one where it is at fault or missing (which is noted elsewhere).
    pub fn formula(&mut self, entries: &Entries, name: &str) -> Formula {
        self.formula_if(entries, name).unwrap_or_else(placeholder)
    }

    /// Formula of a key that may be a word instead: `None` for the word.
    pub fn formula_or_word(&mut self, entries: &Entries, name: &str) -> Option<Formula> {
        let word = match entries.table.key(name)?.kind {
            Kind::FormulaOr(_, word) => word,
            _ => return None,
        };
        let node = entries.node(name)?;
        match node.value.get_ref() {
            DeValue::String(text) if text.trim() == word => None,
            _ => self.formula_if(entries, name),
        }
    }

    /// Formula of a value that must be a quantity.
    pub fn formula_value(&mut self, name: &str, value: &Value, quantity: Quantity) -> Formula {
        let wanted = quantity.dimension.to_string();
        let formula = self.written(name, &wanted, value).and_then(|written| {
            let formula = self.formula_of(&written, Some(quantity.dimension), Stage::Before)?;
            self.check_sign(name, &formula, quantity.sign, &written.span);
            Some(formula)
        });
        formula.unwrap_or_else(placeholder)
    }

    /// Notes a size that is zero or negative whatever the variables are.
    fn check_sign(&mut self, name: &str, formula: &Formula, sign: Sign, span: &Range<usize>) {
        let most = formula.bounds(&self.names.bounds()).1;
        let wanted = match sign {
            Sign::Positive if most <= 0.0 => "above zero",
            Sign::NotNegative if most < 0.0 => "zero or above",
            _ => return,
        };
        let title = format!("`{name}` must be {wanted}");
        let label = match formula.constant_value() {
            Some(0.0) => "this is zero".to_string(),
            Some(_) => "this is negative".to_string(),
            None => format!("at most {}", Unit::base(formula.dimension).print(most)),
        };
        let problem = Problem::new("study/out-of-range", title, span.clone(), label);
        self.note(problem.mend(format!("write something that is {wanted}")));
    }

    /// So many formulas of a key, as its kind says; its default (zeros) where left out.
    pub fn vector(&mut self, entries: &Entries, name: &str) -> Vec<Formula> {
        let Some(Kind::Vector(quantity, count)) = entries.table.key(name).map(|key| &key.kind)
        else {
            return Vec::new();
        };
        let zeros = vec![Formula::constant(0.0, quantity.dimension); *count];
        let Some(node) = entries.node(name) else {
            return zeros;
        };
        match node.value.get_ref() {
            DeValue::Array(items) if items.len() == *count => {
                let mut formulas = Vec::new();
                for value in items.iter() {
                    formulas.push(self.formula_value(name, value, *quantity));
                }
                formulas
            }
            _ => {
                let wanted = format!("a list of {count} entries, each {}", quantity.dimension);
                self.wrong_type(name, &wanted, node.value);
                zeros
            }
        }
    }

    /// Three formulas of a key.
    pub fn vector3(&mut self, entries: &Entries, name: &str) -> [Formula; 3] {
        let mut formulas = self.vector(entries, name).into_iter();
        std::array::from_fn(|_| formulas.next().unwrap_or_else(placeholder))
    }

    /// Two formulas of a key.
    pub fn vector2(&mut self, entries: &Entries, name: &str) -> (Formula, Formula) {
        let mut formulas = self.vector(entries, name).into_iter();
        let mut next = || formulas.next().unwrap_or_else(placeholder);
        (next(), next())
    }

    /// A fixed quantity in base units with its unit; `None` where it is at fault (which is noted).
    pub fn fixed(&mut self, name: &str, value: &Value) -> Option<(f64, Unit)> {
        let written = self.written(name, "a quantity such as \"1.5 mm\", or a number", value)?;
        match read_quantity(&written.text) {
            Ok(quantity) => Some(quantity),
            Err(fault) => {
                let kind = FaultKind::Unit(fault.kind);
                let code = match (&kind, kind.code()) {
                    (_, "expression/not-finite") => "study/not-finite",
                    (FaultKind::Unit(crate::units::UnitFaultKind::NoNumber), _) => {
                        "expression/syntax"
                    }
                    (_, code) => code,
                };
                let place = written.place(&fault.range);
                let problem = Problem::new(code, format!("`{name}`: {kind}"), place, "here");
                self.note(problem.mend_if(kind.mend()));
                None
            }
        }
    }

    /// A fixed quantity that must measure `wanted`, in base units.
    pub fn fixed_as(&mut self, name: &str, value: &Value, wanted: Unit) -> Option<f64> {
        let (number, unit) = self.fixed(name, value)?;
        if unit.dimension == wanted.dimension || (number == 0.0 && unit.symbol.is_empty()) {
            return Some(number);
        }
        let bare = unit.symbol.is_empty();
        let code = if bare {
            "units/missing"
        } else {
            "units/wrong-kind"
        };
        let title = if bare {
            format!("`{name}` needs a unit: it is {}", wanted.dimension)
        } else {
            format!("`{name}` must be {}", wanted.dimension)
        };
        let label = format!("this is {}", unit.dimension);
        let mend = match wanted.symbol.as_str() {
            "" => "write a plain number".to_string(),
            symbol if bare => format!("write \"{} {symbol}\"", print_number(number)),
            symbol => format!("write it in, for example, `{symbol}`"),
        };
        self.note(Problem::new(code, title, value.span(), label).mend(mend));
        None
    }
}

/// Stands in for a formula at fault; the study is not handed out.
pub(super) fn placeholder() -> Formula {
    Formula::constant(1.0, Dimension::NUMBER)
}
