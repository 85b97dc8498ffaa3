//! What became of the figures from revision to revision.

use super::Date;
use super::letter::Letter;
use super::quantity::Quantity;
use super::read::Ledger;
use super::revision::Revision;

/// The revisions of a ledger beside each other.
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    /// File stem of the study.
    pub study: String,
    /// Revisions, in order.
    pub steps: Vec<Step>,
    /// Objectives of the last revision first, then whatever else all revisions tell.
    pub measures: Vec<Measure>,
}

/// A revision, and what it changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Its letter.
    pub letter: Letter,
    /// Day of the decision.
    pub date: Date,
    /// Who decided.
    pub by: Vec<String>,
    /// Why.
    pub reason: String,
    /// Run and design that it came from.
    pub source: (String, usize),
    /// Greatest relative violation of a constraint.
    pub violation: f64,
    /// Dimensions that differ from the revision before; none for the first.
    pub changes: Vec<Change>,
}

/// A dimension that differs from the revision before.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Its name.
    pub name: String,
    /// Value before, with its unit; `None` where the revision before has no such dimension.
    pub from: Option<String>,
    /// Value now, with its unit; `None` where there is no such dimension any more.
    pub to: Option<String>,
}

/// Which way is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sense {
    /// Less is better.
    Least,
    /// More is better.
    Most,
}

/// A measure over the revisions.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// Name.
    pub name: String,
    /// Unit of the values: that of the last revision.
    pub unit: String,
    /// Which way is better, where it is an objective of the last revision.
    pub sense: Option<Sense>,
    /// Its value in each revision, (n_revisions); `None` where one does not tell it, or in a unit of another kind.
    pub values: Vec<Option<f64>>,
}

impl Measure {
    /// Difference of a revision (by its index) from the one before, and that relative to the one before; `None` for the
    /// first and where either is not told. The relative one is infinite or NaN where the one before is 0.
    pub fn change(&self, step: usize) -> Option<(f64, f64)> {
        let before = self.values[step.checked_sub(1)?]?;
        let difference = self.values[step]? - before;
        Some((difference, difference / before.abs()))
    }

    /// Whether a revision (by its index) is better than the one before; `None` where that can't be said.
    pub fn better(&self, step: usize) -> Option<bool> {
        let (difference, share) = self.change(step)?;
        let sense = self
            .sense
            .filter(|_| difference != 0.0 && !(share.abs() < 1e-9))?;
        Some((difference > 0.0) == (sense == Sense::Most))
    }
}

impl History {
    /// The history that a ledger tells.
    pub fn of(ledger: &Ledger) -> History {
        let revisions: Vec<&Revision> =
            ledger.entries.iter().map(|entry| &entry.revision).collect();
        let step = |index: usize| {
            let revision = revisions[index];
            let before = index.checked_sub(1).map(|before| revisions[before]);
            Step {
                letter: revision.letter.clone(),
                date: revision.date,
                by: revision.by.clone(),
                reason: revision.reason.clone(),
                source: (revision.run.clone(), revision.design),
                violation: revision.violation,
                changes: before.map_or_else(Vec::new, |before| {
                    changes(&before.dimensions, &revision.dimensions)
                }),
            }
        };
        History {
            study: ledger.study.clone(),
            steps: (0..revisions.len()).map(step).collect(),
            measures: measures(&revisions),
        }
    }
}

fn find<'a>(of: &'a [Quantity], name: &str) -> Option<&'a Quantity> {
    of.iter().find(|quantity| quantity.name == name)
}

/// Dimensions that differ, in the order of the later revision; what is gone last.
fn changes(before: &[Quantity], after: &[Quantity]) -> Vec<Change> {
    let text = |quantity: &Quantity| quantity.text(6);
    let mut all = Vec::new();
    for now in after {
        let was = find(before, &now.name);
        let same = was
            .and_then(|was| was.in_unit(&now.unit))
            .is_some_and(|was| {
                let size = was.abs().max(now.value.abs());
                (was - now.value).abs() <= 1e-9 * size
            });
        if !same {
            let (name, from, to) = (now.name.clone(), was.map(text), Some(text(now)));
            all.push(Change { name, from, to });
        }
    }
    for was in before.iter().filter(|was| find(after, &was.name).is_none()) {
        let (name, from, to) = (was.name.clone(), Some(text(was)), None);
        all.push(Change { name, from, to });
    }
    all
}

fn measures(revisions: &[&Revision]) -> Vec<Measure> {
    let Some(last) = revisions.last() else {
        return Vec::new();
    };
    let sense = |name: &str| match name {
        name if last.least.iter().any(|goal| goal == name) => Some(Sense::Least),
        name if last.most.iter().any(|goal| goal == name) => Some(Sense::Most),
        _ => None,
    };
    let measure = |quantity: &Quantity| Measure {
        name: quantity.name.clone(),
        unit: quantity.unit.clone(),
        sense: sense(&quantity.name),
        values: revisions
            .iter()
            .map(|revision| find(&revision.predicted, &quantity.name)?.in_unit(&quantity.unit))
            .collect(),
    };
    let (goals, others): (Vec<Measure>, Vec<Measure>) = last
        .predicted
        .iter()
        .map(measure)
        .partition(|measure| measure.sense.is_some());
    let told_by_all = others
        .into_iter()
        .filter(|measure| measure.values.iter().all(Option::is_some));
    goals.into_iter().chain(told_by_all).collect()
}
