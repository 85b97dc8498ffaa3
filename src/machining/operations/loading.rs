//! Loading, clamping and unloading, and finding the part's zero, once a setup.

use crate::machining::job::Job;
use crate::machining::step::{Feature, Kind, Remark, Step, Tool};
use crate::part::StripName;

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, remarks: &mut Vec<Remark>) {
    let from_side = job
        .part
        .hole_rows
        .iter()
        .position(|row| row.strip != StripName::Floor);
    let drilled = from_side.filter(|_| {
        job.layout.holes.iter().any(|hole| {
            job.part
                .hole_rows
                .get(hole.row)
                .is_some_and(|row| row.strip != StripName::Floor)
        })
    });
    if let Some(row) = drilled {
        remarks.push(Remark::SideHoles(row));
    }
    let setups = if drilled.is_some() { 3 } else { 2 };
    for setup in 0..setups {
        let mut step = Step::new(Kind::Load, Feature::Part, Tool::Hand, setup);
        step.count = 1.0;
        step.fixed_s = job.shop.limits.load_s;
        steps.push(step);
        let zero_s = job.shop.limits.zero_s;
        if zero_s > 0.0 {
            steps.push(Step {
                count: 1.0,
                fixed_s: zero_s,
                ..Step::new(Kind::Zero, Feature::Part, Tool::Hand, setup)
            });
        }
    }
}
