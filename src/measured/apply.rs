//! A calibration written into a study's text.

use toml_edit::{DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::calibration::{Found, Outcome, Verdict};
use crate::ledger::{Date, Quantity};

/// Key of each factor's value in the study, as [`super::KNOBS`].
const KEYS: [&str; 6] = ["factor", "factor", "offset", "compliance", "time", "factor"];

/// A study's text with the factors of a calibration, comments and layout as they were: `[calibration]` takes the place of
/// the one that is there, or stands at the end. Factors that are not applied are taken out.
///
/// `parts`: measured parts that the factors rest on; `date`: day, for a remark above a new table.
///
/// # Errors
/// In words that fit after "failed to", why the text can't be changed.
pub fn with_calibration(
    text: &str,
    outcome: &Outcome,
    parts: usize,
    date: Date,
) -> Result<String, String> {
    let mut document: DocumentMut = text
        .parse()
        .map_err(|error| format!("read the study as TOML: {error}"))?;
    let root = document.as_table_mut();
    if !root.contains_key("calibration") {
        let mut table = Table::new();
        let remark =
            format!("\n# By `fretwork calibrate`, {date}: what measured parts say of the model.\n");
        table.decor_mut().set_prefix(remark);
        root.insert("calibration", Item::Table(table));
    }
    let calibration = root
        .get_mut("calibration")
        .and_then(Item::as_table_like_mut)
        .ok_or("write the calibration: `calibration` is no table")?;
    let count = i64::try_from(parts).unwrap_or(i64::MAX);
    put(calibration, "parts", Value::from(count));
    for (found, key) in outcome.factors.iter().zip(KEYS) {
        match found.verdict {
            Verdict::Applied => put(calibration, found.knob.name, entry(found, key)),
            _ => {
                calibration.remove(found.knob.name);
            }
        }
    }
    Ok(document.to_string())
}

/// `{ factor = 0.995, error = 0.002 }`: as many digits as the error has, and two more.
fn entry(found: &Found, key: &str) -> Value {
    let decimals = (2.0 - found.error.log10().floor()).clamp(0.0, 12.0) as usize;
    let rounded = |value: f64| format!("{value:.decimals$}").parse().unwrap_or(value);
    let text = |value: f64| -> Value {
        match found.knob.unit {
            "" => Value::from(value),
            unit => {
                let (name, unit) = (String::new(), unit.into());
                Value::from(Quantity { name, value, unit }.text(12))
            }
        }
    };
    let mut table = InlineTable::new();
    table.insert(key, text(rounded(found.value)));
    table.insert("error", text(rounded(found.error)));
    Value::InlineTable(table)
}

/// Puts a value in the place of another, whose comments stay.
fn put(table: &mut dyn TableLike, key: &str, mut value: Value) {
    match table.get_mut(key) {
        Some(Item::Value(old)) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        // A factor that was a table of its own, [calibration.density], becomes a line.
        Some(old) => *old = Item::Value(value),
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}
