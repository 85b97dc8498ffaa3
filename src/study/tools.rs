//! Tools in stock, and names of the catalogue.

use super::problem::{Problem, suggest};
use super::reader::{Entries, Reader};
use super::{Context, keys};
use crate::units::Unit;
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
pub fn nearest_sizes(size: f64, known: &[f64]) -> Option<String> {
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
