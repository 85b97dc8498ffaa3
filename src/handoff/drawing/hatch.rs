//! Hatching of cut faces (ISO 128-50: narrow lines at 45 degrees).

use super::ink::{Board, Curve, Pen, Point};
use super::room::Room;

/// Hatches what lies within an odd number of `shapes`, and keeps words off.
pub(crate) fn hatched(board: &mut Board, shapes: &[Vec<Point>]) {
    let all = || shapes.iter().flatten();
    let low = all().fold((f64::INFINITY, f64::INFINITY), |m, p| {
        (m.0.min(p.0), m.1.min(p.1))
    });
    let high = all().fold((f64::NEG_INFINITY, f64::NEG_INFINITY), |m, p| {
        (m.0.max(p.0), m.1.max(p.1))
    });
    if !(low.0 <= high.0) {
        return;
    }
    let (wide, tall) = (high.0 - low.0, high.1 - low.1);
    // Closer in small shapes.
    let apart = if wide.max(tall) < 25.0 || tall < 8.0 {
        0.8
    } else {
        1.6
    };
    let step = apart * std::f64::consts::SQRT_2;
    let count = ((wide + tall) / step).ceil().min(2000.0) as usize;
    for k in 0..count {
        // x + y = constant: up to the right on paper.
        let sum = low.0 + low.1 + step * (k as f64 + 0.37);
        let mut at: Vec<f64> = Vec::new();
        for shape in shapes {
            for i in 0..shape.len() {
                let (a, b) = (shape[i], shape[(i + 1) % shape.len()]);
                let (s, t) = (a.0 + a.1 - sum, b.0 + b.1 - sum);
                if (s <= 0.0) != (t <= 0.0) {
                    at.push(a.0 + s / (s - t) * (b.0 - a.0));
                }
            }
        }
        at.sort_by(f64::total_cmp);
        for ends in at.chunks_exact(2) {
            if ends[1] - ends[0] > 0.05 {
                let (from, to) = ((ends[0], sum - ends[0]), (ends[1], sum - ends[1]));
                board.stroke(Pen::Hatch, vec![Curve::Line(from, to)]);
                board.close(Room::upright((from.0, to.1), (to.0, from.1)));
            }
        }
    }
}
