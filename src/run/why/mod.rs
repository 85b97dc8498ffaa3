//! Why a candidate is as it is: what holds it, what its neighbours on the front have instead, what every single step
//! away from it would break or cost. Every step is evaluated.

mod words;

pub use words::Better;

use serde::Serialize;

use crate::analyse;
use crate::evaluate::Record;
use crate::evaluate::setup::{Range, Relation, Variable};
use crate::run::data::Designs;
use crate::run::explore::{row_point, smaller};
use crate::run::prepare::Prepared;
use crate::run::shortfall::slots;

/// A constraint with less room than this share of its limit is active.
const ACTIVE: f64 = 0.02;

/// Step of a variable that may take any value, as a share of its range.
const STEP: f64 = 0.01;

/// Neighbours shown.
const NEIGHBOURS: usize = 3;

/// Changes of an objective below this share of it are none.
const SAME: f64 = 1e-9;

/// A constraint that holds a candidate.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Active {
    /// Constraint.
    pub name: String,
    /// As written.
    pub text: String,
    /// Left side, in `unit`.
    pub value: f64,
    /// Right side, in `unit`.
    pub limit: f64,
    /// Unit of both.
    pub unit: String,
    /// Room left as a share of the limit.
    pub margin: f64,
    /// Steps that would better an objective and break it: `floor 1.2 -> 1.1 mm`.
    pub held: Vec<String>,
}

/// A variable that can go no further one way.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AtEnd {
    /// Variable.
    pub variable: String,
    /// Its value, with unit.
    pub value: String,
    /// `lower bound`, `upper bound`, `least choice`, `greatest choice`, `only value`.
    pub end: &'static str,
}

/// A change of an objective.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shift {
    /// Objective.
    pub name: String,
    /// New less old value, in `unit`.
    pub by: f64,
    /// Unit.
    pub unit: String,
    /// Whether that is better; absent where it is no change.
    pub better: Option<bool>,
}

/// A variable that takes another value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Changed {
    /// Variable.
    pub variable: String,
    /// From this value, in `unit`,
    pub from: f64,
    /// to this one.
    pub to: f64,
    /// Unit.
    pub unit: String,
}

/// What one objective costs in another along the front.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Exchange {
    /// Objective that is paid with.
    pub of: String,
    /// Its unit.
    pub of_unit: String,
    /// Objective that is bettered.
    pub per: String,
    /// Its unit.
    pub per_unit: String,
    /// What is given of the first for one unit better in the other, all further objectives kept; negative where
    /// both get better.
    pub cost: f64,
    /// Its standard error: how far the front is from a plane there.
    pub error: f64,
}

/// A neighbour on the front.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Neighbour {
    /// Design.
    pub design: usize,
    /// What is otherwise on it.
    pub changes: Vec<Changed>,
    /// What that does.
    pub shifts: Vec<Shift>,
}

/// A constraint that a step breaks.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Broken {
    /// Constraint; `geometric rules`, `tools in stock`, `chance of meeting all`.
    pub name: String,
    /// By how much, as a share of its limit.
    pub by: f64,
}

/// One variable, one step further.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// What is changed.
    pub change: Changed,
    /// What that does to the objectives; empty where the design can't be made or solved.
    pub shifts: Vec<Shift>,
    /// What it breaks, the worst first; empty where it is feasible.
    pub broken: Vec<Broken>,
    /// Whether it is feasible, better in one objective and worse in none: the search has missed it.
    pub beats: bool,
}

/// Why a candidate is as it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Why {
    /// Design.
    pub design: usize,
    /// Whether it is on the front.
    pub on_front: bool,
    /// Constraints that hold it, the tightest first.
    pub active: Vec<Active>,
    /// Variables at an end of their range.
    pub ends: Vec<AtEnd>,
    /// Exchange rates about it; empty where the front is too thin, or it is not on it.
    pub exchange: Vec<Exchange>,
    /// Nearest neighbours on the front.
    pub neighbours: Vec<Neighbour>,
    /// Every single step, variable by variable.
    pub steps: Vec<Step>,
}

impl Step {
    /// Whether an objective, by its index, gets better.
    pub fn betters(&self, objective: usize) -> bool {
        self.shifts.get(objective).and_then(|shift| shift.better) == Some(true)
    }
}

/// Why a design of a run is as it is; `None` where it can't be made or solved.
pub fn why(prepared: &Prepared, designs: &Designs, front: &[usize], design: usize) -> Option<Why> {
    let row = designs.row(design);
    let point = row_point(prepared, row);
    let record = prepared.evaluator.record(&point);
    if record
        .slots
        .iter()
        .take(point.len())
        .any(|slot| slot.is_nan())
        || !sound(&record)
    {
        return None;
    }
    let steps: Vec<Step> = steps(prepared, &point, &record);
    let rows: Vec<Vec<f64>> = front
        .iter()
        .map(|each| smaller(&prepared.job.goals, designs.row(*each)))
        .collect();
    let at = front.iter().position(|each| *each == design);
    Some(Why {
        design,
        on_front: at.is_some(),
        active: active(prepared, row, &steps),
        ends: prepared
            .study
            .variables
            .iter()
            .zip(&point)
            .filter_map(|(variable, value)| at_end(variable, *value))
            .collect(),
        exchange: at.map_or(Vec::new(), |at| exchange(prepared, &rows, at)),
        neighbours: at.map_or(Vec::new(), |at| {
            analyse::nearest(&rows, at, NEIGHBOURS)
                .into_iter()
                .map(|near| neighbour(prepared, designs, design, front[near]))
                .collect()
        }),
        steps,
    })
}

/// Whether the objectives of a record are those of a part that was solved.
fn sound(record: &Record) -> bool {
    record
        .objectives
        .iter()
        .all(|value| value.is_finite() && value.abs() < 1e29)
}

fn active(prepared: &Prepared, row: &[f64], steps: &[Step]) -> Vec<Active> {
    let slots = slots(prepared, row);
    let margins = prepared.evaluator.margins(&slots);
    let constraints = prepared.study.constraints.iter().zip(margins);
    let mut all: Vec<Active> = constraints
        .filter_map(|(constraint, margin)| {
            let breaks = |step: &&Step| {
                let betters = step.shifts.iter().any(|shift| shift.better == Some(true));
                betters
                    && step
                        .broken
                        .iter()
                        .any(|broken| broken.name == constraint.name)
            };
            let held: Vec<String> = steps
                .iter()
                .filter(breaks)
                .map(|step| step.change.words())
                .collect();
            if held.is_empty() && !(margin <= ACTIVE) {
                return None;
            }
            let sign = match constraint.relation {
                Relation::AtMost => "<=",
                Relation::AtLeast => ">=",
            };
            Some(Active {
                name: constraint.name.clone(),
                text: format!("{} {sign} {}", constraint.value.text, constraint.limit.text),
                value: constraint.value.value(&slots) / constraint.unit.size,
                limit: constraint.limit.value(&slots) / constraint.unit.size,
                unit: constraint.unit.symbol.to_string(),
                margin,
                held,
            })
        })
        .collect();
    all.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    all
}

fn at_end(variable: &Variable, value: f64) -> Option<AtEnd> {
    let (down, up) = next_values(variable, value);
    let choice = matches!(variable.range, Range::Choice(_));
    let end = match (down, up, choice) {
        (None, None, _) => "only value",
        (None, _, false) => "lower bound",
        (_, None, false) => "upper bound",
        (None, _, true) => "least choice",
        (_, None, true) => "greatest choice",
        _ => return None,
    };
    Some(AtEnd {
        variable: variable.name.clone(),
        value: variable.unit.print(value),
        end,
    })
}

/// The next value of a variable below and above; none where it ends.
fn next_values(variable: &Variable, value: f64) -> (Option<f64>, Option<f64>) {
    match &variable.range {
        Range::Continuous { low, high, step } => {
            let by = step.unwrap_or(STEP * (high - low));
            let slack = 1e-6 * by;
            let within = |next: f64| {
                (next >= low - slack && next <= high + slack).then_some(next.clamp(*low, *high))
            };
            match step {
                Some(_) => (within(value - by), within(value + by)),
                // Without steps the last one may be short.
                None => (
                    (value > low + slack).then_some((value - by).max(*low)),
                    (value < high - slack).then_some((value + by).min(*high)),
                ),
            }
        }
        Range::Integer { low, high } => (
            (value > *low as f64).then_some(value - 1.0),
            (value < *high as f64).then_some(value + 1.0),
        ),
        Range::Choice(values) => {
            let other = values.iter().copied();
            let below = other
                .clone()
                .filter(|each| *each < value)
                .max_by(f64::total_cmp);
            let above = other.filter(|each| *each > value).min_by(f64::total_cmp);
            (below, above)
        }
    }
}

fn steps(prepared: &Prepared, point: &[f64], from: &Record) -> Vec<Step> {
    let mut steps = Vec::new();
    for (index, variable) in prepared.study.variables.iter().enumerate() {
        let (down, up) = next_values(variable, point[index]);
        for next in [down, up].into_iter().flatten() {
            let mut moved = point.to_vec();
            moved[index] = next;
            let record = prepared.evaluator.record(&moved);
            let change = changed(variable, point[index], next);
            steps.push(step(prepared, from, &record, change));
        }
    }
    steps
}

fn step(prepared: &Prepared, from: &Record, to: &Record, change: Changed) -> Step {
    let names = prepared.evaluator.violation_names();
    let mut broken: Vec<Broken> = names
        .iter()
        .zip(&to.violations)
        .filter(|(_, violation)| !(**violation <= 0.0))
        .map(|(name, violation)| Broken {
            name: name.to_string(),
            by: *violation,
        })
        .collect();
    broken.sort_by(|a, b| b.by.total_cmp(&a.by));
    let shifts = match sound(to) {
        true => shifts(prepared, &from.objectives, &to.objectives),
        false => Vec::new(),
    };
    let any = |wanted: bool| {
        shifts
            .iter()
            .any(|shift: &Shift| shift.better == Some(wanted))
    };
    let beats = broken.is_empty() && any(true) && !any(false);
    Step {
        change,
        shifts,
        broken,
        beats,
    }
}

/// Changes of objectives that are all made least in base units.
fn shifts(prepared: &Prepared, from: &[f64], to: &[f64]) -> Vec<Shift> {
    let objectives = prepared.study.objectives.iter().zip(from.iter().zip(to));
    objectives
        .map(|(objective, (from, to))| {
            let sign = if objective.most { -1.0 } else { 1.0 };
            let by = to - from;
            let same = by.abs() <= SAME * from.abs().max(to.abs());
            Shift {
                name: objective.name.clone(),
                by: sign * by / objective.unit.size,
                unit: objective.unit.symbol.to_string(),
                better: (!same).then_some(by < 0.0),
            }
        })
        .collect()
}

fn changed(variable: &Variable, from: f64, to: f64) -> Changed {
    Changed {
        variable: variable.name.clone(),
        from: from / variable.unit.size,
        to: to / variable.unit.size,
        unit: variable.unit.symbol.to_string(),
    }
}

fn neighbour(prepared: &Prepared, designs: &Designs, from: usize, to: usize) -> Neighbour {
    let (a, b) = (designs.row(from), designs.row(to));
    let points = [row_point(prepared, a), row_point(prepared, b)];
    let variables = prepared.study.variables.iter().enumerate();
    let changes = variables
        .filter(|(index, _)| {
            let [a, b] = [points[0][*index], points[1][*index]];
            (a - b).abs() > SAME * a.abs().max(b.abs())
        })
        .map(|(index, variable)| changed(variable, points[0][index], points[1][index]))
        .collect();
    // Goals stand in their columns' units, objectives in base units.
    let base = |row: &[f64]| -> Vec<f64> {
        let values = smaller(&prepared.job.goals, row);
        let objectives = prepared.study.objectives.iter().zip(values);
        objectives
            .map(|(objective, value)| value * objective.unit.size)
            .collect()
    };
    Neighbour {
        design: to,
        changes,
        shifts: shifts(prepared, &base(a), &base(b)),
    }
}

fn exchange(prepared: &Prepared, rows: &[Vec<f64>], at: usize) -> Vec<Exchange> {
    let objectives = &prepared.study.objectives;
    let mut rates = Vec::new();
    for of in 0..objectives.len() {
        let Some(found) = analyse::slopes(rows, at, of) else {
            continue;
        };
        for per in of + 1..objectives.len() {
            rates.push(Exchange {
                of: objectives[of].name.clone(),
                of_unit: objectives[of].unit.symbol.to_string(),
                per: objectives[per].name.clone(),
                per_unit: objectives[per].unit.symbol.to_string(),
                cost: -found.slopes[per],
                error: found.errors[per],
            });
        }
    }
    rates
}
