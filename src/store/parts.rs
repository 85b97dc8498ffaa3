//! Part files read back one at a time, as a run asks for its designs.

use std::collections::BTreeMap;
use std::fs;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use super::error::StoreError;
use super::failures::{FAILURES, read_failures};
use super::folder::{BLOCK, part_name};
use super::manifest::{FileRecord, Manifest};
use super::part::{self, Block};
use crate::run::{Column, Failed, Job, Known, Shard};

/// Part files whose contents are the ones recorded, by their numbers.
#[derive(Debug, Default)]
pub struct Parts {
    columns: Vec<Column>,
    search_width: usize,
    files: BTreeMap<usize, PathBuf>,
    failures: Vec<Failed>,
    designs: usize,
    /// The part read last.
    last: Mutex<Option<(usize, Block)>>,
}

impl Parts {
    /// Of a job, none yet.
    pub(super) fn of(job: &Job) -> Parts {
        Parts {
            columns: job.columns.clone(),
            search_width: job.search_width,
            ..Parts::default()
        }
    }

    /// Takes in the parts of a folder that are there as recorded, from the first of its shard on without a gap. Says
    /// what is missing or damaged.
    ///
    /// # Errors
    /// `Read` where the disk refuses; `BadPart` where a part is as recorded but makes no sense.
    pub(super) fn add(
        &mut self,
        folder: &Path,
        manifest: &Manifest,
        shard: Option<Shard>,
    ) -> Result<Option<String>, StoreError> {
        self.failures.extend(trusted_failures(folder, manifest));
        self.failures.sort_by_key(|failed| failed.design);
        let shard = shard.unwrap_or(Shard { number: 1, of: 1 });
        for number in (shard.number - 1..).step_by(shard.of) {
            let name = part_name(number);
            let Some(recorded) = manifest.files.get(&name) else {
                break;
            };
            let path = folder.join(&name);
            let bytes = match fs::read(&path) {
                Ok(bytes) if FileRecord::of(&bytes) == *recorded => bytes,
                Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => {
                    return Err(StoreError::read(&path, cause));
                }
                _ => {
                    return Ok(Some(format!(
                        "{} is missing or damaged: designs from {} on are evaluated again",
                        path.display(),
                        number * BLOCK
                    )));
                }
            };
            let block = self.decoded(bytes, number).map_err(|why| {
                let path = path.clone();
                StoreError::BadPart { path, why }
            })?;
            self.designs += block.violation.len();
            self.files.insert(number, path);
        }
        Ok(None)
    }

    fn decoded(&self, bytes: Vec<u8>, number: usize) -> Result<Block, String> {
        let block = part::decode(bytes, &self.columns, self.search_width)?;
        match block.first == number * BLOCK {
            true => Ok(block),
            false => Err(format!(
                "it starts with design {}, not {}",
                block.first,
                number * BLOCK
            )),
        }
    }

    /// Number of designs in the parts.
    pub fn designs(&self) -> usize {
        self.designs
    }

    /// The designs of a range, from its first on without a gap. A part that can no longer be read ends them, so that
    /// the run evaluates the rest anew.
    pub fn recall(&self, range: Range<usize>) -> Known {
        let mut known = Known::default();
        let (width, search_width) = (self.columns.len(), self.search_width);
        let failures = self.failures.iter();
        let within = failures.filter(|failed| range.contains(&failed.design));
        known.failures.extend(within.cloned());
        let mut next = range.start;
        while next < range.end {
            let number = next / BLOCK;
            // A reader that panicked leaves a whole part or none.
            let mut last = self.last.lock().unwrap_or_else(|held| held.into_inner());
            let Some(block) = self.turn_to(number, &mut last) else {
                break;
            };
            let from = next - block.first;
            let to = (range.end - block.first).min(block.violation.len());
            if from >= to {
                break;
            }
            let Known {
                designs, search, ..
            } = &mut known;
            designs
                .values
                .extend_from_slice(&block.values[from * width..to * width]);
            designs
                .violation
                .extend_from_slice(&block.violation[from..to]);
            search.extend_from_slice(&block.search[from * search_width..to * search_width]);
            next = block.first + to;
        }
        known
    }

    /// Has a part in memory, and gives it; `None` where there is none.
    fn turn_to<'l>(
        &self,
        number: usize,
        last: &'l mut Option<(usize, Block)>,
    ) -> Option<&'l Block> {
        if last.as_ref().is_none_or(|(there, _)| *there != number) {
            *last = self.files.get(&number).and_then(|path| {
                let block = self.decoded(fs::read(path).ok()?, number).ok()?;
                Some((number, block))
            });
        }
        last.as_ref().map(|(_, block)| block)
    }

    /// All designs, from 0 on without a gap.
    pub fn all(&self) -> Known {
        self.recall(0..usize::MAX)
    }
}

/// Failures of the folder, if they are there as recorded; otherwise their reasons are not known any more.
fn trusted_failures(folder: &Path, manifest: &Manifest) -> Vec<Failed> {
    let recorded = manifest.files.get(FAILURES);
    match (recorded, fs::read(folder.join(FAILURES))) {
        (Some(recorded), Ok(bytes)) if FileRecord::of(&bytes) == *recorded => {
            read_failures(&bytes).unwrap_or_default()
        }
        _ => Vec::new(),
    }
}
