//! What the model says of the parts that were measured.

use super::figure::Of;
use crate::evaluate::Evaluator;
use crate::ledger::{Quantity, Revision};

/// Word for the whole cycle among the names of operations.
pub const CYCLE: &str = "cycle";

/// Variables of a revision, in base units, and the names of those that it does not tell: they stay as in today's.
pub fn variables_of(evaluator: &Evaluator, revision: &Revision) -> (Vec<f64>, Vec<String>) {
    let mut missing = Vec::new();
    let mut value = |variable: &crate::evaluate::setup::Variable| {
        let unit = variable.unit.symbol.as_str();
        let told = revision
            .dimensions
            .iter()
            .find(|told| told.name == variable.name);
        let told = told.and_then(|told: &Quantity| told.in_unit(unit));
        match told {
            Some(told) => told * variable.unit.size,
            None => {
                missing.push(variable.name.clone());
                variable.baseline
            }
        }
    };
    let values = evaluator.setup().variables.iter().map(&mut value).collect();
    (values, missing)
}

/// What the model says of measured things: masses in g, times in s, stiffness in N/mm or N mm/rad, frequencies in Hz. Not a
/// number for what it does not know.
pub fn predicted(evaluator: &Evaluator, variables: &[f64], of: &[Of]) -> Vec<f64> {
    let logged = |of: &&Of| is_operation(of);
    let times = match of.iter().any(|each| logged(&each)) {
        true => operation_times(evaluator, variables, of),
        false => Vec::new(),
    };
    let mut times = times.into_iter();
    let quick = quick(evaluator, variables, of);
    let pairs = of.iter().zip(quick);
    pairs
        .map(|(of, quick)| match is_operation(of) {
            true => times.next().unwrap_or(f64::NAN),
            false => quick,
        })
        .collect()
}

/// Whether something is the time of an operation, rather than of a whole cycle.
fn is_operation(of: &Of) -> bool {
    matches!(of, Of::Time(name) if name != CYCLE)
}

/// Times of the operations among measured things, in their order.
fn operation_times(evaluator: &Evaluator, variables: &[f64], of: &[Of]) -> Vec<f64> {
    let all = evaluator.operation_times(variables).unwrap_or_default();
    let time = |of: &Of| match of {
        Of::Time(logged) if logged != CYCLE => {
            let covered = all
                .iter()
                .filter(|(name, feature, _)| covers(logged, name, feature));
            // A sum over nothing is no time.
            covered
                .map(|(_, _, seconds)| *seconds)
                .reduce(|a, b| a + b)
                .or(Some(f64::NAN))
        }
        _ => None,
    };
    of.iter().filter_map(time).collect()
}

/// As [`predicted`], not a number for operations: a small part of the work.
fn quick(evaluator: &Evaluator, variables: &[f64], of: &[Of]) -> Vec<f64> {
    let record = evaluator.record_of_frame(variables);
    let setup = evaluator.setup();
    let first = setup.variables.len() + setup.derived.len();
    let measure = |name: &str| {
        let mut measures = evaluator.measures().enumerate();
        let found = measures.find(|(_, (each, _))| *each == name);
        found.map_or(f64::NAN, |(at, (_, unit))| {
            record.slots[first + at] / unit.size
        })
    };
    let one = |of: &Of| match of {
        Of::Mass(true) => measure("mass"),
        Of::Mass(false) => measure("metal_mass"),
        Of::Stiffness(load) => measure(&format!("{load}.stiffness")),
        Of::Time(name) if name == CYCLE => measure("cycle_time"),
        Of::Time(_) => f64::NAN,
        Of::Frequency(place, held, fitted) => {
            let held = (!held.is_empty()).then_some(held.as_str());
            let found = evaluator.frequencies(variables, held, *fitted, *place + SPARE);
            let found = found.map(|found| paired(&found));
            found
                .and_then(|found| found.get(place - 1).copied())
                .unwrap_or(f64::NAN)
        }
    };
    of.iter().map(one).collect()
}

/// Vibrations worked out beyond the one asked for, as pairs count once.
const SPARE: usize = 6;

/// Two frequencies nearer than this share are a pair, of which a tap shows one.
const PAIR: f64 = 0.01;

/// Frequencies with each pair as one, its mean: a ring has nearly every vibration twice, and a tap shows both as one peak
/// (common practice, no source).
pub fn paired(frequencies: &[f64]) -> Vec<f64> {
    let mut all: Vec<f64> = Vec::new();
    let mut at = 0;
    while at < frequencies.len() {
        let one = frequencies[at];
        match frequencies
            .get(at + 1)
            .filter(|other| *other - one <= PAIR * one)
        {
            Some(other) => {
                all.push(0.5 * (one + other));
                at += 2;
            }
            None => {
                all.push(one);
                at += 1;
            }
        }
    }
    all
}

/// Names of the operations of a plan as times are logged: `drill, row relief`; each once.
pub fn operation_names(evaluator: &Evaluator, variables: &[f64]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (name, feature, _) in evaluator.operation_times(variables).unwrap_or_default() {
        let name = format!("{name}, {feature}");
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// Whether a logged name covers an operation: `drill, row relief` in every setup, or `drill`, on whatever feature.
fn covers(logged: &str, name: &str, feature: &str) -> bool {
    let rest = logged.strip_prefix(name);
    rest.is_some_and(|rest| rest.is_empty() || rest.strip_prefix(", ") == Some(feature))
}
