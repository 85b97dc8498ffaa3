//! The model of a study as a calibration turns it: factors in, figures of measured parts out.

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::calibration::{KNOBS, Row};
use super::figure::Of;
use super::model::{is_operation, operation_times, quick, variables_of};
use crate::evaluate::{Calibration, Evaluator};
use crate::ledger::Revision;

/// Factors that times of operations follow from, by their place: modulus (walls bend, which bounds feeds), overhead,
/// acceleration.
const OF_TIMES: [usize; 3] = [1, 4, 5];

/// Parts of a study under its model.
pub struct Bench {
    neutral: Evaluator,
    revisions: Vec<Made>,
    /// Load cases that are held, on which joints give.
    held: Vec<String>,
    rows: usize,
    times: RefCell<BTreeMap<(usize, [u64; 3]), Vec<f64>>>,
}

/// What was measured of a revision.
struct Made {
    variables: Vec<f64>,
    rows: Vec<usize>,
    of: Vec<Of>,
    /// Solid over beam, for each of `of`.
    ratios: Vec<f64>,
}

impl Bench {
    /// The parts of `rows`; their revisions are found by `revision`, whose stiffness by a solid over the beam's is
    /// `ratio` of (variables, load case).
    ///
    /// Only rows whose revision is found are given figures; the others are not numbers.
    pub fn new<'a>(
        evaluator: &Evaluator,
        rows: &[Row],
        revision: impl Fn(&str) -> Option<&'a Revision>,
        mut ratio: impl FnMut(&[f64], &str) -> f64,
    ) -> Option<Bench> {
        let neutral = evaluator.calibrated(Calibration::NEUTRAL)?.ok()?;
        let mut letters: Vec<&str> = Vec::new();
        for row in rows {
            if !letters.contains(&row.revision.as_str()) {
                letters.push(&row.revision);
            }
        }
        let mut revisions = Vec::new();
        for letter in letters {
            let (variables, _) = variables_of(&neutral, revision(letter)?);
            let of_revision = |at: &usize| rows[*at].revision == letter;
            let places: Vec<usize> = (0..rows.len()).filter(of_revision).collect();
            let of: Vec<Of> = places.iter().map(|at| rows[*at].of.clone()).collect();
            let ratios = of.iter().map(|of| match of {
                Of::Stiffness(load) => ratio(&variables, load),
                _ => 1.0,
            });
            let ratios = ratios.collect();
            revisions.push(Made {
                variables,
                rows: places,
                of,
                ratios,
            });
        }
        let loads = neutral.setup().loads.iter();
        let held = loads.filter(|load| !load.supports.is_empty());
        Some(Bench {
            held: held.map(|load| load.name.clone()).collect(),
            neutral,
            revisions,
            rows: rows.len(),
            times: RefCell::default(),
        })
    }

    /// The model's figures, (rows), with the factors at these values (as [`KNOBS`]); `None` where they make no part.
    pub fn figures(&self, values: &[f64]) -> Option<Vec<f64>> {
        let set = |calibration: Calibration, (place, value): (usize, &f64)| {
            calibration.with(place, *value)
        };
        let calibration = values.iter().enumerate().fold(Calibration::NEUTRAL, set);
        let apart = KNOBS
            .iter()
            .zip(values)
            .any(|(knob, value)| *value != knob.neutral);
        let evaluator = match apart {
            true => self.neutral.calibrated(calibration)?.ok()?,
            false => self.neutral.clone(),
        };
        let mut all = vec![f64::NAN; self.rows];
        for (index, made) in self.revisions.iter().enumerate() {
            let quick = quick(&evaluator, &made.variables, &made.of);
            let mut times = self.times(&evaluator, index, values).into_iter();
            for (at, of) in made.of.iter().enumerate() {
                all[made.rows[at]] = match of {
                    of if is_operation(of) => times.next().unwrap_or(f64::NAN),
                    Of::Stiffness(load) => {
                        let joint = if self.held.contains(load) {
                            values[3]
                        } else {
                            0.0
                        };
                        right(quick[at], made.ratios[at], joint)
                    }
                    _ => quick[at],
                };
            }
        }
        all.iter().all(|figure| figure.is_finite()).then_some(all)
    }

    /// Times of a revision's operations, worked out once for each set of factors that they follow from.
    fn times(&self, evaluator: &Evaluator, index: usize, values: &[f64]) -> Vec<f64> {
        let made = &self.revisions[index];
        if !made.of.iter().any(is_operation) {
            return Vec::new();
        }
        let key = (index, OF_TIMES.map(|place| values[place].to_bits()));
        if let Some(known) = self.times.borrow().get(&key) {
            return known.clone();
        }
        let found = operation_times(evaluator, &made.variables, &made.of);
        self.times.borrow_mut().insert(key, found.clone());
        found
    }
}

/// A stiffness set right by the solid: the frame's own by the ratio, the give of its joints as it is.
fn right(stiffness: f64, ratio: f64, joint: f64) -> f64 {
    1.0 / ((1.0 / stiffness - joint) / ratio + joint)
}
