//! The part as the cutters meet it: which cutter goes where, how long its ways are, and how long they take.

use super::bands::{Band, Pocket, bands};
use super::motion::{arc_speed_mm_s, move_s};
use super::practice::*;
use super::shop::{Cut, Shop};
use super::step::{Feature, Kind, Limit, Remark, Step, Tool};
use crate::part::{Layout, Part, Piece, StripName};

/// Everything the operations are planned from.
pub(super) struct Job<'a> {
    pub part: &'a Part,
    pub layout: &'a Layout,
    pub shop: &'a Shop,
    pub bands: Vec<Band>,
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

/// What [`Job::milled`] needs to know.
pub(super) struct Milling {
    pub kind: Kind,
    pub feature: Feature,
    pub cutter: usize,
    pub cut: Cut,
    /// Offsets of the outermost passes.
    pub low: f64,
    pub high: f64,
    /// Passes on each level.
    pub passes: f64,
    pub levels: f64,
    /// Depth of cut.
    pub depth: f64,
    /// Whether the cutter ramps into every stretch on every level.
    pub ramped: bool,
}

/// A cutter's way at several offsets from the path.
pub(super) struct Way {
    pub length: f64,
    pub time: f64,
    /// Whether a bend held the feed back on most of it.
    pub bent: bool,
}

impl<'a> Job<'a> {
    pub(super) fn new(part: &'a Part, layout: &'a Layout, shop: &'a Shop) -> Job<'a> {
        let size = if layout.closed {
            layout.length_mm / std::f64::consts::PI
        } else {
            0.5 * layout.length_mm
        };
        let mut job = Job {
            part,
            layout,
            shop,
            bands: bands(layout),
            height: 0.0,
            size,
            outline_cutter: 0,
            corner_cutter: 0,
            cutter_gap: f64::INFINITY,
            remarks: Vec::new(),
        };
        job.height = job.bands.iter().map(Band::height).fold(0.0, f64::max);
        job.choose_outline_cutters();
        job.find_pockets();
        job
    }

    /// The roughing cutter must enter the inside of the frame, the finishing cutter its sharpest bend.
    fn choose_outline_cutters(&mut self) {
        let half_width = self
            .bands
            .iter()
            .map(|band| band.half_width)
            .fold(0.0, f64::max);
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

    /// Length in mm along the inside of bends too sharp for the roughing cutter: the bend, and what the cutter
    /// leaves on both sides of it.
    pub(super) fn corner_length(&self) -> f64 {
        let half_width = self
            .bands
            .iter()
            .map(|band| band.half_width)
            .fold(0.0, f64::max);
        let rough = 0.5 * self.shop.cutters[self.outline_cutter].diameter;
        let corner = |piece: &Piece| match *piece {
            Piece::Arc { radius_mm, angle } if angle.abs() <= CORNER_RAD => {
                let inside = (radius_mm - half_width).max(0.0);
                let beside = rough - inside;
                if beside > 0.0 {
                    inside * angle.abs() + 2.0 * beside * (0.5 * angle.abs()).tan()
                } else {
                    0.0
                }
            }
            _ => 0.0,
        };
        self.part.path.pieces().iter().map(corner).sum()
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
                if depth > self.shop.cutters[cutter].flute_length {
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

    /// Area in mm² that a band covers from y `low` to `high`.
    pub(super) fn area(&self, band: &Band, low: f64, high: f64) -> f64 {
        let middle = 0.5 * (low + high);
        let along = band
            .runs
            .iter()
            .map(|run| run.length * (1.0 - run.curvature * middle).max(0.0));
        along.sum::<f64>() * (high - low)
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

    /// The way of a cutter along a band at `passes` offsets spread evenly from `low` to `high`.
    pub(super) fn way(&self, band: &Band, low: f64, high: f64, passes: f64, feed: f64) -> Way {
        // More passes than this are summed from samples: their lengths are linear in the offset.
        let samples = passes.min(16.0);
        let step = if samples > 1.0 {
            (high - low) / (samples - 1.0)
        } else {
            0.0
        };
        let start = if samples > 1.0 {
            low
        } else {
            0.5 * (low + high)
        };
        let acceleration = self.shop.limits.acceleration_xy;
        // From rest to rest over a stretch, the top speed is bounded by √(a s).
        let stretch = band.length / band.stretches;
        let top = feed.min((acceleration * stretch).sqrt());
        let (mut length, mut time, mut bent) = (0.0, 0.0, 0.0);
        for sample in 0..samples as usize {
            let y = start + sample as f64 * step;
            for run in &band.runs {
                let along = run.length * (1.0 - run.curvature * y).max(0.0);
                let mut speed = top;
                if run.curvature != 0.0 {
                    let radius = (1.0 / run.curvature - y).abs();
                    if top * top > acceleration * radius {
                        speed = arc_speed_mm_s(radius, acceleration);
                        bent += along;
                    }
                }
                length += along;
                time += if along > 0.0 { along / speed } else { 0.0 };
            }
        }
        let scale = passes / samples;
        Way {
            length: scale * length,
            time: scale * time + passes * band.stretches * top / acceleration,
            bent: bent > 0.5 * length,
        }
    }

    /// Time in s to retract, travel `distance` mm in the plane and come down to `depth` mm below the top.
    pub(super) fn position(&self, distance: f64, depth: f64) -> f64 {
        let limits = &self.shop.limits;
        let lift = move_s(
            depth + limits.clearance,
            limits.rapid_z,
            limits.acceleration_z,
        );
        2.0 * lift + move_s(distance, limits.rapid_xy, limits.acceleration_xy)
    }

    /// Positioning moves to every stretch of a band.
    pub(super) fn reach(&self, band: &Band, depth: f64) -> f64 {
        let gap = (self.layout.length_mm - band.length).max(0.0) / band.stretches;
        self.position(self.size, depth) + (band.stretches - 1.0) * self.position(gap, depth)
    }

    /// A milling step over one band; time, length and condition are filled in, width and metal removed are
    /// the caller's.
    pub(super) fn milled(&self, band: &Band, milling: Milling) -> Step {
        let Milling {
            kind,
            feature,
            cutter,
            cut,
            low,
            high,
            passes,
            levels,
            depth,
            ramped,
        } = milling;
        let mut step = Step::new(kind, feature, Tool::EndMill(cutter), 0);
        let way = self.way(band, low, high, passes, cut.feed_mm_s);
        step.count = passes * levels;
        step.cut_length_mm = levels * way.length;
        step.cut_s = levels * way.time;
        if passes > 1.0 {
            let over = (high - low) / (passes - 1.0);
            let links = (passes - 1.0) * band.stretches * levels;
            step.cut_s += links * move_s(over, cut.feed_mm_s, self.shop.limits.acceleration_xy);
        }
        if ramped {
            let ramp = band.stretches * levels * depth / RAMP_DEG.to_radians().tan();
            step.cut_length_mm += ramp;
            step.cut_s += ramp / (0.5 * cut.feed_mm_s);
        }
        step.spindle_rpm = cut.rpm;
        step.feed_mm_min = 60.0 * cut.feed_mm_s;
        step.depth_mm = depth;
        step.limit = if way.bent {
            Limit::Acceleration
        } else {
            cut.limit
        };
        step
    }
}

/// The fewest equal parts of `whole` that are not greater than `most`; at least one.
pub(super) fn parts(whole: f64, most: f64) -> f64 {
    (whole / most - 1e-9).ceil().max(1.0)
}
