//! Pockets between walls and ribs, and beside them, roughed level by level.

use crate::machining::job::{Job, Milling, parts};
use crate::machining::practice::{FINISH_ALLOWANCE_MM, SIDE_WIDTH, SLOT_DEPTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Kind, Remark, Step};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    for band in &job.bands {
        for pocket in &band.pockets {
            let cutter = &job.shop.cutters[pocket.cutter];
            let reach = job.height - band.floor;
            let depth = (reach - FINISH_ALLOWANCE_MM).max(0.0);
            if depth <= 0.0 {
                continue;
            }
            let levels = parts(depth, job.axial(pocket.cutter, SLOT_DEPTH, reach));
            let spare = pocket.width() - cutter.diameter;
            let allowance = FINISH_ALLOWANCE_MM.min(0.5 * spare.max(0.0));
            let span = (spare - 2.0 * allowance).max(0.0);
            let side_passes = (span / (SIDE_WIDTH * cutter.diameter) - 1e-9)
                .ceil()
                .max(0.0);
            let low = pocket.low + 0.5 * (pocket.width() - span);
            let slot = Milling {
                kind: Kind::PocketRough,
                feature: pocket.feature,
                cutter: pocket.cutter,
                cut: job
                    .shop
                    .mill(cutter, Engaged::new(depth / levels, cutter.diameter, reach)),
                low,
                high: low,
                passes: 1.0,
                levels,
                depth: depth / levels,
                ramped: pocket.is_slot(),
            };
            let mut step = job.milled(band, Milling { ..slot });
            if side_passes > 0.0 {
                let width = span / side_passes;
                let side = job.milled(
                    band,
                    Milling {
                        cut: job
                            .shop
                            .mill(cutter, Engaged::new(slot.depth, width, reach)),
                        low: low + width,
                        high: low + span,
                        passes: side_passes,
                        ramped: false,
                        ..slot
                    },
                );
                step = step.and(&side);
                let over = side_passes.min(1.0) * band.stretches * levels;
                step.cut_s += over * width / slot.cut.feed_mm_s;
                step.count += side.count;
            }
            step.width_mm = cutter.diameter.min(pocket.width());
            step.move_s = job.reach(band, depth);
            step.removed_mm3 = job.area(band, pocket.low, pocket.high) * depth;
            steps.push(step);
        }
    }
}
