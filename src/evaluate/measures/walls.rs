//! Thin walls pushed aside.

use super::{Measure, Take};

pub(super) const MEASURES: &[Measure] = &[
    Measure {
        name: "wall_deflection",
        unit: "mm",
        words: "greatest deflection of a wall's or rib's free edge under the cutter of its finish pass",
        take: Take::Once(|facts| facts.wall_deflection_mm),
    },
    Measure {
        name: "wall_press",
        unit: "mm",
        words: "greatest deflection of a wall's or rib's free edge under a fingertip or pad (`press` of the part)",
        take: Take::Once(|facts| facts.wall_press_mm),
    },
];
