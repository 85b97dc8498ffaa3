//! `fretwork gather`: the shards of a run put together.

use std::path::{Path, PathBuf};

use super::run::{Before, perform};
use super::{mistaken, tell};
use crate::cli::Failure;
use crate::run::{Overrides, Source, prepare};
use crate::store::Shards;

/// Puts shards together into the run that they are parts of: nothing is evaluated again but the candidates.
///
/// # Errors
/// Folders that are no shards, or not of one run; a shard that is missing or unfinished; a folder that can't be
/// written.
pub fn gather(
    folders: &[PathBuf],
    results: &Path,
    threads: Option<u16>,
    as_json: bool,
) -> Result<(), Failure> {
    let shards = Shards::of(folders)?;
    let source = Source {
        file: shards.first().join("study.toml").display().to_string(),
        study: shards.study.clone(),
        text: shards.study_text.clone(),
        catalogue: Some(shards.catalogue_text.clone()),
    };
    let overrides = Overrides {
        seed: Some(shards.seed),
        evaluations: Some(shards.evaluations),
    };
    let mut prepared = prepare(&source, overrides).map_err(|mistakes| mistaken(&mistakes))?;
    prepared.job.program = shards.program.clone();
    let (parts, lessons) = shards.parts(&prepared.job)?;
    tell(&format!("{} designs gathered", parts.designs()));
    let before = Before {
        shards: Some((parts, lessons)),
        ..Before::default()
    };
    perform(&prepared, before, results, threads, as_json)
}
