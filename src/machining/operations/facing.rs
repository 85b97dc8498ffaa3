//! Facing of the billet, top and underside, along the frame with the widest cutter in stock.

use crate::machining::job::{Job, Milling, parts};
use crate::machining::practice::{FACE_ALLOWANCE_MM, FLOOR_WIDTH};
use crate::machining::shop::Engaged;
use crate::machining::step::{Feature, Kind, Remark, Step};

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    let cutter = job.shop.cutters.len() - 1;
    let diameter = job.shop.cutters[cutter].diameter;
    let mut face: Option<Step> = None;
    for band in &job.bands {
        let width = 2.0 * band.half_width;
        let passes = parts(width, FLOOR_WIDTH * diameter);
        let share = (width / passes).min(diameter);
        let reach = band.half_width - 0.5 * share;
        let mut step = job.milled(
            band,
            Milling {
                kind: Kind::Face,
                feature: Feature::Top,
                cutter,
                cut: job.shop.mill(
                    &job.shop.cutters[cutter],
                    Engaged::new(FACE_ALLOWANCE_MM, share, 0.0),
                ),
                low: -reach,
                high: reach,
                passes,
                levels: 1.0,
                depth: FACE_ALLOWANCE_MM,
                ramped: false,
            },
        );
        step.width_mm = share;
        step.removed_mm3 = step.cut_length_mm * share * FACE_ALLOWANCE_MM;
        face = Some(match face {
            None => {
                step.move_s = job.position(job.size, 0.0);
                step
            }
            Some(before) => before.and(&step),
        });
    }
    if let Some(step) = face {
        steps.push(step);
        steps.push(Step {
            feature: Feature::Underside,
            setup: 1,
            ..step
        });
    }
}
