//! Facing of the billet, top and underside, along the frame with the widest cutter in stock.

use crate::machining::job::{Job, parts};
use crate::machining::practice::{FACE_ALLOWANCE_MM, FLOOR_WIDTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Feature, Kind, Remark, Step, Tool};
use crate::machining::task::{Along, Entry, Task, WHOLE};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    let index = job.shop.cutters.len() - 1;
    let cutter = &job.shop.cutters[index];
    let half = job.whole.half_width;
    let passes = parts(2.0 * half, FLOOR_WIDTH * cutter.diameter);
    let share = (2.0 * half / passes).min(cutter.diameter);
    let cut = job
        .shop
        .mill(cutter, Engaged::new(FACE_ALLOWANCE_MM, share, 0.0));
    let task = Along {
        band: WHOLE,
        low: 0.5 * share - half,
        high: half - 0.5 * share,
        passes,
        levels: 1.0,
        depth: FACE_ALLOWANCE_MM,
        bottom: job.height,
        first_feed: cut.feed_mm_s,
        feed: cut.feed_mm_s,
        clear: (-half, half),
        radius: 0.5 * cutter.diameter,
        beyond: 0.5 * cutter.diameter,
        entry: Entry::Ramp,
    };
    let mut step = Step::new(Kind::Face, Feature::Top, Tool::EndMill(index), 0)
        .cutting(&cut)
        .with(job, Task::Along(task));
    step.count = passes;
    step.depth_mm = FACE_ALLOWANCE_MM;
    step.width_mm = share;
    step.removed_mm3 = job.whole.area(-half, half) * FACE_ALLOWANCE_MM;
    steps.push(step);
    steps.push(Step {
        feature: Feature::Underside,
        setup: 1,
        ..step
    });
}
