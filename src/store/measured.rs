//! Records of measured parts as files.

use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::ledger::append;
use crate::measured::{Record, Records};

/// Where the records of a study stand: `studies/yaw-ring.measured.toml` beside `studies/yaw-ring.toml`.
pub fn measured_beside(study: &Path) -> PathBuf {
    study.with_extension("measured.toml")
}

/// Adds records at the end of a file that was read as `before`; begins a new one where there was none. What is there stays
/// as it is, to the byte, also where the disk refuses.
///
/// # Errors
/// `Write` where the disk refuses; `ChangedMeanwhile` where the file is no longer what was read.
pub fn append_records(
    path: &Path,
    before: Option<&str>,
    study: &str,
    records: &[Record],
) -> Result<(), StoreError> {
    let texts: Vec<String> = records.iter().map(Record::text).collect();
    append(path, before, &Records::heading(study), &texts.join("\n"))
}
