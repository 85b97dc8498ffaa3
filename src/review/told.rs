//! What the page tells of a candidate beside its sheet: why it is as it is, how it comes out of the shop.

use serde_json::{Value, json};

use super::columns::plain;
use super::sheets::tidy;
use crate::run::{Scatter, SourceShare, Told, Why};

/// Of a candidate as `told.js` reads it.
pub fn told_json(told: &Told) -> Value {
    json!({
        "design": told.design,
        "why": told.why.as_ref().map(why_json),
        "scatter": told.scatter.as_ref().map(scatter_json),
    })
}

fn why_json(why: &Why) -> Value {
    let near = why.nearest().into_iter();
    let near: Vec<Value> = near
        .map(|(design, text)| json!({ "design": design, "words": text }))
        .collect();
    let better = why.better().into_iter().map(|(objective, steps)| {
        let steps: Vec<Value> = steps
            .iter()
            .map(
                |step| json!({ "change": step.change, "gain": step.gain, "verdict": step.verdict }),
            )
            .collect();
        json!({ "objective": objective, "steps": steps })
    });
    let better: Vec<Value> = better.collect();
    json!({ "holds": why.holds(), "rates": why.rates(), "near": near, "better": better })
}

fn scatter_json(found: &Scatter) -> Value {
    let sources = |all: &[SourceShare], most: usize| -> Vec<Value> {
        let each = all.iter().take(most);
        each.map(
            |each| json!({ "name": each.source, "percent": plain((100.0 * each.share).round()) }),
        )
        .collect()
    };
    let figures: Vec<Value> = found
        .figures
        .iter()
        .map(|row| {
            let [low, _, high] = row.quantiles;
            json!({
                "name": row.name, "unit": row.unit, "nominal": tidy(row.nominal), "sd": tidy(row.sd),
                "low": tidy(low), "high": tidy(high), "from": sources(&row.sources, 1),
            })
        })
        .collect();
    let limits: Vec<Value> = found
        .constraints
        .iter()
        .filter(|row| row.chance.share < 1.0 || row.deviations < FAR)
        .map(|row| {
            json!({
                "name": row.name, "text": row.text, "share": tidy(row.chance.share), "low": tidy(row.chance.low),
                "high": tidy(row.chance.high), "room": tidy(row.deviations), "from": sources(&row.sources, 3),
            })
        })
        .collect();
    json!({
        "samples": found.samples,
        "asked": found.asked,
        "all": { "share": tidy(found.all.share), "low": tidy(found.all.low), "high": tidy(found.all.high) },
        "figures": figures,
        "limits": limits,
    })
}

/// Constraints with more room than so many standard deviations are sure, and left out.
const FAR: f64 = 6.0;
