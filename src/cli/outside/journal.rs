//! Answers on the disk as they come, so that a run that is killed loses none: the folder keeps whole blocks of designs,
//! and an answer may have taken hours.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use serde_json::{Value, json};

use crate::evaluate::{OutsideAnswer, Question};

/// Names of the journal in a run folder: the answers that come, and those before them.
const NAMES: [&str; 2] = ["answers.jsonl", "answers-before.jsonl"];

/// Answers in one of its files: more than the folder ever waits for to fill a block of designs, so that two are enough.
const MOST: usize = 20_000;

/// Answers of a run that is not over.
#[derive(Default)]
pub struct Journal {
    open: Mutex<Option<Open>>,
}

struct Open {
    folder: PathBuf,
    file: File,
    /// Answers in the file.
    count: usize,
    known: BTreeMap<Vec<u64>, OutsideAnswer>,
}

impl Journal {
    /// Goes on with the journal of a run folder, or begins one. A line that was not finished is left out.
    ///
    /// # Errors
    /// What the disk refuses.
    pub fn open(&self, folder: &Path) -> io::Result<()> {
        let mut known = BTreeMap::new();
        let mut count = 0;
        for name in NAMES.iter().rev() {
            let text = match fs::read(folder.join(name)) {
                Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
                Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
                Err(error) => return Err(error),
            };
            count = text.lines().count();
            known.extend(text.lines().filter_map(read));
        }
        let mut file = begin(folder)?;
        // What a killed program left unfinished must not spoil the next line.
        file.write_all(b"\n")?;
        *self.lock() = Some(Open {
            folder: folder.to_path_buf(),
            file,
            count,
            known,
        });
        Ok(())
    }

    /// The answer to a question, if it was given before.
    pub fn known(&self, question: &Question) -> Option<OutsideAnswer> {
        self.lock().as_ref()?.known.get(&key(question)).cloned()
    }

    /// Notes an answer. One that the disk refuses is asked for again some day, no more.
    pub fn note(&self, question: &Question, answer: &OutsideAnswer) {
        if let Some(open) = &mut *self.lock() {
            let _ = open.note(&line(question, answer));
        }
    }

    /// Removes it: the run folder has all.
    pub fn close(&self) {
        if let Some(open) = self.lock().take() {
            for name in NAMES {
                let _ = fs::remove_file(open.folder.join(name));
            }
        }
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Option<Open>> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Open {
    fn note(&mut self, line: &str) -> io::Result<()> {
        if self.count >= MOST {
            let [now, before] = NAMES.map(|name| self.folder.join(name));
            fs::rename(now, before)?;
            self.file = begin(&self.folder)?;
            self.count = 0;
        }
        self.count += 1;
        self.file.write_all(line.as_bytes())
    }
}

fn begin(folder: &Path) -> io::Result<File> {
    let path = folder.join(NAMES[0]);
    OpenOptions::new().append(true).create(true).open(path)
}

/// What tells designs apart: their variables, to the bit.
fn key(question: &Question) -> Vec<u64> {
    let values = question.variables.iter();
    values.map(|each| each.value.to_bits()).collect()
}

fn line(question: &Question, answer: &OutsideAnswer) -> String {
    let variables: Vec<f64> = question.variables.iter().map(|each| each.value).collect();
    let object = match answer {
        Ok(values) => json!({ "variables": variables, "values": values }),
        Err(why) => json!({ "variables": variables, "failed": why }),
    };
    format!("{object}\n")
}

fn read(line: &str) -> Option<(Vec<u64>, OutsideAnswer)> {
    let object: Value = serde_json::from_str(line).ok()?;
    let numbers = |name: &str| -> Option<Vec<f64>> {
        let list = object.get(name)?.as_array()?.iter();
        list.map(Value::as_f64).collect()
    };
    let key = numbers("variables")?
        .iter()
        .map(|value| value.to_bits())
        .collect();
    match object.get("failed").and_then(Value::as_str) {
        Some(why) => Some((key, Err(why.into()))),
        None => Some((key, Ok(numbers("values")?))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evaluate::Quantity;
    use crate::units::Unit;

    fn question(value: f64) -> Question<'static> {
        Question {
            variables: vec![Quantity {
                name: "x",
                unit: Unit::MM,
                value,
            }],
            ..Question::default()
        }
    }

    #[test]
    fn answers_outlive_a_program_that_is_killed() {
        let folder = tempfile::tempdir().unwrap();
        let (good, bad) = (0.1 + 0.2, -1e-300);
        let journal = Journal::default();
        assert_eq!(journal.known(&question(good)), None);
        journal.note(&question(1.0), &Ok(vec![1.0]));
        journal.open(folder.path()).unwrap();
        journal.note(&question(good), &Ok(vec![1.0 / 3.0, 5.0]));
        journal.note(&question(bad), &Err("no \"root\"".into()));
        drop(journal);
        let path = folder.path().join(NAMES[0]);
        let mut text = std::fs::read_to_string(&path).unwrap();
        text.push_str("{\"variables\":[7],\"val");
        std::fs::write(&path, text).unwrap();

        let journal = Journal::default();
        journal.open(folder.path()).unwrap();
        assert_eq!(
            journal.known(&question(good)),
            Some(Ok(vec![1.0 / 3.0, 5.0]))
        );
        assert_eq!(
            journal.known(&question(bad)),
            Some(Err("no \"root\"".into()))
        );
        assert_eq!(journal.known(&question(7.0)), None);
        journal.note(&question(7.0), &Ok(vec![9.0]));
        journal.open(folder.path()).unwrap();
        assert_eq!(journal.known(&question(7.0)), Some(Ok(vec![9.0])));
        journal.close();
        assert!(!path.exists());
    }
    #[test]
    fn it_stays_small() {
        let folder = tempfile::tempdir().unwrap();
        let journal = Journal::default();
        journal.open(folder.path()).unwrap();
        for x in 0..5 * MOST / 2 {
            journal.note(&question(x as f64), &Ok(vec![0.0]));
        }
        journal.open(folder.path()).unwrap();
        let known = |x: usize| journal.known(&question(x as f64)).is_some();
        assert!(known(5 * MOST / 2 - 1) && known(3 * MOST / 2) && !known(MOST / 2));
        let lines = |name| {
            fs::read_to_string(folder.path().join(name))
                .unwrap()
                .lines()
                .count()
        };
        assert!(NAMES.iter().map(lines).all(|lines| lines <= MOST + 2));
        journal.close();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }
}
