//! Work at the bench: washing and measuring. People do it while the machine runs on.

use crate::machining::job::Job;
use crate::machining::practice::{MEASURE_S, WASH_S};
use crate::machining::step::{BENCH, Feature, Kind, Remark, Step, Tool};
use crate::part::Part;

pub(super) fn plan(job: &Job, steps: &mut Vec<Step>, _: &mut Vec<Remark>) {
    steps.extend(at_bench(job.part));
}

/// Washing, and measuring every dimension that the part has of its own.
pub(in crate::machining) fn at_bench(part: &Part) -> [Step; 2] {
    let by_hand = |kind, count: f64, each: f64| Step {
        count,
        fixed_s: count * each,
        ..Step::new(kind, Feature::Part, Tool::Hand, BENCH)
    };
    [
        by_hand(Kind::Wash, 1.0, WASH_S),
        by_hand(Kind::Measure, dimensions(part) as f64, MEASURE_S),
    ]
}

/// Width, floor, thickness and height of walls and ribs; diameter and place of rows and of bores; slits.
fn dimensions(part: &Part) -> usize {
    let section = &part.section;
    let standing = section.ribs.len()
        + usize::from(section.outer_wall.is_some())
        + usize::from(section.inner_wall.is_some());
    let bores = part.bosses.iter().filter(|boss| boss.bore.is_some());
    let slits = part
        .bosses
        .iter()
        .filter(|boss| boss.section.slits.is_some());
    2 + 2 * (standing + part.hole_rows.len() + bores.count()) + slits.count()
}
