//! Parts that were made and measured, and what they say of the model.
//!
//! Records of made parts stand in a TOML file beside the ledger, one a sitting, added at its end and sealed as
//! revisions are ([`read_records`], [`Record::text`]): weighings, cycle times, stiffness under the study's load cases,
//! frequencies of the part tapped. [`figures`] turns a record into measures with standard errors; [`Gauge`] says how much
//! of a scatter is the gauge's.
//!
//! This room opens no file: texts come in, records or [`Problem`]s go out.

mod apply;
mod bench;
mod calibration;
mod check;
mod draft;
mod figure;
mod fit;
mod gather;
mod gauge;
mod least_squares;
mod model;
mod read;
mod record;
mod slope;
mod statistics;
mod table;
mod trials;

pub use crate::study::Problem;
pub use apply::with_calibration;
pub use bench::Bench;
pub use calibration::{Found, KNOBS, Knob, Outcome, Row, SHARE, Verdict, calibrate};
pub use draft::Defaults;
pub use figure::{Figure, Of, figures};
pub use fit::{Fitted, Model, fit, slopes};
pub use gather::{Gathered, OwnErrors, base_unit, gather, own_errors};
pub use gauge::{Gauge, GaugeFault, Standing, Trials, d2_star, range_limit};
pub use least_squares::{Estimate, FitError, Noise, weighted};
pub use model::{CYCLE, operation_names, paired, predicted, variables_of};
pub use read::{Entry, MEASURED_FORMAT, Records, read_readings, read_records};
pub use record::{Record, Stiffness, Taken, Tap, Times, Weighing};
pub use slope::{Slope, SlopeFault, slope};
pub use statistics::{CHANCE_APART, Series, farthest, grubbs, grubbs_limit, pooled};
pub use table::read_table;
pub use trials::{Tried, trials_of};

/// Every code of a problem in records or readings, with what it means.
pub const CODES: &[(&str, &str)] = &[
    (
        "measured/conflict",
        "marks that a merge of two versions left",
    ),
    ("measured/edited", "a record that is not as it was written"),
    ("measured/empty", "a file without records"),
    (
        "measured/format",
        "a format that this program does not know",
    ),
    ("measured/kind", "a kind of record that there is not"),
    ("measured/letter", "something that is no revision letter"),
    ("measured/missing-key", "a key or column that must be there"),
    (
        "measured/not-a-table",
        "a row that is no comma-separated values",
    ),
    ("measured/not-toml", "text that is no TOML"),
    ("measured/order", "frequencies that are not in order"),
    ("measured/other-kind", "a key of another kind of record"),
    (
        "measured/out-of-range",
        "a reading outside of what is possible",
    ),
    (
        "measured/quantity",
        "a reading that is no number with a unit",
    ),
    ("measured/repeated", "a record or time that comes twice"),
    ("measured/uneven", "loads and readings of different number"),
    ("measured/unit", "a reading in a unit of another kind"),
    ("measured/unknown-key", "a key or column that there is not"),
    (
        "measured/wrong-type",
        "a text, number or list where something else is asked for",
    ),
];
