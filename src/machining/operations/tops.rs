//! Tops of walls and ribs lower than the billet.

use crate::machining::job::{Job, parts};
use crate::machining::practice::{FLOOR_WIDTH, SLOT_DEPTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Feature, Kind, Remark, Step, Tool};
use crate::machining::task::{Along, Entry, Task};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    for (at, band) in job.bands.iter().enumerate() {
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
            let cut = job
                .shop
                .mill(cutter, Engaged::new(deep / levels, width, deep));
            let task = Along {
                band: at,
                low: wall.y_low + 0.5 * width,
                high: wall.y_high - 0.5 * width,
                passes,
                levels,
                depth: deep / levels,
                bottom: wall.z_high,
                first_feed: cut.feed_mm_s,
                feed: cut.feed_mm_s,
                clear: (wall.y_low, wall.y_high),
                radius: 0.5 * cutter.diameter,
                beyond: 0.0,
                // A wall is thin: pockets beside it take the chips.
                entry: Entry::Plunge,
            };
            let feature = Feature::Strip(band.section, wall.name);
            let mut step = Step::new(Kind::Top, feature, Tool::EndMill(index), 0)
                .cutting(&cut)
                .with(job, Task::Along(task));
            step.count = passes * levels;
            step.depth_mm = task.depth;
            step.width_mm = width;
            step.removed_mm3 = band.area(wall.y_low, wall.y_high) * deep;
            steps.push(step);
        }
    }
}
