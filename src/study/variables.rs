//! Design variables and today's revision.

use super::keys;
use super::names::{Name, Role};
use super::problem::{Problem, nearest};
use super::ranges::{bounds, read_range};
use super::reader::{Entries, Node, Reader};
use super::tools::Tools;
use super::values::{is_same, nearest_value, range_words};
use crate::evaluate::setup::{Range, Variable};
use crate::units::{Unit, find_unit};

/// Reads `[variables]` and `[baseline]`; the names of the variables get the first slots.
pub(super) fn read_variables(reader: &mut Reader, root: &Entries, tools: &Tools) -> Vec<Variable> {
    let nodes = reader.named(root, "variables");
    if let Some(node) = root.node("variables").filter(|_| nodes.is_empty()) {
        let title = "the study has no design variables";
        let problem = Problem::new(
            "variables/none",
            title,
            node.span.clone(),
            "nothing may change",
        );
        reader.note(problem.mend("add one: [variables.floor] from = \"1 mm\" to = \"2 mm\""));
    }
    let mut variables = Vec::new();
    for node in &nodes {
        check_name(reader, node);
        let entries = reader.table(&keys::VARIABLE, node);
        let read = read_range(reader, &entries, tools);
        let broken = read.is_none();
        let (range, unit) = read.unwrap_or((Range::Choice(vec![1.0]), Unit::NUMBER));
        reader.names.list.push(Name {
            name: node.name.to_string(),
            unit,
            role: Role::Variable,
            broken,
            bounds: if broken {
                (f64::NEG_INFINITY, f64::INFINITY)
            } else {
                bounds(&range)
            },
            span: Some(node.span.clone()),
        });
        variables.push(Variable {
            name: node.name.to_string(),
            unit,
            range,
            baseline: 1.0,
        });
    }
    read_baseline(reader, root, &nodes, &mut variables);
    variables
}

/// Notes a name that cannot stand in an expression.
pub(super) fn check_name(reader: &mut Reader, node: &Node) {
    let name = node.name;
    let letters = name.starts_with(|letter: char| letter.is_alphabetic() || letter == '_')
        && name
            .chars()
            .all(|letter| letter.is_alphanumeric() || letter == '_');
    if !letters {
        let title = format!("`{name}` cannot be a name");
        let problem = Problem::new("study/bad-name", title, node.span.clone(), "here");
        let mend = "use letters, digits and `_`, with a letter first";
        return reader.note(problem.mend(mend));
    }
    // Functions are told apart by their parenthesis; `1 mm * t` is not told apart from a unit.
    let taken = match name {
        "pi" => "a number",
        name if find_unit(name).is_some() => "a unit",
        _ => return,
    };
    let title = format!("`{name}` is {taken} already");
    let problem = Problem::new("study/name-clash", title, node.span.clone(), "taken");
    reader.note(problem.mend("choose another name"));
}

fn read_baseline(
    reader: &mut Reader,
    root: &Entries,
    defined: &[Node],
    variables: &mut [Variable],
) {
    let given = reader.named(root, "baseline");
    for node in &given {
        let Some(index) = variables
            .iter()
            .position(|variable| variable.name == node.name)
        else {
            let known: Vec<&str> = variables
                .iter()
                .map(|variable| variable.name.as_str())
                .collect();
            let title = format!("there is no variable `{}`", node.name);
            let problem = Problem::new(
                "variables/unknown",
                title,
                node.span.clone(),
                "not in [variables]",
            );
            let near = nearest(node.name, known).map(|near| format!("did you mean `{near}`?"));
            reader.note(problem.mend_if(near));
            continue;
        };
        if reader.names.list[index].broken {
            continue;
        }
        let variable = &mut variables[index];
        if let Some(value) = reader.fixed_as(node.name, node.value, variable.unit) {
            variable.baseline = value;
            check_baseline(reader, node, &defined[index], variable);
        }
    }
    let Some(baseline) = root.node("baseline") else {
        return;
    };
    for (node, variable) in defined.iter().zip(variables) {
        if !given.iter().any(|given| given.name == variable.name) {
            let title = format!("today's revision has no value for `{}`", variable.name);
            let problem = Problem::new(
                "variables/baseline-missing",
                title,
                baseline.span.clone(),
                "not in here",
            );
            let problem = problem.with(node.span.clone(), "a variable");
            reader.note(problem.mend(format!("add `{} = ...` to [baseline]", variable.name)));
        }
    }
}

fn check_baseline(reader: &mut Reader, node: &Node, defined: &Node, variable: &mut Variable) {
    let value = variable.baseline;
    let print = |value: f64| variable.unit.print(value);
    let nearest = nearest_value(&variable.range, value);
    if is_same(nearest, value) {
        variable.baseline = nearest;
        return;
    }
    let title = format!("`{}` cannot be {}", variable.name, print(value));
    let problem = Problem::new(
        "variables/baseline-outside",
        title,
        node.value.span(),
        "today's revision",
    );
    let problem = problem.with(
        defined.span.clone(),
        range_words(&variable.range, variable.unit),
    );
    reader.note(problem.mend(format!(
        "nearest is {}; or widen the variable",
        print(nearest)
    )));
}

/// Notes variables that no expression uses.
pub(super) fn check_used(reader: &mut Reader, root: &Entries, count: usize) {
    // While something could not be read, nobody knows what it would have used.
    if !reader.problems.is_empty() || root.node("variables").is_none() {
        return;
    }
    for slot in 0..count {
        if reader.names.is_used(slot) {
            continue;
        }
        let name = &reader.names.list[slot];
        let title = format!("nothing depends on the variable `{}`", name.name);
        let span = name.span.clone().unwrap_or_default();
        let mend = format!("use `{}` in the part, or take it out", name.name);
        reader.note(Problem::new("variables/unused", title, span, "not used").mend(mend));
    }
}
