//! The frame as a drawing needs it: lengths of one section, their height over the plan, edges as lines and arcs.

use super::ink::{Curve, Point};
use crate::part::{Layout, Part, Path, Piece, Section, StripName};

/// A length of the path with one section; on a closed path the first may start before zero.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch<'a> {
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) section: &'a Section,
}

/// The frame as stretches of equal section, in order along the path.
pub(crate) fn stretches(layout: &Layout) -> Vec<Stretch<'_>> {
    crate::drawing::runs(layout)
        .iter()
        .map(|run| Stretch {
            from: run.from_mm,
            to: run.to_mm,
            section: &layout.sections[run.index],
        })
        .collect()
}

/// Height of the metal over the plan across a section: breaks in `y`, and the height between each and the next. What
/// stands all stands on the underside, so heights say everything.
pub(crate) fn heights(section: &Section) -> Vec<(f64, f64, f64)> {
    let strips = section.strips();
    let mut breaks: Vec<f64> = strips
        .iter()
        .flat_map(|strip| [strip.y_low, strip.y_high])
        .collect();
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let mut found: Vec<(f64, f64, f64)> = Vec::new();
    for ends in breaks.windows(2) {
        let top = top_at(section, 0.5 * (ends[0] + ends[1]));
        match found.last_mut() {
            Some(last) if (last.2 - top).abs() < 1e-9 => last.1 = ends[1],
            _ => found.push((ends[0], ends[1], top)),
        }
    }
    found
}

/// Height of the metal at `y`; 0 where there is none.
pub(crate) fn top_at(section: &Section, y: f64) -> f64 {
    let strips = section.strips();
    let over = strips
        .iter()
        .filter(|strip| strip.y_low < y && y < strip.y_high);
    over.map(|strip| strip.z_high).fold(0.0, f64::max)
}

/// The strip of a section by its name.
pub(crate) fn strip(section: &Section, name: StripName) -> Option<crate::part::Strip> {
    section
        .strips()
        .into_iter()
        .find(|strip| strip.name == name)
}

/// The section at a station.
pub(crate) fn section_at(layout: &Layout, station: f64) -> &Section {
    let length = layout.length_mm;
    let covers = |stretch: &Stretch| {
        [0.0, -length, length].iter().any(|lap| {
            (*lap == 0.0 || layout.closed) && (stretch.from..=stretch.to).contains(&(station + lap))
        })
    };
    let all = stretches(layout);
    all.iter()
        .find(|stretch| covers(stretch))
        .map_or(&layout.sections[0], |stretch| stretch.section)
}

/// Joints of the path from one station to another: between them it is one line or one arc.
pub(crate) fn joints(path: &Path, from: f64, to: f64) -> Vec<f64> {
    let length = path.length_mm();
    let mut joints = vec![from, to];
    let laps = if path.closed() { -1..=1 } else { 0..=0 };
    for lap in laps {
        let mut at = f64::from(lap) * length;
        for piece in path.pieces() {
            joints.push(at);
            at += piece.length_mm();
        }
    }
    joints.retain(|&s| s >= from && s <= to);
    joints.sort_by(f64::total_cmp);
    joints.dedup_by(|a, b| (*a - *b).abs() < 1e-7);
    joints
}

/// Place in the plan of (station, offset).
pub(crate) fn plan(path: &Path, station: f64, offset: f64) -> Point {
    path.pose(station).left(offset)
}

/// The line `offset` mm left of the path between two stations, in the plan (y **up**), as lines and arcs; pieces that
/// follow each other on one circle are one arc.
pub(crate) fn offset_line(path: &Path, from: f64, to: f64, offset: f64) -> Vec<Curve> {
    let mut curves: Vec<Curve> = Vec::new();
    for ends in joints(path, from, to).windows(2) {
        let (start, end) = (ends[0], ends[1]);
        let middle = 0.5 * (start + end);
        let curvature = path.curvature(middle);
        if curvature == 0.0 {
            curves.push(Curve::Line(
                plan(path, start, offset),
                plan(path, end, offset),
            ));
            continue;
        }
        let centre = path.pose(middle).left(1.0 / curvature);
        let first = plan(path, start, offset);
        let radius = (1.0 / curvature - offset).abs();
        let angle = (first.1 - centre.1).atan2(first.0 - centre.0);
        let turn = curvature * (end - start);
        if let Some(Curve::Arc(known, size, _, whole)) = curves.last_mut() {
            let same = (known.0 - centre.0).hypot(known.1 - centre.1) < 1e-6;
            if same && (*size - radius).abs() < 1e-6 {
                *whole += turn;
                continue;
            }
        }
        curves.push(Curve::Arc(centre, radius, angle, turn));
    }
    curves
}

/// Arcs of the path: centre in the plan, radius, stations of start and end, signed curvature.
pub(crate) struct Bend {
    pub(crate) centre: Point,
    pub(crate) radius: f64,
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) curvature: f64,
}

pub(crate) fn bends(path: &Path) -> Vec<Bend> {
    let mut at = 0.0;
    let mut found: Vec<Bend> = Vec::new();
    for piece in path.pieces() {
        let length = piece.length_mm();
        if let Piece::Arc { radius_mm, angle } = *piece {
            let centre = path
                .pose(at + 0.5 * length)
                .left(radius_mm * angle.signum());
            let follows = found.last().is_some_and(|last| {
                (last.to - at).abs() < 1e-7
                    && (last.centre.0 - centre.0).hypot(last.centre.1 - centre.1) < 1e-6
            });
            match found.last_mut().filter(|_| follows) {
                Some(last) => last.to = at + length,
                None => found.push(Bend {
                    centre,
                    radius: radius_mm,
                    from: at,
                    to: at + length,
                    curvature: piece.curvature(),
                }),
            }
        }
        at += length;
    }
    join_ends(path, &mut found);
    found
}

/// An arc through the start of a closed path is one.
fn join_ends(path: &Path, found: &mut Vec<Bend>) {
    let length = path.length_mm();
    let through = match &found[..] {
        [first, .., last] => {
            first.from < 1e-7
                && (last.to - length).abs() < 1e-7
                && (first.centre.0 - last.centre.0).hypot(first.centre.1 - last.centre.1) < 1e-6
        }
        _ => false,
    };
    if path.closed()
        && through
        && let Some(last) = found.pop()
    {
        found[0].from = last.from - length;
    }
}

/// Radius of the path where it is one full circle.
pub(crate) fn circle(path: &Path) -> Option<(Point, f64)> {
    let bends = bends(path);
    match &bends[..] {
        [one] if path.closed() && (one.to - one.from - path.length_mm()).abs() < 1e-6 => {
            Some((one.centre, one.radius))
        }
        _ => None,
    }
}

/// Extent of the frame in the plan: lower left and upper right, exact at ends, joints and where arcs turn back.
pub(crate) fn bounds(part: &Part, layout: &Layout) -> (Point, Point) {
    let mut low = (f64::INFINITY, f64::INFINITY);
    let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    let mut take = |(x, y): Point| {
        low = (low.0.min(x), low.1.min(y));
        high = (high.0.max(x), high.1.max(y));
    };
    for stretch in stretches(layout) {
        let half = 0.5 * stretch.section.width_mm;
        for side in [-half, half] {
            for curve in offset_line(&part.path, stretch.from, stretch.to, side) {
                take(curve.start());
                take(curve.end());
                if let Curve::Arc(centre, radius, from, turn) = curve {
                    for quarter in -8..=8 {
                        let angle = 0.5 * std::f64::consts::PI * f64::from(quarter);
                        if within(angle, from, turn) {
                            take((
                                centre.0 + radius * angle.cos(),
                                centre.1 + radius * angle.sin(),
                            ));
                        }
                    }
                }
            }
        }
    }
    (low, high)
}

/// Whether an angle lies on an arc that starts at `from` and turns by `turn`.
pub(crate) fn within(angle: f64, from: f64, turn: f64) -> bool {
    let (low, high) = (from.min(from + turn), from.max(from + turn));
    angle >= low - 1e-12 && angle <= high + 1e-12
}
