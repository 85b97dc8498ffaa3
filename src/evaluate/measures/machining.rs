//! Time on the mill.

use super::{Measure, Take};

pub(super) const MEASURES: &[Measure] = &[
    Measure {
        name: "cycle_time",
        unit: "s",
        words: "time on the machine for one part; endless where the machine can't make it",
        take: Take::Once(|facts| facts.cycle_s),
    },
    Measure {
        name: "tool_changes",
        unit: "",
        words: "tool changes for one part",
        take: Take::Once(|facts| facts.tool_changes),
    },
    Measure {
        name: "removed",
        unit: "mm^3",
        words: "volume cut from the billet",
        take: Take::Once(|facts| facts.removed_mm3),
    },
    Measure {
        name: "cutter_gap",
        unit: "mm",
        words: "narrowest slot less the smallest end mill in stock, or slit less the laser's cut",
        take: Take::Once(|facts| facts.cutter_gap_mm),
    },
];
