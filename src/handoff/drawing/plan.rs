//! The main view: the frame along the tool axis, with centre lines and cutting planes.

use super::Facts;
use super::fits::Fits;
use super::ink::{Anchor, Board, Curve, Pen, Point, words_room, words_width};
use super::shape::{
    Stretch, bends, bounds, circle, heights, offset_line, plan, stretches, strip, top_at,
};
use super::side::Look;
use crate::drawing::Cut;
use crate::drawing::lettering::Weight;
use crate::part::{Part, StripName};

/// The plan on paper: y down, one mm of the frame `scale` mm long.
pub(crate) struct Plan<'a> {
    pub(crate) facts: &'a Facts<'a>,
    pub(crate) fits: &'a Fits<'a>,
    pub(crate) scale: f64,
    pub(crate) board: Board,
    /// Letters of cutting planes, which are written when the sizes have their places: where, outward, way of view.
    pub(crate) letters: Vec<(Point, Point, Point, char)>,
}

impl Plan<'_> {
    pub(crate) fn at(&self, (x, y): Point) -> Point {
        (x * self.scale, -y * self.scale)
    }

    pub(crate) fn on(&self, station: f64, offset: f64) -> Point {
        self.at(plan(&self.facts.part.path, station, offset))
    }

    fn curve(&self, curve: Curve) -> Curve {
        match curve {
            Curve::Line(a, b) => Curve::Line(self.at(a), self.at(b)),
            Curve::Arc(centre, radius, from, turn) => {
                Curve::Arc(self.at(centre), radius * self.scale, -from, -turn)
            }
        }
    }

    fn along(&self, from: f64, to: f64, offset: f64) -> Vec<Curve> {
        let curves = offset_line(&self.facts.part.path, from, to, offset);
        curves.into_iter().map(|curve| self.curve(curve)).collect()
    }

    /// Edges of everything that is seen from above.
    pub(crate) fn edges(&mut self) {
        let all = stretches(self.facts.layout);
        for stretch in &all {
            let profile = heights(stretch.section);
            let mut edges: Vec<f64> = profile.iter().flat_map(|span| [span.0, span.1]).collect();
            edges.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
            for y in edges {
                let (below, above) = (
                    top_at(stretch.section, y - 1e-6),
                    top_at(stretch.section, y + 1e-6),
                );
                if (below - above).abs() > 1e-9 {
                    for (from, to) in beside_bores(self.facts.part, stretch, y) {
                        let curves = self.along(from, to, y);
                        self.board.stroke(Pen::Edge, curves);
                    }
                }
            }
        }
        let closed = self.facts.part.path.closed();
        let count = all.len();
        if closed && count < 2 {
            return;
        }
        for k in 0..=count {
            let (before, after) = match (k, closed) {
                (0, true) => continue,
                (0, false) => (None, Some(&all[0])),
                (k, _) if k < count => (Some(&all[k - 1]), Some(&all[k])),
                (k, true) => (Some(&all[k - 1]), Some(&all[0])),
                (k, false) => (Some(&all[k - 1]), None),
            };
            self.joint(before, after);
        }
    }

    fn joint(&mut self, before: Option<&Stretch>, after: Option<&Stretch>) {
        let Some(station) = before.map(|s| s.to).or(after.map(|s| s.from)) else {
            return;
        };
        let mut breaks: Vec<f64> = [before, after]
            .into_iter()
            .flatten()
            .flat_map(|side| heights(side.section))
            .flat_map(|span| [span.0, span.1])
            .collect();
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        for ends in breaks.windows(2) {
            let middle = 0.5 * (ends[0] + ends[1]);
            let top = |side: Option<&Stretch>| side.map_or(0.0, |s| top_at(s.section, middle));
            if (top(before) - top(after)).abs() > 1e-9 {
                let (from, to) = (self.on(station, ends[0]), self.on(station, ends[1]));
                self.board.line(Pen::Edge, from, to);
            }
        }
    }

    /// Holes with their centre marks: circles in the floor and the bosses, centre lines across walls and ribs.
    pub(crate) fn holes(&mut self) {
        let (part, layout) = (self.facts.part, self.facts.layout);
        for hole in &layout.holes {
            let row = &part.hole_rows[hole.row];
            if row.strip == StripName::Floor {
                self.hole(hole.station_mm, hole.across_mm, row.diameter_mm, None);
            } else if let Some(strip) = strip(&part.section, row.strip) {
                let over = 1.2 / self.scale;
                let from = self.on(hole.station_mm, strip.y_low - over);
                let to = self.on(hole.station_mm, strip.y_high + over);
                self.board.line(Pen::Narrow, from, to);
            }
        }
        for boss in &part.bosses {
            if let Some(bore) = boss.bore {
                let wide = bore.counterbore.map(|wide| wide.diameter_mm);
                self.hole(boss.station_mm, 0.0, bore.diameter_mm, wide);
            }
        }
    }

    fn hole(&mut self, station: f64, offset: f64, diameter: f64, wide: Option<f64>) {
        let centre = self.on(station, offset);
        for size in [Some(diameter), wide].into_iter().flatten() {
            self.board
                .circle(Pen::Edge, centre, 0.5 * size * self.scale);
        }
        let heading = self.facts.part.path.pose(station).heading;
        let reach = 0.5 * wide.unwrap_or(diameter) * self.scale + 1.2;
        for angle in [heading, heading + 0.5 * std::f64::consts::PI] {
            let (sin, cos) = angle.sin_cos();
            let off = (reach * cos, -reach * sin);
            let from = (centre.0 - off.0, centre.1 - off.1);
            let to = (centre.0 + off.0, centre.1 + off.1);
            self.board.line(Pen::Narrow, from, to);
        }
    }

    /// Centre lines: of a closed frame, of arcs of an open one, of the path.
    pub(crate) fn centre_lines(&mut self) {
        let (part, layout) = (self.facts.part, self.facts.layout);
        let length = part.path.length_mm();
        let curves = self.along(0.0, length, 0.0);
        self.board.stroke(Pen::Centre, curves);
        // Circles on which holes lie.
        if let Some((centre, _)) = circle(&part.path) {
            for radius in hole_circles(self.facts) {
                let centre = self.at(centre);
                self.board.circle(Pen::Centre, centre, radius * self.scale);
            }
        }
        if part.path.closed() {
            let (low, high) = bounds(part, layout);
            let (a, b) = (self.at((low.0, high.1)), self.at((high.0, low.1)));
            let middle = (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1));
            let over = 3.0;
            self.board
                .line(Pen::Centre, (a.0 - over, middle.1), (b.0 + over, middle.1));
            self.board
                .line(Pen::Centre, (middle.0, a.1 - over), (middle.0, b.1 + over));
            return;
        }
        for bend in bends(&part.path) {
            let (x, y) = self.at(bend.centre);
            self.board.line(Pen::Narrow, (x - 3.0, y), (x + 3.0, y));
            self.board.line(Pen::Narrow, (x, y - 3.0), (x, y + 3.0));
        }
    }

    /// The plane of a full section, through the whole view.
    pub(crate) fn plane(&mut self, look: Look, depth: f64, letter: char) {
        let (low, high) = bounds(self.facts.part, self.facts.layout);
        let (a, b) = (self.at((low.0, high.1)), self.at((high.0, low.1)));
        let (from, to, way) = match look {
            Look::Below => {
                let y = -depth * self.scale;
                ((a.0 - 5.0, y), (b.0 + 5.0, y), (0.0, -1.0))
            }
            Look::Right => {
                let x = -depth * self.scale;
                ((x, b.1 + 5.0), (x, a.1 - 5.0), (-1.0, 0.0))
            }
        };
        let long = (to.0 - from.0).hypot(to.1 - from.1).max(1e-9);
        let u = ((to.0 - from.0) / long, (to.1 - from.1) / long);
        for (end, sign) in [(from, 1.0), (to, -1.0)] {
            let inner = (end.0 + 4.0 * sign * u.0, end.1 + 4.0 * sign * u.1);
            self.cut_end(end, inner, way, (-sign * u.0, -sign * u.1), letter);
        }
    }

    /// Where a section across the frame is taken.
    pub(crate) fn cut(&mut self, cut: &Cut, station: f64) {
        let heading = self.facts.part.path.pose(station).heading;
        // Seen against the direction of travel; paper's y points down.
        let way = (-heading.cos(), heading.sin());
        for side in [-1.0, 1.0] {
            let at = |gap: f64| {
                self.on(
                    station,
                    side * (0.5 * cut.section.width_mm + gap / self.scale),
                )
            };
            let (inner, end) = (at(1.5), at(6.0));
            let out = ((end.0 - inner.0) / 4.5, (end.1 - inner.1) / 4.5);
            self.cut_end(end, inner, way, out, cut.letter);
        }
    }

    fn cut_end(&mut self, end: Point, inner: Point, way: Point, out: Point, letter: char) {
        self.board.line(Pen::Plane, inner, end);
        let tip = (end.0 - 0.3 * out.0, end.1 - 0.3 * out.1);
        let tail = (tip.0 - 6.0 * way.0, tip.1 - 6.0 * way.1);
        self.board.line(Pen::Narrow, tail, tip);
        self.board.head(tip, way);
        self.letters.push((tail, out, way, letter));
    }

    /// The letters of the cutting planes.
    pub(crate) fn letters(&mut self) {
        for (tail, out, way, letter) in std::mem::take(&mut self.letters) {
            self.letter(tail, out, way, letter);
        }
    }

    fn letter(&mut self, tail: Point, out: Point, way: Point, letter: char) {
        let size = 4.4;
        let words = letter.to_string();
        let wide = words_width(size, Weight::Regular, &words);
        for step in 0..60 {
            // Beside the arrow's tail, then farther away.
            let ring = 3.4 + 1.1 * f64::from(step / 6);
            let angle = [0.0, 0.7, -0.7, 1.4, -1.4, 2.1][step as usize % 6];
            let (sin, cos) = f64::sin_cos(angle);
            let turned = (out.0 * cos - out.1 * sin, out.0 * sin + out.1 * cos);
            let middle = (
                tail.0 + ring * turned.0 + 1.2 * way.0,
                tail.1 + ring * turned.1 + 1.2 * way.1,
            );
            let at = (middle.0 - 0.5 * wide, middle.1 + 0.27 * size);
            if self.board.free(&words_room(at, (1.0, 0.0), size, wide)) {
                self.board
                    .words(at, (1.0, 0.0), Anchor::Start, size, Weight::Regular, &words);
                return;
            }
        }
        self.board.lost.push(words);
    }
}

/// What is left of an edge along a stretch, between stations, where bores take metal away from both its sides.
fn beside_bores(part: &Part, stretch: &Stretch, y: f64) -> Vec<(f64, f64)> {
    let mut left = vec![(stretch.from, stretch.to)];
    for boss in &part.bosses {
        let Some(bore) = boss.bore else { continue };
        let radius = 0.5
            * bore
                .counterbore
                .map_or(bore.diameter_mm, |wide| wide.diameter_mm);
        let curvature = part.path.curvature(boss.station_mm);
        // Where the edge, a line or a circle, meets the bore's.
        let chord = y + 0.5 * curvature * (radius * radius - y * y);
        if chord.abs() >= radius {
            continue;
        }
        let half = (radius * radius - chord * chord).sqrt();
        let reach = match curvature == 0.0 {
            true => half,
            false => (half / (1.0 / curvature - y).abs()).min(1.0).asin() / curvature.abs(),
        };
        let length = part.path.length_mm();
        for lap in [-length, 0.0, length] {
            let middle = boss.station_mm + lap;
            let cut = |(from, to): (f64, f64)| match middle - reach < to && middle + reach > from {
                true => vec![(from, middle - reach), (middle + reach, to)],
                false => vec![(from, to)],
            };
            left = left
                .into_iter()
                .flat_map(cut)
                .filter(|(from, to)| to > from)
                .collect();
        }
    }
    left
}

/// Radii on which the floor holes of a round frame lie.
pub(crate) fn hole_circles(facts: &Facts) -> Vec<f64> {
    let Some((_, radius)) = circle(&facts.part.path) else {
        return Vec::new();
    };
    let mut found: Vec<f64> = Vec::new();
    for hole in &facts.layout.holes {
        let own = radius - hole.across_mm;
        let floor = facts.part.hole_rows[hole.row].strip == StripName::Floor;
        if floor && !found.iter().any(|other| (other - own).abs() < 1e-6) {
            found.push(own);
        }
    }
    found
}
