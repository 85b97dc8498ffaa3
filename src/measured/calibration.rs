//! A few factors with a physical meaning, fitted to what was measured of made parts.

use nalgebra::DMatrix;

use super::figure::Of;
use super::fit::{Fitted, Model, fit, slopes};
use super::least_squares::{Estimate, FitError, Noise};
use crate::evaluate::Calibration;

/// Chance with which an interval holds its factor.
pub const SHARE: f64 = 0.95;

/// Condition number of the columns, each of length 1, from which on factors count as alike.
///
/// Source: Belsley, Kuh and Welsch, Regression Diagnostics, 1980: 30 and more is harmful (from memory).
const ALIKE: f64 = 30.0;

/// Standard errors by which the readings must move when a factor does by much, or no record tells of it.
const HEARD: f64 = 0.02;

/// A factor that may be fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Knob {
    /// Name, as in [`Calibration::NAMES`].
    pub name: &'static str,
    /// Unit; empty for a plain factor.
    pub unit: &'static str,
    /// Value that changes nothing.
    pub neutral: f64,
    /// By how much would be much.
    pub much: f64,
    /// Least and greatest value that it can mean.
    pub range: (f64, f64),
}

/// The factors in the order of [`Calibration::NAMES`].
pub const KNOBS: [Knob; 6] = [
    knob(0, 1.0, 0.05, (0.5, 2.0)),
    knob(1, 1.0, 0.1, (0.2, 5.0)),
    knob(2, 0.0, 0.1, (-1.0, 1.0)),
    knob(3, 0.0, 1e-3, (0.0, 1.0)),
    knob(4, 0.0, 5.0, (-60.0, 3600.0)),
    knob(5, 1.0, 0.5, (0.01, 100.0)),
];

/// Which of two factors that can't be told apart is held: the one with the higher rank.
const RANKS: [usize; 6] = [0, 1, 5, 4, 2, 3];

const fn knob(place: usize, neutral: f64, much: f64, range: (f64, f64)) -> Knob {
    let (name, unit) = Calibration::NAMES[place];
    Knob {
        name,
        unit,
        neutral,
        much,
        range,
    }
}

/// A measured figure of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The part.
    pub part: String,
    /// Letter of its revision.
    pub revision: String,
    /// Of what.
    pub of: Of,
    /// What was measured, in `unit`.
    pub measured: f64,
    /// The model's unit.
    pub unit: String,
    /// Standard error of its own: of the readings, and from part to part; above 0.
    pub own: f64,
    /// Standard error of the model, in which all parts of the revision share.
    pub shared: f64,
    /// Whether its part is held back as a test.
    pub held_back: bool,
}

/// What became of a factor.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// It was fitted, and its interval does not hold the value that changes nothing.
    Applied,
    /// Its interval holds the value that changes nothing: left there.
    Spans,
    /// No record tells of it: left at the value that changes nothing.
    Silent,
    /// It moves the figures as these do, or there are too few readings for it: held at the value that changes nothing.
    Alike(Vec<&'static str>),
    /// It came out where it can't mean anything: left at the value that changes nothing.
    Outside,
    /// The call leaves it out.
    LeftOut,
}

/// A factor as it was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// Which.
    pub knob: Knob,
    /// Value as fitted; the neutral one where it was not fitted.
    pub value: f64,
    /// Its standard error; not a number where it was not fitted.
    pub error: f64,
    /// Half the width of its interval; not a number where it was not fitted.
    pub half_width: f64,
    /// What became of it.
    pub verdict: Verdict,
}

/// A calibration by measured parts.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The factors, as [`KNOBS`].
    pub factors: Vec<Found>,
    /// The model's figures without calibration, (rows).
    pub before: Vec<f64>,
    /// With it, (rows).
    pub after: Vec<f64>,
    /// Sum of squares of the fitted rows over their errors, before and after.
    pub chi2: (f64, f64),
    /// Rows fitted less factors applied.
    pub freedom: usize,
    /// Root mean square of the held-back part's misses over their errors, before and after; `None` where no part is held
    /// back.
    pub test: Option<(f64, f64)>,
    /// Whether every fit settled.
    pub settled: bool,
}

impl Outcome {
    /// Values of the factors as they are applied, as [`KNOBS`].
    pub fn values(&self) -> Vec<f64> {
        let value = |found: &Found| match found.verdict {
            Verdict::Applied => found.value,
            _ => found.knob.neutral,
        };
        self.factors.iter().map(value).collect()
    }

    /// How many times as far as their errors the fitted readings lie from the calibrated model.
    pub fn ratio(&self) -> f64 {
        (self.chi2.1 / self.freedom as f64).sqrt()
    }
}

/// Fits those factors that the rows not held back can tell, with `allowed` (as [`KNOBS`]) saying which may be.
///
/// `model`: values of all factors in, figures of all rows out. Factors of which no row tells, and of those that can't be
/// told apart all but the first, are held. Then all others are fitted together; while an interval holds the value that
/// changes nothing, the factor nearest to it is taken out and the others are fitted again.
///
/// # Errors
/// `NoAnswer` where the model has none without calibration, `NotFinite` where an error is not above 0, `TooFewRows` where
/// all are held back.
pub fn calibrate(model: &Model, rows: &[Row], allowed: &[bool; 6]) -> Result<Outcome, FitError> {
    let neutral: Vec<f64> = KNOBS.iter().map(|knob| knob.neutral).collect();
    let before = model(&neutral).ok_or(FitError::NoAnswer)?;
    let fitted: Vec<usize> = (0..rows.len())
        .filter(|row| !rows[*row].held_back)
        .collect();
    if fitted.is_empty() {
        let columns = allowed.iter().filter(|allowed| **allowed).count();
        return Err(FitError::TooFewRows { rows: 0, columns });
    }
    let problem = Problem {
        model,
        noise: noise(rows, &fitted),
        measured: fitted.iter().map(|row| rows[*row].measured).collect(),
        fitted: &fitted,
        neutral: &neutral,
    };
    let mut factors: Vec<Found> = KNOBS
        .iter()
        .zip(allowed)
        .map(|(knob, allowed)| Found {
            knob: *knob,
            value: knob.neutral,
            error: f64::NAN,
            half_width: f64::NAN,
            verdict: match allowed {
                true => Verdict::Applied,
                false => Verdict::LeftOut,
            },
        })
        .collect();
    problem.hold(&mut factors)?;
    let (mut settled, mut after, mut left) = (true, before.clone(), None);
    loop {
        let active: Vec<usize> = (0..KNOBS.len())
            .filter(|place| factors[*place].verdict == Verdict::Applied)
            .collect();
        if active.is_empty() {
            break;
        }
        let found = problem.fit(&active)?;
        settled &= found.settled;
        let estimate = &found.estimate;
        for (at, place) in active.iter().enumerate() {
            let factor = &mut factors[*place];
            factor.value = estimate.values[at];
            factor.error = estimate.cautious_error(at);
            factor.half_width = estimate.half_width(at, SHARE);
        }
        if let Some((place, verdict)) = worst(&factors, &active) {
            factors[place].verdict = verdict;
            continue;
        }
        let values = problem.placed(&active, &estimate.values);
        after = model(&values).ok_or(FitError::NoAnswer)?;
        left = Some(found.estimate);
        break;
    }
    Ok(Outcome {
        chi2: (
            problem.chi2(&before)?,
            left.as_ref()
                .map_or(problem.chi2(&before)?, |left: &Estimate| left.chi2),
        ),
        freedom: left.map_or(fitted.len(), |left| left.freedom),
        test: test(rows, &before, &after),
        factors,
        before,
        after,
        settled,
    })
}

/// The factor to be taken out next, if one must be.
fn worst(factors: &[Found], active: &[usize]) -> Option<(usize, Verdict)> {
    let apart = |place: &usize| {
        let factor = &factors[*place];
        (factor.value - factor.knob.neutral).abs() / factor.half_width
    };
    let nearest = active.iter().min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
    // A factor without an interval is as near as can be.
    if !(apart(nearest) > 1.0) {
        return Some((*nearest, Verdict::Spans));
    }
    let outside = |place: &&usize| {
        let (least, most) = factors[**place].knob.range;
        !(least..=most).contains(&factors[**place].value)
    };
    active
        .iter()
        .find(outside)
        .map(|place| (*place, Verdict::Outside))
}

struct Problem<'a> {
    model: &'a Model<'a>,
    noise: Noise,
    measured: Vec<f64>,
    fitted: &'a [usize],
    neutral: &'a [f64],
}

impl Problem<'_> {
    /// Values of all factors, some of them as given.
    fn placed(&self, active: &[usize], values: &[f64]) -> Vec<f64> {
        let mut all = self.neutral.to_vec();
        for (place, value) in active.iter().zip(values) {
            all[*place] = *value;
        }
        all
    }

    fn figures(&self, active: &[usize], values: &[f64]) -> Option<Vec<f64>> {
        let all = (self.model)(&self.placed(active, values))?;
        Some(self.fitted.iter().map(|row| all[*row]).collect())
    }

    fn fit(&self, active: &[usize]) -> Result<Fitted, FitError> {
        let start: Vec<f64> = active.iter().map(|place| self.neutral[*place]).collect();
        let model = |values: &[f64]| self.figures(active, values);
        fit(&model, &start, &steps(active), &self.measured, &self.noise)
    }

    fn chi2(&self, figures: &[f64]) -> Result<f64, FitError> {
        let pairs = self.fitted.iter().zip(&self.measured);
        let apart = pairs.map(|(row, measured)| measured - figures[*row]);
        let apart = DMatrix::from_iterator(self.measured.len(), 1, apart);
        Ok(self.noise.whiten(apart)?.norm_squared())
    }

    /// Holds the factors that the rows can't tell.
    fn hold(&self, factors: &mut [Found]) -> Result<(), FitError> {
        let all: Vec<usize> = (0..KNOBS.len())
            .filter(|place| factors[*place].verdict == Verdict::Applied)
            .collect();
        if all.is_empty() {
            return Ok(());
        }
        let start: Vec<f64> = all.iter().map(|place| self.neutral[*place]).collect();
        let model = |values: &[f64]| self.figures(&all, values);
        let moves = self.noise.whiten(slopes(&model, &start, &steps(&all))?)?;
        let mut told = Vec::new();
        for (at, place) in all.iter().enumerate() {
            let heard = moves.column(at).norm() * KNOBS[*place].much;
            match heard > HEARD {
                true => told.push((*place, moves.column(at).normalize())),
                false => factors[*place].verdict = Verdict::Silent,
            }
        }
        while let Some((at, like)) = indistinct(&told, self.measured.len()) {
            let (place, _) = told.remove(at);
            factors[place].verdict = Verdict::Alike(like);
        }
        Ok(())
    }
}

/// Which of some factors, by its place among them, can't be told from others, and which those are; `None` where all can.
fn indistinct(
    told: &[(usize, nalgebra::DVector<f64>)],
    rows: usize,
) -> Option<(usize, Vec<&'static str>)> {
    let last = |among: &[usize]| among.iter().copied().max_by_key(|at| RANKS[told[*at].0]);
    let all: Vec<usize> = (0..told.len()).collect();
    if told.len() > rows {
        return last(&all).map(|at| (at, Vec::new()));
    }
    if told.len() < 2 {
        return None;
    }
    let columns: Vec<_> = told.iter().map(|(_, column)| column.clone()).collect();
    let parts = DMatrix::from_columns(&columns).svd(false, true);
    let (least, most) = (parts.singular_values.argmin(), parts.singular_values.max());
    if most < ALIKE * least.1 {
        return None;
    }
    // The combination that moves the readings least is made of those that are alike.
    let along = parts.v_t.as_ref()?.row(least.0).into_owned();
    let share = along.amax();
    let alike: Vec<usize> = all
        .into_iter()
        .filter(|at| along[*at].abs() > 0.3 * share)
        .collect();
    let held = last(&alike)?;
    let others = alike.iter().filter(|at| **at != held);
    Some((held, others.map(|at| KNOBS[told[*at].0].name).collect()))
}

fn steps(active: &[usize]) -> Vec<f64> {
    active
        .iter()
        .map(|place| 1e-2 * KNOBS[*place].much)
        .collect()
}

/// Covariance of the fitted rows: each errs on its own, and all of one revision and measure as the model does.
fn noise(rows: &[Row], fitted: &[usize]) -> Noise {
    let count = fitted.len();
    Noise::Joint(DMatrix::from_fn(count, count, |i, j| {
        let (one, other) = (&rows[fitted[i]], &rows[fitted[j]]);
        let own = if i == j { one.own * one.own } else { 0.0 };
        let together = one.revision == other.revision && one.of == other.of;
        own + if together {
            one.shared * other.shared
        } else {
            0.0
        }
    }))
}

/// Root mean square of the misses of the rows held back over their errors, before and after.
fn test(rows: &[Row], before: &[f64], after: &[f64]) -> Option<(f64, f64)> {
    let held: Vec<usize> = (0..rows.len()).filter(|row| rows[*row].held_back).collect();
    let missed = |figures: &[f64]| {
        let square = |row: &usize| {
            let each = &rows[*row];
            ((each.measured - figures[*row]) / each.own.hypot(each.shared)).powi(2)
        };
        (held.iter().map(square).sum::<f64>() / held.len() as f64).sqrt()
    };
    (!held.is_empty()).then(|| (missed(before), missed(after)))
}
