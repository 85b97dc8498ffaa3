//! `fretwork scatter`: designs as they would come out of the shop.

use std::path::Path;

use super::{picked, show};
use crate::cli::{Failure, scatter};
use crate::run::{Prepared, scatter as scattered};
use crate::store;

/// What is to be scattered.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// Study file or run folder.
    pub of: &'a Path,
    /// Variables set to other values than the baseline's, in a study.
    pub set: &'a [(String, String)],
    /// Designs of a run.
    pub pick: &'a [usize],
    /// Copies of each design.
    pub samples: usize,
    /// Seed of the copies; the study's where none is given.
    pub seed: Option<u64>,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// Scatters designs of a study or of a run, and prints what becomes of their figures.
///
/// # Errors
/// Mistakes in the study, a folder that is no run, a design that is not there, can't be made, or has nothing that
/// scatters.
pub fn scatter(ask: &Ask) -> Result<(), Failure> {
    let (prepared, designs) = if store::is_run(ask.of) {
        if !ask.set.is_empty() {
            return Err(Failure::call(
                "the designs of a run are fixed",
                "pick one, --pick 12, or name the study file",
            ));
        }
        let (prepared, stored, picks) = picked::of_run(ask.of, ask.pick)?;
        let point = |pick: usize| picked::point(&prepared, &stored, pick);
        let designs = picks
            .into_iter()
            .map(|pick| (format!("design {pick}"), point(pick)));
        let designs: picked::Points = designs.collect();
        (prepared, designs)
    } else {
        picked::of_study(ask.of, ask.set, ask.pick)?
    };
    for (name, values) in designs {
        one(ask, &prepared, &name, &values)?;
    }
    Ok(())
}

fn one(ask: &Ask, prepared: &Prepared, name: &str, values: &[f64]) -> Result<(), Failure> {
    let seed = ask.seed.unwrap_or(prepared.job.seed);
    let Some(found) = scattered(&prepared.evaluator, values, ask.samples, seed, true) else {
        return Err(Failure::call(
            format!("{name} has no scatter: it can't be made, or nothing deviates"),
            "see `fretwork try`; let the process scatter ([robust] process), or add [[scatter]]",
        ));
    };
    show(|out| {
        if ask.as_json {
            let object = serde_json::json!({ "design": name, "seed": seed, "scatter": found });
            return writeln!(out, "{object}");
        }
        let title = format!("{}: {name} under scatter", prepared.job.title);
        scatter::print(out, &title, &found, prepared.study.objectives.len())
    })
}
