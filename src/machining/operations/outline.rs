//! Outline: a slot around the part, inside and out, down to the table; inside corners with a smaller cutter where
//! need be; then a finish pass on its walls.

use super::walls::wall_step;
use crate::machining::bands::Band;
use crate::machining::job::{Job, Milling, parts};
use crate::machining::practice::{BREAKTHROUGH_MM, FINISH_ALLOWANCE_MM, SLOT_DEPTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Feature, Kind, Remark, Step, Tool};
use crate::part::Strip;

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let deep = job.height + BREAKTHROUGH_MM;
    for cutter in [job.outline_cutter, job.corner_cutter] {
        let remark = Remark::Deep(Feature::Outline, deep, cutter);
        if deep > job.shop.cutters[cutter].flute_length && !remarks.contains(&remark) {
            remarks.push(remark);
        }
    }
    let rough = slotting(job, Kind::OutlineRough, job.outline_cutter, deep);
    let mut step = around(job, &rough);
    step.width_mm = job.shop.cutters[rough.cutter].diameter;
    step.removed_mm3 = step.cut_length_mm * step.width_mm * rough.depth;
    steps.push(step);

    let length = job.corner_length();
    if job.corner_cutter != job.outline_cutter && length > 0.0 {
        steps.push(corners(job, length, deep));
    }

    let levels = job
        .bands
        .iter()
        .map(|band| parts(job.height, outside_step(job, band, remarks)));
    let levels = levels.fold(1.0, f64::max);
    let depth = job.height / levels;
    let gives = job.bands.iter().map(|band| outside_give(job, band, depth));
    let give = gives.fold(0.0, f64::max);
    let cutter = &job.shop.cutters[job.corner_cutter];
    let finish = Milling {
        kind: Kind::OutlineFinish,
        cutter: job.corner_cutter,
        cut: job.shop.mill(
            cutter,
            Engaged::new(depth, FINISH_ALLOWANCE_MM, deep).beside(give),
        ),
        low: 0.5 * cutter.diameter,
        levels,
        depth,
        ..rough
    };
    let mut step = around(job, &finish);
    step.width_mm = FINISH_ALLOWANCE_MM;
    step.removed_mm3 = step.cut_length_mm * FINISH_ALLOWANCE_MM * depth;
    steps.push(step);
}

/// A full slot, `deep` mm in levels; `low` is the distance of the cutter's centre from the finished edge.
fn slotting(job: &Job, kind: Kind, index: usize, deep: f64) -> Milling {
    let cutter = &job.shop.cutters[index];
    let levels = parts(deep, job.axial(index, SLOT_DEPTH, deep));
    Milling {
        kind,
        feature: Feature::Outline,
        cutter: index,
        cut: job
            .shop
            .mill(cutter, Engaged::new(deep / levels, cutter.diameter, deep)),
        low: 0.5 * cutter.diameter + FINISH_ALLOWANCE_MM,
        high: 0.0,
        passes: 2.0,
        levels,
        depth: deep / levels,
        ramped: false,
    }
}

/// The inside corners, `length` mm a level.
fn corners(job: &Job, length: f64, deep: f64) -> Step {
    let milling = slotting(job, Kind::Corners, job.corner_cutter, deep);
    let mut step = Step::new(
        milling.kind,
        milling.feature,
        Tool::EndMill(milling.cutter),
        0,
    );
    step.spindle_rpm = milling.cut.rpm;
    step.feed_mm_min = 60.0 * milling.cut.feed_mm_s;
    step.limit = milling.cut.limit;
    step.depth_mm = milling.depth;
    step.width_mm = job.shop.cutters[milling.cutter].diameter;
    step.count = milling.levels;
    step.cut_length_mm = length * milling.levels;
    step.cut_s = step.cut_length_mm / milling.cut.feed_mm_s;
    step.move_s = 4.0 * job.position(job.size, deep);
    step.removed_mm3 = step.cut_length_mm * step.width_mm * milling.depth;
    step
}

/// Both sides of the frame (two loops of a closed one, one loop with its ends of an open one), the cutter's
/// centre `milling.low` from the edge.
fn around(job: &Job, milling: &Milling) -> Step {
    let off = milling.low;
    let mut whole: Option<Step> = None;
    for band in &job.bands {
        let edge = band.half_width + off;
        let step = job.milled(
            band,
            Milling {
                low: -edge,
                high: edge,
                ..*milling
            },
        );
        whole = Some(whole.map_or(step, |before| before.and(&step)));
    }
    let mut step = whole.unwrap_or_else(|| {
        Step::new(
            milling.kind,
            milling.feature,
            crate::machining::step::Tool::Hand,
            0,
        )
    });
    let loops = if job.layout.closed { 2.0 } else { 1.0 };
    if !job.layout.closed {
        let ends: f64 = [job.layout.segments.first(), job.layout.segments.last()]
            .into_iter()
            .flatten()
            .map(|end| job.layout.sections[job.layout.kinds[end.kind].section].width_mm + 2.0 * off)
            .sum();
        step.cut_length_mm += milling.levels * ends;
        step.cut_s += milling.levels * ends / milling.cut.feed_mm_s;
    }
    step.count = loops * milling.levels;
    step.move_s = loops * job.position(job.size, job.height);
    step
}

/// Walls on the edges of a band.
fn edge_walls(band: &Band) -> impl Iterator<Item = &Strip> {
    let outer = band
        .standing
        .first()
        .filter(|wall| wall.y_low <= -band.half_width + 1e-9);
    let inner = band
        .standing
        .last()
        .filter(|wall| wall.y_high >= band.half_width - 1e-9);
    outer.into_iter().chain(inner)
}

/// Height in mm that may be finished at once on the slenderer of a band's edges.
fn outside_step(job: &Job, band: &Band, remarks: &mut Vec<Remark>) -> f64 {
    edge_walls(band)
        .map(|wall| wall_step(job, band, wall, job.corner_cutter, remarks))
        .fold(job.finish_depth(job.corner_cutter), f64::min)
}

/// Give in mm per N of the softer wall on a band's edges at the top of a step of `depth` mm.
fn outside_give(job: &Job, band: &Band, depth: f64) -> f64 {
    edge_walls(band)
        .map(|wall| {
            let free = depth.min(wall.z_high - wall.z_low);
            job.shop.wall_give(wall.y_high - wall.y_low, free)
        })
        .fold(0.0, f64::max)
}
