//! A calibration for a terminal and as JSON.

use std::io::{self, Write};

use serde_json::{Value, json};

use super::number::{brief, figure, signed_percent, unit};
use super::style::{self, Style};
use super::table::{Align, Cell, Table, WIDTH, list, paragraph};
use crate::measured::{CYCLE, Found, Of, Outcome, Row, Verdict, own_errors};

/// A calibration and what it rests on.
pub struct Told<'a> {
    /// File stem of the study.
    pub study: &'a str,
    /// Measured figures.
    pub rows: &'a [Row],
    /// What came out.
    pub outcome: &'a Outcome,
    /// Parts fitted.
    pub parts: usize,
    /// The part held back.
    pub held_back: &'a str,
    /// What was left out.
    pub remarks: &'a [String],
    /// Whether the solids were left out.
    pub beam: bool,
}

/// Prints the factors, then every part before and after.
pub fn print(out: &mut dyn Write, told: &Told) -> io::Result<()> {
    let outcome = told.outcome;
    let fitted = told.rows.iter().filter(|row| !row.held_back).count();
    let parts = match told.parts {
        1 => "1 part".to_string(),
        parts => format!("{parts} parts"),
    };
    let title = format!(
        "{}: calibration by {parts} ({fitted} {}), {} held back as a test",
        told.study,
        if fitted == 1 { "figure" } else { "figures" },
        told.held_back
    );
    paragraph(out, &title, 0, style::HEADING)?;
    writeln!(out)?;
    factors(out, outcome)?;
    writeln!(out)?;
    figures(out, told)?;
    writeln!(out)?;
    judged(out, told)?;
    list(out, "NOTES", &notes(told), style::PLAIN)
}

fn factors(out: &mut dyn Write, outcome: &Outcome) -> io::Result<()> {
    let mut table = Table::new(&[
        ("FACTORS", Align::Left),
        ("", Align::Left),
        ("value", Align::Right),
        ("±", Align::Right),
        ("95 %", Align::Left),
        ("", Align::Wrap),
    ]);
    for found in &outcome.factors {
        let (value, error, interval) = match found.error.is_finite() {
            true => {
                let text = |value: f64| decimals(value, found.error);
                let (low, high) = (
                    found.value - found.half_width,
                    found.value + found.half_width,
                );
                let interval = match found.half_width.is_finite() {
                    true => format!("{} to {}", text(low), text(high)),
                    false => "not known".into(),
                };
                (text(found.value), text(found.error), interval)
            }
            false => ("-".into(), String::new(), String::new()),
        };
        let (words, tone) = verdict(found);
        table.row([
            found.knob.name.into(),
            unit(found.knob.unit).into(),
            value.into(),
            Cell::styled(error, style::DIM),
            interval.into(),
            Cell::styled(words, tone),
        ]);
    }
    table.print(out, WIDTH)
}

/// As many decimals as show the error's first two digits.
fn decimals(value: f64, error: f64) -> String {
    let decimals = match error > 0.0 {
        true => (1.0 - error.log10().floor()).clamp(0.0, 12.0) as usize,
        false => 4,
    };
    let text = format!("{value:.decimals$}");
    match text
        .trim_start_matches('-')
        .chars()
        .all(|each| matches!(each, '0' | '.'))
    {
        true => text.trim_start_matches('-').into(),
        false => text,
    }
}

fn verdict(found: &Found) -> (String, Style) {
    let neutral = brief(found.knob.neutral);
    match &found.verdict {
        Verdict::Applied => ("applied".into(), style::GOOD),
        Verdict::Spans => ("not applied".into(), style::PLAIN),
        Verdict::Silent => ("no record tells of it".into(), style::DIM),
        Verdict::LeftOut => ("left out by the call".into(), style::DIM),
        Verdict::Alike(like) if like.is_empty() => (
            format!("too few figures for it: held at {neutral}"),
            style::WARN,
        ),
        Verdict::Alike(like) => (
            format!(
                "can't be told from {} by these records: held at {neutral}",
                like.join(" and ")
            ),
            style::WARN,
        ),
        Verdict::Outside => (
            "came out where it has no meaning: not applied".into(),
            style::WARN,
        ),
    }
}

/// Figures of a part that stand in one line.
struct Line {
    words: String,
    unit: String,
    /// Measured (mean), before, after.
    figures: [f64; 3],
    /// Records behind it.
    count: usize,
}

/// The lines of a part: equal things once, with their mean; operations as a sum.
fn lines(told: &Told, part: &str) -> Vec<Line> {
    let mut all: Vec<Line> = Vec::new();
    let (mut operations, mut sum) = (0, [0.0; 3]);
    for (at, row) in told
        .rows
        .iter()
        .enumerate()
        .filter(|(_, row)| row.part == part)
    {
        let figures = [
            row.measured,
            told.outcome.before[at],
            told.outcome.after[at],
        ];
        if matches!(&row.of, Of::Time(name) if name != CYCLE) {
            operations += 1;
            sum.iter_mut()
                .zip(figures)
                .for_each(|(sum, figure)| *sum += figure);
            continue;
        }
        let words = row.of.words();
        match all.iter_mut().find(|line| line.words == words) {
            Some(line) => {
                line.count += 1;
                line.figures[0] += (row.measured - line.figures[0]) / line.count as f64;
            }
            None => all.push(Line {
                words,
                unit: row.unit.clone(),
                figures,
                count: 1,
            }),
        }
    }
    if operations > 0 {
        all.push(Line {
            words: match operations {
                1 => "1 operation".into(),
                count => format!("{count} operations, sum"),
            },
            unit: "s".into(),
            figures: sum,
            count: 1,
        });
    }
    all
}

fn figures(out: &mut dyn Write, told: &Told) -> io::Result<()> {
    let mut table = Table::new(&[
        ("PARTS", Align::Left),
        ("", Align::Left),
        ("measured", Align::Point),
        ("before", Align::Point),
        ("off", Align::Point),
        ("after", Align::Point),
        ("off", Align::Point),
    ]);
    let mut parts: Vec<&str> = Vec::new();
    for row in told.rows {
        if !parts.contains(&row.part.as_str()) {
            parts.push(&row.part);
        }
    }
    for part in parts {
        let revision = told
            .rows
            .iter()
            .find(|row| row.part == part)
            .map_or("", |row| &row.revision);
        let test = if part == told.held_back {
            ", held back"
        } else {
            ""
        };
        table.heading(&format!("{part}, revision {revision}{test}"));
        for line in lines(told, part) {
            let [measured, before, after] = line.figures;
            let off =
                |figure: f64| Cell::styled(signed_percent(figure / measured - 1.0), style::DIM);
            let words = match line.count {
                1 => line.words,
                count => format!("{} ({count} records)", line.words),
            };
            table.row([
                words.into(),
                unit(&line.unit).into(),
                figure(measured).into(),
                figure(before).into(),
                off(before),
                figure(after).into(),
                off(after),
            ]);
        }
    }
    table.print(out, WIDTH)
}

fn judged(out: &mut dyn Write, told: &Told) -> io::Result<()> {
    let outcome = told.outcome;
    if let Some((before, after)) = outcome.test {
        let (words, tone) = match (after < before, after > before) {
            (true, _) => ("nearer than before", style::GOOD),
            (_, true) => (
                "farther off than before: do not apply without looking for the cause",
                style::BAD,
            ),
            _ => ("as far off as before", style::PLAIN),
        };
        let words = format!(
            "held back: {} misses by {} standard errors (root mean square) before, {} after: {words}",
            told.held_back,
            figure(before),
            figure(after)
        );
        paragraph(out, &words, 0, tone)?;
    }
    let words = format!(
        "fitted: chi-square {} before, {} after, with {} degrees of freedom",
        figure(outcome.chi2.0),
        figure(outcome.chi2.1),
        outcome.freedom
    );
    paragraph(out, &words, 0, style::PLAIN)
}

fn notes(told: &Told) -> Vec<String> {
    let outcome = told.outcome;
    let mut notes: Vec<String> = told.remarks.to_vec();
    let percent = |share: f64| format!("{} %", brief(100.0 * share));
    let mut kinds: Vec<(&str, Of)> = Vec::new();
    for row in told.rows {
        let name = match row.of {
            Of::Mass(_) => "mass",
            Of::Stiffness(_) => "stiffness",
            Of::Frequency(..) => "frequency",
            Of::Time(_) => "times",
        };
        if !kinds.iter().any(|(known, _)| *known == name) {
            kinds.push((name, row.of.clone()));
        }
    }
    let own: Vec<String> = kinds
        .iter()
        .map(|(name, of)| {
            let own = own_errors(of, !told.beam);
            format!("{name} {} and {}", percent(own.model), percent(own.part))
        })
        .collect();
    notes.push(format!(
        "weights: the readings' standard errors, the model's own error (the same for all parts of a revision), and what parts \
         differ by: {}",
        own.join(", ")
    ));
    let ratio = outcome.ratio();
    if ratio > 1.0 {
        notes.push(format!(
            "readings lie {} times as far from the calibrated model as these errors say: the factors' errors are widened by that",
            figure(ratio)
        ));
    }
    notes.extend(farthest(told));
    if !told.beam
        && told
            .rows
            .iter()
            .any(|row| matches!(row.of, Of::Stiffness(_)))
    {
        notes.push("stiffness: the beam's, times solid over beam of each revision".into());
    }
    if !outcome.settled {
        notes.push("the fit did not settle: take the factors with care".into());
    }
    notes.push("intervals: Student's t. A factor whose interval holds the value that changes nothing is not applied: it is taken out and the others are fitted again, as if it was known".into());
    notes
}

/// Misses of a calibrated figure beyond so many of its standard errors are named.
const FAR: f64 = 4.0;

/// The fitted reading that lies farthest from the calibrated model, where that is far.
fn farthest(told: &Told) -> Option<String> {
    let fitted = told.rows.iter().zip(&told.outcome.after);
    let misses = fitted
        .filter(|(row, _)| !row.held_back)
        .map(|(row, after)| {
            let miss = (row.measured - after).abs() / row.own.hypot(row.shared);
            (miss, row, after)
        });
    let (miss, row, after) = misses.max_by(|one, two| one.0.total_cmp(&two.0))?;
    (miss > FAR).then(|| {
        format!(
            "farthest off: {} of {}, {} {} measured, {} calibrated, {} standard errors: see whether it was read and written \
             down right",
            row.of.words(),
            row.part,
            figure(row.measured),
            row.unit,
            figure(*after),
            figure(miss)
        )
    })
}

/// The whole calibration as one object.
pub fn json(told: &Told) -> Value {
    let outcome = told.outcome;
    let factor = |found: &Found| {
        let fitted = found.error.is_finite();
        json!({
            "name": found.knob.name,
            "unit": found.knob.unit,
            "value": fitted.then_some(found.value),
            "error": fitted.then_some(found.error),
            "interval": (fitted && found.half_width.is_finite())
                .then_some([found.value - found.half_width, found.value + found.half_width]),
            "neutral": found.knob.neutral,
            "applied": found.verdict == Verdict::Applied,
            "verdict": verdict(found).0,
        })
    };
    let row = |(at, row): (usize, &Row)| {
        json!({
            "part": row.part,
            "revision": row.revision,
            "of": row.of.words(),
            "measured": row.measured,
            "error": row.own,
            "model_error": row.shared,
            "before": outcome.before[at],
            "after": outcome.after[at],
            "held_back": row.held_back,
        })
    };
    json!({
        "study": told.study,
        "parts": told.parts,
        "held_back": told.held_back,
        "factors": outcome.factors.iter().map(factor).collect::<Vec<_>>(),
        "figures": told.rows.iter().enumerate().map(row).collect::<Vec<_>>(),
        "chi_square": { "before": outcome.chi2.0, "after": outcome.chi2.1, "freedom": outcome.freedom },
        "test": outcome.test.map(|(before, after)| json!({ "before": before, "after": after })),
        "remarks": told.remarks,
    })
}
