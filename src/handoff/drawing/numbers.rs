//! Holes with their numbers: those of the rows in order, then the bores of the bosses.

use super::ink::Point;
use super::shape::{circle, plan, section_at, strip};
use crate::part::{Depth, Layout, Part, StripName};

/// A hole as the table has it; lengths in mm from the plan's origin, the underside at z = 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Numbered {
    /// From 1.
    pub number: usize,
    /// Centre of the hole on the face that it is drilled from, (x, y) in the plan.
    pub at: (f64, f64),
    /// Height of that centre: of the drilled face for holes along the tool axis, of the axis for holes in walls.
    pub z: f64,
    /// Direction from the frame's centre, in degrees from the x axis; only of round frames.
    pub polar_deg: Option<f64>,
    /// Direction in which it is drilled, in degrees from the x axis; `None` along the tool axis, downwards.
    pub axis_deg: Option<f64>,
    /// Diameter.
    pub diameter: f64,
    /// Depth of the full diameter; `None` where it goes through.
    pub depth: Option<f64>,
    /// Diameter and depth of the counterbore.
    pub counterbore: Option<(f64, f64)>,
    /// Index of the hole's row in [`Part::hole_rows`], or of its boss in [`Part::bosses`].
    pub of: Owner,
    /// Whether it is the first or last of holes at one pitch.
    pub(crate) ends_group: bool,
    /// Direction into the frame's inside, in rad.
    pub(crate) inward: f64,
}

/// What a hole belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Owner {
    /// A hole row, by its index.
    Row(usize),
    /// The bore of a boss, by its index.
    Boss(usize),
}

/// An angle in degrees within one turn, a whole turn as nothing.
fn turn(degrees: f64) -> f64 {
    let angle = degrees.rem_euclid(360.0);
    if angle > 360.0 - 1e-9 { 0.0 } else { angle }
}

/// All holes of a part in the order of their numbers.
pub fn numbered_holes(part: &Part, layout: &Layout) -> Vec<Numbered> {
    let middle = circle(&part.path).map(|(centre, _)| centre);
    let polar = |at: Point| {
        middle.map(|centre| turn((at.1 - centre.1).atan2(at.0 - centre.0).to_degrees()))
    };
    let mut found: Vec<(f64, usize, Numbered)> = Vec::new();
    for (k, hole) in layout.holes.iter().enumerate() {
        let row = &part.hole_rows[hole.row];
        let section = section_at(layout, hole.station_mm);
        let heading = part.path.pose(hole.station_mm).heading;
        let left = heading + 0.5 * std::f64::consts::PI;
        let (across, z, axis) = match (row.strip, strip(section, row.strip)) {
            (StripName::Floor, _) | (_, None) => (hole.across_mm, section.floor_mm, None),
            // Walls are drilled from outside.
            (StripName::InnerWall, Some(strip)) => (
                strip.y_high,
                hole.across_mm,
                Some(left + std::f64::consts::PI),
            ),
            (_, Some(strip)) => (strip.y_low, hole.across_mm, Some(left)),
        };
        let at = plan(&part.path, hole.station_mm, across);
        let follows = |other: Option<&crate::part::Hole>| {
            other.is_some_and(|other| {
                (other.row, other.line) == (hole.row, hole.line)
                    && (other.station_mm - hole.station_mm).abs() < 1.5 * row.pitch_mm
            })
        };
        let before = k.checked_sub(1).and_then(|k| layout.holes.get(k));
        found.push((
            hole.station_mm,
            hole.row,
            Numbered {
                number: 0,
                at,
                z,
                polar_deg: polar(at),
                axis_deg: axis.map(|axis| turn(axis.to_degrees())),
                diameter: row.diameter_mm,
                depth: match row.depth {
                    Depth::Through => None,
                    Depth::Blind(depth) => Some(depth),
                },
                counterbore: None,
                of: Owner::Row(hole.row),
                ends_group: !follows(before) || !follows(layout.holes.get(k + 1)),
                inward: left,
            },
        ));
    }
    for (index, boss) in part.bosses.iter().enumerate() {
        let Some(bore) = boss.bore else { continue };
        let at = plan(&part.path, boss.station_mm, 0.0);
        found.push((
            boss.station_mm,
            part.hole_rows.len() + index,
            Numbered {
                number: 0,
                at,
                z: boss.bore_top_mm(),
                polar_deg: polar(at),
                axis_deg: None,
                diameter: bore.diameter_mm,
                depth: bore.depth_mm,
                counterbore: bore
                    .counterbore
                    .map(|wide| (wide.diameter_mm, wide.depth_mm)),
                of: Owner::Boss(index),
                ends_group: true,
                inward: part.path.pose(boss.station_mm).heading + 0.5 * std::f64::consts::PI,
            },
        ));
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let numbered = found.into_iter().enumerate();
    numbered
        .map(|(k, (_, _, hole))| Numbered {
            number: k + 1,
            ..hole
        })
        .collect()
}
