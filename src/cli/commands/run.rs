//! `fretwork run`: explore a study into a run folder.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use super::{mistaken, prepared_to_ask, records, rooms, show, tell};
use crate::cli::outside::Program;
use crate::cli::progress::Progress;
use crate::cli::rooms::Records;
use crate::cli::{Failure, interrupt, json, summary};
use crate::review;
use crate::run::{
    Batch, Job, Learnt, Lesson, Next, Overrides, Prepared, Shard, ask_baseline, explore,
    explore_shard, learn,
};
use crate::store::{self, Folder, Parts};

/// What is to be run, and how.
#[derive(Clone, Copy, Debug)]
pub struct Ask<'a> {
    /// Study file.
    pub study: &'a Path,
    /// Folder for run folders.
    pub results: &'a Path,
    /// Threads.
    pub threads: Option<u16>,
    /// Seed and evaluations.
    pub overrides: Overrides,
    /// The shard to evaluate, if not all.
    pub shard: Option<Shard>,
    /// Whether the study may run its program.
    pub allow_command: bool,
    /// Minutes after which to stop.
    pub minutes: Option<f64>,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// Explores a study, or goes on with a run of it that was stopped.
///
/// # Errors
/// Mistakes in the study; a folder that can't be written; `Stopped` where Ctrl-C ended it early.
pub fn run(ask: &Ask) -> Result<(), Failure> {
    let asked = prepared_to_ask(ask.study, ask.overrides, ask.allow_command)?;
    let mut prepared = asked.prepared;
    ask_baseline(&asked.source, &prepared).map_err(|mistakes| mistaken(&mistakes))?;
    if ask.overrides.evaluations.is_some() && prepared.study.plan.kind.is_fixed() {
        tell("the plan says itself how many designs it has: --evaluations has no effect");
    }
    let before = Before {
        program: asked.program,
        minutes: ask.minutes,
        ledger: Some(store::ledger_beside(ask.study)),
        ..Before::default()
    };
    let Some(shard) = ask.shard else {
        return perform(&prepared, before, ask.results, ask.threads, ask.as_json);
    };
    if prepared.learns() {
        return Err(Failure::call(
            "this plan can't be dealt out to shards: what it evaluates next follows from what it has evaluated",
            "choose a sampler or a grid in [explore]: plan = \"sobol\"; or run searches of different seeds",
        ));
    }
    prepared.job.shard = Some(shard);
    perform_shard(&prepared, &before, shard, ask)
}

/// What is known before a run begins.
#[derive(Debug, Default)]
pub(super) struct Before {
    /// Designs solved as solids in an earlier run, which hold in this one.
    pub lessons: Vec<Lesson>,
    /// What the reader must know of the run.
    pub remarks: Vec<String>,
    /// Minutes after which the run is stopped, as Ctrl-C stops it.
    pub minutes: Option<f64>,
    /// Columns that are printed beside the objectives.
    pub beside: Vec<String>,
    /// Designs evaluated, and solved as solids, by the shards of this very run.
    pub shards: Option<(Parts, Vec<Lesson>)>,
    /// The program that the study asks, if it asks one.
    pub program: Option<Arc<Program>>,
    /// Where the ledger of the study stands, if there is one.
    pub ledger: Option<PathBuf>,
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
    let mut sitting = open(results, job)?;
    sitting.lessons.extend_from_slice(&before.lessons);
    if let Some((parts, lessons)) = before.shards {
        (sitting.parts, sitting.lessons) = (parts, lessons);
    }
    keep_journal(before.program.as_deref(), sitting.folder.path())?;
    let stop = interrupt::watch()?;
    if let Some(minutes) = before.minutes {
        interrupt::after(minutes, &stop);
    }
    let Sitting {
        mut folder,
        parts,
        lessons,
    } = sitting;
    let sitting = on_threads(threads, || {
        let mut learnt = study_solids(prepared, &lessons, &stop)?;
        folder.put_lessons(&learnt.lessons, job)?;
        if learnt.stopped {
            return Ok(None);
        }
        learnt.remarks.extend(before.remarks.iter().cloned());
        learnt.remarks.extend(taken_over(&learnt, &before.lessons));
        sit(
            &mut folder,
            parts.designs(),
            job.evaluations,
            &stop,
            |observer| explore(prepared, &learnt, &|range| parts.recall(range), observer),
        )
        .map(Some)
    })?;
    let Some((finished, stopped)) = sitting else {
        tell("stopped on request; the same call goes on with this run");
        return Err(Failure::Stopped);
    };
    let complete = !stopped || finished.designs.len() >= job.evaluations;
    let path = folder.path().to_path_buf();
    let ledger = before
        .ledger
        .or_else(|| records::place(&path, &job.study, None).map(|place| place.ledger));
    let revisions = ledger.map_or_else(Vec::new, |ledger| {
        records::marks(&ledger, &job.columns, folder.manifest())
    });
    let records = Records {
        revisions,
        decision: None,
    };
    let (plots, page) = (
        review::plots(&finished),
        rooms::page(
            prepared,
            &finished,
            folder.manifest(),
            folder.path(),
            records,
        ),
    );
    let manifest = folder.close(&finished, &plots, &page, complete)?;
    if let Some(program) = &before.program {
        program.close_journal();
    }
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
        false => summary::print(out, &finished, &path, manifest.seconds, &before.beside),
    })?;
    if complete {
        return Ok(());
    }
    tell("stopped on request; the same call goes on with this run");
    Err(Failure::Stopped)
}

/// Evaluates one shard of a run into a folder of its own.
fn perform_shard(
    prepared: &Prepared,
    before: &Before,
    shard: Shard,
    ask: &Ask,
) -> Result<(), Failure> {
    let job = &prepared.job;
    let Sitting {
        mut folder,
        parts,
        lessons,
    } = open(ask.results, job)?;
    keep_journal(before.program.as_deref(), folder.path())?;
    let stop = interrupt::watch()?;
    if let Some(minutes) = before.minutes {
        interrupt::after(minutes, &stop);
    }
    let own = shard.designs(job.evaluations);
    let complete = on_threads(ask.threads, || {
        let learnt = study_solids(prepared, &lessons, &stop)?;
        folder.put_lessons(&learnt.lessons, job)?;
        if learnt.stopped {
            return Ok(false);
        }
        let (done, _) = sit(&mut folder, parts.designs(), own, &stop, |observer| {
            explore_shard(prepared, &learnt, &|range| parts.recall(range), observer)
        })?;
        Ok(done.complete)
    })?;
    let path = folder.path().to_path_buf();
    let manifest = folder.close_shard(complete)?;
    show(|out| match ask.as_json {
        true => writeln!(out, "{}", json::shard(&manifest, &path, complete)),
        false => summary::print_shard(out, shard, &manifest, &path),
    })?;
    if complete {
        return Ok(());
    }
    tell("stopped on request; the same call goes on with this shard");
    Err(Failure::Stopped)
}

/// Has a study's program write down its answers in the run's folder.
fn keep_journal(program: Option<&Program>, folder: &Path) -> Result<(), Failure> {
    let Some(program) = program else {
        return Ok(());
    };
    program.keep_journal(folder).map_err(|error| {
        let folder = folder.display();
        Failure::other(format!("failed to keep answers in {folder}: {error}"), "")
    })
}

/// Does something in a pool of threads.
fn on_threads<T: Send>(
    threads: Option<u16>,
    work: impl FnOnce() -> Result<T, Failure> + Send,
) -> Result<T, Failure> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads.map_or(0, usize::from))
        .build()
        .map_err(|error| {
            Failure::other(
                format!("failed to start threads: {error}"),
                "ask for fewer: --threads 1",
            )
        })?;
    pool.install(work)
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
fn study_solids(
    prepared: &Prepared,
    lessons: &[Lesson],
    stop: &AtomicBool,
) -> Result<Learnt, Failure> {
    let progress = Progress::solids();
    let learnt = learn(prepared, lessons, &mut |solids| {
        progress.show_solids(solids);
        match stop.load(Ordering::SeqCst) {
            true => Next::Stop,
            false => Next::Continue,
        }
    });
    progress.end();
    learnt.map_err(|why| Failure::call(format!("failed to {why}"), ""))
}

/// A folder, and what is known of its run.
struct Sitting {
    folder: Folder,
    parts: Parts,
    lessons: Vec<Lesson>,
}

/// The folder to go on with, or a new one.
fn open(results: &Path, job: &Job) -> Result<Sitting, Failure> {
    let Some(resumed) = Folder::resume(results, job)? else {
        return Ok(Sitting {
            folder: Folder::create(results, job)?,
            parts: Parts::default(),
            lessons: Vec::new(),
        });
    };
    for remark in &resumed.remarks {
        tell(remark);
    }
    let known = resumed.parts.designs();
    tell(&format!(
        "going on with {}: {known} designs are known",
        resumed.folder.path().display()
    ));
    Ok(Sitting {
        folder: resumed.folder,
        parts: resumed.parts,
        lessons: resumed.lessons,
    })
}

/// One sitting at a run: what is evaluated goes to the folder and the progress line. Returns what came of it, and
/// whether it was stopped.
fn sit<T>(
    folder: &mut Folder,
    known: usize,
    budget: usize,
    stop: &AtomicBool,
    explore: impl FnOnce(&mut dyn FnMut(&Batch) -> Next) -> Result<T, String>,
) -> Result<(T, bool), Failure> {
    let progress = Progress::new(budget, known);
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
    let came = explored.map_err(|why| Failure::call(format!("failed to {why}"), ""))?;
    Ok((came, stopped))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::samples;
    use crate::run::Finished;
    use crate::store::Status;

    /// Hands the sample's designs to the observer, two at a time, as a search would.
    fn explore(observer: &mut dyn FnMut(&Batch) -> Next) -> Result<Finished, String> {
        let mut whole = samples::finished();
        let width = whole.columns.len();
        for start in (0..whole.designs.len()).step_by(2) {
            let end = (start + 2).min(whole.designs.len());
            let batch = Batch {
                first: start,
                values: &whole.designs.values[start * width..end * width],
                violation: &whole.designs.violation[start..end],
                search: &[],
                front: 1,
                failures: &[],
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
            program: Vec::new(),
            origin: None,
            shard: None,
        }
    }

    #[test]
    fn a_stopped_run_is_usable_and_goes_on() {
        let results = tempfile::tempdir().unwrap();
        let job = sample_job();
        let mut sitting = open(results.path(), &job).unwrap();
        let path = sitting.folder.path().to_path_buf();
        let (finished, stopped) =
            sit(&mut sitting.folder, 0, 8, &AtomicBool::new(true), explore).unwrap();
        assert!(stopped);
        sitting.folder.close(&finished, &[], "page", false).unwrap();
        let stored = store::open(&path).unwrap();
        assert_eq!(
            (stored.designs.len(), stored.manifest.status),
            (2, Status::Stopped)
        );

        let mut sitting = open(results.path(), &job).unwrap();
        assert_eq!(
            (sitting.folder.path(), sitting.parts.designs()),
            (&*path, 2)
        );
        let (finished, stopped) =
            sit(&mut sitting.folder, 2, 8, &AtomicBool::new(false), explore).unwrap();
        assert!(!stopped);
        sitting.folder.close(&finished, &[], "page", true).unwrap();
        let stored = store::open(&path).unwrap();
        assert_eq!(
            (stored.designs.len(), stored.manifest.status),
            (8, Status::Finished)
        );
        assert_eq!(stored.designs, samples::finished().designs);

        let sitting = open(results.path(), &job).unwrap();
        assert!(
            sitting.parts.designs() == 0 && sitting.folder.path() != path,
            "a finished run is never touched"
        );
    }
}
