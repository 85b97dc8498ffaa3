//! The model of a study as a calibration turns it: factors in, figures of measured parts out.

use super::calibration::{KNOBS, Row};
use super::figure::Of;
use super::model::{predicted, variables_of};
use crate::evaluate::{Calibration, Evaluator};
use crate::ledger::Revision;

/// Parts of a study under its model.
pub struct Bench {
    neutral: Evaluator,
    revisions: Vec<Made>,
    /// Load cases that are held, on which joints give.
    held: Vec<String>,
    rows: usize,
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
    /// The parts of `rows`; their revisions are found by `revision`. `solid` gives, of the variables of a revision, each
    /// load case with its stiffness by a solid over the beam's; a load case left out stays the beam's. It is asked once a
    /// revision, and only where stiffness was measured.
    ///
    /// `None` where a revision is not found, or the study has no part.
    pub fn new<'a>(
        evaluator: &Evaluator,
        rows: &[Row],
        revision: impl Fn(&str) -> Option<&'a Revision>,
        mut solid: impl FnMut(&[f64]) -> Vec<(String, f64)>,
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
            let loaded = of.iter().any(|of| matches!(of, Of::Stiffness(_)));
            let known = if loaded {
                solid(&variables)
            } else {
                Vec::new()
            };
            let ratio = |of: &Of| match of {
                Of::Stiffness(load) => {
                    let found = known.iter().find(|(name, _)| name == load);
                    found.map_or(1.0, |(_, ratio)| *ratio)
                }
                _ => 1.0,
            };
            let ratios = of.iter().map(ratio).collect();
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
        for made in &self.revisions {
            let figures = predicted(&evaluator, &made.variables, &made.of);
            for (at, of) in made.of.iter().enumerate() {
                all[made.rows[at]] = match of {
                    Of::Stiffness(load) => {
                        let joint = if self.held.contains(load) {
                            values[3]
                        } else {
                            0.0
                        };
                        right(figures[at], made.ratios[at], joint)
                    }
                    _ => figures[at],
                };
            }
        }
        all.iter().all(|figure| figure.is_finite()).then_some(all)
    }
}

/// A stiffness set right by the solid: the frame's own by the ratio, the give of its joints as it is.
fn right(stiffness: f64, ratio: f64, joint: f64) -> f64 {
    1.0 / ((1.0 / stiffness - joint) / ratio + joint)
}
