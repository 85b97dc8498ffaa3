//! Hole rows: spotted, then drilled in one stroke or in pecks, with every move from hole to hole.

use crate::catalogue::ToolMaterial;
use crate::machining::estimate::row_travel_s;
use crate::machining::job::Job;
use crate::machining::motion::PeckCycle;
use crate::machining::practice::*;
use crate::machining::step::{Feature, Kind, Limit, Remark, Step, Tool};
use crate::machining::task::{Holes, Places, Task};
use crate::machining::tooling::Bit;
use crate::part::{Depth, StripName, drill_point_height_mm};

/// Equal holes to be drilled.
#[derive(Clone, Copy)]
pub(super) struct Set {
    pub feature: Feature,
    pub setup: usize,
    pub diameter: f64,
    /// Depth of the full diameter.
    pub depth: f64,
    pub through: bool,
    pub count: f64,
    pub at: Places,
    /// Height of the drilled face.
    pub top: f64,
}

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let mut from = 0;
    let holes = &job.layout.holes;
    while from < holes.len() {
        let index = holes[from].row;
        let to = from
            + holes[from..]
                .iter()
                .take_while(|hole| hole.row == index)
                .count();
        if let Some(row) = job.part.hole_rows.get(index) {
            let side = row.strip != StripName::Floor;
            let thickness = job.strip_thickness(row.strip);
            let (depth, through) = match row.depth {
                Depth::Through => (thickness, true),
                Depth::Blind(depth) => (depth, false),
            };
            // On its side the part has nothing in the tool's way.
            let top = if side {
                job.height
            } else {
                job.strip_thickness(StripName::Floor)
            };
            let set = Set {
                feature: Feature::Row(index),
                setup: if side { 2 } else { 0 },
                diameter: row.diameter_mm,
                depth,
                through,
                count: (to - from) as f64,
                at: Places::Row {
                    from,
                    to,
                    side,
                    travel_s: row_travel_s(job, from, to, side, top),
                },
                top,
            };
            drill(job, &set, steps, remarks);
            break_below(job, &set, steps, remarks);
        }
        from = to;
    }
}

/// Spots and drills a set of equal holes.
pub(super) fn drill(job: &Job, set: &Set, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let special;
    let (tool, bit) = match job.shop.drill_for(set.diameter) {
        Some(index) => (Tool::Drill(index), &job.shop.drills[index]),
        None => {
            remarks.push(Remark::NoDrill(set.feature, set.diameter));
            special = job.shop.bit(set.diameter, ToolMaterial::Hss);
            (Tool::SpecialDrill(set.diameter), &special)
        }
    };
    let point = drill_point_height_mm(set.diameter);
    let travel = set.depth + point + if set.through { BREAKTHROUGH_MM } else { 0.0 };
    if travel > bit.flute_length {
        remarks.push(Remark::DeepHole(set.feature, travel));
    }
    if bit.hss {
        steps.push(spot(job, set));
    }
    steps.push(bore_out(job, set, tool, bit, travel, point));
}

fn spot(job: &Job, set: &Set) -> Step {
    // As wide as the hole's broken edge, where the tool is that wide and the metal that thick.
    let depth = (0.5 * set.diameter + EDGE_MM)
        .min(0.5 * SPOT_TOOL_MM)
        .min(set.depth);
    pointed(job, set, Kind::Spot, depth)
}

/// Edges of through holes broken from the underside, where the tool is wide enough.
pub(super) fn break_below(job: &Job, set: &Set, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let from_side = matches!(set.at, Places::Row { side: true, .. });
    if from_side || !set.through {
        return;
    }
    let depth = 0.5 * set.diameter + EDGE_MM;
    if depth > 0.5 * SPOT_TOOL_MM {
        remarks.push(Remark::WideEdges(set.feature));
        return;
    }
    let below = Set {
        setup: 1,
        top: job.height,
        ..*set
    };
    steps.push(pointed(job, &below, Kind::EdgeBreak, depth));
}

/// The 90 degree tool fed into every hole of a set.
fn pointed(job: &Job, set: &Set, kind: Kind, depth: f64) -> Step {
    let feed = (2.0 * SPOT_CHIP_MM * job.shop.spot_rpm / 60.0).min(job.shop.limits.feed);
    let mut step = cycle(job, set, kind, Tool::Spot, feed, depth, depth);
    step.spindle_rpm = job.shop.spot_rpm;
    step.limit = Limit::ChipLoad;
    step
}

fn bore_out(job: &Job, set: &Set, tool: Tool, bit: &Bit, travel: f64, point: f64) -> Step {
    let pecked = travel > PECK_BEYOND * set.diameter;
    let (kind, peck) = if pecked {
        (Kind::Peck, PECK * set.diameter)
    } else {
        (Kind::Drill, travel)
    };
    let mut step = cycle(job, set, kind, tool, bit.feed_mm_s, travel, peck);
    step.spindle_rpm = bit.rpm;
    step.limit = bit.limit;
    let cone = if set.through { 0.0 } else { point / 3.0 };
    let area = 0.25 * std::f64::consts::PI * set.diameter * set.diameter;
    step.removed_mm3 = set.count * area * (set.depth + cone);
    step
}

/// Reams a set of equal bores that were made `before` mm wide, in one stroke.
pub(super) fn ream(job: &Job, set: &Set, before: f64) -> Step {
    let bit = job.shop.reamer(set.diameter);
    let travel = set.depth + if set.through { BREAKTHROUGH_MM } else { 0.0 };
    let tool = Tool::Reamer(set.diameter);
    let mut step = cycle(job, set, Kind::Ream, tool, bit.feed_mm_s, travel, travel);
    step.spindle_rpm = bit.rpm;
    step.limit = bit.limit;
    let area = 0.25 * std::f64::consts::PI * (set.diameter.powi(2) - before.powi(2));
    step.removed_mm3 = set.count * area * set.depth;
    step
}

fn cycle(job: &Job, set: &Set, kind: Kind, tool: Tool, feed: f64, depth: f64, peck: f64) -> Step {
    let limits = &job.shop.limits;
    let cycle = PeckCycle {
        depth_mm: depth,
        peck_mm: peck,
        feed_mm_s: feed,
        rapid_mm_s: limits.rapid_z,
        acceleration_mm_s2: limits.acceleration_z,
        gap_mm: PECK_GAP_MM,
        start_mm: limits.clearance,
    };
    let task = Holes {
        at: set.at,
        count: set.count,
        cycle,
        top: set.top,
    };
    let mut step = Step::new(kind, set.feature, tool, set.setup).with(job, Task::Holes(task));
    step.feed_mm_min = 60.0 * feed;
    step.depth_mm = depth;
    step.count = set.count;
    step
}
