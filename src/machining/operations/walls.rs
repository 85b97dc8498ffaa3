//! Walls and ribs finished from inside their pockets, slender ones in smaller steps.

use crate::machining::WallForce;
use crate::machining::bands::Band;
use crate::machining::job::{Job, Milling, parts};
use crate::machining::practice::{FINISH_ALLOWANCE_MM, STEP_RULE, STEP_SHARE, SUPPORT_STEP_SHARE};
use crate::machining::shop::Engaged;
use crate::machining::step::{Kind, Remark, Step};
use crate::part::Strip;

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    for band in &job.bands {
        for pocket in &band.pockets {
            let cutter = &job.shop.cutters[pocket.cutter];
            let half = 0.5 * cutter.diameter.min(pocket.width());
            let mut whole: Option<Step> = None;
            for (wall, y) in pocket
                .walls
                .into_iter()
                .zip([pocket.low + half, pocket.high - half])
            {
                let Some(wall) = wall.map(|place| &band.standing[place]) else {
                    continue;
                };
                let height = wall.z_high - wall.z_low;
                let levels = parts(height, wall_step(job, band, wall, pocket.cutter, remarks));
                let depth = height / levels;
                let give = job.shop.wall_give(wall.y_high - wall.y_low, depth);
                let mut step = job.milled(
                    band,
                    Milling {
                        kind: Kind::WallFinish,
                        feature: pocket.feature,
                        cutter: pocket.cutter,
                        cut: job.shop.mill(
                            cutter,
                            Engaged::new(depth, FINISH_ALLOWANCE_MM, height).beside(give),
                        ),
                        low: y,
                        high: y,
                        passes: 1.0,
                        levels,
                        depth,
                        ramped: false,
                    },
                );
                step.removed_mm3 = step.cut_length_mm * FINISH_ALLOWANCE_MM * depth;
                // A quarter turn onto the wall and one off it.
                let lead = levels * band.stretches * std::f64::consts::PI * half;
                // Across the ends of a pocket that stops at a boss.
                let across = if band.ring {
                    0.0
                } else {
                    levels * band.stretches * pocket.width()
                };
                step.cut_length_mm += lead + across;
                step.cut_s += (lead + across) * 60.0 / step.feed_mm_min;
                whole = Some(match whole {
                    None => step,
                    Some(before) => Step {
                        count: before.count + step.count,
                        ..before.and(&step)
                    },
                });
            }
            if let Some(mut step) = whole {
                step.width_mm = FINISH_ALLOWANCE_MM;
                step.move_s = job.reach(band, job.height - band.floor);
                steps.push(step);
            }
        }
    }
}

/// Force with which the finish pass pushes every wall and rib aside: the mean force on one tooth at the depth of
/// a step; of a rib finished from both sides, the greater.
pub(in crate::machining) fn forces(job: &Job) -> Vec<WallForce> {
    let mut forces: Vec<WallForce> = Vec::with_capacity(8);
    for band in &job.bands {
        for pocket in &band.pockets {
            let cutter = pocket.cutter;
            for wall in pocket.walls.iter().flatten() {
                let wall = &band.standing[*wall];
                let height = wall.z_high - wall.z_low;
                let step = step(job, wall, cutter);
                let depth = height / parts(height, step);
                let give = job.shop.wall_give(wall.y_high - wall.y_low, depth);
                let engaged = Engaged::new(depth, FINISH_ALLOWANCE_MM, height).beside(give);
                let force_n = job
                    .shop
                    .mill(&job.shop.cutters[cutter], engaged)
                    .side_force_n();
                let known = forces
                    .iter_mut()
                    .find(|known| known.section == band.section && known.strip == wall.name);
                match known {
                    Some(known) => known.force_n = known.force_n.max(force_n),
                    None => forces.push(WallForce {
                        section: band.section,
                        strip: wall.name,
                        force_n,
                    }),
                }
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
