//! Records put together as rows of a calibration.

use std::collections::BTreeMap;

use super::calibration::Row;
use super::figure::{Figure, Of, figures};
use super::model::CYCLE;
use super::record::{Record, Taken};
use super::statistics::pooled;
use crate::ledger::Quantity;

/// What a model may be off by, and what parts differ by from their like, as shares (one standard error).
///
/// Common practice, no source; a calibration says how far its readings lie from the model beside these, and widens errors
/// that were stated too small.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OwnErrors {
    /// The model, in which all parts of a revision share.
    pub model: f64,
    /// From part to part.
    pub part: f64,
}

/// Own errors of what is measured; `solid`: whether the model's stiffness is set right by a solid.
pub fn own_errors(of: &Of, solid: bool) -> OwnErrors {
    let (model, part) = match of {
        Of::Mass(_) => (0.001, 0.002),
        Of::Stiffness(_) if solid => (0.01, 0.005),
        Of::Stiffness(_) => (0.03, 0.005),
        Of::Frequency(..) => (0.015, 0.003),
        Of::Time(_) => (0.03, 0.01),
    };
    OwnErrors { model, part }
}

/// Rows of a calibration, with what was left out and why.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Gathered {
    /// The rows; `held_back` is not set yet.
    pub rows: Vec<Row>,
    /// What was left out or stood in for, in words.
    pub remarks: Vec<String>,
}

/// Rows of records, own errors from [`own_errors`].
///
/// Left out are times at another feed override than 100 %, and a whole cycle whose operations were logged as well. A
/// weighing of one reading leans on the scatter of all series of its instrument, if there are any; what is read once has at
/// least the rounding of its instrument, where that is told.
///
/// # Errors
/// In words, why a record gives no figure.
pub fn gather(records: &[&Record], solid: bool) -> Result<Gathered, String> {
    let mut gathered = Gathered::default();
    let mut all: Vec<(&Record, Figure)> = Vec::new();
    for record in records {
        let off = matches!(&record.taken, Taken::Times(times) if times.feed_override.is_some_and(|share| (share - 1.0).abs() > 1e-9));
        if off {
            gathered.remarks.push(format!(
                "the times of part {} of {} are left out: the feed override was not at 100 %",
                record.part, record.date
            ));
            continue;
        }
        let mut found = figures(record)?;
        if found.len() > 1 {
            found.retain(|figure| figure.of != Of::Time(CYCLE.into()));
        }
        all.extend(found.into_iter().map(|figure| (*record, figure)));
    }
    let scatter = scatter(&all);
    for (record, figure) in all {
        let own = own_errors(&figure.of, solid);
        let unit = base_unit(&figure);
        let base = |value: f64| {
            let (name, unit_of) = (String::new(), figure.unit.clone());
            let quantity = Quantity {
                name,
                value,
                unit: unit_of,
            };
            quantity.in_unit(unit).unwrap_or(f64::NAN)
        };
        let measured = base(figure.value);
        let read = match figure.error {
            Some(error) => base(error),
            None => {
                let step = record
                    .readability
                    .as_ref()
                    .and_then(|step| step.in_unit(unit));
                let rounding = step.unwrap_or(0.0) / 12f64.sqrt();
                let lean = scatter.get(record.instrument.as_str()).copied();
                let lean = lean.filter(|_| matches!(figure.of, Of::Mass(_)));
                lean.map_or(0.0, |grams| grams / (figure.count as f64).sqrt())
                    .hypot(rounding)
            }
        };
        gathered.rows.push(Row {
            part: record.part.clone(),
            revision: record.revision.to_string(),
            measured,
            unit: unit.into(),
            own: read.hypot(own.part * measured.abs()),
            shared: own.model * measured.abs(),
            held_back: false,
            of: figure.of,
        });
    }
    Ok(gathered)
}

/// Standard deviation of a weighing in g, pooled over the series of each instrument.
fn scatter<'a>(all: &[(&'a Record, Figure)]) -> BTreeMap<&'a str, f64> {
    let mut series: BTreeMap<&str, Vec<(f64, usize)>> = BTreeMap::new();
    for (record, figure) in all {
        let one = Quantity {
            name: String::new(),
            value: 1.0,
            unit: figure.unit.clone(),
        };
        if let (Of::Mass(_), Some(grams)) = (&figure.of, one.in_unit("g")) {
            let (squares, freedom) = figure.squares;
            let of = series.entry(record.instrument.as_str()).or_default();
            of.push((squares * grams * grams, freedom));
        }
    }
    let pooled = |(name, series): (&'a str, Vec<(f64, usize)>)| Some((name, pooled(series)?.0));
    series.into_iter().filter_map(pooled).collect()
}

/// Unit in which the model says what a figure is of.
pub fn base_unit(figure: &Figure) -> &str {
    match figure.of {
        Of::Mass(_) => "g",
        Of::Time(_) => "s",
        Of::Frequency(..) => "Hz",
        Of::Stiffness(_) => &figure.unit,
    }
}
