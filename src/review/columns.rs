//! The designs of a run as compact columns for the page.
//!
//! Rows that people look at one by one (baseline, front, candidates with a sheet) keep single precision. The
//! others are a cloud: a column of few distinct values is a list and one byte a design, any other column two
//! bytes a design, even steps between its least and greatest value (or even steps of its logarithm where it
//! spans more than a factor of 100).

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::drawing::text::base64;
use crate::run::Finished;

/// Designs on the page at most; beyond it, dominated designs are thinned evenly.
pub const MOST_DESIGNS: usize = 20_000;
/// Designs shown in place of a front where none is feasible.
const LEAST_VIOLATING: usize = 40;

/// Steps of a two-byte column; the codes above stand for -infinity, infinity and NaN.
const STEPS: f64 = 65_532.0;
const MINUS_INFINITY: u16 = 65_533;
const PLUS_INFINITY: u16 = 65_534;
const NOT_A_NUMBER: u16 = 65_535;

/// Which designs the page holds.
pub struct Rows {
    /// Baseline, then the candidates, then other designs that have a sheet.
    pub exact: Vec<usize>,
    /// Candidates among `exact`: the front, or the least violating designs where it is empty. They follow the
    /// baseline directly; the baseline may itself be one.
    pub candidates: Vec<usize>,
    /// The rest, in order of evaluation.
    pub cloud: Vec<usize>,
    /// Dominated or infeasible designs left out.
    pub left_out: usize,
}

impl Rows {
    /// Chooses the designs of a page.
    pub fn of(run: &Finished) -> Rows {
        let held = |design: &usize| run.designs.holds(*design);
        let mut candidates: Vec<usize> = run.front.iter().copied().filter(held).collect();
        if candidates.is_empty() {
            candidates = least_violating(run);
        }
        let mut taken = BTreeSet::new();
        let mut exact = Vec::new();
        let with_sheet = run.sheets.iter().map(|(design, _)| *design);
        let first = (!run.designs.is_empty()).then_some(0);
        for design in first
            .into_iter()
            .chain(candidates.iter().copied())
            .chain(with_sheet)
        {
            if held(&design) && taken.insert(design) {
                exact.push(design);
            }
        }
        let rest: Vec<usize> = (run.designs.held())
            .filter(|design| !taken.contains(design))
            .collect();
        let room = MOST_DESIGNS.saturating_sub(exact.len());
        let cloud: Vec<usize> = if rest.len() <= room {
            rest.clone()
        } else {
            (0..room).map(|k| rest[k * rest.len() / room]).collect()
        };
        let left_out = run.designs.len() - exact.len() - cloud.len();
        Rows {
            exact,
            candidates,
            cloud,
            left_out,
        }
    }
}

fn least_violating(run: &Finished) -> Vec<usize> {
    let violation = |design: usize| run.designs.violation_of(design);
    let mut order: Vec<usize> = (run.designs.held())
        .filter(|&design| violation(design).is_finite())
        .collect();
    order.sort_by(|&a, &b| violation(a).total_cmp(&violation(b)));
    order.truncate(LEAST_VIOLATING);
    order
}

/// The columns (and the violation after them) of the chosen rows as JSON.
pub fn columns_json(run: &Finished, rows: &Rows) -> Value {
    let width = run.columns.len();
    let value = |design: usize, column: usize| {
        if column == width {
            run.designs.violation_of(design)
        } else {
            run.designs
                .row(design)
                .get(column)
                .copied()
                .unwrap_or(f64::NAN)
        }
    };
    let columns: Vec<Value> = (0..=width)
        .map(|column| {
            let exact: Vec<u8> = rows
                .exact
                .iter()
                .flat_map(|&design| (value(design, column) as f32).to_le_bytes())
                .collect();
            let cloud: Vec<f64> = rows
                .cloud
                .iter()
                .map(|&design| value(design, column))
                .collect();
            json!({ "exact": base64(&exact), "cloud": packed(&cloud) })
        })
        .collect();
    json!({
        "exact": indices(&rows.exact),
        "cloud": indices(&rows.cloud),
        "columns": columns,
    })
}

fn indices(designs: &[usize]) -> String {
    let bytes: Vec<u8> = designs
        .iter()
        .flat_map(|&design| (design as u32).to_le_bytes())
        .collect();
    base64(&bytes)
}

/// A column of the cloud in its shortest form.
fn packed(values: &[f64]) -> Value {
    if let Some(list) = few_values(values) {
        let codes: Vec<u8> = values
            .iter()
            .map(|value| {
                let same = |known: &f64| known.to_bits() == value.to_bits();
                list.iter().position(same).unwrap_or(0) as u8
            })
            .collect();
        let list: Vec<Value> = list.into_iter().map(plain).collect();
        return json!({ "list": list, "data": base64(&codes) });
    }
    let finite = || values.iter().copied().filter(|value| value.is_finite());
    let low = finite().fold(f64::INFINITY, f64::min);
    let high = finite().fold(f64::NEG_INFINITY, f64::max);
    let log = low > 0.0 && high / low > 100.0;
    let map = |value: f64| if log { value.ln() } else { value };
    let span = map(high) - map(low);
    let codes: Vec<u8> = values
        .iter()
        .map(|&value| {
            if value.is_finite() {
                let share = if span > 0.0 {
                    (map(value) - map(low)) / span
                } else {
                    0.0
                };
                (share * STEPS).round().clamp(0.0, STEPS) as u16
            } else if value.is_nan() {
                NOT_A_NUMBER
            } else if value > 0.0 {
                PLUS_INFINITY
            } else {
                MINUS_INFINITY
            }
        })
        .flat_map(u16::to_le_bytes)
        .collect();
    json!({ "low": plain(low), "high": plain(high), "log": log, "data": base64(&codes) })
}

/// The distinct values, where there are at most 200.
fn few_values(values: &[f64]) -> Option<Vec<f64>> {
    let mut list: Vec<f64> = Vec::new();
    let mut last = 0;
    for value in values {
        let same = |known: &f64| known.to_bits() == value.to_bits();
        if list.get(last).is_some_and(same) {
            continue;
        }
        match list.iter().position(same) {
            Some(index) => last = index,
            None if list.len() < 200 => {
                last = list.len();
                list.push(*value);
            }
            None => return None,
        }
    }
    Some(list)
}

/// A number in JSON, which has none for infinity and NaN: `"inf"`, `"-inf"`, `null`.
pub fn plain(value: f64) -> Value {
    if value.is_finite() {
        // Seven digits carry every figure of the page.
        let short: f64 = format!("{value:.6e}").parse().unwrap_or(value);
        if short.fract() == 0.0 && short.abs() < 1e15 {
            return Value::from(short as i64);
        }
        Value::from(short)
    } else if value.is_nan() {
        Value::Null
    } else {
        Value::from(if value > 0.0 { "inf" } else { "-inf" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decoded(text: &str) -> Vec<u8> {
        let letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
        let mut out = Vec::new();
        for group in text.trim_end_matches('=').as_bytes().chunks(4) {
            let word = group.iter().fold(0u32, |word, &c| {
                word << 6 | letters.find(c as char).unwrap() as u32
            }) << (6 * (4 - group.len()));
            out.extend((0..group.len() - 1).map(|i| (word >> (16 - 8 * i)) as u8));
        }
        out
    }

    #[test]
    fn a_wide_column_keeps_its_values_within_a_step() {
        let values: Vec<f64> = (0..5000).map(|i| 3.0 + 0.01 * f64::from(i)).collect();
        let json = packed(&values);
        let bytes = decoded(json["data"].as_str().unwrap());
        let (low, high) = (
            json["low"].as_f64().unwrap(),
            json["high"].as_f64().unwrap(),
        );
        for (pair, value) in bytes.chunks(2).zip(&values) {
            let code = f64::from(u16::from_le_bytes([pair[0], pair[1]]));
            let back = low + (high - low) * code / STEPS;
            assert!((back - value).abs() <= 0.51 * (high - low) / STEPS);
        }
    }

    #[test]
    fn what_is_not_finite_stays_apart() {
        let mut values: Vec<f64> = (0..300).map(f64::from).collect();
        values.extend([f64::NAN, f64::INFINITY, f64::NEG_INFINITY]);
        let json = packed(&values);
        let bytes = decoded(json["data"].as_str().unwrap());
        let codes: Vec<u16> = bytes
            .chunks(2)
            .map(|p| u16::from_le_bytes([p[0], p[1]]))
            .collect();
        assert_eq!(codes[300..], [NOT_A_NUMBER, PLUS_INFINITY, MINUS_INFINITY]);
        assert!(codes[..300].iter().all(|&code| f64::from(code) <= STEPS));
        let few = packed(&[f64::INFINITY, 1.5, f64::INFINITY]);
        assert_eq!(few["list"], json!(["inf", 1.5]));
        assert_eq!(decoded(few["data"].as_str().unwrap()), [0, 1, 0]);
    }
}
