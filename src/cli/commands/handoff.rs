//! `fretwork handoff`: what is needed to draw and cut a design, in a folder of its own.

use std::io;
use std::path::{Path, PathBuf};

use serde_json::json;

use super::changed::refuse_changed;
use super::records::{self, Place};
use super::{picked, show};
use crate::cli::Failure;
use crate::cli::rooms::{DrawingPaper, Projection};
use crate::cli::table::{Align, Table, width};
use crate::handoff::{self, Facts, HandoffError, Item, Wants};
use crate::ledger::{Date, Revision};
use crate::run::Prepared;
use crate::store::{self, StoreError, Stored};

/// What is to be handed off.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// Study file or run folder.
    pub of: &'a Path,
    /// Variables set to other values than the baseline's, in a study.
    pub set: &'a [(String, String)],
    /// Design of a run.
    pub pick: Option<usize>,
    /// New folder for the files.
    pub to: Option<&'a Path>,
    /// Chord error of the mesh, in mm.
    pub chord_mm: f64,
    /// Which way views are placed.
    pub projection: Projection,
    /// Paper of the drawing.
    pub paper: DrawingPaper,
    /// Day of issue.
    pub date: Option<Date>,
    /// File of the ledger.
    pub ledger: Option<&'a Path>,
    /// Whether to hand off although the study has changed since the run.
    pub despite_changes: bool,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// A design with what its files say of where it comes from.
struct Origin {
    prepared: Prepared,
    values: Vec<f64>,
    run: String,
    design: Option<usize>,
    revision: Option<Revision>,
    fingerprints: [String; 2],
    folder: PathBuf,
}

/// Writes the hand-off of a design of a study or run into a new folder.
///
/// # Errors
/// Mistakes in the study, a folder that is no run, a design that is not there or can't be built; a study that has
/// changed since the run; a folder that is there already or can't be written.
pub fn hand_off(ask: &Ask) -> Result<(), Failure> {
    if !ask.of.exists() {
        return Err(Failure::call(
            format!("there is no run or study {}", ask.of.display()),
            "name a run folder, as in results/yaw-ring-001, or a study file",
        ));
    }
    let origin = match store::is_run(ask.of) {
        true => of_run(ask)?,
        false => of_study(ask)?,
    };
    let folder = ask.to.map_or(origin.folder.clone(), Path::to_path_buf);
    refuse_existing(&folder)?;
    let date = ask.date.map_or_else(store::today, |date| date.to_string());
    let sheet = origin.prepared.evaluator.sheet(&origin.values);
    let conditions = origin.prepared.conditions.as_ref();
    let facts = Facts {
        study: &origin.prepared.job.study,
        title: &origin.prepared.job.title,
        run: &origin.run,
        design: origin.design,
        revision: origin
            .revision
            .as_ref()
            .map_or("", |revision| revision.letter.as_str()),
        by: origin
            .revision
            .as_ref()
            .map_or(&[], |revision| &revision.by[..]),
        fingerprints: [&origin.fingerprints[0], &origin.fingerprints[1]],
        tool: &store::tool(),
        date: &date,
        material: conditions.map_or("", |with| &with.material.name),
        machine: conditions.map_or("", |with| &with.machine.name),
        sheet: &sheet,
    };
    let wants = Wants {
        chord_mm: ask.chord_mm,
        projection: match ask.projection {
            Projection::First => handoff::Projection::First,
            Projection::Third => handoff::Projection::Third,
        },
        paper: match ask.paper {
            DrawingPaper::A4 => handoff::Paper::A4,
            DrawingPaper::A3 => handoff::Paper::A3,
            DrawingPaper::Letter => handoff::Paper::Letter,
            DrawingPaper::Tabloid => handoff::Paper::Tabloid,
        },
    };
    let items = handoff::files(&facts, &wants).map_err(|error| match error {
        HandoffError::NoPart => {
            let why = sheet.remarks.first().map_or("", String::as_str);
            Failure::call(format!("failed to {error}"), why)
        }
        // Its words say the mend.
        error => Failure::call(error.to_string(), ""),
    })?;
    let bytes = store::write_handoff(&folder, &items).map_err(|error| refused(&folder, error))?;
    show(|out| match ask.as_json {
        true => {
            let names: Vec<&str> = items.iter().map(|item| item.name.as_str()).collect();
            writeln!(
                out,
                "{}",
                json!({
                    "folder": folder.display().to_string(),
                    "design": origin.design,
                    "revision": (!facts.revision.is_empty()).then_some(facts.revision),
                    "files": names,
                    "bytes": bytes,
                })
            )
        }
        false => told(out, &folder, &items, &facts),
    })
}

fn told(out: &mut dyn io::Write, folder: &Path, items: &[Item], facts: &Facts) -> io::Result<()> {
    let what = match (facts.design, facts.revision) {
        (None, _) => "the design".to_string(),
        (Some(design), "") => format!("design {design}, which no revision has adopted,"),
        (Some(design), letter) => format!("design {design}, revision {letter},"),
    };
    writeln!(out, "{what} is in {}", folder.display())?;
    let mut table = Table::new(&[("FILES", Align::Left), ("", Align::Wrap)]);
    for item in items {
        table.row([item.name.as_str().into(), item.words.as_str().into()]);
    }
    table.print(out, width())?;
    let broken = facts.sheet.constraints.iter().filter(|judged| !judged.met);
    for judged in broken {
        writeln!(out, "broken: {}", judged.text)?;
    }
    writeln!(
        out,
        "estimates, not a release for manufacture: read the cautions in README.md"
    )
}

fn of_study(ask: &Ask) -> Result<Origin, Failure> {
    let pick: Vec<usize> = ask.pick.into_iter().collect();
    let (prepared, mut points) = picked::of_study(ask.of, ask.set, &pick)?;
    let values = points.pop().map_or_else(Vec::new, |point| point.1);
    let study = prepared.job.study.clone();
    let text = store::sha256(prepared.job.study_text.as_bytes());
    Ok(Origin {
        prepared,
        values,
        run: String::new(),
        design: None,
        revision: None,
        fingerprints: [String::new(), text],
        folder: ask.of.with_file_name(format!("{study}-handoff")),
    })
}

fn of_run(ask: &Ask) -> Result<Origin, Failure> {
    if !ask.set.is_empty() {
        return Err(Failure::call(
            "variables can be set in a study, not in a run",
            "name the study file, or pick a design of the run: --pick ID",
        ));
    }
    let Some(pick) = ask.pick else {
        return Err(Failure::call(
            "nothing says which design to hand off",
            "pick one: --pick ID; fretwork review shows the candidates",
        ));
    };
    let (prepared, stored, picks) = picked::of_run(ask.of, &[pick])?;
    let place = records::place(ask.of, &stored.manifest.study, ask.ledger);
    if let Some(place) = &place {
        refuse_changed(place, &stored, ask.despite_changes, "hand off")?;
    }
    let design = picks[0];
    Ok(Origin {
        values: picked::point(&prepared, &stored, design),
        run: super::rerun::folder_name(ask.of),
        design: Some(design),
        revision: adopted(place.as_ref(), &stored, design)?,
        fingerprints: [
            stored.manifest.fingerprint.clone(),
            store::sha256(stored.study_text.as_bytes()),
        ],
        folder: ask.of.join(format!("handoff-{design}")),
        prepared,
    })
}

/// The latest revision that a design of a run was adopted as.
fn adopted(
    place: Option<&Place>,
    stored: &Stored,
    design: usize,
) -> Result<Option<Revision>, Failure> {
    let Some(place) = place else { return Ok(None) };
    let Some(open) = records::ledger(&place.ledger)? else {
        return Ok(None);
    };
    let same = |revision: &&Revision| {
        revision.run_fingerprint == stored.manifest.fingerprint && revision.design == design
    };
    let revisions = open.ledger.entries.iter().map(|entry| &entry.revision);
    Ok(revisions.rev().find(same).cloned())
}

/// Says at once, not after the work, that something stands in the folder's place.
fn refuse_existing(folder: &Path) -> Result<(), Failure> {
    let empty = || std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_none());
    match std::fs::symlink_metadata(folder) {
        Ok(_) if !empty() => Err(there_already(folder)),
        _ => Ok(()),
    }
}

fn there_already(folder: &Path) -> Failure {
    Failure::call(
        format!("{} is there already, and stays as it is", folder.display()),
        "name another folder: --to FOLDER, or remove it",
    )
}

fn refused(folder: &Path, error: StoreError) -> Failure {
    let cause = match &error {
        StoreError::Write { cause, .. } => Some(cause.kind()),
        _ => None,
    };
    let mend = match cause {
        Some(io::ErrorKind::AlreadyExists) => return there_already(folder),
        Some(io::ErrorKind::StorageFull) => {
            "free some space, then give the same call again: nothing was left behind"
        }
        _ => "name a folder that you may write to: --to FOLDER",
    };
    Failure::other(format!("failed to {error}"), mend)
}
