//! A load case: centreline, displaced shape, forces and supports.

use super::canvas::{Anchor, Canvas, Point, pair};
use crate::evaluate::LoadRow;
use crate::review::text::{grouped, significant};

/// Paper given to the frame, in mm.
const ROOM_MM: f64 = 46.0;
/// Length of the greatest force's arrow on paper, in mm.
const ARROW_MM: f64 = 8.0;
/// Greatest displacement on paper as a share of the frame's size.
const SHOWN_SHARE: f64 = 0.09;

/// Load case drawn: the unloaded centreline, its displaced shape at a stated magnification, arrows for forces,
/// triangles for supports.
///
/// Seen along the tool axis; where displacements or forces along that axis are the greater part, seen from 30
/// degrees above the plan instead. `closed` joins the end of the shape with its start.
pub fn load_view(load: &LoadRow, closed: bool) -> String {
    let points: Vec<_> = load
        .shape
        .iter()
        .filter(|(p, u)| p.iter().chain(u).all(|v| v.is_finite()))
        .collect();
    let view = View::of(load);
    let size = extent(
        points
            .iter()
            .map(|(p, _)| *p)
            .chain(load.supports.iter().copied()),
    );
    let scale = ROOM_MM / size.max(1e-9);
    let greatest = points.iter().map(|(_, u)| norm(u)).fold(0.0, f64::max);
    let magnified = if greatest > 0.0 {
        round_down(SHOWN_SHARE * size / greatest)
    } else {
        0.0
    };
    let mut canvas = Canvas::new();
    let rest: Vec<Point> = points
        .iter()
        .map(|(p, _)| view.paper(p, &[0.0; 3], scale))
        .collect();
    let moved: Vec<Point> = points
        .iter()
        .map(|(p, u)| view.paper(p, &u.map(|v| v * magnified), scale))
        .collect();
    chain(&mut canvas, "chain", &rest, closed);
    chain(&mut canvas, "shape", &moved, closed);
    supports(&mut canvas, load, view, scale);
    forces(&mut canvas, load, view, scale);
    if let Some(index) =
        (0..points.len()).max_by(|&a, &b| norm(&points[a].1).total_cmp(&norm(&points[b].1)))
        && greatest > 0.0
    {
        canvas.circle("dot", moved[index], 0.9);
    }
    for place in load
        .stress_at_mm
        .iter()
        .chain(load.peak.iter().map(|peak| &peak.at_mm))
    {
        if place.iter().all(|v| v.is_finite()) {
            canvas.circle("place", view.paper(place, &[0.0; 3], scale), 1.4);
        }
    }
    captions(&mut canvas, load, view, magnified);
    let label = format!(
        "Load case {}: {}. Greatest displacement {} mm",
        load.name,
        load.words,
        significant(load.displacement_mm, 3)
    );
    canvas.finish("drawing load", &label, 1.5)
}

#[derive(Clone, Copy, PartialEq)]
enum View {
    Plan,
    Above,
}

impl View {
    fn of(load: &LoadRow) -> View {
        let share = |vectors: &mut dyn Iterator<Item = [f64; 3]>| {
            vectors.fold((0.0f64, 0.0f64), |(plan, up), v| {
                (plan.max(v[0].hypot(v[1])), up.max(v[2].abs()))
            })
        };
        let moved = share(&mut load.shape.iter().map(|(_, u)| *u));
        let pulled = share(&mut load.arrows.iter().map(|(_, f)| *f));
        if moved.1 > moved.0 || pulled.1 > pulled.0 {
            View::Above
        } else {
            View::Plan
        }
    }

    /// Paper place of a point of the plan displaced by `u`.
    fn paper(self, p: &[f64; 2], u: &[f64; 3], scale: f64) -> Point {
        let (x, y) = self.direction(&[p[0] + u[0], p[1] + u[1], u[2]]);
        (x * scale, y * scale)
    }

    /// A direction in space as one on paper.
    fn direction(self, v: &[f64; 3]) -> Point {
        match self {
            View::Plan => (v[0], -v[1]),
            View::Above => {
                let (sin, cos) = (-20f64).to_radians().sin_cos();
                let (right, back) = (v[0] * cos - v[1] * sin, v[0] * sin + v[1] * cos);
                (right, -0.5 * back - 0.866 * v[2])
            }
        }
    }
}

fn norm(v: &[f64; 3]) -> f64 {
    v[0].hypot(v[1]).hypot(v[2])
}

fn extent(points: impl Iterator<Item = [f64; 2]>) -> f64 {
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for point in points {
        for axis in 0..2 {
            low[axis] = low[axis].min(point[axis]);
            high[axis] = high[axis].max(point[axis]);
        }
    }
    (high[0] - low[0]).max(high[1] - low[1]).max(0.0)
}

/// The next lower 1, 2 or 5 times a power of ten.
fn round_down(value: f64) -> f64 {
    let power = 10f64.powf(value.log10().floor());
    let lead = value / power;
    let lead = if lead >= 5.0 {
        5.0
    } else if lead >= 2.0 {
        2.0
    } else {
        1.0
    };
    lead * power
}

/// A chain through points, thinned to what shows at this size, in relative moves.
fn chain(canvas: &mut Canvas, class: &str, points: &[Point], closed: bool) {
    const MOST: usize = 72;
    let step = points.len().div_ceil(MOST).max(1);
    let mut commands = String::new();
    let mut pen = (0.0, 0.0);
    for (index, &point) in points.iter().enumerate() {
        canvas.grow(point);
        if index % step != 0 && index + 1 != points.len() {
            continue;
        }
        let tenth = |v: f64| (v * 10.0).round() / 10.0;
        let goal = (tenth(point.0), tenth(point.1));
        commands.push(if index == 0 { 'M' } else { 'l' });
        commands += &pair((goal.0 - pen.0, goal.1 - pen.1));
        pen = goal;
    }
    if closed && !commands.is_empty() {
        commands.push('z');
    }
    canvas.path(class, &commands);
}

fn supports(canvas: &mut Canvas, load: &LoadRow, view: View, scale: f64) {
    for point in &load.supports {
        let (x, y) = view.paper(point, &[0.0; 3], scale);
        canvas.line(
            "thin",
            &[(x, y), (x - 1.9, y + 3.2), (x + 1.9, y + 3.2), (x, y)],
        );
        canvas.line("wide", &[(x - 2.6, y + 3.2), (x + 2.6, y + 3.2)]);
    }
}

/// Arrows with their tips at the loaded points; lengths in proportion.
fn forces(canvas: &mut Canvas, load: &LoadRow, view: View, scale: f64) {
    let greatest = load.arrows.iter().map(|(_, f)| norm(f)).fold(0.0, f64::max);
    if greatest <= 0.0 || !greatest.is_finite() {
        return;
    }
    for (index, (point, force)) in load.arrows.iter().enumerate() {
        let (dx, dy) = view.direction(force);
        let share = norm(force) / greatest;
        let length = dx.hypot(dy);
        if length <= 0.0 {
            continue;
        }
        let run = ARROW_MM * share.max(0.25);
        let (ux, uy) = (dx / length, dy / length);
        let tip = view.paper(point, &[0.0; 3], scale);
        // Pulling forces leave the frame, pushing forces arrive at it; both are drawn outside it.
        let outward = tip.0 * ux + tip.1 * uy > 0.0;
        let (tail, tip) = if outward {
            (tip, (tip.0 + run * ux, tip.1 + run * uy))
        } else {
            ((tip.0 - run * ux, tip.1 - run * uy), tip)
        };
        canvas.line("force", &[tail, (tip.0 - ux, tip.1 - uy)]);
        canvas.head("force-head", tip, (ux, uy), 2.6);
        if index < 6 {
            let end = if outward { tip } else { tail };
            let anchor = if end.0 > 1.0 {
                Anchor::Start
            } else {
                Anchor::End
            };
            let side = if end.0 > 1.0 { 1.4 } else { -1.4 };
            let words = format!("{} N", significant(norm(force), 3));
            canvas.text("small", (end.0 + side, end.1 + 0.9), anchor, &words);
        }
    }
}

fn captions(canvas: &mut Canvas, load: &LoadRow, view: View, magnified: f64) {
    let ((left, _), (_, bottom)) = canvas.extent();
    let times = if magnified >= 1.0 {
        grouped(magnified.round() as usize)
    } else {
        significant(magnified, 1)
    };
    let seen = match view {
        View::Plan => "seen along the tool axis",
        View::Above => "seen from 30° above",
    };
    let mut lines = vec![if magnified > 0.0 {
        format!("displacement × {times}, {seen}")
    } else {
        seen.to_string()
    }];
    match (load.stress_at_mm, &load.peak) {
        (Some(_), Some(_)) => lines.push("rings: most stressed place, local peak".into()),
        (Some(_), None) => lines.push("ring: most stressed place".into()),
        _ => {}
    }
    if load.supports.is_empty() {
        lines.push("no support: the frame floats".into());
    }
    for (index, line) in lines.iter().enumerate() {
        let y = bottom + 5.0 + 3.8 * index as f64;
        canvas.text("small", (left, y), Anchor::Start, line);
    }
}
