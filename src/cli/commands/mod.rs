//! One file a command.

pub mod adopt;
pub mod budget;
mod budget_parts;
pub mod calibrate;
mod changed;
pub mod check;
pub mod compare;
pub mod completions;
pub mod gather;
pub mod handoff;
pub mod history;
pub mod list;
mod made;
pub mod measure;
pub mod new;
mod picked;
pub mod prove;
mod records;
pub mod rerun;
pub mod review;
pub mod run;
pub mod scatter;
pub mod screen;
pub mod tooling;
pub mod try_design;
pub mod why;
pub mod wish;

use std::fs;
use std::io::{self, Write};
use std::path::Path;
use std::sync::Arc;

use super::failure::Failure;
use super::rooms;
use crate::cli::outside::{self, Program};
use crate::run::{Mistakes, Overrides, Prepared, Source, not_allowed, prepare};
use crate::study;

/// Prints results: made in memory first, so that a reader who leaves (`| head`) is met in one place.
fn show(make: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
    let mut text = Vec::new();
    make(&mut text)?;
    let mut out = anstream::stdout();
    out.write_all(&text)?;
    Ok(out.flush()?)
}

/// Says something beside the results. Where stderr is closed there is nobody to tell.
fn tell(text: &str) {
    let _ = writeln!(anstream::stderr(), "{text}");
}

/// The texts of a study and of the catalogue file that it names.
fn source(study: &Path) -> Result<Source, Failure> {
    let text = read_text(study, "study")?;
    let catalogue = match study::catalogue_file(&text) {
        Some(name) => {
            let beside = study.parent().unwrap_or(Path::new("")).join(name);
            Some(read_text(&beside, "catalogue file")?)
        }
        None => None,
    };
    let stem = study
        .file_stem()
        .map_or("study".into(), |stem| stem.to_string_lossy().into_owned());
    Ok(Source {
        file: study.display().to_string(),
        study: stem,
        text,
        catalogue,
    })
}

/// A study, read and checked.
fn prepared(study: &Path, overrides: Overrides) -> Result<Prepared, Failure> {
    prepare(&source(study)?, overrides).map_err(|mistakes| mistaken(&mistakes))
}

/// A study, read and checked, with the program that it asks, if it asks one.
struct ToAsk {
    source: Source,
    prepared: Prepared,
    program: Option<Arc<Program>>,
}

/// A study, read and checked, its program ready to be asked.
///
/// # Errors
/// Mistakes in the study; that it runs a program, which the call does not allow.
fn prepared_to_ask(
    study: &Path,
    overrides: Overrides,
    allow_command: bool,
) -> Result<ToAsk, Failure> {
    let source = source(study)?;
    let mut prepared = prepare(&source, overrides).map_err(|mistakes| mistaken(&mistakes))?;
    let mut program = None;
    if let Some(asking) = &prepared.study.asking {
        if !allow_command {
            return Err(mistaken(&not_allowed(&source, &prepared)));
        }
        let folder = study.parent().unwrap_or(Path::new(""));
        prepared.job.program = outside::files(asking, folder)
            .map_err(|error| Failure::other(format!("failed to read a program: {error}"), ""))?;
        let ready = Arc::new(Program::new(asking, folder));
        prepared.evaluator = prepared.evaluator.asking(ready.clone());
        program = Some(ready);
    }
    Ok(ToAsk {
        source,
        prepared,
        program,
    })
}

/// That a command has no sense for a study that asks a program of its own.
fn refuse_asking(prepared: &Prepared, what: &str, mend: &str) -> Result<(), Failure> {
    match prepared.study.asking {
        None => Ok(()),
        Some(_) => Err(Failure::call(
            format!("failed to {what}: its study asks a program of its own"),
            mend,
        )),
    }
}

fn mistaken(mistakes: &Mistakes) -> Failure {
    Failure::Text(mistakes.printed.clone())
}

fn read_text(path: &Path, what: &str) -> Result<String, Failure> {
    let shown = path.display();
    let bytes = fs::read(path).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => Failure::call(
            format!("there is no {what} {shown}"),
            "see the name, or write one: fretwork new",
        ),
        io::ErrorKind::IsADirectory => Failure::call(
            format!("{shown} is a folder, not a {what}"),
            "name a file, as in studies/yaw-ring.toml",
        ),
        _ => Failure::other(format!("failed to read the {what} {shown}: {error}"), ""),
    })?;
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        Failure::call(
            format!("the {what} {shown} is not UTF-8 text (byte {})", at + 1),
            "save it as UTF-8 in the text editor",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(bytes: Option<&[u8]>) -> Failure {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ring.toml");
        if let Some(bytes) = bytes {
            fs::write(&path, bytes).unwrap();
        }
        read_text(&path, "study").unwrap_err()
    }

    #[test]
    fn a_file_that_can_t_be_read_is_a_mistake_in_the_call() {
        for fault in [fault(None), fault(Some(b"title = \"\xff\""))] {
            assert_eq!(fault.code(), 2);
            assert!(fault.to_string().contains("ring.toml"), "{fault}");
        }
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(read_text(folder.path(), "study").unwrap_err().code(), 2);
    }
}
