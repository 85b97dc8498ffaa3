//! Two runs compared: both fronts, what became of the earlier candidates, and why each figure moved.
//!
//! Every earlier candidate is evaluated under every mixture of the two runs' conditions; a change is split by cause
//! with [`crate::analyse::shares`], so that no order of the causes is preferred. What remains between a stored figure
//! and today's under the very same conditions is the tool version's.

mod data;
mod fates;
mod mixed;

pub use data::{
    Comparison, Fate, Figure, Incomparable, Move, Nearest, Newcomer, Objective, OldCandidate,
    RunFacts,
};

use rayon::prelude::*;

use super::data::{Change, Column, Designs, Role};
use super::explore::row_point;
use super::learn::Learnt;
use super::prepare::Prepared;
use super::rerun::condition_changes;
use crate::analyse::{quantile, shares};
use crate::evaluate::Truth;
use fates::Crowd;
pub(super) use fates::hypervolume_shares;
use mixed::{Cause, Mixtures};

/// Name of the last cause.
const TOOL_VERSION: &str = "tool version";

/// Relative difference of a stored figure and today's that is rounding.
const ROUNDING: f64 = 1e-9;

/// A run to be compared.
#[derive(Clone, Copy, Debug)]
pub struct Side<'a> {
    /// Name of its folder.
    pub run: &'a str,
    /// Program and version that made it.
    pub tool: &'a str,
    /// Its frozen study, read by today's program.
    pub prepared: &'a Prepared,
    /// What its figures rest on.
    pub learnt: &'a Learnt,
    /// Columns of its designs, as stored: an older program may have had fewer.
    pub columns: &'a [Column],
    /// Its designs, as stored.
    pub designs: &'a Designs,
    /// Its candidates.
    pub front: &'a [usize],
}

impl Side<'_> {
    /// Objectives of a candidate as stored, in their units.
    fn goals_of(&self, common: &Common, design: usize) -> Vec<f64> {
        let row = self.designs.row(design);
        let stored = |goal: &Objective| {
            let column = column_of(self.columns, &common.figures[goal.figure]);
            column.map_or(f64::NAN, |column| row[column])
        };
        common.objectives.iter().map(stored).collect()
    }
}

/// What two runs have in common.
struct Common {
    figures: Vec<Figure>,
    objectives: Vec<Objective>,
    /// Column of each figure among the earlier run's stored ones.
    stored_before: Vec<usize>,
    /// Column of each figure in either study, read today.
    figures_before: Vec<usize>,
    figures_after: Vec<usize>,
    /// For each variable of the later run its index in the earlier.
    order: Vec<usize>,
    remarks: Vec<String>,
}

impl Common {
    /// A point of the earlier run's order in the later run's.
    fn later_order(&self, point: &[f64]) -> Vec<f64> {
        self.order.iter().map(|&at| point[at]).collect()
    }

    /// A point of the later run's order in the earlier run's.
    fn earlier_order(&self, point: &[f64]) -> Vec<f64> {
        let mut turned = vec![f64::NAN; point.len()];
        for (value, &at) in point.iter().zip(&self.order) {
            turned[at] = *value;
        }
        turned
    }

    /// Objectives from figures, less is better.
    fn smaller(&self, figures: &[f64]) -> Vec<f64> {
        let goal = |goal: &Objective| match goal.most {
            true => -figures[goal.figure],
            false => figures[goal.figure],
        };
        self.objectives.iter().map(goal).collect()
    }
}

/// Two runs of one study, or of two that vary the same dimensions, compared. `before` and `after` only say which
/// way differences are counted.
///
/// # Errors
/// [`Incomparable`].
pub fn compare(before: &Side, after: &Side) -> Result<Comparison, Incomparable> {
    for side in [before, after] {
        if side.designs.is_empty() {
            let run = side.run.into();
            return Err(Incomparable::Empty { run });
        }
    }
    if [before, after]
        .iter()
        .any(|side| side.prepared.study.asking.is_some())
    {
        return Err(Incomparable::Asks);
    }
    let common = common(before, after)?;
    let causes = mixed::causes(before, after);
    let mixtures = Mixtures::new(before, after, &causes)?;
    let mut job = Job {
        before,
        after,
        common: &common,
        mixtures: &mixtures,
        later_then: Vec::new(),
        on_solids: mixed::rests_on_solids(before) || mixed::rests_on_solids(after),
    };
    let old = Front::of(before, &common, |point| point);
    let new = Front::of(after, &common, |point| common.earlier_order(&point));
    job.later_then = new.points.par_iter().map(|point| job.then(point)).collect();
    let job = job;
    let spans: Vec<f64> = before
        .prepared
        .study
        .variables
        .iter()
        .enumerate()
        .map(|(at, variable)| {
            let other = common.order.iter().position(|index| *index == at);
            let other = &after.prepared.study.variables[other.unwrap_or(at)];
            fates::span(variable, other)
        })
        .collect();
    let mut candidates: Vec<OldCandidate> = before
        .front
        .par_iter()
        .map(|&design| job.old(design, &new, &spans))
        .collect();
    let mut baseline = job.old(0, &new, &spans);
    let newcomers: Vec<Newcomer> = after
        .front
        .par_iter()
        .zip(&new.points)
        .filter_map(|(&design, point)| job.newcomer(design, point, &old, &spans))
        .collect();
    let mut names: Vec<String> = causes.iter().map(|cause| cause.words().into()).collect();
    let version = candidates
        .iter()
        .chain([&baseline])
        .flat_map(|each| &each.shares)
        .any(|shares| {
            shares
                .last()
                .is_some_and(|share| *share != 0.0 && share.is_finite())
        });
    if version {
        names.push(TOOL_VERSION.into());
    } else {
        let drop = |each: &mut OldCandidate| {
            each.shares.iter_mut().for_each(|shares| {
                shares.pop();
            });
        };
        candidates.iter_mut().for_each(drop);
        drop(&mut baseline);
    }
    let [share_before, share_after] = fates::hypervolume_shares([&old.goals, &new.goals]);
    let moves = moves(&candidates, common.figures.len(), names.len());
    let figure = |column: &Column| Figure {
        name: column.name.clone(),
        unit: column.unit.clone(),
    };
    let columns = &before.prepared.job.columns;
    let is_variable = |column: &&Column| column.role == Role::Variable;
    Ok(Comparison {
        before: facts(before, &common, share_before),
        after: facts(after, &common, share_after),
        changes: changes(before, after, &causes),
        causes: names,
        remarks: remarks(&job, &causes),
        variables: columns.iter().filter(is_variable).map(figure).collect(),
        figures: common.figures.clone(),
        objectives: common.objectives.clone(),
        baseline,
        candidates,
        newcomers,
        moves,
    })
}

/// A run's candidates: variables in base units and the earlier order, objectives with less being better.
struct Front<'a> {
    designs: &'a [usize],
    points: Vec<Vec<f64>>,
    goals: Vec<Vec<f64>>,
}

impl<'a> Front<'a> {
    fn of(side: &Side<'a>, common: &Common, order: impl Fn(Vec<f64>) -> Vec<f64>) -> Front<'a> {
        let point = |&design: &usize| row_point(side.prepared, side.designs.row(design));
        let sign = |goals: Vec<f64>| {
            let pairs = goals.into_iter().zip(&common.objectives);
            pairs
                .map(|(value, goal)| if goal.most { -value } else { value })
                .collect()
        };
        Front {
            designs: side.front,
            points: side.front.iter().map(point).map(order).collect(),
            goals: side
                .front
                .iter()
                .map(|&design| sign(side.goals_of(common, design)))
                .collect(),
        }
    }

    fn crowd<'b>(&'b self, spans: &'b [f64]) -> Crowd<'b> {
        Crowd {
            designs: self.designs,
            points: &self.points,
            spans,
        }
    }
}

struct Job<'a> {
    before: &'a Side<'a>,
    after: &'a Side<'a>,
    common: &'a Common,
    mixtures: &'a Mixtures,
    /// Objectives, less is better, that the later candidates would have had in the earlier run; `None` for those that
    /// break something there or can't be made.
    later_then: Vec<Option<Vec<f64>>>,
    on_solids: bool,
}

impl Job<'_> {
    /// Objectives of a design in the earlier run, if it had been a good one there.
    fn then(&self, point: &[f64]) -> Option<Vec<f64>> {
        if fates::outside(self.before.prepared, point).is_some() {
            return None;
        }
        let (figures, violations) = self.mixtures.evaluate(0, point, self.common);
        fates::is_feasible(&violations).then(|| self.common.smaller(&figures))
    }

    /// A design of the earlier run under the later run's conditions.
    fn old(&self, design: usize, new: &Front, spans: &[f64]) -> OldCandidate {
        let (common, mixtures) = (self.common, self.mixtures);
        let row = self.before.designs.row(design);
        let point = row_point(self.before.prepared, row);
        let stored: Vec<f64> = common.stored_before.iter().map(|&at| row[at]).collect();
        let answers: Vec<(Vec<f64>, Vec<f64>)> = (0..mixtures.len())
            .map(|set| mixtures.evaluate(set, &point, common))
            .collect();
        let (figures, violations) = &answers[mixtures.len() - 1];
        let (fate, why) = match fates::outside(self.after.prepared, &common.later_order(&point)) {
            Some(why) => (Fate::NotMade, why),
            None => fates::fate(
                self.after.prepared,
                &common.smaller(figures),
                violations,
                &new.goals,
                new.designs,
            ),
        };
        let is_made = fate != Fate::NotMade;
        let split = |at: usize| -> Vec<f64> {
            let values: Vec<f64> = answers.iter().map(|(figures, _)| figures[at]).collect();
            let mut split = shares(&values);
            let (was, today) = (stored[at], values[0]);
            let same = (today - was).abs() <= ROUNDING * was.abs() || self.on_solids;
            split.push(if same { 0.0 } else { today - was });
            match is_made {
                true => split,
                false => vec![f64::NAN; split.len()],
            }
        };
        let all = 0..stored.len();
        let goals_then = common.smaller(&answers[0].0);
        let mut later_then = self.later_then.iter().flatten();
        OldCandidate {
            design,
            variables: row[..point.len()].to_vec(),
            fate,
            why,
            by_search: later_then.any(|other| fates::beats(other, &goals_then)),
            nearest: new.crowd(spans).nearest(&point),
            after: all
                .clone()
                .map(|at| if is_made { figures[at] } else { f64::NAN })
                .collect(),
            shares: all.map(split).collect(),
            before: stored,
        }
    }

    /// A candidate of the later run, unless it was one of the earlier.
    fn newcomer(
        &self,
        design: usize,
        point: &[f64],
        old: &Front,
        spans: &[f64],
    ) -> Option<Newcomer> {
        let nearest = old.crowd(spans).nearest(point);
        if nearest.is_some_and(|nearest| nearest.distance == 0.0) {
            return None;
        }
        let (fate_before, why) = match fates::outside(self.before.prepared, point) {
            Some(why) => (Fate::NotMade, why),
            None => {
                let (figures, violations) = self.mixtures.evaluate(0, point, self.common);
                fates::fate(
                    self.before.prepared,
                    &self.common.smaller(&figures),
                    &violations,
                    &old.goals,
                    old.designs,
                )
            }
        };
        let variables = self.common.order.len();
        let row = &self.after.designs.row(design)[..variables];
        Some(Newcomer {
            design,
            variables: self.common.earlier_order(row),
            fate_before,
            why,
            nearest,
        })
    }
}

/// Where a figure is among some columns.
fn column_of(columns: &[Column], figure: &Figure) -> Option<usize> {
    let same = |column: &Column| column.name == figure.name && column.unit == figure.unit;
    columns.iter().position(same)
}

/// What two runs have in common.
fn common(before: &Side, after: &Side) -> Result<Common, Incomparable> {
    let (a, b) = (&before.prepared, &after.prepared);
    let names = |of: &Prepared| -> Vec<String> {
        let variables = of.study.variables.iter();
        variables.map(|variable| variable.name.clone()).collect()
    };
    let (ours, theirs) = (names(a), names(b));
    let only = |these: &[String], others: &[String]| -> Vec<String> {
        let lacks = |name: &&String| !others.contains(name);
        these.iter().filter(lacks).cloned().collect()
    };
    let (only_before, only_after) = (only(&ours, &theirs), only(&theirs, &ours));
    if !only_before.is_empty() || !only_after.is_empty() {
        return Err(Incomparable::Variables {
            before: only_before,
            after: only_after,
        });
    }
    let order = theirs
        .iter()
        .filter_map(|name| ours.iter().position(|other| other == name))
        .collect();
    let mut common = Common {
        figures: Vec::new(),
        objectives: Vec::new(),
        stored_before: Vec::new(),
        figures_before: Vec::new(),
        figures_after: Vec::new(),
        order,
        remarks: Vec::new(),
    };
    let mut left_out: Vec<&str> = Vec::new();
    let is_figure = |column: &&Column| !matches!(column.role, Role::Variable | Role::Derived);
    let all = a.job.columns.iter().chain(&b.job.columns);
    for column in all.filter(is_figure) {
        let figure = Figure {
            name: column.name.clone(),
            unit: column.unit.clone(),
        };
        if common.figures.contains(&figure) || left_out.contains(&column.name.as_str()) {
            continue;
        }
        let places = (
            column_of(before.columns, &figure),
            column_of(&a.job.columns, &figure),
            column_of(&b.job.columns, &figure),
        );
        match places {
            (Some(stored), Some(ours), Some(theirs)) => {
                common.stored_before.push(stored);
                common.figures_before.push(ours);
                common.figures_after.push(theirs);
                common.figures.push(figure);
            }
            _ => left_out.push(&column.name),
        }
    }
    if !left_out.is_empty() {
        let list = left_out.join(", ");
        common
            .remarks
            .push(format!("not in both runs and left out: {list}"));
    }
    for goal in &a.job.goals {
        let figure = common
            .figures_before
            .iter()
            .position(|at| *at == goal.column);
        let shared = figure.filter(|figure| {
            let column = common.figures_after[*figure];
            let same =
                |other: &super::data::Goal| other.column == column && other.most == goal.most;
            b.job.goals.iter().any(same)
                && column_of(after.columns, &common.figures[*figure]).is_some()
        });
        match shared {
            Some(figure) => common.objectives.push(Objective {
                figure,
                most: goal.most,
            }),
            None => common.remarks.push(format!(
                "{} is no objective of both runs: the fronts are compared without it",
                a.job.columns[goal.column].name
            )),
        }
    }
    if common.objectives.is_empty() {
        return Err(Incomparable::Objectives);
    }
    let more = b.job.goals.len() > common.objectives.len();
    if more && a.job.goals.len() == common.objectives.len() {
        let what = "the later run has objectives that the earlier has not: the fronts are compared without them";
        common.remarks.push(what.into());
    }
    Ok(common)
}

fn remarks(job: &Job, causes: &[Cause]) -> Vec<String> {
    let mut remarks = job.common.remarks.clone();
    if causes.contains(&Cause::Study) {
        remarks.push(
            "the studies differ in part, loads, constraints or objectives: that difference is a cause of its own"
                .into(),
        );
    }
    if causes.contains(&Cause::Law) {
        let rests = |side: &Side| matches!(side.learnt.evaluator.truth(), Truth::Law(_));
        remarks.push(match rests(job.before) == rests(job.after) {
            true => {
                "each run learnt its own law (solid over beam) from its own solids: what comes of that is a cause of \
                 its own"
            }
            false => {
                "one run rests on a law (solid over beam), the other on the beam alone: what comes of that is a cause \
                 of its own"
            }
        }
        .into());
    }
    if job.on_solids {
        remarks.push(
            "a run solved a solid of every design; a comparison solves none, so figures under the later conditions are \
             the beam's"
                .into(),
        );
    }
    remarks
}

fn changes(before: &Side, after: &Side, causes: &[Cause]) -> Vec<Change> {
    let (a, b) = (before.prepared, after.prepared);
    let mut changes = condition_changes(a.conditions.as_ref(), b.conditions.as_ref());
    let mut add = |what: &str, from: String, to: String| {
        if from != to {
            let what = what.into();
            changes.push(Change { what, from, to });
        }
    };
    if causes.contains(&Cause::Study) {
        let named = |side: &Side| format!("that of {}", side.run);
        add("study", named(before), named(after));
    }
    add("tool version", before.tool.into(), after.tool.into());
    add("seed", a.job.seed.to_string(), b.job.seed.to_string());
    let count = |of: &Prepared| of.job.evaluations.to_string();
    add("evaluations", count(a), count(b));
    changes
}

fn facts(side: &Side, common: &Common, hypervolume_share: f64) -> RunFacts {
    let conditions = side.prepared.conditions.as_ref();
    let list = |ids: Option<Vec<&str>>| ids.unwrap_or_default().join(", ");
    let id = |id: Option<&String>| id.cloned().unwrap_or_default();
    RunFacts {
        run: side.run.into(),
        title: side.prepared.job.title.clone(),
        tool: side.tool.into(),
        material: id(conditions.map(|with| &with.material.id)),
        machine: id(conditions.map(|with| &with.machine.id)),
        drills: list(conditions.map(|with| {
            let drills = with.tools.drills.iter();
            drills.map(|drill| drill.id.as_str()).collect()
        })),
        end_mills: list(conditions.map(|with| {
            let end_mills = with.tools.end_mills.iter();
            end_mills.map(|mill| mill.id.as_str()).collect()
        })),
        designs: side.designs.len(),
        front: side.front.to_vec(),
        points: side
            .front
            .iter()
            .map(|&design| side.goals_of(common, design))
            .collect(),
        hypervolume_share,
    }
}

/// How each figure moved over the candidates that can still be made.
fn moves(candidates: &[OldCandidate], figures: usize, causes: usize) -> Vec<Move> {
    (0..figures)
        .map(|at| {
            let counted: Vec<&OldCandidate> = candidates
                .iter()
                .filter(|each| (each.after[at] - each.before[at]).is_finite())
                .collect();
            let of = |value: &dyn Fn(&OldCandidate) -> f64| -> Vec<f64> {
                counted.iter().map(|each| value(each)).collect()
            };
            let changes = of(&|each| each.after[at] - each.before[at]);
            Move {
                before: quantile(&of(&|each| each.before[at]), 0.5),
                change: quantile(&changes, 0.5),
                spread: (quantile(&changes, 0.1), quantile(&changes, 0.9)),
                shares: (0..causes)
                    .map(|cause| quantile(&of(&|each| each.shares[at][cause]), 0.5))
                    .collect(),
                designs: counted.len(),
            }
        })
        .collect()
}
