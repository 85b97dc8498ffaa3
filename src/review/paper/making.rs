//! Making the part: operations with their time, cost, mass, tolerances.

use super::figures::{brief, figure, given, time};
use super::flow::Flow;
use super::table::{Align, Cell, Table};
use crate::drawing::leaf::{Ink, SMALL};
use crate::evaluate::Sheet;

pub(super) fn draw(flow: &mut Flow, sheet: &Sheet) {
    operations(flow, sheet);
    cost(flow, sheet);
    mass(flow, sheet);
    tolerances(flow, sheet);
}

fn operations(flow: &mut Flow, sheet: &Sheet) {
    let plan = &sheet.plan;
    if plan.operations.is_empty() {
        return;
    }
    flow.heading("Operations");
    let longest = plan
        .operations
        .iter()
        .map(|each| each.total_s())
        .fold(0.0, f64::max);
    let mut tools: Vec<&str> = Vec::new();
    let mut table = Table::small(&[
        ("", Align::Wrap),
        ("tool", Align::Left),
        ("rev/min", Align::Point),
        ("mm/min", Align::Point),
        ("s", Align::Point),
        ("", Align::Bar(13.0)),
    ]);
    for operation in &plan.operations {
        let tool = match operation.tool.as_str() {
            "" => String::new(),
            tool => {
                let known = tools.iter().position(|other| *other == tool);
                let number = known.unwrap_or_else(|| {
                    tools.push(tool);
                    tools.len() - 1
                });
                format!("T{}", number + 1)
            }
        };
        let name = match operation.feature.as_str() {
            "" => operation.name.clone(),
            feature if operation.name.contains(feature) => operation.name.clone(),
            feature => format!("{}, {feature}", operation.name),
        };
        let turning = |value: f64| match value > 0.0 {
            true => format!("{value:.0}"),
            false => String::new(),
        };
        table.row(vec![
            name.into(),
            tool.into(),
            turning(operation.spindle_rpm).into(),
            turning(operation.feed_mm_min).into(),
            format!("{:.1}", operation.total_s()).into(),
            Cell::Bar(operation.total_s() / longest),
        ]);
    }
    let total = format!("{:.1}", plan.cycle_s);
    table.row(vec![
        Cell::Strong("cycle time".into()),
        "".into(),
        "".into(),
        "".into(),
        Cell::Strong(total),
    ]);
    table.draw(flow);
    let named: Vec<String> = (tools.iter().enumerate())
        .map(|(index, tool)| format!("T{}: {tool}", index + 1))
        .collect();
    flow.list(&named, SMALL.ink(Ink::Quiet), 2);
    let changes = match plan.tool_changes {
        1 => "1 tool change".to_string(),
        count => format!("{count} tool changes"),
    };
    let words = format!("{} for one part, {changes}.", time(plan.cycle_s));
    flow.paragraph(&words, SMALL.ink(Ink::Quiet), 2);
}

fn cost(flow: &mut Flow, sheet: &Sheet) {
    let cost = &sheet.plan.cost;
    if sheet.plan.operations.is_empty() || !cost.total.is_finite() {
        return;
    }
    flow.heading("Cost of one part");
    let mut table = Table::small(&[
        ("", Align::Wrap),
        (&sheet.currency, Align::Point),
        ("share", Align::Point),
        ("", Align::Bar(16.0)),
    ]);
    for (name, value) in [
        ("stock, less chips sold", cost.stock),
        ("machine", cost.machine),
        ("labour", cost.labour),
        ("wear of tools", cost.tools),
        ("set-up, over the batch", cost.setup),
    ] {
        let share = value / cost.total;
        table.row(vec![
            name.into(),
            format!("{value:.2}").into(),
            format!("{:.1} %", 100.0 * share).into(),
            Cell::Bar(share),
        ]);
    }
    table.row(vec![
        Cell::Strong("together".into()),
        Cell::Strong(format!("{:.2}", cost.total)),
    ]);
    table.draw(flow);
}

fn mass(flow: &mut Flow, sheet: &Sheet) {
    if sheet.mass.is_empty() {
        return;
    }
    flow.heading("Mass");
    let mut table = Table::small(&[
        ("", Align::Wrap),
        ("mm³", Align::Point),
        ("g", Align::Point),
    ]);
    for row in &sheet.mass {
        table.row(vec![
            row.name.as_str().into(),
            figure(row.volume_mm3).into(),
            figure(row.mass_g).into(),
        ]);
    }
    table.draw(flow);
}

fn tolerances(flow: &mut Flow, sheet: &Sheet) {
    if sheet.tolerances.is_empty() {
        return;
    }
    flow.heading("Tolerances of the process");
    let mut bases: Vec<&str> = Vec::new();
    let mut table = Table::small(&[
        ("", Align::Wrap),
        ("mm", Align::Point),
        ("± mm", Align::Point),
        ("by", Align::Left),
    ]);
    for row in &sheet.tolerances {
        let known = bases.iter().position(|basis| *basis == row.basis);
        let number = known.unwrap_or_else(|| {
            bases.push(&row.basis);
            bases.len() - 1
        });
        let size = match row.size_mm > 0.0 {
            true => given(row.size_mm),
            false => String::new(),
        };
        table.row(vec![
            row.name.as_str().into(),
            size.into(),
            brief(row.plus_minus_mm).into(),
            (number + 1).to_string().into(),
        ]);
    }
    table.draw(flow);
    let named: Vec<String> = (bases.iter().enumerate())
        .map(|(index, basis)| format!("{}: {basis}", index + 1))
        .collect();
    flow.list(&named, SMALL.ink(Ink::Quiet), 3);
}
