//! What the sheet says of making the part: features with their time and money, tolerances of the process.

use super::ToleranceRow;
use super::evaluator::Answer;
use crate::machining::tolerance::{self, Toleranced};
use crate::machining::{FeatureCost, Plan, cost};

/// Features, those that remove metal first, from the cheapest gram to the dearest.
pub(super) fn features(plan: &Plan) -> Vec<FeatureCost> {
    let mut features = cost::by_feature(plan);
    let dear = |feature: &FeatureCost| feature.cost_per_g.unwrap_or(f64::INFINITY);
    features.sort_by(|a, b| dear(a).total_cmp(&dear(b)));
    features
}

/// Every dimension with the tolerance that the plan's operations give it; what a boss has in common with the frame is
/// named once.
pub(super) fn tolerances(answer: &Answer, plan: &Plan) -> Vec<ToleranceRow> {
    let all = tolerance::tolerances(&answer.part, &answer.layout, plan);
    let row = |each: Toleranced| ToleranceRow {
        name: each.name,
        size_mm: each.size_mm,
        plus_minus_mm: each.tolerance.plus_minus_mm,
        basis: each.tolerance.basis,
    };
    let mut rows: Vec<ToleranceRow> = Vec::new();
    for row in all.into_iter().map(row) {
        let common = |known: &ToleranceRow| {
            let [of_boss, plain] = [&row, known].map(|row| row.name.split(','));
            let name = of_boss.map(|part| part.split(" of boss ").next());
            row.name.contains(" of boss ")
                && name.eq(plain.map(Some))
                && (known.size_mm, known.plus_minus_mm) == (row.size_mm, row.plus_minus_mm)
        };
        if !rows.iter().any(common) {
            rows.push(row);
        }
    }
    rows
}
