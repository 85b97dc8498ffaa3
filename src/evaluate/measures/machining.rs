//! Time on the mill, stock and money.

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
        name: "cost",
        unit: "money",
        words: "cost of one part: stock less chips, machine, labour, wear of tools, set-up spread over the batch",
        take: Take::Once(|facts| facts.cost),
    },
    Measure {
        name: "setup_time",
        unit: "s",
        words: "time of making the machine ready and measuring the tools, a part's share of it",
        take: Take::Once(|facts| facts.setup_s),
    },
    Measure {
        name: "billet_mass",
        unit: "g",
        words: "mass of the stock for one part, saw cut included",
        take: Take::Once(|facts| facts.billet.mass_g),
    },
    Measure {
        name: "chips",
        unit: "",
        words: "share of the stock that does not end in the part",
        take: Take::Once(|facts| facts.billet.chips),
    },
    Measure {
        name: "table_room",
        unit: "mm",
        words: "room that the billet leaves on the machine's table",
        take: Take::Once(|facts| facts.table_room_mm),
    },
    Measure {
        name: "cutter_gap",
        unit: "mm",
        words: "narrowest slot less the smallest end mill in stock, or slit less the laser's cut",
        take: Take::Once(|facts| facts.cutter_gap_mm),
    },
];
