//! Files of records: the one beside the ledger, and readings that are still to be added to it.

use std::collections::BTreeMap;
use std::ops::Range;

use super::draft::{Defaults, Draft};
use super::record::{Record, Taken};
use crate::ledger::{Fields, Problem, Reader, parse, quoted};

/// Format number of files of records.
pub const MEASURED_FORMAT: usize = 1;

/// What to do about a file that a merge left in pieces.
const MERGED: &str =
    "records do not depend on each other: keep those of both versions, take out the marks";

/// Records as read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Records {
    /// File stem of the study.
    pub study: String,
    /// The records, in order.
    pub list: Vec<Entry>,
}

/// A record and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The record.
    pub record: Record,
    /// Line at which it begins, from 1.
    pub line: usize,
}

impl Records {
    /// What a new file begins with, before its first record.
    pub fn heading(study: &str) -> String {
        format!(
            "# Parts of this study as they were measured, written by `fretwork measure`: records are added at the end,\n\
             # earlier ones stay as they are. Keep this file under version control. Figures have a seal.\n\
             format = {MEASURED_FORMAT}\nstudy = {}\n",
            quoted(study)
        )
    }
}

const TOP: [&str; 3] = ["format", "study", "record"];
/// Keys of every record, then those of the kinds.
const COMMON: [&str; 9] = [
    "kind",
    "revision",
    "part",
    "date",
    "by",
    "instrument",
    "readability",
    "note",
    "seal",
];
const WEIGHING: [&str; 6] = [
    "readings",
    "zero",
    "check",
    "check_readings",
    "temperature",
    "fitted",
];
const TIMES: [&str; 2] = ["feed_override", "times"];
const STIFFNESS: [&str; 5] = ["load_case", "loads", "up", "down", "rig"];
const TAP: [&str; 3] = ["held", "frequencies", "fitted"];

/// The records of a file.
///
/// # Errors
/// Every problem found, in the order of the text: marks of a merge or what is no TOML by themselves, else keys and values
/// at fault, records that are not as they were written, records that come twice.
pub fn read_records(text: &str) -> Result<Records, Vec<Problem>> {
    let document = parse(text, "file of records").map_err(recoded)?;
    let mut reader = Reader::default();
    let top = reader.fields(document.get_ref(), 0..0, "a file of records", &TOP);
    let format = reader.whole(&top, "format");
    if reader.problems.is_empty() && format != MEASURED_FORMAT {
        let title = format!("these records are in format {format}, unknown here");
        let label = format!("this program reads format {MEASURED_FORMAT}");
        let problem = Problem::new("measured/format", title, top.place("format"), label);
        return Err(vec![problem.mend("use the newer fretwork")]);
    }
    let study = reader.text(&top, "study");
    let mut list = Vec::new();
    let mut seen: BTreeMap<String, Range<usize>> = BTreeMap::new();
    for fields in records(&mut reader, &top) {
        let head = first_line(text, &fields.span);
        let seal = reader.text(&fields, "seal");
        let Some(record) = draft(&mut reader, &fields, head.clone()).finish(&mut reader) else {
            continue;
        };
        if seal.is_empty() {
            continue;
        }
        if seal != record.seal() {
            let title = format!("a record of part {} is not as it was written", record.part);
            let label = "something in this record was changed since";
            let problem = Problem::new("measured/edited", title, head, label)
                .with(fields.place("seal"), "its seal is over other contents");
            reader.note(problem.mend(
                "put the record back from version control; to correct a reading, add the right one and say so in its note",
            ));
            continue;
        }
        if let Some(first) = seen.insert(seal, head.clone()) {
            let title = format!("the same record of part {} comes twice", record.part);
            let problem = Problem::new("measured/repeated", title, head, "here again");
            reader.note(
                problem
                    .with(first, "first here")
                    .mend("take one of the two out"),
            );
        }
        list.push(entry(text, &fields.span, record));
    }
    done(reader, Records { study, list })
}

/// Readings of a TOML file that are to be added: records as they stand in a file of records, without seals; the call
/// says what they leave open.
///
/// # Errors
/// Every problem found, in the order of the text.
pub fn read_readings(text: &str, call: &Defaults) -> Result<Vec<Entry>, Vec<Problem>> {
    let document = parse(text, "file of readings").map_err(recoded)?;
    let mut reader = Reader::default();
    let top = reader.fields(document.get_ref(), 0..0, "a file of readings", &TOP);
    let mut list = Vec::new();
    for fields in records(&mut reader, &top) {
        let head = first_line(text, &fields.span);
        let draft = draft(&mut reader, &fields, head).filled(call);
        let record = draft.finish(&mut reader);
        list.extend(record.map(|record| entry(text, &fields.span, record)));
    }
    if reader.problems.is_empty() && list.is_empty() {
        let problem = Problem::new(
            "measured/empty",
            "there is no record in this file",
            0..0,
            "nothing here",
        );
        reader.note(problem.mend("write each record under [[record]], with kind and readings"));
    }
    done(reader, list)
}

/// A record with the line of its place.
pub(super) fn entry(text: &str, place: &Range<usize>, record: Record) -> Entry {
    let before = text.get(..place.start).unwrap_or_default();
    let line = 1 + before.matches('\n').count();
    Entry { record, line }
}

/// The first problems found, or what was read.
pub(super) fn done<T>(reader: Reader, found: T) -> Result<T, Vec<Problem>> {
    let mut problems = recoded(reader.problems);
    if problems.is_empty() {
        return Ok(found);
    }
    problems.sort_by_key(|problem| problem.spans[0].0.start);
    Err(problems)
}

fn records<'t>(reader: &mut Reader, top: &Fields<'t>) -> Vec<Fields<'t>> {
    let known: Vec<&str> = [&COMMON[..], &WEIGHING, &TIMES, &STIFFNESS, &TAP].concat();
    reader.tables(top, "record", "a record", &known)
}

/// The texts of a record; keys of another kind are noted.
fn draft(reader: &mut Reader, fields: &Fields, span: Range<usize>) -> Draft {
    let kind = reader.placed(fields, "kind");
    let own: &[&str] = match kind.as_ref().map_or("", |kind| kind.text.as_str()) {
        "weighing" => &WEIGHING,
        "cycle time" => &TIMES,
        "stiffness" => &STIFFNESS,
        "tap test" => &TAP,
        _ => &[],
    };
    let others: Vec<&str> = [&WEIGHING[..], &TIMES, &STIFFNESS, &TAP].concat();
    for name in fields.names().filter(|_| !own.is_empty()) {
        if others.contains(&name) && !own.contains(&name) {
            let what = kind.as_ref().map_or("", |kind| kind.text.as_str());
            let title = format!("`{name}` has no place in a record of kind `{what}`");
            let problem =
                Problem::new("measured/other-kind", title, fields.place(name), "not here");
            reader.note(problem.mend(format!("its keys are: {}", own.join(", "))));
        }
    }
    let has_date = fields.names().any(|name| name == "date");
    Draft {
        broken: false,
        revision: reader.placed(fields, "revision"),
        part: reader.placed(fields, "part"),
        date: if has_date {
            reader.date(fields, "date")
        } else {
            None
        },
        by: reader.texts(fields, "by"),
        instrument: reader.placed(fields, "instrument"),
        readability: reader.placed(fields, "readability"),
        note: reader.optional_text(fields, "note"),
        readings: reader.placed_list(fields, "readings"),
        zero: reader.placed_list(fields, "zero"),
        check: reader.placed(fields, "check"),
        check_readings: reader.placed_list(fields, "check_readings"),
        temperature: reader.placed(fields, "temperature"),
        fitted: reader.flag(fields, "fitted"),
        feed_override: reader.placed(fields, "feed_override"),
        times: reader.placed_table(fields, "times"),
        load_case: reader.placed(fields, "load_case"),
        loads: reader.placed_list(fields, "loads"),
        up: reader.placed_list(fields, "up"),
        down: reader.placed_list(fields, "down"),
        rig: reader.placed(fields, "rig"),
        held: reader.placed(fields, "held"),
        frequencies: reader.placed_list(fields, "frequencies"),
        kind,
        span,
    }
}

/// Problems of tables in general under this room's codes.
fn recoded(mut problems: Vec<Problem>) -> Vec<Problem> {
    for problem in &mut problems {
        let tail = problem.code.rsplit('/').next();
        let own = super::CODES
            .iter()
            .find(|(code, _)| code.rsplit('/').next() == tail);
        if let Some((code, _)) = own {
            problem.code = code;
        }
        if problem.code == "measured/conflict" {
            problem.mend = Some(MERGED.into());
        }
    }
    problems
}

/// The span up to the end of its first line.
fn first_line(text: &str, span: &Range<usize>) -> Range<usize> {
    let rest = text.get(span.start..).unwrap_or_default();
    span.start..span.start + rest.lines().next().map_or(0, str::len)
}

impl Taken {
    /// What its first reading measures.
    pub(super) fn first_unit(&self) -> Option<crate::units::Dimension> {
        let first = match self {
            Taken::Weighing(weighing) => weighing.readings.first(),
            Taken::Times(times) => times.times.first(),
            Taken::Stiffness(stiffness) => stiffness.up.first(),
            Taken::Tap(tap) => tap.frequencies.first(),
        };
        super::check::dimension(first)
    }
}
