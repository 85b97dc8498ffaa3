//! What opening a blade takes, in load cases that do.

use super::{Measure, Take};

pub(super) const MEASURES: &[Measure] = &[
    Measure {
        name: "force",
        unit: "N",
        words: "force that holds the blade at its opening, large deflection",
        take: Take::EachOpening(|facts, load| facts.loads[load].opening.force_n),
    },
    Measure {
        name: "energy",
        unit: "N mm",
        words: "energy stored in the blade at its opening",
        take: Take::EachOpening(|facts, load| facts.loads[load].opening.energy_n_mm),
    },
    Measure {
        name: "fatigue_safety",
        unit: "",
        words: "safety against fatigue between the two openings, by Goodman's line, at the cycles of the material's \
                fatigue strength (smooth bar, mean)",
        take: Take::EachOpening(|facts, load| facts.loads[load].opening.fatigue_safety),
    },
];
