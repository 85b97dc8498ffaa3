//! What a budget says, checked.

use std::fmt;
use std::ops::Range;

/// A mass budget as read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Budget {
    /// Title.
    pub title: String,
    /// Remarks; may be empty.
    pub notes: String,
    /// Symbol of its money: `EUR`.
    pub currency: String,
    /// Limits of the totals, one a measure; `None` where there is none.
    pub limits: [Option<f64>; 3],
    /// Its items, in order.
    pub items: Vec<Item>,
}

/// What is added up: mass in g, cost in the budget's money, cycle time in s.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// Mass with its growth allowance, in g.
    Mass,
    /// Cost, in the budget's money.
    Cost,
    /// Time on the machine, in s.
    CycleTime,
}

/// Every measure that is added up, in the order of all arrays of three.
pub const MEASURES: [Measure; 3] = [Measure::Mass, Measure::Cost, Measure::CycleTime];

impl Measure {
    /// Name in files and calls.
    pub fn name(self) -> &'static str {
        ["mass", "cost", "cycle_time"][self as usize]
    }

    /// The measure of a name.
    pub fn find(name: &str) -> Option<Measure> {
        MEASURES.into_iter().find(|measure| measure.name() == name)
    }

    /// Symbol of its unit in a budget that counts in `currency`.
    pub fn unit(self, currency: &str) -> &str {
        match self {
            Measure::Mass => "g",
            Measure::Cost => currency,
            Measure::CycleTime => "s",
        }
    }
}

/// An item of a budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its name, unlike that of any other.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// Pieces of it in the product, from 1.
    pub quantity: usize,
    /// How its mass is known.
    pub basis: Basis,
    /// Growth allowance as a share of the mass, where the budget gives one.
    pub growth: Option<f64>,
    /// The part that it is, where it is one of this project.
    pub source: Option<Source>,
    /// Mass, cost and cycle time of one piece, as far as the budget gives them.
    pub each: [Option<f64>; 3],
    /// Remark; may be empty.
    pub note: String,
    /// Where it stands in the text.
    pub places: Places,
}

impl Item {
    /// Growth allowance as a share of the mass: its own, else the usual one of its basis.
    pub fn allowance(&self) -> f64 {
        self.growth.unwrap_or(self.basis.usual_growth())
    }

    /// Growth allowance of a candidate in its place, whose mass is calculated.
    pub fn allowance_of_candidate(&self) -> f64 {
        match self.basis {
            Basis::Calculated => self.allowance(),
            _ => Basis::Calculated.usual_growth(),
        }
    }
}

/// What an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A part of this project.
    Part,
    /// A bought part.
    Bought,
    /// Screws, nuts, pins, washers, adhesive.
    Fastener,
}

impl Kind {
    /// Words of all kinds.
    pub const WORDS: [(&'static str, Kind); 3] = [
        ("part", Kind::Part),
        ("bought", Kind::Bought),
        ("fastener", Kind::Fastener),
    ];
}

impl fmt::Display for Kind {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(Kind::WORDS[*self as usize].0)
    }
}

/// How a mass is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// A guess, from something alike.
    Estimated,
    /// Worked out from a model or drawing.
    Calculated,
    /// Weighed.
    Weighed,
}

/// Every basis, the least certain first.
pub const BASES: [Basis; 3] = [Basis::Estimated, Basis::Calculated, Basis::Weighed];

impl Basis {
    /// Its word.
    pub fn word(self) -> &'static str {
        ["estimated", "calculated", "weighed"][self as usize]
    }

    /// Usual growth allowances: from and to, as shares of the mass.
    ///
    /// Source: bands after the manner of ANSI/AIAA S-120A-2015, Mass Properties Control for Space Systems (from memory).
    pub fn band(self) -> (f64, f64) {
        [(0.10, 0.25), (0.03, 0.10), (0.0, 0.01)][self as usize]
    }

    /// The middle of the usual growth allowances, as a share of the mass.
    pub fn usual_growth(self) -> f64 {
        let (low, high) = self.band();
        0.5 * (low + high)
    }
}

impl fmt::Display for Basis {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.word())
    }
}

/// Where the figures of a part of this project come from.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Source {
    /// File of its study, as written: relative to the budget.
    pub study: String,
    /// Letter of its revision; `None` for the study's baseline.
    pub revision: Option<String>,
    /// Folder of the run whose front is looked at, as written; `None` where the budget names none.
    pub run: Option<String>,
    /// Measure of the study that counts as its mass; `None` for the usual one, without what the part carries.
    pub mass_from: Option<String>,
    /// What candidates must keep, as written; `None` where they must be no worse than today.
    pub keep: Option<Vec<String>>,
}

/// Bytes of the text in which an item's values stand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places {
    /// The whole item: its heading.
    pub item: Range<usize>,
    /// Its name.
    pub name: Range<usize>,
    /// Its mass.
    pub mass: Range<usize>,
    /// Its study.
    pub study: Range<usize>,
    /// Its revision.
    pub revision: Range<usize>,
    /// Its run.
    pub run: Range<usize>,
    /// What counts as its mass.
    pub mass_from: Range<usize>,
    /// What is to be kept.
    pub keep: Range<usize>,
}
