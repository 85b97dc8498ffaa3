//! Shards of a run, put together.

use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::manifest::{FileRecord, Manifest, Status, fingerprint_of};
use super::parts::Parts;
use super::solids::{self, LESSONS};
use crate::run::{Job, Lesson, Shard};

/// The shards of one run, each finished.
#[derive(Debug)]
pub struct Shards {
    /// File stem of the study.
    pub study: String,
    /// The study file.
    pub study_text: String,
    /// The catalogue entries that it uses.
    pub catalogue_text: String,
    /// Seed.
    pub seed: u64,
    /// Designs to evaluate.
    pub evaluations: usize,
    /// Files that the study's command names, with the SHA-256 of their contents.
    pub program: Vec<(String, String)>,
    /// Folders and manifests in the order of the shards.
    folders: Vec<(PathBuf, Manifest)>,
}

impl Shards {
    /// Of folders in any order; a shard that was evaluated twice counts once, its finished folder first.
    ///
    /// # Errors
    /// `NoGather` where folders are no shards, of different runs, or one is missing or unfinished; what a manifest
    /// or a file may be faulty with.
    pub fn of(folders: &[PathBuf]) -> Result<Shards, StoreError> {
        let mut all = Vec::new();
        for folder in folders {
            let manifest = Manifest::read(folder)?;
            let Some(shard) = manifest.shard else {
                return no(
                    format!("gather {}: it is no shard of a run", folder.display()),
                    "name the folders that `fretwork run STUDY --shard I/N` made",
                );
            };
            all.push((shard.number, shard.of, folder.clone(), manifest));
        }
        let Some((_, count, _, first)) = all.first().cloned() else {
            return no("gather nothing".into(), "name the folders of all shards");
        };
        let mut chosen = Vec::new();
        for number in 1..=count {
            let mut mine = all
                .iter()
                .filter(|each| each.0 == number && each.1 == count);
            let finished = mine.clone().find(|each| each.3.status == Status::Finished);
            match (finished, mine.next()) {
                (Some((_, _, folder, manifest)), _) => {
                    chosen.push((folder.clone(), manifest.clone()));
                }
                (None, Some((_, _, folder, _))) => {
                    return no(
                        format!(
                            "gather {}: shard {number} is not finished",
                            folder.display()
                        ),
                        &again(number, count),
                    );
                }
                (None, None) => {
                    return no(
                        format!("find shard {number} of {count}"),
                        &again(number, count),
                    );
                }
            }
        }
        if let Some(odd) = all.iter().find(|each| each.1 != count) {
            return no(
                format!(
                    "gather {}: it is one of {} shards, the first of {count}",
                    odd.2.display(),
                    odd.1
                ),
                "name the shards of one run",
            );
        }
        let text = |name: &str| {
            let path = chosen[0].0.join(name);
            let bytes = fs::read(&path).map_err(|cause| StoreError::read(&path, cause))?;
            if first_record(&chosen[0].1, name) != Some(FileRecord::of(&bytes)) {
                return Err(StoreError::BadPart {
                    path,
                    why: "it is not the file that the shard wrote".into(),
                });
            }
            String::from_utf8(bytes).map_err(|error| StoreError::BadPart {
                path,
                why: error.to_string(),
            })
        };
        Ok(Shards {
            study: first.study.clone(),
            study_text: text("study.toml")?,
            catalogue_text: text("catalogue.toml")?,
            seed: first.seed,
            evaluations: first.evaluations,
            program: first.program.clone().into_iter().collect(),
            folders: chosen,
        })
    }

    /// The parts of all shards, and the designs that they solved as solids. `job` is the whole run's.
    ///
    /// # Errors
    /// `NoGather` where a shard is of another run or a part of it is missing; what [`Parts`] may find.
    pub fn parts(&self, job: &Job) -> Result<(Parts, Vec<Lesson>), StoreError> {
        let mut parts = Parts::of(job);
        let count = self.folders.len();
        for (place, (folder, manifest)) in self.folders.iter().enumerate() {
            let shard = Some(Shard {
                number: place + 1,
                of: count,
            });
            let own = Job {
                shard,
                ..job.clone()
            };
            if manifest.fingerprint != fingerprint_of(&own) {
                return no(
                    format!(
                        "gather {}: its study, seed, evaluations or program are others than those of {}",
                        folder.display(),
                        self.folders[0].0.display()
                    ),
                    "evaluate all shards from one study with one program",
                );
            }
            if let Some(remark) = parts.add(folder, manifest, shard)? {
                return no(format!("gather: {remark}"), &again(place + 1, count));
            }
        }
        let (folder, manifest) = &self.folders[0];
        let lessons = match (
            first_record(manifest, LESSONS),
            fs::read(folder.join(LESSONS)),
        ) {
            (Some(record), Ok(bytes)) if record == FileRecord::of(&bytes) => {
                solids::read_lessons(&bytes, job.axes.len(), job.targets.len()).unwrap_or_default()
            }
            _ => Vec::new(),
        };
        Ok((parts, lessons))
    }

    /// Folder of the first shard.
    pub fn first(&self) -> &Path {
        &self.folders[0].0
    }
}

fn first_record(manifest: &Manifest, name: &str) -> Option<FileRecord> {
    manifest.files.get(name).cloned()
}

fn again(number: usize, count: usize) -> String {
    format!("evaluate it, and gather again: fretwork run STUDY --shard {number}/{count}")
}

fn no<T>(what: String, mend: &str) -> Result<T, StoreError> {
    Err(StoreError::NoGather {
        what,
        mend: mend.to_string(),
    })
}
