//! `fretwork screen`: which dimension drives what.

use std::path::Path;

use super::{mistaken, prepared_to_ask, show, tell};
use crate::cli::{Failure, drivers};
use crate::drawing::standalone;
use crate::review::driver_plots;
use crate::run::{self, Overrides, ScreenAsk};
use crate::store;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Ask<'a> {
    /// Study file.
    pub study: &'a Path,
    /// Measures; empty: those of objectives and constraints.
    pub measures: &'a [String],
    /// Designs to evaluate at most.
    pub designs: usize,
    /// Seed; the study's where absent.
    pub seed: Option<u64>,
    /// Folder for pictures.
    pub plots: Option<&'a Path>,
    /// Whether the study may run its program.
    pub allow_command: bool,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// Screens a study's space and prints what drives each measure.
///
/// # Errors
/// A study with mistakes, a measure that it has not, too few designs; a folder that can't be written to.
pub fn screen(ask: &Ask<'_>) -> Result<(), Failure> {
    let prepared = prepared_to_ask(ask.study, Overrides::default(), ask.allow_command)?.prepared;
    let asked = ScreenAsk {
        designs: ask.designs,
        seed: ask.seed.unwrap_or(prepared.job.seed),
        measures: ask.measures.to_vec(),
    };
    let screening = run::screen(&prepared, &asked).map_err(|mistakes| mistaken(&mistakes))?;
    if let Some(folder) = ask.plots {
        std::fs::create_dir_all(folder).map_err(|error| {
            Failure::other(format!("failed to make {}: {error}", folder.display()), "")
        })?;
        for (stem, drawing) in driver_plots(&screening) {
            let file = folder.join(format!("{stem}.svg"));
            store::write_whole(&file, standalone(&drawing).as_bytes())?;
            tell(&format!("wrote {}", file.display()));
        }
    }
    show(|out| match ask.as_json {
        true => writeln!(out, "{}", serde_json::json!(screening)),
        false => drivers::print(out, &screening),
    })
}
