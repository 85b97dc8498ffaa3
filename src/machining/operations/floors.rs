//! Floors of pockets finished.

use crate::machining::job::{Job, Milling};
use crate::machining::practice::{FINISH_ALLOWANCE_MM, FLOOR_WIDTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Kind, Remark, Step};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    for band in &job.bands {
        for pocket in &band.pockets {
            let cutter = &job.shop.cutters[pocket.cutter];
            let span = (pocket.width() - cutter.diameter).max(0.0);
            let passes = 1.0
                + (span / (FLOOR_WIDTH * cutter.diameter) - 1e-9)
                    .ceil()
                    .max(0.0);
            let depth = FINISH_ALLOWANCE_MM.min(job.height - band.floor);
            let width = cutter.diameter.min(pocket.width());
            let mut step = job.milled(
                band,
                Milling {
                    kind: Kind::FloorFinish,
                    feature: pocket.feature,
                    cutter: pocket.cutter,
                    cut: job
                        .shop
                        .mill(cutter, Engaged::new(depth, width, job.height - band.floor)),
                    low: pocket.low + 0.5 * (pocket.width() - span),
                    high: pocket.high - 0.5 * (pocket.width() - span),
                    passes,
                    levels: 1.0,
                    depth,
                    ramped: pocket.is_slot(),
                },
            );
            step.width_mm = width;
            step.move_s = job.reach(band, job.height - band.floor);
            step.removed_mm3 = job.area(band, pocket.low, pocket.high) * depth;
            steps.push(step);
        }
    }
}
