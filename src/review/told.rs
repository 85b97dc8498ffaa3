//! What the page tells of a candidate beside its sheet: why it is as it is, how it comes out of the shop.

use serde_json::{Value, json};

use super::columns::plain;
use super::sheets::{Words, tidy};
use crate::run::{Scatter, SourceShare, Told, Why};

/// Of a candidate as nested arrays, its words by number; the order of fields is the one `told.js` reads.
pub fn told_json(told: &Told, words: &mut Words) -> Value {
    json!([
        told.design,
        told.why.as_ref().map(|why| why_json(why, words)),
        told.scatter
            .as_ref()
            .map(|found| scatter_json(found, words))
    ])
}

/// Bytes that all of it takes on the page, words included.
pub fn bytes(all: &[Told]) -> usize {
    let mut words = Words::default();
    let figures: usize = all
        .iter()
        .map(|told| told_json(told, &mut words).to_string().len())
        .sum();
    figures
        + words
            .list()
            .iter()
            .map(|word| word.len() + 3)
            .sum::<usize>()
}

fn why_json(why: &Why, words: &mut Words) -> Value {
    let numbers = |lines: Vec<String>, words: &mut Words| -> Vec<Value> {
        lines.iter().map(|line| words.number(line)).collect()
    };
    let holds = numbers(why.holds(), words);
    let rates = numbers(why.rates(), words);
    let near = why.nearest().into_iter();
    let near: Vec<Value> = near
        .map(|(design, text)| json!([design, words.number(&text)]))
        .collect();
    let better = why.better().into_iter().map(|(objective, steps)| {
        let steps: Vec<Value> = steps
            .iter()
            .map(|step| {
                json!([
                    words.number(&step.change),
                    words.number(&step.gain),
                    words.number(&step.verdict)
                ])
            })
            .collect();
        json!([words.number(&objective), steps])
    });
    let better: Vec<Value> = better.collect();
    json!([holds, rates, near, better])
}

fn scatter_json(found: &Scatter, words: &mut Words) -> Value {
    let sources = |all: &[SourceShare], most: usize, words: &mut Words| -> Vec<Value> {
        let each = all.iter().take(most);
        each.map(|each| {
            json!([
                words.number(&each.source),
                plain((100.0 * each.share).round())
            ])
        })
        .collect()
    };
    let figures: Vec<Value> = found
        .figures
        .iter()
        .map(|row| {
            let [low, _, high] = row.quantiles;
            json!([
                words.number(&row.name),
                words.number(&row.unit),
                tidy(row.nominal),
                tidy(row.sd),
                tidy(low),
                tidy(high),
                sources(&row.sources, 1, words)
            ])
        })
        .collect();
    let limits: Vec<Value> = found
        .constraints
        .iter()
        .filter(|row| row.chance.share < 1.0 || row.deviations < FAR)
        .map(|row| {
            json!([
                words.number(&row.name),
                words.number(&row.text),
                tidy(row.chance.share),
                tidy(row.chance.low),
                tidy(row.chance.high),
                tidy(row.deviations),
                sources(&row.sources, 3, words)
            ])
        })
        .collect();
    json!([
        found.samples,
        found.asked,
        [
            tidy(found.all.share),
            tidy(found.all.low),
            tidy(found.all.high)
        ],
        figures,
        limits
    ])
}

/// Constraints with more room than so many standard deviations are sure, and left out.
const FAR: f64 = 6.0;
