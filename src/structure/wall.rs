//! Walls and ribs: how far a force on the free edge pushes them aside.

use super::Metal;
use super::plate::{Ends, long_wall, plate_stiffness_n_mm, short_wall};
use crate::part::{Depth, Layout, Perforation, Section, StripName};

/// Steps of length over height in the table of short walls, and how many.
const STEP: f64 = 0.25;
const STEPS: usize = 24;

/// How walls of a metal give: coefficients by length over height, worked out once.
#[derive(Clone, Debug, PartialEq)]
pub struct WallTable {
    metal: Metal,
    clamped: Vec<f64>,
    free: Vec<f64>,
    long: f64,
}

/// A wall or rib where it stands at one height: how it gives to a force on its free edge, square to its face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WallGive {
    /// Which.
    pub strip: StripName,
    /// Index of its section in [`Layout::sections`].
    pub section: usize,
    /// Where such a stretch begins, in mm along the path.
    pub station_mm: f64,
    /// Height above the floor, in mm.
    pub height_mm: f64,
    /// Thickness, in mm.
    pub thickness_mm: f64,
    /// Length over which it stands, in mm; infinite where it has no end.
    pub length_mm: f64,
    /// Whether metal as high as itself holds both ends.
    pub held: bool,
    /// Deflection of the free edge under the force, at the weakest place, in mm per N.
    pub give_mm_n: f64,
}

impl WallTable {
    /// The table for a metal.
    pub fn new(metal: &Metal) -> WallTable {
        let row = |ends| {
            (1..=STEPS)
                .map(|step| short_wall(STEP * step as f64, metal.poisson, ends))
                .collect()
        };
        WallTable {
            metal: *metal,
            clamped: row(Ends::Clamped),
            free: row(Ends::Free),
            long: long_wall(metal.poisson),
        }
    }

    /// Deflection over P H²/D of a wall of `length` and `height` in mm, at its weakest place.
    fn coefficient(&self, length: f64, height: f64, held: bool) -> f64 {
        if length == f64::INFINITY {
            return self.long;
        }
        let row = if held { &self.clamped } else { &self.free };
        let place = length / height / STEP - 1.0;
        if place < 0.0 && !held {
            // A narrow cantilever gives as 1/length.
            return row[0] / (place + 1.0);
        }
        let place = place.clamp(0.0, (STEPS - 1) as f64);
        let low = (place as usize).min(STEPS - 2);
        let value = row[low] + (place - low as f64) * (row[low + 1] - row[low]);
        if held { value.min(self.long) } else { value }
    }

    /// Every wall and rib of a layout, by strip and section: a plate clamped along its root.
    ///
    /// It ends where the next section has none, held there by metal as high as itself and otherwise free; other
    /// bosses change its height only. Curvature, which stiffens it, is left out. Drilled, it keeps the share of
    /// its stiffness that the holes leave of the pitch.
    pub fn gives(&self, layout: &Layout) -> Vec<WallGive> {
        let ribs = layout.sections.iter().map(|section| section.ribs.len());
        let names = [StripName::OuterWall, StripName::InnerWall]
            .into_iter()
            .chain((0..ribs.max().unwrap_or(0)).map(StripName::Rib));
        let mut gives = Vec::with_capacity(8);
        for name in names {
            self.strip(layout, name, &mut gives);
        }
        gives
    }

    fn strip(&self, layout: &Layout, name: StripName, gives: &mut Vec<WallGive>) {
        let count = layout.segments.len();
        let kind = |at: usize| &layout.kinds[layout.segments[at % count].kind];
        let section = |at: usize| &layout.sections[kind(at).section];
        let stands = |at: usize| standing(section(at), name);
        // Begin where a wall begins, so that no stretch of a closed path is cut in two.
        let first = if layout.closed {
            match (0..count).find(|&at| stands(at).is_none()) {
                None => {
                    return self.stretch(layout, name, (0, count), (f64::INFINITY, true), gives);
                }
                Some(gap) => gap + 1,
            }
        } else {
            0
        };
        let mut at = first;
        while at < first + count {
            if stands(at).is_none() {
                at += 1;
                continue;
            }
            let from = at;
            let (mut length, mut top) = (0.0, 0.0_f64);
            while at < first + count && stands(at).is_some() {
                length += kind(at).length_mm;
                top = top.max(section(at).floor_mm + stands(at).map_or(0.0, |wall| wall.0));
                at += 1;
            }
            let holds = |beside: usize| section(beside).floor_mm >= top - 1e-9;
            let before = layout.closed || from > 0;
            let after = layout.closed || at < count;
            let held = before && after && holds(from + count - 1) && holds(at);
            self.stretch(layout, name, (from, at), (length, held), gives);
        }
    }

    /// One entry for every section of a stretch of segments.
    fn stretch(
        &self,
        layout: &Layout,
        strip: StripName,
        (from, to): (usize, usize),
        (length_mm, held): (f64, bool),
        gives: &mut Vec<WallGive>,
    ) {
        // Kinds beyond the 64th are looked at every time they come.
        let mut seen = 0_u64;
        for at in from..to {
            let segment = &layout.segments[at % layout.segments.len()];
            let kind = &layout.kinds[segment.kind];
            let bit = 1_u64.checked_shl(segment.kind as u32).unwrap_or(0);
            if seen & bit != 0 {
                continue;
            }
            seen |= bit;
            let Some((height_mm, thickness_mm)) = standing(&layout.sections[kind.section], strip)
            else {
                continue;
            };
            let stiffness =
                plate_stiffness_n_mm(self.metal.modulus_mpa, self.metal.poisson, thickness_mm)
                    * left_by_holes(&kind.perforations, strip, thickness_mm);
            let coefficient = self.coefficient(length_mm, height_mm, held);
            let give = WallGive {
                strip,
                section: kind.section,
                station_mm: segment.start_mm,
                height_mm,
                thickness_mm,
                length_mm,
                held,
                give_mm_n: coefficient * height_mm * height_mm / stiffness,
            };
            let known = gives
                .iter_mut()
                .find(|known| known.strip == strip && known.section == kind.section);
            match known {
                Some(known) if known.give_mm_n >= give.give_mm_n => {}
                Some(known) => *known = give,
                None => gives.push(give),
            }
        }
    }
}

/// Height above the floor and thickness of a wall or rib, where the section has it.
fn standing(section: &Section, name: StripName) -> Option<(f64, f64)> {
    let (height, thickness) = match name {
        StripName::Floor => return None,
        StripName::OuterWall => section.outer_wall.map(|w| (w.height_mm, w.thickness_mm))?,
        StripName::InnerWall => section.inner_wall.map(|w| (w.height_mm, w.thickness_mm))?,
        StripName::Rib(index) => {
            let rib = section.ribs.get(index)?;
            (rib.height_mm, rib.thickness_mm)
        }
    };
    (height > section.floor_mm).then_some((height - section.floor_mm, thickness))
}

/// Share of a wall's bending stiffness up its height that its holes leave: of the pitch, over its whole height.
fn left_by_holes(perforations: &[Perforation], strip: StripName, thickness: f64) -> f64 {
    perforations
        .iter()
        .filter(|perforation| perforation.strip == strip)
        .map(|perforation| {
            let depth = match perforation.depth {
                Depth::Through => 1.0,
                Depth::Blind(depth) => (depth / thickness).min(1.0),
            };
            1.0 - depth * (perforation.diameter_mm / perforation.pitch_mm).min(0.95)
        })
        .fold(1.0, f64::min)
}
