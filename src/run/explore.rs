//! A job explored: designs to the observer as they come, the whole run at the end.

use std::cell::RefCell;
use std::ops::Range;

use rayon::prelude::*;

use super::data::{Batch, Designs, Finished, Goal, Known, Milestone, Next, PART, Recall, Told};
use super::failed::{Failed, remark};
use super::learn::{Learnt, SHORT};
use super::prepare::Prepared;
use super::robust::scatter;
use super::shortfall::shortfall;
use super::space::{Space, place, value};
use super::thin::Thinner;
use super::why::why;
use crate::analyse;
use crate::evaluate::setup;
use crate::evaluate::{Evaluator, Proof, Sheet, Truth};
use crate::explore::{self, Ending, Outcome, Plan, Problem, Progress, Settings, Streamed};
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

/// Share of a search for one objective that refines what it found.
const POLISH: f64 = 0.05;

/// Explores a job: hands every batch of designs, known ones included, to the observer, and returns the run.
///
/// `known` gives designs of an earlier sitting of the same job; they are not evaluated again.
///
/// # Errors
/// In words that fit after "failed to", why the space can't be explored.
pub fn explore(
    prepared: &Prepared,
    learnt: &Learnt,
    known: Recall<'_>,
    observer: &mut dyn FnMut(&Batch) -> Next,
) -> Result<Finished, String> {
    let prepared = &prepared.resting(learnt);
    let (designs, failures, front, trace, ending) = if settings(prepared).plan.learns() {
        let known = known(0..prepared.job.evaluations);
        let (designs, failures, outcome) = searched(prepared, &known, observer)?;
        (
            designs,
            failures,
            outcome.front,
            outcome.trace,
            outcome.ending,
        )
    } else {
        let columns = prepared.job.columns.len();
        let mut thinner = Thinner::new(prepared.job.evaluations);
        let mut failures = Vec::new();
        let streamed = streamed(prepared, known, &mut |batch, entered| {
            let mut entered = entered.iter().peekable();
            let rows = batch.values.chunks(columns).zip(batch.violation);
            for (design, (row, violation)) in (batch.first..).zip(rows) {
                let front = entered.next_if_eq(&&design).is_some();
                thinner.take(design, row, *violation, front);
            }
            failures.extend_from_slice(batch.failures);
            observer(batch)
        })?;
        (
            thinner.finish(),
            failures,
            streamed.front,
            streamed.trace,
            streamed.ending,
        )
    };
    let trace = trace
        .iter()
        .map(|point| Milestone {
            designs: point.evaluations,
            feasible: point.feasible,
            front: point.front,
            hypervolume: point.hypervolume,
        })
        .collect();
    let words = words(ending, designs.len());
    let mut finished = finish(prepared, learnt, designs, failures, front, trace, words);
    if ending != Ending::Stopped && prepared.job.evaluations >= SHORT {
        prove(prepared, &mut finished);
    }
    Ok(finished)
}

fn words(ending: Ending, designs: usize) -> String {
    match ending {
        Ending::Budget => format!("all {designs} designs evaluated"),
        Ending::Stalled => "the front no longer gained".into(),
        Ending::Stopped => "stopped on request".into(),
        Ending::Exhausted => format!("the space holds no more than {designs} designs"),
    }
}

/// A shard of a run, evaluated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ShardDone {
    /// Designs of the whole run.
    pub designs: usize,
    /// Whether the shard did all that was asked.
    pub complete: bool,
}

/// Explores the shard of a job that is its own: hands every batch of its designs to the observer.
///
/// # Errors
/// As [`explore()`]; a plan that learns from its designs and so has no shards.
pub fn explore_shard(
    prepared: &Prepared,
    learnt: &Learnt,
    known: Recall<'_>,
    observer: &mut dyn FnMut(&Batch) -> Next,
) -> Result<ShardDone, String> {
    let prepared = &prepared.resting(learnt);
    let streamed = streamed(prepared, known, &mut |batch, _| observer(batch))?;
    Ok(ShardDone {
        designs: streamed.designs,
        complete: streamed.ending != Ending::Stopped,
    })
}

/// The search alone: every design, those without an answer from the study's program, and how it went.
///
/// # Errors
/// As [`explore`].
pub(super) fn searched(
    prepared: &Prepared,
    known: &Known,
    observer: &mut dyn FnMut(&Batch) -> Next,
) -> Result<(Designs, Vec<Failed>, Outcome), String> {
    let space = Space::new(prepared);
    let settings = settings(prepared);
    let shape = Shape::of(prepared, &space);
    let (xs, rows) = shape.replayed(known);
    let told = &known.failures;
    let mut designs = Designs::default();
    let mut failures: Vec<Failed> = Vec::new();
    let mut batch = Batches::default();
    let known = explore::Known {
        xs: &xs,
        rows: &rows,
    };
    let outcome = explore::explore(&space, &settings, known, &mut |progress| {
        batch.fill(prepared, &shape, progress, told);
        designs.values.extend_from_slice(&batch.values);
        designs.violation.extend_from_slice(&batch.violation);
        failures.extend_from_slice(&batch.failures);
        next(observer(&batch.of(progress)))
    })
    .map_err(|error| error.to_string())?;
    Ok((designs, failures, outcome))
}

/// Why the study's program gave no answer about a design: as it was told in an earlier sitting, or in this one.
fn why_failed(prepared: &Prepared, told: &[Failed], design: usize, x: &[f64]) -> String {
    let variables = prepared.study.variables.iter().zip(x);
    let point: Vec<f64> = variables
        .map(|(variable, &at)| value(variable, at))
        .collect();
    let earlier = told.binary_search_by_key(&design, |failed| failed.design);
    match (earlier, prepared.evaluator.take_failure(&point)) {
        (Ok(at), _) => told[at].reason.clone(),
        (Err(_), Some(reason)) => reason,
        (Err(_), None) => "the reason was not kept".into(),
    }
}

/// The designs of a plan that does not learn from them, each let go once the observer has seen it and whether it came
/// onto the front.
fn streamed(
    prepared: &Prepared,
    known: Recall<'_>,
    observer: &mut dyn FnMut(&Batch, &[usize]) -> Next,
) -> Result<Streamed, String> {
    let space = Space::new(prepared);
    let shape = Shape::of(prepared, &space);
    let shard = prepared.job.shard.map_or(
        explore::Shard {
            unit: PART,
            ..explore::Shard::ALL
        },
        |shard| explore::Shard {
            index: shard.number - 1,
            count: shard.of,
            unit: PART,
        },
    );
    let mut batch = Batches::default();
    let told: RefCell<Vec<Failed>> = RefCell::default();
    let recall = |range: Range<usize>| {
        let known = known(range);
        told.replace(known.failures.clone());
        shape.replayed(&known)
    };
    explore::stream(
        &space,
        &settings(prepared),
        shard,
        &recall,
        &mut |progress| {
            batch.fill(prepared, &shape, progress, &told.borrow());
            next(observer(&batch.of(progress), progress.entered))
        },
    )
    .map_err(|error| error.to_string())
}

fn next(answer: Next) -> explore::Next {
    match answer {
        Next::Continue => explore::Next::Continue,
        Next::Stop => explore::Next::Stop,
    }
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

/// A run as it was, from its stored designs; today's revision and the candidates are evaluated again. A program that was
/// asked about them is not asked again; of designs without an answer only the store knows.
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
    if designs.values.len() != designs.violation.len() * width {
        return Err(format!(
            "review the run: its designs have not the study's {width} columns"
        ));
    }
    let mut finished = finish(prepared, learnt, designs, Vec::new(), front, trace, ending);
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
    let plan = match (study.plan.kind, study.plan.kind.sampler()) {
        (_, Some(sampler)) => sampler,
        (PlanKind::Grid, None) => Plan::Grid {
            levels: study
                .variables
                .iter()
                .map(|variable| match variable.range {
                    setup::Range::Continuous { step: None, .. } => study.plan.levels as usize,
                    _ => 0,
                })
                .collect(),
        },
        _ => Plan::Search,
    };
    // A plan of fixed designs has room for today's revision beside them; an earlier run's candidates would take theirs.
    let is_fixed = study.plan.kind.is_fixed();
    let extra = usize::from(is_fixed);
    let mut start = vec![baseline(&prepared.evaluator)];
    if let Some(origin) = prepared.job.origin.as_ref().filter(|_| !is_fixed) {
        start.extend_from_slice(&origin.starts);
    }
    Settings {
        start,
        stall_after: match study.plan.stall {
            0 => None,
            stall => usize::try_from(stall).ok(),
        },
        polish: if study.objectives.len() == 1 {
            POLISH
        } else {
            0.0
        },
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

/// How a row of the explorer and a design of the run are laid out.
struct Shape {
    axes: usize,
    width: usize,
    objectives: usize,
    head: usize,
    /// Whether a program is asked; then the last violation says that it gave no answer.
    asks: bool,
}

#[derive(Default)]
struct Batches {
    failures: Vec<Failed>,
    values: Vec<f64>,
    violation: Vec<f64>,
    search: Vec<f64>,
}

impl Batches {
    /// The designs of a block, as the run has them.
    fn fill(
        &mut self,
        prepared: &Prepared,
        shape: &Shape,
        progress: &Progress<'_>,
        told: &[Failed],
    ) {
        self.values.clear();
        self.violation.clear();
        self.search.clear();
        self.failures.clear();
        let xs = progress.xs.chunks(shape.axes);
        let rows = progress.rows.chunks(shape.width);
        for (design, (x, row)) in progress.block.clone().zip(xs.zip(rows)) {
            shape.split(prepared, x, row, self);
            if shape.asks && row[shape.head - 1] > 0.0 {
                let reason = why_failed(prepared, told, design, x);
                self.failures.push(Failed { design, reason });
            }
        }
    }

    fn of<'b>(&'b self, progress: &Progress<'_>) -> Batch<'b> {
        Batch {
            first: progress.block.start,
            values: &self.values,
            violation: &self.violation,
            search: &self.search,
            front: progress.front,
            failures: &self.failures,
        }
    }
}

impl Shape {
    fn of(prepared: &Prepared, space: &Space) -> Shape {
        Shape {
            axes: prepared.study.variables.len(),
            width: space.width(),
            objectives: space.objectives(),
            head: space.objectives() + space.constraints(),
            asks: prepared.study.asking.is_some(),
        }
    }

    /// The explorer's variables and rows of designs known from the store.
    fn replayed(&self, known: &Known) -> (Vec<f64>, Vec<f64>) {
        let (mut xs, mut rows) = (Vec::new(), Vec::new());
        for design in known.designs.held() {
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

/// A design in full, from its row. A program that was asked about it is not asked again.
fn row_sheet(prepared: &Prepared, row: &[f64]) -> Sheet {
    let values = row_point(prepared, row);
    let outside = prepared.evaluator.setup().outside.len();
    let measures = values.len() + prepared.study.derived.len() + prepared.study.measures.len();
    match outside {
        0 => prepared.evaluator.sheet(&values),
        _ => prepared
            .evaluator
            .sheet_known(&values, &row[measures - outside..measures]),
    }
}

fn finish(
    prepared: &Prepared,
    learnt: &Learnt,
    designs: Designs,
    failures: Vec<Failed>,
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
            (design, row_sheet(prepared, designs.row(design)))
        })
        .collect();
    let mut remarks = learnt.remarks.clone();
    remarks.extend(remark(&failures, designs.len()));
    let told = tell(prepared, &designs, &front, &sheets);
    let shortfall = shortfall(prepared, &designs);
    Finished {
        study: job.study.clone(),
        title: job.title.clone(),
        notes: study.notes.clone(),
        columns: job.columns.clone(),
        goals: job.goals.clone(),
        limits: job.limits.clone(),
        baseline: match designs.is_empty() || study.asking.is_none() {
            true => prepared.evaluator.sheet(&prepared.evaluator.baseline()),
            false => row_sheet(prepared, designs.row(0)),
        },
        asks: study.asking.is_some(),
        failures,
        designs,
        front,
        sheets,
        trace,
        ending,
        law: learnt.rows.clone(),
        remarks,
        told,
        shortfall,
    }
}

/// Adds the sheets of designs that have none, and what is told of them, behind the others. Designs that are not held
/// are passed over.
pub fn add_sheets(prepared: &Prepared, learnt: &Learnt, finished: &mut Finished, picks: &[usize]) {
    let prepared = &prepared.resting(learnt);
    let mut more: Vec<(usize, Sheet)> = Vec::new();
    for &pick in picks {
        let known = |(design, _): &(usize, Sheet)| *design == pick;
        let new = !finished.sheets.iter().any(known) && !more.iter().any(known);
        if new && pick != 0 && finished.designs.holds(pick) {
            more.push((pick, row_sheet(prepared, finished.designs.row(pick))));
        }
    }
    let told = tell(prepared, &finished.designs, &finished.front, &more);
    finished.told.extend(told);
    finished.sheets.extend(more);
}

/// What is told of the candidates on sheets: why they are as they are, how they come out of the shop.
fn tell(
    prepared: &Prepared,
    designs: &Designs,
    front: &[usize],
    sheets: &[(usize, Sheet)],
) -> Vec<Told> {
    let evaluator = &prepared.evaluator;
    if matches!(evaluator.truth(), Truth::Solid(..)) || prepared.study.asking.is_some() {
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
