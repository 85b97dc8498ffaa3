//! What the figures rest on: drivers, how the search went, the law, remarks, cautions.

use super::flow::Flow;
use super::table::{Align, Cell, Table};
use crate::drawing::leaf::{BODY, Ink, SMALL};
use crate::drawing::text::grouped;
use crate::review::drivers::bars;
use crate::review::page::{PageFacts, cautions_of};
use crate::review::plots::trace_plot;
use crate::run::{Finished, Screened, Screening};

pub(super) fn draw(flow: &mut Flow, run: &Finished, facts: &PageFacts) {
    if let Some(screening) = &facts.drivers {
        drivers(flow, run, screening);
    }
    flow.part("What the figures rest on");
    flow.bookmark(0, "What the figures rest on");
    flow.heading("The search");
    flow.paragraph(&format!("Ended with {}.", run.ending), BODY, 2);
    if run.trace.len() > 1 {
        flow.plot("", &trace_plot(&run.trace), 0.75);
    }
    law(flow, run);
    if !run.remarks.is_empty() {
        flow.heading("Remarks");
        flow.list(&run.remarks, BODY, 6);
    }
    flow.bookmark(0, "Cautions");
    flow.heading("Cautions");
    flow.list(&cautions_of(run), BODY, 6);
}

/// Shares of the variance: all dimensions and measures in a table, then bars with their intervals.
fn drivers(flow: &mut Flow, run: &Finished, screening: &Screening) {
    let drawn: Vec<&Screened> = (screening.measures.iter())
        .filter(|measure| !measure.drivers.is_empty())
        .collect();
    if drawn.is_empty() {
        return;
    }
    flow.part("What drives what");
    flow.bookmark(0, "What drives what");
    let words = format!(
        "Share of each figure's variance over the whole space by each dimension, alone and together with others; + where \
         the figure rises along the dimension, − where it falls. From {} designs of their own, figures of the beam.",
        grouped(screening.designs)
    );
    flow.paragraph(&words, SMALL.ink(Ink::Quiet), 4);
    for some in drawn.chunks(6) {
        let mut columns = vec![("dimension", Align::Left)];
        columns.extend(
            some.iter()
                .map(|measure| (measure.name.as_str(), Align::Point)),
        );
        let mut table = Table::new(&columns);
        for (index, dimension) in screening.dimensions.iter().enumerate() {
            let mut cells = vec![Cell::from(dimension.name.as_str())];
            cells.extend(some.iter().map(|measure| share(measure, index)));
            table.row(cells);
        }
        table.draw(flow);
    }
    let goals = |measure: &&&Screened| {
        let names = run
            .goals
            .iter()
            .filter_map(|goal| run.columns.get(goal.column));
        names.into_iter().any(|column| column.name == measure.name)
    };
    for measure in drawn.iter().filter(goals) {
        flow.plot("", &bars(measure), 0.8);
    }
}

fn share(measure: &Screened, dimension: usize) -> Cell {
    let driver = measure
        .drivers
        .iter()
        .find(|driver| driver.dimension == dimension);
    let Some(driver) = driver.filter(|driver| driver.total[0].is_finite()) else {
        return Cell::from("–");
    };
    let total = driver.total[0].max(0.0);
    let sign = match driver.rise {
        _ if total < 0.02 => "",
        rise if rise > 0.0 => " +",
        rise if rise < 0.0 => " −",
        _ => "",
    };
    let text = format!("{total:.2}{sign}");
    match total >= 0.3 {
        true => Cell::Strong(text),
        false => Cell::Text(text),
    }
}

/// How good the law is.
fn law(flow: &mut Flow, run: &Finished) {
    let Some(first) = run.law.first() else {
        return;
    };
    flow.heading("Beam and solid");
    let words = format!(
        "Stiffness, displacement, peaks at holes and frequency are the beam's times a law learnt from solids. It was tried \
         on {} designs of the space that were left out of its fit, and on {} of a front that it had not seen.",
        first.space_designs, first.front_designs
    );
    flow.paragraph(&words, BODY, 4);
    let percent = |value: f64| match value.is_finite() {
        true => format!("{value:.2}"),
        false => "–".into(),
    };
    let mut table = Table::new(&[
        ("figure", Align::Wrap),
        ("solid / beam, median", Align::Point),
        ("space, rms %", Align::Point),
        ("worst %", Align::Point),
        ("front, rms %", Align::Point),
        ("worst %", Align::Point),
    ]);
    for row in &run.law {
        table.row(vec![
            row.name.as_str().into(),
            format!("{:.3}", row.ratio).into(),
            percent(row.space_percent.0).into(),
            percent(row.space_percent.1).into(),
            percent(row.front_percent.0).into(),
            percent(row.front_percent.1).into(),
        ]);
    }
    table.draw(flow);
}
