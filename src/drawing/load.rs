//! A load case: path at rest, displaced shape coloured by stress, forces, moments and supports.

use super::canvas::{Canvas, Point, pair};
use super::key::{STEPS, captions, kinds, legend, nice_step};
use super::symbols::{self, View};
use crate::drawing::text::significant;
use crate::evaluate::{FieldPlace, LoadRow};

/// Paper given to the frame, in mm.
const ROOM_MM: f64 = 56.0;
/// Greatest displacement on paper as a share of the frame's size.
const SHOWN_SHARE: f64 = 0.1;
/// Greatest turn about the path on paper where a load case does hardly more than twist the frame, in rad; and the
/// distance from the path at which turns and movements are compared, in mm.
const SHOWN_TURN: f64 = 0.7;
const TWIST_ARM_MM: f64 = 5.0;

/// Load case drawn: the path at rest (narrow chain line), its displaced shape at a stated magnification coloured by
/// the greatest nominal stress of the section, arrows for forces (two heads: moments, by the right hand), symbols for
/// supports, the places of greatest movement and stress, and the scale of the colours.
///
/// Seen along the tool axis; where displacements or forces along that axis count, in isometric axonometry (ISO 5456-3)
/// with the axes at full length. `closed` joins the end of the path with its start.
pub fn load_view(load: &LoadRow, closed: bool) -> String {
    let known = |place: &&FieldPlace| {
        place
            .at_mm
            .iter()
            .chain(&place.moved_mm)
            .all(|v| v.is_finite())
    };
    let places: Vec<&FieldPlace> = load.field.places.iter().filter(known).collect();
    let view = View::of(load);
    let marks = load.supports.iter().map(|held| held.at_mm);
    let size = extent(places.iter().map(|place| place.at_mm).chain(marks), view);
    let scale = ROOM_MM / size.max(1e-9);
    let moves = |place: &&FieldPlace| norm(&place.moved_mm);
    let greatest = places.iter().map(moves).fold(0.0, f64::max);
    let twisted = places
        .windows(2)
        .map(|pair| twist(pair[0], pair[1]).abs())
        .fold(0.0, f64::max);
    let twists = twisted * TWIST_ARM_MM > 3.0 * greatest;
    let magnified = if greatest > 0.0 && !twists {
        round_down(SHOWN_SHARE * size / greatest)
    } else {
        0.0
    };
    let turned = if twists {
        round_down(SHOWN_TURN / twisted)
    } else {
        0.0
    };
    let paper = |place: &FieldPlace, times: f64| {
        let ([x, y], [u, v, w]) = (place.at_mm, place.moved_mm);
        let (x, y) = view.direction(&[x + times * u, y + times * v, times * w]);
        (x * scale, y * scale)
    };
    let rest: Vec<Point> = places.iter().map(|place| paper(place, 0.0)).collect();
    let moved: Vec<Point> = places.iter().map(|place| paper(place, magnified)).collect();
    let mut canvas = Canvas::new();
    canvas.keep_off(rest.iter().chain(&moved).copied());
    let step = nice_step(
        places
            .iter()
            .map(|place| place.greatest_mpa())
            .fold(0.0, f64::max),
    );
    chain(&mut canvas, "chain", &rest, closed);
    supports(&mut canvas, load, view, scale);
    chain(&mut canvas, "case", &moved, closed);
    coloured(&mut canvas, &places, &moved, step);
    bars(&mut canvas, &places, &moved, view, turned);
    forces(&mut canvas, load, view, scale);
    greatest_places(&mut canvas, load, &places, &moved, twists);
    legend(&mut canvas, step);
    captions(&mut canvas, load, view, (magnified, turned));
    let label = format!(
        "Load case {}: {}. Greatest displacement {} mm",
        load.name,
        load.words,
        significant(load.displacement_mm, 3)
    );
    canvas.finish("drawing load", &label, 1.5)
}

fn norm(v: &[f64; 3]) -> f64 {
    v[0].hypot(v[1]).hypot(v[2])
}

/// Greater extent on paper of points of the plan, at full scale.
fn extent(points: impl Iterator<Item = [f64; 2]>, view: View) -> f64 {
    let (low, high) = corners(points.map(|[x, y]| view.direction(&[x, y, 0.0])));
    (high.0 - low.0).max(high.1 - low.1).max(0.0)
}

/// The next lower 1, 2 or 5 times a power of ten.
fn round_down(value: f64) -> f64 {
    let power = 10f64.powf(value.log10().floor());
    let lead = value / power;
    let lead = [5.0, 2.0]
        .into_iter()
        .find(|each| lead >= *each)
        .unwrap_or(1.0);
    lead * power
}

/// Commands of a smooth line along points: arcs of parabolas from middle to middle of its stretches, which the points
/// steer. In relative moves of a hundredth of a mm, so that the steering does not drift.
fn commands(points: &[Point]) -> String {
    let mut commands = String::new();
    let mut pen = (0.0, 0.0);
    let mut go = |kind: &str, by: Option<Point>, to: Point| {
        let rounded = |p: Point| ((p.0 * 100.0).round() / 100.0, (p.1 * 100.0).round() / 100.0);
        let away = |p: Point| pair((rounded(p).0 - pen.0, rounded(p).1 - pen.1));
        commands += kind;
        if let Some(by) = by {
            commands += &away(by);
            if !away(to).starts_with('-') {
                commands.push(' ');
            }
        }
        commands += &away(to);
        pen = rounded(to);
    };
    let middle = |k: usize| {
        let (a, b): (Point, Point) = (points[k], points[k + 1]);
        (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1))
    };
    let count = points.len();
    for (index, &point) in points.iter().enumerate() {
        match index {
            0 => go("M", None, point),
            _ if index + 1 == count => go("l", None, point),
            1 => {
                go("l", None, middle(0));
                go("q", Some(point), middle(1));
            }
            _ => go("t", None, middle(index)),
        }
    }
    commands
}

fn chain(canvas: &mut Canvas, class: &str, points: &[Point], closed: bool) {
    for &point in points {
        canvas.grow(point);
    }
    let mut commands = commands(points);
    if closed && !commands.is_empty() {
        commands.push('z');
    }
    canvas.path(class, &commands);
}

/// The displaced shape in runs of one colour, the higher stress of a stretch's ends its own; the least first, so that
/// the greatest lie on top.
fn coloured(canvas: &mut Canvas, places: &[&FieldPlace], moved: &[Point], step: f64) {
    let class = |k: usize| {
        let stress = places[k].greatest_mpa().max(places[k + 1].greatest_mpa());
        let class = if step > 0.0 {
            (stress / step) as usize
        } else {
            0
        };
        class.min(STEPS - 1)
    };
    let mut runs: [String; STEPS] = Default::default();
    let mut from = 0;
    let stretches = places.len().saturating_sub(1);
    for k in 0..stretches {
        if k + 1 == stretches || class(k + 1) != class(k) {
            runs[class(k)] += &commands(&moved[from..=k + 1]);
            from = k + 1;
        }
    }
    for (index, run) in runs.iter().enumerate() {
        if !run.is_empty() {
            canvas.path(&format!("stress s{index}"), run);
        }
    }
}

/// Turn of the section about the path between two places, in rad.
fn twist(one: &FieldPlace, next: &FieldPlace) -> f64 {
    let (dx, dy) = (next.at_mm[0] - one.at_mm[0], next.at_mm[1] - one.at_mm[1]);
    (one.turned[0] * dx + one.turned[1] * dy) / dx.hypot(dy).max(1e-9)
}

/// Bars across the path that turn with the sections, where a load case twists the frame.
fn bars(canvas: &mut Canvas, places: &[&FieldPlace], moved: &[Point], view: View, turned: f64) {
    if turned <= 0.0 || places.len() < 2 {
        return;
    }
    let step = places.len().div_ceil(14);
    for k in (0..places.len() - 1).step_by(step) {
        let (one, next) = (places[k], places[k + 1]);
        let (dx, dy) = (next.at_mm[0] - one.at_mm[0], next.at_mm[1] - one.at_mm[1]);
        let long = dx.hypot(dy).max(1e-9);
        let (sin, cos) = (turned * twist(one, next)).sin_cos();
        let (x, y) = view.direction(&[-dy / long * cos, dx / long * cos, sin]);
        let at = moved[k];
        let end = |side: f64| (at.0 + side * 4.0 * x, at.1 + side * 4.0 * y);
        canvas.line("shape", &[end(-1.0), end(1.0)]);
    }
}

/// Supports, numbered where they differ in what they hold.
fn supports(canvas: &mut Canvas, load: &LoadRow, view: View, scale: f64) {
    let kinds = kinds(load);
    for held in &load.supports {
        let (x, y) = view.direction(&[held.at_mm[0], held.at_mm[1], 0.0]);
        let at = (x * scale, y * scale);
        symbols::support(canvas, held, at);
        if kinds.len() > 1
            && let Some(index) = kinds
                .iter()
                .position(|words| *words == symbols::held_words(held))
        {
            canvas.label(
                "small",
                (at.0, at.1 + 3.0),
                (1.0, 0.6),
                3.4,
                &(index + 1).to_string(),
            );
        }
    }
}

fn forces(canvas: &mut Canvas, load: &LoadRow, view: View, scale: f64) {
    let most = |of: fn(&crate::evaluate::Arrow) -> [f64; 3]| {
        load.arrows
            .iter()
            .map(|arrow| norm(&of(arrow)))
            .fold(0.0, f64::max)
    };
    let (force, moment) = (most(|arrow| arrow.force_n), most(|arrow| arrow.moment_n_mm));
    for arrow in &load.arrows {
        let (x, y) = view.direction(&[arrow.at_mm[0], arrow.at_mm[1], 0.0]);
        let at = (x * scale, y * scale);
        let (f, m) = (norm(&arrow.force_n), norm(&arrow.moment_n_mm));
        if f > 0.0 && f.is_finite() {
            let more = if arrow.inertia { " inertia" } else { "" };
            let words = format!("{} N{more}", significant(f, 3));
            symbols::force(canvas, view, at, &arrow.force_n, f / force, &words);
        }
        if m > 0.0 && m.is_finite() {
            let words = format!("{} N mm", significant(m, 3));
            symbols::moment(canvas, view, at, &arrow.moment_n_mm, m / moment, &words);
        }
    }
}

/// The places of greatest movement (dot), greatest nominal stress and local peak (rings).
fn greatest_places(
    canvas: &mut Canvas,
    load: &LoadRow,
    places: &[&FieldPlace],
    moved: &[Point],
    twists: bool,
) {
    let away = |point: Point| {
        let ((left, top), (right, bottom)) = corners(moved.iter().copied());
        (
            point.0 - 0.5 * (left + right),
            point.1 - 0.5 * (top + bottom),
        )
    };
    let index_of = |value: &dyn Fn(&FieldPlace) -> f64| {
        (0..places.len()).max_by(|&a, &b| value(places[a]).total_cmp(&value(places[b])))
    };
    let nearest = |at: &[f64; 2]| {
        let far = |place: &FieldPlace| -(place.at_mm[0] - at[0]).hypot(place.at_mm[1] - at[1]);
        index_of(&far)
    };
    if let Some(index) = index_of(&|place| norm(&place.moved_mm))
        && norm(&places[index].moved_mm) > 0.0
        && !twists
    {
        let at = moved[index];
        canvas.circle("dot", at, 0.9);
        let words = format!("{} mm", significant(load.displacement_mm, 3));
        canvas.label("small", at, away(at), 2.0, &words);
    }
    let stressed = load
        .stress_at_mm
        .as_ref()
        .map(|at| (at, load.stress_mpa, "MPa"));
    let peak = load
        .peak
        .as_ref()
        .map(|peak| (&peak.at_mm, peak.mpa, "MPa peak"));
    // One ring where the peak is the nominal stress itself.
    let peak = peak.filter(|peak| stressed.is_none_or(|known| known.1 != peak.1));
    for (at, mpa, unit) in stressed.into_iter().chain(peak) {
        if let Some(index) = nearest(at).filter(|_| at.iter().all(|v| v.is_finite())) {
            let at = moved[index];
            canvas.circle("place", at, 1.6);
            let out = away(at);
            let words = format!("{} {unit}", significant(mpa, 3));
            canvas.label("small", at, (-out.0, -out.1), 2.8, &words);
        }
    }
}

/// Least and greatest coordinates.
fn corners(points: impl Iterator<Item = Point>) -> (Point, Point) {
    let none = (
        (f64::INFINITY, f64::INFINITY),
        (f64::NEG_INFINITY, f64::NEG_INFINITY),
    );
    points.fold(none, |(low, high), point| {
        (
            (low.0.min(point.0), low.1.min(point.1)),
            (high.0.max(point.0), high.1.max(point.1)),
        )
    })
}
