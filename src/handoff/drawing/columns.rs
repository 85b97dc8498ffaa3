//! Metal over the plan in columns, to look up what stands before what.

use super::ink::{Curve, Point};
use super::shape::{Stretch, heights, offset_line};
use super::side::Look;
use crate::part::Part;

/// Distance of the columns in which nearness is looked up, in mm; more where the frame is very long.
const COLUMN_MM: f64 = 0.1;
/// Columns, at most.
const MOST_COLUMNS: f64 = 3000.0;
/// Depths nearer than this are one, in mm.
const SAME_MM: f64 = 0.03;

/// Metal over a part of the plan.
pub(crate) struct Cell {
    pub(crate) outline: Vec<Point>,
    pub(crate) top: f64,
    low: f64,
    high: f64,
}

pub(crate) struct Columns {
    start: f64,
    /// From one to the next, in mm.
    pub(crate) step: f64,
    /// Each: (nearest depth, farthest depth, height).
    all: Vec<Vec<(f64, f64, f64)>>,
}

impl Columns {
    pub(crate) fn new(cells: &[Cell], cut: f64) -> Columns {
        let low = cells
            .iter()
            .map(|cell| cell.low)
            .fold(f64::INFINITY, f64::min);
        let high = cells
            .iter()
            .map(|cell| cell.high)
            .fold(f64::NEG_INFINITY, f64::max);
        let step = COLUMN_MM.max((high - low) / MOST_COLUMNS);
        let count = (((high - low) / step).ceil() as usize).max(1) + 3;
        let start = low - step;
        let column = |k: usize| {
            // Off the round figures at which edges stand.
            let u = start + step * k as f64 + 0.013;
            let spans = cells.iter().flat_map(|cell| {
                let spans = crossed(&cell.outline, u, cell.low, cell.high);
                spans.into_iter().map(|(a, b)| (a.max(cut), b, cell.top))
            });
            spans.filter(|span| span.1 > span.0 + 1e-9).collect()
        };
        Columns {
            start,
            step,
            all: (0..count).map(column).collect(),
        }
    }

    /// Height that metal nearer than `depth` reaches at `u`.
    pub(crate) fn before(&self, u: f64, depth: f64) -> f64 {
        let at = ((u - self.start) / self.step).round();
        if !(at >= 0.0 && at < self.all.len() as f64) {
            return 0.0;
        }
        let nearer = self.all[at as usize]
            .iter()
            .filter(|span| span.0 < depth - SAME_MM);
        nearer.map(|span| span.2).fold(0.0, f64::max)
    }
}

/// Stretches of a line at `u` that lie in a closed outline.
pub(crate) fn crossed(outline: &[Point], u: f64, low: f64, high: f64) -> Vec<(f64, f64)> {
    if !(low..=high).contains(&u) {
        return Vec::new();
    }
    let mut at: Vec<f64> = Vec::new();
    for k in 0..outline.len() {
        let (a, b) = (outline[k], outline[(k + 1) % outline.len()]);
        if (a.0 <= u) != (b.0 <= u) {
            at.push(a.1 + (u - a.0) / (b.0 - a.0) * (b.1 - a.1));
        }
    }
    at.sort_by(f64::total_cmp);
    at.chunks_exact(2).map(|ends| (ends[0], ends[1])).collect()
}

/// Points along curves, no farther apart than `apart` mm, nor off them by more than a few microns.
pub(crate) fn points(curves: &[Curve], apart: f64) -> Vec<Point> {
    let mut points = Vec::new();
    for curve in curves {
        let length = match *curve {
            Curve::Line(a, b) => (b.0 - a.0).hypot(b.1 - a.1),
            Curve::Arc(_, radius, _, turn) => radius * turn.abs(),
        };
        let count = (length / apart).ceil().clamp(1.0, 20_000.0) as usize;
        let first = usize::from(!points.is_empty());
        points.extend((first..=count).map(|k| curve.at(k as f64 / count as f64)));
    }
    points
}

pub(crate) fn cells(part: &Part, all: &[Stretch], look: Look) -> Vec<Cell> {
    let mut cells = Vec::new();
    for stretch in all {
        for (low, high, top) in heights(stretch.section) {
            if top <= 0.0 {
                continue;
            }
            let edge = |y: f64| {
                let curves = offset_line(&part.path, stretch.from, stretch.to, y);
                // Straight lines need their ends only.
                let apart = |curve: &Curve| match curve {
                    Curve::Line(..) => f64::INFINITY,
                    Curve::Arc(_, radius, ..) => (0.01 * radius).max(0.4),
                };
                let each = |curve: &Curve| points(std::slice::from_ref(curve), apart(curve));
                curves.iter().flat_map(each).collect::<Vec<Point>>()
            };
            let (mut outline, mut back) = (edge(low), edge(high));
            back.reverse();
            outline.append(&mut back);
            let outline: Vec<Point> = outline.into_iter().map(|p| look.of(p)).collect();
            let across =
                |f: fn(f64, f64) -> f64, start: f64| outline.iter().map(|p| p.0).fold(start, f);
            cells.push(Cell {
                low: across(f64::min, f64::INFINITY),
                high: across(f64::max, f64::NEG_INFINITY),
                outline,
                top,
            });
        }
    }
    cells
}
