//! Edges broken, by their length, from the top and from the underside.

use crate::machining::bands::Band;
use crate::machining::job::Job;
use crate::machining::practice::{EDGE_MM, SPOT_CHIP_MM};
use crate::machining::step::{Feature, Kind, Limit, Remark, Step, Tool};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    let mut top = edge_step(job, Feature::Top, 0);
    let mut under = edge_step(job, Feature::Underside, 1);
    for band in &job.bands {
        if band.standing.is_empty() {
            along(job, band, band.half_width, &mut top);
            along(job, band, -band.half_width, &mut top);
        }
        for wall in &band.standing {
            along(job, band, wall.y_low, &mut top);
            along(job, band, wall.y_high, &mut top);
        }
        along(job, band, band.half_width, &mut under);
        along(job, band, -band.half_width, &mut under);
    }
    steps.push(top);
    steps.push(under);
}

fn edge_step(job: &Job, feature: Feature, setup: usize) -> Step {
    let feed = (2.0 * SPOT_CHIP_MM * job.shop.spot_rpm / 60.0).min(job.shop.limits.feed);
    let mut step = Step::new(Kind::EdgeBreak, feature, Tool::Spot, setup);
    step.spindle_rpm = job.shop.spot_rpm;
    step.feed_mm_min = 60.0 * feed;
    step.depth_mm = EDGE_MM;
    step.width_mm = EDGE_MM;
    step.limit = Limit::ChipLoad;
    step
}

/// One edge of a band at `y`.
fn along(job: &Job, band: &Band, y: f64, step: &mut Step) {
    let way = job.way(band, y, y, 1.0, step.feed_mm_min / 60.0);
    step.count += band.stretches;
    step.cut_length_mm += way.length;
    step.cut_s += way.time;
    step.removed_mm3 += 0.5 * EDGE_MM * EDGE_MM * way.length;
    step.move_s += band.stretches * job.position(2.0 * band.half_width, 0.0);
}
