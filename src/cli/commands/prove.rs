//! `fretwork prove`: single designs in solid on the finest mesh, with pictures.

use std::path::Path;

use super::{mistaken, prepared, review, show, tell};
use crate::cli::{Failure, json, proof};
use crate::evaluate::Evaluator;
use crate::review::solid_picture;
use crate::run::{Next, Overrides, Prepared, design_point, learn, prepare, row_point};
use crate::solid::Density;
use crate::store;

/// Natural vibrations looked for.
const VIBRATIONS: usize = 10;

/// What is to be proved.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// Study file or run folder.
    pub of: &'a Path,
    /// Variables set to other values than the baseline's, in a study.
    pub set: &'a [(String, String)],
    /// Designs of a run.
    pub pick: &'a [usize],
    /// Folder for pictures.
    pub to: &'a Path,
    /// Whether the middle mesh is fine enough.
    pub quick: bool,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// Solves designs of a study or of a run as solids.
///
/// # Errors
/// Mistakes in the study, a folder that is no run, a design that is not there or can't be meshed.
pub fn prove(ask: &Ask) -> Result<(), Failure> {
    let (evaluator, designs) = if store::is_run(ask.of) {
        of_run(ask)?
    } else {
        of_study(ask)?
    };
    for (name, values) in designs {
        prove_one(ask, &evaluator, &name, &values)?;
    }
    Ok(())
}

type Points = Vec<(String, Vec<f64>)>;

fn of_study(ask: &Ask) -> Result<(Evaluator, Points), Failure> {
    if let Some(pick) = ask.pick.first() {
        return Err(Failure::call(
            format!("there is no design {pick} in a study"),
            "name a run folder, or set variables: --set 'hole=3 mm'",
        ));
    }
    let prepared = prepared(ask.of, Overrides::default())?;
    need_part(&prepared)?;
    let values = design_point(&prepared, ask.set).map_err(|mistakes| mistaken(&mistakes))?;
    let name = if ask.set.is_empty() {
        "baseline"
    } else {
        "design"
    };
    Ok((prepared.evaluator, vec![(name.into(), values)]))
}

fn of_run(ask: &Ask) -> Result<(Evaluator, Points), Failure> {
    if !ask.set.is_empty() {
        return Err(Failure::call(
            "the designs of a run are fixed",
            "pick one, --pick 12, or name the study file",
        ));
    }
    let stored = store::open(ask.of)?;
    let overrides = Overrides {
        seed: Some(stored.manifest.seed),
        evaluations: Some(stored.manifest.evaluations),
    };
    let prepared =
        prepare(&review::source(&stored), overrides).map_err(|mistakes| mistaken(&mistakes))?;
    need_part(&prepared)?;
    let lessons = stored.lessons(&prepared.job)?;
    let learnt = learn(&prepared, &lessons, &mut |_| Next::Continue)
        .map_err(|why| Failure::call(format!("failed to {why}"), "run the study again"))?;
    let picks = match ask.pick {
        [] => stored.front.iter().copied().take(1).collect(),
        picks => picks.to_vec(),
    };
    let mut designs = Vec::new();
    for pick in picks {
        let Some(row) = stored.row(pick)? else {
            return Err(Failure::call(
                format!("the run has no design {pick}"),
                format!(
                    "its designs are 0 to {}",
                    stored.designs.len().saturating_sub(1)
                ),
            ));
        };
        let values = row_point(&prepared, &row);
        designs.push((format!("design-{pick}"), values));
    }
    Ok((learnt.evaluator, designs))
}

fn need_part(prepared: &Prepared) -> Result<(), Failure> {
    match prepared.evaluator.has_part() {
        true => Ok(()),
        false => Err(Failure::call(
            "there is no part to solve as a solid: all measures of the study are its program's",
            "see fretwork try",
        )),
    }
}

fn prove_one(ask: &Ask, evaluator: &Evaluator, name: &str, values: &[f64]) -> Result<(), Failure> {
    let densities = match ask.quick {
        true => (Density::Coarse, Density::Fine),
        false => (Density::Fine, Density::Finest),
    };
    let fault = |error: crate::evaluate::NoSolid| {
        Failure::other(
            format!("failed to {error}"),
            "see fretwork try for the beam's answer",
        )
    };
    let proved = evaluator
        .prove(values, densities, VIBRATIONS)
        .map_err(fault)?;
    {
        let folder = ask.to;
        std::fs::create_dir_all(folder).map_err(|error| {
            Failure::other(format!("failed to make {}: {error}", folder.display()), "")
        })?;
        for picture in evaluator.pictures(values, Density::Fine).map_err(fault)? {
            let file = folder.join(format!("{name}-{}.svg", picture.load));
            let svg = solid_picture(&picture, &format!("{name}, load case {}", picture.load));
            store::write_whole(&file, svg.as_bytes())?;
            tell(&format!("wrote {}", file.display()));
        }
    }
    show(|out| {
        if ask.as_json {
            return writeln!(out, "{}", json::proof(name, &proved));
        }
        writeln!(out, "{name}")?;
        proof::print(out, &proved)
    })
}
