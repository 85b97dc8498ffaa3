//! The fast reader of tasks: lengths and times in closed form, every pass from rest to rest.
//!
//! Runs of a pass are joined with look-ahead; links, ramps, descents and retracts are moves of their own. What
//! it leaves out, against the moves of `path/`: speed carried through corners, the real distance to the first
//! place of an operation, and a shorter way through the holes.

use std::f64::consts::PI;

use super::bands::{Band, Pocket, Span};
use super::job::Job;
use super::motion::{arc_speed_mm_s, corner_speed_mm_s, move_s, trapezoid_s};
use super::practice::*;
use super::step::{Limit, Step};
use super::task::*;

/// What a task takes.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Spent {
    /// Length at feed, in mm: passes, ramps, links.
    pub length: f64,
    /// Length of the passes alone, in mm.
    pub pass_length: f64,
    /// Part of it on which a bend holds the feed back, in mm.
    pub bent: f64,
    /// Time at feed, in s.
    pub cut_s: f64,
    /// Time of rapid moves and waits, in s.
    pub move_s: f64,
}

impl Spent {
    fn add(&mut self, times: f64, other: &Spent) {
        self.length += times * other.length;
        self.pass_length += times * other.pass_length;
        self.bent += times * other.bent;
        self.cut_s += times * other.cut_s;
        self.move_s += times * other.move_s;
    }

    fn pass(&mut self, times: f64, pass: &Pass) {
        self.length += times * pass.length;
        self.pass_length += times * pass.length;
        self.bent += times * pass.bent;
        self.cut_s += times * pass.time;
    }

    fn feed(&mut self, times: f64, length: f64, time: f64) {
        self.length += times * length;
        self.cut_s += times * time;
    }
}

/// A way from rest to rest.
#[derive(Clone, Copy, Debug, Default)]
struct Pass {
    length: f64,
    bent: f64,
    time: f64,
}

impl Step {
    /// This step with a task, and its lengths and times by the fast estimate; the limit is the acceleration where
    /// bends hold the feed back on most of the way.
    pub(super) fn with(mut self, job: &Job, task: Task) -> Step {
        let spent = spent(job, &task);
        self.task = task;
        self.cut_length_mm = spent.length;
        self.pass_length_mm = spent.pass_length;
        self.cut_s = spent.cut_s;
        self.move_s = spent.move_s;
        if spent.bent > 0.5 * spent.pass_length {
            self.limit = Limit::Acceleration;
        }
        self
    }
}

/// What a task takes, in closed form.
pub(super) fn spent(job: &Job, task: &Task) -> Spent {
    match task {
        Task::Nothing => Spent::default(),
        Task::Along(task) => along(job, task),
        Task::Loops(task) => loops(job, task),
        Task::Walls(task) => walls(job, task),
        Task::Ends(task) => ends(job, task),
        Task::Outline(task) => outline(job, task),
        Task::Corners(task) => corners(job, task),
        Task::Holes(task) => holes(job, task),
        Task::Helix(task) => helix(job, task),
        Task::Edges(task) => edges(job, task),
    }
}

/// Most runs of a pass that are joined with look-ahead; longer chains are taken at each run's own speed.
const MOST_RUNS: usize = 24;

/// A chain of runs that join smoothly, (length, radius) each, from rest to rest.
fn chain(runs: impl Iterator<Item = (f64, f64)> + Clone, feed: f64, acceleration: f64) -> Pass {
    let mut pass = Pass::default();
    for (length, radius) in runs.clone() {
        pass.length += length;
        if feed * feed > acceleration * radius {
            pass.bent += length;
        }
    }
    pass.time = if pass.bent > 0.0 {
        bent_time(runs, feed, acceleration)
    } else {
        move_s(pass.length, feed, acceleration)
    };
    pass
}

/// Time of a chain on which bends hold the feed back.
fn bent_time(runs: impl Iterator<Item = (f64, f64)>, feed: f64, acceleration: f64) -> f64 {
    let mut all = [(0.0, 0.0); MOST_RUNS];
    let (mut count, mut rough) = (0, 0.0);
    for (length, radius) in runs.filter(|(length, _)| *length > 0.0) {
        let speed = feed.min(arc_speed_mm_s(radius, acceleration));
        rough += length / speed;
        if count < MOST_RUNS {
            all[count] = (length, speed);
        }
        count += 1;
    }
    if count > MOST_RUNS {
        rough + feed / acceleration
    } else {
        joined(&all[..count], acceleration)
    }
}

/// Time of runs (length, highest speed): the speed at every joint is what both neighbours and the ways to and
/// from rest allow.
fn joined(runs: &[(f64, f64)], acceleration: f64) -> f64 {
    let mut joints = [0.0; MOST_RUNS + 1];
    for at in 1..runs.len() {
        let reached =
            (joints[at - 1] * joints[at - 1] + 2.0 * acceleration * runs[at - 1].0).sqrt();
        joints[at] = reached.min(runs[at - 1].1).min(runs[at].1);
    }
    joints[runs.len()] = 0.0;
    let mut time = 0.0;
    for at in (0..runs.len()).rev() {
        let (length, speed) = runs[at];
        let back = (joints[at + 1] * joints[at + 1] + 2.0 * acceleration * length).sqrt();
        joints[at] = joints[at].min(back);
        time += trapezoid_s(length, joints[at], joints[at + 1], speed, acceleration);
    }
    time
}

/// The runs of a span as (length, radius) at `y`, the ends shifted by `ends` mm.
fn runs_at(
    band: &Band,
    span: &Span,
    ends: [f64; 2],
    y: f64,
) -> impl Iterator<Item = (f64, f64)> + Clone {
    let [before, behind] = band.gains(span, ends, y);
    let runs = band.runs_of(span);
    let last = runs.len() - 1;
    runs.iter().enumerate().map(move |(at, run)| {
        let mut length = run.length;
        if at == 0 {
            length += before;
        }
        if at == last {
            length += behind;
        }
        let along = (1.0 - run.curvature * y).max(0.0);
        let radius = if run.curvature == 0.0 {
            f64::INFINITY
        } else {
            along / run.curvature.abs()
        };
        (length * along, radius)
    })
}

fn pass(job: &Job, band: &Band, span: &Span, ends: [f64; 2], y: f64, feed: f64) -> Pass {
    let acceleration = job.shop.limits.acceleration_xy;
    chain(runs_at(band, span, ends, y), feed, acceleration)
}

/// Passes beyond the first, at `passes - 1` offsets up to `high`, and the last of them; more than 16 are summed
/// from samples, their lengths being linear in the offset.
fn other_passes(job: &Job, band: &Band, span: &Span, ends: [f64; 2], task: &Along) -> Spent {
    let mut sum = Spent::default();
    let others = task.passes - 1.0;
    let samples = others.min(16.0);
    let over = task.over();
    for sample in 1..=samples as usize {
        let place = if samples < others {
            1.0 + (others - 1.0) * (sample as f64 - 1.0) / (samples - 1.0)
        } else {
            sample as f64
        };
        let pass = pass(job, band, span, ends, task.low + place * over, task.feed);
        sum.pass(others / samples, &pass);
    }
    sum
}

impl Along {
    /// Distance from one pass to the next.
    pub(super) fn over(&self) -> f64 {
        if self.passes > 1.0 {
            (self.high - self.low) / (self.passes - 1.0)
        } else {
            0.0
        }
    }
}

/// Where the tool's centre ends on a span whose ends are closed or open, in mm beyond the span; and whether both
/// are open.
pub(super) fn reach(
    job: &Job,
    span: &Span,
    clear: (f64, f64),
    bottom: f64,
    radius: f64,
    beyond: f64,
) -> ([f64; 2], bool) {
    let closed = |beside: Option<usize>| {
        beside
            .and_then(|section| job.bands.iter().find(|band| band.section == section))
            .is_some_and(|band| band.stands(clear.0, clear.1, bottom))
    };
    let [before, behind] = span.beside.map(closed);
    let end = |closed| if closed { -radius } else { beyond };
    ([end(before), end(behind)], !before && !behind)
}

/// Length in mm of the ramp to a level.
pub(super) fn ramp_length(depth: f64) -> f64 {
    depth / RAMP_SLOPE
}

/// Equal legs, to and fro, of a ramp within a pass of this length in mm; none where there is no room for it.
pub(super) fn ramp_legs(ramp: f64, length: f64, radius: f64) -> f64 {
    if length < 2.0 * RAMP_ROOM * radius {
        0.0
    } else {
        2.0 * (0.5 * ramp / length - 1e-9).ceil().max(1.0)
    }
}

/// Vertical moves of one span: down to `high`, at feed the last of it, and up from `low`.
fn down_and_up(job: &Job, high: f64, low: f64, feed: f64) -> Spent {
    let limits = &job.shop.limits;
    let clear = job.height + limits.clearance;
    let rapid = |distance: f64| move_s(distance, limits.rapid_z, limits.acceleration_z);
    let mut spent = Spent {
        move_s: rapid(clear - high - APPROACH_MM) + rapid(clear - low),
        ..Spent::default()
    };
    let slow = move_s(APPROACH_MM, PLUNGE_FEED * feed, limits.acceleration_z);
    spent.feed(1.0, APPROACH_MM, slow);
    spent
}

/// Rapid moves in the plane from place to place of an operation: to the first, and over the gaps of a band.
fn hops(job: &Job, band: &Band) -> f64 {
    let limits = &job.shop.limits;
    let rapid = |distance| move_s(distance, limits.rapid_xy, limits.acceleration_xy);
    let gap = (job.layout.length_mm - band.length).max(0.0) / band.stretches;
    rapid(2.0 * band.half_width) + (band.stretches - 1.0) * rapid(gap)
}

fn along(job: &Job, task: &Along) -> Spent {
    let limits = &job.shop.limits;
    let (a, az) = (limits.acceleration_xy, limits.acceleration_z);
    let band = job.band(task.band);
    let slow = PLUNGE_FEED * task.first_feed;
    let top = task.bottom + task.levels * task.depth;
    let over = task.over();
    let ramp = ramp_length(task.depth);
    let mut all = Spent {
        move_s: hops(job, band),
        ..Spent::default()
    };
    for span in band.spans.iter().filter(|span| span.alike > 0.0) {
        let (ends, open) = reach(job, span, task.clear, task.bottom, task.radius, task.beyond);
        let first = pass(job, band, span, ends, task.low, task.first_feed);
        let mut level = other_passes(job, band, span, ends, task);
        level.pass(1.0, &first);
        let links = task.passes - 1.0;
        level.feed(links, over, move_s(over, task.feed, a));
        let mut one = Spent::default();
        if links > 0.0 {
            // Back to the first pass.
            let back = task.high - task.low;
            one.feed(task.levels - 1.0, back, move_s(back, task.feed, a));
        }
        let legs = ramp_legs(ramp, first.length, task.radius);
        let mut high = top;
        if task.entry == Entry::Plunge || (!band.ring && !open && legs == 0.0) {
            level.feed(1.0, task.depth, move_s(task.depth, slow, az));
        } else if band.ring {
            level.feed(1.0, ramp, ramp / slow);
        } else if open {
            high = top - task.depth;
            let down = move_s(task.depth, limits.rapid_z, az);
            one.move_s += (task.levels - 1.0) * down;
        } else {
            level.feed(legs, ramp / legs, move_s(ramp / legs, slow, a));
        }
        one.add(task.levels, &level);
        one.add(1.0, &down_and_up(job, high, task.bottom, task.first_feed));
        all.add(span.alike, &one);
    }
    all
}

impl Loops {
    /// How far the centre of the last loop stays from a closed end.
    pub(super) fn keep(&self) -> f64 {
        self.radius + self.loop_radius
    }

    /// Turns of the helix by which the tool comes down to a level.
    pub(super) fn helix_turns(&self) -> f64 {
        let turn = 2.0 * PI * self.loop_radius;
        (ramp_length(self.depth) / turn - 1e-9).ceil().max(1.0)
    }
}

fn loops(job: &Job, task: &Loops) -> Spent {
    let limits = &job.shop.limits;
    let a = limits.acceleration_xy;
    let band = job.band(task.band);
    let middle = 0.5 * (task.clear.0 + task.clear.1);
    let turn = 2.0 * PI * task.loop_radius;
    let bend = arc_speed_mm_s(task.loop_radius, a);
    let (speed, back) = (task.feed.min(bend), task.back_feed.min(bend));
    let half = 0.5 * turn;
    // Speeding up after the cut and slowing down before the next, within the half that returns.
    let loop_s = half / speed + trapezoid_s(half, speed, speed, back, a);
    let slow = PLUNGE_FEED * task.feed;
    let mut all = Spent {
        move_s: hops(job, band),
        ..Spent::default()
    };
    for span in band.spans.iter().filter(|span| span.alike > 0.0) {
        let keep = task.keep();
        let (ends, open) = reach(job, span, task.clear, task.bottom, keep, keep);
        let way = pass(job, band, span, ends, middle, task.feed);
        let count = (way.length / task.step - 1e-9).ceil().max(0.0);
        let length = way.length + (count + 1.0) * turn;
        let mut level = Spent {
            pass_length: length,
            bent: if speed < task.feed { length } else { 0.0 },
            ..Spent::default()
        };
        level.feed(
            1.0,
            length,
            (count + 1.0) * loop_s + way.length / speed + speed / a,
        );
        if !band.ring {
            let closed = ends.iter().filter(|end| **end < 0.0).count() as f64;
            let across = 2.0 * task.loop_radius;
            let way = 2.0 * task.loop_radius + across;
            level.feed(
                closed,
                way,
                2.0 * move_s(task.loop_radius, task.feed, a) + move_s(across, task.feed, a),
            );
        }
        let mut high = task.bottom + task.levels * task.depth;
        let mut one = Spent::default();
        if open && !band.ring {
            high -= task.depth;
            one.move_s +=
                (task.levels - 1.0) * move_s(task.depth, limits.rapid_z, limits.acceleration_z);
        } else {
            // Down on a helix of the loop's own radius.
            let helix = task.helix_turns() * turn;
            level.feed(1.0, helix, helix / slow.min(speed));
        }
        one.add(task.levels, &level);
        one.add(1.0, &down_and_up(job, high, task.bottom, task.feed));
        all.add(span.alike, &one);
    }
    all
}

impl Walls {
    /// Distance in mm of the tool's centre on a wall from the middle of the pocket, and radius in mm of the arcs
    /// by which it comes and goes.
    pub(super) fn lead(&self, side: &Side) -> (f64, f64) {
        let middle = 0.5 * (self.clear.0 + self.clear.1);
        let aside = (side.y - middle).abs();
        (aside, 0.5 * aside)
    }
}

fn walls(job: &Job, task: &Walls) -> Spent {
    let limits = &job.shop.limits;
    let (a, az) = (limits.acceleration_xy, limits.acceleration_z);
    let rapid_z = |distance: f64| move_s(distance, limits.rapid_z, az);
    let band = job.band(task.band);
    let mut all = Spent {
        move_s: hops(job, band),
        ..Spent::default()
    };
    for span in band.spans.iter().filter(|span| span.alike > 0.0) {
        let mut one = Spent::default();
        let mut deepest = None;
        for side in task.sides.iter().filter(|side| side.levels > 0.0) {
            let (aside, lead) = task.lead(side);
            let (ends, _) = reach(job, span, task.clear, task.bottom, task.radius, task.radius);
            let pass = pass(job, band, span, ends, side.y, side.feed);
            let mut level = Spent::default();
            level.pass(1.0, &pass);
            let arc = 0.5 * PI * lead;
            let arc_feed = side.feed.min(arc_speed_mm_s(lead, a));
            if band.ring {
                level.feed(2.0, arc, arc / arc_feed.max(1e-9));
                level.move_s += move_s(2.0 * lead, limits.rapid_xy, a);
            } else {
                let faces = ends.iter().filter(|end| **end < 0.0).count() as f64;
                let way = arc + aside - lead;
                level.feed(faces, way, move_s(way, arc_feed, a));
            }
            level.move_s += rapid_z(side.depth);
            one.add(side.levels, &level);
            let start = task.bottom + (side.levels - 1.0) * side.depth;
            one.move_s -= rapid_z(side.depth);
            match deepest {
                None => one.add(1.0, &down_and_up(job, start, task.bottom, side.feed)),
                Some(()) => {
                    one.move_s += rapid_z(start - task.bottom);
                }
            }
            deepest = Some(());
        }
        all.add(span.alike, &one);
    }
    all
}

impl Ends {
    /// Length in mm that the smaller cutter goes on each side of a corner.
    pub(super) fn beside(&self) -> f64 {
        self.left - self.radius
    }
}

/// Corners of a pocket of a band at closed ends with a wall beside them.
pub(super) fn end_corners(job: &Job, band: usize, pocket: &Pocket) -> f64 {
    let sides = pocket.walls.iter().flatten().count() as f64;
    let band = &job.bands[band];
    let mut ends = 0.0;
    for span in band.spans.iter().filter(|span| span.alike > 0.0) {
        let clear = (pocket.low, pocket.high);
        let (reach, _) = reach(job, span, clear, band.floor, 1.0, 1.0);
        ends += span.alike * reach.iter().filter(|end| **end < 0.0).count() as f64;
    }
    sides * ends
}

/// Whether on some span the cutter has no room for a ramp and must plunge.
pub(super) fn plunges(job: &Job, task: &Along) -> bool {
    let band = job.band(task.band);
    !band.ring
        && band.spans.iter().any(|span| {
            let (ends, open) = reach(job, span, task.clear, task.bottom, task.radius, task.beyond);
            !open && span.length + ends[0] + ends[1] < 2.0 * RAMP_ROOM * task.radius
        })
}

fn ends(job: &Job, task: &Ends) -> Spent {
    let limits = &job.shop.limits;
    let a = limits.acceleration_xy;
    let band = job.band(task.band);
    let rapid = |distance| move_s(distance, limits.rapid_xy, a);
    let sides = task.walled.iter().filter(|walled| **walled).count() as f64;
    let corner = 2.0 * task.beside();
    let mut all = Spent::default();
    all.move_s += rapid(2.0 * band.half_width);
    let mut hops = 0.0;
    for span in band.spans.iter().filter(|span| span.alike > 0.0) {
        let (ends, _) = reach(job, span, task.clear, task.bottom, task.radius, task.radius);
        let corners = sides * ends.iter().filter(|end| **end < 0.0).count() as f64;
        let mut level = Spent {
            pass_length: corner,
            move_s: move_s(task.depth, limits.rapid_z, limits.acceleration_z),
            ..Spent::default()
        };
        let through = corner_speed_mm_s(0.5 * PI, a, limits.corner_deviation).min(task.feed);
        level.feed(
            1.0,
            corner,
            2.0 * trapezoid_s(0.5 * corner, 0.0, through, task.feed, a),
        );
        let mut one = Spent::default();
        one.add(task.levels, &level);
        one.move_s -= level.move_s;
        let high = task.bottom + (task.levels - 1.0) * task.depth;
        one.add(1.0, &down_and_up(job, high, task.bottom, task.feed));
        all.add(span.alike * corners, &one);
        hops += span.alike * if corners > 0.0 { 1.0 } else { 0.0 };
        let across = (task.clear.1 - task.clear.0).max(0.0);
        if sides > 1.0 {
            all.move_s += span.alike * 0.5 * corners * rapid(across);
        }
        if corners > sides {
            all.move_s += span.alike * rapid(span.length);
        }
    }
    let gap = (job.layout.length_mm - band.length).max(0.0) / band.stretches;
    all.move_s += (hops - 1.0).max(0.0) * rapid(gap);
    all
}

fn outline(job: &Job, task: &Outline) -> Spent {
    let limits = &job.shop.limits;
    let (a, az) = (limits.acceleration_xy, limits.acceleration_z);
    let slow = PLUNGE_FEED * task.feed;
    let mut all = Spent::default();
    let lap = |side: f64| {
        let mut lap = Spent::default();
        if job.even {
            let y = side * (job.whole.half_width + task.off);
            lap.pass(
                1.0,
                &pass(job, &job.whole, &job.whole.spans[0], [0.0; 2], y, task.feed),
            );
        } else {
            for band in &job.bands {
                let y = side * (band.half_width + task.off);
                for span in band.spans.iter().filter(|span| span.alike > 0.0) {
                    lap.pass(span.alike, &pass(job, band, span, [0.0; 2], y, task.feed));
                    let step = job.whole.half_width - band.half_width;
                    lap.feed(2.0 * span.alike, step, move_s(step, task.feed, a));
                }
            }
        }
        lap
    };
    let mut level = lap(-1.0);
    level.add(1.0, &lap(1.0));
    let loops = if job.layout.closed { 2.0 } else { 1.0 };
    if !job.layout.closed {
        let corner = 0.5 * PI * task.off;
        let speed = task.feed.min(arc_speed_mm_s(task.off, a));
        for width in job.end_widths() {
            level.length += width + 2.0 * corner;
            level.pass_length += width + 2.0 * corner;
            level.cut_s += width / task.feed + 2.0 * corner / speed;
        }
    }
    let top = task.bottom + task.levels * task.depth;
    if task.ramped {
        let ramp = ramp_length(task.depth);
        level.feed(loops, ramp, ramp / slow);
        all.add(loops, &down_and_up(job, top, task.bottom, task.feed));
    } else {
        level.feed(2.0 * loops, task.aside, move_s(task.aside, task.feed, a));
        let down = move_s(task.depth, limits.rapid_z, az);
        all.move_s += loops * (task.levels - 1.0) * down;
        all.add(
            loops,
            &down_and_up(job, top - task.depth, task.bottom, task.feed),
        );
    }
    all.add(task.levels, &level);
    let width = 2.0 * (job.whole.half_width + task.off);
    all.move_s += loops * move_s(width, limits.rapid_xy, limits.acceleration_xy);
    all
}

/// Radius of the tool's way around an inside corner of the outline, and the straight length on each side of it
/// that a wider cutter leaves; `None` where it leaves nothing.
pub(super) fn corner_way(inside: f64, angle: f64, off: f64, left: f64) -> Option<(f64, f64)> {
    let beside = left - inside;
    (beside > 0.0).then(|| ((inside - off).max(0.0), beside * (0.5 * angle.abs()).tan()))
}

fn corners(job: &Job, task: &Corners) -> Spent {
    let limits = &job.shop.limits;
    let (a, az) = (limits.acceleration_xy, limits.acceleration_z);
    let mut all = Spent::default();
    let mut count = 0.0;
    for (inside, angle) in job.sharp_bends() {
        let Some((radius, beside)) = corner_way(inside, angle, task.off, task.left) else {
            continue;
        };
        count += 1.0;
        let runs = [
            (beside, f64::INFINITY),
            (radius * angle.abs(), radius),
            (beside, f64::INFINITY),
        ];
        let mut level = Spent::default();
        level.pass(1.0, &chain(runs.into_iter(), task.feed, a));
        all.add(task.levels, &level);
        all.move_s += (task.levels - 1.0) * move_s(task.depth, limits.rapid_z, az);
        let high = task.bottom + (task.levels - 1.0) * task.depth;
        all.add(1.0, &down_and_up(job, high, task.bottom, task.feed));
    }
    let apart = job.layout.length_mm / f64::max(count, 1.0);
    all.move_s += count * move_s(apart.min(job.size), limits.rapid_xy, a);
    all
}

fn holes(job: &Job, task: &Holes) -> Spent {
    let limits = &job.shop.limits;
    let (cut_s, rapid_s) = task.cycle.times_s();
    let lift = move_s(job.height - task.top, limits.rapid_z, limits.acceleration_z);
    let mut spent = Spent {
        length: task.count * task.cycle.feed_length_mm(),
        cut_s: task.count * cut_s,
        move_s: task.count * (rapid_s + limits.settle_s),
        ..Spent::default()
    };
    match task.at {
        Places::Row { side, travel_s, .. } => {
            spent.move_s += travel_s;
            if side {
                spent.move_s += limits.index_s * task.count;
            } else {
                spent.move_s += 2.0 * lift;
            }
        }
        Places::Bosses { travel_s, .. } => spent.move_s += travel_s + 2.0 * task.count * lift,
    }
    spent
}

/// Time in s of the moves to the first hole of a row and from hole to hole, over bosses with a lift from `top`;
/// equal moves are worked out once.
pub(super) fn row_travel_s(job: &Job, from: usize, to: usize, side: bool, top: f64) -> f64 {
    let limits = &job.shop.limits;
    let lift = move_s(job.height - top, limits.rapid_z, limits.acceleration_z);
    let total = job.layout.length_mm;
    let turn = job.turn;
    let (mut last, mut last_s) = ((f64::NAN, f64::NAN), 0.0);
    let mut sum = move_s(
        2.0 * job.whole.half_width,
        limits.rapid_xy,
        limits.acceleration_xy,
    );
    for pair in job.layout.holes[from..to].windows(2) {
        let step = pair[1].station_mm - pair[0].station_mm;
        let across = pair[1].across_mm - pair[0].across_mm;
        if (step - last.0).abs() < 1e-9 && (across - last.1).abs() < 1e-9 {
            sum += last_s;
            continue;
        }
        last = (step, across);
        let mut along = step.abs();
        if job.layout.closed {
            along = along.min((total - along).abs());
        }
        let y = if side { 0.0 } else { pair[0].across_mm };
        let chord = along * (1.0 - y * turn / total).max(0.0);
        let distance = (chord * chord + across * across).sqrt();
        last_s = move_s(distance, limits.rapid_xy, limits.acceleration_xy);
        sum += last_s;
        // A boss is passed once: the next gap as wide is looked at anew.
        if !side && job.boss_between(pair[0].station_mm, pair[1].station_mm) {
            sum += 2.0 * lift;
            last = (f64::NAN, f64::NAN);
        }
    }
    sum
}

/// Time in s of the moves in the plane to the first of these bosses and from boss to boss.
pub(super) fn boss_travel_s(job: &Job, first: usize) -> f64 {
    let limits = &job.shop.limits;
    let rapid = |distance| move_s(distance, limits.rapid_xy, limits.acceleration_xy);
    let (mut before, mut sum) = (None, rapid(2.0 * job.whole.half_width));
    for boss in job.bosses_alike(first) {
        let at = job.part.path.pose(boss.station_mm);
        if let Some((x, y)) = before {
            let (x, y): (f64, f64) = (at.x - x, at.y - y);
            sum += rapid((x * x + y * y).sqrt());
        }
        before = Some((at.x, at.y));
    }
    sum
}

fn helix(job: &Job, task: &Helix) -> Spent {
    let limits = &job.shop.limits;
    let (a, az) = (limits.acceleration_xy, limits.acceleration_z);
    let bottom = task.top - (task.turns - 1.0) * task.depth;
    let mut one = down_and_up(job, task.top, bottom, task.feed);
    // Rings of even steps: the mean one stands for all.
    let mean = task.radius - 0.5 * task.spread;
    let speed = task.feed.min(arc_speed_mm_s(mean, a));
    let ring = task.turns * 2.0 * PI * mean;
    let turning = if speed > 0.0 {
        ring / speed + speed / a
    } else {
        0.0
    };
    one.pass_length += task.rings * ring;
    if speed < task.feed {
        one.bent += task.rings * ring;
    }
    one.feed(task.rings, ring, turning);
    one.feed(2.0 * task.rings, mean, move_s(mean, task.feed, a));
    one.move_s += (task.rings - 1.0) * move_s(task.top - bottom, limits.rapid_z, az);
    let mut all = Spent {
        move_s: task.travel_s,
        ..Spent::default()
    };
    all.add(task.count, &one);
    all
}

/// Offsets of the edges of a band, from low to high, given one by one.
pub(super) fn edge_offsets(band: &Band, under: bool, mut each: impl FnMut(f64, f64)) {
    if under || band.standing.is_empty() {
        each(-band.half_width, if under { 0.0 } else { band.floor });
        each(band.half_width, if under { 0.0 } else { band.floor });
        return;
    }
    for wall in &band.standing {
        each(wall.y_low, wall.z_high);
        each(wall.y_high, wall.z_high);
    }
}

fn edges(job: &Job, task: &Edges) -> Spent {
    let limits = &job.shop.limits;
    let rapid = |distance| move_s(distance, limits.rapid_xy, limits.acceleration_xy);
    let mut all = Spent::default();
    for band in &job.bands {
        all.move_s += hops(job, band);
        for span in band.spans.iter().filter(|span| span.alike > 0.0) {
            let mut one = Spent::default();
            let (mut last, mut lifted) = ((f64::NAN, f64::NAN), Spent::default());
            edge_offsets(band, task.under, |y, z| {
                one.pass(1.0, &pass(job, band, span, [0.0; 2], y, task.feed));
                let top = if task.under { job.height } else { z };
                if top != last.1 {
                    lifted = down_and_up(job, top - EDGE_MM, top - EDGE_MM, task.feed);
                }
                one.add(1.0, &lifted);
                if !last.0.is_nan() {
                    one.move_s += rapid(y - last.0);
                }
                last = (y, top);
            });
            all.add(span.alike, &one);
        }
    }
    all
}
