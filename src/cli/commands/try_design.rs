//! `fretwork try`: one design in full.

use std::path::Path;

use super::{mistaken, prepared, show};
use crate::cli::{Failure, json, proof, sheet};
use crate::evaluate::NoSolid;
use crate::run::{Overrides, design, design_point};
use crate::solid::Density;

/// Evaluates one design and prints its sheet, the baseline beside it where the design is another one.
///
/// # Errors
/// Mistakes in the study or in what is set.
pub fn try_design(
    study: &Path,
    set: &[(String, String)],
    beam: bool,
    as_json: bool,
) -> Result<(), Failure> {
    let prepared = prepared(study, Overrides::default())?;
    let values = design_point(&prepared, set).map_err(|mistakes| mistaken(&mistakes))?;
    let mut tried = prepared.evaluator.sheet(&values);
    if !beam {
        match prepared
            .evaluator
            .prove(&values, (Density::Coarse, Density::Fine), 1)
        {
            Ok(proof) => tried.proof = Some(proof),
            // A design that is no part has been remarked on already.
            Err(NoSolid::Design(_)) => {}
            Err(why) => tried.remarks.push(format!(
                "no solid answer, the beam's stands: failed to {why}"
            )),
        }
    }
    if as_json {
        return show(|out| writeln!(out, "{:#}", json::sheet(&tried)));
    }
    let baseline = match set.is_empty() {
        true => None,
        false => Some(design(&prepared, &[]).map_err(|mistakes| mistaken(&mistakes))?),
    };
    show(|out| {
        sheet::print(out, &prepared.job.title, &tried, baseline.as_ref())?;
        match &tried.proof {
            Some(found) => proof::print(out, found),
            None => Ok(()),
        }
    })
}
