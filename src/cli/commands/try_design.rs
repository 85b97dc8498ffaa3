//! `fretwork try`: one design in full.

use std::path::Path;

use super::{mistaken, prepared, show};
use crate::cli::{Failure, json, sheet};
use crate::run::{Overrides, design};

/// Evaluates one design and prints its sheet, the baseline beside it where the design is another one.
///
/// # Errors
/// Mistakes in the study or in what is set.
pub fn try_design(study: &Path, set: &[(String, String)], as_json: bool) -> Result<(), Failure> {
    let prepared = prepared(study, Overrides::default())?;
    let tried = design(&prepared, set).map_err(|mistakes| mistaken(&mistakes))?;
    if as_json {
        return show(|out| writeln!(out, "{:#}", json::sheet(&tried)));
    }
    let baseline = match set.is_empty() {
        true => None,
        false => Some(design(&prepared, &[]).map_err(|mistakes| mistaken(&mistakes))?),
    };
    show(|out| sheet::print(out, &prepared.job.title, &tried, baseline.as_ref()))
}
