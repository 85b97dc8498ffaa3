//! Designs about which a study's program gave no answer.

use super::data::{Mistakes, Source};
use super::prepare::{Prepared, heading_place, of_study_text};
use crate::evaluate::Sheet;
use crate::study::Problem;

/// A design about which the study's program gave no answer. It counts as infeasible, and is not asked about again.
#[derive(Clone, Debug, PartialEq)]
pub struct Failed {
    /// The design.
    pub design: usize,
    /// Why, in words.
    pub reason: String,
}

/// Reasons that a remark names at most.
const MOST_REASONS: usize = 3;

/// What the reader must know of a run's failures; `None` where there are none.
pub(super) fn remark(failures: &[Failed], designs: usize) -> Option<String> {
    if failures.is_empty() {
        return None;
    }
    let mut reasons: Vec<(usize, &str)> = Vec::new();
    let mut sorted: Vec<&str> = failures.iter().map(|each| each.reason.as_str()).collect();
    sorted.sort_unstable();
    for group in sorted.chunk_by(|a, b| a == b) {
        reasons.push((group.len(), group[0]));
    }
    reasons.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
    let named: Vec<String> = reasons
        .iter()
        .take(MOST_REASONS)
        .map(|(count, reason)| format!("{count} times {reason}"))
        .collect();
    let more = match reasons.len().saturating_sub(MOST_REASONS) {
        0 => String::new(),
        more => format!("; and {more} reasons more"),
    };
    Some(format!(
        "the study's program gave no answer about {} of {designs} designs, which count as infeasible: {}{more} \
         (failures.csv has each)",
        failures.len(),
        named.join("; ")
    ))
}

/// Today's revision, asked about before a run: a program that can't answer for it can't be trusted with the others.
///
/// # Errors
/// That it gives no answer, at the place where the study names the program.
pub fn ask_baseline(source: &Source, prepared: &Prepared) -> Result<Sheet, Mistakes> {
    let baseline = prepared.evaluator.baseline();
    let sheet = prepared.evaluator.sheet(&baseline);
    match prepared.evaluator.take_failure(&baseline) {
        None => Ok(sheet),
        Some(why) => Err(at_command(
            source,
            "run/no-answer",
            format!("the study's program gives no answer about today's revision: {why}"),
            "asked here",
            "mend the program, or `time_limit`; `fretwork try` asks about one design at a time",
        )),
    }
}

/// That a call does not allow the program of a study to be run.
pub fn not_allowed(source: &Source, prepared: &Prepared) -> Mistakes {
    let command = prepared.study.asking.as_ref().map(|asking| &asking.command);
    let command = command.map_or_else(String::new, |command| command.join(" "));
    at_command(
        source,
        "run/not-allowed",
        "the study runs a program of its own, which the call does not allow".into(),
        &format!("runs `{command}`"),
        "look at what it runs, then add --allow-command",
    )
}

fn at_command(
    source: &Source,
    code: &'static str,
    what: String,
    label: &str,
    mend: &str,
) -> Mistakes {
    let place = heading_place(&source.text, "[evaluator]");
    let problem = Problem::new(code, what, place, label).mend(mend);
    of_study_text(source, &[problem])
}
