//! The front over all its axes, and its candidates as a list.

use std::collections::BTreeSet;

use super::Pick;
use super::figures::{figure, given, unit};
use super::flow::Flow;
use super::table::{Align, Cell, Table};
use crate::drawing::leaf::{Ink, SMALL};
use crate::drawing::text::grouped;
use crate::review::page::PageFacts;
use crate::review::plots::{front_plot, parallel_plot};
use crate::run::{Column, Finished, Role};

/// Candidates listed, at most.
const MOST_ROWS: usize = 120;
/// Columns of figures, at most: more are too narrow to read.
const MOST_COLUMNS: usize = 12;

pub(super) fn draw(flow: &mut Flow, run: &Finished, facts: &PageFacts, shown: &[Pick]) {
    if run.front.is_empty() {
        return;
    }
    flow.part("The front");
    flow.bookmark(0, "The front");
    for first in 0..run.goals.len() {
        for second in first + 1..run.goals.len() {
            // The first pair is on the first page.
            if (first, second) != (0, 1) {
                flow.plot(
                    "",
                    &front_plot(run, &run.goals[first], &run.goals[second], &facts.revisions),
                    1.0,
                );
            }
        }
    }
    if let Some(plot) = parallel_plot(run) {
        flow.plot("The front over all its axes", &plot, 1.1);
    }
    flow.bookmark(0, "Candidates");
    flow.heading("Candidates");
    list(flow, run, shown);
}

fn list(flow: &mut Flow, run: &Finished, shown: &[Pick]) {
    let all = columns(run);
    let kept = &all[..all.len().min(MOST_COLUMNS)];
    let step = run.front.len().div_ceil(MOST_ROWS).max(1);
    let mut rows: BTreeSet<usize> = (0..run.front.len()).step_by(step).collect();
    let place = |pick: &Pick| run.front.iter().position(|design| *design == pick.design);
    rows.extend(shown.iter().filter_map(place));
    let mut words = match step {
        1 => format!("All {} candidates.", grouped(run.front.len())),
        _ => format!(
            "{} of the {} candidates, spread evenly along the front; all are in front.csv of the run.",
            rows.len(),
            grouped(run.front.len())
        ),
    };
    words += " The designs shown in full are bold.";
    if kept.len() < all.len() {
        words += &format!(
            " {} more variables are on the designs' own pages.",
            all.len() - kept.len()
        );
    }
    flow.paragraph(&words, SMALL.ink(Ink::Quiet), 3);
    let heads: Vec<String> = kept
        .iter()
        .map(|(_, column)| match column.unit.is_empty() {
            true => column.name.clone(),
            false => format!("{}\n{}", column.name, unit(&column.unit)),
        })
        .collect();
    let mut table_columns = vec![("design", Align::Left)];
    table_columns.extend(heads.iter().map(|head| (head.as_str(), Align::Point)));
    let mut table = Table::new(&table_columns);
    let row = |design: usize, name: String, strong: bool| {
        let cell = |text: String| match strong {
            true => Cell::Strong(text),
            false => Cell::Text(text),
        };
        let values = run.designs.row(design);
        let mut cells = vec![cell(name)];
        cells.extend(kept.iter().map(|(index, column)| {
            cell(match column.role {
                Role::Variable => given(values[*index]),
                _ => figure(values[*index]),
            })
        }));
        cells
    };
    if !run.designs.is_empty() {
        table.row(row(0, "baseline".into(), true));
    }
    for place in rows {
        let design = run.front[place];
        let strong = shown.iter().any(|pick| pick.design == design);
        table.row(row(design, format!("#{design}"), strong));
    }
    table.draw(flow);
}

/// Objectives, then variables.
fn columns(run: &Finished) -> Vec<(usize, &Column)> {
    let goals = run.goals.iter().map(|goal| goal.column);
    let mut all: Vec<(usize, &Column)> = goals
        .filter_map(|index| Some((index, run.columns.get(index)?)))
        .collect();
    for (index, column) in run.columns.iter().enumerate() {
        let known = all.iter().any(|(other, _)| *other == index);
        if column.role == Role::Variable && !known {
            all.push((index, column));
        }
    }
    all
}
