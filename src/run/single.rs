//! One design, as asked for by name and value.

use super::data::Mistakes;
use super::prepare::{Prepared, one};
use crate::evaluate::Sheet;
use crate::evaluate::setup::Variable;
use crate::study::variable_value;

/// One design in full: today's revision with some variables set to other values (`("hole", "2.8 mm")`).
///
/// # Errors
/// Unknown variables, values that can't be read or that the variable can't take; all of them.
pub fn design(prepared: &Prepared, set: &[(String, String)]) -> Result<Sheet, Mistakes> {
    design_point(prepared, set).map(|values| prepared.evaluator.sheet(&values))
}

/// Variables, in base units, of today's revision with some set to other values.
///
/// # Errors
/// As [`design`].
pub fn design_point(prepared: &Prepared, set: &[(String, String)]) -> Result<Vec<f64>, Mistakes> {
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
        Ok(values)
    } else {
        Err(mistakes)
    }
}

fn names(variables: &[Variable]) -> String {
    let names: Vec<&str> = variables.iter().map(|each| each.name.as_str()).collect();
    names.join(", ")
}

fn read(variable: &Variable, text: &str) -> Result<f64, Mistakes> {
    variable_value(variable, text).map_err(|fault| {
        one(
            "call/value",
            format!("{} = {text}: {fault}", variable.name),
            0,
            &format!(
                "write it like {}, or widen the variable in the study",
                variable.unit.print(variable.baseline)
            ),
        )
    })
}
