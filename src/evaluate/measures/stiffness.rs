//! Vibration and slenderness.

use super::{Measure, Take};
use crate::part::StripName;

pub(super) const MEASURES: &[Measure] = &[
    Measure {
        name: "frequency",
        unit: "Hz",
        words: "first natural frequency",
        take: Take::Once(|facts| facts.frequency_hz),
    },
    Measure {
        name: "wall_slenderness",
        unit: "",
        words: "greatest height over thickness of a wall or rib above the floor",
        take: Take::Once(|facts| {
            facts
                .layout
                .sections
                .iter()
                .flat_map(|section| section.strips())
                .filter(|strip| strip.name != StripName::Floor)
                .map(|strip| (strip.z_high - strip.z_low) / (strip.y_high - strip.y_low))
                .fold(0.0, f64::max)
        }),
    },
];
