//! The revisions of a study, for a terminal and as JSON.

use std::io::{self, Write};

use serde_json::{Map, Value, json};

use super::number::{figure, signed_percent, unit};
use super::style::{self, Style};
use super::table::{Align, Cell, Table, WIDTH, list, paragraph};
use crate::ledger::{Change, History, Measure, Sense};

/// Measures that stand side by side in 80 columns.
const MOST_ABREAST: usize = 4;

/// Prints the revisions with the measures `shown` (by index), then dimensions and reason of each step.
pub fn print(out: &mut dyn Write, history: &History, shown: &[usize]) -> io::Result<()> {
    let count = history.steps.len();
    let title = format!(
        "{}: {count} {}",
        history.study,
        if count == 1 { "revision" } else { "revisions" }
    );
    paragraph(out, &title, 0, style::HEADING)?;
    for some in shown.chunks(MOST_ABREAST) {
        writeln!(out)?;
        let measures: Vec<&Measure> = some.iter().map(|at| &history.measures[*at]).collect();
        figures(out, history, &measures)?;
    }
    writeln!(out)?;
    steps(out, history)
}

fn figures(out: &mut dyn Write, history: &History, measures: &[&Measure]) -> io::Result<()> {
    let mut heads = vec![("REVISION", Align::Left), ("date", Align::Left)];
    for measure in measures {
        heads.push((measure.name.as_str(), Align::Point));
        heads.push(("", Align::Right));
    }
    let mut table = Table::new(&heads);
    let mut units = vec![Cell::from(""), Cell::from("")];
    for measure in measures {
        let sense = match measure.sense {
            Some(Sense::Least) => " ↓",
            Some(Sense::Most) => " ↑",
            None => "",
        };
        units.push(Cell::styled(
            format!("{}{sense}", unit(&measure.unit)),
            style::DIM,
        ));
        units.push(Cell::from(""));
    }
    table.cells(units);
    for (index, step) in history.steps.iter().enumerate() {
        let mut cells = vec![
            Cell::from(step.letter.as_str()),
            Cell::from(step.date.to_string()),
        ];
        for measure in measures {
            cells.push(measure.values[index].map_or("-".into(), figure).into());
            cells.push(Cell::styled(change(measure, index), tone(measure, index)));
        }
        table.cells(cells);
    }
    table.print(out, WIDTH)
}

/// The difference from the revision before, as a share of it.
fn change(measure: &Measure, step: usize) -> String {
    match measure.change(step) {
        None => String::new(),
        Some((0.0, _)) => "=".into(),
        Some((_, share)) if share.is_finite() => signed_percent(share),
        Some((difference, _)) => format!(
            "{}{}",
            if difference > 0.0 { "+" } else { "" },
            figure(difference)
        ),
    }
}

fn tone(measure: &Measure, step: usize) -> Style {
    match measure.better(step) {
        Some(true) => style::GOOD,
        Some(false) => style::WARN,
        None => style::DIM,
    }
}

fn steps(out: &mut dyn Write, history: &History) -> io::Result<()> {
    for (index, step) in history.steps.iter().enumerate() {
        let mut lines = vec![step.reason.clone()];
        let by = match step.by.as_slice() {
            [] => String::new(),
            names => format!(", by {}", names.join(", ")),
        };
        lines.push(format!(
            "from {}, design {}{by}",
            step.source.0, step.source.1
        ));
        if step.violation > 0.0 {
            let share = signed_percent(step.violation);
            lines.push(format!(
                "breaks a constraint by {}",
                share.trim_start_matches('+')
            ));
        }
        match step.changes.as_slice() {
            [] if index == 0 => {}
            [] => lines.push("no dimension changed".into()),
            changes => lines.push(changes.iter().map(words).collect::<Vec<_>>().join("; ")),
        }
        list(
            out,
            &format!("{} {}", step.letter, step.date),
            &lines,
            style::PLAIN,
        )?;
    }
    Ok(())
}

/// A dimension that changed, in words: `hole 4 mm -> 4.5 mm`.
pub fn words(change: &Change) -> String {
    let name = &change.name;
    match (&change.from, &change.to) {
        (Some(from), Some(to)) => format!("{name} {from} -> {to}"),
        (None, Some(to)) => format!("{name} new: {to}"),
        (Some(from), None) => format!("{name} gone: was {from}"),
        (None, None) => name.clone(),
    }
}

/// The whole history as one object.
pub fn json(history: &History) -> Value {
    let measures = |index: usize| -> Map<String, Value> {
        let told = history.measures.iter().filter_map(|measure| {
            let value = measure.values[index]?;
            let change = measure.change(index);
            let entry = json!({
                "value": value,
                "unit": measure.unit,
                "difference": change.map(|(difference, _)| difference),
                "better": measure.better(index),
            });
            Some((measure.name.clone(), entry))
        });
        told.collect()
    };
    let steps: Vec<Value> = history
        .steps
        .iter()
        .enumerate()
        .map(|(index, step)| {
            let change = |change: &Change| json!({ "name": change.name, "from": change.from, "to": change.to });
            json!({
                "revision": step.letter.as_str(),
                "date": step.date.to_string(),
                "by": step.by,
                "reason": step.reason,
                "run": step.source.0,
                "design": step.source.1,
                "violation": step.violation,
                "changes": step.changes.iter().map(change).collect::<Vec<_>>(),
                "measures": measures(index),
            })
        })
        .collect();
    let sense = |measure: &Measure| {
        measure.sense.map(|sense| match sense {
            Sense::Least => "least",
            Sense::Most => "most",
        })
    };
    let objectives: Map<String, Value> = history
        .measures
        .iter()
        .filter_map(|measure| Some((measure.name.clone(), Value::from(sense(measure)?))))
        .collect();
    json!({ "study": history.study, "objectives": objectives, "revisions": steps })
}
