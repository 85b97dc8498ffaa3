//! Move-by-move simulation of a plan.

use super::describe;
use super::job::Job;
use super::look_ahead::look_ahead;
use super::path::{Motion, Move, Route, drilled, expand};
use super::shop::Shop;
use super::step::{BENCH, Step};
use super::task::{Holes, Task};
use crate::part::{Layout, Part};

/// One operation, every move of its tool.
#[derive(Clone, Debug, PartialEq)]
pub struct SimulatedOperation {
    /// What is done, as in [`super::Operation::name`].
    pub name: String,
    /// On which feature.
    pub feature: String,
    /// In which setup, from 1; 4 is the bench.
    pub setup: usize,
    /// Tool in words; empty where none is used.
    pub tool: String,
    /// Every move in order; empty where the operation has no way of its own (loading, or work that is only
    /// estimated), or more moves than anyone would make.
    pub moves: Vec<Move>,
    /// Length at feed, in mm.
    pub cut_length_mm: f64,
    /// Length of rapid moves, in mm.
    pub move_length_mm: f64,
    /// Time at feed, in s.
    pub cut_s: f64,
    /// Time of rapid moves and waits, in s.
    pub move_s: f64,
    /// Fixed times (load, tool change, spindle start), in s.
    pub fixed_s: f64,
}

impl SimulatedOperation {
    /// Time of the operation, in s.
    pub fn total_s(&self) -> f64 {
        self.cut_s + self.move_s + self.fixed_s
    }
}

/// The whole cycle, move by move.
#[derive(Clone, Debug, PartialEq)]
pub struct Simulation {
    /// The operations of [`super::plan`] in the same order.
    pub operations: Vec<SimulatedOperation>,
    /// Time for one part, in s.
    pub cycle_s: f64,
    /// Time at feed, in s.
    pub cut_s: f64,
    /// Time of rapid moves and waits, in s.
    pub move_s: f64,
    /// Loading, tool changes, spindle starts, in s.
    pub fixed_s: f64,
}

impl Simulation {
    /// Sums of these operations, without the bench.
    pub(super) fn of(operations: Vec<SimulatedOperation>) -> Simulation {
        let on_machine = |each: &&SimulatedOperation| each.setup != BENCH + 1;
        let sum = |of: fn(&SimulatedOperation) -> f64| {
            operations.iter().filter(on_machine).map(of).sum::<f64>()
        };
        Simulation {
            cycle_s: sum(SimulatedOperation::total_s),
            cut_s: sum(|operation| operation.cut_s),
            move_s: sum(|operation| operation.move_s),
            fixed_s: sum(|operation| operation.fixed_s),
            operations,
        }
    }
}

/// Every move of a part's plan with its time: what [`super::plan`] estimates in closed form.
///
/// The tool travels 1 clearance above the faced billet, except from hole to hole of a row; a tool change leaves it
/// where it was. Coordinates are the plan's, also of the part turned over; holes in walls and ribs are unrolled:
/// station along the path, height on the wall. Operations without moves keep their estimate.
///
/// `layout` must be of `part`. Speeds as in a control with look-ahead, see `look_ahead.rs`.
pub fn simulate(part: &Part, layout: &Layout, shop: &Shop) -> Simulation {
    let job = Job::new(part, layout, shop);
    let (steps, _) = super::steps(&job, &mut Vec::new());
    simulated(&job, &super::in_order(steps))
}

/// The moves of steps in their order.
pub(super) fn simulated(job: &Job, steps: &[Step]) -> Simulation {
    let start = job.part.path.start();
    let clear = job.height + job.shop.limits.clearance;
    let mut at = [start.x, start.y, clear];
    let mut routes: Vec<Option<Route>> = Vec::with_capacity(steps.len());
    while routes.len() < steps.len() {
        let from = routes.len();
        let holes = holes_from(&steps[from..]);
        if !holes.is_empty() {
            let (drilled, end) = drilled(job, &holes, at);
            routes.extend(drilled.into_iter().map(Some));
            at = end;
            continue;
        }
        let mut route = Route::from(at);
        let own = expand(job, &steps[from].task, &mut route);
        if own {
            at = route.at;
        }
        routes.push(own.then_some(route));
    }
    let operations: Vec<_> = steps
        .iter()
        .zip(routes)
        .map(|(step, route)| operation(job, step, route))
        .collect();
    Simulation::of(operations)
}

/// The sets of holes at the start of these steps that share a tool and a setup.
fn holes_from(steps: &[Step]) -> Vec<Holes> {
    steps
        .iter()
        .take_while(|step| step.tool == steps[0].tool && step.setup == steps[0].setup)
        .map_while(|step| match step.task {
            Task::Holes(holes) => Some(holes),
            _ => None,
        })
        .collect()
}

fn operation(job: &Job, step: &Step, route: Option<Route>) -> SimulatedOperation {
    let mut operation = SimulatedOperation {
        name: describe::kind(step.kind).into(),
        feature: describe::feature(job.part, job.layout, step.feature),
        setup: step.setup + 1,
        tool: job.shop.words(step.tool),
        moves: Vec::new(),
        cut_length_mm: step.cut_length_mm,
        move_length_mm: 0.0,
        cut_s: step.cut_s,
        move_s: step.move_s,
        fixed_s: step.fixed_s,
    };
    let Some(mut route) = route else {
        return operation;
    };
    look_ahead(&mut route.moves, &job.shop.limits);
    let of = |fed: bool, what: fn(&Move) -> f64| {
        let these = route
            .moves
            .iter()
            .filter(|each| (each.motion == Motion::Feed) == fed);
        these.map(what).sum::<f64>()
    };
    operation.cut_length_mm = of(true, Move::length_mm);
    operation.move_length_mm = of(false, Move::length_mm);
    operation.cut_s = of(true, |each| each.time_s);
    operation.move_s = of(false, |each| each.time_s);
    operation.moves = route.moves;
    operation
}
