//! What a design meeting decided, and the revisions that came of it: two TOML files made to be read by people and
//! kept under version control.
//!
//! A *decision* is what the review page exports: designs marked with remarks, the one chosen, the reason
//! ([`read_decision`]). A *ledger* stands beside a study and has one entry a revision, added at its end
//! ([`read_ledger`], [`Revision::text`]). Every entry carries a seal over its contents, so that one edited by
//! accident is found; earlier entries are never written again. [`History`] is what became of the figures from
//! revision to revision.
//!
//! This room opens no file: texts come in, records or [`Problem`]s go out.

mod date;
mod decision;
mod differs;
pub(crate) mod fields;
mod history;
mod letter;
mod match_up;
mod quantity;
mod read;
mod revision;
mod text;

pub use crate::study::Problem;
pub use date::Date;
pub use decision::{DECISION_FORMAT, Decision, Pick, read_decision};
pub use differs::{Difference, differences};
pub(crate) use fields::{Fields, Placed, Reader, parse, shown};
pub use history::{Change, History, Measure, Sense, Step};
pub use letter::{Letter, NotALetter};
pub use match_up::{Found, Identity, MatchFault, figures_in, find_picks};
pub use quantity::{Quantity, same_unit};
pub use read::{Entry, LEDGER_FORMAT, Ledger, MOST_BYTES, read_ledger};
pub use revision::Revision;
pub(crate) use text::{key, list, quoted};

/// Every code of a problem in a decision or a ledger, with what it means.
pub const CODES: &[(&str, &str)] = &[
    ("ledger/conflict", "marks that a merge of two versions left"),
    ("ledger/edited", "a revision that is not as it was adopted"),
    ("ledger/empty", "an empty file"),
    ("ledger/format", "a format that this program does not know"),
    (
        "ledger/gap",
        "a revision letter that does not follow the one before",
    ),
    ("ledger/letter", "something that is no revision letter"),
    ("ledger/missing-key", "a key that must be there"),
    (
        "ledger/no-such-pick",
        "a design chosen that is not among the picks",
    ),
    ("ledger/not-toml", "text that is no TOML"),
    ("ledger/other-kind", "a file of another kind"),
    ("ledger/out-of-range", "a number outside of what is allowed"),
    ("ledger/quantity", "a value that is no number with a unit"),
    ("ledger/repeated", "an entry that comes twice"),
    ("ledger/unknown-key", "a key that there is not"),
    (
        "ledger/wrong-type",
        "a text, number or list where something else is asked for",
    ),
];
