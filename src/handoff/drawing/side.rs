//! What is seen from the side: edges of the frame with what stands before them left out, and what a plane cuts.
//!
//! All metal stands on the underside, so over every point of the plan it reaches from zero to one height. A point is
//! hidden where, nearer to the eye, metal stands higher than it.

use std::collections::BTreeMap;

use super::columns::{Columns, cells, points};
use super::ink::{Curve, Point};
use super::shape::{Stretch, heights, offset_line, plan, stretches, top_at};
use crate::part::{Depth, Layout, Part, StripName};

/// Which way the frame is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Look {
    /// From below on the paper of the plan: along +y.
    Below,
    /// From the right: along -x.
    Right,
}

impl Look {
    /// (across, away from the eye) of a point of the plan.
    pub(crate) fn of(self, (x, y): Point) -> Point {
        match self {
            Look::Below => (x, y),
            Look::Right => (y, -x),
        }
    }
}

/// What is seen: lines in (across, height), in mm.
#[derive(Default)]
pub(crate) struct Seen {
    pub(crate) level: Vec<(f64, (f64, f64))>,
    pub(crate) upright: Vec<(f64, (f64, f64))>,
    /// Rims of holes in walls.
    pub(crate) rims: Vec<Vec<Point>>,
    /// Centres of those rims, with their half width and half height.
    pub(crate) centres: Vec<(Point, Point)>,
    /// Shapes that the plane cuts.
    pub(crate) cut: Vec<Vec<Point>>,
}

/// The frame seen from the side, or what is seen behind a plane at the depth `cut` and what that cuts.
pub(crate) fn seen(part: &Part, layout: &Layout, look: Look, cut: Option<f64>) -> Seen {
    let all = stretches(layout);
    let cells = cells(part, &all, look);
    let depth = cut.unwrap_or(f64::NEG_INFINITY);
    let mut view = View {
        part,
        look,
        cut: depth,
        columns: Columns::new(&cells, depth),
        seen: Seen::default(),
    };
    for stretch in &all {
        view.long_edges(stretch);
    }
    view.joints(&all);
    view.holes(layout);
    if cut.is_some() {
        view.cut_faces(layout, &cells);
    }
    view.seen.level = merged(&view.seen.level, 0.02);
    view.seen.upright = merged(&view.seen.upright, 0.02);
    view.seen
}

pub(crate) struct View<'a> {
    pub(crate) part: &'a Part,
    pub(crate) look: Look,
    pub(crate) cut: f64,
    columns: Columns,
    pub(crate) seen: Seen,
}

impl View<'_> {
    fn shows(&self, (u, depth): Point, z: f64) -> bool {
        depth >= self.cut - 1e-6 && z >= self.columns.before(u, depth) - 1e-6
    }

    /// At an edge that stands upright, what is just left or right of it counts.
    fn shows_beside(&self, (u, depth): Point, z: f64) -> bool {
        let off = 1.2 * self.columns.step;
        self.shows((u - off, depth), z) || self.shows((u + off, depth), z)
    }

    /// Edges along the path at heights, and where arcs turn away from the eye.
    fn long_edges(&mut self, stretch: &Stretch) {
        let profile = heights(stretch.section);
        let mut edges: Vec<(f64, f64, f64)> = Vec::new();
        let outside = |y: f64, top: f64| (y, 0.0, top);
        for (k, &(low, high, top)) in profile.iter().enumerate() {
            match k {
                0 => edges.push(outside(low, top)),
                _ => edges.push((low, profile[k - 1].2, top)),
            }
            if k + 1 == profile.len() {
                edges.push((high, top, 0.0));
            }
        }
        for (y, one, other) in edges {
            let curves = offset_line(&self.part.path, stretch.from, stretch.to, y);
            let way: Vec<Point> = points(&curves, self.columns.step)
                .iter()
                .map(|&p| self.look.of(p))
                .collect();
            for z in [one, other] {
                self.level_line(&way, z);
            }
            let (low, high) = (one.min(other), one.max(other));
            for curve in &curves {
                if let Curve::Arc(centre, radius, from, turn) = *curve {
                    self.turning(centre, radius, (from, turn), (low, high));
                }
            }
        }
    }

    fn turning(&mut self, centre: Point, radius: f64, (from, turn): (f64, f64), z: (f64, f64)) {
        for quarter in -8..=8 {
            let angle = 0.5 * std::f64::consts::PI * f64::from(quarter);
            let way = self.look.of((angle.cos(), angle.sin()));
            if way.0.abs() < 0.5 || !super::shape::within(angle, from, turn) {
                continue;
            }
            let at = (
                centre.0 + radius * angle.cos(),
                centre.1 + radius * angle.sin(),
            );
            self.upright(self.look.of(at), z);
        }
    }

    fn level_line(&mut self, way: &[Point], z: f64) {
        for ends in way.windows(2) {
            let middle = (0.5 * (ends[0].0 + ends[1].0), 0.5 * (ends[0].1 + ends[1].1));
            if self.shows(middle, z) || self.shows_beside(middle, z) {
                let (a, b) = (ends[0].0.min(ends[1].0), ends[0].0.max(ends[1].0));
                self.seen.level.push((z, (a, b)));
            }
        }
    }

    fn upright(&mut self, at: Point, (low, high): (f64, f64)) {
        let steps = 24;
        let z = |k: i32| low + (high - low) * f64::from(k) / f64::from(steps);
        for k in 0..steps {
            if self.shows_beside(at, 0.5 * (z(k) + z(k + 1))) {
                self.seen.upright.push((at.0, (z(k), z(k + 1))));
            }
        }
    }

    /// Edges across the path where one section ends and the next begins, and at open ends.
    fn joints(&mut self, all: &[Stretch]) {
        let count = all.len();
        for k in 0..=count {
            let before = match k {
                0 if self.part.path.closed() => continue,
                0 => None,
                k => Some(&all[k - 1]),
            };
            let after = match k {
                k if k < count => Some(&all[k]),
                _ if self.part.path.closed() => Some(&all[0]),
                _ => None,
            };
            let station = match (before, after) {
                (Some(before), _) => before.to,
                (None, Some(after)) => after.from,
                (None, None) => continue,
            };
            self.joint(station, before, after);
        }
    }

    fn joint(&mut self, station: f64, before: Option<&Stretch>, after: Option<&Stretch>) {
        let top = |side: Option<&Stretch>, y: f64| side.map_or(0.0, |s| top_at(s.section, y));
        let mut breaks: Vec<f64> = [before, after]
            .into_iter()
            .flatten()
            .flat_map(|side| heights(side.section))
            .flat_map(|(low, high, _)| [low, high])
            .collect();
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        for ends in breaks.windows(2) {
            let middle = 0.5 * (ends[0] + ends[1]);
            let (one, other) = (top(before, middle), top(after, middle));
            if (one - other).abs() < 1e-9 {
                continue;
            }
            let line = Curve::Line(
                plan(&self.part.path, station, ends[0]),
                plan(&self.part.path, station, ends[1]),
            );
            let way: Vec<Point> = points(&[line], self.columns.step)
                .iter()
                .map(|&p| self.look.of(p))
                .collect();
            for z in [one, other] {
                self.level_line(&way, z);
            }
        }
        for &y in &breaks {
            let quarters = [
                top(before, y - 1e-6),
                top(before, y + 1e-6),
                top(after, y + 1e-6),
                top(after, y - 1e-6),
            ];
            let mut levels = vec![0.0];
            levels.extend(quarters);
            levels.sort_by(f64::total_cmp);
            let at = self.look.of(plan(&self.part.path, station, y));
            for z in levels.windows(2) {
                let full = quarters.map(|top| top > 0.5 * (z[0] + z[1]));
                let filled = full.iter().filter(|full| **full).count();
                let face = filled == 2 && full[0] != full[2];
                if z[1] > z[0] && filled != 0 && filled != 4 && !face {
                    self.upright(at, (z[0], z[1]));
                }
            }
        }
    }

    /// Rims of holes in walls and ribs on faces that look toward the eye.
    fn holes(&mut self, layout: &Layout) {
        for hole in &layout.holes {
            let row = &self.part.hole_rows[hole.row];
            if row.strip == StripName::Floor {
                continue;
            }
            let section = super::shape::section_at(layout, hole.station_mm);
            let Some(strip) = super::shape::strip(section, row.strip) else {
                continue;
            };
            let pose = self.part.path.pose(hole.station_mm);
            let (sin, cos) = pose.heading.sin_cos();
            let left = self.look.of((-sin, cos));
            // The face whose outward normal points at the eye; drilled faces only where the hole is blind.
            let drilled = match row.strip {
                StripName::InnerWall => strip.y_high,
                _ => strip.y_low,
            };
            let face = if left.1 < 0.0 {
                strip.y_high
            } else {
                strip.y_low
            };
            if left.1.abs() < 0.05 || (row.depth != Depth::Through && face != drilled) {
                continue;
            }
            let radius = 0.5 * row.diameter_mm;
            let centre = self.look.of(pose.left(face));
            let along = self.look.of((cos, sin));
            let mut rim: Vec<Point> = Vec::new();
            let mut whole = true;
            for k in 0..=48 {
                let (s, c) = (std::f64::consts::TAU * f64::from(k) / 48.0).sin_cos();
                let at = (
                    centre.0 + radius * c * along.0,
                    centre.1 + radius * c * along.1,
                );
                let z = hole.across_mm + radius * s;
                let shows = self.shows((at.0, at.1 - 0.2 * radius), z);
                whole = whole && shows;
                if shows {
                    rim.push((at.0, z));
                } else if rim.len() > 1 {
                    self.seen.rims.push(std::mem::take(&mut rim));
                } else {
                    rim.clear();
                }
            }
            if rim.len() > 1 {
                self.seen.rims.push(rim);
            }
            if whole {
                let half = (radius * along.0.abs(), radius);
                self.seen.centres.push(((centre.0, hole.across_mm), half));
            }
        }
    }
}

/// Lines at one place that touch or overlap, joined.
fn merged(lines: &[(f64, (f64, f64))], gap: f64) -> Vec<(f64, (f64, f64))> {
    let mut places: BTreeMap<i64, Vec<(f64, f64)>> = BTreeMap::new();
    for &(at, ends) in lines {
        places
            .entry((at * 1e4).round() as i64)
            .or_default()
            .push(ends);
    }
    let mut found = Vec::new();
    for (key, mut ends) in places {
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = key as f64 * 1e-4;
        let mut open: Option<(f64, f64)> = None;
        for (a, b) in ends {
            open = match open {
                Some((from, to)) if a <= to + gap => Some((from, to.max(b))),
                Some(done) => {
                    found.push((at, done));
                    Some((a, b))
                }
                None => Some((a, b)),
            };
        }
        found.extend(open.map(|done| (at, done)));
    }
    found.retain(|(_, (a, b))| b - a > 0.05);
    found
}
