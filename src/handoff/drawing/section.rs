//! Enlarged sections across the frame: cut faces hatched, what the cut goes through, their sizes.

use super::dimension::Linear;
use super::fits::Fits;
use super::hatch::hatched;
use super::ink::{Anchor, Board, LETTERS, Pen, Point, words_room, words_width};
use super::shape::heights;
use super::view::{View, titled};
use super::void::{bore_void, draw_void, row_voids};
use crate::drawing::Cut;
use crate::drawing::lettering::Weight;
use crate::drawing::text::decimals;
use crate::machining::tolerance::Dimension;
use crate::part::{Boss, Rib, Section, Strip, StripName};

/// A place that a detail shows larger: its letter, middle in (y, z) and radius, in mm.
pub(crate) struct Ring {
    pub(crate) letter: char,
    pub(crate) middle: Point,
    pub(crate) radius: f64,
}

/// The section of a cut at a scale. `main` is the frame's own: of another one only what differs is dimensioned.
pub(crate) fn section_view(
    cut: &Cut,
    (index, main): (usize, &Section),
    rings: &[Ring],
    fits: &Fits,
    scale: f64,
) -> View {
    let section = cut.section;
    let mut board = Board::default();
    let at = |y: f64, z: f64| (y * scale, -z * scale);
    let mut metal: Vec<Vec<Point>> = Vec::new();
    for shape in skyline(&bored(section, cut.bored)) {
        let shape: Vec<Point> = shape.into_iter().map(|(y, z)| at(y, z)).collect();
        board.polygon(Pen::Edge, &shape);
        metal.push(shape);
    }
    let strips = section.strips();
    for hole in &cut.perforations {
        if let Some(strip) = strips.iter().find(|strip| strip.name == hole.strip) {
            for void in row_voids(strip, hole) {
                draw_void(&mut board, &mut metal, &void, &at);
            }
        }
    }
    if let Some(boss) = cut.bored {
        draw_void(&mut board, &mut metal, &bore_void(boss), &at);
    }
    hatched(&mut board, &metal);
    for ring in rings {
        let middle = at(ring.middle.0, ring.middle.1);
        board.circle(Pen::Narrow, middle, ring.radius * scale + 1.5);
    }
    sizes(&mut board, cut, (index, main), fits, &at);
    for ring in rings {
        let middle = at(ring.middle.0, ring.middle.1);
        letter_beside(&mut board, middle, ring.radius * scale + 1.5, ring.letter);
    }
    titled(board, &format!("{0}–{0}", cut.letter), scale)
}

/// A section without what a bore takes away above the face that it starts from: sides of ribs that reach into it.
fn bored(section: &Section, boss: Option<&Boss>) -> Section {
    let mut left = section.clone();
    let Some((boss, bore)) = boss.and_then(|boss| Some((boss, boss.bore?))) else {
        return left;
    };
    let radius = 0.5
        * bore
            .counterbore
            .map_or(bore.diameter_mm, |wide| wide.diameter_mm);
    let top = boss.bore_top_mm();
    left.ribs = section
        .ribs
        .iter()
        .flat_map(|rib| {
            let (low, high) = (
                rib.offset_mm - 0.5 * rib.thickness_mm,
                rib.offset_mm + 0.5 * rib.thickness_mm,
            );
            let sides = match rib.height_mm > top {
                true => vec![(low, high.min(-radius)), (low.max(radius), high)],
                false => vec![(low, high)],
            };
            let rib = *rib;
            sides
                .into_iter()
                .filter(|(from, to)| to - from > 1e-9)
                .map(move |(from, to)| Rib {
                    offset_mm: 0.5 * (from + to),
                    thickness_mm: to - from,
                    ..rib
                })
        })
        .collect();
    left
}

/// The letter of a detail at its ring, where there is room.
fn letter_beside(board: &mut Board, middle: Point, radius: f64, letter: char) {
    let words = letter.to_string();
    let wide = words_width(4.4, Weight::Regular, &words);
    for gap in [2.6, 3.6, 5.0, 7.0, 10.0] {
        for turn in 0..24 {
            // From the upper right on.
            let angle = -0.8 + std::f64::consts::TAU * f64::from(turn) / 24.0;
            let (sin, cos) = angle.sin_cos();
            let at = (
                middle.0 + (radius + gap) * cos - 0.5 * wide,
                middle.1 + (radius + gap) * sin + 0.36 * 4.4,
            );
            if board.free(&words_room(at, (1.0, 0.0), 4.4, wide)) {
                board.words(at, (1.0, 0.0), Anchor::Start, 4.4, Weight::Regular, &words);
                return;
            }
        }
    }
    board.lost.push(words);
}

/// Outlines of the cut metal in (y, z): one, or one for each strip of a slit floor.
fn skyline(section: &Section) -> Vec<Vec<Point>> {
    let mut shapes: Vec<Vec<Point>> = Vec::new();
    let mut last = f64::NEG_INFINITY;
    for (low, high, top) in heights(section).into_iter().filter(|span| span.2 > 0.0) {
        if (low - last).abs() > 1e-9 || shapes.is_empty() {
            shapes.push(vec![(low, 0.0)]);
        }
        last = high;
        if let Some(shape) = shapes.last_mut() {
            // The foot moves on with the shape.
            if shape.len() > 1 {
                shape.pop();
            }
            shape.extend([(low, top), (high, top), (high, 0.0)]);
        }
    }
    for shape in &mut shapes {
        shape.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9);
    }
    shapes
}

/// What is measured from the underside and from the outer face.
fn sizes(
    board: &mut Board,
    cut: &Cut,
    (index, main): (usize, &Section),
    fits: &Fits,
    at: &dyn Fn(f64, f64) -> Point,
) {
    let section = cut.section;
    let half = 0.5 * section.width_mm;
    let (left, right, top) = (
        at(-half, 0.0).0,
        at(half, 0.0).0,
        at(0.0, section.height_mm()).1,
    );
    let own = index == 0;
    let differs = |a: f64, b: f64| own || (a - b).abs() > 1e-9;
    let across =
        |board: &mut Board, from: Point, to: Point, (over, lean): (bool, f64), words: &str| {
            let (away, reach) = if over {
                ((0.0, -1.0), -top)
            } else {
                ((0.0, 1.0), 0.0)
            };
            let (from, to) = (at(from.0, from.1), at(to.0, to.1));
            Linear {
                from,
                to,
                along: (1.0, 0.0),
                away,
                reach,
                words,
                lean,
            }
            .draw(board);
        };
    let up = |board: &mut Board, y: f64, z: f64, side: f64, words: &str| {
        let reach = if side > 0.0 { right } else { -left };
        let (from, to) = (at(y, 0.0), at(y, z));
        // Words that find no room between go below, where no other extension line passes.
        Linear {
            from,
            to,
            along: (0.0, -1.0),
            away: (side, 0.0),
            reach,
            words,
            lean: -1.0,
        }
        .draw(board);
    };
    let strips = section.strips();
    let stands = |name: StripName| strips.iter().find(|strip| strip.name == name);
    let walls = [
        (StripName::OuterWall, main.outer_wall, -1.0),
        (StripName::InnerWall, main.inner_wall, 1.0),
    ];
    let mut sides: Vec<(f64, f64, f64, String)> = Vec::new();
    if differs(section.floor_mm, main.floor_mm) {
        let words = fits.size(
            "",
            section.floor_mm,
            Dimension::Thickness(index, StripName::Floor),
        );
        sides.push((half, section.floor_mm, 1.0, words));
    }
    for (name, known, side) in walls {
        let Some(strip) = stands(name) else { continue };
        let thick = strip.y_high - strip.y_low;
        if differs(thick, known.map_or(0.0, |wall| wall.thickness_mm)) {
            let words = fits.size("", thick, Dimension::Thickness(index, name));
            across(
                board,
                (strip.y_low, strip.z_high),
                (strip.y_high, strip.z_high),
                (true, side),
                &words,
            );
        }
        if differs(strip.z_high, known.map_or(0.0, |wall| wall.height_mm)) {
            let words = fits.size("", strip.z_high, Dimension::Height(index, name));
            sides.push((side * half, strip.z_high, side, words));
        }
    }
    for (rib, each) in section.ribs.iter().enumerate() {
        let name = StripName::Rib(rib);
        let Some(strip) = stands(name) else { continue };
        if !own && main.ribs.get(rib) == Some(each) {
            continue;
        }
        let words = fits.size(
            "",
            strip.y_high - strip.y_low,
            Dimension::Thickness(index, name),
        );
        across(
            board,
            (strip.y_low, strip.z_high),
            (strip.y_high, strip.z_high),
            (true, 0.0),
            &words,
        );
        let from = stands(StripName::OuterWall).map_or(-half, |wall| wall.y_high);
        let base = stands(StripName::OuterWall).map_or(section.floor_mm, |wall| wall.z_high);
        if strip.y_low - from > 1e-6 {
            let words = decimals(strip.y_low - from, 3);
            across(
                board,
                (from, base),
                (strip.y_low, strip.z_high),
                (true, 0.0),
                &words,
            );
        }
        let side = if each.offset_mm < 0.0 { -1.0 } else { 1.0 };
        let edge = if side < 0.0 {
            strip.y_low
        } else {
            strip.y_high
        };
        let words = fits.size("", strip.z_high, Dimension::Height(index, name));
        sides.push((edge, strip.z_high, side, words));
    }
    // Holes across their strips: from the outer face, or from the underside.
    for hole in &cut.perforations {
        let first = hole.offset_mm - 0.5 * (hole.rows.max(1) as f64 - 1.0) * hole.row_gap_mm;
        if hole.strip == StripName::Floor {
            across(
                board,
                (-half, 0.0),
                (first, 0.0),
                (false, 0.0),
                &decimals(half + first, 3),
            );
        } else if let Some(strip) = stands(hole.strip) {
            let side = if hole.strip == StripName::InnerWall {
                1.0
            } else {
                -1.0
            };
            let y = if side > 0.0 {
                strip.y_high
            } else {
                strip.y_low
            };
            sides.push((y, first, side, decimals(first, 3)));
        }
    }
    // Shorter ones nearer to the part, so that extension lines cross no dimension line.
    sides.sort_by(|a, b| a.1.total_cmp(&b.1));
    for (y, z, side, words) in sides {
        up(board, y, z, side, &words);
    }
    if let Some(slits) = section.slits {
        let floors: Vec<&Strip> = strips
            .iter()
            .filter(|s| s.name == StripName::Floor)
            .collect();
        if let [first, second, ..] = floors[..] {
            let strip = format!(
                "{}× {}",
                floors.len(),
                decimals(first.y_high - first.y_low, 3)
            );
            across(
                board,
                (first.y_low, first.z_high),
                (first.y_high, first.z_high),
                (true, -1.0),
                &strip,
            );
            let slit = format!("{}× {}", slits.count, decimals(slits.width_mm, 3));
            across(
                board,
                (first.y_high, first.z_high),
                (second.y_low, second.z_high),
                (true, 1.0),
                &slit,
            );
        }
    }
    if differs(section.width_mm, main.width_mm) {
        let words = fits.size("", section.width_mm, Dimension::Width(index));
        across(board, (-half, 0.0), (half, 0.0), (false, 0.0), &words);
    }
    if own && section.width_mm > 0.0 {
        let y = at(0.0, 0.0).1 + 0.9 * LETTERS + 0.8;
        for (anchor, x, words) in [
            (Anchor::Start, left, "outer"),
            (Anchor::End, right, "inner"),
        ] {
            let wide = words_width(2.6, Weight::Regular, words);
            let from = if x == left { x + 1.0 } else { x - 1.0 - wide };
            let room = words_room((from, y), (1.0, 0.0), 2.6, wide);
            if right - left > 3.0 * wide && board.free(&room) {
                let x = if x == left { x + 1.0 } else { x - 1.0 };
                board.text((x, y), anchor, 2.6, words);
            }
        }
    }
}
