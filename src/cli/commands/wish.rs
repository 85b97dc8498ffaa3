//! `fretwork wish`: the design of a run that comes nearest to what is wished for.

use std::path::{Path, PathBuf};

use super::mistaken;
use super::rerun::Reopened;
use super::run::{Before, perform};
use crate::cli::Failure;
use crate::run::{self, Overrides, Wished};
use crate::store;

/// What is wished for, and where.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// Folder of the run.
    pub run: &'a Path,
    /// Objectives and what they should be.
    pub wants: &'a [(String, String)],
    /// Formula to be made least instead.
    pub least: Option<&'a str>,
    /// Formula to be made most instead.
    pub most: Option<&'a str>,
    /// Further constraints.
    pub limits: &'a [String],
    /// Folder for run folders.
    pub results: Option<&'a Path>,
    /// Threads.
    pub threads: Option<u16>,
    /// Seed and evaluations.
    pub overrides: Overrides,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// Searches a run's space for the design nearest to a wish, from its candidates on, into a folder of its own.
///
/// # Errors
/// No wish at all; a folder that is no finished run; a wish that can't be read; a folder that can't be written;
/// `Stopped` where Ctrl-C ended it early.
pub fn wish(ask: &Ask) -> Result<(), Failure> {
    let least = ask.least.map(|formula| (formula, false));
    let goal = least.or(ask.most.map(|formula| (formula, true)));
    if goal.is_none() && ask.wants.is_empty() {
        return Err(Failure::call(
            "nothing is wished for",
            "say what an objective should be, --want 'mass=45 g', or what counts alone, --least mass",
        ));
    }
    let opened = Reopened::of(ask.run)?;
    let front = opened.front();
    let today = store::tool();
    let wished = Wished {
        wants: ask.wants,
        goal,
        limits: ask.limits,
        overrides: ask.overrides,
        tool: &today,
    };
    let found = run::wish(&opened.earlier(&front), &wished).map_err(|wrong| mistaken(&wrong))?;
    let before = Before {
        lessons: found.lessons,
        remarks: found.remarks,
        beside: opened.objectives(),
        ..Before::default()
    };
    let beside = ask.run.parent().unwrap_or(Path::new("")).to_path_buf();
    let results = ask.results.map_or(beside, PathBuf::from);
    perform(&found.prepared, before, &results, ask.threads, ask.as_json)
}
