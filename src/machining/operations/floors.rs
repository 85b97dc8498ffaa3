//! Floors of pockets finished.

use crate::machining::job::Job;
use crate::machining::practice::{FINISH_ALLOWANCE_MM, FLOOR_WIDTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Kind, Remark, Step, Tool};
use crate::machining::task::{Along, Entry, Task};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    for (place, band) in job.bands.iter().enumerate() {
        for pocket in &band.pockets {
            let cutter = &job.shop.cutters[pocket.cutter];
            let span = (pocket.width() - cutter.diameter).max(0.0);
            let passes = 1.0
                + (span / (FLOOR_WIDTH * cutter.diameter) - 1e-9)
                    .ceil()
                    .max(0.0);
            let depth = FINISH_ALLOWANCE_MM.min(job.height - band.floor);
            let width = cutter.diameter.min(pocket.width());
            let cut = job
                .shop
                .mill(cutter, Engaged::new(depth, width, job.height - band.floor));
            let task = Along {
                band: place,
                low: pocket.low + 0.5 * (pocket.width() - span),
                high: pocket.high - 0.5 * (pocket.width() - span),
                passes,
                levels: 1.0,
                depth,
                bottom: band.floor,
                first_feed: cut.feed_mm_s,
                feed: cut.feed_mm_s,
                clear: (pocket.low, pocket.high),
                radius: 0.5 * cutter.diameter,
                beyond: 0.5 * cutter.diameter,
                entry: Entry::Ramp,
            };
            let tool = Tool::EndMill(pocket.cutter);
            let mut step = Step::new(Kind::FloorFinish, pocket.feature, tool, 0)
                .cutting(&cut)
                .with(job, Task::Along(task));
            step.count = passes;
            step.depth_mm = depth;
            step.width_mm = width;
            step.removed_mm3 = band.area(pocket.low, pocket.high) * depth;
            steps.push(step);
        }
    }
}
