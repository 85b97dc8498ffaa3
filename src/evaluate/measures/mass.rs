//! Mass and volume.

use super::{Measure, Take};
use crate::part::carried_g;

/// Tonnes to grams.
const GRAMS: f64 = 1e6;

pub(super) const MEASURES: &[Measure] = &[
    Measure {
        name: "mass",
        unit: "g",
        words: "mass of the frame and all it carries",
        take: Take::Once(|facts| {
            facts.volume.metal_mm3 * facts.density * GRAMS + carried_g(facts.part)
        }),
    },
    Measure {
        name: "metal_mass",
        unit: "g",
        words: "mass of the frame alone",
        take: Take::Once(|facts| facts.volume.metal_mm3 * facts.density * GRAMS),
    },
    Measure {
        name: "volume",
        unit: "mm^3",
        words: "volume of metal",
        take: Take::Once(|facts| facts.volume.metal_mm3),
    },
];
