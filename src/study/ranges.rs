//! How a variable may vary: bounds, steps, choices.

use super::problem::Problem;
use super::reader::{Entries, Node, Reader};
use super::tools::Tools;
use crate::evaluate::setup::Range;
use crate::units::{Dimension, Unit};
use toml::de::DeValue;

/// Least and most of a range.
pub(super) fn bounds(range: &Range) -> (f64, f64) {
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

/// Range and unit of a variable; `None` where it is at fault (which is noted).
pub(super) fn read_range(
    reader: &mut Reader,
    entries: &Entries,
    tools: &Tools,
) -> Option<(Range, Unit)> {
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
