//! The slow reader of tasks: every move, by the same decisions as the fast estimate.

use std::f64::consts::PI;

use super::Route;
use super::track::{Track, left};
use crate::machining::bands::{Band, Run, Span};
use crate::machining::estimate::{corner_way, edge_offsets, ramp_legs, ramp_length, reach};
use crate::machining::job::Job;
use crate::machining::practice::*;
use crate::machining::task::*;
use crate::part::Piece;

/// Passes of one operation beyond which no moves are drawn up: such a part is no machining any more.
const MOST_PASSES: f64 = 5_000.0;

/// Adds the moves of a task; `false` where it has none of its own, or more than can be drawn up. Holes are
/// another's (`holes.rs`): their order spans several operations.
pub(in crate::machining) fn expand(job: &Job, task: &Task, route: &mut Route) -> bool {
    if passes(job, task) > MOST_PASSES {
        return false;
    }
    match task {
        Task::Nothing | Task::Holes(_) => return false,
        Task::Along(task) => along(job, task, route),
        Task::Loops(task) => loops(job, task, route),
        Task::Walls(task) => walls(job, task, route),
        Task::Ends(task) => ends(job, task, route),
        Task::Outline(task) => outline(job, task, route),
        Task::Corners(task) => corners(job, task, route),
        Task::Helix(task) => helix(job, task, route),
        Task::Edges(task) => edges(job, task, route),
    }
    route.rise(clear(job));
    true
}

fn passes(job: &Job, task: &Task) -> f64 {
    match task {
        Task::Along(task) => task.passes * task.levels * job.band(task.band).stretches,
        Task::Loops(task) => task.levels * job.band(task.band).length / task.step,
        Task::Walls(task) => {
            let levels = task.sides[0].levels + task.sides[1].levels;
            levels * job.band(task.band).stretches
        }
        Task::Ends(task) => 4.0 * task.levels * job.band(task.band).stretches,
        Task::Outline(task) => task.levels,
        Task::Corners(task) => task.levels,
        Task::Helix(task) => task.turns * task.rings * task.count,
        Task::Nothing | Task::Holes(_) | Task::Edges(_) => 0.0,
    }
}

/// Height at which the tool travels.
pub(super) fn clear(job: &Job) -> f64 {
    job.height + job.shop.limits.clearance
}

/// From above a place down to `z`, the last of it at feed.
fn down(route: &mut Route, z: f64, feed: f64) {
    route.rise(z + APPROACH_MM);
    route.plunge(z, PLUNGE_FEED * feed);
}

/// Moves over to a place at travelling height.
fn travel(job: &Job, route: &mut Route, to: [f64; 2]) {
    route.rise(clear(job));
    route.over(to);
}

fn apart(a: [f64; 3], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// The spans of a band in the order in which they are visited: from the nearest on, around a closed frame; from
/// the nearer end of an open one.
fn visited<'a>(job: &Job, band: &'a Band, at: [f64; 3]) -> Vec<&'a Span> {
    let mut spans: Vec<&Span> = band.spans.iter().collect();
    spans.sort_by(|a, b| a.from.total_cmp(&b.from));
    let path = &job.part.path;
    let near = |station: f64| apart(at, left(path.pose(station), 0.0));
    if band.ring || spans.len() < 2 {
        return spans;
    }
    if job.layout.closed {
        let reach = |span: &Span| near(span.from).min(near(span.from + span.length));
        let first = (0..spans.len())
            .min_by(|&a, &b| reach(spans[a]).total_cmp(&reach(spans[b])))
            .unwrap_or(0);
        spans.rotate_left(first);
    } else if near(spans[spans.len() - 1].from) < near(spans[0].from) {
        spans.reverse();
    }
    spans
}

/// The end of a way that is nearer to the tool: 0 or its length; on a closed way the nearest place.
fn nearer(track: &Track, at: [f64; 3]) -> f64 {
    if track.closed {
        track.nearest(at)
    } else if apart(at, track.point(track.length)) < apart(at, track.point(0.0)) {
        track.length
    } else {
        0.0
    }
}

/// The other end of a way; on a closed way a full turn on.
fn other_end(track: &Track, from: f64) -> f64 {
    if track.closed {
        from + track.length
    } else if from > 0.0 {
        0.0
    } else {
        track.length
    }
}

fn along(job: &Job, task: &Along, route: &mut Route) {
    let band = job.band(task.band);
    let path = &job.part.path;
    let slow = PLUNGE_FEED * task.first_feed;
    let ramp = ramp_length(task.depth);
    for span in visited(job, band, route.at) {
        let (ends, open) = reach(job, span, task.clear, task.bottom, task.radius, task.beyond);
        let lane = |pass: f64| Track::along(path, band, span, ends, task.low + pass * task.over());
        let first = lane(0.0);
        let legs = ramp_legs(ramp, first.length, task.radius);
        let plunge = task.entry == Entry::Plunge || (!band.ring && !open && legs == 0.0);
        let mut at = nearer(&first, route.at);
        travel(job, route, first.point(at));
        let mut high = task.bottom + task.levels * task.depth;
        let beside = open && !band.ring && !plunge;
        down(
            route,
            if beside { high - task.depth } else { high },
            task.first_feed,
        );
        for level in 0..task.levels as usize {
            let low = high - task.depth;
            if level > 0 {
                // Back to the first pass, at the end where the last one ended.
                route.line(first.point(at), high, task.feed);
            }
            if plunge {
                route.plunge(low, slow);
            } else if band.ring {
                first.go(route, at, at + ramp, low, slow);
                at += ramp;
            } else if beside {
                route.rise(low);
            } else {
                let mut foot = at;
                for leg in 0..legs as usize {
                    let z = high - task.depth * (leg + 1) as f64 / legs;
                    let turn = if at > 0.0 {
                        at - ramp / legs
                    } else {
                        ramp / legs
                    };
                    let next = if leg % 2 == 0 { turn } else { at };
                    first.go(route, foot, next, z, slow);
                    foot = next;
                }
            }
            let mut end = other_end(&first, at);
            first.go(route, at, end, low, task.first_feed);
            for pass in 1..task.passes as usize {
                let lane = lane(pass as f64);
                // The same place on the next way, whose length differs.
                let share = |at: f64| at / first.length.max(1e-12) * lane.length;
                let start = if lane.closed {
                    share(end)
                } else if end > 0.0 {
                    lane.length
                } else {
                    0.0
                };
                let stop = other_end(&lane, start);
                lane.go(route, start, stop, low, task.feed);
                if !lane.closed {
                    end = if stop > 0.0 { first.length } else { 0.0 };
                }
            }
            at = end;
            high = low;
        }
    }
}

fn loops(job: &Job, task: &Loops, route: &mut Route) {
    let band = job.band(task.band);
    let middle = 0.5 * (task.clear.0 + task.clear.1);
    let keep = task.keep();
    for span in visited(job, band, route.at) {
        let (ends, open) = reach(job, span, task.clear, task.bottom, keep, keep);
        let lane = Track::along(&job.part.path, band, span, ends, middle);
        let count = (lane.length / task.step - 1e-9).ceil().max(0.0);
        let mut at = nearer(&lane, route.at);
        let mut high = task.bottom + task.levels * task.depth;
        for level in 0..task.levels as usize {
            let stop = other_end(&lane, at);
            let forward = stop >= at;
            // Counter-clockwise about each centre, so that the loop starts on its right side.
            let beside = |at: f64| {
                let ([x, y], [lx, ly]) = (lane.point(at), lane.left_of(at));
                let side = if forward {
                    -task.loop_radius
                } else {
                    task.loop_radius
                };
                [x + side * lx, y + side * ly]
            };
            let low = high - task.depth;
            let entered = open && !band.ring;
            if level == 0 {
                travel(job, route, beside(at));
                down(route, if entered { low } else { high }, task.feed);
            } else {
                route.line(beside(at), high, task.feed);
            }
            if entered {
                route.rise(low);
            } else {
                let turns = task.helix_turns();
                route.arc(
                    lane.point(at),
                    2.0 * PI * turns,
                    low,
                    PLUNGE_FEED * task.feed,
                );
            }
            for number in 0..=count as usize {
                let share = number as f64 / count.max(1.0);
                let place = at + share * (stop - at);
                route.line(beside(place), low, task.feed);
                route.arc(lane.point(place), PI, low, task.feed);
                route.arc(lane.point(place), PI, low, task.back_feed);
                let closed_here = !band.ring
                    && ((place <= 1e-9 && ends[0] < 0.0)
                        || (place >= lane.length - 1e-9 && ends[1] < 0.0));
                if closed_here {
                    square(task, &lane, place, forward, low, route);
                }
            }
            at = if lane.closed {
                stop.rem_euclid(lane.length)
            } else {
                stop
            };
            high = low;
        }
    }
}

/// The end of a slot squared after the loop there: to the end, across, and back.
fn square(task: &Loops, lane: &Track, place: f64, forward: bool, z: f64, route: &mut Route) {
    let ([x, y], [lx, ly]) = (lane.point(place), lane.left_of(place));
    let radius = task.loop_radius;
    let outward = if place > 0.0 { radius } else { -radius };
    let side = if forward { -radius } else { radius };
    let at = |along: f64, across: f64| [x + along * ly + across * lx, y - along * lx + across * ly];
    route.line(at(outward, side), z, task.feed);
    route.line(at(outward, -side), z, task.feed);
    route.line(at(0.0, -side), z, task.feed);
}

fn walls(job: &Job, task: &Walls, route: &mut Route) {
    let band = job.band(task.band);
    let middle = 0.5 * (task.clear.0 + task.clear.1);
    for span in visited(job, band, route.at) {
        let (ends, _) = reach(job, span, task.clear, task.bottom, task.radius, task.radius);
        let mut entered = false;
        for side in task.sides.iter().filter(|side| side.levels > 0.0) {
            let (aside, lead) = task.lead(side);
            let lane = Track::along(&job.part.path, band, span, ends, side.y);
            let towards = (side.y - middle).signum();
            let mut z = task.bottom + side.levels * side.depth;
            let (way, mut back) = if band.ring {
                (ring_wall(&lane, towards, lead, route.at), false)
            } else {
                let way = span_wall(&lane, ends, towards, aside, lead);
                let back = nearer(&way, route.at) > 0.0;
                (way, back)
            };
            for level in 0..side.levels as usize {
                z -= side.depth;
                let (from, to) = if back {
                    (way.length, 0.0)
                } else {
                    (0.0, way.length)
                };
                if level > 0 {
                    route.over(way.point(from));
                    route.rise(z);
                } else if entered {
                    route.rise(z);
                    route.over(way.point(from));
                } else {
                    travel(job, route, way.point(from));
                    down(route, z, side.feed);
                    entered = true;
                }
                way.go(route, from, to, z, side.feed);
                back = !back && !band.ring;
            }
        }
    }
}

/// One level on the wall of a whole ring: on by a quarter arc, around, off by another.
fn ring_wall(lane: &Track, towards: f64, lead: f64, at: [f64; 3]) -> Track {
    let start = lane.nearest(at);
    let ([x, y], [lx, ly]) = (lane.point(start), lane.left_of(start));
    let place = |along: f64, off: f64| [x + along * ly + off * lx, y - along * lx + off * ly];
    let mut way = Track::default();
    let centre = place(0.0, -towards * lead);
    if lead > 0.0 {
        way.arc(place(-lead, -towards * lead), centre, -0.5 * PI * towards);
    }
    lane.copy_turn(start, &mut way);
    if lead > 0.0 {
        way.arc([x, y], centre, -0.5 * PI * towards);
    }
    way
}

/// One level on the wall of a span: at a closed end from the middle of the end's face, onto it by a quarter arc,
/// along it to the wall; at an open end from outside.
fn span_wall(lane: &Track, ends: [f64; 2], towards: f64, aside: f64, lead: f64) -> Track {
    let mut way = Track::default();
    let frame = |at: f64| {
        let ([x, y], [lx, ly]) = (lane.point(at), lane.left_of(at));
        move |along: f64, off: f64| [x + along * ly + off * lx, y - along * lx + off * ly]
    };
    let to_middle = -towards * aside;
    let start = frame(0.0);
    if ends[0] < 0.0 && lead > 0.0 {
        let centre = start(lead, to_middle + towards * lead);
        way.arc(start(lead, to_middle), centre, -0.5 * PI * towards);
        way.line_to(start(0.0, 0.0));
    }
    lane.copy(&mut way);
    let end = frame(lane.length);
    if ends[1] < 0.0 && lead > 0.0 {
        let face = end(0.0, to_middle + towards * lead);
        way.line_to(face);
        way.arc(
            face,
            end(-lead, to_middle + towards * lead),
            -0.5 * PI * towards,
        );
    }
    way
}

fn ends(job: &Job, task: &Ends, route: &mut Route) {
    let band = job.band(task.band);
    let beside = task.beside();
    for span in visited(job, band, route.at) {
        let (ends, _) = reach(job, span, task.clear, task.bottom, task.radius, task.radius);
        let mut corners: Vec<Track> = Vec::new();
        for (number, end) in ends.into_iter().enumerate().filter(|(_, end)| *end < 0.0) {
            let _ = end;
            for (side, walled) in task.walled.into_iter().enumerate() {
                if !walled {
                    continue;
                }
                let (y, towards) = if side == 0 {
                    (task.clear.0 + task.radius, -1.0)
                } else {
                    (task.clear.1 - task.radius, 1.0)
                };
                let lane = Track::along(&job.part.path, band, span, ends, y);
                let (at, inward) = if number == 0 {
                    (0.0, 1.0)
                } else {
                    (lane.length, -1.0)
                };
                let ([x, y], [lx, ly]) = (lane.point(at), lane.left_of(at));
                let mut corner = Track::default();
                let along = inward * beside;
                corner.line([x + along * ly, y - along * lx], [x, y]);
                let off = -towards * beside;
                corner.line_to([x + off * lx, y + off * ly]);
                corners.push(corner);
            }
        }
        if apart(
            route.at,
            corners.last().map_or([0.0; 2], |last| last.point(0.0)),
        ) < apart(
            route.at,
            corners.first().map_or([0.0; 2], |first| first.point(0.0)),
        ) {
            corners.reverse();
        }
        for corner in &corners {
            to_and_fro(
                job,
                corner,
                task.levels,
                task.depth,
                task.bottom,
                task.feed,
                route,
            );
        }
    }
}

/// A short way in metal that is open on its side, level by level to and fro.
fn to_and_fro(
    job: &Job,
    way: &Track,
    levels: f64,
    depth: f64,
    bottom: f64,
    feed: f64,
    route: &mut Route,
) {
    let mut at = nearer(way, route.at);
    travel(job, route, way.point(at));
    let mut z = bottom + levels * depth;
    for level in 0..levels as usize {
        z -= depth;
        if level == 0 {
            down(route, z, feed);
        } else {
            route.rise(z);
        }
        let stop = other_end(way, at);
        way.go(route, at, stop, z, feed);
        at = stop;
    }
}

fn outline(job: &Job, task: &Outline, route: &mut Route) {
    let sides: &[f64] = if job.layout.closed {
        &[-1.0, 1.0]
    } else {
        &[-1.0]
    };
    for &side in sides {
        let way = if job.layout.closed {
            around(job, side, task.off)
        } else {
            around_open(job, task.off)
        };
        let mut at = way.nearest(route.at);
        let mut z = task.bottom + task.levels * task.depth;
        if task.ramped {
            travel(job, route, way.point(at));
            down(route, z, task.feed);
            let ramp = ramp_length(task.depth);
            for _ in 0..task.levels as usize {
                z -= task.depth;
                way.go(route, at, at + ramp, z, PLUNGE_FEED * task.feed);
                way.go(route, at + ramp, at + ramp + way.length, z, task.feed);
                at = (at + ramp).rem_euclid(way.length.max(1e-12));
            }
            continue;
        }
        // From the middle of the slot to the wall: to the left inside the frame, to the right outside of it.
        let ([x, y], [lx, ly]) = (way.point(at), way.left_of(at));
        let start = [x + side * task.aside * lx, y + side * task.aside * ly];
        travel(job, route, start);
        for level in 0..task.levels as usize {
            z -= task.depth;
            if level == 0 {
                down(route, z, task.feed);
            } else {
                route.rise(z);
            }
            way.go(route, at, at + way.length, z, task.feed);
            route.line(start, z, task.feed);
        }
    }
}

/// A loop along one side (-1 right, 1 left) of a closed frame, `off` mm from its edge; where the width changes, it
/// keeps that distance from the wider section's face too.
fn around(job: &Job, side: f64, off: f64) -> Track {
    let whole = &job.whole;
    let pose = job
        .part
        .path
        .pose(whole.spans.first().map_or(0.0, |span| span.from));
    let mut track = Track::default();
    if job.even {
        let y = side * (whole.half_width + off);
        track.follow(pose, whole.runs.iter().copied(), y);
    } else {
        let mut spans: Vec<(f64, f64, f64)> = Vec::new();
        for band in &job.bands {
            for span in &band.spans {
                spans.push((span.from, span.from + span.length, band.half_width));
            }
        }
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let count = spans.len();
        for at in 0..count {
            let (mut from, mut to, half) = spans[at];
            let room = 0.5 * (to - from);
            let shift = |other: f64| {
                if (other - half).abs() < 1e-9 {
                    0.0
                } else if other > half {
                    -off.min(room)
                } else {
                    off
                }
            };
            from -= shift(spans[(at + count - 1) % count].2);
            to += shift(spans[(at + 1) % count].2);
            follow_range(job, from, to, side * (half + off), &mut track);
        }
    }
    if let Some(first) = (!track.is_empty()).then(|| track.start()) {
        track.line_to(first);
    }
    track.closed = true;
    track
}

/// The way at `y` between two stations of the path, which may wrap on a closed one.
fn follow_range(job: &Job, from: f64, to: f64, y: f64, track: &mut Track) {
    let path = &job.part.path;
    let total = path.length_mm();
    let mut at = from;
    while to - at > 1e-9 {
        let here = if path.closed() {
            at.rem_euclid(total)
        } else {
            at
        };
        let mut end = 0.0;
        let mut next = to;
        for piece in path.pieces() {
            end += piece.length_mm();
            if here < end - 1e-9 {
                next = (at + end - here).min(to);
                break;
            }
        }
        let run = Run {
            length: next - at,
            curvature: path.curvature(here + 1e-9),
        };
        track.follow(path.pose(here), [run].into_iter(), y);
        at = next;
    }
}

/// The loop around an open frame, `off` mm from its edge: along its right side, around its end, back along its left.
fn around_open(job: &Job, off: f64) -> Track {
    let path = &job.part.path;
    let whole = &job.whole;
    let mut track = Track::default();
    let [first, last] = {
        let mut widths = job.end_widths();
        [widths.next().unwrap_or(0.0), widths.next().unwrap_or(0.0)]
    };
    let start = path.pose(whole.spans.first().map_or(0.0, |span| span.from));
    let end = whole
        .runs
        .iter()
        .fold(start, |pose, run| pose.advance(run.length, run.curvature));
    let mut sides = [Track::default(), Track::default()];
    for (track, side) in sides.iter_mut().zip([-1.0, 1.0]) {
        if job.even {
            track.follow(
                start,
                whole.runs.iter().copied(),
                side * (whole.half_width + off),
            );
        } else {
            let mut spans: Vec<(f64, f64, f64)> = Vec::new();
            for band in &job.bands {
                for span in &band.spans {
                    spans.push((span.from, span.from + span.length, band.half_width));
                }
            }
            spans.sort_by(|a, b| a.0.total_cmp(&b.0));
            for (from, to, half) in spans {
                follow_range(job, from, to, side * (half + off), track);
            }
        }
    }
    let [right, leftward] = sides;
    right.copy(&mut track);
    for (pose, width, turned) in [(end, last, false), (start, first, true)] {
        let edges = if turned { [0.5, -0.5] } else { [-0.5, 0.5] };
        for (number, edge) in edges.into_iter().enumerate() {
            let corner = left(pose, edge * width);
            if let Some(at) = track.end() {
                track.arc(at, corner, 0.5 * PI);
                if number == 0
                    && let Some(at) = track.end()
                {
                    let way = if turned { -width } else { width };
                    let (sin, cos) = pose.heading.sin_cos();
                    track.line(at, [at[0] - way * sin, at[1] + way * cos]);
                }
            }
        }
        if !turned {
            leftward.copy_back(&mut track);
        }
    }
    track.closed = true;
    track
}

fn corners(job: &Job, task: &Corners, route: &mut Route) {
    let path = &job.part.path;
    let mut station = 0.0;
    for piece in path.pieces() {
        let length = piece.length_mm();
        if let Piece::Arc { radius_mm, angle } = *piece
            && angle.abs() <= CORNER_RAD
        {
            let inside = (radius_mm - job.whole.half_width).max(0.0);
            if let Some((radius, beside)) = corner_way(inside, angle, task.off, task.left) {
                let side = angle.signum();
                let (start, end) = (
                    path.pose(station),
                    path.pose(station).advance(length, piece.curvature()),
                );
                let y = side * (radius_mm - radius);
                let (from, to) = (left(start, y), left(end, y));
                let mut way = Track::default();
                let step = |at: [f64; 2], heading: f64, by: f64| {
                    [at[0] + by * heading.cos(), at[1] + by * heading.sin()]
                };
                way.line(step(from, start.heading, -beside), from);
                if radius > 0.0 {
                    way.arc(from, left(start, side * radius_mm), angle);
                }
                way.line_to(step(to, end.heading, beside));
                to_and_fro(
                    job,
                    &way,
                    task.levels,
                    task.depth,
                    task.bottom,
                    task.feed,
                    route,
                );
            }
        }
        station += length;
    }
}

fn helix(job: &Job, task: &Helix, route: &mut Route) {
    let bottom = task.top - (task.turns - 1.0) * task.depth;
    for boss in job.bosses_alike(task.boss) {
        let pose = job.part.path.pose(boss.station_mm);
        let centre = left(pose, 0.0);
        travel(job, route, centre);
        down(route, task.top, task.feed);
        for ring in 0..task.rings as usize {
            let share = if task.rings > 1.0 {
                ring as f64 / (task.rings - 1.0)
            } else {
                1.0
            };
            let radius = task.radius - (1.0 - share) * task.spread;
            route.rise(task.top);
            route.line([centre[0] + radius, centre[1]], task.top, task.feed);
            route.arc(centre, 2.0 * PI * (task.turns - 1.0), bottom, task.feed);
            route.arc(centre, 2.0 * PI, bottom, task.feed);
            route.line(centre, bottom, task.feed);
        }
    }
}

fn edges(job: &Job, task: &Edges, route: &mut Route) {
    for band in &job.bands {
        for span in visited(job, band, route.at) {
            let mut edges: Vec<(f64, f64)> = Vec::new();
            edge_offsets(band, task.under, |y, z| edges.push((y, z)));
            for (y, z) in edges {
                let way = Track::along(&job.part.path, band, span, [0.0; 2], y);
                let at = nearer(&way, route.at);
                let top = if task.under { job.height } else { z };
                travel(job, route, way.point(at));
                down(route, top - EDGE_MM, task.feed);
                way.go(route, at, other_end(&way, at), top - EDGE_MM, task.feed);
            }
        }
    }
}
