//! Measures that come from outside: somebody who is asked about every design, such as a program of the user's.
//!
//! This room knows only how to ask. Who answers is handed in ([`Evaluator::asking`](super::Evaluator::asking)), since
//! starting a program is no pure arithmetic.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use crate::units::Unit;

/// A measure that a study declares and somebody outside gives.
#[derive(Clone, Debug, PartialEq)]
pub struct OutsideMeasure {
    /// Name from the study.
    pub name: String,
    /// Unit in which it is given.
    pub unit: Unit,
}

/// A named quantity of a question, in the unit that the study writes it in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity<'a> {
    /// Name from the study.
    pub name: &'a str,
    /// Its unit; a plain number has none.
    pub unit: Unit,
    /// Its value in that unit; not a number where it could not be had.
    pub value: f64,
}

/// What is asked about a design.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Question<'a> {
    /// The design variables.
    pub variables: Vec<Quantity<'a>>,
    /// Derived values that need no measure.
    pub derived: Vec<Quantity<'a>>,
    /// Measures of the frame; empty in a study without a part.
    pub measures: Vec<Quantity<'a>>,
}

/// Values of the declared measures, in their order and units; or in words why there are none.
pub type Answer = Result<Vec<f64>, String>;

/// Whoever answers for the designs of a study. Asked again about the same design, it must say the same.
pub trait Outside: Send + Sync {
    /// The answer for a design. Called from several threads at once.
    fn answer(&self, question: &Question) -> Answer;
}

impl<F: Fn(&Question) -> Answer + Send + Sync> Outside for F {
    fn answer(&self, question: &Question) -> Answer {
        self(question)
    }
}

/// Whether, and how, measures from outside are had for a design.
#[derive(Clone, Copy, Debug)]
pub(super) enum Ask<'a> {
    /// They are left out: not a number.
    Nobody,
    /// Whoever answers is asked.
    Somebody,
    /// They are known, in their units.
    Known(&'a [f64]),
}

/// Why there is no answer where nobody was asked.
pub(super) const NOT_ASKED: &str = "it was not asked about this design";

/// Why there is no answer where it is known that there was none.
pub(super) const NOT_KNOWN: &str = "there was none in the run";

/// Whoever answers, with the reasons why it did not, until they are taken.
#[derive(Clone)]
pub(super) struct Asked {
    outside: Arc<dyn Outside>,
    failures: Arc<Mutex<BTreeMap<Vec<u64>, String>>>,
    /// The first design asked about, with its answer: today's revision is looked at before a run begins with it, and is
    /// not asked about twice.
    first: Arc<OnceLock<(Vec<u64>, Vec<f64>)>>,
}

impl Asked {
    pub fn new(outside: Arc<dyn Outside>) -> Asked {
        Asked {
            outside,
            failures: Arc::default(),
            first: Arc::default(),
        }
    }

    /// The answer of as many finite numbers as there are measures, about a design with these variables in base units.
    pub fn answer(&self, variables: &[f64], question: &Question, count: usize) -> Answer {
        let key = key(variables);
        if let Some((_, values)) = self.first.get().filter(|(first, _)| *first == key) {
            return Ok(values.clone());
        }
        let answer = self
            .outside
            .answer(question)
            .and_then(|values| match values {
                values if values.len() != count => Err(format!(
                    "it answers with {} numbers where {count} are declared",
                    values.len()
                )),
                values if values.iter().any(|value| !value.is_finite()) => {
                    Err("it answers with a number that is not finite".into())
                }
                values => Ok(values),
            });
        match &answer {
            Ok(values) => {
                let _ = self.first.set((key, values.clone()));
            }
            Err(why) => {
                self.failures().insert(key, why.clone());
            }
        }
        answer
    }

    /// Why there was no answer about a design, told once.
    pub fn take_failure(&self, variables: &[f64]) -> Option<String> {
        self.failures().remove(&key(variables))
    }

    fn failures(&self) -> MutexGuard<'_, BTreeMap<Vec<u64>, String>> {
        self.failures.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl fmt::Debug for Asked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Asked")
    }
}

fn key(variables: &[f64]) -> Vec<u64> {
    variables.iter().map(|value| value.to_bits()).collect()
}
