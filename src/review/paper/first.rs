//! The first page: what was asked, the front, today's revision beside the picks.

use super::Pick;
use super::figures::{change, figure, unit};
use super::flow::Flow;
use super::table::{Align, Cell, Table};
use crate::drawing::leaf::{BODY, Hand, Ink, SMALL};
use crate::drawing::text::grouped;
use crate::review::page::{PageFacts, shown_title};
use crate::review::plots::front_plot;
use crate::run::Finished;

pub(super) fn draw(
    flow: &mut Flow,
    run: &Finished,
    facts: &PageFacts,
    shown: &[Pick],
    unpicked: bool,
) {
    flow.part("Review");
    flow.bookmark(0, "Review");
    let title = Hand::new(6.0).bold();
    for line in title.wrapped(shown_title(run), flow.width(), 2) {
        let (x, y) = flow.place();
        flow.leaf().text(x, y + 5.0, &line, title);
        flow.down(7.6);
    }
    let made = format!(
        "Study {}. Run {}, {}. fretwork {}.",
        run.study,
        facts.run_name,
        date(&facts.date),
        facts.tool_version
    );
    flow.down(0.8);
    flow.paragraph(&made, SMALL.ink(Ink::Quiet), 2);
    if !run.notes.trim().is_empty() {
        flow.paragraph(run.notes.trim(), BODY, 5);
    }
    flow.paragraph(&counts(run), BODY, 4);
    flow.columns(2);
    flow.heading("Objectives");
    let goals: Vec<String> = run.goals.iter().map(|goal| goal_words(run, goal)).collect();
    flow.list(&goals, BODY, 2);
    let (_, before) = flow.place();
    flow.next_column();
    flow.heading("Constraints");
    let limits: Vec<String> = (run.limits.iter())
        .map(|limit| match limit.name == limit.text {
            true => limit.text.clone(),
            false => format!("{}: {}", limit.name, limit.text),
        })
        .collect();
    match limits.is_empty() {
        true => flow.paragraph("None.", BODY, 1),
        false => flow.list(&limits, BODY, 2),
    }
    let (_, after) = flow.place();
    flow.columns(1);
    flow.down((before - after).max(0.0));
    if run.front.is_empty() {
        shortfall(flow, run);
    }
    if let [first, second, ..] = &run.goals[..] {
        let plot = front_plot(run, first, second, &facts.revisions);
        flow.plot("", &plot, 0.95);
    }
    beside(flow, run, shown, unpicked);
}

/// `2026-11-26 09:12 UTC` for `2026-11-26T09:12:33Z`; other words as they are.
fn date(text: &str) -> String {
    match (text.get(..10), text.get(10..11), text.get(11..16)) {
        (Some(day), Some("T"), Some(time)) if text.ends_with('Z') => format!("{day} {time} UTC"),
        _ => text.into(),
    }
}

fn goal_words(run: &Finished, goal: &crate::run::Goal) -> String {
    let Some(column) = run.columns.get(goal.column) else {
        return String::new();
    };
    let sense = if goal.most { "most" } else { "least" };
    match column.unit.is_empty() {
        true => format!("{sense} {}", column.name),
        false => format!("{sense} {}, in {}", column.name, unit(&column.unit)),
    }
}

/// The run in a few sentences.
fn counts(run: &Finished) -> String {
    let front = match run.front.len() {
        0 => "none is on the front".to_string(),
        count => format!("{} are on the front", grouped(count)),
    };
    let baseline = match run.designs.violation.first() {
        Some(0.0) => " Today's revision meets every constraint.",
        Some(_) => " Today's revision breaks a constraint.",
        None => "",
    };
    format!(
        "{} designs were evaluated, {} meet every constraint, {front}.{baseline}",
        grouped(run.designs.len()),
        grouped(run.designs.feasible())
    )
}

fn shortfall(flow: &mut Flow, run: &Finished) {
    flow.heading("No design meets every constraint");
    let lines: Vec<String> = run.shortfall.iter().flat_map(|each| each.lines()).collect();
    flow.list(&lines, BODY, 4);
}

/// Objectives and what constraints speak of, a column a design.
fn beside(flow: &mut Flow, run: &Finished, shown: &[Pick], unpicked: bool) {
    flow.heading("Today's revision and the designs shown in full");
    let why = match (unpicked, shown.len()) {
        (_, 1) => "No candidate is shown.",
        (true, _) => {
            "Nothing was picked: the designs stand for the front, its ends, its knee (nearest to the best of every \
             objective at once) and some between."
        }
        (false, _) => "The designs were picked.",
    };
    flow.paragraph(why, SMALL.ink(Ink::Quiet), 2);
    let mut columns = vec![("", Align::Left), ("", Align::Left)];
    columns.extend(shown.iter().map(|pick| (pick.name.as_str(), Align::Point)));
    let mut table = Table::new(&columns);
    for goal in &run.goals {
        let Some(column) = run.columns.get(goal.column) else {
            continue;
        };
        let value = |design: usize| match run.designs.holds(design) {
            true => run.designs.row(design)[goal.column],
            false => f64::NAN,
        };
        let arrow = if goal.most { "↑" } else { "↓" };
        let mut cells = vec![
            Cell::Strong(format!("{} {arrow}", column.name)),
            Cell::Quiet(unit(&column.unit)),
        ];
        cells.extend(shown.iter().map(|pick| figure(value(pick.design)).into()));
        table.row(cells);
        let mut cells = vec![Cell::Quiet("against baseline".into()), "".into(), "".into()];
        cells.extend(shown.iter().skip(1).map(|pick| {
            let share = (value(pick.design) - value(0)) / value(0).abs();
            Cell::Quiet(change(share))
        }));
        table.row(cells);
    }
    let mut cells = vec![Cell::from("constraints broken"), "".into()];
    cells.extend(shown.iter().map(|pick| {
        let broken = pick
            .sheet
            .constraints
            .iter()
            .filter(|each| !each.met)
            .count();
        match broken {
            0 => Cell::from("0"),
            some => Cell::Warm(some.to_string()),
        }
    }));
    table.row(cells);
    table.draw(flow);
    let named: Vec<String> = (shown.iter())
        .filter(|pick| !pick.what.is_empty())
        .map(|pick| format!("{}: {}", pick.name, pick.what))
        .collect();
    flow.paragraph(&format!("{}.", named.join("; ")), SMALL.ink(Ink::Quiet), 3);
}
