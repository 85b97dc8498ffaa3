//! `fretwork check`: what a study means, or what is wrong with it.

use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use super::{mistaken, show, source};
use crate::cli::{Failure, json, meaning};
use crate::run::{self, Job, Overrides, prepare, probe};

/// Reads a study and says what it means.
///
/// # Errors
/// Mistakes in the study, all of them.
pub fn check(study: &Path, as_json: bool) -> Result<(), Failure> {
    let source = source(study)?;
    let prepared = match prepare(&source, Overrides::default()) {
        Ok(prepared) => prepared,
        Err(mistakes) => {
            if as_json {
                let object = json::mistakes(&source.study, &source.file, &mistakes);
                show(|out| writeln!(out, "{object:#}"))?;
            }
            return Err(mistaken(&mistakes));
        }
    };
    let words = run::meaning(&prepared);
    let threads = thread::available_parallelism().map_or(1, usize::from);
    let job = &prepared.job;
    let seconds = run_time(job, threads, |count| probe(&prepared, count));
    show(|out| match as_json {
        true => writeln!(out, "{:#}", json::meaning(job, &words, seconds, threads)),
        false => meaning::print(out, job, &words, seconds, threads),
    })
}

/// Estimated time of a run, in s: some designs are evaluated on this thread, others wait for it.
fn run_time(job: &Job, threads: usize, probe: impl Fn(usize)) -> f64 {
    const LONG_ENOUGH: Duration = Duration::from_millis(200);
    let begun = Instant::now();
    let (mut count, mut done) = (8, 0);
    while done < job.evaluations.max(1) && begun.elapsed() < LONG_ENOUGH {
        probe(count);
        done += count;
        count *= 2;
    }
    begun.elapsed().as_secs_f64() / done as f64 * job.evaluations as f64 / threads as f64
}
