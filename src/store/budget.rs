//! Which run of a study is the newest.

use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::folder::is_run;
use super::manifest::{Manifest, Status};

/// The finished run of a study that was begun last, among the folders of a folder of results; `None` where there is none.
/// Folders that are no runs, or can't be read, are passed over; of runs begun in the same second the last by name.
///
/// `study`: file stem of the study.
///
/// # Errors
/// `Missing`, `Read` where the folder itself can't be read.
pub fn newest_run(results: &Path, study: &str) -> Result<Option<PathBuf>, StoreError> {
    let entries = fs::read_dir(results).map_err(|cause| StoreError::read(results, cause))?;
    let folders = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| is_run(path));
    let begun = |path: PathBuf| {
        let manifest = Manifest::read(&path).ok()?;
        let is_one = manifest.study == study
            && manifest.status == Status::Finished
            && manifest.shard.is_none();
        is_one.then_some((manifest.started, path))
    };
    Ok(folders.filter_map(begun).max().map(|(_, path)| path))
}
