//! A design in full: its drawing sheet, then its figures.

use serde_json::Value;

use super::Pick;
use super::figures::{brief, change, figure, given, unit};
use super::flow::Flow;
use super::making;
use super::table::{Align, Cell, Table};
use crate::drawing::block::{Title, fill, sheet};
use crate::drawing::leaf::{Ink, Picture, SMALL};
use crate::evaluate::{Calibrated, Judged, Named, Proof, Sheet};
use crate::review::page::{PageFacts, shown_title};
use crate::review::sheets::drawings;
use crate::run::{Finished, Scatter, ScatterRow, Why};

/// Drawing sheets of a design, at most.
const MOST_SHEETS: usize = 3;

pub(super) fn draw(flow: &mut Flow, run: &Finished, facts: &PageFacts, pick: &Pick) {
    let named = match pick.what.is_empty() {
        true => format!("Design {}", pick.name),
        false => format!("Design {}: {}", pick.name, pick.what),
    };
    let title = Title {
        title: shown_title(run),
        supplement: named.clone(),
        number: format!("{}/{}", facts.run_name, pick.design),
        tool: format!("fretwork {}", facts.tool_version),
        date: facts.date.get(..10).unwrap_or(&facts.date),
        revision: (facts.revisions.iter().rev())
            .find(|revision| revision.design == Some(pick.design))
            .map_or("–".into(), |revision| revision.letter.clone()),
    };
    let (mut views, mut loads) = pictures(pick.design, pick.sheet);
    let drawn = !views.is_empty() || !loads.is_empty();
    for number in 0..MOST_SHEETS {
        if views.is_empty() && loads.is_empty() {
            break;
        }
        let (mut leaf, place) = sheet(flow.size, &title);
        (views, loads) = fill(&mut leaf, flow.size, views, loads);
        flow.sheet(leaf, place);
        if number == 0 {
            flow.bookmark(0, &named);
        }
    }
    flow.part(&named);
    flow.bookmark(usize::from(drawn), if drawn { "Figures" } else { &named });
    if pick.sheet.part.is_none() && !run.asks {
        flow.paragraph("This design can't be built: see the remarks.", SMALL, 2);
    }
    flow.columns(2);
    let baseline = (pick.design != 0).then_some(&run.baseline);
    values(flow, pick.sheet, baseline);
    constraints(flow, pick.sheet);
    load_cases(flow, pick.sheet);
    if let Some(proof) = &pick.sheet.proof {
        proved(flow, proof);
    }
    if let Some(found) = &pick.sheet.calibration {
        calibrated(flow, found);
    }
    making::draw(flow, pick.sheet);
    if let Some(why) = pick.told.and_then(|told| told.why.as_ref()) {
        because(flow, why);
    }
    if let Some(found) = pick.told.and_then(|told| told.scatter.as_ref()) {
        scattered(flow, pick.sheet, found);
    }
    remarks(flow, pick.sheet);
    flow.columns(1);
}

/// Plan and sections, which have a scale; load cases with their captions, which have none.
fn pictures(design: usize, sheet: &Sheet) -> (Vec<Picture>, Vec<(String, Picture)>) {
    let drawn = drawings(design, sheet);
    let list = |kind: &str| -> Vec<Option<Picture>> {
        let own = drawn.get(kind).and_then(Value::as_array);
        let own = own.into_iter().flatten();
        own.map(|svg| Picture::of(svg.as_str()?)).collect()
    };
    let views = list("plan").into_iter().chain(list("sections")).flatten();
    let loads = (list("loads").into_iter().zip(&sheet.loads))
        .filter_map(|(picture, load)| Some((format!("Load case {}", load.name), picture?)));
    (views.collect(), loads.collect())
}

/// Variables, derived values, objectives and measures, beside the baseline's.
fn values(flow: &mut Flow, sheet: &Sheet, baseline: Option<&Sheet>) {
    type Group = (&'static str, fn(&Sheet) -> &Vec<Named>, fn(f64) -> String);
    let groups: [Group; 4] = [
        ("Variables", |sheet| &sheet.variables, given),
        ("Derived values", |sheet| &sheet.derived, figure),
        ("Objectives", |sheet| &sheet.objectives, figure),
        ("Measures", |sheet| &sheet.measures, figure),
    ];
    for (heading, pick, text) in groups {
        if pick(sheet).is_empty() {
            continue;
        }
        let mut columns = vec![
            ("", Align::Wrap),
            ("", Align::Left),
            ("value", Align::Point),
        ];
        if baseline.is_some() {
            columns.extend([("baseline", Align::Point), ("change", Align::Point)]);
        }
        let mut table = Table::small(&columns);
        for value in pick(sheet) {
            let mut cells = vec![
                value.name.as_str().into(),
                Cell::Quiet(unit(&value.unit)),
                text(value.value).into(),
            ];
            let old = baseline.and_then(|old| pick(old).iter().find(|old| old.name == value.name));
            if let Some(old) = old {
                cells.push(Cell::Quiet(text(old.value)));
                let share = (value.value - old.value) / old.value.abs();
                cells.push(match share.is_finite() && share.abs() > 5e-6 {
                    true => change(share).into(),
                    false => "".into(),
                });
            }
            table.row(cells);
        }
        flow.heading(heading);
        table.draw(flow);
    }
}

fn constraints(flow: &mut Flow, sheet: &Sheet) {
    if sheet.constraints.is_empty() {
        return;
    }
    flow.heading("Constraints");
    let mut table = Table::small(&[
        ("", Align::Wrap),
        ("value", Align::Point),
        ("", Align::Left),
        ("limit", Align::Point),
        ("margin", Align::Bar(14.0)),
        ("", Align::Point),
    ]);
    for judged in &sheet.constraints {
        let sign = if judged.relation == "at least" {
            "≥"
        } else {
            "≤"
        };
        let name = match judged.unit.is_empty() {
            true => judged.name.clone(),
            false => format!("{}, {}", judged.name, unit(&judged.unit)),
        };
        let share = change(judged.margin);
        table.row(vec![
            name.into(),
            brief(judged.value).into(),
            sign.into(),
            given(judged.limit).into(),
            Cell::Margin(judged.margin),
            match judged.met {
                true => Cell::Text(share),
                false => Cell::Warm(format!("{share} broken")),
            },
        ]);
    }
    table.draw(flow);
}

fn load_cases(flow: &mut Flow, sheet: &Sheet) {
    if sheet.loads.is_empty() {
        return;
    }
    flow.heading("Load cases");
    let mut table = Table::small(&[
        ("", Align::Wrap),
        ("moves mm", Align::Point),
        ("stress MPa", Align::Point),
        ("safety", Align::Point),
        ("peak MPa", Align::Point),
    ]);
    for load in &sheet.loads {
        let peak = load
            .peak
            .as_ref()
            .map_or(String::new(), |peak| brief(peak.mpa));
        table.row(vec![
            load.name.as_str().into(),
            brief(load.displacement_mm).into(),
            brief(load.stress_mpa).into(),
            brief(load.safety).into(),
            peak.into(),
        ]);
    }
    table.draw(flow);
    let words: Vec<String> = (sheet.loads.iter())
        .map(|load| match load.stress_place.is_empty() {
            true => format!("{}: {}", load.name, load.words),
            false => format!(
                "{}: {}; greatest stress: {}",
                load.name, load.words, load.stress_place
            ),
        })
        .collect();
    flow.list(&words, SMALL.ink(Ink::Quiet), 4);
}

/// The solid beside the beam and what was searched with.
fn proved(flow: &mut Flow, proof: &Proof) {
    flow.heading("Proved as a solid");
    let mut table = Table::small(&[
        ("", Align::Wrap),
        ("", Align::Left),
        ("searched", Align::Point),
        ("solid", Align::Point),
        ("± %", Align::Point),
    ]);
    for row in &proof.rows {
        table.row(vec![
            row.name.as_str().into(),
            Cell::Quiet(unit(&row.unit)),
            brief(row.searched).into(),
            brief(row.solid).into(),
            brief(row.open_percent).into(),
        ]);
    }
    table.draw(flow);
    flow.paragraph(
        &format!("Meshes: {}.", proof.meshes),
        SMALL.ink(Ink::Quiet),
        2,
    );
}

/// Figures before and after the calibration by measured parts.
fn calibrated(flow: &mut Flow, found: &Calibrated) {
    flow.heading("Calibration");
    let mut table = Table::small(&[
        ("", Align::Wrap),
        ("", Align::Left),
        ("before", Align::Point),
        ("after", Align::Point),
        ("±", Align::Point),
    ]);
    for row in &found.rows {
        table.row(vec![
            row.name.as_str().into(),
            Cell::Quiet(unit(&row.unit)),
            brief(row.before).into(),
            brief(row.after).into(),
            brief(row.error).into(),
        ]);
    }
    table.draw(flow);
    let words = format!("{}. ± is one standard error.", found.words());
    flow.paragraph(&words.replacen('c', "C", 1), SMALL.ink(Ink::Quiet), 4);
}

/// Why it is as it is, and what it would cost to be better.
fn because(flow: &mut Flow, why: &Why) {
    flow.heading("What holds it");
    flow.list(&why.holds(), SMALL, 3);
    let rates = why.rates();
    if !rates.is_empty() {
        flow.heading("What one objective costs in another");
        flow.list(&rates, SMALL, 3);
    }
    for (objective, steps) in why.better() {
        if steps.is_empty() {
            continue;
        }
        flow.heading(&format!("Single steps toward a better {objective}"));
        let lines: Vec<String> = (steps.iter().take(4))
            .map(|step| format!("{}: {}; {}", step.change, step.gain, step.verdict))
            .collect();
        flow.list(&lines, SMALL, 3);
    }
}

/// How it comes out of the shop.
fn scattered(flow: &mut Flow, sheet: &Sheet, found: &Scatter) {
    flow.heading("As parts come out");
    let percent = |share: f64| format!("{:.1} %", 100.0 * share);
    let words = format!(
        "Of {} copies {} meet every constraint (95 % interval {} to {}).",
        found.samples,
        percent(found.all.share),
        percent(found.all.low),
        percent(found.all.high)
    );
    flow.paragraph(&words, SMALL, 3);
    let mut table = Table::small(&[
        ("", Align::Wrap),
        ("", Align::Left),
        ("as drawn", Align::Point),
        ("low", Align::Point),
        ("high", Align::Point),
    ]);
    // Those that objectives and constraints speak of; the page has all.
    let asked = |row: &&ScatterRow| {
        let objectives = sheet.objectives.iter().any(|each| each.name == row.name);
        let spoken = |judged: &Judged| judged.text.contains(&row.name);
        objectives || sheet.constraints.iter().any(spoken)
    };
    for row in found.figures.iter().filter(asked) {
        let [low, _, high] = row.quantiles;
        table.row(vec![
            row.name.as_str().into(),
            Cell::Quiet(unit(&row.unit)),
            brief(row.nominal).into(),
            brief(low).into(),
            brief(high).into(),
        ]);
    }
    table.draw(flow);
}

fn remarks(flow: &mut Flow, sheet: &Sheet) {
    let mut all = sheet.remarks.clone();
    for remark in &sheet.plan.remarks {
        if !all.contains(remark) {
            all.push(remark.clone());
        }
    }
    for section in &sheet.sections {
        if !section.outside_range.is_empty() {
            all.push(format!("{}: {}", section.name, section.outside_range));
        }
    }
    if !all.is_empty() {
        flow.heading("Remarks");
        flow.list(&all, SMALL, 5);
    }
}
