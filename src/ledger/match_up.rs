//! Designs of a decision or a ledger looked for among the designs of a run.

use std::fmt;

use super::decision::Decision;
use super::quantity::Quantity;

/// How far a dimension may be off and still be the same, relative to how far the designs of the run spread in it. A page
/// holds designs off the front to 1/65 000 of a column, and one step of a dimension is a thousandth of its range or more.
const SAME: f64 = 2e-5;

/// A run, as far as designs are looked for in it.
pub struct Identity<'a> {
    /// File stem of the study.
    pub study: &'a str,
    /// What its designs follow from, in one number.
    pub fingerprint: &'a str,
    /// Name and unit of each dimension.
    pub dimensions: &'a [(String, String)],
    /// Number and dimensions of every design held, in the order of `dimensions`.
    pub designs: &'a [(usize, Vec<f64>)],
    /// Number of designs of the run.
    pub count: usize,
}

/// A pick in the run at hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Found {
    /// Number in the decision.
    pub was: usize,
    /// Number in the run at hand.
    pub is: usize,
}

/// Why a decision and a run do not go together.
#[derive(Clone, Debug, PartialEq)]
pub enum MatchFault {
    /// It is about another study.
    OtherStudy {
        /// Of the decision.
        wanted: String,
        /// Of the run.
        found: String,
    },
    /// The run has no design of this number.
    NoSuchDesign {
        /// Number in the decision.
        design: usize,
        /// Line and column in its file.
        at: (usize, usize),
        /// Number of designs of the run.
        count: usize,
    },
    /// The design of this number has other dimensions.
    OtherDimensions {
        /// Number in the decision.
        design: usize,
        /// Line and column in its file.
        at: (usize, usize),
        /// The first dimension that differs, in words.
        what: String,
    },
    /// The run is another one, and holds no design of these dimensions.
    NotThere {
        /// Number in the decision.
        design: usize,
        /// Line and column in its file.
        at: (usize, usize),
        /// What is nearest, in words; empty where nothing is.
        nearest: String,
    },
}

impl MatchFault {
    /// Line and column in the decision's file, where the fault has a place in it.
    pub fn at(&self) -> Option<(usize, usize)> {
        match self {
            MatchFault::OtherStudy { .. } => None,
            MatchFault::NoSuchDesign { at, .. }
            | MatchFault::OtherDimensions { at, .. }
            | MatchFault::NotThere { at, .. } => Some(*at),
        }
    }
}

impl fmt::Display for MatchFault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MatchFault::OtherStudy { wanted, found } => {
                write!(
                    out,
                    "the decision is about the study {wanted}, the run is one of {found}"
                )
            }
            MatchFault::NoSuchDesign { design, count, .. } => {
                write!(
                    out,
                    "the run has no design {design}: its designs are 0 to {}",
                    count.saturating_sub(1)
                )
            }
            MatchFault::OtherDimensions { design, what, .. } => {
                write!(
                    out,
                    "design {design} of the run is not the one that was picked: {what}"
                )
            }
            MatchFault::NotThere {
                design, nearest, ..
            } if nearest.is_empty() => {
                write!(
                    out,
                    "the run is another one, and no design of it has the dimensions of pick {design}"
                )
            }
            MatchFault::NotThere {
                design, nearest, ..
            } => {
                write!(
                    out,
                    "the run is another one, and no design of it has the dimensions of pick {design}; {nearest}"
                )
            }
        }
    }
}

/// Every pick of a decision among the designs of a run: by number in the very run that it was made with (by fingerprint;
/// dimensions, where the decision has them, must agree), else by dimensions.
///
/// # Errors
/// Another study; picks that are not there, all of them.
pub fn find_picks(decision: &Decision, run: &Identity) -> Result<Vec<Found>, Vec<MatchFault>> {
    if plain(&decision.study) != plain(run.study) {
        return Err(vec![MatchFault::OtherStudy {
            wanted: decision.study.clone(),
            found: run.study.into(),
        }]);
    }
    let same_run = decision.run_fingerprint == run.fingerprint;
    let spans = spans(run);
    let (mut found, mut faults) = (Vec::new(), Vec::new());
    for pick in &decision.picks {
        let at = (pick.line, pick.column);
        let wanted = figures_in(&pick.dimensions, run.dimensions);
        let outcome = match same_run {
            true => by_number(pick.design, at, &wanted, run, &spans),
            false => by_dimensions(pick.design, at, &wanted, run, &spans),
        };
        match outcome {
            Ok(is) => found.push(Found {
                was: pick.design,
                is,
            }),
            Err(fault) => faults.push(fault),
        }
    }
    match faults.is_empty() {
        true => Ok(found),
        false => Err(faults),
    }
}

/// Quantities in the order and units of columns (name, unit); `None` where a column is not among them, or its unit is of
/// another kind.
pub fn figures_in(quantities: &[Quantity], columns: &[(String, String)]) -> Vec<Option<f64>> {
    let figure = |(name, unit): &(String, String)| {
        let quantity = quantities.iter().find(|quantity| quantity.name == *name)?;
        quantity.in_unit(unit)
    };
    columns.iter().map(figure).collect()
}

/// A name without the characters that turn the direction of text: a page leaves them out of all that it is told.
fn plain(name: &str) -> String {
    let turns = |letter: &char| matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    name.chars().filter(|letter| !turns(letter)).collect()
}

/// How far the designs spread in each dimension; its size where they do not.
fn spans(run: &Identity) -> Vec<f64> {
    let span = |column: usize| {
        let values = run.designs.iter().map(|(_, row)| row[column]);
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        if high > low {
            high - low
        } else {
            low.abs().max(1e-9)
        }
    };
    (0..run.dimensions.len()).map(span).collect()
}

/// The dimension that is furthest off, and by how much of its span. What the pick does not tell is not compared.
fn furthest(wanted: &[Option<f64>], row: &[f64], spans: &[f64]) -> (usize, f64) {
    let off = |column: usize| {
        wanted[column].map_or(0.0, |value| (value - row[column]).abs() / spans[column])
    };
    (0..row.len())
        .map(|column| (column, off(column)))
        .fold(
            (0, 0.0),
            |most, each| if each.1 > most.1 { each } else { most },
        )
}

fn by_number(
    design: usize,
    at: (usize, usize),
    wanted: &[Option<f64>],
    run: &Identity,
    spans: &[f64],
) -> Result<usize, MatchFault> {
    if design >= run.count {
        let count = run.count;
        return Err(MatchFault::NoSuchDesign { design, at, count });
    }
    let Ok(place) = run
        .designs
        .binary_search_by_key(&design, |(number, _)| *number)
    else {
        return Ok(design);
    };
    let row = &run.designs[place].1;
    let (column, off) = furthest(wanted, row, spans);
    if off <= SAME {
        return Ok(design);
    }
    let what = told_apart(wanted, row, column, run);
    Err(MatchFault::OtherDimensions { design, at, what })
}

fn by_dimensions(
    design: usize,
    at: (usize, usize),
    wanted: &[Option<f64>],
    run: &Identity,
    spans: &[f64],
) -> Result<usize, MatchFault> {
    // All dimensions must be known: a design of a run with one more is not told by the others.
    let complete = !wanted.is_empty() && wanted.iter().all(Option::is_some);
    let nearest = run
        .designs
        .iter()
        .map(|(number, row)| (*number, row, furthest(wanted, row, spans)))
        .min_by(|a, b| a.2.1.total_cmp(&b.2.1));
    match nearest {
        Some((number, _, (_, off))) if complete && off <= SAME => Ok(number),
        Some((number, row, (column, _))) if complete => {
            let nearest = format!(
                "nearest is design {number}, where {}",
                told_apart(wanted, row, column, run)
            );
            Err(MatchFault::NotThere {
                design,
                at,
                nearest,
            })
        }
        _ => {
            let missing = wanted.iter().position(Option::is_none);
            let name = missing.and_then(|column| run.dimensions.get(column));
            let nearest = name.map_or_else(String::new, |(name, _)| {
                format!("the pick does not tell `{name}`")
            });
            Err(MatchFault::NotThere {
                design,
                at,
                nearest,
            })
        }
    }
}

fn told_apart(wanted: &[Option<f64>], row: &[f64], column: usize, run: &Identity) -> String {
    let (name, unit) = &run.dimensions[column];
    let of = |value: f64| {
        Quantity {
            name: name.clone(),
            value,
            unit: unit.clone(),
        }
        .text(6)
    };
    format!(
        "`{name}` is {}, picked was {}",
        of(row[column]),
        of(wanted[column].unwrap_or(f64::NAN))
    )
}
