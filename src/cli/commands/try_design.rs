//! `fretwork try`: one design in full.

use std::path::Path;

use super::{job, mistaken, rooms, show};
use crate::cli::{Failure, json, sheet};
use crate::run::Overrides;

/// Evaluates one design and prints its sheet, the baseline beside it where the design is another one.
///
/// # Errors
/// Mistakes in the study or in what is set.
pub fn try_design(study: &Path, set: &[(String, String)], as_json: bool) -> Result<(), Failure> {
    let job = job(study, Overrides::default())?;
    let design = rooms::design(&job, set).map_err(|mistakes| mistaken(&mistakes))?;
    if as_json {
        return show(|out| writeln!(out, "{:#}", json::sheet(&design)));
    }
    let baseline = match set.is_empty() {
        true => None,
        false => Some(rooms::design(&job, &[]).map_err(|mistakes| mistaken(&mistakes))?),
    };
    show(|out| sheet::print(out, &job.title, &design, baseline.as_ref()))
}
