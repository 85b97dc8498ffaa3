//! A study with its ledger and the records of its parts, for `measure` and `calibrate`.

use std::path::{Path, PathBuf};

use super::records::{self, OpenLedger};
use super::{prepared, refuse_asking};
use crate::cli::Failure;
use crate::ledger::{Letter, Revision};
use crate::measured::{Entry, Problem, Record, Records, read_records};
use crate::run::{Overrides, Prepared};
use crate::store::{self, StoreError};
use crate::study;

/// A study with what was made of it.
pub(super) struct Made {
    /// The study.
    pub prepared: Prepared,
    /// Its ledger.
    pub ledger: OpenLedger,
    /// Where that is.
    pub ledger_file: PathBuf,
    /// File of the records, which need not exist yet.
    pub file: PathBuf,
    /// Its text, where it exists.
    pub text: Option<String>,
    /// The records.
    pub records: Records,
}

impl Made {
    /// A study with its ledger and its records.
    ///
    /// # Errors
    /// Mistakes in one of the three files; no ledger; a study without a part, or one that asks a program.
    pub fn open(study: &Path, ledger: Option<&Path>) -> Result<Made, Failure> {
        let prepared = prepared(study, Overrides::default())?;
        let what = "take measurements of a study without a part of its own";
        refuse_asking(&prepared, what, "name the study of a part")?;
        let ledger_file = ledger.map_or_else(|| store::ledger_beside(study), Path::to_path_buf);
        let ledger = records::ledger(&ledger_file)?.ok_or_else(|| {
            Failure::call(
                format!("there is no ledger {}", ledger_file.display()),
                "parts are made to revisions, so adopt one first: fretwork adopt RUN --pick ID --reason TEXT",
            )
        })?;
        let file = store::measured_beside(study);
        let text = match store::read_record(&file) {
            Ok(text) => Some(text),
            Err(StoreError::Missing { .. }) => None,
            Err(error) => return Err(error.into()),
        };
        let records = match &text {
            Some(text) => read_records(text).map_err(|problems| printed(&problems, text, &file))?,
            None => Records {
                study: ledger.ledger.study.clone(),
                list: Vec::new(),
            },
        };
        if records.study != ledger.ledger.study {
            return Err(Failure::call(
                format!(
                    "{} holds parts of {}, not of {}",
                    file.display(),
                    records::shown(&records.study),
                    records::shown(&ledger.ledger.study)
                ),
                "keep the records of a study beside it",
            ));
        }
        let made = Made {
            prepared,
            ledger,
            ledger_file,
            file,
            text,
            records,
        };
        made.check(&made.records.list, Some(&made.file))?;
        Ok(made)
    }

    /// The revision of a letter.
    pub fn revision(&self, letter: &Letter) -> Option<&Revision> {
        let mut revisions = self
            .ledger
            .ledger
            .entries
            .iter()
            .map(|entry| &entry.revision);
        revisions.find(|revision| revision.letter == *letter)
    }

    /// That every record is of a revision that there is.
    pub fn check(&self, entries: &[Entry], file: Option<&Path>) -> Result<(), Failure> {
        let unknown = entries
            .iter()
            .find(|entry| self.revision(&entry.record.revision).is_none());
        let Some(Entry { record, line }) = unknown else {
            return Ok(());
        };
        let all = self.ledger.ledger.entries.iter();
        let all: Vec<&str> = all.map(|entry| entry.revision.letter.as_str()).collect();
        Err(Failure::call(
            format!(
                "{}part {} is of revision {}, which {} does not have",
                at(file, *line),
                records::shown(&record.part),
                record.revision,
                self.ledger_file.display()
            ),
            match all.as_slice() {
                [] => {
                    "adopt a design first: fretwork adopt RUN --pick ID --reason TEXT".to_string()
                }
                all => format!(
                    "its revisions are {}: write one of these, or adopt the design first",
                    all.join(", ")
                ),
            },
        ))
    }

    /// Adds records at the end of the file.
    ///
    /// # Errors
    /// A disk that refuses, or a file that somebody changed in the meantime.
    pub fn append(&self, records: &[Record]) -> Result<(), Failure> {
        let study = &self.ledger.ledger.study;
        store::append_records(&self.file, self.text.as_deref(), study, records).map_err(|error| {
            match Failure::from(error) {
                Failure::Other { what, .. } => Failure::other(
                    what,
                    "make room, or see that you may write beside the study; then give the same call again: nothing was changed",
                ),
                failure => failure,
            }
        })
    }
}

/// Where a record stands, before what is said of it; empty of one that stands in the call.
pub(super) fn at(file: Option<&Path>, line: usize) -> String {
    file.map_or_else(String::new, |file| format!("{}:{line}: ", file.display()))
}

/// Problems of a file of records or readings, in print.
pub(super) fn printed(problems: &[Problem], text: &str, path: &Path) -> Failure {
    Failure::Text(study::print(
        problems,
        text,
        &path.display().to_string(),
        true,
    ))
}
