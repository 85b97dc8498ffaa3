//! The moves of drilling: holes of one tool in one setup, in a good order over all rows and bosses.

use super::Route;
use super::expand::clear;
use super::track::left;
use crate::machining::job::Job;
use crate::machining::motion::{PeckCycle, move_s};
use crate::machining::task::{Holes, Places};
use crate::machining::tour;

/// Most holes whose order is searched for; more keep that of their rows.
const MOST_TOURED: usize = 400;

/// A hole to be drilled.
#[derive(Clone, Copy)]
struct Stop {
    /// Which of the operations it belongs to.
    owner: usize,
    at: [f64; 2],
    /// Along the path, in mm; `None` on a boss.
    station: Option<f64>,
    cycle: PeckCycle,
    top: f64,
    /// From the side: the part is turned for it.
    side: bool,
}

/// The moves of each of these operations, which share a tool and a setup, from `at` on; and where they end.
///
/// Holes of all of them are visited in one tour; the way to a hole belongs to the hole's operation.
pub(in crate::machining) fn drilled(
    job: &Job,
    tasks: &[Holes],
    at: [f64; 3],
) -> (Vec<Route>, [f64; 3]) {
    let mut stops = Vec::new();
    for (owner, task) in tasks.iter().enumerate() {
        gather(job, task, owner, &mut stops);
    }
    let way = |a: usize, b: usize| travel_s(job, &stops[a], &stops[b]);
    let order = if stops.len() <= MOST_TOURED && stops.iter().all(|stop| !stop.side) {
        let first = |stop: usize| {
            let [x, y] = stops[stop].at;
            let limits = &job.shop.limits;
            move_s(
                (x - at[0]).hypot(y - at[1]),
                limits.rapid_xy,
                limits.acceleration_xy,
            )
        };
        tour::order(stops.len(), first, way)
    } else {
        (0..stops.len()).collect()
    };
    let mut routes: Vec<Route> = tasks.iter().map(|_| Route::from(at)).collect();
    let mut at = at;
    let mut before: Option<&Stop> = None;
    for stop in order.iter().map(|index| &stops[*index]) {
        let route = &mut routes[stop.owner];
        route.at = at;
        approach(job, before, stop, route);
        drill(job, stop, route);
        at = route.at;
        before = Some(stop);
    }
    if let Some(last) = before {
        let route = &mut routes[last.owner];
        route.rise(clear(job));
        at = route.at;
    }
    (routes, at)
}

fn gather(job: &Job, task: &Holes, owner: usize, stops: &mut Vec<Stop>) {
    let path = &job.part.path;
    let stop = |at, station, side| Stop {
        owner,
        at,
        station,
        cycle: task.cycle,
        top: task.top,
        side,
    };
    match task.at {
        Places::Row { from, to, side, .. } => {
            for hole in &job.layout.holes[from..to] {
                let at = if side {
                    // Unrolled: along the path, and up the wall.
                    [hole.station_mm, hole.across_mm]
                } else {
                    left(path.pose(hole.station_mm), hole.across_mm)
                };
                stops.push(stop(at, Some(hole.station_mm), side));
            }
        }
        Places::Bosses { first, .. } => {
            for boss in job.bosses_alike(first) {
                stops.push(stop(left(path.pose(boss.station_mm), 0.0), None, false));
            }
        }
    }
}

/// Whether the tool must rise to travelling height between two holes: over a boss, and to or from one.
fn lifts(job: &Job, from: &Stop, to: &Stop) -> bool {
    match (from.station, to.station) {
        (Some(a), Some(b)) => {
            !to.side && ((from.top - to.top).abs() > 1e-9 || job.boss_between(a, b))
        }
        _ => true,
    }
}

fn travel_s(job: &Job, from: &Stop, to: &Stop) -> f64 {
    let limits = &job.shop.limits;
    let distance = (from.at[0] - to.at[0]).hypot(from.at[1] - to.at[1]);
    let over = move_s(distance, limits.rapid_xy, limits.acceleration_xy);
    if !lifts(job, from, to) {
        return over;
    }
    let lift = |stop: &Stop| move_s(job.height - stop.top, limits.rapid_z, limits.acceleration_z);
    over + lift(from) + lift(to)
}

fn approach(job: &Job, before: Option<&Stop>, stop: &Stop, route: &mut Route) {
    if before.is_none_or(|before| lifts(job, before, stop)) {
        route.rise(clear(job));
    }
    route.over(stop.at);
    if stop.side {
        route.wait(job.shop.limits.index_s);
    }
    route.rise(stop.top + stop.cycle.start_mm);
}

/// The cycle of a hole, as `PeckCycle` times it.
fn drill(job: &Job, stop: &Stop, route: &mut Route) {
    let cycle = &stop.cycle;
    let start = stop.top + cycle.start_mm;
    let mut last = 0.0;
    route.wait(job.shop.limits.settle_s);
    for peck in 1..=cycle.pecks() {
        let depth = cycle.depth_mm.min(peck as f64 * cycle.peck_mm);
        if peck > 1 {
            route.rise(stop.top - last + cycle.gap_mm);
        }
        route.plunge(stop.top - depth, cycle.feed_mm_s);
        route.rise(start);
        last = depth;
    }
}
