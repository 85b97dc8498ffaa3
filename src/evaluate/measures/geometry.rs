//! Geometric rules, in mm; infinite where the part has nothing of the kind.

use super::{Facts, Measure, Take};
use crate::part::RuleKind;

const fn rule(name: &'static str, words: &'static str, take: fn(&Facts) -> f64) -> Measure {
    Measure {
        name,
        unit: "mm",
        words,
        take: Take::Once(take),
    }
}

pub(super) const MEASURES: &[Measure] = &[
    Measure {
        name: "holes",
        unit: "",
        words: "drilled holes, bores of bosses aside",
        take: Take::Once(|facts| facts.layout.holes.len() as f64),
    },
    rule(
        "ligament",
        "least metal between neighbouring holes",
        |facts| facts.rules.value_mm(RuleKind::Ligament),
    ),
    rule(
        "edge",
        "least metal between a hole and the edge of its strip or the foot of a wall or rib",
        |facts| facts.rules.value_mm(RuleKind::Edge),
    ),
    rule(
        "boss_gap",
        "least distance along the path between a hole and a boss or an open end",
        |facts| facts.rules.value_mm(RuleKind::BossGap),
    ),
    rule(
        "skin",
        "least metal under a blind hole, drill point included",
        |facts| facts.rules.value_mm(RuleKind::Skin),
    ),
    rule(
        "slot",
        "narrowest clear slot between walls and ribs",
        |facts| facts.rules.value_mm(RuleKind::Slot),
    ),
    rule(
        "boss_spacing",
        "least gap between neighbouring bosses",
        |facts| facts.rules.value_mm(RuleKind::BossSpacing),
    ),
    rule(
        "inner_radius",
        "radius of the innermost fibre of the sharpest bend",
        |facts| facts.rules.value_mm(RuleKind::InnerRadius),
    ),
    rule(
        "bore_wall",
        "least metal around a bore in its boss",
        |facts| facts.rules.value_mm(RuleKind::BoreWall),
    ),
    rule(
        "strip_width",
        "width of the narrowest strip between slits",
        |facts| facts.rules.value_mm(RuleKind::StripWidth),
    ),
];

/// Measure name of a rule.
pub fn rule_name(kind: RuleKind) -> &'static str {
    match kind {
        RuleKind::Ligament => "ligament",
        RuleKind::Edge => "edge",
        RuleKind::BossGap => "boss_gap",
        RuleKind::Skin => "skin",
        RuleKind::Slot => "slot",
        RuleKind::BossSpacing => "boss_spacing",
        RuleKind::InnerRadius => "inner_radius",
        RuleKind::BoreWall => "bore_wall",
        RuleKind::StripWidth => "strip_width",
    }
}
