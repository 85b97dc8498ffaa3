//! Walls and ribs finished from inside their pockets, slender ones in smaller steps.

use crate::machining::WallForce;
use crate::machining::bands::{Band, Pocket};
use crate::machining::job::{Job, parts};
use crate::machining::practice::{FINISH_ALLOWANCE_MM, STEP_RULE, STEP_SHARE, SUPPORT_STEP_SHARE};
use crate::machining::shop::Engaged;
use crate::machining::step::{Kind, Remark, Step, Tool};
use crate::machining::task::{Side, Task, Walls};
use crate::part::Strip;

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    for (place, band) in job.bands.iter().enumerate() {
        for pocket in &band.pockets {
            if let Some(step) = finish(job, place, pocket, remarks) {
                steps.push(step);
            }
        }
    }
}

/// The walls of a pocket, in levels of their own on each side; `None` where it has no wall.
fn finish(job: &Job, place: usize, pocket: &Pocket, remarks: &mut Vec<Remark>) -> Option<Step> {
    let band = &job.bands[place];
    let cutter = &job.shop.cutters[pocket.cutter];
    let half = 0.5 * cutter.diameter.min(pocket.width());
    let mut task = Walls {
        band: place,
        clear: (pocket.low, pocket.high),
        sides: [Side::default(); 2],
        bottom: band.floor,
        radius: 0.5 * cutter.diameter,
    };
    let mut first: Option<Step> = None;
    let mut count = 0.0;
    for (at, y) in [pocket.low + half, pocket.high - half]
        .into_iter()
        .enumerate()
    {
        let Some(standing) = pocket.walls[at] else {
            continue;
        };
        let wall = &band.standing[standing];
        let height = wall.z_high - wall.z_low;
        let levels = parts(height, wall_step(job, band, wall, pocket.cutter, remarks));
        let depth = height / levels;
        let give = job.shop.wall_give(wall.y_high - wall.y_low, depth);
        let engaged = Engaged::new(depth, FINISH_ALLOWANCE_MM, height).beside(give);
        let cut = job.shop.mill(cutter, engaged);
        task.sides[at] = Side {
            y,
            levels,
            depth,
            feed: cut.feed_mm_s,
            wall: standing,
            force_n: cut.side_force_n(),
        };
        count += levels;
        first.get_or_insert_with(|| {
            let tool = Tool::EndMill(pocket.cutter);
            let mut step = Step::new(Kind::WallFinish, pocket.feature, tool, 0).cutting(&cut);
            step.depth_mm = depth;
            step
        });
    }
    let mut step = first?.with(job, Task::Walls(task));
    step.count = count;
    step.width_mm = FINISH_ALLOWANCE_MM;
    for side in &task.sides {
        let wall = band.area(side.y - 0.5, side.y + 0.5) * side.levels * side.depth;
        step.removed_mm3 += FINISH_ALLOWANCE_MM * wall;
    }
    Some(step)
}

/// Force with which the finish pass pushes every wall and rib aside: the mean force on one tooth at the depth of
/// a step; of a rib finished from both sides, the greater.
pub(in crate::machining) fn forces(job: &Job, steps: &[Step]) -> Vec<WallForce> {
    let mut forces: Vec<WallForce> = Vec::with_capacity(8);
    for step in steps {
        let Task::Walls(task) = &step.task else {
            continue;
        };
        let band = &job.bands[task.band];
        for side in task.sides.iter().filter(|side| side.levels > 0.0) {
            let strip = band.standing[side.wall].name;
            let known = forces
                .iter_mut()
                .find(|known| known.section == band.section && known.strip == strip);
            match known {
                Some(known) => known.force_n = known.force_n.max(side.force_n),
                None => forces.push(WallForce {
                    section: band.section,
                    strip,
                    force_n: side.force_n,
                }),
            }
        }
    }
    forces
}

/// Height of a wall in mm that may be finished at once: what the cutter takes, less on slender walls.
pub(super) fn wall_step(
    job: &Job,
    band: &Band,
    wall: &Strip,
    cutter: usize,
    remarks: &mut Vec<Remark>,
) -> f64 {
    let slenderness = slenderness(wall);
    if slenderness > 2.0 * job.shop.plain_slenderness {
        let remark = Remark::Slender(band.section, wall.name, slenderness);
        if !remarks.contains(&remark) {
            remarks.push(remark);
        }
    }
    step(job, wall, cutter)
}

fn slenderness(wall: &Strip) -> f64 {
    (wall.z_high - wall.z_low) / (wall.y_high - wall.y_low)
}

fn step(job: &Job, wall: &Strip, cutter: usize) -> f64 {
    let thickness = wall.y_high - wall.y_low;
    let slenderness = slenderness(wall);
    let plain = job.finish_depth(cutter);
    if slenderness <= job.shop.plain_slenderness {
        plain
    } else if slenderness <= 2.0 * job.shop.plain_slenderness {
        plain.min(STEP_SHARE * STEP_RULE * thickness)
    } else {
        plain.min(SUPPORT_STEP_SHARE * STEP_RULE * thickness)
    }
}
