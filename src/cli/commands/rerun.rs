//! `fretwork rerun`: a finished run again, with another material, machine or stock of tools.

use std::path::{Path, PathBuf};

use super::run::{Before, perform};
use super::{mistaken, read_text, refuse_asking, review, tell};
use crate::cli::Failure;
use crate::run::{self, Asked, Earlier, Lesson, Overrides, OwnTools, Prepared, Source};
use crate::store::{self, Status, Stored};

/// What is to be done again, and how.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// Folder of the run.
    pub run: &'a Path,
    /// Material.
    pub material: Option<&'a str>,
    /// Machine.
    pub machine: Option<&'a str>,
    /// File with the tools in stock.
    pub tools: Option<&'a Path>,
    /// Folder for run folders.
    pub results: Option<&'a Path>,
    /// Threads.
    pub threads: Option<u16>,
    /// Seed and evaluations.
    pub overrides: Overrides,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// Explores the study of a finished run under other conditions, into a folder of its own.
///
/// # Errors
/// A folder that is no finished run; unknown materials, machines and tools; a study that can't be made with them; a
/// folder that can't be written; `Stopped` where Ctrl-C ended it early.
pub fn rerun(ask: &Ask) -> Result<(), Failure> {
    let again = Reopened::of(ask.run)?;
    let name = &again.name;
    let tools = match ask.tools {
        Some(file) => Some((
            file.display().to_string(),
            read_text(file, "list of tools")?,
        )),
        None => None,
    };
    let front = again.front();
    let earlier = again.earlier(&front);
    let today = store::tool();
    let asked = Asked {
        material: ask.material,
        machine: ask.machine,
        tools: tools.as_ref().map(|(file, text)| OwnTools { file, text }),
        overrides: ask.overrides,
        tool: &today,
        ..Asked::default()
    };
    let rerun = run::rerun(&earlier, &asked).map_err(|mistakes| mistaken(&mistakes))?;
    let origin = rerun.prepared.job.origin.as_ref();
    if origin.is_some_and(|origin| origin.changes.is_empty()) {
        tell(&format!(
            "nothing is changed: {name} is explored again under its own conditions, from its own candidates on"
        ));
    }
    if ask.overrides.evaluations.is_some() && rerun.prepared.study.plan.kind.is_fixed() {
        tell("the plan says itself how many designs it has: --evaluations has no effect");
    }
    let before = Before {
        lessons: rerun.lessons,
        remarks: rerun.remarks,
        ..Before::default()
    };
    let beside = ask.run.parent().unwrap_or(Path::new("")).to_path_buf();
    let results = ask.results.map_or(beside, PathBuf::from);
    perform(&rerun.prepared, before, &results, ask.threads, ask.as_json)
}

/// A finished run, read.
pub(super) struct Reopened {
    /// Name of its folder.
    pub name: String,
    stored: Stored,
    source: Source,
    prepared: Prepared,
    lessons: Vec<Lesson>,
}

impl Reopened {
    /// Of a folder.
    pub(super) fn of(folder: &Path) -> Result<Reopened, Failure> {
        let stored = finished(folder)?;
        let (source, prepared, lessons) = frozen(&stored)?;
        refuse_asking(
            &prepared,
            &format!("run {} again", folder.display()),
            "change the study file, and run that",
        )?;
        Ok(Reopened {
            name: folder_name(folder),
            stored,
            source,
            prepared,
            lessons,
        })
    }

    /// Rows of its candidates.
    pub(super) fn front(&self) -> Vec<&[f64]> {
        let front = self.stored.front.iter();
        front
            .map(|design| self.stored.designs.row(*design))
            .collect()
    }

    /// Names of its objectives.
    pub(super) fn objectives(&self) -> Vec<String> {
        let goals = self.stored.goals.iter();
        let columns = goals.filter_map(|goal| self.stored.columns.get(goal.column));
        columns.map(|column| column.name.clone()).collect()
    }

    /// What a rerun needs of it.
    pub(super) fn earlier<'a>(&'a self, front: &'a [&'a [f64]]) -> Earlier<'a> {
        Earlier {
            run: &self.name,
            tool: &self.stored.manifest.tool,
            fingerprint: &self.stored.manifest.fingerprint,
            source: &self.source,
            prepared: &self.prepared,
            front,
            goals: &self.stored.goals,
            lessons: &self.lessons,
        }
    }
}

/// A run that did all it was asked for.
pub(super) fn finished(folder: &Path) -> Result<Stored, Failure> {
    let stored = store::open(folder)?;
    if stored.manifest.status == Status::Finished {
        return Ok(stored);
    }
    Err(Failure::call(
        format!(
            "{} is not finished: it holds {} of {} designs",
            folder.display(),
            stored.designs.len(),
            stored.manifest.evaluations
        ),
        "give the call that began it again: it goes on where it was stopped",
    ))
}

/// A run's frozen study: its texts, read by today's program, and the designs it solved as solids.
pub(super) fn frozen(stored: &Stored) -> Result<(Source, Prepared, Vec<Lesson>), Failure> {
    let source = review::source(stored);
    let overrides = Overrides {
        seed: Some(stored.manifest.seed),
        evaluations: Some(stored.manifest.evaluations),
    };
    let prepared = run::prepare(&source, overrides).map_err(|mistakes| mistaken(&mistakes))?;
    // Another version may know other figures of a solid; then they are solved again.
    let lessons = stored.lessons(&prepared.job).unwrap_or_else(|_| {
        tell(&format!(
            "the solids of {} are another version's, and are solved again",
            stored.path.display()
        ));
        Vec::new()
    });
    Ok((source, prepared, lessons))
}

/// Name of a run's folder.
pub(super) fn folder_name(folder: &Path) -> String {
    let whole = folder.canonicalize();
    let whole = whole.as_deref().unwrap_or(folder);
    whole.file_name().map_or_else(
        || folder.display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    )
}
