//! `fretwork history`: what became of the figures of a study from revision to revision.

use std::path::{Path, PathBuf};

use super::records;
use super::review::write;
use super::{show, tell};
use crate::cli::{Failure, history as printed};
use crate::ledger::{History, Measure};
use crate::{review, store};

/// What is to be shown, and where.
#[derive(Clone, Copy, Debug)]
pub struct Ask<'a> {
    /// Study or ledger.
    pub of: &'a Path,
    /// Measures to show, instead of the objectives.
    pub measures: &'a [String],
    /// New file for a picture.
    pub svg: Option<&'a Path>,
    /// New file for a page.
    pub page: Option<&'a Path>,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// Prints the revisions of a study beside each other, and draws them where that is asked for.
///
/// # Errors
/// No ledger, or one at fault; a measure that no revision tells; an existing file where picture or page should go.
pub fn history(ask: &Ask) -> Result<(), Failure> {
    let file = ledger_of(ask.of);
    let open = records::ledger(&file)?.ok_or_else(|| {
        Failure::call(
            format!("there is no ledger {}", file.display()),
            "adopt a design of a run first: fretwork adopt RUN --pick ID --reason TEXT",
        )
    })?;
    let history = History::of(&open.ledger);
    if history.steps.is_empty() {
        return Err(Failure::call(
            format!("{} holds no revision", file.display()),
            "adopt a design of a run first: fretwork adopt RUN --pick ID --reason TEXT",
        ));
    }
    let shown = shown(ask, &history)?;
    show(|out| match ask.as_json {
        true => writeln!(out, "{}", printed::json(&history)),
        false => printed::print(out, &history, &shown),
    })?;
    let drawn: Vec<usize> = match ask.measures {
        [] => (0..history.measures.len())
            .filter(|at| is_drawn(&history.measures[*at]))
            .collect(),
        _ => shown,
    };
    if let Some(svg) = ask.svg {
        write(svg, &review::history_plot(&history, &drawn))?;
        tell(&format!("wrote {}", svg.display()));
    }
    if let Some(page) = ask.page {
        write(
            page,
            &review::history_page(&history, &drawn, &store::tool()),
        )?;
        tell(&format!("wrote {}", page.display()));
    }
    Ok(())
}

/// Whether a measure is drawn unasked: what never moved stands in the table alone.
fn is_drawn(measure: &Measure) -> bool {
    let mut told = measure.values.iter().flatten();
    let first = told.next();
    measure.sense.is_some() || told.any(|value| Some(value) != first)
}

/// The ledger itself, or the one beside a study.
fn ledger_of(of: &Path) -> PathBuf {
    match store::study_beside(of) {
        Some(_) => of.to_path_buf(),
        None => {
            let beside = store::ledger_beside(of);
            // A ledger may have a name of its own.
            let own = !beside.is_file()
                && store::read_record(of).is_ok_and(|text| text.contains("[[revision]]"));
            if own { of.to_path_buf() } else { beside }
        }
    }
}

/// Which measures to show: those named, else the objectives, else the first.
fn shown(ask: &Ask, history: &History) -> Result<Vec<usize>, Failure> {
    let all = &history.measures;
    if ask.measures.is_empty() {
        let goals: Vec<usize> = (0..all.len())
            .filter(|at| all[*at].sense.is_some())
            .collect();
        return Ok(match goals.is_empty() {
            true => (0..all.len().min(3)).collect(),
            false => goals,
        });
    }
    let place = |name: &String| {
        all.iter()
            .position(|measure| measure.name == *name)
            .ok_or_else(|| {
                let names: Vec<String> = all
                    .iter()
                    .map(|measure| records::shown(&measure.name))
                    .collect();
                Failure::call(
                    format!(
                        "the revisions do not all tell the measure `{}`",
                        records::shown(name)
                    ),
                    format!("they tell: {}", names.join(", ")),
                )
            })
    };
    ask.measures.iter().map(place).collect()
}
