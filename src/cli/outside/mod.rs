//! A program of the user's that gives measures: started without a shell, in the study's folder, asked about a design
//! at a time on every thread; stopped with all that it started where it takes too long.

mod journal;
mod process;
mod protocol;

use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

pub use process::{MOST_OUTPUT, end_all};
pub use protocol::FORMAT;

use crate::evaluate::{Outside, OutsideAnswer, Question};
use crate::store;
use crate::study::Asking;
use journal::Journal;
use process::Running;
use protocol::Fault;

/// A program that answers for designs.
pub struct Program {
    command: Vec<String>,
    folder: PathBuf,
    names: Vec<String>,
    lines: bool,
    limit: Duration,
    attempts: u64,
    /// Programs that stay and have nothing to do.
    idle: Mutex<Vec<Running>>,
    asked: AtomicU64,
    journal: Journal,
}

impl Program {
    /// The program that a study asks, run in the study's folder. Nothing is started yet.
    pub fn new(asking: &Asking, folder: &Path) -> Program {
        let folder = match folder.as_os_str().is_empty() {
            true => Path::new("."),
            false => folder,
        };
        Program {
            command: asking.command.clone(),
            folder: folder.to_path_buf(),
            names: asking
                .measures
                .iter()
                .map(|each| each.name.clone())
                .collect(),
            lines: asking.lines,
            limit: Duration::from_secs_f64(asking.time_limit_s),
            attempts: asking.retries.saturating_add(1),
            idle: Mutex::default(),
            asked: AtomicU64::new(0),
            journal: Journal::default(),
        }
    }

    /// Keeps every answer in a run folder from now on, until [`Program::close_journal`]; answers that are kept there
    /// already are not asked for again.
    ///
    /// # Errors
    /// What the disk refuses.
    pub fn keep_journal(&self, folder: &Path) -> io::Result<()> {
        self.journal.open(folder)
    }

    /// Removes the journal: the run folder holds every design.
    pub fn close_journal(&self) {
        self.journal.close();
    }

    /// The answer of the last of all attempts.
    fn ask(&self, question: &Question) -> OutsideAnswer {
        let mut why = String::new();
        for _ in 0..self.attempts {
            match self.attempt(question) {
                Ok(values) => return Ok(values),
                Err(Fault::Said(reason)) => return Err(reason),
                Err(Fault::Broke(reason)) => why = reason,
            }
        }
        Err(match self.attempts {
            1 => why,
            attempts => format!("{why} (attempt {attempts} of {attempts})"),
        })
    }

    fn attempt(&self, question: &Question) -> Result<Vec<f64>, Fault> {
        if self.lines {
            return self.line(question);
        }
        let begun = Instant::now();
        let mut running = Running::start(&self.command, &self.folder)?;
        running.write(&protocol::question(question, None));
        running.close();
        let all = running.all(begun, self.limit)?;
        protocol::answer(&all, &self.names, None)
    }

    /// One question to a program that stays. One that gave no proper answer is not asked again.
    fn line(&self, question: &Question) -> Result<Vec<f64>, Fault> {
        let begun = Instant::now();
        let mut running = match self.waiting() {
            Some(running) => running,
            None => Running::start(&self.command, &self.folder)?,
        };
        let id = self.asked.fetch_add(1, Ordering::Relaxed);
        running.write(&protocol::question(question, Some(id)));
        let line = running.line(begun, self.limit)?;
        let answer = protocol::answer(&line, &self.names, Some(id));
        if !matches!(answer, Err(Fault::Broke(_))) {
            self.idle().push(running);
        }
        answer
    }

    /// A program that waits for a question; those that say something unasked are ended.
    fn waiting(&self) -> Option<Running> {
        loop {
            let running = self.idle().pop()?;
            if !running.is_ahead() {
                return Some(running);
            }
        }
    }

    fn idle(&self) -> MutexGuard<'_, Vec<Running>> {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Outside for Program {
    fn answer(&self, question: &Question) -> OutsideAnswer {
        if let Some(known) = self.journal.known(question) {
            return known;
        }
        let answer = self.ask(question);
        self.journal.note(question, &answer);
        answer
    }
}

impl fmt::Debug for Program {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Program({:?})", self.command)
    }
}

/// The words of a study's command that name files in the study's folder, each with the SHA-256 of its contents: what its
/// designs follow from, besides the study.
///
/// # Errors
/// What the disk refuses.
pub fn files(asking: &Asking, folder: &Path) -> io::Result<Vec<(String, String)>> {
    let mut found = Vec::new();
    for word in &asking.command {
        let path = folder.join(word);
        if path.is_file() && !found.iter().any(|(known, _)| known == word) {
            found.push((word.clone(), store::sha256(&fs::read(&path)?)));
        }
    }
    Ok(found)
}

impl Drop for Program {
    fn drop(&mut self) {
        let mut idle = std::mem::take(&mut *self.idle());
        idle.iter_mut().for_each(Running::close);
        idle.into_iter().for_each(Running::dismiss);
    }
}

#[cfg(all(test, unix))]
mod tests;
