//! What the items weigh, and what is left below the limits.

use std::io::{self, Write};

use crate::budget::{BASES, MEASURES, Measure, Report, plain};
use crate::cli::number::{brief, figure, signed_percent, unit};
use crate::cli::style;
use crate::cli::table::{Align, Cell, Table, paragraph, width};

pub(super) fn print(out: &mut dyn Write, report: &Report) -> io::Result<()> {
    items(out, report)?;
    paragraph(out, &allowances(report), 2, style::DIM)?;
    writeln!(out)?;
    totals(out, report)
}

fn items(out: &mut dyn Write, report: &Report) -> io::Result<()> {
    let account = &report.account;
    let mut table = Table::new(&[
        ("ITEMS", Align::Wrap),
        ("pieces", Align::Right),
        ("basis", Align::Left),
        ("estimate", Align::Point),
        ("growth", Align::Point),
        ("expected", Align::Point),
        ("cost", Align::Point),
    ]);
    let mut units = vec![Cell::from(""); 3];
    for symbol in ["g", "%", "g", unit(&report.budget.currency).as_str()] {
        units.push(Cell::styled(symbol, style::DIM));
    }
    table.cells(units);
    for line in &account.lines {
        let told = |measure: Measure| line.totals[measure as usize].map_or("-".into(), figure);
        table.row([
            match &line.revision {
                Some(revision) => format!("{}, {revision}", line.name).into(),
                None => line.name.as_str().into(),
            },
            line.quantity.to_string().into(),
            line.basis.word().into(),
            figure(line.estimate).into(),
            Cell::styled(
                brief(100.0 * line.growth),
                if line.own_growth {
                    style::PLAIN
                } else {
                    style::DIM
                },
            ),
            told(Measure::Mass).into(),
            told(Measure::Cost).into(),
        ]);
    }
    let growth = account.growth() / account.estimate;
    table.row([
        Cell::styled("all", style::HEADING),
        "".into(),
        "".into(),
        Cell::styled(figure(account.estimate), style::HEADING),
        brief(round(100.0 * growth)).into(),
        Cell::styled(figure(account.totals[0]), style::HEADING),
        Cell::styled(figure(account.totals[1]), style::HEADING),
    ]);
    table.print(out, width())
}

/// A percentage to one decimal.
fn round(percent: f64) -> f64 {
    (10.0 * percent).round() / 10.0
}

/// How well the mass is known, and where allowances come from.
fn allowances(report: &Report) -> String {
    let shares = BASES.iter().zip(report.account.shares());
    let told: Vec<String> = shares
        .filter(|(_, share)| *share > 0.0)
        .map(|(basis, share)| format!("{} % {basis}", brief(round(100.0 * share))))
        .collect();
    let usual: Vec<String> = BASES
        .iter()
        .filter(|basis| {
            let lines = &report.account.lines;
            lines
                .iter()
                .any(|line| line.basis == **basis && !line.own_growth)
        })
        .map(|basis| {
            let (low, high) = basis.band();
            format!(
                "{basis} {} to {} %",
                brief(100.0 * low),
                brief(100.0 * high)
            )
        })
        .collect();
    let mut text = format!("Of the estimate {}.", told.join(", "));
    if !usual.is_empty() {
        text += &format!(
            " Growth where the budget gives none: the middle of what is usual ({}; after the manner of ANSI/AIAA S-120).",
            usual.join(", ")
        );
    }
    text
}

fn totals(out: &mut dyn Write, report: &Report) -> io::Result<()> {
    let account = &report.account;
    let mut table = Table::new(&[
        ("TOTALS", Align::Left),
        ("", Align::Left),
        ("today", Align::Point),
        ("limit", Align::Point),
        ("margin", Align::Point),
        ("", Align::Right),
    ]);
    for measure in MEASURES {
        let told = account.lines.len() > account.silent(measure);
        if !told && account.limits[measure as usize].is_none() {
            continue;
        }
        let margin = account.margin(measure);
        let style = match margin {
            Some((left, _)) if left < 0.0 => style::BAD,
            Some(_) => style::GOOD,
            None => style::PLAIN,
        };
        table.row([
            match measure {
                Measure::Mass => "mass expected".into(),
                measure => plain(measure).into(),
            },
            Cell::styled(unit(measure.unit(&report.budget.currency)), style::DIM),
            figure(account.totals[measure as usize]).into(),
            account.limits[measure as usize]
                .map_or("-".into(), figure)
                .into(),
            Cell::styled(margin.map_or("-".into(), |(left, _)| figure(left)), style),
            Cell::styled(
                margin.map_or(String::new(), |(_, share)| signed_percent(share)),
                style,
            ),
        ]);
    }
    table.print(out, width())
}
