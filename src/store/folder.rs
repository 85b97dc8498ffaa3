//! Writing a run folder, and going on with one that was stopped or killed.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Instant;

use super::error::StoreError;
use super::failures::{FAILURES, failures_csv};
use super::files;
use super::manifest::{
    FORMAT, FileRecord, LawRecord, MANIFEST, Manifest, OriginRecord, ShardRecord, Status,
    fingerprint_of, records, tool,
};
use super::part::{self, Block};
use super::parts::Parts;
use super::solids::{self, LESSONS, PROOFS};
use super::{clock, tables};
use crate::run::{Batch, Column, Failed, Finished, Job, Lesson, PART};

/// Designs in a part file; the last one of a run may hold fewer. Fixed, so that the same run gives the same
/// files on any number of threads and after any number of stops.
pub const BLOCK: usize = PART;

/// A run folder being written.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    columns: Vec<Column>,
    manifest: Manifest,
    pending: Block,
    failures: Vec<Failed>,
    opened: Instant,
    spent_before_s: f64,
    /// Held while the folder is written, so that no second program goes on with it.
    lock: File,
}

/// A folder to go on with, and what is known from it.
#[derive(Debug)]
pub struct Resumed {
    /// The folder.
    pub folder: Folder,
    /// Designs that need not be evaluated again.
    pub parts: Parts,
    /// Designs that need not be solved as solids again.
    pub lessons: Vec<Lesson>,
    /// What the user should know: parts that are computed again because they are damaged.
    pub remarks: Vec<String>,
}

const LOCK: &str = "running.lock";

impl Folder {
    /// A new folder `results/<study>-NNN` with the next free number. Never touches an existing one.
    ///
    /// # Errors
    /// `Write` where the disk refuses.
    pub fn create(results: &Path, frozen: &Job) -> Result<Folder, StoreError> {
        fs::create_dir_all(results).map_err(|cause| StoreError::write(results, cause))?;
        let path = claim(results, &frozen.study)?;
        for sub in ["designs", "plots"] {
            let sub = path.join(sub);
            fs::create_dir(&sub).map_err(|cause| StoreError::write(&sub, cause))?;
        }
        let lock = lock(&path)?.ok_or_else(|| {
            StoreError::write(
                &path.join(LOCK),
                io::Error::other("another program holds it"),
            )
        })?;
        let mut folder = Folder {
            columns: frozen.columns.clone(),
            manifest: first_manifest(frozen),
            pending: Block::default(),
            failures: Vec::new(),
            opened: Instant::now(),
            spent_before_s: 0.0,
            lock,
            path,
        };
        folder.put("study.toml", frozen.study_text.as_bytes())?;
        folder.put("catalogue.toml", frozen.catalogue_text.as_bytes())?;
        folder.save()?;
        Ok(folder)
    }

    /// The newest unfinished folder of the very same run, ready to go on; `None` where there is none.
    ///
    /// Part files that are missing or not the ones recorded are not trusted: the designs from there on are
    /// evaluated again.
    ///
    /// # Errors
    /// `Read`, `Write` where the disk refuses; `BadPart` where a part is as recorded but makes no sense.
    pub fn resume(results: &Path, frozen: &Job) -> Result<Option<Resumed>, StoreError> {
        let wanted = fingerprint_of(frozen);
        for (_, path) in numbered(results, &frozen.study).into_iter().rev() {
            let Ok(manifest) = Manifest::read(&path) else {
                continue;
            };
            let same = manifest.fingerprint == wanted
                && manifest.columns() == Ok(frozen.columns.clone())
                && manifest.search_width == frozen.search_width;
            if !same || manifest.status == Status::Finished {
                continue;
            }
            let Some(lock) = lock(&path)? else { continue };
            return Folder::go_on(path, manifest, lock, frozen).map(Some);
        }
        Ok(None)
    }

    fn go_on(
        path: PathBuf,
        manifest: Manifest,
        lock: File,
        frozen: &Job,
    ) -> Result<Resumed, StoreError> {
        for folder in [path.clone(), path.join("designs"), path.join("plots")] {
            files::remove_leftovers(&folder)?;
        }
        let mut parts = Parts::of(frozen);
        let remarks = parts.add(&path, &manifest, frozen.shard)?;
        let lessons = trusted_lessons(&path, &manifest, frozen);
        let mut folder = Folder {
            columns: frozen.columns.clone(),
            spent_before_s: manifest.seconds,
            manifest: Manifest {
                status: Status::Running,
                ..manifest
            },
            pending: Block::default(),
            failures: Vec::new(),
            opened: Instant::now(),
            lock,
            path,
        };
        folder.manifest.designs = 0;
        folder.manifest.feasible = 0;
        Ok(Resumed {
            folder,
            parts,
            lessons,
            remarks: remarks.into_iter().collect(),
        })
    }

    /// Where the folder is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The manifest as it stands.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// Takes the next designs of the run, in order from design 0 (a resumed run hands in the known ones
    /// again; a shard leaves out what is not its own), and writes every block that is full.
    ///
    /// # Errors
    /// `Write` where the disk refuses; `Clash` where a known design comes out otherwise.
    pub fn add(&mut self, batch: &Batch) -> Result<(), StoreError> {
        if self.pending.violation.is_empty() {
            self.pending.first = batch.first;
        }
        self.pending.values.extend_from_slice(batch.values);
        self.pending.violation.extend_from_slice(batch.violation);
        self.pending.search.extend_from_slice(batch.search);
        self.failures.extend_from_slice(batch.failures);
        while self.pending.violation.len() >= BLOCK {
            let full = split_off(
                &mut self.pending,
                BLOCK,
                self.columns.len(),
                self.manifest.search_width,
            );
            self.put_part(&full)?;
            self.put_failures()?;
            self.save()?;
        }
        Ok(())
    }

    /// Writes the designs that were solved as solids before the search.
    ///
    /// # Errors
    /// `Write` where the disk refuses.
    pub fn put_lessons(&mut self, lessons: &[Lesson], frozen: &Job) -> Result<(), StoreError> {
        if lessons.is_empty() {
            return Ok(());
        }
        let bytes = solids::lessons_csv(lessons, &frozen.axes, &frozen.targets);
        self.put(LESSONS, &bytes)?;
        self.save()
    }

    /// Writes what is left of the designs, the front, plots and page, and closes the folder.
    ///
    /// `plots`: (file stem, SVG). `complete`: whether the run did all that was asked; if not, the same call
    /// goes on with it.
    ///
    /// # Errors
    /// `Write` where the disk refuses.
    pub fn close(
        mut self,
        finished: &Finished,
        plots: &[(String, String)],
        page: &str,
        complete: bool,
    ) -> Result<Manifest, StoreError> {
        self.put_rest()?;
        self.put_failures()?;
        self.put("front.csv", &tables::front_csv(finished))?;
        self.put("trace.csv", &tables::trace_csv(&finished.trace))?;
        if finished
            .sheets
            .iter()
            .any(|(_, sheet)| sheet.proof.is_some())
        {
            self.put(PROOFS, &solids::proofs_csv(finished))?;
        }
        self.manifest.law = finished.law.iter().map(LawRecord::of).collect();
        self.manifest.remarks.clone_from(&finished.remarks);
        for (name, svg) in plots {
            self.put(&format!("plots/{name}.svg"), svg.as_bytes())?;
        }
        self.put("review.html", page.as_bytes())?;
        self.manifest.front = finished.front.len();
        self.manifest.hypervolume = finished.trace.last().map_or(0.0, |last| last.hypervolume);
        self.manifest.ending = finished.ending.clone();
        self.leave(complete)
    }

    /// Writes what is left of a shard's designs and closes the folder; front and page are the gathered run's.
    ///
    /// # Errors
    /// `Write` where the disk refuses.
    pub fn close_shard(mut self, complete: bool) -> Result<Manifest, StoreError> {
        self.put_rest()?;
        self.manifest.ending = match complete {
            true => "the shard is evaluated".into(),
            false => "stopped on request".into(),
        };
        self.leave(complete)
    }

    fn put_rest(&mut self) -> Result<(), StoreError> {
        if self.pending.violation.is_empty() {
            return Ok(());
        }
        let rest = std::mem::take(&mut self.pending);
        self.put_part(&rest)
    }

    /// Says in the manifest how far the run is, and lets go of the folder.
    fn leave(mut self, complete: bool) -> Result<Manifest, StoreError> {
        self.manifest.status = if complete {
            Status::Finished
        } else {
            Status::Stopped
        };
        self.save()?;
        // The lock goes with its file; that it can't be removed harms nobody.
        let _ = fs::remove_file(self.path.join(LOCK));
        let _ = self.lock.unlock();
        Ok(self.manifest)
    }

    fn put_part(&mut self, block: &Block) -> Result<(), StoreError> {
        let name = part_name(block.first / BLOCK);
        let path = self.path.join(&name);
        let bytes = part::encode(&self.columns, self.manifest.search_width, block)
            .map_err(|error| StoreError::write(&path, io::Error::other(error)))?;
        self.check_replay(&name, &bytes, block)?;
        self.put(&name, &bytes)?;
        self.manifest.designs += block.violation.len();
        self.manifest.feasible += block
            .violation
            .iter()
            .filter(|violation| **violation <= 0.0)
            .count();
        Ok(())
    }

    /// The designs so far that have no answer from the study's program.
    fn put_failures(&mut self) -> Result<(), StoreError> {
        match self.failures.as_slice() {
            [] => Ok(()),
            failures => self.put(FAILURES, &failures_csv(failures)),
        }
    }

    /// A full part that is on the disk as recorded must come out again to the byte. (The short last part of a
    /// stopped run grows, and a damaged one is replaced.)
    fn check_replay(&self, name: &str, bytes: &[u8], block: &Block) -> Result<(), StoreError> {
        let Some(recorded) = self.manifest.files.get(name) else {
            return Ok(());
        };
        let path = self.path.join(name);
        let Ok(found) = fs::read(&path) else {
            return Ok(());
        };
        if found == bytes || FileRecord::of(&found) != *recorded {
            return Ok(());
        }
        match part::decode(found, &self.columns, self.manifest.search_width) {
            Ok(old) if old.violation.len() < block.violation.len() && is_start(&old, block) => {
                Ok(())
            }
            _ => Err(StoreError::Clash { path }),
        }
    }

    fn put(&mut self, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
        let record = FileRecord::of(bytes);
        let path = self.path.join(name);
        if self.manifest.files.get(name) != Some(&record)
            || fs::read(&path).ok().as_deref() != Some(bytes)
        {
            files::write_whole(&path, bytes)?;
        }
        self.manifest.files.insert(name.to_string(), record);
        Ok(())
    }

    fn save(&mut self) -> Result<(), StoreError> {
        self.manifest.written = clock::now();
        self.manifest.seconds = self.spent_before_s + self.opened.elapsed().as_secs_f64();
        self.manifest.write(&self.path)
    }
}

fn first_manifest(frozen: &Job) -> Manifest {
    let (columns, objectives, constraints) =
        records(&frozen.columns, &frozen.goals, &frozen.limits);
    Manifest {
        format: FORMAT,
        tool: tool(),
        study: frozen.study.clone(),
        title: frozen.title.clone(),
        status: Status::Running,
        ending: String::new(),
        seed: frozen.seed,
        evaluations: frozen.evaluations,
        fingerprint: fingerprint_of(frozen),
        started: clock::now(),
        written: clock::now(),
        seconds: 0.0,
        designs: 0,
        feasible: 0,
        front: 0,
        hypervolume: 0.0,
        columns,
        search_width: frozen.search_width,
        objectives,
        constraints,
        law: Vec::new(),
        remarks: Vec::new(),
        program: frozen.program.iter().cloned().collect(),
        rerun_of: frozen.origin.as_ref().map(OriginRecord::of),
        shard: frozen.shard.map(ShardRecord::of),
        files: Default::default(),
    }
}

/// File of a part: `designs/part-00000.parquet`.
pub(super) fn part_name(number: usize) -> String {
    format!("designs/part-{number:05}.parquet")
}

/// Makes the folder with the next free number.
fn claim(results: &Path, study: &str) -> Result<PathBuf, StoreError> {
    let last = numbered(results, study)
        .last()
        .map_or(0, |(number, _)| *number);
    for number in last + 1.. {
        let path = results.join(format!("{study}-{number:03}"));
        match fs::create_dir(&path) {
            Ok(()) => return Ok(path),
            // Another run was quicker, or a file of that name lies there.
            Err(cause) if cause.kind() == io::ErrorKind::AlreadyExists => {}
            Err(cause) => return Err(StoreError::write(&path, cause)),
        }
    }
    Err(StoreError::write(
        results,
        io::Error::other("no number is free"),
    ))
}

/// Folders of a study by number, least first.
fn numbered(results: &Path, study: &str) -> Vec<(u64, PathBuf)> {
    let Ok(entries) = fs::read_dir(results) else {
        return Vec::new();
    };
    let number = |name: &str| {
        let digits = name.strip_prefix(study)?.strip_prefix('-')?;
        let plain = digits.len() >= 3 && digits.bytes().all(|byte| byte.is_ascii_digit());
        if plain {
            digits
                .parse::<u64>()
                .ok()
                .filter(|number| *number < u64::MAX)
        } else {
            None
        }
    };
    let mut found: Vec<(u64, PathBuf)> = entries
        .flatten()
        .filter_map(|entry| Some((number(entry.file_name().to_str()?)?, entry.path())))
        .collect();
    found.sort();
    found
}

/// The lock of a folder, or `None` where another program holds it.
fn lock(folder: &Path) -> Result<Option<File>, StoreError> {
    let path = folder.join(LOCK);
    let file = File::create(&path).map_err(|cause| StoreError::write(&path, cause))?;
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(fs::TryLockError::WouldBlock) => Ok(None),
        Err(fs::TryLockError::Error(cause)) => Err(StoreError::write(&path, cause)),
    }
}

/// Lessons of the folder, if they are there as recorded; otherwise they are learnt again.
fn trusted_lessons(folder: &Path, manifest: &Manifest, frozen: &Job) -> Vec<Lesson> {
    let recorded = manifest.files.get(LESSONS);
    match (recorded, fs::read(folder.join(LESSONS))) {
        (Some(recorded), Ok(bytes)) if FileRecord::of(&bytes) == *recorded => {
            solids::read_lessons(&bytes, frozen.axes.len(), frozen.targets.len())
                .unwrap_or_default()
        }
        _ => Vec::new(),
    }
}

/// Takes the first `count` designs off a block.
fn split_off(block: &mut Block, count: usize, width: usize, search_width: usize) -> Block {
    let rest = Block {
        first: block.first + count,
        values: block.values.split_off(count * width),
        violation: block.violation.split_off(count),
        search: block.search.split_off(count * search_width),
    };
    std::mem::replace(block, rest)
}

/// Whether one block is the start of another, to the bit.
fn is_start(start: &Block, whole: &Block) -> bool {
    let same = |start: &[f64], whole: &[f64]| {
        start.len() <= whole.len()
            && start
                .iter()
                .zip(whole)
                .all(|(a, b)| a.to_bits() == b.to_bits())
    };
    start.first == whole.first
        && same(&start.values, &whole.values)
        && same(&start.violation, &whole.violation)
        && same(&start.search, &whole.search)
}

/// Writes a run's page anew, and its record in the manifest.
///
/// # Errors
/// `Write` where the disk refuses, and all that [`Manifest::read`] says.
pub fn replace_page(folder: &Path, page: &str) -> Result<PathBuf, StoreError> {
    let mut manifest = Manifest::read(folder)?;
    let path = folder.join("review.html");
    files::write_whole(&path, page.as_bytes())?;
    manifest
        .files
        .insert("review.html".into(), FileRecord::of(page.as_bytes()));
    manifest.write(folder)?;
    Ok(path)
}

/// Whether a folder looks like a run: it has a manifest.
pub fn is_run(folder: &Path) -> bool {
    folder.join(MANIFEST).is_file()
}
