//! What is written and measured on the plan: centre lines, sizes, names, notes.

use super::canvas::{Anchor, Canvas, Point};
use super::cuts::cuts;
use super::outline::{Run, place};
use super::scale_words;
use super::symbols::{View, axes};
use crate::drawing::text::{decimals, shortened};
use crate::part::{Depth, HoleRow, Layout, Part, Path, Piece, Slits, StripName};

/// Whether the path is one circle.
fn round(path: &Path) -> bool {
    path.closed()
        && path
            .pieces()
            .iter()
            .all(|piece| matches!(piece, Piece::Arc { .. }))
}

/// Centre lines of a closed frame, centre marks of the arcs of others (ISO 128-2: long-dashed dotted narrow line).
pub(crate) fn centre_lines(canvas: &mut Canvas, part: &Part, low: Point, high: Point, scale: f64) {
    let cross = |canvas: &mut Canvas, (x, y): Point, (across, up): Point| {
        canvas.line("axis-line", &[(x - across, y), (x + across, y)]);
        canvas.line("axis-line", &[(x, y - up), (x, y + up)]);
        let steps = ((across.max(up) / 1.5).ceil() as i32).min(60);
        for k in -steps..=steps {
            let share = f64::from(k) / f64::from(steps.max(1));
            canvas.keep_off([(x + share * across, y), (x, y + share * up)]);
        }
    };
    if part.path.closed() {
        let middle = (
            0.5 * (low.0 + high.0) * scale,
            -0.5 * (low.1 + high.1) * scale,
        );
        let half = (
            0.5 * (high.0 - low.0) * scale + 2.5,
            0.5 * (high.1 - low.1) * scale + 2.5,
        );
        cross(canvas, middle, half);
        return;
    }
    for (centre, _, _) in arcs(&part.path) {
        cross(canvas, (centre.0 * scale, -centre.1 * scale), (2.2, 2.2));
    }
}

/// Arcs of a path: centre in the plan, radius in mm, station of the middle.
fn arcs(path: &Path) -> Vec<(Point, f64, f64)> {
    let mut at = 0.0;
    let mut found = Vec::new();
    for piece in path.pieces() {
        let length = piece.length_mm();
        if let Piece::Arc { radius_mm, angle } = *piece {
            let middle = at + 0.5 * length;
            let centre = path.pose(middle).left(radius_mm * angle.signum());
            found.push((centre, radius_mm, middle));
        }
        at += length;
    }
    found
}

/// Radii of the path's arcs, each size once; of a circle the diameters say it.
pub(crate) fn radii(canvas: &mut Canvas, part: &Part, scale: f64) {
    if round(&part.path) {
        return;
    }
    let mut known: Vec<f64> = Vec::new();
    for (centre, radius, station) in arcs(&part.path) {
        if known.iter().any(|other| (other - radius).abs() < 1e-6) {
            continue;
        }
        known.push(radius);
        let tip = place(&part.path, station, 0.0, scale);
        let centre = (centre.0 * scale, -centre.1 * scale);
        let (dx, dy) = (tip.0 - centre.0, tip.1 - centre.1);
        let reach = dx.hypot(dy).max(1e-9);
        let (ux, uy) = (dx / reach, dy / reach);
        let tail = (tip.0 - 0.72 * reach * ux, tip.1 - 0.72 * reach * uy);
        canvas.line("thin", &[tail, tip]);
        canvas.head("tip", tip, (ux, uy), 2.2);
        canvas.keep_off((0..8).map(|k| {
            let share = f64::from(k) / 8.0;
            (
                tail.0 + (tip.0 - tail.0) * share,
                tail.1 + (tip.1 - tail.1) * share,
            )
        }));
        canvas.label(
            "",
            tail,
            (-ux, -uy),
            1.4,
            &format!("R{}", decimals(radius, 3)),
        );
    }
}

/// Names of the bosses with their stations, on the inner side of the frame where it is open.
pub(crate) fn boss_names(canvas: &mut Canvas, part: &Part, scale: f64) {
    for boss in &part.bosses {
        let half = 0.5 * boss.section.width_mm.max(part.section.width_mm);
        let from = place(&part.path, boss.station_mm, half, scale);
        let middle = place(&part.path, boss.station_mm, 0.0, scale);
        let station = decimals(boss.station_mm, 1);
        let words = format!("{}, s {station}", shortened(&boss.name, 16));
        canvas.label(
            "small",
            from,
            (from.0 - middle.0, from.1 - middle.1),
            1.6,
            &words,
        );
    }
}

/// Where the path starts, and which way it runs.
pub(crate) fn start_mark(canvas: &mut Canvas, part: &Part, scale: f64) {
    let pose = part.path.pose(0.0);
    let ahead = (pose.heading.cos(), -pose.heading.sin());
    let off = |side: f64| place(&part.path, 0.0, -side, scale);
    let half = 0.5 * part.section.width_mm;
    let near = off(half + 1.0 / scale);
    let far = off(half + 4.0 / scale);
    let tip = (far.0 + 4.0 * ahead.0, far.1 + 4.0 * ahead.1);
    canvas.line("thin", &[near, far, tip]);
    canvas.head("tip", tip, ahead, 1.8);
    canvas.keep_off([
        near,
        far,
        tip,
        (0.5 * (far.0 + tip.0), 0.5 * (far.1 + tip.1)),
    ]);
    let out = (far.0 - near.0, far.1 - near.1);
    canvas.label(
        "small",
        tip,
        (out.0 + ahead.0, out.1 + ahead.1),
        0.8,
        "s = 0",
    );
}

/// Governing places: a ring around each with its words.
pub(crate) fn places(
    canvas: &mut Canvas,
    part: &Part,
    governing: &[(&'static str, [f64; 2])],
    scale: f64,
) {
    let length = part.path.length_mm();
    let middle = [0, 1, 2, 3].map(|k| {
        let pose = part.path.pose(0.25 * f64::from(k) * length);
        (0.25 * pose.x, 0.25 * pose.y)
    });
    let (x, y) = middle
        .iter()
        .fold((0.0, 0.0), |sum, p| (sum.0 + p.0, sum.1 + p.1));
    for (words, at) in governing {
        if !at.iter().all(|v| v.is_finite()) {
            continue;
        }
        let point = (at[0] * scale, -at[1] * scale);
        canvas.circle("place", point, 1.8);
        canvas.label(
            "small",
            point,
            (x * scale - point.0, -y * scale - point.1),
            3.2,
            words,
        );
    }
}

/// Overall sizes; of a round frame outer and inner diameter.
pub(crate) fn sizes(
    canvas: &mut Canvas,
    part: &Part,
    runs: &[Run],
    low: Point,
    high: Point,
    scale: f64,
) {
    let round = round(&part.path);
    let sign = if round { "⌀" } else { "" };
    let (width, height) = (high.0 - low.0, high.1 - low.1);
    let middle = (
        0.5 * (low.0 + high.0) * scale,
        -0.5 * (low.1 + high.1) * scale,
    );
    let (left, right) = (low.0 * scale, high.0 * scale);
    let (top, bottom) = (-high.1 * scale, -low.1 * scale);
    // The extension lines of a round frame start at its sides, half way up.
    let foot = if round { middle.1 } else { bottom };
    let mut line = bottom + 8.0;
    if round {
        let most = runs
            .iter()
            .map(|run| run.section.width_mm)
            .fold(0.0, f64::max);
        let inner = part
            .path
            .pieces()
            .first()
            .map_or(0.0, |piece| match *piece {
                Piece::Arc { radius_mm, .. } => radius_mm - 0.5 * most,
                Piece::Line { .. } => 0.0,
            });
        if inner > 0.0 {
            let half = inner * scale;
            let ends = ((middle.0 - half, foot), (middle.0 + half, foot));
            canvas.dimension_across(
                ends.0,
                ends.1,
                line,
                &format!("⌀{}", decimals(2.0 * inner, 2)),
            );
            line += 6.5;
        }
    }
    canvas.dimension_across(
        (left, foot),
        (right, foot),
        line,
        &format!("{sign}{}", decimals(width, 2)),
    );
    if !round || (width - height).abs() > 0.01 {
        let x = canvas.extent().1.0.max(right) + 7.0;
        canvas.dimension_up((right, bottom), (right, top), x, &decimals(height, 2));
    }
}

/// Every hole row called out at one of its holes: `24 × ⌀4`, with the pitch.
pub(crate) fn hole_calls(canvas: &mut Canvas, part: &Part, layout: &Layout, scale: f64) {
    let mut taken: Vec<Point> = cuts(part, layout)
        .iter()
        .map(|cut| place(&part.path, cut.station_mm, 0.0, scale))
        .collect();
    for (index, row) in part.hole_rows.iter().enumerate() {
        let own: Vec<_> = layout
            .holes
            .iter()
            .filter(|hole| hole.row == index)
            .collect();
        // One that stands well away from cuts and other calls; of those, to the upper right.
        let merit = |station: f64| {
            let (x, y) = place(&part.path, station, 0.0, scale);
            let far = |other: &Point| (other.0 - x).hypot(other.1 - y).min(26.0);
            taken.iter().map(far).fold(26.0, f64::min) + 0.02 * (x - y)
        };
        let Some(hole) = own
            .iter()
            .max_by(|a, b| merit(a.station_mm).total_cmp(&merit(b.station_mm)))
        else {
            continue;
        };
        taken.push(place(&part.path, hole.station_mm, 0.0, scale));
        let half = 0.5 * part.section.width_mm;
        let across = match row.strip {
            StripName::Floor => hole.across_mm,
            StripName::InnerWall => half,
            StripName::OuterWall | StripName::Rib(_) => -half,
        };
        let from = place(&part.path, hole.station_mm, across, scale);
        let outward = if row.strip == StripName::InnerWall {
            1.0
        } else {
            -1.0
        };
        let edge = place(
            &part.path,
            hole.station_mm,
            outward * (half + 1.0 / scale),
            scale,
        );
        let (dx, dy) = match row.strip {
            StripName::Floor => (edge.0 - from.0, edge.1 - from.1),
            _ => {
                let middle = place(&part.path, hole.station_mm, 0.0, scale);
                (from.0 - middle.0, from.1 - middle.1)
            }
        };
        let long = dx.hypot(dy).max(1e-9);
        let (ux, uy) = (dx / long, dy / long);
        let start = if row.strip == StripName::Floor {
            0.5 * row.diameter_mm * scale
        } else {
            0.8
        };
        let tip = (from.0 + start * ux, from.1 + start * uy);
        let end = (edge.0 + 4.0 * ux, edge.1 + 4.0 * uy);
        canvas.line("thin", &[tip, end]);
        canvas.head("tip", tip, (-ux, -uy), 1.8);
        canvas.keep_off([end, (0.5 * (tip.0 + end.0), 0.5 * (tip.1 + end.1))]);
        let words = format!("{} × ⌀{}", own.len(), decimals(row.diameter_mm, 3));
        canvas.label("", end, (ux, uy), 0.8, &words);
    }
}

/// Scale bar, axes and notes below the drawing.
pub(crate) fn foot(canvas: &mut Canvas, part: &Part, layout: &Layout, size_mm: f64, scale: f64) {
    scale_bar(canvas, size_mm, scale);
    notes(canvas, part, layout);
}

fn scale_bar(canvas: &mut Canvas, size_mm: f64, scale: f64) {
    let rough = 0.3 * size_mm;
    let power = 10f64.powf(rough.log10().floor());
    let step = [5.0, 2.0, 1.0]
        .into_iter()
        .map(|lead| lead * power)
        .find(|&length| length <= rough)
        .unwrap_or(power);
    let ((left, _), (_, bottom)) = canvas.extent();
    axes(canvas, View::Plan, (left + 2.0, bottom + 12.0));
    let (x, y) = (left + 16.0, bottom + 11.0);
    let half = 0.5 * step * scale;
    canvas.line("wide", &[(x, y), (x + 2.0 * half, y)]);
    for tick in 0..3 {
        let at = x + half * f64::from(tick);
        canvas.line("thin", &[(at, y - 1.2), (at, y)]);
    }
    canvas.text("small", (x, y - 1.8), Anchor::Middle, "0");
    canvas.text(
        "small",
        (x + 2.0 * half, y - 1.8),
        Anchor::Middle,
        &format!("{} mm", decimals(step, 3)),
    );
    canvas.text(
        "small",
        (x + 2.0 * half + 9.0, y),
        Anchor::Start,
        &format!("scale {}", scale_words(scale)),
    );
}

/// One line of words for every hole row, slit and kind of bore.
fn notes(canvas: &mut Canvas, part: &Part, layout: &Layout) {
    let mut lines = Vec::new();
    for (index, row) in part.hole_rows.iter().enumerate() {
        let count = layout.holes.iter().filter(|hole| hole.row == index).count();
        lines.push(hole_words(row, count));
    }
    for boss in &part.bosses {
        if let Some(slits) = boss.section.slits {
            lines.push(slit_words(&boss.name, slits));
        }
    }
    let mut seen: Vec<(crate::part::Bore, usize)> = Vec::new();
    for bore in part.bosses.iter().filter_map(|boss| boss.bore) {
        match seen.iter_mut().find(|(known, _)| *known == bore) {
            Some((_, count)) => *count += 1,
            None => seen.push((bore, 1)),
        }
    }
    for (bore, count) in seen {
        let depth = match bore.depth_mm {
            None => "through".into(),
            Some(depth) => format!("{} deep", decimals(depth, 2)),
        };
        let fit = if bore.reamed { " H7" } else { "" };
        let wide = bore.counterbore.map_or(String::new(), |wide| {
            format!(
                ", counterbore ⌀{} × {}",
                decimals(wide.diameter_mm, 2),
                decimals(wide.depth_mm, 2)
            )
        });
        lines.push(format!(
            "{count} × ⌀{}{fit} {depth}{wide}, bores of bosses",
            decimals(bore.diameter_mm, 3)
        ));
    }
    let ((left, _), (_, bottom)) = canvas.extent();
    for (index, line) in lines.iter().enumerate() {
        let y = bottom + 5.0 + 4.0 * index as f64;
        canvas.text("small", (left, y), Anchor::Start, line);
    }
}

fn slit_words(name: &str, slits: Slits) -> String {
    format!(
        "{} × slit {}, {} wide, {} long",
        slits.count,
        shortened(name, 30),
        decimals(slits.width_mm, 3),
        decimals(slits.length_mm, 2)
    )
}

fn hole_words(row: &HoleRow, count: usize) -> String {
    let depth = match row.depth {
        Depth::Through => "through".into(),
        Depth::Blind(depth) => format!("{} deep", decimals(depth, 2)),
    };
    let rows = match row.rows {
        0 | 1 => String::new(),
        rows => format!(" in {rows} rows {} apart", decimals(row.row_gap_mm, 2)),
    };
    format!(
        "{count} × ⌀{} {depth}, row {} in the {}, pitch {}{rows}",
        decimals(row.diameter_mm, 3),
        shortened(&row.name, 30),
        row.strip.words(),
        decimals(row.pitch_mm, 3)
    )
}
