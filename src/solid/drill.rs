//! What is drilled: rows of holes line by line, and bores, each with the band of the section that its pattern
//! of elements fills.

use super::mesh_error::MeshError;
use crate::part::{Depth, Layout, Part, StripName, drill_point_height_mm};

/// Metal that a hole needs to its neighbours and to edges to be meshed, in mm.
pub(super) const LEAST_METAL_MM: f64 = 0.02;

/// Which way a hole goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Axis {
    /// Along the tool axis, through the floor.
    Tool,
    /// Across the frame, through a wall or rib.
    Across,
}

/// Equal holes at one height or offset of the section.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Drill {
    pub name: String,
    pub row: Option<usize>,
    pub line: usize,
    pub axis: Axis,
    pub radius: f64,
    /// `y` of the axis for holes along the tool axis, `z` for those across.
    pub centre: f64,
    /// `z` where the full diameter of a blind hole ends.
    pub bottom: Option<f64>,
    /// Whether the drill point is meshed below the bottom; else the bottom is flat.
    pub pointed: bool,
    /// The strip's faces (`y` from, to) for holes across.
    pub faces: (f64, f64),
    /// Band (from, to) in `y` along the tool axis, in `z` across.
    pub band: (f64, f64),
    /// Half the pitch, in mm; infinite for a bore.
    pub half_pitch: f64,
}

/// A hole at its place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed {
    pub drill: usize,
    pub station: f64,
    /// How far it reaches along the path to either side, in mm.
    pub reach: f64,
}

impl Drill {
    /// How far it reaches along a path of a signed curvature, in mm.
    pub fn reach(&self, curvature: f64) -> f64 {
        let at = |y: f64| {
            let share = curvature * self.radius / (1.0 - curvature * y);
            if share.abs() < 1e-9 {
                self.radius / (1.0 - curvature * y)
            } else {
                (share.clamp(-1.0, 1.0).asin() / curvature).abs()
            }
        };
        match self.axis {
            Axis::Tool => at(self.centre),
            Axis::Across => at(self.faces.0).max(at(self.faces.1)),
        }
    }

    /// Whether two drills use the same part of the section.
    pub fn shares(&self, other: &Drill) -> bool {
        let overlap = |a: (f64, f64), b: (f64, f64)| a.0.max(b.0) < a.1.min(b.1) - 1e-6;
        self.axis == other.axis
            && overlap(self.band, other.band)
            && (self.axis == Axis::Tool || overlap(self.faces, other.faces))
    }
}

/// Rows, line by line, with their bands.
///
/// # Errors
/// [`MeshError`].
pub(super) fn rows(part: &Part, layout: &Layout) -> Result<Vec<Drill>, MeshError> {
    let strips = part.section.strips();
    let mut drills = Vec::new();
    for (index, row) in part.hole_rows.iter().enumerate() {
        let Some(strip) = strips.iter().find(|strip| strip.name == row.strip) else {
            continue;
        };
        let axis = if row.strip == StripName::Floor {
            Axis::Tool
        } else {
            Axis::Across
        };
        let bottom = match row.depth {
            Depth::Through => None,
            Depth::Blind(_) if axis == Axis::Across => {
                return Err(MeshError::BlindInWall {
                    name: row.name.clone(),
                });
            }
            Depth::Blind(depth) => Some(strip.z_high - depth),
        };
        if let Some(metal_mm) = bottom.filter(|&left| left < LEAST_METAL_MM) {
            return Err(MeshError::NoSkin {
                name: row.name.clone(),
                metal_mm,
            });
        }
        for line in 0..row.rows {
            let Some(hole) = layout
                .holes
                .iter()
                .find(|hole| hole.row == index && hole.line == line)
            else {
                continue;
            };
            let band = match axis {
                Axis::Tool => (strip.y_low, strip.y_high),
                Axis::Across => (strip.z_low, strip.z_high),
            };
            drills.push(Drill {
                name: row.name.clone(),
                row: Some(index),
                line,
                axis,
                radius: 0.5 * row.diameter_mm,
                centre: hole.across_mm,
                bottom,
                pointed: bottom.is_some_and(|left| pointed(left, row.diameter_mm)),
                faces: (strip.y_low, strip.y_high),
                band,
                half_pitch: 0.5 * row.pitch_mm,
            });
        }
    }
    let standing: Vec<(f64, f64)> = strips
        .iter()
        .filter(|strip| strip.name != StripName::Floor)
        .map(|strip| (strip.y_low, strip.y_high))
        .collect();
    let rooms = (0..drills.len())
        .map(|at| room(&drills, at, &standing))
        .collect::<Result<Vec<_>, _>>()?;
    for (drill, room) in drills.iter_mut().zip(rooms) {
        drill.band = narrowed(drill, room);
    }
    Ok(drills)
}

/// Whether enough metal, `left` mm under the full diameter, remains for the drill point to be meshed.
fn pointed(left: f64, diameter: f64) -> bool {
    let skin = left - drill_point_height_mm(diameter);
    skin > LEAST_METAL_MM && skin > 0.1 * left
}

/// The room of a drill: to the strip's edges, to strips standing on it, halfway to neighbouring lines.
fn room(drills: &[Drill], at: usize, standing: &[(f64, f64)]) -> Result<(f64, f64), MeshError> {
    let drill = &drills[at];
    let (mut low, mut high) = drill.band;
    let mut stop = |from: f64, to: f64| {
        if 0.5 * (from + to) < drill.centre {
            low = low.max(to);
        } else {
            high = high.min(from);
        }
    };
    if drill.axis == Axis::Tool {
        for &(from, to) in standing {
            stop(from, to);
        }
    }
    for other in drills {
        let apart = (other.centre - drill.centre).abs();
        let metal = apart - other.radius - drill.radius;
        if other.axis == drill.axis && other.faces == drill.faces && metal > 2.0 * LEAST_METAL_MM {
            let edge = drill.radius + 0.5 * metal;
            let edge = drill.centre + edge * (other.centre - drill.centre).signum();
            stop(edge, edge);
        }
    }
    let metal_mm = (drill.centre - low).min(high - drill.centre) - drill.radius;
    if !(metal_mm >= LEAST_METAL_MM) {
        return Err(MeshError::HoleCutsEdge {
            name: drill.name.clone(),
            metal_mm,
        });
    }
    Ok((low, high))
}

/// The band: all the room, or about as wide as half the pitch to either side where there is much more; no more
/// than three radii, or the pattern about a lone hole would be too coarse at its edge.
fn narrowed(drill: &Drill, room: (f64, f64)) -> (f64, f64) {
    let aim = drill
        .half_pitch
        .clamp(1.25 * drill.radius, 3.0 * drill.radius);
    let side = |room: f64| if room < 1.5 * aim { room } else { aim };
    (
        drill.centre - side(drill.centre - room.0),
        drill.centre + side(room.1 - drill.centre),
    )
}

/// Bores of bosses, one for each boss that has one; their bands are [`bore_band`]'s to choose.
///
/// # Errors
/// [`MeshError::NoSkin`], [`MeshError::HoleCutsEdge`].
pub(super) fn bores(part: &Part) -> Result<Vec<(usize, Drill)>, MeshError> {
    let mut bores = Vec::new();
    for (index, boss) in part.bosses.iter().enumerate() {
        let Some(bore) = boss.bore else { continue };
        let radius = 0.5 * bore.diameter_mm;
        let half = 0.5 * boss.section.width_mm;
        let metal_mm = half.min(0.5 * boss.length_mm) - radius;
        if !(metal_mm >= LEAST_METAL_MM) {
            return Err(MeshError::HoleCutsEdge {
                name: boss.name.clone(),
                metal_mm,
            });
        }
        let bottom = bore.depth_mm.map(|depth| boss.section.height_mm() - depth);
        if let Some(metal_mm) = bottom.filter(|&left| left < LEAST_METAL_MM) {
            return Err(MeshError::NoSkin {
                name: boss.name.clone(),
                metal_mm,
            });
        }
        bores.push((
            index,
            Drill {
                name: boss.name.clone(),
                row: None,
                line: 0,
                axis: Axis::Tool,
                radius,
                centre: 0.0,
                bottom,
                pointed: bottom.is_some_and(|left| pointed(left, bore.diameter_mm)),
                faces: (-half, half),
                band: (-half, half),
                half_pitch: f64::INFINITY,
            },
        ));
    }
    Ok(bores)
}

/// Band of a bore among the grid's lines, or beside them where none suits: strips' edges near the circle
/// where there are any, so that a strip that stands over the bore is cut truly.
pub(super) fn bore_band(radius: f64, edges: &[f64], lines: &[f64]) -> (f64, f64) {
    let near = |sign: f64| {
        let nearest = |candidates: &[f64], from: f64| {
            candidates
                .iter()
                .map(|&y| sign * y)
                .filter(|&y| y >= from)
                .fold(f64::INFINITY, f64::min)
        };
        let edge = nearest(edges, radius + LEAST_METAL_MM);
        if edge <= 2.4 * radius {
            return sign * edge;
        }
        let line = nearest(lines, 1.35 * radius);
        if line <= 2.4 * radius {
            return sign * line;
        }
        if edge < f64::INFINITY {
            return sign * edge.min(1.7 * radius);
        }
        // Only an edge closer than that: the section's own.
        sign * edges.iter().map(|&y| sign * y).fold(0.0, f64::max)
    };
    (near(-1.0), near(1.0))
}
