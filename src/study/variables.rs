//! Tools in stock, design variables, today's revision, names of the catalogue.

use super::names::{Name, Role};
use super::problem::{Problem, nearest, suggest};
use super::reader::{Entries, Node, Reader};
use super::{Context, keys};
use crate::evaluate::setup::{Range, Variable};
use crate::units::{Dimension, Unit, UnitFault, find_unit, print_number, read_quantity};
use std::fmt;
use toml::de::DeValue;

/// Sizes nearer than this are the same tool, in mm: inch sizes are listed rounded to a tenth of that.
const SAME_MM: f64 = 1e-3;

/// Tools in stock, ascending.
pub(super) struct Tools {
    pub drills_mm: Vec<f64>,
    pub end_mills_mm: Vec<f64>,
}

pub(super) fn read_tools(reader: &mut Reader, root: &Entries, context: &Context) -> Tools {
    let entries = match root.node("tools") {
        Some(node) => reader.table(&keys::TOOLS, node),
        None => reader.nothing(&keys::TOOLS, root.span.clone()),
    };
    Tools {
        drills_mm: read_sizes(reader, &entries, "drills", context.drills_mm),
        end_mills_mm: read_sizes(reader, &entries, "end_mills", context.end_mills_mm),
    }
}

fn read_sizes(reader: &mut Reader, entries: &Entries, name: &str, known: &[f64]) -> Vec<f64> {
    let mut sizes = known.to_vec();
    if let Some(node) = entries.node(name) {
        let DeValue::Array(items) = node.value.get_ref() else {
            reader.wrong_type(name, "a list of diameters", node.value);
            return sizes;
        };
        sizes.clear();
        for value in items.iter() {
            let Some(size) = reader.fixed_as(name, value, Unit::MM) else {
                continue;
            };
            let again = sizes.iter().any(|other| (other - size).abs() < SAME_MM);
            if again {
                let title = format!("{} comes twice in `{name}`", Unit::MM.print(size));
                let problem = Problem::new("study/repeated", title, value.span(), "again");
                reader.note(problem.mend("leave it out once"));
            } else if !known.iter().any(|other| (other - size).abs() < SAME_MM) {
                let kind = if name == "drills" {
                    "drill"
                } else {
                    "end mill"
                };
                let title = format!("no {kind} of {} in the catalogue", Unit::MM.print(size));
                let problem =
                    Problem::new("study/unknown-tool", title, value.span(), "asked for here");
                reader.note(problem.mend_if(nearest_sizes(size, known)));
            }
            sizes.push(size);
        }
    }
    sizes.sort_by(f64::total_cmp);
    sizes.dedup_by(|a, b| (*a - *b).abs() < SAME_MM);
    sizes
}

/// `nearest: ...` for the next smaller and larger of some sizes.
pub(super) fn nearest_sizes(size: f64, known: &[f64]) -> Option<String> {
    let below = known
        .iter()
        .copied()
        .filter(|other| *other < size)
        .max_by(f64::total_cmp);
    let above = known
        .iter()
        .copied()
        .filter(|other| *other > size)
        .min_by(f64::total_cmp);
    let both: Vec<String> = [below, above]
        .into_iter()
        .flatten()
        .map(|size| Unit::MM.print(size))
        .collect();
    match both.as_slice() {
        [] => None,
        [one] => Some(format!("nearest is {one}")),
        _ => Some(format!("nearest are {}", both.join(" and "))),
    }
}

/// Whether a drill of a size is among some.
pub(super) fn has_size(sizes: &[f64], size: f64) -> bool {
    sizes.iter().any(|other| (other - size).abs() < SAME_MM)
}

pub(super) fn catalogue_id(
    reader: &mut Reader,
    root: &Entries,
    kind: &str,
    known: &[String],
) -> String {
    let id = reader.text(root, kind);
    let Some(node) = root.node(kind).filter(|_| !known.contains(&id)) else {
        return id;
    };
    if matches!(node.value.get_ref(), DeValue::String(_)) {
        let code = match kind {
            "material" => "study/unknown-material",
            _ => "study/unknown-machine",
        };
        let title = format!("no {kind} `{id}` in the catalogue");
        let words: Vec<&str> = known.iter().map(String::as_str).collect();
        let problem = Problem::new(code, title, node.value.span(), "asked for here");
        reader.note(
            problem
                .mend_if(suggest(&id, &words))
                .note(format!("`fretwork list {kind}s` shows all")),
        );
    }
    id
}

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

fn bounds(range: &Range) -> (f64, f64) {
    match range {
        Range::Continuous { low, high, .. } => (*low, *high),
        Range::Integer { low, high } => (*low as f64, *high as f64),
        Range::Choice(values) => values
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(*value), high.max(*value))
            }),
    }
}

fn read_range(reader: &mut Reader, entries: &Entries, tools: &Tools) -> Option<(Range, Unit)> {
    let by_range = ["from", "to"]
        .into_iter()
        .find_map(|name| entries.node(name));
    match (entries.node("choices"), by_range) {
        (Some(choices), None) => read_choices(reader, choices, tools),
        (None, Some(_)) => read_bounds(reader, entries),
        (Some(choices), Some(other)) => {
            let title = "a variable has either a range or choices";
            let problem = Problem::new("variables/range", title, choices.span.clone(), "choices");
            reader.note(
                problem
                    .with(other.span.clone(), "and a range")
                    .mend("keep one of them"),
            );
            None
        }
        (None, None) => {
            let title = "a variable needs `from` and `to`, or `choices`";
            let problem = Problem::new("variables/range", title, entries.span.clone(), "neither");
            reader
                .note(problem.mend("write from = \"1 mm\" and to = \"2 mm\", or choices = [...]"));
            None
        }
    }
}

fn read_choices(reader: &mut Reader, node: &Node, tools: &Tools) -> Option<(Range, Unit)> {
    let items = match node.value.get_ref() {
        DeValue::String(word) => {
            let sizes = match word.as_ref() {
                "drills" => &tools.drills_mm,
                "end_mills" => &tools.end_mills_mm,
                other => {
                    reader.unknown_word(
                        "choices",
                        other,
                        &["drills", "end_mills"],
                        node.value.span(),
                    );
                    return None;
                }
            };
            if sizes.is_empty() {
                let title = format!("there are no {word} to choose from");
                let problem = Problem::new(
                    "variables/choices",
                    title,
                    node.value.span(),
                    "none in stock",
                );
                reader.note(problem.mend(format!("name some in [tools] {word}")));
                return None;
            }
            return Some((Range::Choice(sizes.clone()), Unit::MM));
        }
        DeValue::Array(items) => items,
        _ => {
            reader.wrong_type("choices", "a list, \"drills\" or \"end_mills\"", node.value);
            return None;
        }
    };
    if items.is_empty() {
        let problem = Problem::new(
            "variables/choices",
            "there is nothing to choose from",
            node.value.span(),
            "empty",
        );
        reader.note(problem.mend("list at least two values"));
        return None;
    }
    let mut values: Vec<f64> = Vec::new();
    let mut unit: Option<Unit> = None;
    for item in items.iter() {
        let value = match unit {
            None => reader.fixed("choices", item).map(|(value, first)| {
                unit = Some(first);
                value
            }),
            Some(unit) => reader.fixed_as("choices", item, unit),
        }?;
        if values.contains(&value) {
            let title = "a choice comes twice";
            let problem = Problem::new("variables/choices", title, item.span(), "again");
            reader.note(problem.mend("leave it out once"));
        }
        values.push(value);
    }
    Some((Range::Choice(values), unit?))
}

fn read_bounds(reader: &mut Reader, entries: &Entries) -> Option<(Range, Unit)> {
    let (Some(from), Some(to)) = (entries.node("from"), entries.node("to")) else {
        let (given, missing) = if entries.node("to").is_none() {
            ("from", "to")
        } else {
            ("to", "from")
        };
        let title = format!("a variable with `{given}` needs `{missing}`");
        let problem = Problem::new(
            "variables/range",
            title,
            entries.place(given),
            "only one bound",
        );
        reader.note(problem.mend(format!("add `{missing}`")));
        return None;
    };
    let (low, from_unit) = reader.fixed("from", from.value)?;
    let (high, to_unit) = reader.fixed("to", to.value)?;
    // A bare lower bound is looked at as one of the upper bound's kind: so a forgotten unit is said to be one.
    let unit = if from_unit.symbol.is_empty() {
        to_unit
    } else {
        from_unit
    };
    reader.fixed_as("from", from.value, unit)?;
    reader.fixed_as("to", to.value, unit)?;
    if low >= high {
        let title = if low == high {
            "the bounds are equal"
        } else {
            "the bounds are reversed"
        };
        let mend = if low == high {
            "to keep it fixed, write the value where the variable is used".to_string()
        } else {
            format!(
                "write from = \"{}\" and to = \"{}\"",
                unit.print(high),
                unit.print(low)
            )
        };
        let problem = Problem::new(
            "variables/bound-reversed",
            title,
            from.value.span(),
            "lower bound",
        );
        reader.note(problem.with(to.value.span(), "upper bound").mend(mend));
        return None;
    }
    let step = match entries.node("step") {
        Some(node) => Some((reader.fixed_as("step", node.value, unit)?, node)),
        None => None,
    };
    if reader.flag(entries, "whole") {
        return read_whole(
            reader,
            (from, low),
            (to, high),
            unit,
            step.map(|(_, node)| node),
        );
    }
    if let Some((step, node)) = step.filter(|(step, _)| *step <= 0.0 || *step > high - low) {
        let title = if step <= 0.0 {
            "the step must be above zero"
        } else {
            "the step is larger than the range"
        };
        let label = format!("the range is {}", unit.print(high - low));
        let problem = Problem::new("variables/step", title, node.value.span(), label);
        reader.note(problem.mend("make the step smaller, or leave it out"));
        return None;
    }
    let step = step.map(|(step, _)| step);
    Some((Range::Continuous { low, high, step }, unit))
}

fn read_whole(
    reader: &mut Reader,
    (from, low): (&Node, f64),
    (to, high): (&Node, f64),
    unit: Unit,
    step: Option<&Node>,
) -> Option<(Range, Unit)> {
    let whole = |value: f64| value.fract() == 0.0 && value.abs() < 1e9;
    for (node, value) in [(from, low), (to, high)] {
        if unit.dimension != Dimension::NUMBER || !whole(value) {
            let title = format!("`{}` must be a whole number", node.name);
            let problem = Problem::new("variables/whole", title, node.value.span(), "not whole");
            reader.note(problem.mend("write a whole number without unit, or leave `whole` out"));
            return None;
        }
    }
    if let Some(node) = step {
        let title = "whole numbers step by one";
        let problem = Problem::new("variables/step", title, node.span.clone(), "not needed");
        reader.note(problem.mend("leave `step` out, or list `choices`"));
        return None;
    }
    let (low, high) = (low as i64, high as i64);
    Some((Range::Integer { low, high }, unit))
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

/// Why a value given for a variable cannot be taken.
#[derive(Clone, Debug, PartialEq)]
pub enum ValueFault {
    /// The text is no quantity.
    Unreadable(UnitFault),
    /// It measures something else.
    Kind {
        /// What it must measure.
        wanted: Dimension,
        /// What it measures.
        found: Dimension,
    },
    /// The variable cannot take it.
    Outside {
        /// What it can be, in words.
        range: String,
        /// The nearest value that it can take, in words.
        nearest: String,
    },
}

impl fmt::Display for ValueFault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(fault) => fault.kind.fmt(out),
            Self::Kind { wanted, found } => write!(out, "{wanted} is asked for, this is {found}"),
            Self::Outside { range, nearest } => {
                write!(out, "it can be {range}; nearest is {nearest}")
            }
        }
    }
}

/// Value in base units of a text given for a variable: `3.2 mm`.
///
/// # Errors
/// The text is no quantity, of another kind, or nothing that the variable can take.
pub fn variable_value(variable: &Variable, text: &str) -> Result<f64, ValueFault> {
    let (value, unit) = read_quantity(text).map_err(ValueFault::Unreadable)?;
    if unit.dimension != variable.unit.dimension {
        let (wanted, found) = (variable.unit.dimension, unit.dimension);
        return Err(ValueFault::Kind { wanted, found });
    }
    let nearest = nearest_value(&variable.range, value);
    if is_same(nearest, value) {
        return Ok(nearest);
    }
    Err(ValueFault::Outside {
        range: range_words(&variable.range, variable.unit),
        nearest: variable.unit.print(nearest),
    })
}

/// Whether two values differ by rounding only.
fn is_same(nearest: f64, value: f64) -> bool {
    (nearest - value).abs() <= 1e-9 * nearest.abs().max(1e-6)
}

/// The value of a range that is nearest to another.
fn nearest_value(range: &Range, value: f64) -> f64 {
    match range {
        Range::Continuous { low, high, step } => {
            let inside = value.clamp(*low, *high);
            match step {
                Some(step) => {
                    let most = ((high - low) / step + 1e-9).floor();
                    low + ((inside - low) / step).round().min(most) * step
                }
                None => inside,
            }
        }
        Range::Integer { low, high } => value.round().clamp(*low as f64, *high as f64),
        Range::Choice(values) => values
            .iter()
            .copied()
            .min_by(|a, b| (a - value).abs().total_cmp(&(b - value).abs()))
            .unwrap_or(value),
    }
}

/// A range in words: `1 mm to 2.5 mm in steps of 0.1 mm`.
pub(super) fn range_words(range: &Range, unit: Unit) -> String {
    match range {
        Range::Continuous { low, high, step } => {
            let ends = format!("{} to {}", unit.print(*low), unit.print(*high));
            match step {
                Some(step) => format!("{ends} in steps of {}", unit.print(*step)),
                None => ends,
            }
        }
        Range::Integer { low, high } => format!("whole numbers {low} to {high}"),
        Range::Choice(values) if values.len() > 12 => {
            let all = bounds(range);
            format!(
                "one of {} values, {} to {}",
                values.len(),
                unit.print(all.0),
                unit.print(all.1)
            )
        }
        Range::Choice(values) => {
            let numbers: Vec<String> = values
                .iter()
                .map(|value| print_number(value / unit.size))
                .collect();
            format!("one of {} {}", numbers.join(", "), unit.symbol)
                .trim_end()
                .to_string()
        }
    }
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
