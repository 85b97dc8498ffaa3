//! The view from the side, or the full section of a closed frame, in line with the plan.

use super::hatch::hatched;
use super::ink::{Board, Curve, Pen, Point};
use super::side::{Look, Seen};

/// The side view on paper: from below, across to the right and heights up; from the right, heights to the left.
pub(crate) fn elevation(seen: &Seen, look: Look, scale: f64) -> Board {
    let mut board = Board::default();
    let at = |u: f64, z: f64| -> Point {
        match look {
            Look::Below => (u * scale, -z * scale),
            Look::Right => (-z * scale, -u * scale),
        }
    };
    let mut metal: Vec<Vec<Point>> = Vec::new();
    for shape in &seen.cut {
        let shape: Vec<Point> = shape.iter().map(|&(u, z)| at(u, z)).collect();
        board.polygon(Pen::Edge, &shape);
        metal.push(shape);
    }
    for &(z, (a, b)) in &seen.level {
        board.line(Pen::Edge, at(a, z), at(b, z));
    }
    for &(u, (a, b)) in &seen.upright {
        board.line(Pen::Edge, at(u, a), at(u, b));
    }
    for rim in &seen.rims {
        let points: Vec<Point> = rim.iter().map(|&(u, z)| at(u, z)).collect();
        board.chain(Pen::Edge, &points);
    }
    for &((u, z), (wide, tall)) in &seen.centres {
        let over = 1.0 / scale;
        board.line(Pen::Narrow, at(u - wide - over, z), at(u + wide + over, z));
        board.line(Pen::Narrow, at(u, z - tall - over), at(u, z + tall + over));
    }
    if !metal.is_empty() {
        hatched(&mut board, &metal);
        // The middle of what is symmetric.
        let all = seen.level.iter().flat_map(|line| [line.1.0, line.1.1]);
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |m, u| {
            (m.0.min(u), m.1.max(u))
        });
        let top = seen.level.iter().map(|line| line.0).fold(0.0, f64::max);
        let middle = 0.5 * (low + high);
        let over = 3.0 / scale;
        let (from, to) = (at(middle, -over), at(middle, top + over));
        board.stroke(Pen::Centre, vec![Curve::Line(from, to)]);
    }
    board
}
