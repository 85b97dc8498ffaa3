//! `fretwork review`: the page of a run, made anew.

use std::io;
use std::path::Path;

use super::{mistaken, records, rooms, show};
use crate::cli::Failure;
use crate::run::{Overrides, Source, prepare};
use crate::store::{self, StoreError, Stored};

/// Reads a run folder, evaluates its baseline and candidates again, and writes the page.
///
/// # Errors
/// A folder that is no run or is damaged; an existing file where the page should go.
pub fn review(run: &Path, out: Option<&Path>, decision: Option<&Path>) -> Result<(), Failure> {
    let stored = store::open(run)?;
    let manifest = stored.manifest.clone();
    let overrides = Overrides {
        seed: Some(stored.manifest.seed),
        evaluations: Some(stored.manifest.evaluations),
    };
    let prepared = prepare(&source(&stored), overrides).map_err(|mistakes| mistaken(&mistakes))?;
    let records = records::of_run(&stored, decision)?;
    let finished = rooms::recall(&prepared, stored)
        .map_err(|why| Failure::call(format!("failed to {why}"), "run the study again"))?;
    let page = rooms::page(&prepared, &finished, &manifest, run, records);
    let written = match out {
        None => store::replace_page(run, &page)?,
        Some(out) => {
            write(out, &page)?;
            out.to_path_buf()
        }
    };
    show(|out| writeln!(out, "wrote {}", written.display()))
}

pub(super) fn source(stored: &Stored) -> Source {
    Source {
        file: stored.path.join("study.toml").display().to_string(),
        study: stored.manifest.study.clone(),
        text: stored.study_text.clone(),
        catalogue: Some(stored.catalogue_text.clone()),
    }
}

pub(super) fn write(out: &Path, page: &str) -> Result<(), Failure> {
    store::write_new(out, page.as_bytes()).map_err(|error| match &error {
        StoreError::Write { cause, .. } if cause.kind() == io::ErrorKind::AlreadyExists => {
            Failure::call(
                format!("{} is there already, and stays as it is", out.display()),
                "choose another name, or remove the file",
            )
        }
        _ => Failure::other(
            format!("failed to {error}"),
            "choose a folder you may write to",
        ),
    })
}
