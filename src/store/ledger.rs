//! Ledgers and decisions as files.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::files;
use crate::ledger::{Ledger, MOST_BYTES};

/// Where the ledger of a study stands: `studies/yaw-ring.ledger.toml` beside `studies/yaw-ring.toml`.
pub fn ledger_beside(study: &Path) -> PathBuf {
    study.with_extension("ledger.toml")
}

/// The study beside which a ledger stands; `None` where its name does not say so.
pub fn study_beside(ledger: &Path) -> Option<PathBuf> {
    let name = ledger.file_name()?.to_str()?;
    let stem = name.strip_suffix(".ledger.toml")?;
    (!stem.is_empty()).then(|| ledger.with_file_name(format!("{stem}.toml")))
}

/// The text of a ledger or a decision.
///
/// # Errors
/// `Missing`, `Read`; `NoRecord` where it is too large or no text.
pub fn read_record(path: &Path) -> Result<String, StoreError> {
    let known = fs::metadata(path).map_err(|cause| StoreError::read(path, cause))?;
    let bad = |why: &str| StoreError::NoRecord {
        path: path.to_path_buf(),
        why: why.into(),
    };
    if known.is_dir() {
        return Err(bad("it is a folder"));
    }
    if known.len() > MOST_BYTES {
        return Err(bad("it is larger than any ledger or decision"));
    }
    let bytes = fs::read(path).map_err(|cause| StoreError::read(path, cause))?;
    String::from_utf8(bytes).map_err(|_| bad("it is not UTF-8 text"))
}

/// Adds an entry at the end of a ledger, which was read as `before`; begins a new one where there was none. What is there
/// stays as it is, to the byte, also where the disk refuses.
///
/// # Errors
/// `Write` where the disk refuses; `ChangedMeanwhile` where the file is no longer what was read.
pub fn append_entry(
    path: &Path,
    before: Option<&str>,
    study: &str,
    entry: &str,
) -> Result<(), StoreError> {
    append(path, before, &Ledger::heading(study), entry)
}

/// As [`append_entry`], of any file that is added to at its end; a new one begins with `heading`.
pub(super) fn append(
    path: &Path,
    before: Option<&str>,
    heading: &str,
    entry: &str,
) -> Result<(), StoreError> {
    let Some(before) = before else {
        let text = format!("{heading}\n{entry}");
        return files::write_new(path, text.as_bytes()).map_err(|error| match error {
            StoreError::Write { path, cause } if cause.kind() == io::ErrorKind::AlreadyExists => {
                StoreError::ChangedMeanwhile { path }
            }
            error => error,
        });
    };
    let gap = if before.ends_with('\n') { "\n" } else { "\n\n" };
    replace_text(path, before, &format!("{before}{gap}{entry}"))
}

/// Puts a text in the place of another, whole or not at all; a link stays a link.
///
/// # Errors
/// `Write` where the disk refuses; `ChangedMeanwhile` where the file is no longer what was read.
pub fn replace_text(path: &Path, before: &str, after: &str) -> Result<(), StoreError> {
    let real = fs::canonicalize(path).map_err(|cause| StoreError::read(path, cause))?;
    let now = fs::read(&real).map_err(|cause| StoreError::read(path, cause))?;
    if now != before.as_bytes() {
        return Err(StoreError::ChangedMeanwhile {
            path: path.to_path_buf(),
        });
    }
    // A rename would pass over a file that its owner protects.
    let writable = fs::OpenOptions::new().append(true).open(&real);
    writable.map_err(|cause| StoreError::write(path, cause))?;
    files::write_whole(&real, after.as_bytes()).map_err(|error| match error {
        StoreError::Write { cause, .. } => StoreError::write(path, cause),
        error => error,
    })
}

/// Today, in UTC: `2026-11-26`.
pub fn today() -> String {
    super::clock::now().chars().take(10).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ledger_stands_beside_its_study() {
        let study = Path::new("studies/yaw-ring.toml");
        let ledger = ledger_beside(study);
        assert_eq!(ledger, Path::new("studies/yaw-ring.ledger.toml"));
        assert_eq!(study_beside(&ledger).as_deref(), Some(study));
        assert_eq!(study_beside(Path::new("revisions.toml")), None);
        assert_eq!(study_beside(Path::new(".ledger.toml")), None);
    }

    #[test]
    fn what_is_there_stays_to_the_byte() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.ledger.toml");
        append_entry(&path, None, "a", "first\n").unwrap();
        let first = fs::read_to_string(&path).unwrap();
        assert!(first.ends_with("study = \"a\"\n\nfirst\n"), "{first}");
        append_entry(&path, Some(&first), "a", "second\n").unwrap();
        let second = fs::read_to_string(&path).unwrap();
        assert_eq!(second, format!("{first}\nsecond\n"));
        // Somebody else was faster.
        for before in [None, Some(first.as_str())] {
            let error = append_entry(&path, before, "a", "third\n").unwrap_err();
            assert!(
                matches!(error, StoreError::ChangedMeanwhile { .. }),
                "{error:?}"
            );
        }
        assert_eq!(fs::read_to_string(&path).unwrap(), second);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link() {
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real"), folder.path().join("link"));
        fs::write(&real, "old").unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        replace_text(&link, "old", "new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&real).unwrap(), "new");
    }

    #[test]
    fn a_record_is_a_text_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x.toml");
        assert!(matches!(
            read_record(&path),
            Err(StoreError::Missing { .. })
        ));
        fs::write(&path, b"\xff").unwrap();
        assert!(matches!(
            read_record(&path),
            Err(StoreError::NoRecord { .. })
        ));
        assert!(matches!(
            read_record(folder.path()),
            Err(StoreError::NoRecord { .. })
        ));
        let large = fs::File::create(&path).unwrap();
        large.set_len(MOST_BYTES + 1).unwrap();
        assert!(matches!(
            read_record(&path),
            Err(StoreError::NoRecord { .. })
        ));
    }
}
