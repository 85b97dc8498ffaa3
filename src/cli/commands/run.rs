//! `fretwork run`: explore a study into a run folder.

use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use super::{prepared, rooms, show, tell};
use crate::cli::progress::Progress;
use crate::cli::{Failure, interrupt, json, summary};
use crate::review;
use crate::run::{
    Batch, Finished, Job, Known, Learnt, Lesson, Next, Overrides, Prepared, explore, learn,
};
use crate::store::Folder;

/// Explores a study, or goes on with a run of it that was stopped.
///
/// # Errors
/// Mistakes in the study; a folder that can't be written; `Stopped` where Ctrl-C ended it early.
pub fn run(
    study: &Path,
    results: &Path,
    threads: Option<u16>,
    overrides: Overrides,
    as_json: bool,
) -> Result<(), Failure> {
    let prepared = prepared(study, overrides)?;
    if overrides.evaluations.is_some() && prepared.study.plan.kind.is_fixed() {
        tell("the plan says itself how many designs it has: --evaluations has no effect");
    }
    perform(&prepared, Before::default(), results, threads, as_json)
}

/// What is known before a run begins.
#[derive(Debug, Default)]
pub(super) struct Before {
    /// Designs solved as solids in an earlier run, which hold in this one.
    pub lessons: Vec<Lesson>,
    /// What the reader must know of the run.
    pub remarks: Vec<String>,
}

/// Explores what was prepared, into a new folder or one that was stopped.
pub(super) fn perform(
    prepared: &Prepared,
    before: Before,
    results: &Path,
    threads: Option<u16>,
    as_json: bool,
) -> Result<(), Failure> {
    let job = &prepared.job;
    let (mut folder, mut known) = open(results, job)?;
    known.lessons.extend_from_slice(&before.lessons);
    let stop = interrupt::watch()?;
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads.map_or(0, usize::from))
        .build()
        .map_err(|error| {
            Failure::other(
                format!("failed to start threads: {error}"),
                "ask for fewer: --threads 1",
            )
        })?;
    let sitting = pool.install(|| {
        let mut learnt = study_solids(prepared, &known, &stop)?;
        folder.put_lessons(&learnt.lessons, job)?;
        if learnt.stopped {
            return Ok(None);
        }
        learnt.remarks.extend(before.remarks);
        learnt.remarks.extend(taken_over(&learnt, &before.lessons));
        sit(&mut folder, &known, job.evaluations, &stop, |observer| {
            explore(prepared, &learnt, &known, observer)
        })
        .map(Some)
    });
    let Some((finished, complete)) = sitting? else {
        tell("stopped on request; the same call goes on with this run");
        return Err(Failure::Stopped);
    };
    let path = folder.path().to_path_buf();
    let (plots, page) = (
        review::plots(&finished),
        rooms::page(prepared, &finished, folder.manifest(), folder.path()),
    );
    let manifest = folder.close(&finished, &plots, &page, complete)?;
    show(|out| match as_json {
        true => writeln!(
            out,
            "{}",
            json::run(
                &finished,
                &path,
                manifest.seconds,
                complete,
                manifest.rerun_of.as_ref()
            )
        ),
        false => summary::print(out, &finished, &path, manifest.seconds),
    })?;
    if complete {
        return Ok(());
    }
    tell("stopped on request; the same call goes on with this run");
    Err(Failure::Stopped)
}

/// How many solids were taken over from an earlier run.
fn taken_over(learnt: &Learnt, earlier: &[Lesson]) -> Option<String> {
    let all = learnt.lessons.len();
    let known = |lesson: &&Lesson| earlier.iter().any(|other| other.x == lesson.x);
    let count = learnt.lessons.iter().filter(known).count();
    (count > 0).then(|| {
        format!(
            "{count} of the {all} solids that the law was learnt from are the earlier run's: the metal is the same, and \
             solids know neither tools nor machine"
        )
    })
}

/// What the figures of the run will rest on, learnt from solids where the study asks for it.
fn study_solids(prepared: &Prepared, known: &Known, stop: &AtomicBool) -> Result<Learnt, Failure> {
    let progress = Progress::solids();
    let learnt = learn(prepared, &known.lessons, &mut |solids| {
        progress.show_solids(solids);
        match stop.load(Ordering::SeqCst) {
            true => Next::Stop,
            false => Next::Continue,
        }
    });
    progress.end();
    learnt.map_err(|why| Failure::call(format!("failed to {why}"), ""))
}

/// The folder to go on with, or a new one.
fn open(results: &Path, job: &Job) -> Result<(Folder, Known), Failure> {
    let Some(resumed) = Folder::resume(results, job)? else {
        return Ok((Folder::create(results, job)?, Known::default()));
    };
    for remark in &resumed.remarks {
        tell(remark);
    }
    let known = resumed.known.designs.len();
    tell(&format!(
        "going on with {}: {known} designs are known",
        resumed.folder.path().display()
    ));
    Ok((resumed.folder, resumed.known))
}

/// One sitting at a run: what is evaluated goes to the folder and the progress line. Returns the run, and whether
/// it did all that was asked.
fn sit(
    folder: &mut Folder,
    known: &Known,
    budget: usize,
    stop: &AtomicBool,
    explore: impl FnOnce(&mut dyn FnMut(&Batch) -> Next) -> Result<Finished, String>,
) -> Result<(Finished, bool), Failure> {
    let progress = Progress::new(budget, known.designs.len());
    let (mut designs, mut feasible, mut stopped) = (0, 0, false);
    let mut refused = None;
    let explored = explore(&mut |batch| {
        designs += batch.violation.len();
        feasible += batch
            .violation
            .iter()
            .filter(|violation| **violation <= 0.0)
            .count();
        progress.show(designs, feasible, batch.front);
        if let Err(error) = folder.add(batch) {
            refused = Some(error);
            return Next::Stop;
        }
        stopped = stop.load(Ordering::SeqCst);
        if stopped { Next::Stop } else { Next::Continue }
    });
    progress.end();
    if let Some(error) = refused {
        return Err(error.into());
    }
    let finished = explored.map_err(|why| Failure::call(format!("failed to {why}"), ""))?;
    let complete = !stopped || finished.designs.len() >= budget;
    Ok((finished, complete))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::samples;
    use crate::store::{self, Status};

    /// Hands the sample's designs to the observer, two at a time, as a search would.
    fn explore(observer: &mut dyn FnMut(&Batch) -> Next) -> Result<Finished, String> {
        let mut whole = samples::finished();
        let width = whole.columns.len();
        for start in (0..whole.designs.len()).step_by(2) {
            let end = (start + 2).min(whole.designs.len());
            let batch = Batch {
                values: &whole.designs.values[start * width..end * width],
                violation: &whole.designs.violation[start..end],
                search: &[],
                front: 1,
            };
            if observer(&batch) == Next::Stop {
                whole.designs.values.truncate(end * width);
                whole.designs.violation.truncate(end);
                whole.front.retain(|design| *design < end);
                break;
            }
        }
        Ok(whole)
    }

    fn sample_job() -> Job {
        let run = samples::finished();
        Job {
            study: run.study,
            title: run.title,
            study_text: "text".into(),
            catalogue_text: "catalogue".into(),
            seed: 1,
            evaluations: 8,
            columns: run.columns,
            search_width: 0,
            goals: run.goals,
            limits: run.limits,
            axes: Vec::new(),
            targets: Vec::new(),
            origin: None,
        }
    }

    #[test]
    fn a_stopped_run_is_usable_and_goes_on() {
        let results = tempfile::tempdir().unwrap();
        let job = sample_job();
        let (mut folder, known) = open(results.path(), &job).unwrap();
        let path = folder.path().to_path_buf();
        let (finished, complete) =
            sit(&mut folder, &known, 8, &AtomicBool::new(true), explore).unwrap();
        assert!(!complete);
        folder.close(&finished, &[], "page", complete).unwrap();
        let stored = store::open(&path).unwrap();
        assert_eq!(
            (stored.designs.len(), stored.manifest.status),
            (2, Status::Stopped)
        );

        let (mut folder, known) = open(results.path(), &job).unwrap();
        assert_eq!((folder.path(), known.designs.len()), (&*path, 2));
        let (finished, complete) =
            sit(&mut folder, &known, 8, &AtomicBool::new(false), explore).unwrap();
        assert!(complete);
        folder.close(&finished, &[], "page", complete).unwrap();
        let stored = store::open(&path).unwrap();
        assert_eq!(
            (stored.designs.len(), stored.manifest.status),
            (8, Status::Finished)
        );
        assert_eq!(stored.designs, samples::finished().designs);

        let (folder, known) = open(results.path(), &job).unwrap();
        assert!(
            known.designs.is_empty() && folder.path() != path,
            "a finished run is never touched"
        );
    }
}
