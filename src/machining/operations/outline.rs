//! Outline: a slot around the part, inside and out, down to the table; then a finish pass on its walls.

use super::walls::wall_step;
use crate::machining::job::{Band, Job, Milling};
use crate::machining::practice::{BREAKTHROUGH_MM, FINISH_ALLOWANCE_MM, SLOT_DEPTH};
use crate::machining::step::{Feature, Kind, Remark, Step};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let (cutter, height) = (job.outline_cutter, job.height);
    let diameter = job.shop.cutters[cutter].diameter;
    let deep = height + BREAKTHROUGH_MM;
    if deep > job.shop.cutters[cutter].flute_length {
        remarks.push(Remark::Deep(Feature::Outline, deep, cutter));
    }
    let levels = (deep / job.axial(cutter, SLOT_DEPTH, deep) - 1e-9).ceil();
    let mut rough = Milling {
        kind: Kind::OutlineRough,
        feature: Feature::Outline,
        cutter,
        cut: job
            .shop
            .mill(&job.shop.cutters[cutter], deep / levels, diameter),
        low: 0.5 * diameter + FINISH_ALLOWANCE_MM,
        high: 0.0,
        passes: 2.0,
        levels,
        depth: deep / levels,
        ramped: false,
    };
    let mut step = around(job, &mut rough);
    step.width_mm = diameter;
    step.removed_mm3 = step.cut_length_mm * diameter * rough.depth;
    steps.push(step);

    let levels = job
        .bands
        .iter()
        .map(|band| (height / outside_step(job, band, remarks) - 1e-9).ceil());
    let levels = levels.fold(1.0, f64::max);
    let mut finish = Milling {
        kind: Kind::OutlineFinish,
        cut: job.shop.mill(
            &job.shop.cutters[cutter],
            height / levels,
            FINISH_ALLOWANCE_MM,
        ),
        low: 0.5 * diameter,
        levels,
        depth: height / levels,
        ..rough
    };
    let mut step = around(job, &mut finish);
    step.width_mm = FINISH_ALLOWANCE_MM;
    step.removed_mm3 = step.cut_length_mm * FINISH_ALLOWANCE_MM * finish.depth;
    steps.push(step);
}

/// Both sides of the frame (two loops of a closed one, one loop with its ends of an open one), the cutter's
/// centre `milling.low` from the edge.
fn around(job: &Job, milling: &mut Milling) -> Step {
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

/// Height in mm that may be finished at once on the slenderer of a band's edges.
fn outside_step(job: &Job, band: &Band, remarks: &mut Vec<Remark>) -> f64 {
    let outer = band
        .standing
        .first()
        .filter(|wall| wall.y_low <= -band.half_width + 1e-9);
    let inner = band
        .standing
        .last()
        .filter(|wall| wall.y_high >= band.half_width - 1e-9);
    [outer, inner]
        .into_iter()
        .flatten()
        .map(|wall| wall_step(job, band, wall, job.outline_cutter, remarks))
        .fold(job.finish_depth(job.outline_cutter), f64::min)
}
