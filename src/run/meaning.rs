//! What a study means, in words, for whoever wrote it.

use super::data::{Meaning, VariableMeaning};
use super::prepare::Prepared;
use crate::evaluate::Judged;
use crate::part::Piece;
use crate::study::{self, Asking};
use crate::units::print_number;

/// Unknowns at each joint of the chain: three displacements, three rotations, warping.
const FREEDOMS_A_NODE: usize = 7;

/// What a study means, in words.
pub fn meaning(prepared: &Prepared) -> Meaning {
    let told = study::describe(&prepared.study);
    let sheet = prepared
        .evaluator
        .sheet_of_frame(&prepared.evaluator.baseline());
    let mut meaning = Meaning {
        variables: told
            .variables
            .into_iter()
            .map(|line| VariableMeaning {
                name: line.name,
                range: line.range,
                baseline: line.baseline,
                values: counted(line.values),
            })
            .collect(),
        designs: counted(told.designs),
        constraints: told.constraints,
        objectives: told.objectives,
        plan: told.plan,
        remarks: told.remarks,
        loads: sheet
            .loads
            .iter()
            .map(|load| format!("{}: {}", load.name, load.words))
            .collect(),
        ..Meaning::default()
    };
    let asking = prepared.study.asking.as_ref();
    if let Some(asking) = asking {
        meaning.program = program_lines(asking);
    }
    // What depends on a program is not known here: nobody is asked.
    let unknown = |judged: &Judged| asking.is_some() && judged.value.is_nan();
    let broken = |judged: &&Judged| !judged.met && !unknown(judged);
    for judged in sheet.constraints.iter().filter(broken) {
        meaning.remarks.push(format!(
            "today's revision does not meet {}: {} {} is not {} {} {}",
            judged.name,
            print_number(judged.value),
            judged.unit,
            judged.relation,
            print_number(judged.limit),
            judged.unit
        ));
    }
    meaning.remarks.extend(sheet.remarks.iter().cloned());
    if let (Some(part), Some(layout)) = (&sheet.part, &sheet.layout) {
        meaning.freedoms = layout.nodes_mm.len() * FREEDOMS_A_NODE;
        meaning.part = part_lines(part, layout);
    }
    let mass = sheet.measures.iter().find(|measure| measure.name == "mass");
    if let Some(mass) = mass.filter(|_| prepared.evaluator.has_part()) {
        meaning.part.push(format!(
            "mass today {} {}",
            print_number(mass.value),
            mass.unit
        ));
    }
    meaning
}

/// A program that is asked, in words.
fn program_lines(asking: &Asking) -> Vec<String> {
    let each = match asking.lines {
        true => "stays, and is asked a question a line",
        false => "is started for every design",
    };
    let tries = match asking.retries {
        0 => "one attempt".into(),
        more => format!("{} attempts", more + 1),
    };
    let gives: Vec<String> = asking
        .measures
        .iter()
        .map(|measure| match measure.unit.symbol.as_str() {
            "" => measure.name.clone(),
            unit => format!("{} in {unit}", measure.name),
        })
        .collect();
    vec![
        format!(
            "`{}`, run with --allow-command only",
            asking.command.join(" ")
        ),
        format!(
            "{each}; at most {} s an answer, {tries}",
            print_number(asking.time_limit_s)
        ),
        format!("gives {}", gives.join(", ")),
    ]
}

fn counted(values: f64) -> Option<u64> {
    (values.is_finite() && values < 9e15).then_some(values as u64)
}

/// `circle of radius 40 mm`, `closed path of 4 lines and 4 arcs`.
fn path_words(part: &crate::part::Part) -> String {
    let pieces = part.path.pieces();
    if let (true, [Piece::Arc { radius_mm, .. }]) = (part.path.closed(), pieces) {
        return format!("circle of radius {} mm", print_number(*radius_mm));
    }
    let arcs = pieces
        .iter()
        .filter(|piece| matches!(piece, Piece::Arc { .. }))
        .count();
    let count = |count: usize, name: &str| match count {
        0 => None,
        1 => Some(format!("1 {name}")),
        count => Some(format!("{count} {name}s")),
    };
    let made = [count(pieces.len() - arcs, "line"), count(arcs, "arc")];
    let made: Vec<String> = made.into_iter().flatten().collect();
    let shape = if part.path.closed() { "closed" } else { "open" };
    format!("{shape} path of {}", made.join(" and "))
}

fn part_lines(part: &crate::part::Part, layout: &crate::part::Layout) -> Vec<String> {
    let mm = |value: f64| format!("{} mm", print_number(value));
    let mut told = vec![format!(
        "{}, {} long",
        path_words(part),
        mm(layout.length_mm)
    )];
    let section = &part.section;
    let wall = |name: &str, wall: Option<crate::part::Wall>| {
        wall.map(|wall| {
            format!(
                ", {name} {} x {}",
                mm(wall.thickness_mm),
                mm(wall.height_mm)
            )
        })
        .unwrap_or_default()
    };
    told.push(format!(
        "section {} wide, floor {}{}{}, ribs: {}",
        mm(section.width_mm),
        mm(section.floor_mm),
        wall("outer wall", section.outer_wall),
        wall("inner wall", section.inner_wall),
        section.ribs.len()
    ));
    for (index, row) in part.hole_rows.iter().enumerate() {
        let count = layout.holes.iter().filter(|hole| hole.row == index).count();
        told.push(format!(
            "row {}: {count} holes of {} in the {}, pitch {}",
            row.name,
            mm(row.diameter_mm),
            row.strip.words(),
            mm(row.pitch_mm)
        ));
    }
    for boss in &part.bosses {
        let slits = boss
            .section
            .slits
            .map(|slits| format!(", {} × {} wide", slits.count, mm(slits.width_mm)));
        told.push(format!(
            "{} at s = {}, {} long{}",
            boss.words(),
            mm(boss.station_mm),
            mm(boss.length_mm),
            slits.unwrap_or_default()
        ));
    }
    for carried in &part.carried {
        let place = match carried.stations_mm.len() {
            0 => "spread along the path".to_string(),
            1 => "at one place".to_string(),
            count => format!("at each of {count} places"),
        };
        told.push(format!(
            "carries {}: {} g {place}",
            carried.name,
            print_number(carried.mass_g)
        ));
    }
    told
}
