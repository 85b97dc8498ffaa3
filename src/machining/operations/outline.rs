//! Outline: a slot around the part, inside and out, down to the table; inside corners with a smaller cutter where
//! need be; then a finish pass on its walls.

use super::walls::wall_step;
use crate::machining::bands::Band;
use crate::machining::job::{Job, parts};
use crate::machining::practice::{FACE_ALLOWANCE_MM, FINISH_ALLOWANCE_MM, SKIN_MM, SLOT_DEPTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Feature, Kind, Remark, Step, Tool};
use crate::machining::task::{Corners, Outline, Task};
use crate::part::Strip;

/// How far the outline is cut below the part's underside, in mm: a skin of the billet's allowance stays.
const BELOW_MM: f64 = FACE_ALLOWANCE_MM - SKIN_MM;

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let deep = job.height + BELOW_MM;
    for cutter in [job.outline_cutter, job.corner_cutter] {
        let remark = Remark::Deep(Feature::Outline, deep, cutter);
        if deep > job.shop.cutters[cutter].reach && !remarks.contains(&remark) {
            remarks.push(remark);
        }
    }
    steps.push(rough(job, deep));
    if job.corner_cutter != job.outline_cutter {
        let corners = corners(job, deep);
        if corners.cut_length_mm > 0.0 {
            steps.push(corners);
        }
    }
    steps.push(finish(job, deep, remarks));
}

/// Loops around the frame on one level.
fn loops(job: &Job) -> f64 {
    if job.layout.closed { 2.0 } else { 1.0 }
}

fn step(kind: Kind, cutter: usize) -> Step {
    Step::new(kind, Feature::Outline, Tool::EndMill(cutter), 0)
}

/// A full slot, `deep` mm in levels.
fn rough(job: &Job, deep: f64) -> Step {
    let index = job.outline_cutter;
    let cutter = &job.shop.cutters[index];
    let levels = parts(deep, job.axial(index, SLOT_DEPTH, deep));
    let depth = deep / levels;
    let cut = job
        .shop
        .mill(cutter, Engaged::new(depth, cutter.diameter, deep));
    let task = Outline {
        off: 0.5 * cutter.diameter + FINISH_ALLOWANCE_MM,
        levels,
        depth,
        bottom: -BELOW_MM,
        feed: cut.feed_mm_s,
        ramped: true,
        aside: 0.0,
    };
    let mut step = step(Kind::OutlineRough, index)
        .cutting(&cut)
        .with(job, Task::Outline(task));
    step.count = loops(job) * levels;
    step.depth_mm = depth;
    step.width_mm = cutter.diameter;
    step.removed_mm3 = step.pass_length_mm * step.width_mm * depth;
    step
}

/// The inside corners that the roughing cutter leaves.
fn corners(job: &Job, deep: f64) -> Step {
    let index = job.corner_cutter;
    let cutter = &job.shop.cutters[index];
    let levels = parts(deep, job.axial(index, SLOT_DEPTH, deep));
    let depth = deep / levels;
    let cut = job
        .shop
        .mill(cutter, Engaged::new(depth, cutter.diameter, deep));
    let task = Corners {
        off: 0.5 * cutter.diameter + FINISH_ALLOWANCE_MM,
        left: 0.5 * job.shop.cutters[job.outline_cutter].diameter,
        levels,
        depth,
        bottom: -BELOW_MM,
        feed: cut.feed_mm_s,
    };
    let mut step = step(Kind::Corners, index)
        .cutting(&cut)
        .with(job, Task::Corners(task));
    step.count = levels;
    step.depth_mm = depth;
    step.width_mm = cutter.diameter;
    step.removed_mm3 = step.pass_length_mm * step.width_mm * depth;
    step
}

fn finish(job: &Job, deep: f64, remarks: &mut Vec<Remark>) -> Step {
    let index = job.corner_cutter;
    let cutter = &job.shop.cutters[index];
    let levels = job
        .bands
        .iter()
        .map(|band| parts(job.height, outside_step(job, band, remarks)));
    let levels = levels.fold(1.0, f64::max);
    let depth = job.height / levels;
    let gives = job.bands.iter().map(|band| outside_give(job, band, depth));
    let give = gives.fold(0.0, f64::max);
    let cut = job.shop.mill(
        cutter,
        Engaged::new(depth, FINISH_ALLOWANCE_MM, deep).beside(give),
    );
    let task = Outline {
        off: 0.5 * cutter.diameter,
        levels,
        depth,
        bottom: 0.0,
        feed: cut.feed_mm_s,
        ramped: false,
        aside: FINISH_ALLOWANCE_MM,
    };
    let mut step = step(Kind::OutlineFinish, index)
        .cutting(&cut)
        .with(job, Task::Outline(task));
    step.count = loops(job) * levels;
    step.depth_mm = depth;
    step.width_mm = FINISH_ALLOWANCE_MM;
    step.removed_mm3 = step.pass_length_mm * FINISH_ALLOWANCE_MM * depth;
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
