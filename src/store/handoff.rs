//! The folder of a hand-off: whole, or not there.

use std::fs;
use std::io;
use std::path::Path;

use super::error::StoreError;
use super::files;
use crate::handoff::Item;

/// Writes files into a new folder: first under a temporary name beside it, which is then changed. Returns the bytes
/// written. A folder that is empty is taken as new.
///
/// # Errors
/// `Write`: `AlreadyExists` where something stands there; what the disk refuses, and nothing is left behind.
pub fn write_handoff(folder: &Path, items: &[Item]) -> Result<usize, StoreError> {
    let failed = |cause| StoreError::write(folder, cause);
    if fs::symlink_metadata(folder).is_ok() {
        let empty = fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_none());
        if !empty {
            return Err(failed(io::ErrorKind::AlreadyExists.into()));
        }
    }
    let above = match folder.parent() {
        Some(above) if !above.as_os_str().is_empty() => above,
        _ => Path::new("."),
    };
    fs::create_dir_all(above).map_err(|cause| match cause.kind() {
        // A file that stands where a folder must be.
        io::ErrorKind::AlreadyExists => failed(io::ErrorKind::NotADirectory.into()),
        _ => failed(cause),
    })?;
    let mut builder = tempfile::Builder::new();
    builder
        .prefix(files::TEMPORARY.0)
        .suffix(files::TEMPORARY.1);
    files::folder_readable_by_others(&mut builder);
    let whole = builder.tempdir_in(above).map_err(failed)?;
    for item in items {
        files::write_new(&whole.path().join(&item.name), &item.bytes).map_err(
            |error| match error {
                // The temporary name says nothing to whoever reads it.
                StoreError::Write { cause, .. } => {
                    StoreError::write(&folder.join(&item.name), cause)
                }
                error => error,
            },
        )?;
    }
    // On some systems an empty folder is in the way of another's new name.
    match fs::remove_dir(folder) {
        Err(cause) if cause.kind() != io::ErrorKind::NotFound => return Err(failed(cause)),
        _ => {}
    }
    fs::rename(whole.path(), folder).map_err(failed)?;
    // It has another name now; there is nothing left to remove.
    let _ = whole.keep();
    Ok(items.iter().map(|item| item.bytes.len()).sum())
}
