//! A job explored: designs to the observer as they come, the whole run at the end.

use rayon::prelude::*;

use super::data::{Batch, Designs, Finished, Goal, Known, Milestone, Next, Told};
use super::learn::{Learnt, SHORT};
use super::prepare::Prepared;
use super::robust::scatter;
use super::shortfall::shortfall;
use super::space::{Space, place, value};
use super::why::why;
use crate::analyse;
use crate::evaluate::setup::Range;
use crate::evaluate::{Evaluator, Proof, Sheet, Truth};
use crate::explore::{self, Ending, Outcome, Plan, Problem, Settings};
use crate::solid::Density;
use crate::study::PlanKind;

/// Candidates that a page shows in full at most; a larger front is represented by a spread selection.
pub const MOST_SHEETS: usize = 200;

/// Natural vibrations of a proof.
pub(super) const VIBRATIONS: usize = 10;

/// Scattered copies of each candidate on a sheet; where the search asked for chances or quantiles, so many more that
/// these are judged anew.
const COPIES: usize = 128;
const JUDGED_AGAIN: usize = 1024;

/// Share of a search that refines its front, where a variable may take any value.
const POLISH: f64 = 0.05;

/// Explores a job: hands every batch of designs, known ones included, to the observer, and returns the run.
///
/// `known` are the designs of an earlier sitting of the same job; they are not evaluated again.
///
/// # Errors
/// In words that fit after "failed to", why the space can't be explored.
pub fn explore(
    prepared: &Prepared,
    learnt: &Learnt,
    known: &Known,
    observer: &mut dyn FnMut(&Batch) -> Next,
) -> Result<Finished, String> {
    let prepared = &prepared.resting(learnt);
    let (designs, outcome) = searched(prepared, known, observer)?;
    let trace = outcome
        .trace
        .iter()
        .map(|point| Milestone {
            designs: point.evaluations,
            feasible: feasible(&designs.violation[..point.evaluations.min(designs.len())]),
            front: point.front,
            hypervolume: point.hypervolume,
        })
        .collect();
    let ending = match outcome.ending {
        Ending::Budget => format!("all {} designs evaluated", designs.len()),
        Ending::Stalled => "the front no longer gained".into(),
        Ending::Stopped => "stopped on request".into(),
        Ending::Exhausted => format!("the space holds no more than {} designs", designs.len()),
    };
    let stopped = outcome.ending == Ending::Stopped;
    let mut finished = finish(prepared, learnt, designs, outcome.front, trace, ending);
    if !stopped && prepared.job.evaluations >= SHORT {
        prove(prepared, &mut finished);
    }
    Ok(finished)
}

/// The search alone: every design, and how it went.
///
/// # Errors
/// As [`explore`].
pub(super) fn searched(
    prepared: &Prepared,
    known: &Known,
    observer: &mut dyn FnMut(&Batch) -> Next,
) -> Result<(Designs, Outcome), String> {
    let space = Space::new(prepared);
    let settings = settings(prepared);
    let shape = Shape::of(prepared, &space);
    let (xs, rows) = shape.replayed(known);
    let mut designs = Designs::default();
    let mut batch = Batches::default();
    let known = explore::Known {
        xs: &xs,
        rows: &rows,
    };
    let outcome = explore::explore(&space, &settings, known, &mut |progress| {
        batch.clear();
        for (x, row) in progress
            .xs
            .chunks(shape.axes)
            .zip(progress.rows.chunks(shape.width))
        {
            shape.split(prepared, x, row, &mut batch);
        }
        designs.values.extend_from_slice(&batch.values);
        designs.violation.extend_from_slice(&batch.violation);
        let next = observer(&Batch {
            values: &batch.values,
            violation: &batch.violation,
            search: &batch.search,
            front: progress.front,
        });
        match next {
            Next::Continue => explore::Next::Continue,
            Next::Stop => explore::Next::Stop,
        }
    })
    .map_err(|error| error.to_string())?;
    Ok((designs, outcome))
}

/// A candidate with its proof: index of the design, and its solid answer or why it has none.
pub type Proved = (usize, Stand);

/// A solid answer, or in words that fit after "failed to" why there is none.
pub type Stand = Result<Proof, String>;

/// Solves candidates spread over the front in solid, on two meshes, and puts the answers on their sheets.
fn prove(prepared: &Prepared, finished: &mut Finished) {
    let count = prepared.study.plan.proofs as usize;
    let rows: Vec<Vec<f64>> = finished
        .sheets
        .iter()
        .map(|(design, _)| smaller(&finished.goals, finished.designs.row(*design)))
        .collect();
    let chosen = analyse::spread(&rows, count);
    let proofs: Vec<Proved> = chosen
        .par_iter()
        .map(|&at| {
            let design = finished.sheets[at].0;
            let values = row_point(prepared, finished.designs.row(design));
            (design, proof(&prepared.evaluator, &values))
        })
        .collect();
    put_proofs(finished, proofs);
    if count > 0 {
        let values = prepared.evaluator.baseline();
        put_proof(&mut finished.baseline, proof(&prepared.evaluator, &values));
    }
}

fn proof(evaluator: &Evaluator, values: &[f64]) -> Stand {
    evaluator
        .prove(values, (Density::Coarse, Density::Fine), VIBRATIONS)
        .map_err(|error| error.to_string())
}

fn put_proofs(finished: &mut Finished, proofs: Vec<Proved>) {
    for (design, proof) in proofs {
        if let Some((_, sheet)) = finished
            .sheets
            .iter_mut()
            .find(|(known, _)| *known == design)
        {
            put_proof(sheet, proof);
        }
    }
}

fn put_proof(sheet: &mut Sheet, proof: Stand) {
    match proof {
        Ok(proof) => sheet.proof = Some(proof),
        Err(why) => sheet.remarks.push(format!(
            "no solid answer, the beam's stands: failed to {why}"
        )),
    }
}

/// Objectives of a design, all to be made least.
pub(super) fn smaller(goals: &[Goal], row: &[f64]) -> Vec<f64> {
    goals
        .iter()
        .map(|goal| {
            if goal.most {
                -row[goal.column]
            } else {
                row[goal.column]
            }
        })
        .collect()
}

/// Variables of a design in base units, from its row.
pub fn row_point(prepared: &Prepared, row: &[f64]) -> Vec<f64> {
    let variables = prepared.study.variables.iter().zip(row);
    variables
        .map(|(variable, value)| value * variable.unit.size)
        .collect()
}

/// A run as it was, from its stored designs; today's revision and the candidates are evaluated again.
///
/// # Errors
/// In words that fit after "failed to", where the stored designs are not of this study.
pub fn recall(
    prepared: &Prepared,
    learnt: &Learnt,
    designs: Designs,
    front: Vec<usize>,
    trace: Vec<Milestone>,
    ending: String,
    proofs: (Vec<Proved>, Option<Stand>),
) -> Result<Finished, String> {
    let prepared = &prepared.resting(learnt);
    let width = prepared.job.columns.len();
    if designs.values.len() != designs.len() * width {
        return Err(format!(
            "review the run: its designs have not the study's {width} columns"
        ));
    }
    let mut finished = finish(prepared, learnt, designs, front, trace, ending);
    put_proofs(&mut finished, proofs.0);
    if let Some(proof) = proofs.1 {
        put_proof(&mut finished.baseline, proof);
    }
    Ok(finished)
}

/// Evaluates `count` designs of a Sobol sequence over the space on this thread, to see how long it takes.
pub fn probe(prepared: &Prepared, count: usize) {
    let space = Space::new(prepared);
    let settings = Settings {
        start: vec![baseline(&prepared.evaluator)],
        ..Settings::new(Plan::Sobol, count, prepared.job.seed)
    };
    // Whatever keeps the space from being explored is told when it is explored.
    let _ = explore::explore(&space, &settings, explore::Known::default(), &mut |_| {
        explore::Next::Continue
    });
}

fn settings(prepared: &Prepared) -> Settings {
    let study = &prepared.study;
    let plan = match study.plan.kind {
        PlanKind::Search => Plan::Search,
        PlanKind::LatinHypercube => Plan::LatinHypercube,
        PlanKind::Sobol => Plan::Sobol,
        PlanKind::Grid => Plan::Grid {
            levels: study
                .variables
                .iter()
                .map(|variable| match variable.range {
                    Range::Continuous { step: None, .. } => study.plan.levels as usize,
                    _ => 0,
                })
                .collect(),
        },
    };
    // A grid has room for today's revision beside its own designs, among which are an earlier run's candidates.
    let is_grid = study.plan.kind == PlanKind::Grid;
    let extra = usize::from(is_grid);
    let mut start = vec![baseline(&prepared.evaluator)];
    if let Some(origin) = prepared.job.origin.as_ref().filter(|_| !is_grid) {
        start.extend_from_slice(&origin.starts);
    }
    Settings {
        start,
        polish: POLISH,
        ..Settings::new(plan, prepared.job.evaluations + extra, prepared.job.seed)
    }
}

/// Today's revision as places on the axes.
fn baseline(evaluator: &Evaluator) -> Vec<f64> {
    let variables = &evaluator.setup().variables;
    variables
        .iter()
        .map(|variable| place(variable, variable.baseline))
        .collect()
}

fn feasible(violation: &[f64]) -> usize {
    violation.iter().filter(|each| **each <= 0.0).count()
}

/// How a row of the explorer and a design of the run are laid out.
struct Shape {
    axes: usize,
    width: usize,
    objectives: usize,
    head: usize,
}

#[derive(Default)]
struct Batches {
    values: Vec<f64>,
    violation: Vec<f64>,
    search: Vec<f64>,
}

impl Batches {
    fn clear(&mut self) {
        self.values.clear();
        self.violation.clear();
        self.search.clear();
    }
}

impl Shape {
    fn of(prepared: &Prepared, space: &Space) -> Shape {
        Shape {
            axes: prepared.study.variables.len(),
            width: space.width(),
            objectives: space.objectives(),
            head: space.objectives() + space.constraints(),
        }
    }

    /// The explorer's variables and rows of designs known from the store.
    fn replayed(&self, known: &Known) -> (Vec<f64>, Vec<f64>) {
        let (mut xs, mut rows) = (Vec::new(), Vec::new());
        for design in 0..known.designs.len() {
            let search = &known.search[design * (self.axes + self.head)..][..self.axes + self.head];
            xs.extend_from_slice(&search[..self.axes]);
            rows.extend_from_slice(&search[self.axes..]);
            rows.extend_from_slice(&known.designs.row(design)[self.axes..]);
        }
        (xs, rows)
    }

    fn split(&self, prepared: &Prepared, x: &[f64], row: &[f64], batch: &mut Batches) {
        let variables = prepared.study.variables.iter().zip(x);
        batch
            .values
            .extend(variables.map(|(variable, &at)| value(variable, at) / variable.unit.size));
        batch.values.extend_from_slice(&row[self.head..]);
        let violations = &row[self.objectives..self.head];
        // Not a number is the worst there is.
        let worst = violations.iter().fold(0.0_f64, |worst, each| {
            if each.is_nan() {
                f64::INFINITY
            } else {
                worst.max(*each)
            }
        });
        batch.violation.push(worst);
        batch.search.extend_from_slice(x);
        batch.search.extend_from_slice(&row[..self.head]);
    }
}

fn finish(
    prepared: &Prepared,
    learnt: &Learnt,
    designs: Designs,
    mut front: Vec<usize>,
    trace: Vec<Milestone>,
    ending: String,
) -> Finished {
    let (job, study) = (&prepared.job, &prepared.study);
    let smaller = |design: usize| smaller(&job.goals, designs.row(design));
    front.sort_by(|&a, &b| {
        let by_objectives = smaller(a)
            .iter()
            .zip(&smaller(b))
            .map(|(a, b)| a.total_cmp(b))
            .find(|order| order.is_ne());
        by_objectives.unwrap_or(a.cmp(&b))
    });
    let rows: Vec<Vec<f64>> = front.iter().map(|&design| smaller(design)).collect();
    let sheets: Vec<(usize, Sheet)> = analyse::spread(&rows, MOST_SHEETS)
        .into_iter()
        .map(|index| {
            let design = front[index];
            let values = row_point(prepared, designs.row(design));
            (design, prepared.evaluator.sheet(&values))
        })
        .collect();
    let told = tell(prepared, &designs, &front, &sheets);
    let shortfall = shortfall(prepared, &designs);
    Finished {
        study: job.study.clone(),
        title: job.title.clone(),
        notes: study.notes.clone(),
        columns: job.columns.clone(),
        goals: job.goals.clone(),
        limits: job.limits.clone(),
        baseline: prepared.evaluator.sheet(&prepared.evaluator.baseline()),
        designs,
        front,
        sheets,
        trace,
        ending,
        law: learnt.rows.clone(),
        remarks: learnt.remarks.clone(),
        told,
        shortfall,
    }
}

/// What is told of the candidates on sheets: why they are as they are, how they come out of the shop.
fn tell(
    prepared: &Prepared,
    designs: &Designs,
    front: &[usize],
    sheets: &[(usize, Sheet)],
) -> Vec<Told> {
    let evaluator = &prepared.evaluator;
    if matches!(evaluator.truth(), Truth::Solid(..)) {
        return Vec::new();
    }
    let asks = prepared.study.scatter.chance.is_some()
        || prepared
            .study
            .objectives
            .iter()
            .any(|each| each.quantile.is_some());
    let samples = if asks { JUDGED_AGAIN } else { COPIES };
    let told = |(design, _): &(usize, Sheet)| {
        let values = row_point(prepared, designs.row(*design));
        Told {
            design: *design,
            why: why(prepared, designs, front, *design),
            scatter: scatter(evaluator, &values, samples, prepared.job.seed, false),
        }
    };
    sheets.par_iter().map(told).collect()
}
