//! Section of the frame, enlarged, hatched and dimensioned.

use super::canvas::{Anchor, Canvas, Point, pair};
use super::{scale_words, standard_scale};
use crate::drawing::text::{decimals, shortened};
use crate::part::{
    Boss, Depth, Perforation, Section, Strip, StripName, Wall, drill_point_height_mm,
};

/// Paper given to the section, in mm: across and up.
const ROOM_MM: (f64, f64) = (82.0, 62.0);
/// Distance between hatching lines on paper, in mm.
const HATCH_MM: f64 = 1.7;

/// Section seen along the path, outer side on the left, at an enlarged standard scale, with width, floor, wall
/// and rib dimensions in mm.
///
/// Through `perforations` the cut runs along the axes of the holes; pass none for a cut between holes. `title`
/// says which section it is. `key` makes the element names of this drawing its own on a page with several:
/// letters and digits.
pub fn section_view(
    section: &Section,
    perforations: &[Perforation],
    title: &str,
    key: &str,
) -> String {
    cut_view(section, perforations, None, title, key)
}

/// As [`section_view`], through the bore of a boss as well.
pub(crate) fn cut_view(
    section: &Section,
    perforations: &[Perforation],
    bored: Option<&Boss>,
    title: &str,
    key: &str,
) -> String {
    let across = standard_scale(section.width_mm, ROOM_MM.0);
    let scale = across.min(standard_scale(section.height_mm(), ROOM_MM.1));
    let mut canvas = Canvas::new();
    let strips = section.strips();
    canvas.raw(&format!(
        "<defs><pattern id='{key}h' width='{HATCH_MM}' height='{HATCH_MM}' patternUnits='userSpaceOnUse' \
         patternTransform='rotate(45)'><path class='hatch' d='M0 0v{HATCH_MM}'/></pattern></defs>"
    ));
    if section.slits.is_some() {
        for strip in &strips {
            outline(&mut canvas, std::slice::from_ref(strip), scale, key);
        }
    } else {
        outline(&mut canvas, &strips, scale, key);
    }
    for hole in perforations {
        if let Some(strip) = strips.iter().find(|strip| strip.name == hole.strip) {
            cut_holes(&mut canvas, strip, hole, scale);
        }
    }
    if let Some(boss) = bored {
        cut_bore(&mut canvas, boss, &strips, scale);
    }
    dimensions(&mut canvas, section, &strips, scale, bored.is_some());
    sizes_of_holes(&mut canvas, perforations, bored, &strips, scale);
    let ((left, top), _) = canvas.extent();
    let title = shortened(title, 44);
    let head = format!("{title}  ({})", scale_words(scale));
    canvas.text("", (left, top - 3.0), Anchor::Start, &head);
    let label = format!(
        "Section {title}, {} mm wide, {} mm high, scale {}",
        decimals(section.width_mm, 2),
        decimals(section.height_mm(), 2),
        scale_words(scale)
    );
    canvas.finish("drawing section", &label, 1.5)
}

/// Paper place of (y, z).
fn at(y: f64, z: f64, scale: f64) -> Point {
    (y * scale, -z * scale)
}

/// The cut body, hatched: all strips stand on the floor, so its outline is their skyline.
fn outline(canvas: &mut Canvas, strips: &[Strip], scale: f64, key: &str) {
    let Some(floor) = strips.iter().find(|strip| strip.name == StripName::Floor) else {
        return;
    };
    let mut standing: Vec<&Strip> = strips
        .iter()
        .filter(|strip| strip.name != StripName::Floor)
        .collect();
    standing.sort_by(|a, b| a.y_low.total_cmp(&b.y_low));
    let mut skyline = vec![(floor.y_low, 0.0), (floor.y_low, floor.z_high)];
    for strip in standing {
        skyline.push((strip.y_low, floor.z_high));
        skyline.push((strip.y_low, strip.z_high));
        skyline.push((strip.y_high, strip.z_high));
        skyline.push((strip.y_high, floor.z_high));
    }
    skyline.push((floor.y_high, floor.z_high));
    skyline.push((floor.y_high, 0.0));
    let corners: Vec<Point> = skyline.iter().map(|&(y, z)| at(y, z, scale)).collect();
    for ends in corners.windows(2) {
        let share = |k: i32| f64::from(k) / 12.0;
        let along = |k: i32| {
            let (a, b) = (ends[0], ends[1]);
            (a.0 + (b.0 - a.0) * share(k), a.1 + (b.1 - a.1) * share(k))
        };
        canvas.keep_off((0..=12).map(along));
    }
    skyline.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9);
    let mut commands = String::new();
    for (index, &(y, z)) in skyline.iter().enumerate() {
        commands.push(if index == 0 { 'M' } else { 'L' });
        commands += &pair(at(y, z, scale));
        canvas.grow(at(y, z, scale));
    }
    canvas.raw(&format!(
        "<path class='cut' fill='url(#{key}h)' d='{commands}z'/>"
    ));
}

/// Holes of a row that the cut goes through: those in step with its first line.
fn cut_holes(canvas: &mut Canvas, strip: &Strip, hole: &Perforation, scale: f64) {
    let radius = 0.5 * hole.diameter_mm;
    for line in 0..hole.rows.max(1) {
        let shifted = line % 2 == 1 && hole.stagger != 0.0;
        if shifted {
            continue;
        }
        let across = hole.offset_mm
            + (line as f64 - 0.5 * (hole.rows.max(1) as f64 - 1.0)) * hole.row_gap_mm;
        // (u, v): u across the hole, v into the metal from the drilled face.
        let (face, away) = match strip.name {
            StripName::Floor => (strip.z_high, -1.0),
            StripName::InnerWall => (strip.y_high, -1.0),
            StripName::OuterWall | StripName::Rib(_) => (strip.y_low, 1.0),
        };
        let thickness = match strip.name {
            StripName::Floor => strip.z_high - strip.z_low,
            _ => strip.y_high - strip.y_low,
        };
        let paper = |u: f64, v: f64| match strip.name {
            StripName::Floor => at(across + u, face + away * v, scale),
            _ => at(face + away * v, across + u, scale),
        };
        let mut corners = vec![paper(-radius, 0.0)];
        match hole.depth {
            Depth::Through => {
                corners.push(paper(-radius, thickness));
                corners.push(paper(radius, thickness));
            }
            Depth::Blind(depth) => {
                corners.push(paper(-radius, depth));
                corners.push(paper(0.0, depth + drill_point_height_mm(hole.diameter_mm)));
                corners.push(paper(radius, depth));
            }
        }
        corners.push(paper(radius, 0.0));
        let commands: Vec<String> = corners.iter().map(|&corner| pair(corner)).collect();
        canvas.path("void", &format!("M{}z", commands.join("L")));
        let over = 1.4 / scale;
        canvas.line("chain", &[paper(0.0, -over), paper(0.0, thickness + over)]);
    }
}

/// The bore of a boss, with its counterbore, in the middle of the section.
fn cut_bore(canvas: &mut Canvas, boss: &Boss, strips: &[Strip], scale: f64) {
    let Some(bore) = boss.bore else { return };
    let (top, radius) = (boss.bore_top_mm(), 0.5 * bore.diameter_mm);
    let mut corners = vec![(radius, top)];
    if let Some(wide) = bore.counterbore {
        let (wide, floor) = (0.5 * wide.diameter_mm, top - wide.depth_mm);
        corners = vec![(wide, top), (wide, floor), (radius, floor)];
    }
    let bottom = match bore.depth_mm {
        None => {
            corners.push((radius, 0.0));
            0.0
        }
        Some(depth) => {
            let tip = top - depth - drill_point_height_mm(bore.diameter_mm);
            corners.extend([(radius, top - depth), (0.0, tip)]);
            tip
        }
    };
    let left = corners.iter().rev().map(|(y, z)| (-y, *z));
    let around: Vec<String> = corners
        .iter()
        .copied()
        .chain(left)
        .map(|(y, z)| pair(at(y, z, scale)))
        .collect();
    if !strips.is_empty() {
        canvas.path("void", &format!("M{}z", around.join("L")));
    }
    let over = 1.4 / scale;
    canvas.line(
        "chain",
        &[at(0.0, top + over, scale), at(0.0, bottom - over, scale)],
    );
}

/// Diameters of the holes and the bore that the cut goes through.
fn sizes_of_holes(
    canvas: &mut Canvas,
    perforations: &[Perforation],
    bored: Option<&Boss>,
    strips: &[Strip],
    scale: f64,
) {
    for hole in perforations {
        let Some(strip) = strips.iter().find(|strip| strip.name == hole.strip) else {
            continue;
        };
        let across = hole.offset_mm - 0.5 * (hole.rows.max(1) as f64 - 1.0) * hole.row_gap_mm;
        let words = format!("⌀{}", decimals(hole.diameter_mm, 3));
        let (from, toward) = match strip.name {
            StripName::Floor => (at(across, strip.z_high, scale), (0.0, -1.0)),
            StripName::InnerWall => (at(strip.y_low, across, scale), (-1.0, 0.0)),
            StripName::OuterWall | StripName::Rib(_) => {
                (at(strip.y_high, across, scale), (1.0, 0.0))
            }
        };
        canvas.label("", from, toward, 2.4, &words);
    }
    if let Some((boss, bore)) = bored.and_then(|boss| Some((boss, boss.bore?))) {
        let fit = if bore.reamed { " H7" } else { "" };
        let words = format!("⌀{}{fit}", decimals(bore.diameter_mm, 3));
        canvas.label(
            "",
            at(0.0, boss.bore_top_mm(), scale),
            (0.0, -1.0),
            2.4,
            &words,
        );
    }
}

fn dimensions(canvas: &mut Canvas, section: &Section, strips: &[Strip], scale: f64, bored: bool) {
    let half = 0.5 * section.width_mm;
    let corner = |side: f64, z: f64| at(side * half, z, scale);
    if section.width_mm * scale > 34.0 {
        let names = [(-1.0, Anchor::Start, "outer"), (1.0, Anchor::End, "inner")];
        for (side, anchor, name) in names {
            let (x, y) = corner(side, 0.0);
            canvas.text("small", (x - 1.4 * side, y + 4.2), anchor, name);
        }
    }
    let width = decimals(section.width_mm, 3);
    canvas.dimension_across(corner(-1.0, 0.0), corner(1.0, 0.0), 10.0, &width);

    if let (Some(_), [first, second, ..]) = (section.slits, strips) {
        let line = -section.height_mm() * scale - 5.5;
        let across = |canvas: &mut Canvas, from: f64, to: f64, line: f64| {
            let ends = (
                at(from, section.floor_mm, scale),
                at(to, section.floor_mm, scale),
            );
            canvas.dimension_across(ends.0, ends.1, line, &decimals(to - from, 3));
        };
        across(canvas, first.y_low, first.y_high, line);
        across(canvas, first.y_high, second.y_low, line - 5.5);
    }

    let right = half * scale;
    let floor = decimals(section.floor_mm, 3);
    canvas.dimension_up(
        corner(1.0, 0.0),
        corner(1.0, section.floor_mm),
        right + 6.0,
        &floor,
    );
    let stands = |name: StripName| strips.iter().any(|strip| strip.name == name);
    let top = -section.height_mm() * scale;
    if let Some(wall) = section.outer_wall.filter(|_| stands(StripName::OuterWall)) {
        let height = decimals(wall.height_mm, 3);
        canvas.dimension_up(
            corner(-1.0, 0.0),
            corner(-1.0, wall.height_mm),
            -right - 6.0,
            &height,
        );
        thickness(canvas, -half, wall, scale, (top - 5.5, -1.0));
    }
    if let Some(wall) = section.inner_wall.filter(|_| stands(StripName::InnerWall)) {
        let height = decimals(wall.height_mm, 3);
        let x = right + 6.0 + 2.2 + 1.9 * floor.chars().count() as f64;
        canvas.dimension_up(corner(1.0, 0.0), corner(1.0, wall.height_mm), x, &height);
        thickness(
            canvas,
            half - wall.thickness_mm,
            wall,
            scale,
            (top - 5.5, 1.0),
        );
    }
    // Clear widths, which cutters must pass.
    for (from, to) in section.slots() {
        let ends = (
            at(from, section.height_mm(), scale),
            at(to, section.height_mm(), scale),
        );
        canvas.dimension_across(ends.0, ends.1, top - 5.5, &decimals(to - from, 3));
    }
    for (index, rib) in section.ribs.iter().enumerate() {
        if !stands(StripName::Rib(index)) {
            continue;
        }
        let (low, high) = (
            rib.offset_mm - 0.5 * rib.thickness_mm,
            rib.offset_mm + 0.5 * rib.thickness_mm,
        );
        let y = top - 11.0 - 5.5 * index as f64;
        canvas.dimension_across(
            at(low, rib.height_mm, scale),
            at(high, rib.height_mm, scale),
            y,
            &decimals(rib.thickness_mm, 3),
        );
        // Away from a bore, which stands in the middle.
        let side = if bored {
            if rib.offset_mm < 0.0 { -1.0 } else { 1.0 }
        } else {
            roomier_side(section, low, high)
        };
        let (x, top) = at(if side > 0.0 { high } else { low }, rib.height_mm, scale);
        let height = decimals(rib.height_mm, 3);
        canvas.dimension_up((x, 0.0), (x, top), x + 4.5 * side, &height);
    }
}

/// On which side of a rib there is more room in its slot: 1 toward the inner wall, -1 toward the outer.
fn roomier_side(section: &Section, low: f64, high: f64) -> f64 {
    let half = 0.5 * section.width_mm;
    let slots = section.slots();
    let right = slots.iter().find(|slot| (slot.0 - high).abs() < 1e-9);
    let left = slots.iter().find(|slot| (slot.1 - low).abs() < 1e-9);
    let right = right.map_or(half - high, |slot| slot.1 - slot.0);
    let left = left.map_or(low + half, |slot| slot.1 - slot.0);
    if right >= left { 1.0 } else { -1.0 }
}

fn thickness(canvas: &mut Canvas, y_low: f64, wall: Wall, scale: f64, (line, side): (f64, f64)) {
    canvas.dimension_beside(
        at(y_low, wall.height_mm, scale),
        at(y_low + wall.thickness_mm, wall.height_mm, scale),
        line,
        &decimals(wall.thickness_mm, 3),
        side,
    );
}
