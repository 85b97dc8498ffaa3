//! Lines of a slab along the path, and the rectangle of each of its holes.

use super::density::Fineness;
use super::drill::{Drill, LEAST_METAL_MM};
use super::pattern::Share;
use super::planes::longest;
use super::spec::{Spec, Spot};

/// Lines along the path, in mm from the slab's first plane, and for each hole the lines that bound it.
pub(super) struct Lengths {
    pub lines: Vec<f64>,
    pub rectangles: Vec<(usize, usize)>,
}

/// A range that must hold a line, and where in it the line is best.
#[derive(Clone, Copy, Debug)]
struct Range {
    low: f64,
    high: f64,
    best: f64,
}

pub(super) fn lengths(spec: &Spec, drills: &[Drill], fineness: &Fineness) -> Lengths {
    let length = spec.length();
    let ranges: Vec<[Range; 2]> = spec
        .holes
        .iter()
        .map(|hole| sides(hole, spec, drills, length))
        .collect();
    let mut hard = vec![0.0, length];
    stab(&mut hard, ranges.iter().flatten());
    hard.sort_by(f64::total_cmp);
    hard.dedup_by(|later, earlier| *later - *earlier < 1e-9);
    let spans: Vec<(f64, f64)> = ranges
        .iter()
        .map(|[before, after]| (chosen(&hard, before), chosen(&hard, after)))
        .collect();
    let lines = divided(&hard, spec, &spans, fineness);
    let index = |at: f64| lines.partition_point(|&line| line < at - 1e-9);
    let rectangles = spans
        .iter()
        .map(|&(from, to)| (index(from), index(to)))
        .collect();
    Lengths { lines, rectangles }
}

/// Where the rectangle of a hole may begin and end.
fn sides(hole: &Spot, spec: &Spec, drills: &[Drill], length: f64) -> [Range; 2] {
    let drill = &drills[hole.drill];
    let wide = 0.5 * (drill.band.1 - drill.band.0);
    let neighbour = |sign: f64| {
        spec.holes
            .iter()
            .filter(|other| (other.at - hole.at) * sign > 1e-6 && drills[other.drill].shares(drill))
            .map(|other| (other.at - hole.at) * sign - other.reach)
            .fold(f64::INFINITY, f64::min)
    };
    let side = |sign: f64, end: f64| {
        let edge = (end - hole.at) * sign;
        let free = neighbour(sign).min(edge);
        let fixed = |at: f64| (at, at, at);
        let aim = wide.max(1.25 * hole.reach);
        let (low, high, best) = if edge < 1e-9 {
            fixed(0.0)
        } else if free >= edge && edge < 1.7 * aim {
            fixed(edge)
        } else {
            let metal = free - hole.reach;
            let low = hole.reach + (0.2 * hole.reach).min(0.45 * metal);
            if free < edge {
                // Another hole lies ahead: at most as near to it as to this one.
                let middle = hole.reach + 0.5 * metal;
                (
                    low,
                    middle.max(low).max(hole.reach + 0.55 * metal),
                    aim.min(middle).max(low),
                )
            } else {
                (
                    low,
                    (2.0 * aim).min(edge - 0.3 * aim).max(low),
                    aim.max(low),
                )
            }
        };
        let (a, b) = (hole.at + sign * low, hole.at + sign * high);
        Range {
            low: a.min(b),
            high: a.max(b),
            best: hole.at + sign * best,
        }
    };
    [side(-1.0, 0.0), side(1.0, length)]
}

/// Adds lines until every range holds one: as few as can be, each as near to its best place as may be.
fn stab<'a>(lines: &mut Vec<f64>, ranges: impl Iterator<Item = &'a Range>) {
    let mut ranges: Vec<Range> = ranges.copied().collect();
    ranges.sort_by(|a, b| a.high.total_cmp(&b.high).then(a.low.total_cmp(&b.low)));
    let held = |lines: &[f64], range: &Range| {
        lines
            .iter()
            .any(|&line| line > range.low - 1e-9 && line < range.high + 1e-9)
    };
    for (index, range) in ranges.iter().enumerate() {
        if held(lines, range) {
            continue;
        }
        let (mut low, mut high) = (range.low, range.high);
        for other in &ranges[index + 1..] {
            if other.low <= high && !held(lines, other) {
                low = low.max(other.low);
                high = high.min(other.high);
            }
        }
        lines.push(range.best.clamp(low, high));
    }
}

/// The line of a range that is nearest to its best place.
fn chosen(lines: &[f64], range: &Range) -> f64 {
    lines
        .iter()
        .copied()
        .filter(|&line| line > range.low - 1e-9 && line < range.high + 1e-9)
        .min_by(|a, b| (a - range.best).abs().total_cmp(&(b - range.best).abs()))
        .unwrap_or(range.best)
}

/// The lines with as many between them as holes and lengths ask.
fn divided(hard: &[f64], spec: &Spec, spans: &[(f64, f64)], fineness: &Fineness) -> Vec<f64> {
    let most = longest(fineness, spec.bend.tightest());
    let mut lines = vec![hard[0]];
    for pair in hard.windows(2) {
        let length = pair[1] - pair[0];
        let middle = 0.5 * (pair[0] + pair[1]);
        let mut count = (length / most - 1e-6).ceil().max(1.0) as usize;
        for (hole, &(from, to)) in spec.holes.iter().zip(spans) {
            if from < middle && middle < to {
                let halves = if hole.share == Share::Whole { 2 } else { 1 };
                let share = length / (to - from);
                let wanted = share * (halves * fineness.beside_half) as f64 - 0.34;
                count = count.max(wanted.ceil().max(1.0) as usize);
            }
        }
        for step in 1..count {
            lines.push(pair[0] + length * step as f64 / count as f64);
        }
        lines.push(pair[1]);
    }
    lines
}

/// Metal between a hole and its rectangle's sides along the path; not positive where it does not fit.
pub(super) fn least_metal(spec: &Spec, lengths: &Lengths) -> f64 {
    let mut least = f64::INFINITY;
    for (hole, &(from, to)) in spec.holes.iter().zip(&lengths.rectangles) {
        if hole.share != Share::Start {
            least = least.min(hole.at - lengths.lines[from] - hole.reach);
        }
        if hole.share != Share::End {
            least = least.min(lengths.lines[to] - hole.at - hole.reach);
        }
    }
    least - 0.25 * LEAST_METAL_MM
}
