//! Holes on the main view: call-outs, numbers, and the point from which the table measures.

use super::detail::Kind;
use super::dimension::{leader, slants};
use super::ink::{Anchor, LETTERS, Pen, Point, SMALL, words_room, words_width};
use super::plan::Plan;
use super::shape::strip;
use crate::drawing::lettering::Weight;
use crate::handoff::HoleRecord;
use crate::part::{Part, StripName};

/// Holes of a row that a call-out may point at, at most.
const MOST_TIPS: usize = 48;
/// Of more holes none has its number on the plan.
const MOST_NUMBERED: usize = 400;

impl Plan<'_> {
    /// Every kind of hole called out once, at the hole that leaves most room.
    pub(crate) fn calls(&mut self, kinds: &[Kind]) {
        for kind in kinds {
            let words = kind.call(self.fits);
            let tips = match (kind.row(), kind.boss()) {
                (Some(row), _) => self.row_tips(row),
                (_, Some(boss)) => self.bore_tips(boss),
                _ => Vec::new(),
            };
            leader(&mut self.board, &tips, &words);
        }
    }

    fn row_tips(&self, index: usize) -> Vec<(Point, Point)> {
        let (part, layout) = (self.facts.part, self.facts.layout);
        let row = &part.hole_rows[index];
        let mut tips = Vec::new();
        let own = || layout.holes.iter().filter(|hole| hole.row == index);
        let step = own().count().div_ceil(MOST_TIPS).max(1);
        for hole in own().step_by(step) {
            let half = 0.5 * part.section.width_mm;
            let across = match (row.strip, strip(&part.section, row.strip)) {
                (StripName::Floor, _) | (_, None) => hole.across_mm,
                (StripName::InnerWall, Some(strip)) => strip.y_high,
                (_, Some(strip)) => strip.y_low,
            };
            let centre = self.on(hole.station_mm, across);
            let edge = self.on(hole.station_mm, if across > 0.0 { half } else { -half });
            let out = (edge.0 - centre.0, edge.1 - centre.1);
            let radius = match row.strip {
                StripName::Floor => 0.5 * row.diameter_mm * self.scale,
                _ => 0.0,
            };
            tips.extend(rim(centre, radius, out));
        }
        tips
    }

    fn bore_tips(&self, index: usize) -> Vec<(Point, Point)> {
        let part = self.facts.part;
        let first = &part.bosses[index];
        let alike = part
            .bosses
            .iter()
            .filter(|b| b.bore == first.bore && b.section == first.section);
        let mut tips = Vec::new();
        for boss in alike {
            let Some(bore) = boss.bore else { continue };
            let size = bore
                .counterbore
                .map_or(bore.diameter_mm, |wide| wide.diameter_mm);
            let centre = self.on(boss.station_mm, 0.0);
            let out = self.on(boss.station_mm, -1.0);
            tips.extend(rim(
                centre,
                0.5 * size * self.scale,
                (out.0 - centre.0, out.1 - centre.1),
            ));
        }
        tips
    }

    /// Numbers of holes as the table has them: first and last of every group, where there is room.
    pub(crate) fn numbers(&mut self) {
        let (holes, part) = (self.facts.holes, self.facts.part);
        if holes.len() > MOST_NUMBERED {
            return;
        }
        let pitch = |hole: &HoleRecord| {
            let row = part
                .hole_rows
                .iter()
                .find(|row| format!("row {}", row.name) == hole.group);
            row.map_or(0.0, |row| 1.5 * row.pitch_mm)
        };
        let follows = |hole: &HoleRecord, way: f64| {
            let most = pitch(hole);
            holes.iter().any(|other| {
                let apart = way * (other.station_mm - hole.station_mm);
                other.group == hole.group && apart > 1e-6 && apart < most
            })
        };
        for hole in holes {
            if follows(hole, 1.0) && follows(hole, -1.0) {
                continue;
            }
            let centre = self.at((hole.at_mm[0], hole.at_mm[1]));
            let inward = part.path.pose(hole.station_mm).heading.to_degrees() + 90.0;
            let reach = 0.5 * hole.diameter_mm * self.scale;
            self.number(centre, reach, inward, &hole.number.to_string());
        }
    }

    fn number(&mut self, centre: Point, reach: f64, inward_deg: f64, words: &str) {
        let wide = words_width(SMALL, Weight::Regular, words);
        for gap in [1.2, 2.2, 3.4, 5.0] {
            for turn in 0..12 {
                let angle = 30.0 * f64::from(turn) + inward_deg;
                let (sin, cos) = angle.to_radians().sin_cos();
                let off = reach + gap + 0.5 * (wide * cos.abs() + 0.73 * SMALL * sin.abs());
                let middle = (centre.0 + off * cos, centre.1 - off * sin);
                let at = (middle.0 - 0.5 * wide, middle.1 + 0.36 * SMALL);
                if self.board.free(&words_room(at, (1.0, 0.0), SMALL, wide)) {
                    self.board.text(at, Anchor::Start, SMALL, words);
                    return;
                }
            }
        }
    }

    /// The point and axes from which the table measures.
    pub(crate) fn datum(&mut self) {
        let (x, y) = (0.0, 0.0);
        self.board.circle(Pen::Narrow, (x, y), 1.0);
        for (way, words) in [((1.0, 0.0), "X"), ((0.0, -1.0), "Y")] {
            let tip = (x + 9.0 * way.0, y + 9.0 * way.1);
            self.board.line(Pen::Narrow, (x, y), tip);
            self.board.head(tip, way);
            let wide = words_width(LETTERS, Weight::Regular, words);
            for (dx, dy) in [
                (2.0, -2.0),
                (2.0, 2.0),
                (-2.0, -2.0),
                (-2.0, 2.0),
                (3.0, 0.0),
                (-4.0, -3.0),
                (-4.0, 3.0),
                (4.0, -4.0),
                (4.0, 4.0),
                (0.0, -6.0),
                (0.0, 6.0),
                (-6.0, 0.0),
                (7.0, 5.0),
                (7.0, -5.0),
                (-7.0, 6.0),
                (-7.0, -6.0),
            ] {
                let middle = (tip.0 + dx, tip.1 + dy);
                let at = (middle.0 - 0.5 * wide, middle.1 + 0.36 * LETTERS);
                if self.board.free(&words_room(at, (1.0, 0.0), LETTERS, wide)) {
                    self.board.text(at, Anchor::Start, LETTERS, words);
                    break;
                }
            }
        }
    }
}

/// Points of a rim that a leader may touch, and its ways from there.
fn rim(centre: Point, radius: f64, out: Point) -> Vec<(Point, Point)> {
    slants(out)
        .into_iter()
        .map(|way| ((centre.0 + radius * way.0, centre.1 + radius * way.1), way))
        .collect()
}
/// Whether a part has any hole along the tool axis at all.
pub(crate) fn drilled(part: &Part) -> bool {
    !part.hole_rows.is_empty() || part.bosses.iter().any(|boss| boss.bore.is_some())
}
