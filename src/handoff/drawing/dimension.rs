//! Dimensions (ISO 129-1): every one looks for a place where its words are free and its lines cross as little as may be.

use super::ink::{Anchor, Board, CLEAR, Curve, HEAD, LETTERS, Pen, Point, words_room, words_width};
use super::room::{Room, dot};
use crate::drawing::lettering::Weight;

/// From the part to the first dimension line, and from one to the next, in mm.
const FIRST: f64 = 8.0;
const NEXT: f64 = 7.0;
/// From a dimension line to the base line of its words.
const LIFT: f64 = 1.05;
/// Extension lines start so far from the edge, and go so far beyond the dimension line.
const GAP: f64 = 0.8;
const BEYOND: f64 = 1.5;
/// Places tried away from the part.
const LEVELS: usize = 15;
/// Lines that run along a dimension line keep so far off.
const ALONG: f64 = 5.0;

/// A length between two points.
#[derive(Clone, Copy)]
pub(crate) struct Linear<'a> {
    pub(crate) from: Point,
    pub(crate) to: Point,
    /// Unit vector along which it is measured.
    pub(crate) along: Point,
    /// Unit vector across, toward which the dimension line stands off.
    pub(crate) away: Point,
    /// The part reaches so far along `away`; the dimension line stands beyond.
    pub(crate) reach: f64,
    pub(crate) words: &'a str,
    /// Toward which end words go that find no room between: -1 where it is measured from, 1 the other; 0: any.
    pub(crate) lean: f64,
}

/// A way to draw a dimension.
struct Proposal {
    lines: Vec<(Point, Point)>,
    heads: Vec<(Point, Point)>,
    at: Point,
    along: Point,
    room: Room,
    cost: f64,
}

/// A base line that is read from below or from the right (ISO 129-1).
fn readable(along: Point) -> Point {
    match along.0 < -1e-6 || (along.0.abs() <= 1e-6 && along.1 > 0.0) {
        true => (-along.0, -along.1),
        false => along,
    }
}

fn step(p: Point, way: Point, by: f64) -> Point {
    (p.0 + by * way.0, p.1 + by * way.1)
}

impl Linear<'_> {
    /// Draws it, on the other side of the part where there is no room on its own.
    pub(crate) fn draw(&self, board: &mut Board) {
        if !self.drawn(board) && !self.drawn_across(board) {
            board.lost.push(self.words.into());
        }
    }

    /// Whether it found a place on the other side of everything, and was drawn.
    pub(crate) fn drawn_across(&self, board: &mut Board) -> bool {
        let (low, high) = board.extent();
        let away = (-self.away.0, -self.away.1);
        let reach = [low, high].map(|corner| dot(corner, away));
        let other = Linear {
            away,
            reach: reach[0].max(reach[1]),
            ..*self
        };
        other.drawn(board)
    }

    /// Whether it found a place on its own side, and was drawn.
    pub(crate) fn drawn(&self, board: &mut Board) -> bool {
        let (u, n) = (self.along, self.away);
        let (mut from, mut to) = (self.from, self.to);
        if dot(to, u) < dot(from, u) {
            std::mem::swap(&mut from, &mut to);
        }
        let gap = dot(to, u) - dot(from, u);
        let wide = words_width(LETTERS, Weight::Regular, self.words);
        let mut best: Option<Proposal> = None;
        for level in 0..LEVELS {
            let line = self.reach + FIRST + NEXT * level as f64;
            let foot = |p: Point| step(p, n, line - dot(p, n));
            let (a, b) = (foot(from), foot(to));
            let inside = gap >= 2.0 * HEAD + 1.4;
            let fits = inside && gap >= wide + 1.2;
            let tries: &[f64] = if fits { &[0.0] } else { &[1.0, -1.0] };
            for &side in tries {
                let mut found = self.proposal((a, b), (from, to), gap, wide, inside, side);
                found.cost += 7.0 * level as f64;
                if best.as_ref().is_some_and(|best| best.cost <= found.cost) {
                    continue;
                }
                let free =
                    board.free(&found.room) && found.lines.iter().all(|&(p, q)| board.clear(p, q));
                if !free {
                    continue;
                }
                let crossed = |&(p, q): &(Point, Point)| board.crossings(p, q, 0.6) as f64;
                let (p, q) = found.lines[0];
                found.cost += 16.0 * board.crossings(p, q, ALONG) as f64
                    + 1.5 * found.lines[1..].iter().map(crossed).sum::<f64>();
                if best.as_ref().is_none_or(|best| found.cost < best.cost) {
                    best = Some(found);
                }
            }
            if best
                .as_ref()
                .is_some_and(|best| best.cost <= 7.0 * (level + 1) as f64)
            {
                break;
            }
        }
        if let Some(found) = &best {
            found.draw(board, self.words);
        }
        best.is_some()
    }

    fn proposal(
        &self,
        (a, b): (Point, Point),
        (from, to): (Point, Point),
        gap: f64,
        wide: f64,
        inside: bool,
        side: f64,
    ) -> Proposal {
        let (u, n) = (self.along, self.away);
        let base = readable(u);
        let same = dot(base, u);
        // Above the line, as the words are read.
        let up = (base.1, -base.0);
        let out = |by: f64| match side > 0.0 {
            true => step(b, u, by),
            false => step(a, u, -by),
        };
        let (line, middle) = if side == 0.0 {
            ((a, b), step(a, u, 0.5 * gap))
        } else {
            let lead = if inside { 1.2 } else { HEAD + 1.6 };
            let end = out(lead + wide + 0.4);
            let other = match (inside, side > 0.0) {
                (true, true) => a,
                (true, false) => b,
                (false, true) => step(a, u, -HEAD - 2.0),
                (false, false) => step(b, u, HEAD + 2.0),
            };
            ((other, end), out(lead + 0.2 + 0.5 * wide))
        };
        let start = step(step(middle, base, -0.5 * wide), up, LIFT);
        let mut lines = vec![line];
        for (p, q) in [(from, a), (to, b)] {
            let far = dot((q.0 - p.0, q.1 - p.1), n);
            if far > GAP {
                lines.push((step(p, n, GAP), step(q, n, BEYOND)));
            }
        }
        let heads = match inside {
            true => vec![(a, (-u.0, -u.1)), (b, u)],
            false => vec![(a, u), (b, (-u.0, -u.1))],
        };
        let outside = if side == 0.0 { 0.0 } else { 2.0 };
        Proposal {
            lines,
            heads,
            at: start,
            along: base,
            room: words_room(start, base, LETTERS, wide),
            // To the right rather than to the left.
            cost: outside
                + if side * same < 0.0 { 0.5 } else { 0.0 }
                + if side * self.lean < 0.0 { 6.0 } else { 0.0 },
        }
    }
}

impl Proposal {
    fn draw(&self, board: &mut Board, words: &str) {
        for &(from, to) in &self.lines {
            board.line(Pen::Narrow, from, to);
        }
        for &(tip, way) in &self.heads {
            board.head(tip, way);
        }
        board.words(
            self.at,
            self.along,
            Anchor::Start,
            LETTERS,
            Weight::Regular,
            words,
        );
    }
}

/// Words on a leader that ends with an arrow at one of `tips` (point, unit vector away from it): the first line of the
/// words above a level line, the others below it. Whether room was found.
pub(crate) fn leader(board: &mut Board, tips: &[(Point, Point)], words: &[String]) -> bool {
    let widths = words
        .iter()
        .map(|line| words_width(LETTERS, Weight::Regular, line));
    let wide = widths.fold(0.0, f64::max);
    let below = words.len().saturating_sub(1) as f64;
    let mut best: Option<(f64, Point, Point, Point, f64)> = None;
    for (index, &(tip, way)) in tips.iter().enumerate() {
        for length in [
            5.0, 7.0, 9.0, 12.0, 15.0, 19.0, 24.0, 30.0, 37.0, 45.0, 55.0, 66.0, 80.0,
        ] {
            let cost = length + 0.3 * index as f64;
            if best.as_ref().is_some_and(|best| best.0 <= cost) {
                break;
            }
            let knee = step(tip, way, length);
            let sides: &[f64] = match way.0 {
                x if x > 0.25 => &[1.0],
                x if x < -0.25 => &[-1.0],
                _ => &[1.0, -1.0],
            };
            for &side in sides {
                let end = (knee.0 + side * (wide + 1.6), knee.1);
                let left = knee.0.min(end.0) + 0.8;
                let room = Room::upright(
                    (left, knee.1 - LIFT - 0.76 * LETTERS),
                    (
                        left + wide,
                        knee.1 + below * 1.35 * LETTERS + if below > 0.0 { 0.8 } else { -0.4 },
                    ),
                );
                let free = board.free(&room) && board.clear(tip, knee) && board.clear(knee, end);
                if !free {
                    continue;
                }
                let start = step(tip, way, 0.4);
                let cost = cost
                    + 5.0 * board.crossings(start, knee, 0.6) as f64
                    + 12.0 * board.crossings(knee, end, 1.5) as f64;
                if best.as_ref().is_none_or(|best| cost < best.0) {
                    best = Some((cost, tip, knee, end, left));
                }
            }
        }
    }
    let Some((_, tip, knee, end, left)) = best else {
        board.lost.extend(words.first().cloned());
        return false;
    };
    board.chain(Pen::Narrow, &[tip, knee, end]);
    let length = (tip.0 - knee.0).hypot(tip.1 - knee.1).max(1e-9);
    board.head(tip, ((tip.0 - knee.0) / length, (tip.1 - knee.1) / length));
    for (index, line) in words.iter().enumerate() {
        let y = match index {
            0 => knee.1 - LIFT,
            _ => knee.1 + (1.35 * index as f64 - 0.3) * LETTERS + 0.5,
        };
        board.text((left, y), Anchor::Start, LETTERS, line);
    }
    true
}

/// Unit vectors of leaders that look well, those nearest to `way` first.
pub(crate) fn slants(way: Point) -> Vec<Point> {
    let mut all: Vec<Point> = [30.0, 45.0, 60.0, 75.0, 20.0]
        .iter()
        .flat_map(|&angle: &f64| {
            let (sin, cos) = angle.to_radians().sin_cos();
            [(cos, -sin), (-cos, -sin), (cos, sin), (-cos, sin)]
        })
        .collect();
    all.sort_by(|a, b| dot(*b, way).total_cmp(&dot(*a, way)));
    all
}

/// An angle between two directions from `centre`, its line outside of `reach`; directions in rad on paper (y down),
/// from the first on by `turn` (positive: clockwise on paper).
pub(crate) struct Angular<'a> {
    pub(crate) centre: Point,
    pub(crate) from: f64,
    pub(crate) turn: f64,
    /// Extension lines start at this radius; where it is none, they are there already.
    pub(crate) feet: Option<f64>,
    pub(crate) reach: f64,
    pub(crate) words: &'a str,
}

impl Angular<'_> {
    pub(crate) fn draw(&self, board: &mut Board) {
        if !self.drawn(board) {
            board.lost.push(self.words.into());
        }
    }

    /// Whether it found a place, and was drawn.
    pub(crate) fn drawn(&self, board: &mut Board) -> bool {
        let wide = words_width(LETTERS, Weight::Regular, self.words);
        let tall = 0.76 * LETTERS;
        let mut best: Option<(f64, f64, f64)> = None;
        for level in 0..LEVELS {
            let radius = self.reach + 6.0 + NEXT * level as f64;
            for (index, share) in [0.5, 0.3, 0.7, 1.0, 0.0].into_iter().enumerate() {
                let room = self.room(radius, share, wide, tall);
                let rays = self.rays(radius);
                let arc = self.arc(radius);
                let cost = 7.0 * level as f64 + 0.8 * index as f64;
                if best.is_some_and(|best| best.0 <= cost) {
                    continue;
                }
                let pieces: Vec<(Point, Point)> = (0..12)
                    .map(|k| (arc.at(f64::from(k) / 12.0), arc.at(f64::from(k + 1) / 12.0)))
                    .collect();
                let free = board.free(&room)
                    && pieces.iter().chain(&rays).all(|&(p, q)| board.clear(p, q))
                    && !rays.iter().any(|&(p, q)| room.grown(CLEAR).crossed(p, q));
                if !free {
                    continue;
                }
                let crossed = |&(p, q): &(Point, Point)| board.crossings(p, q, 0.6) as f64;
                let cost = cost
                    + 2.0 * pieces.iter().map(crossed).sum::<f64>()
                    + 1.5 * rays.iter().map(crossed).sum::<f64>();
                if best.is_none_or(|best| cost < best.0) {
                    best = Some((cost, radius, share));
                }
            }
        }
        let Some((_, radius, share)) = best else {
            return false;
        };
        for (from, to) in self.rays(radius) {
            board.line(Pen::Narrow, from, to);
        }
        let arc = self.arc(radius);
        board.stroke(Pen::Narrow, vec![arc]);
        let inside = radius * self.turn.abs() > 2.0 * HEAD + 1.4;
        for (share, sign) in [(0.0, -1.0), (1.0, 1.0)] {
            let angle = self.from + share * self.turn;
            let sign = if inside { sign } else { -sign } * self.turn.signum();
            board.head(
                self.at(radius, angle),
                (-angle.sin() * sign, angle.cos() * sign),
            );
        }
        let room = self.room(radius, share, wide, tall);
        let at = (room.middle.0, room.middle.1 + 0.5 * tall);
        board.text(at, Anchor::Middle, LETTERS, self.words);
        true
    }

    fn at(&self, radius: f64, angle: f64) -> Point {
        let (sin, cos) = angle.sin_cos();
        (self.centre.0 + radius * cos, self.centre.1 + radius * sin)
    }

    fn rays(&self, radius: f64) -> Vec<(Point, Point)> {
        let Some(feet) = self.feet else {
            return Vec::new();
        };
        let ray = |angle: f64| (self.at(feet + GAP, angle), self.at(radius + BEYOND, angle));
        vec![ray(self.from), ray(self.from + self.turn)]
    }

    /// The dimension line; where the angle is small it goes on beyond both sides.
    fn arc(&self, radius: f64) -> Curve {
        let inside = radius * self.turn.abs() > 2.0 * HEAD + 1.4;
        let more = if inside { 0.0 } else { (HEAD + 2.0) / radius } * self.turn.signum();
        Curve::Arc(
            self.centre,
            radius,
            self.from - more,
            self.turn + 2.0 * more,
        )
    }

    /// Level words outside of the line, or beyond its ends.
    fn room(&self, radius: f64, share: f64, wide: f64, tall: f64) -> Room {
        let beyond = match share {
            0.0 => -0.5 * wide - 3.0 - HEAD,
            1.0 => 0.5 * wide + 3.0 + HEAD,
            _ => 0.0,
        } / radius
            * self.turn.signum();
        let angle = self.from + share * self.turn + beyond;
        let (sin, cos) = angle.sin_cos();
        let off = 0.5 * (wide * cos.abs() + tall * sin.abs()) + 1.0;
        let middle = self.at(radius + off, angle);
        Room {
            middle,
            half: (0.5 * wide, 0.5 * tall),
            along: (1.0, 0.0),
        }
    }
}
