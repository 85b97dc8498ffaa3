//! `fretwork try`: one design in full.

use std::path::Path;

use super::{mistaken, prepared_to_ask, show, tell};
use crate::cli::{Failure, json, proof, sheet};
use crate::drawing::{standalone, tool_path_view};
use crate::evaluate::{Evaluator, NoSolid, Sheet};
use crate::run::{Overrides, design, design_point};
use crate::solid::Density;
use crate::store;

/// Evaluates one design and prints its sheet, the baseline beside it where the design is another one.
///
/// # Errors
/// Mistakes in the study or in what is set; a folder for drawings that can't be written.
pub fn try_design(
    study: &Path,
    set: &[(String, String)],
    beam: bool,
    paths: Option<&Path>,
    allow_command: bool,
    as_json: bool,
) -> Result<(), Failure> {
    let prepared = prepared_to_ask(study, Overrides::default(), allow_command)?.prepared;
    let values = design_point(&prepared, set).map_err(|mistakes| mistaken(&mistakes))?;
    let mut tried = prepared.evaluator.sheet(&values);
    if !beam && prepared.evaluator.has_part() {
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
    if let Some(folder) = paths {
        draw(&prepared.evaluator, &tried, folder)?;
    }
    if as_json {
        return show(|out| writeln!(out, "{:#}", json::sheet(&tried)));
    }
    let baseline = match set.is_empty() {
        true => None,
        false => Some(design(&prepared, &[]).map_err(|mistakes| mistaken(&mistakes))?),
    };
    show(|out| {
        let cautions = match prepared.evaluator.has_part() {
            true => sheet::CAUTIONS.as_slice(),
            false => &sheet::CAUTIONS_OUTSIDE,
        };
        let title = &prepared.job.title;
        sheet::print(out, title, &tried, baseline.as_ref(), cautions)?;
        match &tried.proof {
            Some(found) => proof::print(out, found),
            None => Ok(()),
        }
    })
}

/// The tool path of every setup, to scale, a file each.
fn draw(evaluator: &Evaluator, sheet: &Sheet, folder: &Path) -> Result<(), Failure> {
    let (Some(part), Some(layout)) = (&sheet.part, &sheet.layout) else {
        return Ok(());
    };
    let Some(simulation) = evaluator.simulation(part, layout) else {
        return Ok(());
    };
    std::fs::create_dir_all(folder).map_err(|error| {
        Failure::other(format!("failed to make {}: {error}", folder.display()), "")
    })?;
    let moving = simulation
        .operations
        .iter()
        .filter(|each| !each.moves.is_empty());
    let setups = moving.map(|each| each.setup).max().unwrap_or(0);
    for setup in 1..=setups {
        let file = folder.join(format!("setup-{setup}.svg"));
        let drawing = tool_path_view(part, layout, &simulation, setup, None);
        store::write_whole(&file, standalone(&drawing).as_bytes())?;
        tell(&format!("wrote {}", file.display()));
    }
    Ok(())
}
