//! The main view: the frame along the tool axis, with centre lines, sizes, cutting planes and hole call-outs.

use super::Facts;
use super::detail::Kind;
use super::dimension::{Angular, Linear, leader, slants};
use super::fits::Fits;
use super::ink::{Anchor, Board, Curve, LETTERS, Pen, Point, SMALL, words_room, words_width};
use super::shape::{
    Bend, Stretch, bends, bounds, circle, heights, offset_line, plan, stretches, strip, top_at,
};
use super::side::Look;
use crate::drawing::Cut;
use crate::drawing::lettering::Weight;
use crate::drawing::text::decimals;
use crate::handoff::HoleRecord;
use crate::part::{Part, Piece, StripName};

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
    fn at(&self, (x, y): Point) -> Point {
        (x * self.scale, -y * self.scale)
    }

    fn on(&self, station: f64, offset: f64) -> Point {
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
                    let curves = self.along(stretch.from, stretch.to, y);
                    self.board.stroke(Pen::Edge, curves);
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
    pub(crate) fn cut(&mut self, cut: &Cut) {
        let heading = self.facts.part.path.pose(cut.station_mm).heading;
        // Seen against the direction of travel; paper's y points down.
        let way = (-heading.cos(), heading.sin());
        for side in [-1.0, 1.0] {
            let at = |gap: f64| {
                self.on(
                    cut.station_mm,
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

    /// Sizes of the frame's shape.
    pub(crate) fn sizes(&mut self) {
        let (part, layout) = (self.facts.part, self.facts.layout);
        let (low, high) = bounds(part, layout);
        let (a, b) = (self.at((low.0, high.1)), self.at((high.0, low.1)));
        let bends = bends(&part.path);
        let round = circle(&part.path);
        let sign = if round.is_some() { "⌀" } else { "" };
        let middle = (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1));
        // Extension lines of a round frame start at its sides.
        let foot = if round.is_some() {
            (middle.1, middle.0)
        } else {
            (b.1, b.0)
        };
        if round.is_none() {
            self.pieces();
            self.turns(&bends);
            self.radii(&bends);
        }
        self.hole_circles();
        let words = format!("{sign}{}", decimals(high.0 - low.0, 2));
        Linear {
            from: (a.0, foot.0),
            to: (b.0, foot.0),
            along: (1.0, 0.0),
            away: (0.0, 1.0),
            reach: b.1,
            words: &words,
            lean: 0.0,
        }
        .draw(&mut self.board);
        // The width of a straight frame is in its section.
        let straight = bends.is_empty() && part.path.pieces().len() == 1;
        if round.is_none() && !straight {
            let words = decimals(high.1 - low.1, 2);
            Linear {
                from: (foot.1, a.1),
                to: (foot.1, b.1),
                along: (0.0, 1.0),
                away: (1.0, 0.0),
                reach: b.0,
                words: &words,
                lean: 0.0,
            }
            .draw(&mut self.board);
        }
    }

    /// Straight pieces of an open or free chain, each along itself on the outer side.
    fn pieces(&mut self) {
        let path = &self.facts.part.path;
        let symmetric = path.closed();
        let mut at = 0.0;
        for piece in path.pieces() {
            let length = piece.length_mm();
            if let Piece::Line { length_mm } = *piece
                && !symmetric
                && path.pieces().len() > 1
            {
                let half = 0.5 * self.facts.part.section.width_mm;
                let (from, to) = (self.on(at, -half), self.on(at + length, -half));
                let long = (to.0 - from.0).hypot(to.1 - from.1).max(1e-9);
                let along = ((to.0 - from.0) / long, (to.1 - from.1) / long);
                // To the right of travel: y points down.
                let away = (-along.1, along.0);
                let reach = from.0 * away.0 + from.1 * away.1;
                let words = decimals(length_mm, 3);
                Linear {
                    from,
                    to,
                    along,
                    away,
                    reach,
                    words: &words,
                    lean: 0.0,
                }
                .draw(&mut self.board);
            }
            at += length;
        }
    }

    /// Angles of bends that are no right angle nor a multiple of one.
    fn turns(&mut self, bends: &[Bend]) {
        let half = 0.5 * self.facts.part.section.width_mm;
        for bend in bends {
            let turn = -bend.curvature * (bend.to - bend.from);
            let right = turn / (0.5 * std::f64::consts::PI);
            if (right - right.round()).abs() < 1e-9 {
                continue;
            }
            let centre = self.at(bend.centre);
            let start = self.on(bend.from, -half * bend.curvature.signum());
            let radius = (bend.radius + half) * self.scale;
            let words = format!("{}°", decimals(turn.abs().to_degrees(), 3));
            Angular {
                centre,
                from: (start.1 - centre.1).atan2(start.0 - centre.0),
                turn,
                feet: Some(radius),
                reach: radius,
                words: &words,
            }
            .draw(&mut self.board);
        }
    }

    /// Radii of the outer edges of arcs, each size once.
    fn radii(&mut self, bends: &[Bend]) {
        let half = 0.5 * self.facts.part.section.width_mm;
        let mut known: Vec<f64> = Vec::new();
        for bend in bends {
            let radius = bend.radius + half;
            if known.iter().any(|other| (other - radius).abs() < 1e-6) {
                continue;
            }
            known.push(radius);
            let outer = -half * bend.curvature.signum();
            let centre = self.at(bend.centre);
            let tips: Vec<(Point, Point)> = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8]
                .into_iter()
                .map(|share| {
                    let tip = self.on(bend.from + share * (bend.to - bend.from), outer);
                    let long = (tip.0 - centre.0).hypot(tip.1 - centre.1).max(1e-9);
                    (tip, ((tip.0 - centre.0) / long, (tip.1 - centre.1) / long))
                })
                .collect();
            let same = bends
                .iter()
                .filter(|b| (b.radius - bend.radius).abs() < 1e-6)
                .count();
            let count = if same > 1 {
                format!("{same}× ")
            } else {
                String::new()
            };
            let words = format!("{count}R{}", decimals(radius, 3));
            leader(&mut self.board, &tips, &[words]);
        }
    }

    /// Circles on which the holes of a round frame lie, called out with their diameters.
    fn hole_circles(&mut self) {
        let part = self.facts.part;
        let Some((centre, radius)) = circle(&part.path) else {
            return;
        };
        let mut all = hole_circles(self.facts);
        if part.bosses.iter().any(|boss| boss.bore.is_some()) {
            all.push(radius);
        }
        let centre = self.at(centre);
        for radius in all {
            let tips: Vec<(Point, Point)> = (0..72)
                .flat_map(|k| {
                    let (sin, cos) = (5.0 * f64::from(k) + 2.5).to_radians().sin_cos();
                    let reach = radius * self.scale;
                    let tip = (centre.0 + reach * cos, centre.1 + reach * sin);
                    [(tip, (-cos, -sin))]
                })
                .collect();
            leader(
                &mut self.board,
                &tips,
                &[format!("⌀{}", decimals(2.0 * radius, 3))],
            );
        }
    }

    /// Bosses: their length along the path, as an angle on an arc.
    pub(crate) fn bosses(&mut self) {
        let part = self.facts.part;
        for (index, boss) in part.bosses.iter().enumerate() {
            let alike = |other: &crate::part::Boss| {
                (other.length_mm - boss.length_mm).abs() < 1e-9 && other.section == boss.section
            };
            let same = |a: (f64, f64, f64), b: (f64, f64, f64)| {
                (a.0 - b.0).abs() + (a.1 - b.1).abs() + (a.2 - b.2).abs() < 1e-9
            };
            let (own, frame) = (heights(&boss.section), heights(&part.section));
            // A boss that is like the frame has no edges to measure to.
            let unseen =
                own.len() == frame.len() && own.iter().zip(&frame).all(|(a, b)| same(*a, *b));
            if unseen || part.bosses[..index].iter().any(alike) {
                continue;
            }
            let all: Vec<f64> = part
                .bosses
                .iter()
                .filter(|b| alike(b))
                .map(|b| b.station_mm)
                .collect();
            self.boss(&all, boss.length_mm, 0.5 * boss.section.width_mm);
            if boss.bore.is_none() {
                for station in all {
                    self.boss_place(station - 0.5 * boss.length_mm);
                }
            }
        }
    }

    /// Where a boss without a bore begins, from the start of an open path as far as that is straight.
    fn boss_place(&mut self, station: f64) {
        let path = &self.facts.part.path;
        let straight = [0.0, 0.5, 1.0]
            .iter()
            .all(|share| path.curvature(share * station) == 0.0);
        if path.closed() || !straight || station < 1e-6 {
            return;
        }
        let half = 0.5 * self.facts.part.section.width_mm;
        let (from, to) = (self.on(0.0, -half), self.on(station, -half));
        let long = (to.0 - from.0).hypot(to.1 - from.1).max(1e-9);
        let along = ((to.0 - from.0) / long, (to.1 - from.1) / long);
        let away = (-along.1, along.0);
        let reach = from.0 * away.0 + from.1 * away.1;
        Linear {
            from,
            to,
            along,
            away,
            reach,
            words: &decimals(station, 3),
            lean: -1.0,
        }
        .draw(&mut self.board);
    }

    /// One of equal bosses, wherever there is room.
    fn boss(&mut self, stations: &[f64], length: f64, half: f64) {
        let count = match stations.len() {
            1 => String::new(),
            count => format!("{count}× "),
        };
        // Away from the cutting planes first.
        let ends: Vec<Point> = self.letters.iter().map(|letter| letter.0).collect();
        let far = |station: f64| {
            let (x, y) = self.on(station, -half);
            let near = ends.iter().map(|end| (end.0 - x).hypot(end.1 - y));
            // In steps, so that equal places keep their order.
            near.fold(40.0, f64::min).round()
        };
        let mut order: Vec<f64> = stations.to_vec();
        order.sort_by(|a, b| far(*b).total_cmp(&far(*a)));
        let whole = self.facts.part.path.length_mm();
        let mut lost = String::new();
        for station in order {
            let path = &self.facts.part.path;
            let (from, to) = (station - 0.5 * length, station + 0.5 * length);
            let curvature = path.curvature(station);
            let even = [from + 1e-6, to - 1e-6]
                .iter()
                .all(|s| path.curvature(*s) == curvature);
            let outer = if curvature < 0.0 { half } else { -half };
            if curvature != 0.0 && even {
                let centre = self.at(path.pose(station).left(1.0 / curvature));
                let radius = (1.0 / curvature.abs() + half) * self.scale;
                let start = self.on(from, outer);
                let angle = (start.1 - centre.1).atan2(start.0 - centre.0);
                let turn = -curvature * length;
                let words = format!("{count}{}°", decimals(turn.abs().to_degrees(), 2));
                let angular = Angular {
                    centre,
                    from: angle,
                    turn,
                    feet: Some(radius),
                    reach: radius,
                    words: &words,
                };
                if angular.drawn(&mut self.board) {
                    return;
                }
                lost = words;
                continue;
            }
            let (from, to) = (self.on(from, outer), self.on(to, outer));
            let long = (to.0 - from.0).hypot(to.1 - from.1).max(1e-9);
            let along = ((to.0 - from.0) / long, (to.1 - from.1) / long);
            let away = (-along.1, along.0);
            let reach = from.0 * away.0 + from.1 * away.1;
            let words = format!("{count}{}", decimals(length, 3));
            // Words beside it stand toward the middle of the path, off the ends' extension lines.
            let lean = if station > 0.5 * whole { -1.0 } else { 1.0 };
            let linear = Linear {
                from,
                to,
                along,
                away,
                reach,
                words: &words,
                lean,
            };
            if linear.drawn(&mut self.board) || linear.drawn_across(&mut self.board) {
                return;
            }
            lost = words;
        }
        self.board.lost.push(lost);
    }

    /// The angle between neighbouring holes and from the axis to the first, on a round frame.
    pub(crate) fn pitch(&mut self) {
        let (part, layout) = (self.facts.part, self.facts.layout);
        let Some((centre, radius)) = circle(&part.path) else {
            return;
        };
        for (index, row) in part.hole_rows.iter().enumerate() {
            let own: Vec<_> = layout
                .holes
                .iter()
                .filter(|h| h.row == index && h.line == 0)
                .collect();
            let [first, second, ..] = own[..] else {
                continue;
            };
            let turn = -(second.station_mm - first.station_mm) / radius;
            let centre = self.at(centre);
            let start = self.on(first.station_mm, first.across_mm);
            let from = (start.1 - centre.1).atan2(start.0 - centre.0);
            let half = 0.5 * part.section.width_mm;
            let reach = (radius + half) * self.scale;
            let feet = match row.strip {
                StripName::Floor => radius - first.across_mm,
                _ => radius + half,
            } * self.scale;
            let words = format!("{}°", decimals(turn.abs().to_degrees(), 3));
            Angular {
                centre,
                from,
                turn,
                feet: Some(feet),
                reach,
                words: &words,
            }
            .draw(&mut self.board);
            // From the x axis to the first hole.
            let datum = -from.rem_euclid(std::f64::consts::TAU) + std::f64::consts::TAU;
            if datum > 1e-6 && datum < 1.0 {
                let words = format!("{}°", decimals(datum.to_degrees(), 3));
                Angular {
                    centre,
                    from: 0.0,
                    turn: -datum,
                    feet: None,
                    reach: reach + 6.0,
                    words: &words,
                }
                .draw(&mut self.board);
            }
        }
    }

    /// Every kind of hole called out once, at the hole that leaves most room.
    pub(crate) fn calls(&mut self, kinds: &[Kind]) {
        for kind in kinds {
            let words = kind.call(self.fits);
            let tips = match (kind.row(), kind.boss()) {
                (Some(row), _) => self.row_tips(row),
                (_, Some(boss)) => self.bore_tips(boss),
                _ => Vec::new(),
            };
            leader(&mut self.board, &tips, &words);
        }
    }

    fn row_tips(&self, index: usize) -> Vec<(Point, Point)> {
        let (part, layout) = (self.facts.part, self.facts.layout);
        let row = &part.hole_rows[index];
        let mut tips = Vec::new();
        for hole in layout.holes.iter().filter(|hole| hole.row == index) {
            let half = 0.5 * part.section.width_mm;
            let across = match (row.strip, strip(&part.section, row.strip)) {
                (StripName::Floor, _) | (_, None) => hole.across_mm,
                (StripName::InnerWall, Some(strip)) => strip.y_high,
                (_, Some(strip)) => strip.y_low,
            };
            let centre = self.on(hole.station_mm, across);
            let edge = self.on(hole.station_mm, if across > 0.0 { half } else { -half });
            let out = (edge.0 - centre.0, edge.1 - centre.1);
            let radius = match row.strip {
                StripName::Floor => 0.5 * row.diameter_mm * self.scale,
                _ => 0.0,
            };
            tips.extend(rim(centre, radius, out));
        }
        tips
    }

    fn bore_tips(&self, index: usize) -> Vec<(Point, Point)> {
        let part = self.facts.part;
        let first = &part.bosses[index];
        let alike = part
            .bosses
            .iter()
            .filter(|b| b.bore == first.bore && b.section == first.section);
        let mut tips = Vec::new();
        for boss in alike {
            let Some(bore) = boss.bore else { continue };
            let size = bore
                .counterbore
                .map_or(bore.diameter_mm, |wide| wide.diameter_mm);
            let centre = self.on(boss.station_mm, 0.0);
            let out = self.on(boss.station_mm, -1.0);
            tips.extend(rim(
                centre,
                0.5 * size * self.scale,
                (out.0 - centre.0, out.1 - centre.1),
            ));
        }
        tips
    }

    /// Numbers of holes as the table has them: first and last of every group, where there is room.
    pub(crate) fn numbers(&mut self) {
        let (holes, part) = (self.facts.holes, self.facts.part);
        let pitch = |hole: &HoleRecord| {
            let row = part
                .hole_rows
                .iter()
                .find(|row| format!("row {}", row.name) == hole.group);
            row.map_or(0.0, |row| 1.5 * row.pitch_mm)
        };
        let follows = |hole: &HoleRecord, way: f64| {
            let most = pitch(hole);
            holes.iter().any(|other| {
                let apart = way * (other.station_mm - hole.station_mm);
                other.group == hole.group && apart > 1e-6 && apart < most
            })
        };
        for hole in holes {
            if follows(hole, 1.0) && follows(hole, -1.0) {
                continue;
            }
            let centre = self.at((hole.at_mm[0], hole.at_mm[1]));
            let inward = part.path.pose(hole.station_mm).heading.to_degrees() + 90.0;
            let reach = 0.5 * hole.diameter_mm * self.scale;
            self.number(centre, reach, inward, &hole.number.to_string());
        }
    }

    fn number(&mut self, centre: Point, reach: f64, inward_deg: f64, words: &str) {
        let wide = words_width(SMALL, Weight::Regular, words);
        for gap in [1.2, 2.2, 3.4, 5.0] {
            for turn in 0..12 {
                let angle = 30.0 * f64::from(turn) + inward_deg;
                let (sin, cos) = angle.to_radians().sin_cos();
                let off = reach + gap + 0.5 * (wide * cos.abs() + 0.73 * SMALL * sin.abs());
                let middle = (centre.0 + off * cos, centre.1 - off * sin);
                let at = (middle.0 - 0.5 * wide, middle.1 + 0.36 * SMALL);
                if self.board.free(&words_room(at, (1.0, 0.0), SMALL, wide)) {
                    self.board.text(at, Anchor::Start, SMALL, words);
                    return;
                }
            }
        }
    }

    /// The point and axes from which the table measures.
    pub(crate) fn datum(&mut self) {
        let (x, y) = (0.0, 0.0);
        self.board.circle(Pen::Narrow, (x, y), 1.0);
        for (way, words) in [((1.0, 0.0), "X"), ((0.0, -1.0), "Y")] {
            let tip = (x + 9.0 * way.0, y + 9.0 * way.1);
            self.board.line(Pen::Narrow, (x, y), tip);
            self.board.head(tip, way);
            let wide = words_width(LETTERS, Weight::Regular, words);
            for (dx, dy) in [
                (2.0, -2.0),
                (2.0, 2.0),
                (-2.0, -2.0),
                (-2.0, 2.0),
                (3.0, 0.0),
                (-4.0, -3.0),
                (-4.0, 3.0),
                (4.0, -4.0),
                (4.0, 4.0),
                (0.0, -6.0),
                (0.0, 6.0),
                (-6.0, 0.0),
                (7.0, 5.0),
                (7.0, -5.0),
                (-7.0, 6.0),
                (-7.0, -6.0),
            ] {
                let middle = (tip.0 + dx, tip.1 + dy);
                let at = (middle.0 - 0.5 * wide, middle.1 + 0.36 * LETTERS);
                if self.board.free(&words_room(at, (1.0, 0.0), LETTERS, wide)) {
                    self.board.text(at, Anchor::Start, LETTERS, words);
                    break;
                }
            }
        }
    }
}

/// Points of a rim that a leader may touch, and its ways from there.
fn rim(centre: Point, radius: f64, out: Point) -> Vec<(Point, Point)> {
    slants(out)
        .into_iter()
        .map(|way| ((centre.0 + radius * way.0, centre.1 + radius * way.1), way))
        .collect()
}

/// Radii on which the floor holes of a round frame lie.
fn hole_circles(facts: &Facts) -> Vec<f64> {
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

/// Whether a part has any hole along the tool axis at all.
pub(crate) fn drilled(part: &Part) -> bool {
    !part.hole_rows.is_empty() || part.bosses.iter().any(|boss| boss.bore.is_some())
}
