//! Edges of the frame in the plan: the path's lines and arcs, set off sideways.

use super::canvas::{Point, number, pair};
use crate::part::{Layout, Path, Section};

/// A length of the frame with one section.
pub(crate) struct Run<'a> {
    pub(crate) from_mm: f64,
    pub(crate) to_mm: f64,
    pub(crate) section: &'a Section,
    /// Of the section in [`Layout::sections`].
    pub(crate) index: usize,
}

/// The frame as runs of equal section along the path; a single run of the whole length where nothing changes.
/// On a closed path the first run may start before zero.
pub(crate) fn runs(layout: &Layout) -> Vec<Run<'_>> {
    let mut runs: Vec<(f64, f64, usize)> = Vec::new();
    for segment in &layout.segments {
        let kind = &layout.kinds[segment.kind];
        let end = segment.start_mm + kind.length_mm;
        match runs.last_mut() {
            Some(last) if last.2 == kind.section => last.1 = end,
            _ => runs.push((segment.start_mm, end, kind.section)),
        }
    }
    let joined = layout.closed && runs.len() > 1 && runs[0].2 == runs[runs.len() - 1].2;
    if joined && let Some(last) = runs.pop() {
        runs[0].0 = last.0 - layout.length_mm;
    }
    runs.into_iter()
        .map(|(from_mm, to_mm, index)| Run {
            from_mm,
            to_mm,
            section: &layout.sections[index],
            index,
        })
        .collect()
}

/// Stations from `from` to `to` between which the curvature is constant and the turn below 120 degrees, so
/// that each stretch is one line or one plain arc.
fn stretches(path: &Path, from: f64, to: f64) -> Vec<(f64, f64)> {
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
    joints.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let mut stretches = Vec::new();
    for ends in joints.windows(2) {
        let (start, span) = (ends[0], ends[1] - ends[0]);
        let turn = (path.curvature(start + 0.5 * span) * span).abs();
        let parts = (turn / 2.0).ceil().max(1.0);
        for part in 0..parts as usize {
            let share = |k: usize| start + span * k as f64 / parts;
            stretches.push((share(part), share(part + 1)));
        }
    }
    stretches
}

/// Place of (station, offset) on paper at a scale.
pub(crate) fn place(path: &Path, station: f64, offset: f64, scale: f64) -> Point {
    let (x, y) = path.pose(station).left(offset);
    (x * scale, -y * scale)
}

/// Commands along the line `offset` mm left of the path from one station to another (either way), without the
/// first point.
fn along(path: &Path, from: f64, to: f64, offset: f64, scale: f64) -> String {
    let back = to < from;
    let mut parts = stretches(path, from.min(to), from.max(to));
    if back {
        parts.reverse();
    }
    let mut commands = String::new();
    for (start, end) in parts {
        let curvature = path.curvature(0.5 * (start + end));
        let target = place(path, if back { start } else { end }, offset, scale);
        if curvature == 0.0 {
            commands += &format!("L{}", pair(target));
        } else {
            // Paper's y points down: a left turn on the part runs against the sweep of SVG.
            let radius = number((1.0 / curvature - offset).abs() * scale);
            let sweep = u8::from((curvature < 0.0) != back);
            commands += &format!("A{radius} {radius} 0 0 {sweep} {}", pair(target));
        }
    }
    commands
}

/// Commands of the line `offset` mm left of the path between two stations.
pub(crate) fn edge(path: &Path, from: f64, to: f64, offset: f64, scale: f64) -> String {
    let start = place(path, from, offset, scale);
    format!("M{}{}", pair(start), along(path, from, to, offset, scale))
}

/// Commands of the closed outline between two offsets and two stations. Around the whole of a closed path it
/// is two loops, to be filled by the even-odd rule.
pub(crate) fn band(path: &Path, run: &Run, low: f64, high: f64, scale: f64) -> String {
    let (from, to) = (run.from_mm, run.to_mm);
    let whole = path.closed() && (to - from - path.length_mm()).abs() < 1e-6;
    if whole {
        let inner = edge(path, from, to, low, scale);
        return format!("{inner}z{}z", edge(path, from, to, high, scale));
    }
    format!(
        "{}L{}{}z",
        edge(path, from, to, low, scale),
        pair(place(path, to, high, scale)),
        along(path, to, from, high, scale)
    )
}
