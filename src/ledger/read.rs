//! A ledger's text to its revisions, or all its problems at once.

use std::collections::BTreeMap;
use std::ops::Range;

use super::Date;
use super::fields::{Fields, Reader, parse};
use super::letter::Letter;
use super::quantity::Quantity;
use super::revision::Revision;
use super::text::quoted;
use crate::study::Problem;

/// Format number of ledgers.
pub const LEDGER_FORMAT: usize = 1;

/// Bytes that a ledger or a decision may have at most: ten thousand revisions of a large study.
pub const MOST_BYTES: u64 = 32 << 20;

/// A ledger as read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ledger {
    /// File stem of the study.
    pub study: String,
    /// Its revisions, in order.
    pub entries: Vec<Entry>,
}

/// A revision and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The revision.
    pub revision: Revision,
    /// Line of its heading, from 1.
    pub line: usize,
}

impl Ledger {
    /// The last revision.
    pub fn last(&self) -> Option<&Revision> {
        self.entries.last().map(|entry| &entry.revision)
    }

    /// The letter of the next revision.
    pub fn next_letter(&self) -> Letter {
        self.last()
            .map_or_else(Letter::first, |last| last.letter.next())
    }

    /// What a new ledger begins with, before its first entry.
    pub fn heading(study: &str) -> String {
        format!(
            "# Revisions of this study, written by `fretwork adopt`: entries are added at the end, earlier ones stay as they\n\
             # are. Keep this file under version control. Comments may be added; figures have a seal.\n\
             format = {LEDGER_FORMAT}\nstudy = {}\n",
            quoted(study)
        )
    }
}

const TOP: [&str; 3] = ["format", "study", "revision"];
const KEYS: [&str; 15] = [
    "letter",
    "date",
    "by",
    "reason",
    "run",
    "design",
    "run_fingerprint",
    "study_fingerprint",
    "tool",
    "violation",
    "least",
    "most",
    "seal",
    "dimensions",
    "predicted",
];

/// The ledger of a text.
///
/// # Errors
/// Every problem found, in the order of the text: marks of a merge or what is no TOML by themselves, else keys and values
/// at fault, letters that come twice or leave a gap, entries that are not as they were adopted.
pub fn read_ledger(text: &str) -> Result<Ledger, Vec<Problem>> {
    let document = parse(text, "ledger")?;
    let mut reader = Reader::default();
    let top = reader.fields(document.get_ref(), 0..0, "a ledger", &TOP);
    let format = reader.whole(&top, "format");
    if reader.problems.is_empty() && format != LEDGER_FORMAT {
        let title = format!("this ledger is in format {format}, unknown here");
        let problem = Problem::new(
            "ledger/format",
            title,
            top.place("format"),
            format!("this program reads format {LEDGER_FORMAT}"),
        );
        return Err(vec![problem.mend("use the newer fretwork")]);
    }
    let study = reader.text(&top, "study");
    let mut rows = Vec::new();
    for fields in reader.tables(&top, "revision", "a revision", &KEYS) {
        let before = reader.problems.len();
        let span = first_line(text, &fields.span);
        let row = read_revision(&mut reader, &fields, span, before);
        rows.extend(row.map(|revision| (revision, fields.place("letter"), fields.span.start)));
    }
    check_letters(&mut reader, &rows);
    let mut problems = reader.problems;
    if problems.is_empty() {
        let line = |at: usize| 1 + text[..at].matches('\n').count();
        let entry = |(revision, _, at)| Entry {
            revision,
            line: line(at),
        };
        let entries = rows.into_iter().map(entry).collect();
        return Ok(Ledger { study, entries });
    }
    problems.sort_by_key(|problem| problem.spans[0].0.start);
    Err(problems)
}

/// One entry; `None` where it has no letter to go by. Its seal is looked at where nothing else is wrong in it.
fn read_revision(
    reader: &mut Reader,
    fields: &Fields,
    head: Range<usize>,
    before: usize,
) -> Option<Revision> {
    let written = reader.text(fields, "letter");
    let letter = match Letter::read(&written) {
        Ok(letter) => Some(letter),
        Err(_) if reader.problems.len() > before => None,
        Err(why) => {
            let problem = Problem::new(
                "ledger/letter",
                why.to_string(),
                fields.place("letter"),
                "no revision letter",
            );
            reader.note(problem.mend("put the line back as it was"));
            None
        }
    };
    let date = reader.date(fields, "date");
    let revision = Revision {
        letter: letter.clone().unwrap_or_else(Letter::first),
        date: date.or(Date::new(1, 1, 1))?,
        by: reader.texts(fields, "by"),
        reason: reader.text(fields, "reason"),
        run: reader.text(fields, "run"),
        design: reader.whole(fields, "design"),
        run_fingerprint: reader.text(fields, "run_fingerprint"),
        study_fingerprint: reader.text(fields, "study_fingerprint"),
        tool: reader.text(fields, "tool"),
        violation: reader.optional_number(fields, "violation"),
        least: reader.texts(fields, "least"),
        most: reader.texts(fields, "most"),
        dimensions: quantities(reader, fields, "dimensions"),
        predicted: quantities(reader, fields, "predicted"),
    };
    let seal = reader.text(fields, "seal");
    letter.as_ref()?;
    if reader.problems.len() == before && seal != revision.seal() {
        let title = format!("revision {} is not as it was adopted", revision.letter);
        let problem = Problem::new(
            "ledger/edited",
            title,
            head,
            "something in this entry was changed since",
        )
        .with(fields.place("seal"), "its seal is over other contents");
        reader.note(problem.mend(
            "put the entry back from version control; to correct a revision, adopt the right design as the next one",
        ));
    }
    Some(revision)
}

fn quantities(reader: &mut Reader, fields: &Fields, name: &str) -> Vec<Quantity> {
    reader.quantities(fields, name)
}

/// Every letter once, each following the one before.
fn check_letters(reader: &mut Reader, rows: &[(Revision, Range<usize>, usize)]) {
    let mut seen: BTreeMap<&str, Range<usize>> = BTreeMap::new();
    let mut expected = Letter::first();
    for (revision, place, _) in rows {
        let letter = &revision.letter;
        if let Some(first) = seen.get(letter.as_str()) {
            let title = format!("there are two revisions {letter}");
            let problem = Problem::new("ledger/repeated", title, place.clone(), "here again");
            reader.note(problem.with(first.clone(), "first here").mend(format!(
                "take one of the two entries out and adopt its design again: fretwork adopt {} --pick {}",
                revision.run, revision.design
            )));
            continue;
        }
        if *letter != expected {
            let title = format!("revision {letter} stands where {expected} should");
            let problem = Problem::new(
                "ledger/gap",
                title,
                place.clone(),
                format!("{expected} is missing"),
            );
            reader.note(
                problem
                    .mend("put the entry that is missing back from version control, in its order"),
            );
        }
        seen.insert(letter.as_str(), place.clone());
        expected = letter.next();
    }
}

/// The span up to the end of its first line.
fn first_line(text: &str, span: &Range<usize>) -> Range<usize> {
    let rest = text.get(span.start..).unwrap_or_default();
    span.start..span.start + rest.lines().next().map_or(0, str::len)
}
