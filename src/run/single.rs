//! One design, as asked for by name and value.

use super::data::Mistakes;
use super::prepare::{Prepared, one};
use crate::evaluate::Sheet;
use crate::evaluate::setup::{Range, Variable};
use crate::units::read_quantity;

/// One design in full: today's revision with some variables set to other values (`("hole", "2.8 mm")`).
///
/// A value may lie between the steps of its variable, but not beyond its bounds.
///
/// # Errors
/// Unknown variables, values that can't be read or that the variable can't take; all of them.
pub fn design(prepared: &Prepared, set: &[(String, String)]) -> Result<Sheet, Mistakes> {
    let mut values = prepared.evaluator.baseline();
    let mut mistakes = Mistakes::default();
    for (name, text) in set {
        let variables = &prepared.study.variables;
        let found = variables.iter().position(|variable| variable.name == *name);
        let outcome = match found {
            Some(index) => read(&variables[index], text).map(|value| values[index] = value),
            None => Err(one(
                "call/variable",
                format!("the study has no variable `{name}`"),
                0,
                &format!("its variables are: {}", names(variables)),
            )),
        };
        if let Err(more) = outcome {
            if !mistakes.printed.is_empty() {
                mistakes.printed.push('\n');
            }
            mistakes.printed.push_str(&more.printed);
            mistakes.list.extend(more.list);
        }
    }
    if mistakes.list.is_empty() {
        Ok(prepared.evaluator.sheet(&values))
    } else {
        Err(mistakes)
    }
}

fn names(variables: &[Variable]) -> String {
    let names: Vec<&str> = variables.iter().map(|each| each.name.as_str()).collect();
    names.join(", ")
}

fn read(variable: &Variable, text: &str) -> Result<f64, Mistakes> {
    let mistake = |what: String, mend: &str| {
        Err(one(
            "call/value",
            format!("{} = {text}: {what}", variable.name),
            0,
            mend,
        ))
    };
    let print = |value: f64| variable.unit.print(value);
    let (value, unit) = match read_quantity(text) {
        Ok(found) => found,
        Err(_) => {
            return mistake(
                "this is no number with a unit".into(),
                &format!("write it like {}", print(variable.baseline)),
            );
        }
    };
    if unit.dimension != variable.unit.dimension {
        return mistake(
            "the unit is of another kind".into(),
            &format!("write it like {}", print(variable.baseline)),
        );
    }
    let slack = 1e-9 * value.abs();
    let bounded = |low: f64, high: f64| {
        if (low - slack..=high + slack).contains(&value) {
            return Ok(value);
        }
        mistake(
            format!("outside {} to {}", print(low), print(high)),
            "choose a value inside, or widen the bounds in the study",
        )
    };
    match &variable.range {
        Range::Continuous { low, high, .. } => bounded(*low, *high),
        Range::Integer { .. } if value.fract() != 0.0 => {
            mistake("not a whole number".into(), "choose a whole number")
        }
        Range::Integer { low, high } => bounded(*low as f64, *high as f64),
        Range::Choice(choices) => {
            match choices.iter().find(|each| (*each - value).abs() <= slack) {
                Some(choice) => Ok(*choice),
                None => {
                    let all: Vec<String> = choices.iter().map(|choice| print(*choice)).collect();
                    mistake(
                        "not among the choices".into(),
                        &format!("choose one of {}", all.join(", ")),
                    )
                }
            }
        }
    }
}
