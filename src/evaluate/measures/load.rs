//! What a load case does to the frame.

use super::{Measure, Take};

/// The measure that depends on what acts.
pub(super) const STIFFNESS: &str = "stiffness";

/// The measure of load cases that say how often they come.
pub(super) const FATIGUE_SAFETY: &str = "fatigue_safety";

pub(super) const MEASURES: &[Measure] = &[
    Measure {
        name: STIFFNESS,
        unit: "N/mm",
        words: "resultant load (of opposed loads, one of them) over the displacement of its points along it",
        take: Take::EachLoad(|facts, load| facts.loads[load].stiffness),
    },
    Measure {
        name: "displacement",
        unit: "mm",
        words: "greatest displacement",
        take: Take::EachLoad(|facts, load| facts.loads[load].displacement_mm),
    },
    Measure {
        name: "stress",
        unit: "MPa",
        words: "greatest nominal stress",
        take: Take::EachLoad(|facts, load| facts.loads[load].stress_mpa),
    },
    Measure {
        name: "safety",
        unit: "",
        words: "yield strength over the greatest nominal stress",
        take: Take::EachLoad(|facts, load| facts.yield_mpa / facts.loads[load].stress_mpa),
    },
    Measure {
        name: "peak",
        unit: "MPa",
        words: "greatest local stress, peaks at the edges of drilled holes included",
        take: Take::EachLoad(|facts, load| facts.loads[load].peak_mpa),
    },
    Measure {
        name: FATIGUE_SAFETY,
        unit: "",
        words: "factor by which the load's cycle may grow before fatigue (load cases with `fatigue`)",
        take: Take::EachLoad(|facts, load| facts.loads[load].fatigue_safety),
    },
];
