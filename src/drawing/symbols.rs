//! Symbols of a load case: which way it is seen, supports, forces, moments.
//!
//! Symbols of supports are those of the trade (common practice, no source): hatched ground under a block (held against
//! moving and turning), a triangle (free to turn in some way) or a triangle on rollers (free to slide).

use super::canvas::{Anchor, Canvas, Point, pair};
use crate::evaluate::{Held, LoadRow};

/// Length of the greatest force's arrow on paper, in mm.
const ARROW_MM: f64 = 9.0;

/// Which way a load case is seen.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum View {
    /// Along the tool axis, north up.
    Plan,
    /// Isometric axonometry, the tool axis up (ISO 5456-3).
    Isometric,
}

impl View {
    pub(crate) fn of(load: &LoadRow) -> View {
        let share = |vectors: &mut dyn Iterator<Item = [f64; 3]>| {
            vectors.fold((0.0f64, 0.0f64), |(plan, up), v| {
                (plan.max(v[0].hypot(v[1])), up.max(v[2].abs()))
            })
        };
        let moved = share(&mut load.field.places.iter().map(|place| place.moved_mm));
        let pulled = share(&mut load.arrows.iter().map(|arrow| arrow.force_n));
        let turned = share(&mut load.arrows.iter().map(|arrow| arrow.moment_n_mm));
        // A moment about an axis of the plan moves the frame out of it.
        if moved.1 > 0.15 * moved.0 || pulled.1 > 0.02 * pulled.0 || turned.0 > 0.0 {
            View::Isometric
        } else {
            View::Plan
        }
    }

    pub(crate) fn words(self) -> &'static str {
        match self {
            View::Plan => "seen along the tool axis",
            View::Isometric => "isometric",
        }
    }

    /// A direction in space as one on paper: of the plan's axes x runs to the right (and down), y to the back.
    pub(crate) fn direction(self, v: &[f64; 3]) -> Point {
        match self {
            View::Plan => (v[0], -v[1]),
            View::Isometric => {
                let (sin, cos) = 30f64.to_radians().sin_cos();
                (cos * (v[0] + v[1]), sin * (v[0] - v[1]) - v[2])
            }
        }
    }
}

/// The symbol of a support below its point.
pub(crate) fn support(canvas: &mut Canvas, held: &Held, (x, y): Point) {
    let all = |axes: &[bool; 3]| axes.iter().all(|held| *held);
    let mut ground = y + 3.4;
    if all(&held.moves) && all(&held.turns) {
        canvas.path(
            "symbol",
            &format!("M{}h3.6v2h-3.6z", pair((x - 1.8, y + 1.4))),
        );
        canvas.line("thin", &[(x, y), (x, y + 1.4)]);
    } else {
        let triangle = format!("M{}l-1.9 3.4h3.8z", pair((x, y)));
        canvas.path("symbol", &triangle);
        if !all(&held.moves) {
            for side in [-1.2, 1.2] {
                canvas.circle("symbol", (x + side, y + 4.1), 0.7);
            }
            ground = y + 4.8;
        }
    }
    canvas.line("wide", &[(x - 3.0, ground), (x + 3.0, ground)]);
    let mut hatch = String::new();
    for k in 0..5 {
        hatch += &format!(
            "M{}l-1.1 1.3",
            pair((x - 1.7 + 1.15 * f64::from(k), ground))
        );
    }
    canvas.path("thin", &hatch);
    canvas.grow((x - 3.0, y));
    canvas.grow((x + 3.0, ground + 1.3));
    canvas.keep_off((0..=4).flat_map(|k| {
        let across = x - 3.0 + 1.5 * f64::from(k);
        [(across, y + 1.5), (across, ground), (across, ground + 1.2)]
    }));
}

/// What a support holds: `all`, `x, y, z`, `along, up; turns about along`.
pub(crate) fn held_words(held: &Held) -> String {
    let names = if held.heading == 0.0 {
        ["x", "y", "z"]
    } else {
        ["along", "across", "up"]
    };
    let list = |axes: &[bool; 3]| {
        let held = names.iter().zip(axes).filter(|(_, held)| **held);
        held.map(|(name, _)| *name)
            .collect::<Vec<&str>>()
            .join(", ")
    };
    if held.moves.iter().chain(&held.turns).all(|held| *held) {
        let warp = if held.warp { ", warping too" } else { "" };
        return format!("against all moves and turns{warp}");
    }
    let mut parts = Vec::new();
    if held.moves.iter().any(|held| *held) {
        parts.push(format!("moves {}", list(&held.moves)));
    }
    if held.turns.iter().any(|held| *held) {
        parts.push(format!("turns {}", list(&held.turns)));
    }
    if held.warp {
        parts.push("warping".into());
    }
    parts.join("; ")
}

/// Where an arrow runs: tail and tip. Pulling forces leave the frame, pushing ones arrive at it; both are drawn outside.
fn run(view: View, at: Point, vector: &[f64; 3], share: f64) -> Option<(Point, Point, Point)> {
    let (dx, dy) = view.direction(vector);
    let length = dx.hypot(dy);
    if !(length > 1e-9) {
        return None;
    }
    let reach = ARROW_MM * share.clamp(0.35, 1.0);
    let (ux, uy) = (dx / length, dy / length);
    let outward = at.0 * ux + at.1 * uy > 0.0;
    let (tail, tip) = if outward {
        (at, (at.0 + reach * ux, at.1 + reach * uy))
    } else {
        ((at.0 - reach * ux, at.1 - reach * uy), at)
    };
    Some((tail, tip, (ux, uy)))
}

/// A force as an arrow with its size.
pub(crate) fn force(
    canvas: &mut Canvas,
    view: View,
    at: Point,
    vector: &[f64; 3],
    share: f64,
    words: &str,
) {
    let Some((tail, tip, (ux, uy))) = run(view, at, vector, share) else {
        // Straight at the eye, or away from it.
        canvas.circle("force", at, 1.6);
        canvas.label("small", at, (1.0, -1.0), 2.6, words);
        return;
    };
    canvas.line("force", &[tail, (tip.0 - ux, tip.1 - uy)]);
    canvas.head("force-head", tip, (ux, uy), 2.6);
    arrow_label(canvas, at, tail, tip, words);
}

/// A moment as an arrow with two heads along its axis (right hand), or as an arc where the axis points at the eye.
pub(crate) fn moment(
    canvas: &mut Canvas,
    view: View,
    at: Point,
    vector: &[f64; 3],
    share: f64,
    words: &str,
) {
    let Some((tail, tip, (ux, uy))) = run(view, at, vector, share) else {
        let turn = if vector[2] > 0.0 { 1.0 } else { -1.0 };
        // Three quarters of a circle from the right, against the clock for a positive moment.
        let radius = 3.4;
        let sweep = u8::from(turn < 0.0);
        let end = (at.0, at.1 + turn * radius);
        let start = (at.0 + radius, at.1);
        let arc = format!(
            "M{}A{radius} {radius} 0 1 {sweep} {}",
            pair(start),
            pair(end)
        );
        canvas.path("force", &arc);
        canvas.head("force-head", (end.0 + 1.6, end.1), (1.0, 0.0), 2.6);
        canvas.grow((at.0 - radius, at.1 - radius));
        canvas.grow((at.0 + radius, at.1 + radius));
        canvas.label("small", at, (1.0, -1.0), radius + 1.0, words);
        return;
    };
    canvas.line("force", &[tail, (tip.0 - ux, tip.1 - uy)]);
    canvas.head("force-head", tip, (ux, uy), 2.6);
    canvas.head(
        "force-head",
        (tip.0 - 2.2 * ux, tip.1 - 2.2 * uy),
        (ux, uy),
        2.6,
    );
    arrow_label(canvas, at, tail, tip, words);
}

/// Words at the end of an arrow that is not on the frame.
fn arrow_label(canvas: &mut Canvas, at: Point, tail: Point, tip: Point, words: &str) {
    canvas.keep_off((0..=6).map(|k| {
        let share = f64::from(k) / 6.0;
        (
            tail.0 + (tip.0 - tail.0) * share,
            tail.1 + (tip.1 - tail.1) * share,
        )
    }));
    let end = if tip == at { tail } else { tip };
    canvas.label("small", end, (end.0 - at.0, end.1 - at.1), 1.2, words);
}

/// The plan's axes as the drawing has them, their origin at a point; the paper grows by them.
pub(crate) fn axes(canvas: &mut Canvas, view: View, origin: Point) {
    let all = [
        ([1.0, 0.0, 0.0], "x"),
        ([0.0, 1.0, 0.0], "y"),
        ([0.0, 0.0, 1.0], "z"),
    ];
    for (vector, name) in all {
        let (dx, dy) = view.direction(&vector);
        let length = dx.hypot(dy);
        if length < 1e-9 {
            continue;
        }
        let (ux, uy) = (dx / length, dy / length);
        let tip = (origin.0 + 5.5 * ux, origin.1 + 5.5 * uy);
        canvas.line("thin", &[origin, tip]);
        canvas.head("tip", tip, (ux, uy), 1.6);
        let at = (tip.0 + 1.6 * ux, tip.1 + 1.6 * uy + 0.9);
        canvas.text("small", at, Anchor::Middle, name);
    }
}
