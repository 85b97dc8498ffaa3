//! Bores of bosses: drilled where the drill is in stock, else drilled smaller and widened on a helix; reamed and
//! counterbored where the part asks for it.

use super::holes::{Set, break_below, drill, ream};
use crate::machining::estimate::boss_travel_s;
use crate::machining::job::{Job, parts};
use crate::machining::practice::*;
use crate::machining::shop::Engaged;
use crate::machining::step::{Feature, Kind, Remark, Step, Tool};
use crate::machining::task::{Helix, Places, Task};
use crate::machining::tooling::Bit;
use crate::part::Boss;

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let bosses = &job.part.bosses;
    for (index, boss) in bosses.iter().enumerate() {
        let Some(bore) = boss.bore else { continue };
        let alike = |other: &Boss| other.bore == Some(bore) && other.section == boss.section;
        if bosses[..index].iter().any(alike) {
            continue;
        }
        let count = bosses[index..].iter().filter(|other| alike(other)).count() as f64;
        let depth = bore.depth_mm.unwrap_or_else(|| boss.bore_top_mm());
        let travel_s = boss_travel_s(job, index);
        let set = Set {
            feature: Feature::Bore(index),
            setup: 0,
            diameter: bore.diameter_mm,
            depth,
            through: bore.depth_mm.is_none(),
            count,
            at: Places::Bosses {
                first: index,
                travel_s,
            },
            top: boss.bore_top_mm(),
        };
        let bosses = (index, travel_s);
        if bore.reamed {
            let before = before_reaming(job, bore.diameter_mm);
            let smaller = Set {
                diameter: before,
                ..set
            };
            make(job, bosses, smaller, steps, remarks);
            steps.push(ream(job, &set, before));
        } else {
            make(job, bosses, set, steps, remarks);
        }
        break_below(job, &set, steps, remarks);
        if let Some(counterbore) = bore.counterbore {
            let wide = Set {
                diameter: counterbore.diameter_mm,
                depth: counterbore.depth_mm,
                ..set
            };
            let step = counterbored(job, &wide, bosses, bore.diameter_mm, remarks);
            steps.push(step);
        }
    }
}

/// Diameter in mm to make a bore of `diameter` mm before it is reamed: that of the largest drill in stock which leaves
/// enough and not too much.
fn before_reaming(job: &Job, diameter: f64) -> f64 {
    let leaves = |bit: &&Bit| {
        let left = diameter - bit.diameter;
        (LEAST_REAM_MM - 1e-9..=MOST_REAM_MM + 1e-9).contains(&left)
    };
    let fitting = job.shop.drills.iter().rfind(leaves);
    fitting.map_or(diameter - USUAL_REAM_MM.min(0.5 * diameter), |bit| {
        bit.diameter
    })
}

/// The start of a bore widened from its diameter to that of `set`, by the widest end mill that fits.
fn counterbored(
    job: &Job,
    set: &Set,
    bosses: (usize, f64),
    bore: f64,
    remarks: &mut Vec<Remark>,
) -> Step {
    let cutter = job
        .shop
        .widest_within(BORE_CUTTER * set.diameter)
        .or_else(|| job.shop.widest_within(set.diameter))
        .unwrap_or_else(|| {
            remarks.push(Remark::Narrow(set.feature, set.diameter));
            0
        });
    Step {
        kind: Kind::Counterbore,
        ..widen(job, set, bosses, cutter, bore.min(set.diameter))
    }
}

fn make(
    job: &Job,
    bosses: (usize, f64),
    set: Set,
    steps: &mut Vec<Step>,
    remarks: &mut Vec<Remark>,
) {
    let diameter = set.diameter;
    let cutter = job.shop.widest_within(BORE_CUTTER * diameter);
    let Some(cutter) = cutter.filter(|_| job.shop.drill_for(diameter).is_none()) else {
        drill(job, &set, steps, remarks);
        return;
    };
    let pilot = job
        .shop
        .drills
        .iter()
        .rfind(|bit| bit.diameter < diameter - 2.0 * FINISH_ALLOWANCE_MM);
    let start = pilot.map_or(0.0, |bit| bit.diameter);
    if pilot.is_some() {
        drill(
            job,
            &Set {
                diameter: start,
                ..set
            },
            steps,
            remarks,
        );
    }
    steps.push(widen(job, &set, bosses, cutter, start));
}

/// The helix from a pilot of `start` mm (0: none) to the bore's diameter, turn by turn.
fn widen(job: &Job, set: &Set, (boss, travel_s): (usize, f64), index: usize, start: f64) -> Step {
    let cutter = &job.shop.cutters[index];
    let width = (0.5 * (set.diameter - start)).min(cutter.diameter);
    let turns = parts(set.depth, job.axial(index, SLOT_DEPTH, set.depth)) + 1.0;
    let depth = set.depth / (turns - 1.0).max(1.0);
    let cut = job.shop.mill(cutter, Engaged::new(depth, width, set.depth));
    let radius = (0.5 * (set.diameter - cutter.diameter)).max(0.0);
    // Rings from the pilot outward where one is not enough.
    let inner = 0.5 * (start - cutter.diameter).max(0.0);
    let rings = parts(radius - inner, 0.5 * cutter.diameter);
    let task = Helix {
        boss,
        count: set.count,
        travel_s,
        radius,
        spread: (rings - 1.0) / rings * (radius - inner),
        rings,
        turns,
        depth,
        feed: cut.feed_mm_s,
        top: set.top,
    };
    let mut step = Step::new(Kind::Bore, set.feature, Tool::EndMill(index), set.setup)
        .cutting(&cut)
        .with(job, Task::Helix(task));
    step.depth_mm = depth;
    step.width_mm = width;
    step.count = set.count * turns * rings;
    let area = 0.25 * std::f64::consts::PI * (set.diameter.powi(2) - start.powi(2));
    step.removed_mm3 = set.count * area * set.depth;
    step
}
