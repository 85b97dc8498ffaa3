//! Holes cut along their axis.

use super::ink::{Board, Pen, Point};
use crate::part::{Boss, Depth, Perforation, Strip, StripName, drill_point_height_mm};

/// A hole that is cut along its axis: outline, edges seen across it, ends of its centre line; in mm.
pub(crate) struct Void {
    pub(crate) outline: Vec<Point>,
    pub(crate) across: Vec<(Point, Point)>,
    pub(crate) axis: (Point, Point),
}

pub(crate) fn draw_void(
    board: &mut Board,
    metal: &mut Vec<Vec<Point>>,
    void: &Void,
    at: &dyn Fn(f64, f64) -> Point,
) {
    let place = |p: &Point| at(p.0, p.1);
    let outline: Vec<Point> = void.outline.iter().map(place).collect();
    board.polygon(Pen::Edge, &outline);
    metal.push(outline);
    for (a, b) in &void.across {
        board.line(Pen::Edge, place(a), place(b));
    }
    let (a, b) = (place(&void.axis.0), place(&void.axis.1));
    let long = (b.0 - a.0).hypot(b.1 - a.1).max(1e-9);
    let over = (2.0 * (b.0 - a.0) / long, 2.0 * (b.1 - a.1) / long);
    board.line(
        Pen::Centre,
        (a.0 - over.0, a.1 - over.1),
        (b.0 + over.0, b.1 + over.1),
    );
}

/// Holes of a row that the cut goes through: the lines in step with its first.
pub(crate) fn row_voids(strip: &Strip, hole: &Perforation) -> Vec<Void> {
    let lines = (0..hole.rows.max(1)).filter(|line| line % 2 == 0 || hole.stagger == 0.0);
    lines
        .map(|line| {
            let across = hole.offset_mm
                + (line as f64 - 0.5 * (hole.rows.max(1) as f64 - 1.0)) * hole.row_gap_mm;
            let (face, way, thick) = match strip.name {
                StripName::Floor => (strip.z_high, -1.0, strip.z_high - strip.z_low),
                StripName::InnerWall => (strip.y_high, -1.0, strip.y_high - strip.y_low),
                StripName::OuterWall | StripName::Rib(_) => {
                    (strip.y_low, 1.0, strip.y_high - strip.y_low)
                }
            };
            let place = |u: f64, v: f64| match strip.name {
                StripName::Floor => (across + u, face + way * v),
                _ => (face + way * v, across + u),
            };
            drilled(hole.diameter_mm, hole.depth, thick, &place)
        })
        .collect()
}

/// A drilled hole in (u across, v deep) put where `place` says.
pub(crate) fn drilled(
    diameter: f64,
    depth: Depth,
    thick: f64,
    place: &dyn Fn(f64, f64) -> Point,
) -> Void {
    let radius = 0.5 * diameter;
    let (outline, across, deep) = match depth {
        Depth::Through => (
            vec![
                place(-radius, 0.0),
                place(-radius, thick),
                place(radius, thick),
                place(radius, 0.0),
            ],
            Vec::new(),
            thick,
        ),
        Depth::Blind(depth) => {
            let tip = depth + drill_point_height_mm(diameter);
            (
                vec![
                    place(-radius, 0.0),
                    place(-radius, depth),
                    place(0.0, tip),
                    place(radius, depth),
                    place(radius, 0.0),
                ],
                vec![(place(-radius, depth), place(radius, depth))],
                tip,
            )
        }
    };
    Void {
        outline,
        across,
        axis: (place(0.0, 0.0), place(0.0, deep)),
    }
}

/// The bore of a boss with its counterbore.
pub(crate) fn bore_void(boss: &Boss) -> Void {
    let top = boss.bore_top_mm();
    let Some(bore) = boss.bore else {
        return Void {
            outline: Vec::new(),
            across: Vec::new(),
            axis: ((0.0, 0.0), (0.0, 0.0)),
        };
    };
    let radius = 0.5 * bore.diameter_mm;
    let mut right = vec![(radius, top)];
    let mut across = Vec::new();
    if let Some(wide) = bore.counterbore {
        let (wide, floor) = (0.5 * wide.diameter_mm, top - wide.depth_mm);
        right = vec![(wide, top), (wide, floor), (radius, floor)];
        across.push(((-radius, floor), (radius, floor)));
    }
    let bottom = match bore.depth_mm {
        None => {
            right.push((radius, 0.0));
            0.0
        }
        Some(depth) => {
            let tip = top - depth - drill_point_height_mm(bore.diameter_mm);
            right.extend([(radius, top - depth), (0.0, tip)]);
            across.push(((-radius, top - depth), (radius, top - depth)));
            tip
        }
    };
    let left: Vec<Point> = right
        .iter()
        .rev()
        .filter(|p| p.0 > 0.0)
        .map(|&(y, z)| (-y, z))
        .collect();
    Void {
        outline: right.into_iter().chain(left).collect(),
        across,
        axis: ((0.0, top), (0.0, bottom)),
    }
}
