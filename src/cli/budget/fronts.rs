//! Where the next gram is cheapest, and the best choices over all parts.

use std::io::{self, Write};

use crate::budget::{Answer, Choice, Fronts, Measure, Options, Report, Rung, moved, plain};
use crate::cli::number::{brief, count, figure, unit};
use crate::cli::style;
use crate::cli::table::{Align, Cell, Table, paragraph, width};

/// Steps that are printed; JSON and page have all.
const MOST_RUNGS: usize = 10;

pub(super) fn print(out: &mut dyn Write, report: &Report, fronts: &Fronts) -> io::Result<()> {
    writeln!(out)?;
    ladder(out, report, fronts)?;
    if !fronts.givings.is_empty() {
        writeln!(out)?;
        givings(out, report, fronts)?;
    }
    for answer in &fronts.answers {
        writeln!(out)?;
        self::answer(out, report, answer)?;
    }
    writeln!(out)?;
    combined(out, report, fronts)
}

fn ladder(out: &mut dyn Write, report: &Report, fronts: &Fronts) -> io::Result<()> {
    let against = fronts.ladder.against;
    let symbol = against.unit(&report.budget.currency);
    let mut table = Table::new(&[
        ("NEXT GRAM", Align::Wrap),
        ("from", Align::Left),
        ("take", Align::Left),
        ("saves", Align::Point),
        ("in all", Align::Point),
        ("a gram", Align::Point),
        ("", Align::Left),
    ]);
    let mut units = vec![Cell::from(""); 3];
    units.extend([Cell::styled("g", style::DIM), Cell::styled("g", style::DIM)]);
    table.cells(units);
    let mut all = 0.0;
    for rung in fronts.ladder.rungs.iter().take(MOST_RUNGS) {
        let options = &report.parts[rung.part];
        all += rung.saves;
        let rate = rung.rate(against);
        let (rate, unit_of, tone) = match rate <= 0.0 {
            true => ("free".into(), String::new(), style::GOOD),
            false => (brief(rate), unit(symbol), style::PLAIN),
        };
        table.row([
            options.name.as_str().into(),
            name(options, &rung.from).into(),
            name(options, &rung.to).into(),
            figure(rung.saves).into(),
            figure(all).into(),
            Cell::styled(rate, tone),
            Cell::styled(unit_of, style::DIM),
        ]);
        table.note(&also(report, rung), style::DIM);
        table.note(&dimensions(options, rung), style::DIM);
    }
    if fronts.ladder.rungs.is_empty() {
        paragraph(out, "NEXT GRAM", 0, style::HEADING)?;
        return paragraph(
            out,
            "No candidate is lighter and keeps what is to be kept.",
            2,
            style::PLAIN,
        );
    }
    table.print(out, width())?;
    let rest = fronts.ladder.rungs.len().saturating_sub(MOST_RUNGS);
    let more = if rest > 0 {
        format!(" {} dearer steps are left out here.", count(rest))
    } else {
        String::new()
    };
    let words = format!(
        "Mass with allowance, of all pieces; the steps are taken in this order. Kept: {}.{more}",
        kept(report)
    );
    paragraph(out, &words, 2, style::DIM)
}

/// What every choice keeps.
fn kept(report: &Report) -> String {
    let of = |options: &Options| {
        let kept = match options.kept.is_empty() {
            true => "the constraints of its study".into(),
            false => options.kept.join(", "),
        };
        format!("{}: {kept}", options.name)
    };
    let all: Vec<String> = report.parts.iter().map(of).collect();
    all.join("; ")
}

/// A choice by its name: design number, or the revision.
pub(super) fn name(options: &Options, choice: &Choice) -> String {
    match choice.design {
        Some(design) => format!("#{design}"),
        None => options.revision.clone(),
    }
}

/// What else a step changes: cost, time, objectives.
fn also(report: &Report, rung: &Rung) -> String {
    let options = &report.parts[rung.part];
    let mut words = Vec::new();
    let costs = [
        (Measure::Cost, rung.costs[0]),
        (Measure::CycleTime, rung.costs[1]),
    ];
    for (measure, difference) in costs {
        let unit_of = unit(measure.unit(&report.budget.currency));
        if difference.is_finite() {
            words.push(format!("{} {unit_of}", signed(difference)));
        }
    }
    for (objective, change) in options.objectives.iter().zip(&rung.objectives) {
        if change.is_finite() && *change != 0.0 {
            let unit_of = unit(&objective.unit);
            words.push(format!("{} {} {unit_of}", objective.name, signed(*change)));
        }
    }
    words.join(", ")
}

fn signed(value: f64) -> String {
    let text = brief((value * 1e6).round() / 1e6);
    match value > 0.0 {
        true => format!("+{text}"),
        false => text,
    }
}

fn dimensions(options: &Options, rung: &Rung) -> String {
    let moved = moved(options, &rung.from, &rung.to);
    let words: Vec<String> = moved
        .iter()
        .map(|(name, from, to)| format!("{name} {from} -> {to}"))
        .collect();
    words.join(", ")
}

fn givings(out: &mut dyn Write, report: &Report, fronts: &Fronts) -> io::Result<()> {
    let mut table = Table::new(&[
        ("OR GIVE UP", Align::Left),
        ("of", Align::Wrap),
        ("take", Align::Left),
        ("saves", Align::Point),
        ("a gram", Align::Point),
        ("", Align::Left),
    ]);
    for each in &fronts.givings {
        let options = &report.parts[each.rung.part];
        let objective = &options.objectives[each.objective];
        table.row([
            objective.name.as_str().into(),
            options.name.as_str().into(),
            name(options, &each.rung.to).into(),
            figure(each.rung.saves).into(),
            brief(each.rate()).into(),
            Cell::styled(unit(&objective.unit), style::DIM),
        ]);
    }
    table.print(out, width())?;
    paragraph(
        out,
        "From today's revision, at no more cost and time, with nothing else worse; in all pieces.",
        2,
        style::DIM,
    )
}

fn answer(out: &mut dyn Write, report: &Report, answer: &Answer) -> io::Result<()> {
    let currency = &report.budget.currency;
    let (first, rest) = answer
        .question
        .split_once(' ')
        .unwrap_or((&answer.question, ""));
    let limits: Vec<String> = answer
        .asked
        .bounds
        .iter()
        .map(|bound| {
            format!(
                "{} <= {} {}",
                plain(bound.measure),
                figure(bound.limit),
                bound.measure.unit(currency)
            )
        })
        .collect();
    let limits = if limits.is_empty() {
        String::new()
    } else {
        format!(" ({})", limits.join(", "))
    };
    let heading = format!("{} {rest}{limits}", first.to_uppercase());
    let Some(offer) = &answer.offer else {
        paragraph(out, &heading, 0, style::HEADING)?;
        return paragraph(
            out,
            "No choice of candidates is within the limits.",
            2,
            style::WARN,
        );
    };
    paragraph(out, &heading, 0, style::HEADING)?;
    let heads = [("mass", "g"), ("cost", currency.as_str()), ("time", "s")];
    let heads = heads.map(|(word, symbol)| format!("{word} {symbol}"));
    let mut columns = vec![
        ("  part", Align::Wrap),
        ("today", Align::Left),
        ("take", Align::Left),
    ];
    for head in &heads {
        columns.extend([(head.as_str(), Align::Point), ("", Align::Point)]);
    }
    let mut table = Table::new(&columns);
    let differences = |now: &[f64; 3], was: &[f64; 3]| -> Vec<(String, String)> {
        let each = now.iter().zip(was);
        each.map(|(now, was)| {
            let difference = now - was;
            let change = if difference.abs() < 1e-9 * was.abs() {
                "=".into()
            } else {
                signed_figure(difference)
            };
            (figure(*now), change)
        })
        .collect()
    };
    for (options, take) in report.parts.iter().zip(&offer.takes) {
        let choice = &options.choices[*take];
        let take = match choice.design {
            None => "stays".into(),
            Some(_) => name(options, choice),
        };
        let mut cells = vec![
            Cell::from(options.name.as_str()),
            options.revision.as_str().into(),
            take.into(),
        ];
        for (now, change) in differences(&choice.totals, &options.today.totals) {
            cells.push(now.into());
            cells.push(Cell::styled(change, style::DIM));
        }
        table.cells(cells);
    }
    let mut cells = vec![
        Cell::styled("all items", style::HEADING),
        "".into(),
        "".into(),
    ];
    for (now, change) in differences(&offer.totals, &report.account.totals) {
        cells.push(Cell::styled(now, style::HEADING));
        cells.push(Cell::styled(change, style::DIM));
    }
    table.cells(cells);
    table.print(out, width())
}

fn signed_figure(value: f64) -> String {
    let text = figure(value);
    match value > 0.0 {
        true => format!("+{text}"),
        false => text,
    }
}

fn combined(out: &mut dyn Write, report: &Report, fronts: &Fronts) -> io::Result<()> {
    let currency = &report.budget.currency;
    let overall = &fronts.overall;
    let sizes: Vec<String> = report
        .parts
        .iter()
        .map(|options| count(options.choices.len()))
        .collect();
    let ends = [overall.offers.first(), overall.offers.last()].map(|offer| {
        offer.map_or_else(String::new, |offer| {
            let price = offer.totals[overall.against as usize];
            format!(
                "{} g at {} {}",
                figure(offer.totals[0]),
                figure(price),
                overall.against.unit(currency)
            )
        })
    });
    let words = format!(
        "Of {} choices over all parts {} are beaten by no other in mass and {}: from {} to {}. Exact; masses of candidates \
         are calculated.",
        sizes.join(" x "),
        count(overall.offers.len()),
        plain(overall.against),
        ends[0],
        ends[1]
    );
    paragraph(out, &words, 0, style::DIM)
}
