//! Readings of a table, one a row, as a spreadsheet writes them (comma-separated values, RFC 4180).

use std::collections::BTreeMap;
use std::ops::Range;

use super::draft::{Defaults, Draft};
use super::read::{Entry, done, entry};
use crate::ledger::{Date, Placed, Problem, Reader, shown};
use crate::study::suggest;

/// Columns of a table of readings.
const COLUMNS: [&str; 12] = [
    "revision",
    "part",
    "date",
    "by",
    "instrument",
    "kind",
    "of",
    "load",
    "way",
    "value",
    "held",
    "note",
];

/// Readings of a table with a head, one a row: columns `kind`, `of`, `value` and, of loads, `load` and `way`; revision,
/// part, date, by and instrument where the call does not say them. Rows of one part, day, person, instrument and kind
/// are one record.
///
/// | kind | of | load | way | value |
/// |---|---|---|---|---|
/// | weighing | nothing, `zero`, or `check 50 g` | | | `31.02 g` |
/// | cycle time | operation of the plan, or `cycle` | | | `84 s` |
/// | stiffness | load case, or `rig` | `5 N` | `up` or `down` | `0.018 mm` |
/// | tap test | `free`, or the load case whose supports hold | | | `1410 Hz` |
///
/// # Errors
/// Every problem found, by line.
pub fn read_table(text: &str, call: &Defaults) -> Result<Vec<Entry>, Vec<Problem>> {
    let mut reader = Reader::default();
    let mut rows = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let head = rows.headers().cloned().unwrap_or_default();
    let first = 0..text.lines().next().map_or(0, str::len);
    for name in head.iter().filter(|name| !COLUMNS.contains(name)) {
        let title = format!("there is no column `{}`", shown(name));
        let problem = Problem::new("measured/unknown-key", title, first.clone(), "in this head");
        reader.note(problem.mend_if(suggest(name, &COLUMNS)));
    }
    for name in ["kind", "value"] {
        if !head.iter().any(|each| each == name) {
            let title = format!("the column `{name}` is missing");
            let problem =
                Problem::new("measured/missing-key", title, first.clone(), "in this head");
            reader.note(problem.mend("the first line names the columns: kind,of,value"));
        }
    }
    if !reader.problems.is_empty() {
        return done(reader, Vec::new());
    }
    let mut groups: Groups = Groups::default();
    for row in rows.records() {
        let row = match row {
            Ok(row) => row,
            Err(error) => {
                let at = error.position().map_or(0, |place| place.byte() as usize);
                let problem = Problem::new(
                    "measured/not-a-table",
                    format!("this is no row: {error}"),
                    line(text, at),
                    "here",
                );
                reader.note(problem.mend("save the table as comma-separated values, UTF-8"));
                continue;
            }
        };
        let at = row.position().map_or(0, |place| place.byte() as usize);
        let cells = Cells {
            head: &head,
            row: &row,
            span: line(text, at),
        };
        groups.take(&mut reader, &cells, call);
    }
    let drafts = groups.drafts;
    let mut list = Vec::new();
    for draft in drafts.into_iter().filter(|draft| !draft.broken) {
        let span = draft.span.clone();
        let record = draft.filled(call).finish(&mut reader);
        list.extend(record.map(|record| entry(text, &span, record)));
    }
    if reader.problems.is_empty() && list.is_empty() {
        let problem = Problem::new(
            "measured/empty",
            "there is no reading in this table",
            0..0,
            "nothing here",
        );
        reader.note(problem.mend("write a reading a row under the head"));
    }
    done(reader, list)
}

/// Cells of a row.
struct Cells<'a> {
    head: &'a csv::StringRecord,
    row: &'a csv::StringRecord,
    span: Range<usize>,
}

impl Cells<'_> {
    fn text(&self, column: &str) -> &str {
        let at = self.head.iter().position(|each| each == column);
        at.and_then(|at| self.row.get(at)).unwrap_or_default()
    }

    fn placed(&self, text: &str) -> Placed {
        Placed {
            text: text.into(),
            span: self.span.clone(),
        }
    }

    fn cell(&self, column: &str) -> Option<Placed> {
        let text = self.text(column);
        (!text.is_empty()).then(|| self.placed(text))
    }
}

/// Rows of one record, gathered.
#[derive(Default)]
struct Groups {
    drafts: Vec<Draft>,
    by_key: BTreeMap<String, usize>,
}

impl Groups {
    fn take(&mut self, reader: &mut Reader, cells: &Cells, call: &Defaults) {
        let (kind, of) = (cells.text("kind"), cells.text("of"));
        let thing = match kind {
            "stiffness" if of != "rig" => of,
            "tap test" => of,
            _ => "",
        };
        let mut key = vec![kind];
        key.extend(["revision", "part", "date", "by", "instrument"].map(|name| cells.text(name)));
        // The rig's stiffness belongs to the load case of the rows around it.
        let last = self.drafts.len().checked_sub(1);
        let index = match (kind, of, last) {
            ("stiffness", "rig", Some(last)) => last,
            _ => {
                key.push(thing);
                *self.by_key.entry(key.join("\u{1f}")).or_insert_with(|| {
                    self.drafts.push(Draft {
                        span: cells.span.clone(),
                        kind: cells.cell("kind"),
                        revision: cells.cell("revision"),
                        part: cells.cell("part"),
                        by: cells.cell("by").map(|by| by.text).into_iter().collect(),
                        instrument: cells.cell("instrument"),
                        note: cells.text("note").into(),
                        ..Draft::default()
                    });
                    self.drafts.len() - 1
                })
            }
        };
        let draft = &mut self.drafts[index];
        if let (None, Some(date)) = (draft.date, cells.cell("date")) {
            match date.text.parse::<Date>() {
                Ok(day) => draft.date = Some(day),
                Err(why) => {
                    let problem =
                        Problem::new("measured/wrong-type", why, date.span, "in this row");
                    reader.note(problem.mend("write the day as in 2026-11-26"));
                    draft.date = call.date.or(Date::new(1, 1, 1));
                }
            }
        }
        let Some(value) = cells.cell("value") else {
            let problem = Problem::new(
                "measured/missing-key",
                "a row has no value",
                cells.span.clone(),
                "here",
            );
            reader.note(problem.mend("write what was read with its unit, or take the row out"));
            return;
        };
        match kind {
            "cycle time" => draft.times.push((of.into(), value)),
            "tap test" => {
                draft.held = Some(cells.placed(of)).filter(|held| !held.text.is_empty());
                draft.frequencies.push(value);
            }
            "stiffness" => {
                let before = reader.problems.len();
                load(reader, draft, cells, value);
                draft.broken |= reader.problems.len() > before;
            }
            _ => match (of, of.strip_prefix("check ")) {
                ("zero", _) => draft.zero.push(value),
                (_, Some(weight)) => {
                    draft.check = Some(cells.placed(weight));
                    draft.check_readings.push(value);
                }
                _ => draft.readings.push(value),
            },
        }
    }
}

/// A row of a stiffness: movements on the way down are put in the order of the loads.
fn load(reader: &mut Reader, draft: &mut Draft, cells: &Cells, value: Placed) {
    if cells.text("of") == "rig" {
        draft.rig = Some(value);
        return;
    }
    draft.load_case = cells.cell("of");
    let Some(load) = cells.cell("load") else {
        let title = "a reading of stiffness has no load";
        let problem = Problem::new(
            "measured/missing-key",
            title,
            cells.span.clone(),
            "no `load` here",
        );
        reader.note(problem.mend("write the load of every row, as in 5 N"));
        return;
    };
    match cells.text("way") {
        "" | "up" => {
            draft.loads.push(load);
            draft.up.push(value);
        }
        "down" => match draft.loads.iter().position(|each| each.text == load.text) {
            Some(at) => {
                let room = draft.down.len().max(at + 1);
                let empty = Placed {
                    text: String::new(),
                    span: cells.span.clone(),
                };
                draft.down.resize(room, empty);
                draft.down[at] = value;
            }
            None => {
                let title = format!("{} was not met on the way up", shown(&load.text));
                let problem =
                    Problem::new("measured/uneven", title, cells.span.clone(), "in this row");
                reader
                    .note(problem.mend("write the rows of the way up first, with the same loads"));
            }
        },
        other => {
            let title = format!("there is no way `{}`", shown(other));
            let problem = Problem::new(
                "measured/wrong-type",
                title,
                cells.span.clone(),
                "in this row",
            );
            reader.note(problem.mend("write up or down"));
        }
    }
}

/// The line that holds a byte.
fn line(text: &str, at: usize) -> Range<usize> {
    let at = at.min(text.len());
    let rest = text.get(at..).unwrap_or_default();
    // The reader's place may be the end of the line before.
    let skip = rest.len() - rest.trim_start_matches(['\r', '\n']).len();
    let start = at + skip;
    let length = text
        .get(start..)
        .unwrap_or_default()
        .lines()
        .next()
        .map_or(0, str::len);
    start..start + length
}
