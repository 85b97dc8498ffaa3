//! Sizes on the main view: the shape of the path, bosses, pitch circles and angles.

use super::dimension::{Angular, Linear, leader};
use super::ink::Point;
use super::plan::{Plan, hole_circles};
use super::shape::{Bend, bends, bounds, circle, heights};
use crate::drawing::text::decimals;
use crate::part::{Piece, StripName};

impl Plan<'_> {
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
        // On a straight length the figure holds for all of them, on an arc only for those of its radius.
        let bent = |station: f64| self.facts.part.path.curvature(station) != 0.0;
        order.sort_by(|a, b| bent(*a).cmp(&bent(*b)).then(far(*b).total_cmp(&far(*a))));
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
}
