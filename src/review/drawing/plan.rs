//! Plan view: the frame seen along the tool axis.

use super::canvas::{Anchor, Canvas, Point, number, pair};
use super::outline::{Run, band, edge, place, runs};
use super::{scale_words, standard_scale};
use crate::part::{Depth, Hole, HoleRow, Layout, Part, Piece, Section, Slits, StripName};
use crate::review::text::{decimals, shortened};

/// Paper given to the larger extent of the frame, in mm.
const ROOM_MM: f64 = 118.0;

/// Plan view to scale: walls, floor, ribs, bosses, bores and every hole at its place with centre marks, overall
/// sizes, start of the path, scale bar and a note for every hole row.
///
/// `layout` must be of `part`. `governing` are places to mark: words and (x, y) in mm. `key` makes the element names of this drawing its own on a page with several:
/// letters and digits.
pub fn plan_view(
    part: &Part,
    layout: &Layout,
    governing: &[(&'static str, [f64; 2])],
    key: &str,
) -> String {
    let runs = runs(layout);
    let (low, high) = bounds(part, &runs);
    let (width, height) = (high.0 - low.0, high.1 - low.1);
    let scale = standard_scale(width.max(height), ROOM_MM);
    let mut canvas = Canvas::new();
    canvas.grow((low.0 * scale, -low.1 * scale));
    canvas.grow((high.0 * scale, -high.1 * scale));

    metal(&mut canvas, part, &runs, scale);
    holes(&mut canvas, part, layout, key, scale);
    bores(&mut canvas, part, scale);
    let length = part.path.length_mm();
    canvas.path("chain", &edge(&part.path, 0.0, length, 0.0, scale));
    boss_names(&mut canvas, part, scale);
    start_mark(&mut canvas, part, scale);
    places(&mut canvas, part, governing, scale);
    sizes(&mut canvas, part, low, high, scale);
    scale_bar(&mut canvas, width.max(height), scale);
    notes(&mut canvas, part, layout);
    let label = format!(
        "Plan view, {} by {} mm, scale {}",
        decimals(width, 2),
        decimals(height, 2),
        scale_words(scale)
    );
    canvas.finish("drawing plan", &label, 1.5)
}

/// Extent of the frame in the plan, in mm: lower left and upper right.
pub(super) fn bounds(part: &Part, runs: &[Run]) -> (Point, Point) {
    let mut low = (f64::INFINITY, f64::INFINITY);
    let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    for run in runs {
        let steps = (720.0 * (run.to_mm - run.from_mm) / part.path.length_mm()).ceil() as usize + 1;
        for step in 0..=steps {
            let station = run.from_mm + (run.to_mm - run.from_mm) * step as f64 / steps as f64;
            for side in [-0.5, 0.5] {
                let (x, y) = part.path.pose(station).left(side * run.section.width_mm);
                low = (low.0.min(x), low.1.min(y));
                high = (high.0.max(x), high.1.max(y));
            }
        }
    }
    if low.0 > high.0 {
        return ((0.0, 0.0), (1.0, 1.0));
    }
    (low, high)
}

/// Faces seen from above, the lower ones first.
pub(super) fn metal(canvas: &mut Canvas, part: &Part, runs: &[Run], scale: f64) {
    let tallest = runs
        .iter()
        .map(|run| run.section.height_mm())
        .fold(0.0, f64::max);
    let (mut below, mut above) = (String::new(), String::new());
    for run in runs {
        for strip in run.section.strips() {
            let outline = band(&part.path, run, strip.y_low, strip.y_high, scale);
            if strip.name == StripName::Floor && strip.z_high < 0.6 * tallest {
                below += &outline;
            } else {
                above += &outline;
            }
        }
    }
    canvas.raw("<g fill-rule='evenodd'>");
    for (class, outline) in [("low", below), ("top", above)] {
        if !outline.is_empty() {
            canvas.path(class, &outline);
        }
    }
    canvas.raw("</g>");
}

/// Every drilled hole: circles in the floor, centre lines across walls and ribs.
fn holes(canvas: &mut Canvas, part: &Part, layout: &Layout, key: &str, scale: f64) {
    for (index, row) in part.hole_rows.iter().enumerate() {
        let own = layout.holes.iter().filter(|hole| hole.row == index);
        if row.strip == StripName::Floor {
            let radius = 0.5 * row.diameter_mm * scale;
            let reach = (1.35 * radius).max(radius + 0.4);
            // One marker a row, set at every corner of an invisible chain: a hole costs a dozen characters.
            canvas.raw(&format!(
                "<defs><marker id='{key}r{index}' markerUnits='userSpaceOnUse' markerWidth='{w}' markerHeight='{w}' \
                 overflow='visible'><circle class='void' r='{}'/><path class='cross' d='M-{r} 0h{w}M0-{r}v{w}'/>\
                 </marker></defs>",
                number(radius),
                r = number(reach),
                w = number(2.0 * reach),
            ));
            let centres: Vec<String> = own
                .map(|hole| pair(place(&part.path, hole.station_mm, hole.across_mm, scale)))
                .collect();
            if !centres.is_empty() {
                canvas.raw(&format!(
                    "<path class='holes' fill='none' d='M{}' marker-start='url(#{key}r{index})' \
                     marker-mid='url(#{key}r{index})' marker-end='url(#{key}r{index})'/>",
                    centres.join("L")
                ));
            }
        } else {
            let mut commands = String::new();
            for hole in own {
                commands += &cross_mark(part, layout, row, hole, scale);
            }
            canvas.path("thin", &commands);
        }
    }
}

/// Centre line of a hole in a wall or rib, seen from above.
fn cross_mark(part: &Part, layout: &Layout, row: &HoleRow, hole: &Hole, scale: f64) -> String {
    let section = section_at(part, layout, hole.station_mm);
    let strip = section
        .strips()
        .into_iter()
        .find(|strip| strip.name == row.strip);
    let Some(strip) = strip else {
        return String::new();
    };
    let over = 0.8 / scale;
    let from = place(&part.path, hole.station_mm, strip.y_low - over, scale);
    let to = place(&part.path, hole.station_mm, strip.y_high + over, scale);
    format!("M{}L{}", pair(from), pair(to))
}

fn section_at<'a>(part: &'a Part, layout: &'a Layout, station: f64) -> &'a Section {
    layout
        .segments
        .iter()
        .rev()
        .find(|segment| segment.start_mm <= station)
        .map_or(&part.section, |segment| {
            &layout.sections[layout.kinds[segment.kind].section]
        })
}

fn bores(canvas: &mut Canvas, part: &Part, scale: f64) {
    for boss in &part.bosses {
        let Some(bore) = boss.bore else { continue };
        let centre = place(&part.path, boss.station_mm, 0.0, scale);
        let radius = 0.5 * bore.diameter_mm * scale;
        if let Some(wide) = bore.counterbore {
            canvas.circle("thin", centre, 0.5 * wide.diameter_mm * scale);
        }
        canvas.circle("void", centre, radius);
        let reach = 1.4 * radius + 0.5;
        canvas.path(
            "cross",
            &format!(
                "M{}h{}M{}v{}",
                pair((centre.0 - reach, centre.1)),
                number(2.0 * reach),
                pair((centre.0, centre.1 - reach)),
                number(2.0 * reach)
            ),
        );
    }
}

/// Names of the bosses, on the inner side of the frame where it is open.
fn boss_names(canvas: &mut Canvas, part: &Part, scale: f64) {
    for boss in &part.bosses {
        let pose = part.path.pose(boss.station_mm);
        let inward = (-pose.heading.sin(), -pose.heading.cos());
        let clear = 0.5 * boss.section.width_mm.max(part.section.width_mm) + 2.2 / scale;
        let (x, y) = place(&part.path, boss.station_mm, clear, scale);
        let anchor = if inward.0 > 0.5 {
            Anchor::Start
        } else if inward.0 < -0.5 {
            Anchor::End
        } else {
            Anchor::Middle
        };
        let drop = 1.0 + 1.1 * inward.1;
        canvas.text("small", (x, y + drop), anchor, &shortened(&boss.name, 16));
    }
}

/// Where the path starts, and which way it runs.
fn start_mark(canvas: &mut Canvas, part: &Part, scale: f64) {
    let pose = part.path.pose(0.0);
    let ahead = (pose.heading.cos(), -pose.heading.sin());
    let off = |side: f64| place(&part.path, 0.0, -side, scale);
    let half = 0.5 * part.section.width_mm;
    let near = off(half + 1.0 / scale);
    let far = off(half + 4.0 / scale);
    let tip = (far.0 + 4.0 * ahead.0, far.1 + 4.0 * ahead.1);
    canvas.line("thin", &[near, far, tip]);
    canvas.head("tip", tip, ahead, 1.8);
    let out = (far.0 - near.0, far.1 - near.1);
    let anchor = if out.0 > 1.0 {
        Anchor::Start
    } else if out.0 < -1.0 {
        Anchor::End
    } else {
        Anchor::Middle
    };
    let at = (
        far.0 + 0.4 * out.0,
        far.1 + 0.55 * out.1 + if out.1 > 1.0 { 2.4 } else { 1.0 },
    );
    canvas.text("small", at, anchor, "s = 0");
}

/// Governing places: a ring around each, with a leader from the inner side of the frame to its words.
fn places(canvas: &mut Canvas, part: &Part, governing: &[(&'static str, [f64; 2])], scale: f64) {
    let length = part.path.length_mm();
    let middle = [0, 1, 2, 3].map(|k| {
        let pose = part.path.pose(0.25 * f64::from(k) * length);
        (0.25 * pose.x, 0.25 * pose.y)
    });
    let (x, y) = middle
        .iter()
        .fold((0.0, 0.0), |sum, p| (sum.0 + p.0, sum.1 + p.1));
    for (index, (words, at)) in governing.iter().enumerate() {
        if !at.iter().all(|v| v.is_finite()) {
            continue;
        }
        let point = (at[0] * scale, -at[1] * scale);
        canvas.circle("place", point, 1.8);
        let (dx, dy) = (x * scale - point.0, -y * scale - point.1);
        let far = dx.hypot(dy).max(1e-9);
        let reach = (0.45 * far).clamp(6.0, 14.0) + 4.0 * index as f64;
        let (ux, uy) = (dx / far, dy / far);
        let tip = (point.0 + reach * ux, point.1 + reach * uy);
        canvas.line("thin", &[(point.0 + 1.8 * ux, point.1 + 1.8 * uy), tip]);
        let anchor = if ux > 0.0 { Anchor::Start } else { Anchor::End };
        let side = if ux > 0.0 { 0.6 } else { -0.6 };
        canvas.text("small", (tip.0 + side, tip.1 + 0.9), anchor, words);
    }
}

fn sizes(canvas: &mut Canvas, part: &Part, low: Point, high: Point, scale: f64) {
    let round = part.path.closed()
        && part
            .path
            .pieces()
            .iter()
            .all(|piece| matches!(piece, Piece::Arc { .. }));
    let sign = if round { "⌀" } else { "" };
    let (width, height) = (high.0 - low.0, high.1 - low.1);
    let middle = (
        0.5 * (low.0 + high.0) * scale,
        -0.5 * (low.1 + high.1) * scale,
    );
    let (left, right) = (low.0 * scale, high.0 * scale);
    let (top, bottom) = (-high.1 * scale, -low.1 * scale);
    let line = canvas.extent().1.1.max(bottom) + 8.0;
    // The extension lines of a round frame start at its sides, half way up.
    let foot = if round { middle.1 } else { bottom };
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

fn scale_bar(canvas: &mut Canvas, size_mm: f64, scale: f64) {
    let rough = 0.3 * size_mm;
    let power = 10f64.powf(rough.log10().floor());
    let step = [5.0, 2.0, 1.0]
        .into_iter()
        .map(|lead| lead * power)
        .find(|&length| length <= rough)
        .unwrap_or(power);
    let ((left, _), (_, bottom)) = canvas.extent();
    let (x, y) = (left, bottom + 5.0);
    let half = 0.5 * step * scale;
    canvas.line("wide", &[(x, y), (x + 2.0 * half, y)]);
    for tick in 0..3 {
        let at = x + half * f64::from(tick);
        canvas.line("thin", &[(at, y - 1.2), (at, y)]);
    }
    canvas.text("small", (x, y - 1.8), Anchor::Start, "0");
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
