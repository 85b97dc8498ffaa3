//! The README of a hand-off: what it is of, what is in it, how to read it, what to beware of.

use super::{Facts, HoleRecord, Item};
use crate::drawing::text::significant;
use crate::evaluate::{Named, Sheet};

/// What whoever cuts the part must read.
const CAUTIONS: [&str; 6] = [
    "Estimates, not a release for manufacture. A part whose failure can hurt someone needs tests, the local codes and a \
     licensed engineer.",
    "Speeds, feeds and times are starting values; the machinist decides. Simulate every tool path, and prove it in air, \
     before metal is cut.",
    "Thin walls can be thrown, and thin parts can fly out of the vice: support what chatters, keep guards shut.",
    "Magnesium chips burn and are not put out with water: use a class D extinguisher. Spring steel stores energy: wear \
     eye protection.",
    "Edges are drawn sharp. Break them as the drawing says, also those of holes on the underside.",
    "Measure the first part, weigh it, and tell the study what came out.",
];

/// Shares of a volume nearer than this are one.
const SAME_VOLUME: f64 = 1e-6;

/// The text of the README. `items` are the other files; the volumes are the evaluator's and
/// the solid's, in mm³; `lost` the sizes that found no place on the drawing.
pub(super) fn readme(
    facts: &Facts,
    items: &[Item],
    holes: &[HoleRecord],
    [volume_mm3, solid_mm3]: [f64; 2],
    lost: &[String],
) -> String {
    let mut text = format!("# {}\n\n", one_line(facts.title));
    let mut line = |label: &str, what: &str| {
        if !what.is_empty() {
            text.push_str(&format!("- {label}: {}\n", one_line(what)));
        }
    };
    line("Study", facts.study);
    match (facts.run, facts.design) {
        ("", _) => line("Design", "of the study, no run"),
        (run, Some(design)) => line("Design", &format!("{design} of run {run}")),
        (run, None) => line("Run", run),
    }
    match (facts.revision, facts.by) {
        ("", _) => line("Revision", "none: not adopted, for review only"),
        (letter, []) => line("Revision", letter),
        (letter, by) => line(
            "Revision",
            &format!("{letter}, adopted by {}", by.join(", ")),
        ),
    }
    line("Made", &format!("{} by {}", facts.date, facts.tool));
    line("Material", facts.material);
    line("Machine of the estimate", facts.machine);
    line("Stock", &stock(facts.sheet));
    line("Fingerprint of the run", facts.fingerprints[0]);
    line("Fingerprint of the study", facts.fingerprints[1]);
    if let Some(found) = &facts.sheet.calibration {
        line("Figures", &found.words());
    }
    text.push_str("\n## Files\n\n");
    for item in items {
        text.push_str(&format!("- `{}`: {}\n", item.name, item.words));
    }
    text.push_str("\n## Figures\n\n");
    text.push_str(&format!(
        "- volume of metal, as drawn: {} mm^3; of the solid: {} mm^3\n",
        significant(volume_mm3, 9),
        significant(solid_mm3, 9)
    ));
    // More than rounding: a bore where the path changes its curvature, say.
    if (solid_mm3 / volume_mm3 - 1.0).abs() > SAME_VOLUME {
        text.push_str("- **mass and stiffness were worked out for the first of these volumes**\n");
    }
    if facts.sheet.calibration.is_some() {
        text.push_str("- calibrated: the figures below, and those of the tables, are of the part as it comes out\n");
    }
    if facts.run.is_empty() {
        text.push_str(
            "- stiffness, displacement and frequency are the beam's alone: `fretwork prove` solves the solid\n",
        );
    }
    for named in figures(facts.sheet) {
        let unit = if named.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", named.unit)
        };
        text.push_str(&format!(
            "- {}: {}{unit}\n",
            one_line(&named.name),
            significant(named.value, 5)
        ));
    }
    let broken = facts.sheet.constraints.iter().filter(|judged| !judged.met);
    for judged in broken {
        text.push_str(&format!("- **broken: {}**\n", one_line(&judged.text)));
    }
    if !lost.is_empty() {
        let lost = one_line(&lost.join(", "));
        text.push_str(&format!("- **no room on the drawing for: {lost}**\n"));
    }
    text.push_str(&format!("\n## Holes\n\n{}\n", groups(holes)));
    text.push_str(
        "\n## Reading the files\n\n\
         Millimetres. The plan's x and y and the tool axis z are right-handed; z = 0 is the underside of the floor, \
         z points out of it toward the walls. Stations run along the path, the line in the middle of the floor. A hole's \
         place is where its axis meets the face that the drill enters; its depth is that of the full diameter, the cone \
         of the drill's point goes deeper. Nominal sizes: tolerances are on the drawing.\n",
    );
    text.push_str("\n## Remarks\n\n");
    let mut remarks: Vec<&String> = Vec::new();
    for remark in facts.sheet.remarks.iter().chain(&facts.sheet.plan.remarks) {
        if !remarks.contains(&remark) {
            remarks.push(remark);
        }
    }
    for remark in &remarks {
        text.push_str(&format!("- {}\n", one_line(remark)));
    }
    if remarks.is_empty() {
        text.push_str("- none\n");
    }
    text.push_str("\n## Cautions\n\n");
    for caution in CAUTIONS {
        text.push_str(&format!("- {caution}\n"));
    }
    text
}

/// Objectives and what a part is judged by at a glance, each once.
fn figures(sheet: &Sheet) -> Vec<&Named> {
    let glance = ["mass", "metal_mass", "cycle_time", "cost", "frequency"];
    let mut shown: Vec<&Named> = Vec::new();
    let measures = &sheet.measures;
    let stiff =
        |named: &&Named| named.name.ends_with(".stiffness") || named.name.ends_with(".safety");
    let wanted = measures
        .iter()
        .filter(|named| glance.contains(&named.name.as_str()) || stiff(named));
    for named in wanted.chain(&sheet.objectives) {
        let known = shown.iter().any(|each| each.name == named.name);
        if !known && named.value.is_finite() {
            shown.push(named);
        }
    }
    shown
}

/// Equal holes together: `24 x 3.2 mm through, row relief`.
fn groups(holes: &[HoleRecord]) -> String {
    let size = |hole: &HoleRecord| {
        let bore = hole.group.starts_with("bore of ");
        let whose = if bore {
            String::new()
        } else {
            hole.group.clone()
        };
        let depth = (hole.depth_mm, hole.through, hole.counterbore_mm);
        (whose, hole.diameter_mm, depth, hole.reamed)
    };
    let mut groups: Vec<Vec<&HoleRecord>> = Vec::new();
    for hole in holes {
        match groups.iter_mut().find(|group| size(group[0]) == size(hole)) {
            Some(group) => group.push(hole),
            None => groups.push(vec![hole]),
        }
    }
    if groups.is_empty() {
        return "- none".into();
    }
    groups
        .iter()
        .map(|group| equal(group))
        .collect::<Vec<_>>()
        .join("\n")
}

fn equal(group: &[&HoleRecord]) -> String {
    let hole = group[0];
    let mm = |value: f64| significant(value, 4);
    let depth = match hole.through {
        true => "through".to_string(),
        false => format!("{} mm deep", mm(hole.depth_mm)),
    };
    let fit = if hole.reamed { " H7" } else { "" };
    let wide = hole
        .counterbore_mm
        .map_or(String::new(), |(diameter, depth)| {
            format!(", counterbored {} mm, {} mm deep", mm(diameter), mm(depth))
        });
    let mut names: Vec<&str> = group.iter().map(|hole| hole.group.as_str()).collect();
    names.dedup();
    let (count, diameter) = (group.len(), mm(hole.diameter_mm));
    format!(
        "- {count} x {diameter} mm{fit} {depth}{wide}: {}",
        one_line(&names.join(", "))
    )
}

fn stock(sheet: &Sheet) -> String {
    let billet = &sheet.plan.billet;
    match billet.x_mm.is_finite() && billet.x_mm > 0.0 {
        true => format!(
            "{} x {} x {} mm",
            mm(billet.x_mm),
            mm(billet.y_mm),
            mm(billet.z_mm)
        ),
        false => String::new(),
    }
}

fn mm(value: f64) -> String {
    significant(value, 5)
}

/// A text of the study as part of a line of Markdown.
fn one_line(text: &str) -> String {
    let mut line = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' | '\r' | '\t' => line.push(' '),
            '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '|' | '\\' => {
                line.push('\\');
                line.push(c);
            }
            c if c.is_control() => {}
            c => line.push(c),
        }
    }
    line
}
