//! Plan view: the frame seen along the tool axis.

use super::canvas::{Canvas, Point, number, pair};
use super::outline::{Run, band, edge, place, runs};
use super::{cuts, plan_notes, scale_words, standard_scale};
use crate::drawing::text::decimals;
use crate::part::{Hole, HoleRow, Layout, Part, Section, StripName};

/// Paper given to the larger extent of the frame, in mm.
const ROOM_MM: f64 = 118.0;

/// Plan view to scale: walls, floor, ribs, bosses, bores and every hole at its place with centre marks, centre lines,
/// sizes, the cuts of [`super::section_views`], start and axes, scale bar and a note for every hole row.
///
/// `layout` must be of `part`. `governing` are places to mark: words and (x, y) in mm. `key` makes the element names of
/// this drawing its own on a page with several: letters and digits.
///
/// One drawing can be laid over another: the frame itself is the group of class `part`, and its point (x, y) of the
/// plan, in mm, stands at (`data-x0` + x `data-scale`, `data-y0` - y `data-scale`) of the SVG element.
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

    canvas.raw("<g class='part'>");
    metal(&mut canvas, part, &runs, scale);
    holes(&mut canvas, part, layout, key, scale);
    bores(&mut canvas, part, scale);
    canvas.raw("</g>");
    obstacles(&mut canvas, part, &runs, scale);
    let length = part.path.length_mm();
    canvas.path("chain", &edge(&part.path, 0.0, length, 0.0, scale));
    plan_notes::centre_lines(&mut canvas, part, low, high, scale);
    cuts::marks(&mut canvas, part, layout, scale);
    plan_notes::start_mark(&mut canvas, part, scale);
    plan_notes::sizes(&mut canvas, part, &runs, low, high, scale);
    plan_notes::radii(&mut canvas, part, scale);
    plan_notes::boss_names(&mut canvas, part, scale);
    plan_notes::hole_calls(&mut canvas, part, layout, scale);
    plan_notes::places(&mut canvas, part, governing, scale);
    plan_notes::foot(&mut canvas, part, layout, width.max(height), scale);
    let label = format!(
        "Plan view, {} by {} mm, scale {}",
        decimals(width, 2),
        decimals(height, 2),
        scale_words(scale)
    );
    let data = format!(" data-x0='0' data-y0='0' data-scale='{}'", number(scale));
    canvas.finish_with("drawing plan", &label, 1.5, &data)
}

/// Points all over the frame, which labels keep off.
fn obstacles(canvas: &mut Canvas, part: &Part, runs: &[Run], scale: f64) {
    for run in runs {
        let span = run.to_mm - run.from_mm;
        let steps = (span * scale / 2.4).ceil().clamp(1.0, 400.0);
        for step in 0..=steps as usize {
            let station = run.from_mm + span * step as f64 / steps;
            let half = 0.5 * run.section.width_mm;
            let rows = (2.0 * half * scale / 2.4).ceil().clamp(2.0, 40.0);
            canvas.keep_off((0..=rows as usize).map(|row| {
                let y = half * (2.0 * row as f64 / rows - 1.0);
                place(&part.path, station, y, scale)
            }));
        }
    }
}

/// Extent of the frame in the plan, in mm: lower left and upper right.
pub(crate) fn bounds(part: &Part, runs: &[Run]) -> (Point, Point) {
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
pub(crate) fn metal(canvas: &mut Canvas, part: &Part, runs: &[Run], scale: f64) {
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
