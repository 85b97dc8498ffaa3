//! A design's sheet, printed: what it measures, and where each figure comes from.

use std::io::{self, Write};

use super::making;
use super::number::{duration, figure, short, signed_percent, significant, unit};
use super::style;
use super::table::{Align, Cell, Table, list, paragraph, width};
use crate::evaluate::{
    Calibrated, Judged, LoadRow, Named, OpeningRow, ScrewRow, SectionRow, Sheet, WallRow,
};
use crate::machining::Plan;

/// What every sheet says at its end.
pub const CAUTIONS: [&str; 3] = [
    "Estimates, not a release for manufacture: what can hurt someone needs tests, the local codes and a licensed \
     engineer.",
    "Speeds and feeds are starting values; the machinist decides. Thin parts can fly out of the vice, magnesium \
     chips burn, spring steel stores energy.",
    "The model is a beam with effective factors for its holes: see the remarks on sections outside its range.",
];

/// What the sheet of a design without a part says in their place.
pub const CAUTIONS_OUTSIDE: [&str; 1] =
    ["The figures are those of the study's own program: they are as good as it is."];

/// Prints a design's sheet; `baseline` stands beside it where the design is another one.
pub fn print(
    out: &mut dyn Write,
    title: &str,
    sheet: &Sheet,
    baseline: Option<&Sheet>,
    cautions: &[&str],
) -> io::Result<()> {
    headline(out, title, sheet)?;
    values(out, sheet, baseline)?;
    constraints(out, &sheet.constraints)?;
    if let Some(found) = &sheet.calibration {
        calibrated(out, found)?;
    }
    sections(out, &sheet.sections)?;
    loads(out, &sheet.loads)?;
    walls(out, &sheet.walls)?;
    screws(out, &sheet.screws)?;
    operations(out, &sheet.plan)?;
    making::print(out, sheet)?;
    mass(out, sheet)?;
    rules(out, sheet)?;
    let mut remarks = sheet.remarks.clone();
    remarks.extend(
        sheet
            .plan
            .remarks
            .iter()
            .filter(|remark| !sheet.remarks.contains(remark))
            .cloned(),
    );
    if !remarks.is_empty() {
        writeln!(out)?;
        list(out, "REMARKS", &remarks, style::WARN)?;
    }
    writeln!(out)?;
    let cautions: Vec<String> = cautions.iter().map(|each| each.to_string()).collect();
    list(out, "CAUTIONS", &cautions, style::DIM)
}

fn headline(out: &mut dyn Write, title: &str, sheet: &Sheet) -> io::Result<()> {
    let broken = sheet
        .constraints
        .iter()
        .filter(|judged| !judged.met)
        .count();
    paragraph(out, title, 0, style::HEADING)?;
    match (sheet.part.is_some() || !sheet.measures.is_empty(), broken) {
        (false, _) => paragraph(
            out,
            "This design can't be built: see the remarks.",
            0,
            style::BAD,
        ),
        (true, 0) => paragraph(out, "Every constraint is met.", 0, style::GOOD),
        (true, 1) => paragraph(out, "One constraint is broken.", 0, style::BAD),
        (true, count) => paragraph(
            out,
            &format!("{count} constraints are broken."),
            0,
            style::BAD,
        ),
    }
}

/// Variables, derived values, objectives and measures, the baseline's beside them, and the change.
fn values(out: &mut dyn Write, sheet: &Sheet, baseline: Option<&Sheet>) -> io::Result<()> {
    type Group = (&'static str, fn(&Sheet) -> &Vec<Named>, fn(f64) -> String);
    let groups: [Group; 4] = [
        ("VARIABLES", |sheet| &sheet.variables, short),
        ("DERIVED", |sheet| &sheet.derived, figure),
        ("OBJECTIVES", |sheet| &sheet.objectives, figure),
        ("MEASURES", |sheet| &sheet.measures, figure),
    ];
    let mut groups = groups
        .into_iter()
        .filter(|(_, pick, _)| !pick(sheet).is_empty());
    let Some(first) = groups.next() else {
        return Ok(());
    };
    let mut table = match baseline {
        Some(_) => Table::new(&[
            (first.0, Align::Wrap),
            ("", Align::Left),
            ("this design", Align::Point),
            ("baseline", Align::Point),
            ("change", Align::Point),
        ]),
        None => Table::new(&[
            (first.0, Align::Wrap),
            ("", Align::Left),
            ("", Align::Point),
        ]),
    };
    for (index, (heading, pick, text)) in std::iter::once(first).chain(groups).enumerate() {
        if index > 0 {
            table.heading(heading);
        }
        for value in pick(sheet) {
            let old = baseline.and_then(|old| pick(old).iter().find(|old| old.name == value.name));
            table.cells(value_cells(value, old, text));
        }
    }
    writeln!(out)?;
    table.print(out, width())
}

fn value_cells(value: &Named, old: Option<&Named>, text: fn(f64) -> String) -> Vec<Cell> {
    let mut cells: Vec<Cell> = vec![
        value.name.as_str().into(),
        Cell::styled(unit(&value.unit), style::DIM),
        text(value.value).into(),
    ];
    if let Some(old) = old {
        cells.push(Cell::styled(text(old.value), style::DIM));
        cells.push(change(value.value, old.value).into());
    }
    cells
}

/// Change from the baseline as a percentage; nothing where there is none or it has no meaning.
fn change(value: f64, baseline: f64) -> String {
    if value == baseline || baseline == 0.0 || !value.is_finite() || !baseline.is_finite() {
        return String::new();
    }
    signed_percent((value - baseline) / baseline.abs())
}

fn constraints(out: &mut dyn Write, constraints: &[Judged]) -> io::Result<()> {
    if constraints.is_empty() {
        return Ok(());
    }
    let mut table = Table::new(&[
        ("CONSTRAINTS", Align::Wrap),
        ("", Align::Left),
        ("value", Align::Point),
        ("", Align::Left),
        ("limit", Align::Point),
        ("margin", Align::Point),
        ("", Align::Left),
    ]);
    for judged in constraints {
        let sign = if judged.relation == "at least" {
            "≥"
        } else {
            "≤"
        };
        let (word, style) = if judged.met {
            ("met", style::GOOD)
        } else {
            ("broken", style::BAD)
        };
        table.row([
            judged.name.as_str().into(),
            Cell::styled(unit(&judged.unit), style::DIM),
            figure(judged.value).into(),
            sign.into(),
            short(judged.limit).into(),
            signed_percent(judged.margin).into(),
            Cell::styled(word, style),
        ]);
        if judged.text != judged.name {
            table.note(&judged.text, style::DIM);
        }
    }
    writeln!(out)?;
    table.print(out, width())
}

/// Section properties: a row a property, a column a section, as many columns as the width takes.
fn sections(out: &mut dyn Write, sections: &[SectionRow]) -> io::Result<()> {
    const AT_A_TIME: usize = 4;
    for (index, some) in sections.chunks(AT_A_TIME).enumerate() {
        let heading = if index == 0 {
            "SECTIONS"
        } else {
            "SECTIONS (more)"
        };
        let mut columns = vec![(heading, Align::Wrap), ("", Align::Left)];
        columns.extend(
            some.iter()
                .map(|section| (section.name.as_str(), Align::Point)),
        );
        let mut table = Table::new(&columns);
        for (name, unit) in properties(some) {
            let mut cells = vec![
                name.into(),
                Cell::styled(super::number::unit(unit), style::DIM),
            ];
            cells.extend(some.iter().map(|section| {
                let value = section
                    .values
                    .iter()
                    .find(|value| value.name == name && value.unit == unit);
                Cell::from(value.map_or(String::new(), |value| figure(value.value)))
            }));
            table.cells(cells);
        }
        writeln!(out)?;
        table.print(out, width())?;
        for section in some
            .iter()
            .filter(|section| !section.outside_range.is_empty())
        {
            paragraph(
                out,
                &format!("{}: {}", section.name, section.outside_range),
                2,
                style::WARN,
            )?;
        }
    }
    Ok(())
}

/// Names and units of all properties of some sections, in the order in which they come first.
fn properties(sections: &[SectionRow]) -> Vec<(&str, &str)> {
    let mut found = Vec::new();
    for value in sections.iter().flat_map(|section| &section.values) {
        let property = (value.name.as_str(), value.unit.as_str());
        if !found.contains(&property) {
            found.push(property);
        }
    }
    found
}

fn loads(out: &mut dyn Write, loads: &[LoadRow]) -> io::Result<()> {
    if loads.is_empty() {
        return Ok(());
    }
    let unit = loads
        .iter()
        .find_map(|load| load.stiffness.as_ref())
        .map_or("", |value| &value.unit);
    let one_unit = loads
        .iter()
        .filter_map(|load| load.stiffness.as_ref())
        .all(|value| value.unit == unit);
    let stiffness = if one_unit && !unit.is_empty() {
        format!("stiffness {unit}")
    } else {
        "stiffness".into()
    };
    let mut table = Table::new(&[
        ("LOAD CASES", Align::Wrap),
        (&stiffness, Align::Point),
        ("moves mm", Align::Point),
        ("at s mm", Align::Point),
        ("stress MPa", Align::Point),
        ("safety", Align::Point),
        ("peak MPa", Align::Point),
    ]);
    for load in loads {
        let stiffness = load
            .stiffness
            .as_ref()
            .map_or(String::new(), |value| match one_unit {
                true => figure(value.value),
                false => format!("{} {}", figure(value.value), value.unit),
            });
        table.row([
            load.name.as_str().into(),
            stiffness.into(),
            figure(load.displacement_mm).into(),
            format!("{:.1}", load.displacement_at_mm).into(),
            figure(load.stress_mpa).into(),
            figure(load.safety).into(),
            load.peak
                .as_ref()
                .map_or(String::new(), |peak| figure(peak.mpa))
                .into(),
        ]);
        table.note(&load.words, style::DIM);
        if !load.stress_place.is_empty() {
            table.note(
                &format!("greatest stress: {}", load.stress_place),
                style::DIM,
            );
        }
        if let Some(opening) = &load.opening {
            table.note(&opening_words(opening), style::DIM);
        }
        if let Some(peak) = &load.peak {
            table.note(&format!("local peak: {}", peak.place), style::DIM);
        }
        if let Some(fatigue) = &load.fatigue {
            let safety = figure(fatigue.safety);
            table.note(
                &format!("fatigue safety {safety}: {}", fatigue.words),
                style::DIM,
            );
        }
    }
    writeln!(out)?;
    table.print(out, width())
}

/// Walls and ribs: how far the cutter and a fingertip push them aside.
fn walls(out: &mut dyn Write, walls: &[WallRow]) -> io::Result<()> {
    if walls.is_empty() {
        return Ok(());
    }
    let mut table = Table::new(&[
        ("WALLS", Align::Wrap),
        ("high mm", Align::Point),
        ("thick mm", Align::Point),
        ("high/thick", Align::Point),
        ("cutter N", Align::Point),
        ("moves mm", Align::Point),
        ("pressed mm", Align::Point),
    ]);
    for wall in walls {
        table.row([
            wall.name.as_str().into(),
            figure(wall.height_mm).into(),
            figure(wall.thickness_mm).into(),
            figure(wall.slenderness).into(),
            figure(wall.cut_force_n).into(),
            figure(wall.cut_mm).into(),
            figure(wall.press_mm).into(),
        ]);
        table.note(&format!("held at its {}", wall.held), style::DIM);
    }
    writeln!(out)?;
    table.print(out, width())
}

/// Screws on bosses: pressure under the head, the cone that they clamp.
fn screws(out: &mut dyn Write, screws: &[ScrewRow]) -> io::Result<()> {
    if screws.is_empty() {
        return Ok(());
    }
    let mut table = Table::new(&[
        ("SCREWS", Align::Wrap),
        ("clamp N", Align::Point),
        ("bears MPa", Align::Point),
        ("safety", Align::Point),
        ("cone mm", Align::Point),
        ("cone room mm", Align::Point),
        ("head room mm", Align::Point),
    ]);
    for screw in screws {
        table.row([
            screw.name.as_str().into(),
            figure(screw.clamp_n).into(),
            figure(screw.bearing_mpa).into(),
            figure(screw.bearing_safety).into(),
            figure(screw.cone_mm).into(),
            figure(screw.cone_room_mm).into(),
            figure(screw.head_room_mm).into(),
        ]);
        table.note(
            &format!(
                "stiffness of the clamped cone {} N/mm",
                figure(screw.stiffness_n_mm)
            ),
            style::DIM,
        );
    }
    writeln!(out)?;
    table.print(out, width())
}

/// Force against opening, energy and fatigue of an opened blade.
fn opening_words(opening: &OpeningRow) -> String {
    let steps: Vec<String> = opening
        .curve
        .iter()
        .skip(1)
        .map(|(mm, force)| format!("{} N at {} mm", figure(*force), short(*mm)))
        .collect();
    format!(
        "force against opening: {}; {} N mm stored; safety against fatigue {}",
        steps.join(", "),
        figure(opening.energy_n_mm),
        figure(opening.fatigue_safety)
    )
}

/// Operations with the time that each takes and why; tools are numbered as they come into the spindle.
fn operations(out: &mut dyn Write, plan: &Plan) -> io::Result<()> {
    if plan.operations.is_empty() {
        return Ok(());
    }
    let mut tools: Vec<&str> = Vec::new();
    let mut table = Table::new(&[
        ("OPERATIONS", Align::Wrap),
        ("tool", Align::Left),
        ("rev/min", Align::Right),
        ("mm/min", Align::Right),
        ("deep mm", Align::Point),
        ("n", Align::Right),
        ("cut s", Align::Point),
        ("else s", Align::Point),
        ("all s", Align::Point),
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
            feature if feature.is_empty() || operation.name.contains(feature) => {
                operation.name.clone()
            }
            feature => format!("{}, {feature}", operation.name),
        };
        let turning = |value: f64| {
            if value > 0.0 {
                format!("{value:.0}")
            } else {
                String::new()
            }
        };
        let depth = if operation.depth_mm > 0.0 {
            short((operation.depth_mm * 100.0).round() / 100.0)
        } else {
            String::new()
        };
        table.row([
            name.into(),
            tool.into(),
            turning(operation.spindle_rpm).into(),
            turning(operation.feed_mm_min).into(),
            depth.into(),
            if operation.count > 0 {
                operation.count.to_string()
            } else {
                String::new()
            }
            .into(),
            seconds(operation.cut_s).into(),
            seconds(operation.move_s + operation.fixed_s).into(),
            seconds(operation.total_s()).into(),
        ]);
    }
    let mut total: Vec<Cell> = vec![Cell::styled("cycle time", style::HEADING)];
    total.extend((0..7).map(|_| Cell::from("")));
    total.push(Cell::styled(seconds(plan.cycle_s), style::HEADING));
    table.cells(total);
    writeln!(out)?;
    table.print(out, width())?;
    for (index, tool) in tools.iter().enumerate() {
        paragraph(
            out,
            &format!("T{}: {tool}{}", index + 1, bounds(plan, tool)),
            2,
            style::DIM,
        )?;
    }
    let changes = match plan.tool_changes {
        1 => "1 tool change".to_string(),
        count => format!("{count} tool changes"),
    };
    paragraph(
        out,
        &format!(
            "{} for one part, {changes}{}.{}",
            duration(plan.cycle_s),
            simulated(plan),
            at_bench(plan)
        ),
        2,
        style::DIM,
    )
}

/// Work at the bench, which is no part of the cycle; empty where there is none.
fn at_bench(plan: &Plan) -> String {
    let work = plan.bench.iter().map(|work| match work.count {
        0 | 1 => format!("{} {}", work.name, duration(work.total_s())),
        count => format!(
            "{} {count} dimensions {}",
            work.name,
            duration(work.total_s())
        ),
    });
    match work.collect::<Vec<_>>().join(", ") {
        work if work.is_empty() => work,
        work => format!(" At the bench besides: {work}."),
    }
}

/// How the simulation of every move compares with the estimate; empty where there is none.
fn simulated(plan: &Plan) -> String {
    if plan.simulated_s == plan.cycle_s {
        "; every move timed".into()
    } else if plan.simulated_s.is_finite() {
        let off = signed_percent(plan.cycle_s / plan.simulated_s - 1.0);
        let all = duration(plan.simulated_s);
        format!("; {all} by simulation of every move (estimate {off})")
    } else {
        String::new()
    }
}

fn seconds(value: f64) -> String {
    if value == 0.0 {
        String::new()
    } else {
        format!("{value:.1}")
    }
}

/// What bounds a tool's speed or feed, in words.
fn bounds(plan: &Plan, tool: &str) -> String {
    let mut limits: Vec<&str> = Vec::new();
    for operation in plan
        .operations
        .iter()
        .filter(|operation| operation.tool == tool)
    {
        if !operation.limit.is_empty() && !limits.contains(&operation.limit.as_str()) {
            limits.push(&operation.limit);
        }
    }
    if limits.is_empty() {
        String::new()
    } else {
        format!("; bound by {}", limits.join(", "))
    }
}

/// Figures before and after calibration, with what the factors' own errors leave open.
fn calibrated(out: &mut dyn Write, found: &Calibrated) -> io::Result<()> {
    let mut table = Table::new(&[
        ("CALIBRATED", Align::Wrap),
        ("", Align::Left),
        ("before", Align::Point),
        ("after", Align::Point),
        ("±", Align::Point),
    ]);
    for row in &found.rows {
        table.row([
            row.name.as_str().into(),
            unit(&row.unit).into(),
            figure(row.before).into(),
            figure(row.after).into(),
            significant(row.error, 2).into(),
        ]);
    }
    writeln!(out)?;
    table.print(out, width())?;
    let words = format!("{}. ± is one standard error.", found.words());
    let words = words.replacen('c', "C", 1);
    paragraph(out, &words, 2, style::DIM)
}

fn mass(out: &mut dyn Write, sheet: &Sheet) -> io::Result<()> {
    if sheet.mass.is_empty() {
        return Ok(());
    }
    let sum: f64 = sheet.mass.iter().map(|row| row.mass_g).sum();
    let mut table = Table::new(&[
        ("MASS", Align::Wrap),
        ("volume mm³", Align::Point),
        ("mass g", Align::Point),
        ("share", Align::Point),
    ]);
    for row in &sheet.mass {
        let volume = if row.volume_mm3 == 0.0 {
            String::new()
        } else {
            format!("{:.1}", row.volume_mm3)
        };
        let share = if sum > 0.0 {
            format!("{:.1} %", row.mass_g / sum * 100.0)
        } else {
            String::new()
        };
        table.row([
            row.name.as_str().into(),
            volume.into(),
            format!("{:.3}", row.mass_g).into(),
            share.into(),
        ]);
    }
    table.row([
        Cell::styled("together", style::HEADING),
        "".into(),
        Cell::styled(format!("{sum:.3}"), style::HEADING),
    ]);
    writeln!(out)?;
    table.print(out, width())
}

fn rules(out: &mut dyn Write, sheet: &Sheet) -> io::Result<()> {
    if sheet.rules.is_empty() {
        return Ok(());
    }
    let mut table = Table::new(&[
        ("RULES", Align::Left),
        ("least mm", Align::Point),
        ("where", Align::Wrap),
    ]);
    for rule in &sheet.rules {
        let text = figure(rule.value_mm);
        let value = if rule.value_mm < 0.0 {
            Cell::styled(text, style::BAD)
        } else {
            text.into()
        };
        table.row([rule.name.as_str().into(), value, rule.place.as_str().into()]);
    }
    writeln!(out)?;
    table.print(out, width())
}

#[cfg(test)]
mod tests {
    use super::super::samples;
    use super::*;
    use crate::cli::table::WIDTH;

    fn printed(sheet: &Sheet, baseline: Option<&Sheet>) -> String {
        let mut out = anstream::StripStream::new(Vec::new());
        print(
            &mut out,
            "Yaw ring of a survey drone's camera gimbal",
            sheet,
            baseline,
            &CAUTIONS,
        )
        .unwrap();
        String::from_utf8(out.into_inner()).unwrap()
    }

    fn line<'a>(text: &'a str, start: &str) -> Vec<&'a str> {
        let line = text
            .lines()
            .find(|line| line.trim_start().starts_with(start));
        line.unwrap_or_else(|| panic!("no line starts with {start}:\n{text}"))
            .split_whitespace()
            .collect()
    }

    #[test]
    fn everything_fits_in_80_columns() {
        for text in [
            printed(&samples::sheet(), None),
            printed(&samples::sheet(), Some(&samples::baseline())),
        ] {
            for line in text.lines() {
                assert!(line.chars().count() <= WIDTH, "{line}\n{text}");
                assert_eq!(line, line.trim_end());
            }
        }
    }

    #[test]
    fn figures_stand_beside_the_baseline() {
        let text = printed(&samples::sheet(), Some(&samples::baseline()));
        assert_eq!(
            line(&text, "mass  "),
            ["mass", "g", "21.43", "22.93", "-6.5", "%"]
        );
        assert_eq!(line(&text, "pitch"), ["pitch", "mm", "4.25", "4.25"]);
        assert_eq!(line(&text, "squeeze.safety"), ["squeeze.safety", "∞", "∞"]);
    }

    #[test]
    fn limits_say_whether_they_are_met() {
        let text = printed(&samples::sheet(), None);
        assert!(text.contains("One constraint is broken."));
        assert_eq!(
            line(&text, "stiff enough"),
            [
                "stiff", "enough", "N/mm", "118.2", "≥", "100", "+18.2", "%", "met"
            ]
        );
        assert_eq!(
            line(&text, "light"),
            ["light", "g", "21.43", "≤", "20", "-7.1", "%", "broken"]
        );
    }

    #[test]
    fn operations_name_their_tools_once() {
        let text = printed(&samples::sheet(), None);
        assert_eq!(
            line(&text, "drill, row relief").split_off(3),
            ["T2", "9000", "540", "2.2", "84", "102.3", "67.0", "169.3"]
        );
        assert_eq!(line(&text, "cycle time"), ["cycle", "time", "509.9"]);
        assert_eq!(text.matches("end mill 3 mm, 3 flutes, carbide").count(), 1);
    }

    #[test]
    fn remarks_of_sheet_and_plan_are_both_there() {
        let text = printed(&samples::sheet(), None);
        for remark in [
            "The floor between wall and rib is 1.6 mm wide.",
            "no end mill in stock fits slot 2 (1.6 mm)",
        ] {
            assert!(text.contains(remark), "{text}");
        }
    }
}
