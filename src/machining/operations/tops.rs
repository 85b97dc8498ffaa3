//! Tops of walls and ribs lower than the billet.

use crate::machining::job::{Job, Milling, parts};
use crate::machining::practice::{FLOOR_WIDTH, SLOT_DEPTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Feature, Kind, Remark, Step};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    for band in &job.bands {
        for (place, wall) in band.standing.iter().enumerate() {
            let deep = job.height - wall.z_high;
            let thickness = wall.y_high - wall.y_low;
            if deep <= 1e-9 {
                continue;
            }
            // The narrower of the pockets beside it sets the cutter: a wider one would meet the next wall.
            let beside = band
                .pockets
                .iter()
                .filter(|pocket| pocket.walls.contains(&Some(place)));
            let index = beside
                .map(|pocket| pocket.cutter)
                .min()
                .unwrap_or(job.outline_cutter);
            let cutter = &job.shop.cutters[index];
            let passes = parts(thickness, FLOOR_WIDTH * cutter.diameter);
            let width = thickness / passes;
            let levels = parts(deep, job.axial(index, SLOT_DEPTH, deep));
            let mut step = job.milled(
                band,
                Milling {
                    kind: Kind::Top,
                    feature: Feature::Strip(band.section, wall.name),
                    cutter: index,
                    cut: job
                        .shop
                        .mill(cutter, Engaged::new(deep / levels, width, deep)),
                    low: wall.y_low + 0.5 * width,
                    high: wall.y_high - 0.5 * width,
                    passes,
                    levels,
                    depth: deep / levels,
                    ramped: false,
                },
            );
            step.width_mm = width;
            step.move_s = job.reach(band, deep);
            step.removed_mm3 = job.area(band, wall.y_low, wall.y_high) * deep;
            steps.push(step);
        }
    }
}
