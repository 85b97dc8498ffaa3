//! The part as the cutters meet it: which cutter goes where.

use super::bands::{Band, Pocket, bands, whole};
use super::practice::*;
use super::shop::Shop;
use super::step::{Feature, Remark};
use super::task::WHOLE;
use crate::part::{Boss, Layout, Part, Piece, StripName};

/// Everything the operations are planned from.
pub(super) struct Job<'a> {
    pub part: &'a Part,
    pub layout: &'a Layout,
    pub shop: &'a Shop,
    pub bands: Vec<Band>,
    /// The whole path as one band, as wide as its widest section.
    pub whole: Band,
    /// Whether the frame is equally wide all along.
    pub even: bool,
    /// Turn of the whole path, in rad.
    pub turn: f64,
    /// Height of the faced billet, in mm.
    pub height: f64,
    /// Middle distance of a positioning move over the part, in mm.
    pub size: f64,
    /// Cutter that roughs the outline.
    pub outline_cutter: usize,
    /// Cutter that finishes the outline and fits its sharpest bend.
    pub corner_cutter: usize,
    /// Width of the narrowest slot less the smallest cutter's diameter, in mm; infinite without a slot.
    pub cutter_gap: f64,
    pub remarks: Vec<Remark>,
}

impl<'a> Job<'a> {
    pub(super) fn new(part: &'a Part, layout: &'a Layout, shop: &'a Shop) -> Job<'a> {
        let size = if layout.closed {
            layout.length_mm / std::f64::consts::PI
        } else {
            0.5 * layout.length_mm
        };
        let bands = bands(layout);
        let half_width = bands.iter().map(|band| band.half_width).fold(0.0, f64::max);
        let mut job = Job {
            part,
            layout,
            shop,
            whole: whole(layout, half_width),
            even: bands.iter().all(|band| band.half_width == half_width),
            turn: 0.0,
            bands,
            height: 0.0,
            size,
            outline_cutter: 0,
            corner_cutter: 0,
            cutter_gap: f64::INFINITY,
            remarks: Vec::new(),
        };
        job.turn = job
            .whole
            .runs
            .iter()
            .map(|run| run.length * run.curvature)
            .sum();
        job.height = job.bands.iter().map(Band::height).fold(0.0, f64::max);
        job.choose_outline_cutters();
        job.find_pockets();
        job
    }

    /// The roughing cutter must enter the inside of the frame, the finishing cutter its sharpest bend.
    fn choose_outline_cutters(&mut self) {
        let half_width = self.whole.half_width;
        let (mut room, mut bend) = (f64::INFINITY, f64::INFINITY);
        for piece in self.part.path.pieces() {
            if let Piece::Arc { radius_mm, angle } = *piece {
                let inside = radius_mm - half_width;
                bend = bend.min(inside);
                if angle.abs() > CORNER_RAD {
                    room = room.min(inside);
                }
            }
        }
        let widest = |radius: f64| {
            self.shop
                .widest_within((2.0 * radius / CORNER_ROOM).min(OUTLINE_CUTTER_MM))
        };
        (self.outline_cutter, self.corner_cutter) =
            (widest(room).unwrap_or(0), widest(bend).unwrap_or(0));
        if 2.0 * bend < self.shop.cutters[0].diameter {
            self.remarks.push(Remark::SharpBend(bend));
        }
    }

    /// Inside radius in mm and turn in rad of every bend that is a corner rather than the end of a room.
    pub(super) fn sharp_bends(&self) -> impl Iterator<Item = (f64, f64)> {
        let half_width = self.whole.half_width;
        self.part
            .path
            .pieces()
            .iter()
            .filter_map(move |piece| match *piece {
                Piece::Arc { radius_mm, angle } if angle.abs() <= CORNER_RAD => {
                    Some(((radius_mm - half_width).max(0.0), angle))
                }
                _ => None,
            })
    }

    /// A band by its place, or the whole path as one.
    pub(super) fn band(&self, at: usize) -> &Band {
        if at == WHOLE {
            &self.whole
        } else {
            &self.bands[at]
        }
    }

    /// Widths in mm of an open frame at its ends.
    pub(super) fn end_widths(&self) -> impl Iterator<Item = f64> {
        let segments = &self.layout.segments;
        [segments.first(), segments.last()]
            .into_iter()
            .flatten()
            .map(|end| self.layout.sections[self.layout.kinds[end.kind].section].width_mm)
    }

    /// Whether a boss lies between two stations in mm, by the shorter way of a closed path.
    pub(super) fn boss_between(&self, from: f64, to: f64) -> bool {
        let length = self.layout.length_mm;
        let (mut low, mut high) = (from.min(to), from.max(to));
        if self.layout.closed && high - low > 0.5 * length {
            (low, high) = (high, low + length);
        }
        self.part.bosses.iter().any(|boss| {
            let at = boss.station_mm;
            [at - length, at, at + length]
                .iter()
                .any(|at| low < *at && *at < high)
        })
    }

    /// A boss and those after it with the same bore and section.
    pub(super) fn bosses_alike(&self, first: usize) -> impl Iterator<Item = &'a Boss> {
        let bosses = &self.part.bosses[first..];
        bosses
            .iter()
            .filter(move |other| other.bore == bosses[0].bore && other.section == bosses[0].section)
    }

    fn find_pockets(&mut self) {
        let mut bands = std::mem::take(&mut self.bands);
        for band in &mut bands {
            let count = band.standing.len();
            for place in 0..=count {
                let left = place.checked_sub(1);
                let right = (place < count).then_some(place);
                let low = left.map_or(-band.half_width, |wall| band.standing[wall].y_high);
                let high = right.map_or(band.half_width, |wall| band.standing[wall].y_low);
                let slot = left.is_some() && right.is_some();
                let smallest = self.shop.cutters[0].diameter;
                if slot {
                    self.cutter_gap = self.cutter_gap.min(high - low - smallest);
                }
                let floor = band.floor;
                if high - low <= 1e-9 || self.height - floor <= 1e-9 {
                    continue;
                }
                let feature = if slot {
                    Feature::Slot(band.section, place - 1)
                } else {
                    Feature::OpenSide(band.section, place)
                };
                let cutter = if slot {
                    self.slot_cutter(feature, high - low)
                } else {
                    self.outline_cutter
                };
                let depth = self.height - floor;
                if depth > self.shop.cutters[cutter].reach {
                    self.remarks.push(Remark::Deep(feature, depth, cutter));
                }
                band.pockets.push(Pocket {
                    feature,
                    low,
                    high,
                    walls: [left, right],
                    cutter,
                });
            }
        }
        self.bands = bands;
    }

    /// The widest cutter that leaves room for a finish pass on both sides; else the widest that fits; else the
    /// smallest, with a remark.
    fn slot_cutter(&mut self, feature: Feature, width: f64) -> usize {
        self.shop
            .widest_within(width - 2.0 * FINISH_ALLOWANCE_MM)
            .or_else(|| self.shop.widest_within(width))
            .unwrap_or_else(|| {
                self.remarks.push(Remark::Narrow(feature, width));
                0
            })
    }

    /// Depth of cut in mm of a cutter that reaches `reach` mm down: `share` of its diameter, less where the
    /// reach is long.
    pub(super) fn axial(&self, cutter: usize, share: f64, reach: f64) -> f64 {
        let diameter = self.shop.cutters[cutter].diameter;
        let stiff = (PLAIN_REACH * diameter / reach).clamp(LEAST_REACH_SHARE, 1.0);
        share * diameter * stiff
    }

    /// Height in mm of a finish pass: twice the diameter, within the flutes.
    pub(super) fn finish_depth(&self, cutter: usize) -> f64 {
        let cutter = &self.shop.cutters[cutter];
        (FINISH_DEPTH * cutter.diameter).min(cutter.flute_length)
    }

    /// Thickness of a strip of the frame's own section in mm; 0 where it has none.
    pub(super) fn strip_thickness(&self, name: StripName) -> f64 {
        let section = &self.layout.sections[0];
        match name {
            StripName::Floor => section.floor_mm,
            StripName::OuterWall => section.outer_wall.map_or(0.0, |wall| wall.thickness_mm),
            StripName::InnerWall => section.inner_wall.map_or(0.0, |wall| wall.thickness_mm),
            StripName::Rib(index) => section.ribs.get(index).map_or(0.0, |rib| rib.thickness_mm),
        }
    }
}

/// The fewest equal parts of `whole` that are not greater than `most`; at least one.
pub(super) fn parts(whole: f64, most: f64) -> f64 {
    (whole / most - 1e-9).ceil().max(1.0)
}
