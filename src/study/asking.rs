//! `[evaluator]`: a program of the user's that gives measures.

use super::problem::Problem;
use super::reader::{Entries, Node, Reader};
use super::variables::check_name;
use crate::evaluate::OutsideMeasure;
use crate::expression::FaultKind;
use crate::units::{Unit, read_unit};
use toml::de::DeValue;

/// A program that is asked about every design.
#[derive(Clone, Debug, PartialEq)]
pub struct Asking {
    /// The program and its arguments; no shell reads them.
    pub command: Vec<String>,
    /// Whether it stays and answers line by line; otherwise it is started for every design.
    pub lines: bool,
    /// Longest time for an answer, in s.
    pub time_limit_s: f64,
    /// Attempts after the first.
    pub retries: u64,
    /// What it gives.
    pub measures: Vec<OutsideMeasure>,
}

/// Longest time limit, in s: thirty days.
const LONGEST_S: f64 = 30.0 * 24.0 * 3600.0;

/// Reads `[evaluator]`; `known` are the measures of the frame.
pub(super) fn read_asking(
    reader: &mut Reader,
    root: &Entries,
    known: &[(String, Unit)],
) -> Option<Asking> {
    let entries = reader.optional_table(root, "evaluator")?;
    Some(Asking {
        command: read_command(reader, &entries),
        lines: reader.flag(&entries, "lines"),
        time_limit_s: read_limit(reader, &entries),
        retries: u64::try_from(reader.whole(&entries, "retries")).unwrap_or(1),
        measures: read_measures(reader, &entries, known),
    })
}

fn read_command(reader: &mut Reader, entries: &Entries) -> Vec<String> {
    let Some(node) = entries.node("command") else {
        return Vec::new();
    };
    let texts = match node.value.get_ref() {
        DeValue::Array(items) => items
            .iter()
            .map(|item| item.get_ref().as_str().map(str::to_string))
            .collect::<Option<Vec<String>>>(),
        _ => None,
    };
    let Some(texts) = texts else {
        reader.wrong_type("command", "a list of texts", node.value);
        return Vec::new();
    };
    // No operating system takes an argument with a zero in it.
    if texts.first().is_none_or(|program| program.is_empty())
        || texts.iter().any(|text| text.contains('\0'))
    {
        let title = "the command names no program";
        let problem = Problem::new("evaluator/command", title, node.value.span(), "here");
        reader
            .note(problem.mend("write the program and its arguments: [\"python3\", \"model.py\"]"));
    }
    texts
}

fn read_limit(reader: &mut Reader, entries: &Entries) -> f64 {
    let Some(node) = entries.node("time_limit") else {
        return 60.0;
    };
    let Some(limit) = reader.fixed_as("time_limit", node.value, Unit::SECOND) else {
        return 60.0;
    };
    if !(limit > 0.0 && limit <= LONGEST_S) {
        let title = "`time_limit` is out of range";
        let problem = Problem::new("study/out-of-range", title, node.value.span(), "outside");
        reader.note(problem.mend("write a time above zero and up to 720 h"));
    }
    limit
}

fn read_measures(
    reader: &mut Reader,
    entries: &Entries,
    known: &[(String, Unit)],
) -> Vec<OutsideMeasure> {
    let nodes = reader.named(entries, "measures");
    let table = |node: &&Node| matches!(node.value.get_ref(), DeValue::Table(_));
    if let Some(node) = entries
        .node("measures")
        .filter(table)
        .filter(|_| nodes.is_empty())
    {
        let title = "the program is to measure nothing";
        let problem = Problem::new("evaluator/measures", title, node.span.clone(), "empty");
        reader.note(problem.mend("name what it gives, with units: measures = { wear = \"um\" }"));
    }
    let mut measures = Vec::new();
    for node in &nodes {
        check_name(reader, node);
        if known.iter().any(|(name, _)| name == node.name) {
            let title = format!("`{}` is a measure of the frame already", node.name);
            let problem = Problem::new("study/name-clash", title, node.span.clone(), "taken");
            reader.note(problem.mend("choose another name"));
        }
        measures.push(OutsideMeasure {
            name: node.name.to_string(),
            unit: read_measure_unit(reader, node),
        });
    }
    measures
}

/// Unit of a declared measure; `1` for plain numbers.
fn read_measure_unit(reader: &mut Reader, node: &Node) -> Unit {
    let DeValue::String(text) = node.value.get_ref() else {
        reader.wrong_type(node.name, "a unit such as \"mm\", or \"1\"", node.value);
        return Unit::NUMBER;
    };
    if matches!(text.trim(), "" | "1") {
        return Unit::NUMBER;
    }
    match read_unit(text) {
        Ok(unit) => unit,
        Err(fault) => {
            let kind = FaultKind::Unit(fault.kind);
            let title = format!("`{}`: {kind}", node.name);
            let problem = Problem::new(kind.code(), title, node.value.span(), "here");
            reader.note(problem.mend_if(kind.mend()));
            Unit::NUMBER
        }
    }
}

/// Notes what a study with a part lacks, and what one without has too many.
pub(super) fn check_part(reader: &mut Reader, root: &Entries, has_part: bool) {
    if root.node("evaluator").is_none() {
        return;
    }
    if has_part {
        for key in ["material", "machine"] {
            if let Some(key) = root.table.key(key).filter(|_| root.node(key).is_none()) {
                reader.note_missing(root.table, key, &root.span);
            }
        }
        return;
    }
    for key in ["material", "machine", "load", "batch"] {
        if let Some(node) = root.node(key) {
            let title = format!("`{key}` means nothing in a study without a part");
            let problem = Problem::new("study/no-part", title, node.span.clone(), "of a part");
            reader.note(problem.mend(format!("take `{key}` out, or add a [part]")));
        }
    }
}
