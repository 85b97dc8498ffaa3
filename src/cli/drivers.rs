//! What drives each measure, printed.

use std::io::{self, Write};

use super::number::{count, figure, unit};
use super::style;
use super::table::{Align, Cell, Table, list, paragraph, width};
use crate::run::{Driver, Screened, Screening};

/// Share of the variance from which on a dimension stands out, and below which it hardly matters.
const STRONG: f64 = 0.1;
const WEAK: f64 = 0.01;

/// Measure by measure, the strongest dimension first.
pub fn print(out: &mut dyn Write, screening: &Screening) -> io::Result<()> {
    let title = format!("{}: which dimension drives what", screening.title);
    paragraph(out, &title, 0, style::HEADING)?;
    let made = format!(
        "{} designs spread over the space, seed {}, figures of beam or program",
        count(screening.designs),
        screening.seed
    );
    paragraph(out, &made, 0, style::DIM)?;
    for measure in &screening.measures {
        if !measure.drivers.is_empty() {
            writeln!(out)?;
            print_measure(out, measure)?;
        }
    }
    writeln!(out)?;
    let words = "total: share of the variance by this dimension, alone and together with others; alone: by itself; \
                 rise: from the lower to the upper end of the dimension, in the mean over all others; effect: mean \
                 size of single steps, carried to the whole range, and their spread, which is large where the \
                 effect bends or depends on other dimensions.";
    paragraph(out, words, 2, style::DIM)?;
    if !screening.remarks.is_empty() {
        writeln!(out)?;
        list(out, "REMARKS", &screening.remarks, style::WARN)?;
    }
    Ok(())
}

fn print_measure(out: &mut dyn Write, measure: &Screened) -> io::Result<()> {
    let symbol = match measure.unit.is_empty() {
        true => String::new(),
        false => format!(" {}", unit(&measure.unit)),
    };
    let heading = format!("{}{symbol}", measure.name);
    let mut table = Table::new(&[
        (&heading, Align::Left),
        ("total", Align::Right),
        ("95 %", Align::Left),
        ("alone", Align::Right),
        ("rise", Align::Point),
        ("effect", Align::Point),
        ("spread", Align::Point),
    ]);
    for driver in &measure.drivers {
        let style = match driver.total[0] {
            total if total >= STRONG => style::HEADING,
            total if total < WEAK => style::DIM,
            _ => style::PLAIN,
        };
        table.row([
            Cell::styled(driver.name.clone(), style),
            Cell::styled(share(driver.total[0]), style),
            Cell::styled(interval(driver), style::DIM),
            share(driver.first[0]).into(),
            rise(driver.rise).into(),
            figure(driver.effect_size).into(),
            figure(driver.effect_spread).into(),
        ]);
    }
    table.print(out, width())?;
    let mut words = format!(
        "mean {}, deviation {}{symbol}",
        figure(measure.mean),
        figure(measure.deviation)
    );
    if let Some(fit) = &measure.fit {
        words += &format!(
            "; R² of a linear fit {}, of a quadratic {} (designs left out)",
            share(fit.linear.predicted_r2),
            share(fit.quadratic.predicted_r2)
        );
    }
    words += &match &measure.interplay {
        None => "; no two dimensions do much together".to_string(),
        Some(pair) => {
            let name = |dimension: usize| {
                let mut drivers = measure.drivers.iter();
                let found = drivers.find(|each| each.dimension == dimension);
                found.map_or("?", |driver| &driver.name)
            };
            let [a, b] = pair.dimensions.map(name);
            format!("; most together: {a} and {b}, {}", share(pair.share))
        }
    };
    paragraph(out, &words, 2, style::DIM)
}

fn share(value: f64) -> String {
    match value.is_finite() {
        true => format!("{:.2}", value.max(0.0)),
        false => "-".into(),
    }
}

fn interval(driver: &Driver) -> String {
    let [_, low, high] = driver.total;
    format!("{}..{}", share(low), share(high))
}

fn rise(value: f64) -> String {
    let text = figure(value);
    match value > 0.0 {
        true => format!("+{text}"),
        false => text,
    }
}
