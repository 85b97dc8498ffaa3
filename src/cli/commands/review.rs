//! `fretwork review`: page, paper and plots of a run, made anew.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::{mistaken, records, rooms, show};
use crate::cli::Failure;
use crate::cli::rooms::Paper;
use crate::drawing;
use crate::review::{self, PageFacts};
use crate::run::{Finished, Overrides, Source, prepare};
use crate::store::{self, StoreError, Stored};

/// What is to be made of a run.
#[derive(Clone, Copy, Debug)]
pub struct Ask<'a> {
    /// Run folder.
    pub run: &'a Path,
    /// File for the page.
    pub out: Option<&'a Path>,
    /// File with a decision whose picks and words are put onto the page.
    pub decision: Option<&'a Path>,
    /// File for the review on paper.
    pub pdf: Option<&'a Path>,
    /// Its paper.
    pub paper: Paper,
    /// Designs that it shows in full.
    pub pick: &'a [usize],
    /// Folder for plots.
    pub plots: Option<&'a Path>,
    /// Dots across a picture.
    pub width: u32,
}

/// Reads a run folder, evaluates its baseline and candidates again, and writes what is asked for: the page, the review
/// on paper, plots.
///
/// # Errors
/// A folder that is no run or is damaged; a design that it has not; an existing file where page or paper should go.
pub fn review(ask: &Ask) -> Result<(), Failure> {
    let stored = store::open(ask.run)?;
    let manifest = stored.manifest.clone();
    let overrides = Overrides {
        seed: Some(stored.manifest.seed),
        evaluations: Some(stored.manifest.evaluations),
    };
    let prepared = prepare(&source(&stored), overrides).map_err(|mistakes| mistaken(&mistakes))?;
    let held = |pick: &&usize| !stored.designs.holds(**pick);
    if let Some(missing) = ask.pick.iter().find(held) {
        return Err(Failure::call(
            format!("the run has no design {missing}, or did not keep it"),
            format!(
                "its designs are 0 to {}",
                stored.designs.len().saturating_sub(1)
            ),
        ));
    }
    for file in ask.out.iter().chain(&ask.pdf) {
        refuse_existing(file)?;
    }
    let records = records::of_run(&stored, ask.decision)?;
    let finished = rooms::recall(&prepared, stored, ask.pick)
        .map_err(|why| Failure::call(format!("failed to {why}"), "run the study again"))?;
    let facts = rooms::facts(&prepared, &manifest, ask.run, records);
    let (mut written, mut plots) = (Vec::new(), None);
    if ask.out.is_some() || (ask.pdf.is_none() && ask.plots.is_none()) {
        let page = review::page(&finished, &facts);
        written.push(match ask.out {
            None => store::replace_page(ask.run, &page)?,
            Some(out) => new_file(out, page.as_bytes())?,
        });
    }
    if let Some(pdf) = ask.pdf {
        let paper = match ask.paper {
            Paper::A4 => review::Paper::A4,
            Paper::Letter => review::Paper::Letter,
        };
        let bytes = review::paper(&finished, &facts, paper, ask.pick).map_err(failed)?;
        written.push(new_file(pdf, &bytes)?);
    }
    if let Some(folder) = ask.plots {
        plots = Some((folder, write_plots(&finished, &facts, folder, ask.width)?));
    }
    show(|out| {
        for file in &written {
            writeln!(out, "wrote {}", file.display())?;
        }
        if let Some((folder, count)) = plots {
            let folder = folder.display();
            writeln!(
                out,
                "wrote {count} plots to {folder}, each as SVG and as PNG"
            )?;
        }
        Ok(())
    })
}

/// Every plot as SVG and as PNG; earlier ones of the same name are replaced.
fn write_plots(
    run: &Finished,
    facts: &PageFacts,
    folder: &Path,
    width: u32,
) -> Result<usize, Failure> {
    fs::create_dir_all(folder).map_err(|error| {
        Failure::other(format!("failed to make {}: {error}", folder.display()), "")
    })?;
    let slides = review::slides(run, facts);
    for (stem, svg) in &slides {
        let picture = drawing::picture(svg, width).map_err(failed)?;
        for (kind, bytes) in [("svg", svg.as_bytes()), ("png", &picture)] {
            let file = folder.join(format!("{stem}.{kind}"));
            store::write_whole(&file, bytes)?;
        }
    }
    Ok(slides.len())
}

fn failed(why: String) -> Failure {
    Failure::other(format!("failed to {why}"), "")
}

/// Says at once, not after a minute of work, that a file is there already.
fn refuse_existing(file: &Path) -> Result<(), Failure> {
    match fs::symlink_metadata(file) {
        Ok(_) => Err(there_already(file)),
        Err(_) => Ok(()),
    }
}

fn there_already(out: &Path) -> Failure {
    Failure::call(
        format!("{} is there already, and stays as it is", out.display()),
        "choose another name, or remove the file",
    )
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
    new_file(out, page.as_bytes()).map(|_| ())
}

fn new_file(out: &Path, bytes: &[u8]) -> Result<PathBuf, Failure> {
    let written = store::write_new(out, bytes).map_err(|error| match &error {
        StoreError::Write { cause, .. } if cause.kind() == io::ErrorKind::AlreadyExists => {
            there_already(out)
        }
        _ => Failure::other(
            format!("failed to {error}"),
            "choose a folder you may write to",
        ),
    });
    written.map(|()| out.to_path_buf())
}
