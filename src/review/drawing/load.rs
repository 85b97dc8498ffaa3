//! A load case: path at rest, displaced shape coloured by stress, forces, moments and supports.

use super::canvas::{Anchor, Canvas, Point, pair};
use super::symbols::{self, View};
use crate::evaluate::{FieldPlace, LoadRow};
use crate::review::text::{decimals, grouped, significant};

/// Paper given to the frame, in mm.
const ROOM_MM: f64 = 56.0;
/// Greatest displacement on paper as a share of the frame's size.
const SHOWN_SHARE: f64 = 0.1;
/// Steps of the colour scale; each has a class `s0` to `s4` and a colour `--stress0` to `--stress4`.
const STEPS: usize = 5;

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
    let size = extent(places.iter().map(|place| place.at_mm).chain(marks));
    let scale = ROOM_MM / size.max(1e-9);
    let moves = |place: &&FieldPlace| norm(&place.moved_mm);
    let greatest = places.iter().map(moves).fold(0.0, f64::max);
    let magnified = if greatest > 0.0 {
        round_down(SHOWN_SHARE * size / greatest)
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
    forces(&mut canvas, load, view, scale);
    greatest_places(&mut canvas, load, &places, &moved);
    legend(&mut canvas, step);
    captions(&mut canvas, load, view, magnified);
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
    let lead = [5.0, 2.0]
        .into_iter()
        .find(|each| lead >= *each)
        .unwrap_or(1.0);
    lead * power
}

/// Width of a colour's step: the least round number of which five reach a stress; 0 where there is none.
fn nice_step(greatest: f64) -> f64 {
    if !(greatest > 0.0 && greatest.is_finite()) {
        return 0.0;
    }
    let least = greatest / STEPS as f64;
    let power = 10f64.powf(least.log10().floor());
    let leads = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];
    let fits = leads
        .into_iter()
        .find(|lead| lead * power >= least * (1.0 - 1e-9));
    fits.unwrap_or(10.0) * power
}

/// Commands of a chain through points in relative moves of a tenth of a mm.
fn commands(points: &[Point]) -> String {
    let mut commands = String::new();
    let mut pen = (0.0, 0.0);
    for (index, &point) in points.iter().enumerate() {
        let tenth = |v: f64| (v * 10.0).round() / 10.0;
        let goal = (tenth(point.0), tenth(point.1));
        if index > 0 && goal == pen {
            continue;
        }
        commands.push(if index == 0 { 'M' } else { 'l' });
        commands += &pair((goal.0 - pen.0, goal.1 - pen.1));
        pen = goal;
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

/// What the supports hold, every kind once.
fn kinds(load: &LoadRow) -> Vec<String> {
    let mut kinds: Vec<String> = Vec::new();
    for held in &load.supports {
        let words = symbols::held_words(held);
        if !kinds.contains(&words) {
            kinds.push(words);
        }
    }
    kinds
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
fn greatest_places(canvas: &mut Canvas, load: &LoadRow, places: &[&FieldPlace], moved: &[Point]) {
    let away = |point: Point| {
        let ((left, top), (right, bottom)) = canvas_middle(moved);
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

fn canvas_middle(points: &[Point]) -> (Point, Point) {
    let (mut low, mut high) = (
        (f64::INFINITY, f64::INFINITY),
        (f64::NEG_INFINITY, f64::NEG_INFINITY),
    );
    for point in points {
        low = (low.0.min(point.0), low.1.min(point.1));
        high = (high.0.max(point.0), high.1.max(point.1));
    }
    (low, high)
}

/// The scale of the colours.
fn legend(canvas: &mut Canvas, step: f64) {
    if step <= 0.0 {
        return;
    }
    let ((left, _), (_, bottom)) = canvas.extent();
    let (y, width, height) = (bottom + 4.0, 9.0, 2.4);
    for index in 0..STEPS {
        let x = left + width * index as f64;
        canvas.grow((x + width, y + height));
        let box_commands = format!("M{}h{width}v{height}h-{width}z", pair((x, y)));
        canvas.path(&format!("swatch t{index}"), &box_commands);
    }
    for index in 0..=STEPS {
        let x = left + width * index as f64;
        let words = decimals(step * index as f64, 3);
        let anchor = if index == 0 {
            Anchor::Start
        } else {
            Anchor::Middle
        };
        canvas.text("small", (x, y + height + 3.0), anchor, &words);
    }
    let x = left + width * STEPS as f64 + 5.0;
    canvas.text("small", (x, y + height - 0.2), Anchor::Start, "MPa nominal");
}

fn captions(canvas: &mut Canvas, load: &LoadRow, view: View, magnified: f64) {
    let ((left, _), (_, bottom)) = canvas.extent();
    let times = if magnified >= 1.0 {
        grouped(magnified.round() as usize)
    } else {
        significant(magnified, 1)
    };
    let mut lines = vec![if magnified > 0.0 {
        format!("movement × {times}, {}", view.words())
    } else {
        view.words().to_string()
    }];
    let kinds = kinds(load);
    for (index, words) in kinds.iter().enumerate() {
        let number = if kinds.len() > 1 {
            format!("{}  ", index + 1)
        } else {
            String::new()
        };
        lines.push(format!("{number}held: {words}"));
    }
    if kinds.is_empty() {
        lines.push("no support: the frame floats".into());
    }
    for (index, line) in lines.iter().enumerate() {
        let y = bottom + 5.0 + 4.0 * index as f64;
        canvas.text("small", (left, y), Anchor::Start, line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_of_the_scale_are_round_and_reach_the_greatest_stress() {
        for (greatest, step) in [
            (31.8, 8.0),
            (50.0, 10.0),
            (0.62, 0.15),
            (121.0, 25.0),
            (0.0, 0.0),
        ] {
            assert!((nice_step(greatest) - step).abs() < 1e-12, "{greatest}");
            assert!(5.0 * nice_step(greatest) >= greatest * (1.0 - 1e-9));
        }
    }
}
