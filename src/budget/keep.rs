//! What the candidates of a part must keep.

use super::item::Item;
use super::options::{Choice, Front, Objective};
use super::read::shown;
use crate::expression::{Fault, FaultKind, Formula, Order, split_comparison};
use crate::ledger::Quantity;
use crate::study::{Problem, suggest};
use crate::units::Unit;

/// A figure counts as kept up to so large a share of it: ledgers have seven digits.
pub(super) const SLACK: f64 = 1e-6;

/// What is to be kept: as written, and how it is looked at in the columns of a front.
pub(super) struct Kept {
    left: Formula,
    order: Order,
    right: Formula,
}

impl Kept {
    /// Reads a text; `units` of the front's columns.
    ///
    /// # Errors
    /// What can't be read as a constraint over the front's columns.
    pub fn read(item: &Item, text: &str, front: &Front, units: &[Unit]) -> Result<Kept, Problem> {
        let names = |name: &str| {
            let slot = front.columns.iter().position(|(known, _)| known == name)?;
            Some((slot, units[slot].dimension))
        };
        let fault = |why: String, mend: Option<String>| {
            let title = format!("`{}` can't be kept: {why}", shown(text));
            Problem::new("budget/keep", title, item.places.keep.clone(), "read here")
                .mend("write it as a constraint of the study: \"tilt.stiffness >= 250 N/mm\"")
                .mend_if(mend)
        };
        let of = |faults: Vec<Fault>| match faults.into_iter().next() {
            Some(first) => {
                let known: Vec<&str> = front
                    .columns
                    .iter()
                    .map(|(name, _)| name.as_str())
                    .collect();
                let near = match &first.kind {
                    FaultKind::UnknownName(name) => suggest(name, &known),
                    kind => kind.mend(),
                };
                fault(first.kind.to_string(), near)
            }
            None => fault("it can't be read".into(), None),
        };
        let (left, order, right) =
            split_comparison(text).map_err(|why| fault(why.kind.to_string(), why.kind.mend()))?;
        let (left, right) = (&text[left], &text[right]);
        let left = Formula::read(left, &names).map_err(of)?;
        let right = Formula::read_as(right, left.dimension, &names).map_err(of)?;
        Ok(Kept { left, order, right })
    }

    /// Whether it is met; `slots`: the columns' values in base units.
    pub fn is_met(&self, slots: &[f64]) -> bool {
        let (left, right) = (self.left.value(slots), self.right.value(slots));
        match self.order {
            Order::AtMost => left <= right + SLACK * right.abs(),
            Order::AtLeast => left >= right - SLACK * right.abs(),
        }
    }
}

/// That objectives are held at today's values, in words.
pub(super) fn held(objectives: &[Objective], today: &Choice) -> Vec<String> {
    let told = objectives
        .iter()
        .zip(&today.objectives)
        .filter(|(_, value)| value.is_finite());
    let words = |(objective, value): (&Objective, &f64)| {
        let sign = if objective.most { ">=" } else { "<=" };
        let value = Quantity {
            name: String::new(),
            value: *value,
            unit: objective.unit.clone(),
        };
        format!("{} {sign} {}", objective.name, value.text(4))
    };
    told.map(words).collect()
}
