//! `fretwork new`: a commented study to start from.

use std::io;
use std::path::Path;

use super::show;
use crate::cli::Failure;
use crate::store::{self, StoreError};

/// Writes the starter study into a file that is not there yet.
///
/// # Errors
/// A file of that name; a folder that can't be written.
pub fn new(file: &Path) -> Result<(), Failure> {
    write(file, crate::study::starter())?;
    show(|out| {
        let file = file.display();
        writeln!(out, "wrote {file}")?;
        writeln!(out, "next: fretwork check {file}, then fretwork run {file}")
    })
}

fn write(file: &Path, text: &str) -> Result<(), Failure> {
    let shown = file.display();
    store::write_new(file, text.as_bytes()).map_err(|error| match &error {
        StoreError::Write { cause, .. } if cause.kind() == io::ErrorKind::AlreadyExists => {
            Failure::call(
                format!("{shown} is there already, and stays as it is"),
                "choose another name",
            )
        }
        StoreError::Write { cause, .. } if cause.kind() == io::ErrorKind::NotFound => {
            Failure::call(
                format!("there is no folder for {shown}"),
                "make the folder first",
            )
        }
        _ => Failure::other(
            format!("failed to {error}"),
            "choose a folder you may write to",
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_existing_file_stays() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("ring.toml");
        write(&file, "first").unwrap();
        assert_eq!(write(&file, "second").unwrap_err().code(), 2);
        assert_eq!(std::fs::read_to_string(&file).unwrap(), "first");
        assert_eq!(
            write(&folder.path().join("no/ring.toml"), "x")
                .unwrap_err()
                .code(),
            2
        );
    }
}
