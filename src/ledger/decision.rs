//! What a design meeting decided, as the review page exports it.

use std::collections::BTreeMap;

use super::Date;
use super::fields::{Reader, parse};
use super::quantity::Quantity;
use crate::study::Problem;

/// Format number of decisions.
pub const DECISION_FORMAT: usize = 1;

/// A decision.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// File stem of the study.
    pub study: String,
    /// Name of the run folder.
    pub run: String,
    /// What the designs of the run follow from, in one number, as its manifest has it.
    pub run_fingerprint: String,
    /// Day of the decision.
    pub date: Date,
    /// Who decided; may be empty.
    pub by: Vec<String>,
    /// Number of the design chosen, if one was.
    pub chosen: Option<usize>,
    /// Why; may be empty.
    pub reason: String,
    /// Designs that were marked.
    pub picks: Vec<Pick>,
}

/// A design that was marked.
#[derive(Clone, Debug, PartialEq)]
pub struct Pick {
    /// Its number in the run; 0 is today's revision.
    pub design: usize,
    /// What was said of it; may be empty.
    pub remark: String,
    /// Its dimensions, by which it is found in another run of the study.
    pub dimensions: Vec<Quantity>,
    /// Line of the file in which its number stands, from 1.
    pub line: usize,
    /// Column in that line, in letters, from 1.
    pub column: usize,
}

const TOP: [&str; 10] = [
    "format",
    "kind",
    "study",
    "run",
    "run_fingerprint",
    "date",
    "by",
    "chosen",
    "reason",
    "pick",
];
const PICK: [&str; 3] = ["design", "remark", "dimensions"];

/// The decision of a text.
///
/// # Errors
/// Every problem found, in the order of the text.
pub fn read_decision(text: &str) -> Result<Decision, Vec<Problem>> {
    let document = parse(text, "decision")?;
    let mut reader = Reader::default();
    let root = document.get_ref();
    if root.contains_key("revision") && !root.contains_key("kind") {
        let problem = Problem::new(
            "ledger/other-kind",
            "this is a ledger, not a decision",
            0..0,
            "begins here",
        );
        return Err(vec![
            problem.mend("name the file that the review page exported"),
        ]);
    }
    let top = reader.fields(root, 0..0, "a decision", &TOP);
    let (kind, format) = (reader.text(&top, "kind"), reader.whole(&top, "format"));
    if reader.problems.is_empty() {
        let other = match (kind.as_str(), format) {
            ("decision", DECISION_FORMAT) => None,
            ("decision", _) => Some(
                Problem::new(
                    "ledger/format",
                    format!("this decision is in format {format}, unknown here"),
                    top.place("format"),
                    format!("this program reads format {DECISION_FORMAT}"),
                )
                .mend("use the newer fretwork, or export the decision again from a page made by this one"),
            ),
            _ => Some(
                Problem::new("ledger/other-kind", "this is no decision", top.place("kind"), "another kind of file")
                    .mend("name the file that the review page exported"),
            ),
        };
        if let Some(problem) = other {
            return Err(vec![problem]);
        }
    }
    let decision = Decision {
        study: reader.text(&top, "study"),
        run: reader.text(&top, "run"),
        run_fingerprint: reader.text(&top, "run_fingerprint"),
        date: reader
            .date(&top, "date")
            .or(Date::new(1, 1, 1))
            .ok_or_else(Vec::new)?,
        by: reader.texts(&top, "by"),
        chosen: reader.optional_whole(&top, "chosen"),
        reason: reader.optional_text(&top, "reason"),
        picks: read_picks(&mut reader, text, &top),
    };
    let known = |design: usize| decision.picks.iter().any(|pick| pick.design == design);
    if let Some(chosen) = decision.chosen.filter(|chosen| !known(*chosen)) {
        let title = format!("design {chosen} is chosen, but is not among the picks");
        let problem = Problem::new(
            "ledger/no-such-pick",
            title,
            top.place("chosen"),
            "no [[pick]] has this number",
        );
        reader.note(
            problem.mend(
                "choose one of the picks, or add its [[pick]] with `design` and its dimensions",
            ),
        );
    }
    let mut problems = reader.problems;
    if problems.is_empty() {
        return Ok(decision);
    }
    problems.sort_by_key(|problem| problem.spans[0].0.start);
    Err(problems)
}

fn read_picks(reader: &mut Reader, text: &str, top: &super::fields::Fields) -> Vec<Pick> {
    let mut picks = Vec::new();
    let mut seen = BTreeMap::new();
    for fields in reader.tables(top, "pick", "a pick", &PICK) {
        let design = reader.whole(&fields, "design");
        let place = fields.place("design");
        if let Some(first) = seen.insert(design, place.clone()) {
            let title = format!("design {design} is picked twice");
            let problem = Problem::new("ledger/repeated", title, place.clone(), "here again")
                .with(first, "first here");
            reader.note(problem.mend("take one of the two out"));
        }
        let before = text.get(..place.start).unwrap_or_default();
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        picks.push(Pick {
            design,
            remark: reader.optional_text(&fields, "remark"),
            dimensions: reader.quantities(&fields, "dimensions"),
            line: 1 + before.matches('\n').count(),
            column: 1 + before[line_start..].chars().count(),
        });
    }
    picks
}
