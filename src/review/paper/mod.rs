//! The review on paper: a PDF of A4 or Letter pages, laid out without a browser.
//!
//! `flow` fills pages ([`crate::drawing::leaf`]) one after another, `table` lays out tables. The other files are the parts of the review in their order. Drawings are those of the page, at the scale that they
//! state. Text stays text, so it can be searched; names are cut where there is no room for them.

mod basis;
mod candidates;
mod design;
mod figures;
mod first;
mod flow;
mod making;
mod table;

use super::landmarks::landmarks;
use super::page::{PageFacts, shown_title};
use crate::drawing::lettering::plain;
use crate::drawing::{leaf, write};
use crate::evaluate::Sheet;
use crate::run::{Finished, Told};
use flow::Flow;
use write::About;

/// Candidates that stand for the front where none is picked.
const UNPICKED: usize = 6;

/// Paper to print on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl Paper {
    fn size_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::Letter => (215.9, 279.4),
        }
    }
}

/// A design that is shown in full.
struct Pick<'a> {
    design: usize,
    /// `#1804`, or `baseline`.
    name: String,
    /// What it is on the front: `least mass`; may be empty.
    what: String,
    sheet: &'a Sheet,
    told: Option<&'a Told>,
}

/// The review of a run as the bytes of a PDF file. `picks` are shown in full beside the baseline; where there are none,
/// up to six candidates spread along the front are. A pick without a sheet in `run.sheets` is passed over.
///
/// The same run gives the same bytes: its date is the run's.
///
/// # Errors
/// In words, why the file can't be made.
pub fn paper(
    run: &Finished,
    facts: &PageFacts,
    paper: Paper,
    picks: &[usize],
) -> Result<Vec<u8>, String> {
    let shown = chosen(run, picks);
    let mut flow = Flow::new(paper.size_mm());
    first::draw(&mut flow, run, facts, &shown, picks.is_empty());
    candidates::draw(&mut flow, run, facts, &shown);
    for pick in &shown {
        design::draw(&mut flow, run, facts, pick);
    }
    basis::draw(&mut flow, run, facts);
    let title = plain(shown_title(run));
    let size = flow.size;
    let (leaves, bookmarks) = flow.finish(&format!("{title}, run {}", plain(&facts.run_name)));
    let about = About {
        title: leaf::Hand::new(1.0).cut(&title, 100.0),
        subject: format!("Review of run {}", plain(&facts.run_name)),
        tool: format!("fretwork {}", plain(&facts.tool_version)),
        date: facts.date.clone(),
    };
    write::write(&leaves, &bookmarks, size, &about)
}

/// The baseline, then the picks, or designs that stand for the front.
fn chosen<'a>(run: &'a Finished, picks: &[usize]) -> Vec<Pick<'a>> {
    let marks = landmarks(run, run.goals.len() + 1);
    let what = |design: usize| {
        let mark = marks.iter().find(|mark| mark.design == design);
        mark.map_or(String::new(), |mark| mark.what.clone())
    };
    let mut numbers: Vec<usize> = match picks.is_empty() {
        true => unpicked(run),
        false => picks.to_vec(),
    };
    let mut seen = std::collections::BTreeSet::from([0]);
    numbers.retain(|design| seen.insert(*design));
    let baseline = Pick {
        design: 0,
        name: "baseline".into(),
        what: "today's revision".into(),
        sheet: &run.baseline,
        told: None,
    };
    let rest = numbers.into_iter().filter_map(|design| {
        let (_, sheet) = run.sheets.iter().find(|(known, _)| *known == design)?;
        Some(Pick {
            design,
            name: format!("#{design}"),
            what: what(design),
            sheet,
            told: run.told.iter().find(|told| told.design == design),
        })
    });
    std::iter::once(baseline).chain(rest).collect()
}

/// Ends, knee and some between, of those that have sheets: where the front is long, not all do.
fn unpicked(run: &Finished) -> Vec<usize> {
    let mut narrowed = run.clone();
    let with_sheet = |design: &usize| run.sheets.iter().any(|(known, _)| known == design);
    narrowed.front.retain(with_sheet);
    let marks = landmarks(&narrowed, UNPICKED);
    marks.into_iter().map(|mark| mark.design).collect()
}
