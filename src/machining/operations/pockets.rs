//! Pockets between walls and ribs, and beside them: roughed level by level, or in loops of constant engagement
//! where that is quicker; then the corners at their ends, with a smaller cutter where theirs is too wide.

use crate::machining::bands::Pocket;
use crate::machining::estimate::{end_corners, plunges};
use crate::machining::job::{Job, parts};
use crate::machining::practice::*;
use crate::machining::shop::Engaged;
use crate::machining::step::{Kind, Remark, Step, Tool};
use crate::machining::task::{Along, Ends, Entry, Loops, Task};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let mut corners = Vec::new();
    // Wide cutters first: a narrow one may then follow into the corners that they leave.
    for cutter in (0..job.shop.cutters.len()).rev() {
        for (place, band) in job.bands.iter().enumerate() {
            for pocket in band.pockets.iter().filter(|pocket| pocket.cutter == cutter) {
                let Some(mut rough) = rough(job, place, pocket, remarks) else {
                    continue;
                };
                if let Some(rest) = rest(job, place, pocket) {
                    rough.removed_mm3 = (rough.removed_mm3 - rest.removed_mm3).max(0.0);
                    corners.push(rest);
                }
                steps.push(rough);
            }
        }
    }
    steps.append(&mut corners);
}

/// The quicker way to rough a pocket; `None` where there is nothing to rough.
fn rough(job: &Job, place: usize, pocket: &Pocket, remarks: &mut Vec<Remark>) -> Option<Step> {
    let band = &job.bands[place];
    let depth = job.height - band.floor - FINISH_ALLOWANCE_MM;
    if depth <= 0.0 {
        return None;
    }
    let (slotted, entered) = in_levels(job, place, pocket, depth);
    let looped = in_loops(job, place, pocket, depth);
    let quicker = looped.filter(|looped| looped.total_s() < slotted.total_s());
    if quicker.is_none() && pocket.is_slot() && plunges(job, &entered) {
        remarks.push(Remark::Plunge(pocket.feature));
    }
    let mut step = quicker.unwrap_or(slotted);
    step.removed_mm3 = band.area(pocket.low, pocket.high) * depth;
    Some(step)
}

/// A full slot and passes beside it on every level.
fn in_levels(job: &Job, place: usize, pocket: &Pocket, depth: f64) -> (Step, Along) {
    let cutter = &job.shop.cutters[pocket.cutter];
    let reach = job.height - job.bands[place].floor;
    let levels = parts(depth, job.axial(pocket.cutter, SLOT_DEPTH, reach));
    let spare = pocket.width() - cutter.diameter;
    let allowance = FINISH_ALLOWANCE_MM.min(0.5 * spare.max(0.0));
    let span = (spare - 2.0 * allowance).max(0.0);
    let side_passes = (span / (SIDE_WIDTH * cutter.diameter) - 1e-9)
        .ceil()
        .max(0.0);
    let low = pocket.low + 0.5 * (pocket.width() - span);
    let engaged = |width| Engaged::new(depth / levels, width, reach);
    let slot = job.shop.mill(cutter, engaged(cutter.diameter));
    let side = if side_passes > 0.0 {
        job.shop.mill(cutter, engaged(span / side_passes))
    } else {
        slot
    };
    let task = Along {
        band: place,
        low,
        high: low + span,
        passes: 1.0 + side_passes,
        levels,
        depth: depth / levels,
        bottom: job.height - depth,
        first_feed: slot.feed_mm_s,
        feed: side.feed_mm_s,
        clear: (pocket.low, pocket.high),
        radius: 0.5 * cutter.diameter,
        beyond: 0.5 * cutter.diameter,
        entry: Entry::Ramp,
    };
    let tool = Tool::EndMill(pocket.cutter);
    let mut step = Step::new(Kind::PocketRough, pocket.feature, tool, 0)
        .cutting(&slot)
        .with(job, Task::Along(task));
    step.count = task.passes * levels;
    step.depth_mm = task.depth;
    step.width_mm = cutter.diameter.min(pocket.width());
    (step, task)
}

/// Loops of constant engagement, deep and narrow; `None` where the slot is too narrow for them.
fn in_loops(job: &Job, place: usize, pocket: &Pocket, depth: f64) -> Option<Step> {
    let cutter = &job.shop.cutters[pocket.cutter];
    if !pocket.is_slot() || pocket.width() < LOOP_SLOT * cutter.diameter {
        return None;
    }
    let reach = job.height - job.bands[place].floor;
    let deepest = job
        .axial(pocket.cutter, LOOP_DEPTH, reach)
        .min(cutter.flute_length);
    let levels = parts(depth, deepest);
    let loop_radius = 0.5 * (pocket.width() - cutter.diameter) - FINISH_ALLOWANCE_MM;
    if loop_radius <= 0.0 {
        return None;
    }
    let step_mm = LOOP_STEP * cutter.diameter;
    let width = wrapped_width(step_mm, 0.5 * cutter.diameter, loop_radius);
    let cut = job
        .shop
        .mill(cutter, Engaged::new(depth / levels, width, reach));
    let task = Loops {
        band: place,
        clear: (pocket.low, pocket.high),
        loop_radius,
        step: step_mm,
        levels,
        depth: depth / levels,
        bottom: job.height - depth,
        feed: cut.feed_mm_s,
        back_feed: job.shop.limits.feed,
        radius: 0.5 * cutter.diameter,
    };
    let tool = Tool::EndMill(pocket.cutter);
    let mut step = Step::new(Kind::PocketLoops, pocket.feature, tool, 0)
        .cutting(&cut)
        .with(job, Task::Loops(task));
    step.count = levels;
    step.depth_mm = task.depth;
    step.width_mm = step_mm;
    Some(step)
}

/// Width in mm of the straight cut that is as long in the metal as a cut `step` mm wide on the inside of a loop:
/// r (1 - cos θ) with cos θ = ((ρ + r - w)² - ρ² - r²) / (2 ρ r), the metal's edge being a circle about the
/// loop's middle.
///
/// `radius` r of the cutter, `loop_radius` ρ of its centre, `step` w, all in mm. Own derivation.
fn wrapped_width(step: f64, radius: f64, loop_radius: f64) -> f64 {
    let edge = loop_radius + radius - step;
    let cos =
        (edge * edge - loop_radius * loop_radius - radius * radius) / (2.0 * loop_radius * radius);
    radius * (1.0 - cos.clamp(-1.0, 1.0))
}

/// The corners at the closed ends of a pocket, where its cutter is too wide for them and a smaller one is in stock.
fn rest(job: &Job, place: usize, pocket: &Pocket) -> Option<Step> {
    let wide = &job.shop.cutters[pocket.cutter];
    if wide.diameter <= 2.0 * END_CORNER_MM {
        return None;
    }
    let index = job.shop.widest_within(2.0 * END_CORNER_MM)?;
    let count = end_corners(job, place, pocket);
    if count == 0.0 {
        return None;
    }
    let cutter = &job.shop.cutters[index];
    let band = &job.bands[place];
    let deep = job.height - band.floor;
    let levels = parts(deep, job.axial(index, SLOT_DEPTH, deep));
    let cut = job
        .shop
        .mill(cutter, Engaged::new(deep / levels, cutter.diameter, deep));
    let task = Ends {
        band: place,
        clear: (pocket.low, pocket.high),
        walled: pocket.walls.map(|wall| wall.is_some()),
        left: 0.5 * wide.diameter,
        levels,
        depth: deep / levels,
        bottom: band.floor,
        feed: cut.feed_mm_s,
        radius: 0.5 * cutter.diameter,
    };
    let tool = Tool::EndMill(index);
    let mut step = Step::new(Kind::PocketCorners, pocket.feature, tool, 0)
        .cutting(&cut)
        .with(job, Task::Ends(task));
    step.count = count * levels;
    step.depth_mm = task.depth;
    step.width_mm = cutter.diameter;
    // What a quarter circle leaves of its square, less the same of the smaller cutter.
    let squares = task.left * task.left - task.radius * task.radius;
    step.removed_mm3 = count * (1.0 - 0.25 * std::f64::consts::PI) * squares * deep;
    Some(step)
}
