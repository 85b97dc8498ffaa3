//! A design under scatter, printed.

use std::io::{self, Write};

use super::number::{brief, count, figure, unit};
use super::style;
use super::table::{Align, Cell, Table, list, paragraph, width};
use crate::analyse::Chance;
use crate::run::{Retoleranced, Scatter, SourceShare};

/// A design's scatter: figures, constraints, what scatters, what to tighten and relax.
///
/// `goals`: how many of the figures are objectives; their sources are named.
pub fn print(out: &mut dyn Write, title: &str, found: &Scatter, goals: usize) -> io::Result<()> {
    paragraph(out, title, 0, style::HEADING)?;
    let text = format!(
        "{} copies, as they would come out of the shop. Machining plan, tools and the law of the solids are those of the \
         drawing.",
        count(found.samples)
    );
    paragraph(out, &text, 2, style::DIM)?;
    if found.broken > 0 {
        let text = format!(
            "{} copies are no sound part: a rule is broken.",
            count(found.broken)
        );
        paragraph(out, &text, 2, style::WARN)?;
    }
    figures(out, found, goals)?;
    constraints(out, found)?;
    quantities(out, found)?;
    advice(out, found)
}

fn figures(out: &mut dyn Write, found: &Scatter, goals: usize) -> io::Result<()> {
    let mut table = Table::new(&[
        ("FIGURES", Align::Left),
        ("", Align::Left),
        ("drawing", Align::Right),
        ("mean", Align::Right),
        ("sd", Align::Right),
        ("5 %", Align::Right),
        ("95 %", Align::Right),
    ]);
    for (index, row) in found.figures.iter().enumerate() {
        table.row([
            row.name.as_str().into(),
            Cell::styled(unit(&row.unit), style::DIM),
            figure(row.nominal).into(),
            figure(row.mean).into(),
            three(row.sd).into(),
            figure(row.quantiles[0]).into(),
            figure(row.quantiles[2]).into(),
        ]);
        if let Some(asked) = row.asked {
            let text = format!(
                "{} of the parts come out at {} or better (the search took {})",
                percent(asked.share),
                figure(asked.sampled),
                figure(asked.searched)
            );
            table.note(&text, style::PLAIN);
        }
        if index < goals {
            let from = sources(&row.sources, row.explained);
            let text = format!("{from}; sd {} by propagation", three(row.linear_sd));
            table.note(&text, style::DIM);
        }
    }
    writeln!(out)?;
    table.print(out, width())
}

fn constraints(out: &mut dyn Write, found: &Scatter) -> io::Result<()> {
    let mut table = Table::new(&[
        ("CONSTRAINTS", Align::Left),
        ("", Align::Wrap),
        ("met by", Align::Right),
        ("95 % sure", Align::Right),
        ("linear", Align::Right),
        ("room/sd", Align::Point),
    ]);
    for row in &found.constraints {
        table.row([
            row.name.as_str().into(),
            Cell::styled(row.text.as_str(), style::DIM),
            percent(row.chance.share).into(),
            interval(&row.chance).into(),
            Cell::styled(percent(row.linear_chance), style::DIM),
            format!("{:.1}", row.deviations).into(),
        ]);
        if row.chance.share < 1.0 {
            table.note(&sources(&row.sources, f64::NAN), style::DIM);
        }
    }
    let asked = match found.asked {
        Some(asked) => format!("asked for: {}", percent(asked)),
        None => "tools and rules included".into(),
    };
    table.row([
        Cell::styled("all together", style::HEADING),
        Cell::styled(asked, style::DIM),
        percent(found.all.share).into(),
        interval(&found.all).into(),
    ]);
    writeln!(out)?;
    table.print(out, width())?;
    let text = "Constraints that no copy comes near are left out. linear: by the law of propagation, as if margins were \
                normal. room/sd: room at the drawing's sizes in standard deviations.";
    paragraph(out, text, 2, style::DIM)
}

fn quantities(out: &mut dyn Write, found: &Scatter) -> io::Result<()> {
    let mut table = Table::new(&[
        ("SCATTERS", Align::Left),
        ("", Align::Left),
        ("sd", Align::Point),
        ("shift", Align::Point),
        ("", Align::Left),
        ("of it in common", Align::Wrap),
    ]);
    for row in &found.quantities {
        let shift = match row.shift {
            0.0 => String::new(),
            shift => brief(shift),
        };
        let common = row.common.as_ref().map_or(String::new(), |(name, share)| {
            format!("{:.0} % {name}", 100.0 * share)
        });
        table.row([
            row.name.as_str().into(),
            Cell::styled(unit(&row.unit), style::DIM),
            three(row.sd).into(),
            shift.into(),
            Cell::styled(row.shape, style::DIM),
            common.into(),
        ]);
    }
    writeln!(out)?;
    table.print(out, width())
}

fn advice(out: &mut dyn Write, found: &Scatter) -> io::Result<()> {
    let mut items: Vec<String> = found
        .tighten
        .iter()
        .map(|each| tried(each, "half", found.sources))
        .collect();
    if found.tighten.is_empty() {
        items.push("no tolerance need be tightened: every copy meets every constraint".into());
    }
    items.extend(
        found
            .relax
            .iter()
            .map(|each| tried(each, "twice", found.sources)),
    );
    writeln!(out)?;
    list(out, "TIGHTEN OR RELAX", &items, style::PLAIN)
}

fn tried(each: &Retoleranced, factor: &str, all: usize) -> String {
    let what = match each.sources.len() {
        count if count == all => "everything".to_string(),
        _ => each.sources.join("; "),
    };
    format!(
        "{factor} the scatter of {what}: {} meet all ({} to {})",
        percent(each.chance.share),
        percent(each.chance.low),
        percent(each.chance.high)
    )
}

fn sources(sources: &[SourceShare], explained: f64) -> String {
    if sources.is_empty() {
        return String::new();
    }
    let each = sources
        .iter()
        .map(|each| format!("{} {:.0} %", each.source, 100.0 * each.share));
    let all: Vec<String> = each.collect();
    let known = match explained.is_finite() {
        true => format!(" (linear in all: {:.1} %)", 100.0 * explained),
        false => String::new(),
    };
    format!("from {}{known}", all.join("; "))
}

fn interval(chance: &Chance) -> String {
    format!("{:.1}..{}", 100.0 * chance.low, percent(chance.high))
}

/// A share of parts: `97.2 %`; `100 %` only where it is all of them.
pub(super) fn percent(share: f64) -> String {
    let text = format!("{:.1} %", 100.0 * share);
    match (share, text.as_str()) {
        (1.0, _) => "100 %".into(),
        (_, "100.0 %") => "99.9+ %".into(),
        _ => text,
    }
}

/// Three significant digits.
fn three(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return figure(value);
    }
    let digits = (2 - value.abs().log10().floor() as i32).max(0) as usize;
    match digits {
        0..=6 => format!("{value:.digits$}"),
        _ => format!("{value:.2e}"),
    }
}
