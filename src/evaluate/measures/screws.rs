//! Screws on bosses.

use super::{Measure, Take};

pub(super) const MEASURES: &[Measure] = &[
    Measure {
        name: "bearing_pressure",
        unit: "MPa",
        words: "greatest pressure under a screw's head; 0 without screws",
        take: Take::Once(|facts| facts.bearing_mpa),
    },
    Measure {
        name: "bearing_safety",
        unit: "",
        words: "yield strength over the greatest pressure under a screw's head",
        take: Take::Once(|facts| facts.yield_mpa / facts.bearing_mpa),
    },
    Measure {
        name: "cone_room",
        unit: "mm",
        words: "least room between the cone that a screw clamps and the edges of its boss, on the diameter",
        take: Take::Once(|facts| facts.cone_room_mm),
    },
    Measure {
        name: "head_room",
        unit: "mm",
        words: "least room between a screw's head and the walls and ribs beside it",
        take: Take::Once(|facts| facts.head_room_mm),
    },
];
