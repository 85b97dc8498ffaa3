//! Edges broken, by their length, from the top and from the underside.

use crate::machining::job::Job;
use crate::machining::practice::{EDGE_MM, SPOT_CHIP_MM};
use crate::machining::step::{Feature, Kind, Limit, Remark, Step, Tool};
use crate::machining::task::{Edges, Task};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    steps.push(edge_step(job, Feature::Top, 0));
    steps.push(edge_step(job, Feature::Underside, 1));
}

fn edge_step(job: &Job, feature: Feature, setup: usize) -> Step {
    let feed = (2.0 * SPOT_CHIP_MM * job.shop.spot_rpm / 60.0).min(job.shop.limits.feed);
    let under = setup == 1;
    let mut step = Step::new(Kind::EdgeBreak, feature, Tool::Spot, setup);
    step.limit = Limit::ChipLoad;
    step = step.with(job, Task::Edges(Edges { under, feed }));
    step.spindle_rpm = job.shop.spot_rpm;
    step.feed_mm_min = 60.0 * feed;
    step.depth_mm = EDGE_MM;
    step.width_mm = EDGE_MM;
    step.removed_mm3 = 0.5 * EDGE_MM * EDGE_MM * step.pass_length_mm;
    for band in &job.bands {
        let edges = if under || band.standing.is_empty() {
            2
        } else {
            2 * band.standing.len()
        };
        step.count += edges as f64 * band.stretches;
    }
    step
}
