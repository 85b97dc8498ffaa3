//! Reading a run folder back.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::failures::{FAILURES, read_failures};
use super::folder::{BLOCK, part_name};
use super::manifest::{FileRecord, MANIFEST, Manifest};
use super::part::{self, Block};
use super::solids::{self, LESSONS, PROOFS};
use super::tables;
use crate::run::{
    Column, Designs, Failed, Goal, Job, Lesson, Limit, Milestone, Proved, Stand, Thinner,
};

/// A run as its folder tells it.
#[derive(Clone, Debug)]
pub struct Stored {
    /// The folder.
    pub path: PathBuf,
    /// Its manifest.
    pub manifest: Manifest,
    /// The study file as the run read it.
    pub study_text: String,
    /// The catalogue entries as the run used them.
    pub catalogue_text: String,
    /// Columns of the designs.
    pub columns: Vec<Column>,
    /// Objectives.
    pub goals: Vec<Goal>,
    /// Constraints.
    pub limits: Vec<Limit>,
    /// Every design.
    pub designs: Designs,
    /// Candidates, in the order of `front.csv`; empty where the run was killed before it had one.
    pub front: Vec<usize>,
    /// How the search went; empty where the run was killed.
    pub trace: Vec<Milestone>,
    /// Designs about which the study's program gave no answer, in order.
    pub failures: Vec<Failed>,
    /// Contents of `solids.csv` and `proofs.csv`; empty where the run has none.
    solids: [Vec<u8>; 2],
}

impl Stored {
    /// The designs that were solved as solids before the search of a job.
    ///
    /// # Errors
    /// `BadPart` where the table makes no sense.
    pub fn lessons(&self, job: &Job) -> Result<Vec<Lesson>, StoreError> {
        match self.solids[0].as_slice() {
            [] => Ok(Vec::new()),
            bytes => solids::read_lessons(bytes, job.axes.len(), job.targets.len())
                .map_err(|why| bad_table(&self.path, LESSONS, why)),
        }
    }

    /// The values of any design, one a column, read from its part file where they are not held; `None` where there is
    /// no such design.
    ///
    /// # Errors
    /// What a part file may be faulty with.
    pub fn row(&self, design: usize) -> Result<Option<Vec<f64>>, StoreError> {
        Ok(self.design(design)?.map(|(row, _)| row))
    }

    /// As [`Stored::row`], with the design's greatest relative violation of a constraint.
    ///
    /// # Errors
    /// What a part file may be faulty with.
    pub fn design(&self, design: usize) -> Result<Option<(Vec<f64>, f64)>, StoreError> {
        if design >= self.designs.len() {
            return Ok(None);
        }
        if self.designs.holds(design) {
            let violation = self.designs.violation_of(design);
            return Ok(Some((self.designs.row(design).to_vec(), violation)));
        }
        let block = block(&self.path, &self.manifest, &self.columns, design / BLOCK)?;
        let (width, place) = (self.columns.len(), design % BLOCK);
        let row = block.values.chunks(width).nth(place);
        let violation = block.violation.get(place).copied();
        Ok(row.map(<[f64]>::to_vec).zip(violation))
    }

    /// Proofs of candidates and of the baseline.
    ///
    /// # Errors
    /// `BadPart` where the table makes no sense.
    pub fn proofs(&self) -> Result<(Vec<Proved>, Option<Stand>), StoreError> {
        match self.solids[1].as_slice() {
            [] => Ok((Vec::new(), None)),
            bytes => solids::read_proofs(bytes).map_err(|why| bad_table(&self.path, PROOFS, why)),
        }
    }
}

/// Reads a run folder. Every file it needs must be the one the run wrote.
///
/// # Errors
/// `NoManifest`, `BadManifest`, `UnknownFormat`, `Missing`, `Changed`, `BadPart`, `Read`: each names the file.
pub fn open(folder: &Path) -> Result<Stored, StoreError> {
    let manifest = Manifest::read(folder)?;
    let bad = |why: String| StoreError::BadManifest {
        path: folder.join(MANIFEST),
        why,
    };
    let columns = manifest.columns().map_err(bad)?;
    if let Some(shard) = manifest.shard {
        return Err(StoreError::IsShard {
            folder: folder.to_path_buf(),
            number: shard.number,
            of: shard.of,
        });
    }
    let front = match table(folder, &manifest, "front.csv")? {
        Some(bytes) => tables::read_front(&bytes, manifest.designs)
            .map_err(|why| bad_table(folder, "front.csv", why))?,
        None => Vec::new(),
    };
    let designs = designs(folder, &manifest, &columns, &front)?;
    let trace = match table(folder, &manifest, "trace.csv")? {
        Some(bytes) => {
            tables::read_trace(&bytes).map_err(|why| bad_table(folder, "trace.csv", why))?
        }
        None => Vec::new(),
    };
    let failures = match table(folder, &manifest, FAILURES)? {
        Some(bytes) => read_failures(&bytes).map_err(|why| bad_table(folder, FAILURES, why))?,
        None => Vec::new(),
    };
    let solids = [
        table(folder, &manifest, LESSONS)?.unwrap_or_default(),
        table(folder, &manifest, PROOFS)?.unwrap_or_default(),
    ];
    Ok(Stored {
        path: folder.to_path_buf(),
        study_text: text(folder, &manifest, "study.toml")?,
        catalogue_text: text(folder, &manifest, "catalogue.toml")?,
        goals: manifest.goals().map_err(bad)?,
        limits: manifest.limits(),
        columns,
        designs,
        front,
        trace,
        failures,
        solids,
        manifest,
    })
}

fn bad_table(folder: &Path, name: &str, why: String) -> StoreError {
    StoreError::BadPart {
        path: folder.join(name),
        why,
    }
}

/// The designs, or of many those that a run holds.
fn designs(
    folder: &Path,
    manifest: &Manifest,
    columns: &[Column],
    front: &[usize],
) -> Result<Designs, StoreError> {
    let front: BTreeSet<usize> = front.iter().copied().collect();
    let mut thinner = Thinner::new(manifest.designs);
    let mut found = 0;
    for number in 0.. {
        if found >= manifest.designs && !manifest.files.contains_key(&part_name(number)) {
            break;
        }
        let block = block(folder, manifest, columns, number)?;
        let rows = block.values.chunks(columns.len().max(1));
        for (design, (row, violation)) in (found..).zip(rows.zip(&block.violation)) {
            thinner.take(design, row, *violation, front.contains(&design));
        }
        found += block.violation.len();
    }
    Ok(thinner.finish())
}

/// A part file, if it is what the manifest says.
fn block(
    folder: &Path,
    manifest: &Manifest,
    columns: &[Column],
    number: usize,
) -> Result<Block, StoreError> {
    let name = part_name(number);
    let bytes = checked(folder, manifest, &name)?;
    let bad = |why: String| StoreError::BadPart {
        path: folder.join(&name),
        why,
    };
    let block = part::decode(bytes, columns, manifest.search_width).map_err(bad)?;
    let first = number * BLOCK;
    if block.first != first || block.violation.is_empty() {
        return Err(bad(format!(
            "it starts with design {}, not {first}",
            block.first
        )));
    }
    Ok(block)
}

fn text(folder: &Path, manifest: &Manifest, name: &str) -> Result<String, StoreError> {
    let bytes = checked(folder, manifest, name)?;
    String::from_utf8(bytes).map_err(|error| StoreError::BadPart {
        path: folder.join(name),
        why: error.to_string(),
    })
}

fn table(folder: &Path, manifest: &Manifest, name: &str) -> Result<Option<Vec<u8>>, StoreError> {
    match manifest.files.contains_key(name) {
        true => checked(folder, manifest, name).map(Some),
        false => Ok(None),
    }
}

/// Contents of a file, if they are what the manifest says.
fn checked(folder: &Path, manifest: &Manifest, name: &str) -> Result<Vec<u8>, StoreError> {
    let path = folder.join(name);
    let recorded = manifest
        .files
        .get(name)
        .ok_or_else(|| StoreError::BadManifest {
            path: folder.join(MANIFEST),
            why: format!("it doesn't list {name}"),
        })?;
    let bytes = fs::read(&path).map_err(|cause| StoreError::read(&path, cause))?;
    if FileRecord::of(&bytes) == *recorded {
        return Ok(bytes);
    }
    Err(StoreError::Changed {
        path,
        recorded_bytes: recorded.bytes,
        found_bytes: bytes.len() as u64,
    })
}
