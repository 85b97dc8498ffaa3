//! The calls into the other rooms, in one place.
//!
//! UNFINISHED until the rooms are joined: every `todo!` here is one call to connect.
#![expect(
    unused_variables,
    reason = "the rooms behind these calls are still being built"
)]

use std::path::Path;

use crate::evaluate::Sheet;
use crate::run::{Batch, Finished, Job, Known, Meaning, Mistakes, Next, Overrides, Source};
use crate::store::{Manifest, Stored};

/// A catalogue as text, for printing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Listing {
    /// Names of the columns, units included.
    pub headers: Vec<String>,
    /// Cells, row by row.
    pub rows: Vec<Vec<String>>,
}

/// What can be listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Catalogue {
    /// Materials with density, stiffness, strength and machining figures.
    Materials,
    /// Drills in the built-in index.
    Drills,
    /// End mills.
    EndMills,
    /// Milling machines.
    Machines,
}

/// The commented study to start from.
pub fn starter() -> &'static str {
    todo!("study::starter()")
}

/// The catalogue file that a study names, relative to the study file.
pub fn catalogue_file(study: &str) -> Option<String> {
    todo!("study::catalogue_file(study)")
}

/// A study, read and checked.
///
/// # Errors
/// All mistakes of the study and of its catalogue file.
pub fn read(source: &Source, overrides: Overrides) -> Result<Job, Mistakes> {
    todo!("study::read, catalogue; frozen numbers of the job")
}

/// What a study means, in words.
pub fn meaning(job: &Job) -> Meaning {
    todo!("study::describe")
}

/// One design in full: today's revision with some variables set to other values (`("hole", "2.8 mm")`).
///
/// # Errors
/// Unknown variables, values that can't be read or that the variable can't take.
pub fn design(job: &Job, set: &[(String, String)]) -> Result<Sheet, Mistakes> {
    todo!("evaluate one design, in full")
}

/// Evaluates some designs spread over the space on this thread, to see how long it takes.
pub fn probe(job: &Job, count: usize) {
    todo!("evaluate `count` designs as the search would")
}

/// Explores: hands every batch of designs, known ones included, to the observer, and returns the whole run.
///
/// # Errors
/// In words, why the space can't be explored.
pub fn explore(
    job: &Job,
    known: &Known,
    observer: &mut dyn FnMut(&Batch) -> Next,
) -> Result<Finished, String> {
    todo!("explore::explore over evaluate, then analyse")
}

/// A run as it was, its baseline and candidates evaluated again.
///
/// # Errors
/// In words, why the stored run can't be evaluated.
pub fn recall(job: &Job, stored: &Stored) -> Result<Finished, String> {
    todo!("as `explore` ends, from stored designs")
}

/// The review page of a run: one HTML file.
pub fn page(run: &Finished, facts: &Facts) -> String {
    todo!("review::page")
}

/// What the page says of its making.
#[derive(Clone, Debug)]
#[expect(dead_code, reason = "read by `page` once it is connected")]
pub struct Facts {
    /// Version of the program that made the designs: `0.1.0`.
    pub tool_version: String,
    /// Name of the run folder: `yaw-ring-001`.
    pub run_name: String,
    /// When the run was begun (RFC 3339, UTC).
    pub date: String,
}

impl Facts {
    /// Of the run in a folder.
    pub fn of(manifest: &Manifest, folder: &Path) -> Self {
        let version = manifest.tool.rsplit(' ').next().unwrap_or_default();
        Facts {
            tool_version: version.to_string(),
            run_name: folder
                .file_name()
                .map_or_else(String::new, |name| name.to_string_lossy().into_owned()),
            date: manifest.started.clone(),
        }
    }
}

/// Plots of a run: (file stem, SVG).
pub fn plots(run: &Finished) -> Vec<(String, String)> {
    todo!("review::plots")
}

/// A catalogue, a user's file added (its name, its text).
///
/// # Errors
/// In words, what is wrong with the user's file.
pub fn listing(which: Catalogue, own: Option<(&str, &str)>) -> Result<Listing, String> {
    todo!("catalogue::Catalogue::*_table")
}
