//! Lines, letters and signs on paper, in mm: x to the right, y down.

use super::room::{Room, dot, lines_cross};
use super::sign;
use crate::drawing::lettering::{Weight, plain, width};

/// A point on paper in mm: x to the right, y **down**.
pub(crate) type Point = (f64, f64);

/// Kinds of lines (ISO 128-2): wide 0.5 mm, narrow 0.25 mm.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pen {
    /// Visible edges: continuous, wide.
    Edge,
    /// Dimension, extension and leader lines: continuous, narrow.
    Narrow,
    /// Lines of hatching: continuous, narrow.
    Hatch,
    /// Centre lines: long-dashed dotted, narrow.
    Centre,
    /// Ends of a cutting plane: continuous, wider than edges.
    Plane,
    /// Arrow heads and signs: filled.
    Fill,
    /// Frame of the sheet (ISO 5457: 0.7 mm).
    Frame,
}

/// A straight line or an arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Curve {
    Line(Point, Point),
    /// Centre, radius, angle of the start from the x axis (y down), and turn (positive: clockwise on paper), in rad.
    Arc(Point, f64, f64, f64),
}

impl Curve {
    pub(crate) fn start(&self) -> Point {
        self.at(0.0)
    }

    pub(crate) fn end(&self) -> Point {
        self.at(1.0)
    }

    /// The point at a share of the way.
    pub(crate) fn at(&self, share: f64) -> Point {
        match *self {
            Curve::Line(a, b) => (a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1)),
            Curve::Arc(centre, radius, from, turn) => {
                let (sin, cos) = (from + share * turn).sin_cos();
                (centre.0 + radius * cos, centre.1 + radius * sin)
            }
        }
    }

    /// Straight pieces that lie within 0.05 mm of it.
    fn pieces(&self) -> usize {
        match *self {
            Curve::Line(..) => 1,
            Curve::Arc(_, radius, _, turn) => {
                let step = 2.0 * (1.0 - (0.05 / radius.max(0.06)).min(1.0)).acos();
                ((turn.abs() / step).ceil() as usize).clamp(2, 400)
            }
        }
    }
}

/// Size of letters in mm; their capitals are 0.73 of it high.
pub(crate) const LETTERS: f64 = 3.4;
/// Of numbers and notes.
pub(crate) const SMALL: f64 = 2.6;
/// Length of an arrow head.
pub(crate) const HEAD: f64 = 2.6;
/// Clear room around words.
pub(crate) const CLEAR: f64 = 0.45;

/// Something on paper.
#[derive(Clone, Debug)]
pub(crate) enum Mark {
    Stroke {
        pen: Pen,
        curves: Vec<Curve>,
        closed: bool,
    },
    Words {
        /// Start of the base line.
        at: Point,
        /// Unit vector of the base line.
        along: Point,
        size: f64,
        weight: Weight,
        text: String,
    },
}

/// Where text stands about its point.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// Paper being drawn on, with what words must keep off.
#[derive(Clone, Debug, Default)]
pub(crate) struct Board {
    pub(crate) marks: Vec<Mark>,
    /// Straight pieces of every line but hatching.
    lines: Vec<(Point, Point)>,
    /// Rooms of all words.
    pub(crate) rooms: Vec<Room>,
    /// Room that nothing may be written in, though nothing is drawn there: metal, hatching.
    closed: Vec<Room>,
    extent: Option<(Point, Point)>,
    /// Words that found no room.
    pub(crate) lost: Vec<String>,
}

/// Width of a line of words with signs, in mm.
pub(crate) fn words_width(size: f64, weight: Weight, text: &str) -> f64 {
    let part = |(piece, sign): (&str, Option<sign::Sign>)| {
        size * width(piece, weight) + sign.map_or(0.0, |_| sign::WIDTH * size)
    };
    sign::parts(text).into_iter().map(part).sum()
}

/// The room of a line of words whose base line starts at `at`.
pub(crate) fn words_room(at: Point, along: Point, size: f64, width: f64) -> Room {
    let up = (along.1, -along.0);
    let lift = 0.5 * (0.76 - 0.22) * size;
    Room {
        middle: (
            at.0 + 0.5 * width * along.0 + lift * up.0,
            at.1 + 0.5 * width * along.1 + lift * up.1,
        ),
        half: (0.5 * width, 0.5 * (0.76 + 0.22) * size),
        along,
    }
}

impl Board {
    fn grow(&mut self, (x, y): Point) {
        let (low, high) = self.extent.unwrap_or(((x, y), (x, y)));
        self.extent = Some(((low.0.min(x), low.1.min(y)), (high.0.max(x), high.1.max(y))));
    }

    /// Upper left and lower right corner of all that is drawn.
    pub(crate) fn extent(&self) -> (Point, Point) {
        self.extent.unwrap_or(((0.0, 0.0), (0.0, 0.0)))
    }

    /// Curves that follow each other, one line.
    pub(crate) fn stroke(&mut self, pen: Pen, curves: Vec<Curve>) {
        self.draw(pen, curves, false);
    }

    fn draw(&mut self, pen: Pen, curves: Vec<Curve>, closed: bool) {
        if curves.is_empty() {
            return;
        }
        for curve in &curves {
            let pieces = curve.pieces();
            let points: Vec<Point> = (0..=pieces)
                .map(|k| curve.at(k as f64 / pieces as f64))
                .collect();
            points.iter().for_each(|&point| self.grow(point));
            if pen != Pen::Hatch {
                self.lines
                    .extend(points.windows(2).map(|ends| (ends[0], ends[1])));
            }
        }
        self.marks.push(Mark::Stroke {
            pen,
            curves,
            closed,
        });
    }

    pub(crate) fn line(&mut self, pen: Pen, from: Point, to: Point) {
        self.stroke(pen, vec![Curve::Line(from, to)]);
    }

    /// A chain of straight lines through points.
    pub(crate) fn chain(&mut self, pen: Pen, points: &[Point]) {
        let curves = points.windows(2).map(|ends| Curve::Line(ends[0], ends[1]));
        self.stroke(pen, curves.collect());
    }

    /// A closed shape of straight sides.
    pub(crate) fn polygon(&mut self, pen: Pen, points: &[Point]) {
        let sides = (0..points.len()).map(|k| {
            let next = points[(k + 1) % points.len()];
            Curve::Line(points[k], next)
        });
        self.draw(pen, sides.collect(), true);
    }

    pub(crate) fn circle(&mut self, pen: Pen, centre: Point, radius: f64) {
        let whole = Curve::Arc(centre, radius, 0.0, std::f64::consts::TAU);
        self.draw(pen, vec![whole], true);
    }

    /// An arrow head with its tip at `tip`, pointing along the unit vector `way`.
    pub(crate) fn head(&mut self, tip: Point, way: Point) {
        let half = 0.17 * HEAD;
        let foot = (tip.0 - HEAD * way.0, tip.1 - HEAD * way.1);
        let corners = [
            tip,
            (foot.0 - half * way.1, foot.1 + half * way.0),
            (foot.0 + half * way.1, foot.1 - half * way.0),
        ];
        self.polygon(Pen::Fill, &corners);
    }

    /// Room where no words may stand.
    pub(crate) fn close(&mut self, room: Room) {
        self.closed.push(room);
    }

    /// Words without regard to what stands there.
    pub(crate) fn words(
        &mut self,
        at: Point,
        along: Point,
        anchor: Anchor,
        size: f64,
        weight: Weight,
        text: &str,
    ) {
        let text = plain(text);
        let wide = words_width(size, weight, &text);
        let back = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5 * wide,
            Anchor::End => wide,
        };
        let mut at = (at.0 - back * along.0, at.1 - back * along.1);
        let room = words_room(at, along, size, wide);
        room.corners()
            .into_iter()
            .for_each(|corner| self.grow(corner));
        self.rooms.push(room);
        for (piece, sign) in sign::parts(&text) {
            if !piece.trim().is_empty() {
                self.marks.push(Mark::Words {
                    at,
                    along,
                    size,
                    weight,
                    text: piece.into(),
                });
            }
            let step = size * width(piece, weight);
            at = (at.0 + step * along.0, at.1 + step * along.1);
            if let Some(sign) = sign {
                for (pen, points) in sign::lines(sign, size) {
                    // Signs belong to their words, so they are no obstacle of their own.
                    let place = |&(x, y): &Point| {
                        (
                            at.0 + x * along.0 - y * along.1,
                            at.1 + x * along.1 + y * along.0,
                        )
                    };
                    let points: Vec<Point> = points.iter().map(place).collect();
                    let sides = points.windows(2).map(|ends| Curve::Line(ends[0], ends[1]));
                    self.marks.push(Mark::Stroke {
                        pen,
                        curves: sides.collect(),
                        closed: pen == Pen::Fill,
                    });
                }
                let step = sign::WIDTH * size;
                at = (at.0 + step * along.0, at.1 + step * along.1);
            }
        }
    }

    /// Plain words on a level line.
    pub(crate) fn text(&mut self, at: Point, anchor: Anchor, size: f64, text: &str) {
        self.words(at, (1.0, 0.0), anchor, size, Weight::Regular, text);
    }

    /// Whether words may take a room: no other words, no line, no closed room.
    pub(crate) fn free(&self, room: &Room) -> bool {
        let room = room.grown(CLEAR);
        !self
            .rooms
            .iter()
            .chain(&self.closed)
            .any(|other| room.meets(other))
            && !self.lines.iter().any(|&(a, b)| room.crossed(a, b))
    }

    /// Whether a line may be drawn: it passes through no words.
    pub(crate) fn clear(&self, from: Point, to: Point) -> bool {
        !self
            .rooms
            .iter()
            .any(|room| room.grown(CLEAR).crossed(from, to))
    }

    /// How many lines one from `from` to `to` would cross, or run along nearer than `near`.
    pub(crate) fn crossings(&self, from: Point, to: Point, near: f64) -> usize {
        let length = (to.0 - from.0).hypot(to.1 - from.1).max(1e-9);
        let u = ((to.0 - from.0) / length, (to.1 - from.1) / length);
        let on = |&(a, b): &(Point, Point)| {
            let off = |p: Point| (u.0 * (p.1 - from.1) - u.1 * (p.0 - from.0)).abs();
            let reach = |p: Point| dot((p.0 - from.0, p.1 - from.1), u);
            let (low, high) = (reach(a).min(reach(b)), reach(a).max(reach(b)));
            off(a) < near
                && off(b) < near
                && (off(a) - off(b)).abs() < 0.3
                && low < length - 0.2
                && high > 0.2
        };
        let meets = |line: &&(Point, Point)| lines_cross(**line, (from, to)) || on(line);
        self.lines.iter().filter(meets).count()
    }

    /// All of another board, moved.
    pub(crate) fn place(&mut self, other: &Board, (dx, dy): Point) {
        let shift = |(x, y): Point| (x + dx, y + dy);
        for mark in &other.marks {
            let mut mark = mark.clone();
            match &mut mark {
                Mark::Stroke { curves, .. } => {
                    for curve in curves {
                        *curve = match *curve {
                            Curve::Line(a, b) => Curve::Line(shift(a), shift(b)),
                            Curve::Arc(c, radius, from, turn) => {
                                Curve::Arc(shift(c), radius, from, turn)
                            }
                        };
                    }
                }
                Mark::Words { at, .. } => *at = shift(*at),
            }
            self.marks.push(mark);
        }
        let lines = other.lines.iter().map(|&(a, b)| (shift(a), shift(b)));
        self.lines.extend(lines);
        self.rooms
            .extend(other.rooms.iter().map(|room| room.moved((dx, dy))));
        self.lost.extend(other.lost.iter().cloned());
        let (low, high) = other.extent();
        self.grow(shift(low));
        self.grow(shift(high));
    }
}
