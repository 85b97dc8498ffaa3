//! Plots as SVG: the objectives in pairs, the front over all its axes, how the search went.

mod frame;
mod front;
mod parallel;
mod shade;
mod trace;

use super::drivers::driver_plots;
use super::page::{PageFacts, RevisionMark};
use crate::drawing::standalone;
use crate::run::{Finished, Goal};

pub(super) use frame::tick_words;
pub use frame::ticks;
pub(super) use frame::{Frame, LEFT, SMALL};
pub(super) use front::front_plot;
pub(super) use parallel::parallel_plot;
pub(super) use trace::trace_plot;

/// Static plots of a run as (file stem, complete SVG file): every pair of objectives with front and baseline (a third
/// objective as shade), the front over all objectives and variables, and the hypervolume over the evaluations. Values
/// that are not finite are left out.
pub fn plots(run: &Finished) -> Vec<(String, String)> {
    with_revisions(run, &[])
}

fn with_revisions(run: &Finished, revisions: &[RevisionMark]) -> Vec<(String, String)> {
    let mut plots = Vec::new();
    for first in 0..run.goals.len() {
        for second in first + 1..run.goals.len() {
            let (x, y) = (&run.goals[first], &run.goals[second]);
            let stem = format!("front-{}-{}", file_word(run, x), file_word(run, y));
            plots.push((stem, standalone(&front_plot(run, x, y, revisions))));
        }
    }
    if let Some(plot) = parallel_plot(run) {
        plots.push(("front-all-axes".into(), standalone(&plot)));
    }
    if run.trace.len() > 1 {
        plots.push(("hypervolume".into(), standalone(&trace_plot(&run.trace))));
    }
    plots
}

/// The same with the revisions adopted before, and what drives each measure where that was looked into.
pub fn slides(run: &Finished, facts: &PageFacts) -> Vec<(String, String)> {
    let mut slides = with_revisions(run, &facts.revisions);
    let drawn = facts.drivers.as_ref().map(driver_plots).unwrap_or_default();
    slides.extend(
        drawn
            .into_iter()
            .map(|(stem, plot)| (format!("drivers-{stem}"), standalone(&plot))),
    );
    slides
}

fn file_word(run: &Finished, goal: &Goal) -> String {
    let column = run.columns.get(goal.column);
    let name = column.map_or("", |column| &column.name);
    word_of_file(name, &format!("objective-{}", goal.column))
}

/// A name as a piece of a file name: letters and digits, the rest as single hyphens; another word where none is left.
pub(super) fn word_of_file(name: &str, otherwise: &str) -> String {
    let mut word = String::new();
    for c in name.chars().take(40) {
        if c.is_ascii_alphanumeric() {
            word.push(c.to_ascii_lowercase());
        } else if !word.ends_with('-') && !word.is_empty() {
            word.push('-');
        }
    }
    let word = word.trim_end_matches('-');
    if word.is_empty() {
        otherwise.into()
    } else {
        word.into()
    }
}
