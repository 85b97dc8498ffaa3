//! Files that are either whole or not there.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

use sha2::{Digest, Sha256};

use super::error::StoreError;

/// How the names of unfinished files begin and end; nothing else is ever removed.
pub(super) const TEMPORARY: (&str, &str) = (".fretwork-", ".tmp");

/// Writes a file by a temporary name in the same folder, then renames it: after a crash there is the old
/// file, or the new one, never half of one.
///
/// A device or a pipe is written to as it is: a rename would put a plain file in its place.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    let written = match fs::metadata(path) {
        Ok(known) if !known.is_file() && !known.is_dir() => fs::write(path, bytes),
        _ => try_write(path, bytes, true),
    };
    written.map_err(|cause| StoreError::write(path, cause))
}

/// As [`write_whole`], but refuses (`AlreadyExists`) to replace a file.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    try_write(path, bytes, false).map_err(|cause| StoreError::write(path, cause))
}

fn try_write(path: &Path, bytes: &[u8], replace: bool) -> io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY.0).suffix(TEMPORARY.1);
    readable_by_others(&mut builder);
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    if replace {
        file.persist(path).map_err(|failed| failed.error)?;
    } else {
        file.persist_noclobber(path)
            .map_err(|failed| failed.error)?;
    }
    sync_folder(folder)
}

/// Temporary files are private by default, and results are not.
#[cfg(unix)]
fn readable_by_others(builder: &mut tempfile::Builder) {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn readable_by_others(_: &mut tempfile::Builder) {}

/// The same for folders.
#[cfg(unix)]
pub(super) fn folder_readable_by_others(builder: &mut tempfile::Builder) {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o777));
}

#[cfg(not(unix))]
pub(super) fn folder_readable_by_others(_: &mut tempfile::Builder) {}

/// A rename is on the disk only once its folder is.
fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()
    } else {
        Ok(())
    }
}

/// Removes what a killed write left in a folder: our own temporary files and nothing else.
pub fn remove_leftovers(folder: &Path) -> Result<(), StoreError> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Ok(());
    };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if name.starts_with(TEMPORARY.0) && name.ends_with(TEMPORARY.1) {
            fs::remove_file(entry.path())
                .map_err(|cause| StoreError::write(&entry.path(), cause))?;
        }
    }
    Ok(())
}

/// SHA-256 (FIPS 180-4) in hexadecimal digits.
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: FIPS 180-2, appendix B.1, one-block message.
    #[test]
    fn sha256_of_the_published_example() {
        assert_eq!(
            sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn a_new_file_never_replaces_another() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("study.toml");
        write_new(&path, b"first").unwrap();
        match write_new(&path, b"second") {
            Err(StoreError::Write { cause, .. }) => {
                assert_eq!(cause.kind(), io::ErrorKind::AlreadyExists)
            }
            other => panic!("{other:?}"),
        }
        assert_eq!(fs::read(&path).unwrap(), b"first");
        write_whole(&path, b"third").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"third");
        assert_eq!(
            fs::read_dir(folder.path()).unwrap().count(),
            1,
            "temporary files are gone"
        );
    }

    #[test]
    fn only_our_own_leftovers_are_removed() {
        let folder = tempfile::tempdir().unwrap();
        for name in [
            ".fretwork-1a2b.tmp",
            "notes.tmp",
            ".fretwork-notes",
            "mine.txt",
        ] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        remove_leftovers(folder.path()).unwrap();
        let mut left: Vec<String> = fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        left.sort();
        assert_eq!(left, [".fretwork-notes", "mine.txt", "notes.tmp"]);
    }

    /// A named pipe stands for the devices of a machine, which a test must not risk.
    #[cfg(target_os = "linux")]
    #[test]
    fn a_pipe_stays_a_pipe() {
        use std::os::unix::fs::FileTypeExt;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("pipe");
        let made = std::process::Command::new("mkfifo").arg(&path).status();
        assert!(made.unwrap().success());
        let reader = std::thread::spawn({
            let path = path.clone();
            move || fs::read(path).unwrap()
        });
        write_whole(&path, b"whole").unwrap();
        assert!(fs::symlink_metadata(&path).unwrap().file_type().is_fifo());
        assert_eq!(reader.join().unwrap(), b"whole");
    }

    #[cfg(unix)]
    #[test]
    fn files_can_be_read_by_others() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let ordinary = folder.path().join("ordinary");
        fs::write(&ordinary, "x").unwrap();
        let ours = folder.path().join("ours");
        write_whole(&ours, b"x").unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode();
        assert_eq!(mode(&ours), mode(&ordinary));
    }
}
