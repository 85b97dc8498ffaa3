//! The mass budget of a whole product: parts of this project, bought parts and fasteners, what they weigh and may come
//! to weigh, and where the next gram is cheapest.
//!
//! A budget is a TOML file made to be read by people and kept under version control ([`read_budget`]). [`Account`] adds
//! up what its items weigh, with a growth allowance by how well each mass is known. Where parts have fronts of runs,
//! [`options`] says which candidates may stand for each, [`Ladder`] puts the steps along all fronts in the order of what a
//! gram costs, and [`Offer`] combines the fronts exactly: the best choice of revisions over all parts for a total mass,
//! cost or cycle time.
//!
//! This room opens no file: texts and figures come in, records or [`Problem`]s go out. Masses are in g, times in s,
//! money in the budget's currency.

mod account;
mod amount;
mod item;
mod keep;
mod ladder;
mod offer;
mod options;
mod read;
mod report;

pub use crate::study::Problem;
pub use account::{Account, Line, Part};
pub use item::{BASES, Basis, Budget, Item, Kind, MEASURES, Measure, Places, Source};
pub use ladder::{Givings, Ladder, Rung, givings};
pub use offer::{Asked, Bound, Offer, Overall, ask, overall};
pub use options::{Choice, Dimension, Front, Objective, Options, Today, moved, options};
pub use read::{BUDGET_FORMAT, MOST_ITEMS, read_budget};
pub use report::{Answer, Fault, Fronts, Report, Wish, plain, report};

/// Every code of a problem in a budget, with what it means.
pub const CODES: &[(&str, &str)] = &[
    ("budget/conflict", "marks that a merge of two versions left"),
    ("budget/either", "keys that do not go together"),
    ("budget/empty", "an empty file"),
    ("budget/format", "a format that this program does not know"),
    ("budget/keep", "something to be kept that can't be read"),
    ("budget/missing-key", "a key that must be there"),
    (
        "budget/no-figure",
        "a figure that neither the budget nor a revision or run tells",
    ),
    ("budget/no-run", "a run that there is not"),
    ("budget/no-such-revision", "a revision that there is not"),
    ("budget/no-study", "a study that there is not"),
    ("budget/not-toml", "text that is no TOML"),
    (
        "budget/other-money",
        "an amount in another money than the budget's",
    ),
    ("budget/other-run", "a run of another study"),
    ("budget/out-of-range", "a number outside of what is allowed"),
    ("budget/quantity", "a value that is no number with a unit"),
    ("budget/repeated", "an item that comes twice"),
    (
        "budget/study-changed",
        "a study that is no longer the one that a run explored",
    ),
    ("budget/unknown-key", "a key that there is not"),
    (
        "budget/unknown-word",
        "a word that is none of the allowed ones",
    ),
    (
        "budget/wrong-type",
        "a text, number or list where something else is asked for",
    ),
];
