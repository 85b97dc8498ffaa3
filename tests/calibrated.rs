//! What a study's `[calibration]` does: each factor against what it means, closed form or another way to the same part.

mod studies_support;

use fretwork::evaluate::{Calibration, Factor};
use fretwork::run::{Overrides, Prepared};
use fretwork::solid::Density;
use studies_support::of_text;

/// A ring with walls whose dimensions are variables without steps, held in one load case and floating in another.
const RING: &str = r#"
format = 1
title = "Walled ring"
material = "al6061_t6511"
machine = "small_vmc"
seed = 1

[tools]
drills = ["3 mm"]
end_mills = ["3 mm", "6 mm"]

[part.path]
shape = "circle"
radius = "40 mm"

[part.section]
width = "12 mm"
floor = "floor"
outer_wall = { thickness = "wall", height = "8 mm" }
inner_wall = { thickness = "wall", height = "6 mm" }

[[part.hole_row]]
name = "relief"
strip = "floor"
diameter = "3 mm"
pitch = "9 mm"

[variables.floor]
from = "1 mm"
to = "3 mm"

[variables.wall]
from = "0.8 mm"
to = "2 mm"

[baseline]
floor = "1.8 mm"
wall = "1.4 mm"

[load.squeeze]
forces = [
  { at = "90 deg", axes = "path", force = ["0 N", "10 N", "0 N"] },
  { at = "270 deg", axes = "path", force = ["0 N", "10 N", "0 N"] },
]

[load.pull]
supports = [{ at = "0 deg", hold = "all" }]
forces = [{ at = "180 deg", force = ["0 N", "0 N", "7 N"] }]

[[objective]]
least = "mass"

[explore]
truth = "beam"
proofs = 0
evaluations = 100
"#;

fn ring(calibration: &str) -> Prepared {
    let more = match calibration {
        "" => String::new(),
        factors => format!("\n[calibration]\nparts = 3\n{factors}\n"),
    };
    of_text("ring", format!("{RING}{more}"), Overrides::default())
}

const DRAWN: [f64; 2] = [1.8, 1.4];

/// A measure of a design, in its unit.
fn measure(prepared: &Prepared, variables: &[f64], name: &str) -> f64 {
    let sheet = prepared.evaluator.sheet(variables);
    let found = sheet.measures.iter().find(|each| each.name == name);
    found.unwrap_or_else(|| panic!("a measure {name}")).value
}

#[track_caller]
fn near(found: f64, wanted: f64, share: f64) {
    assert!(
        (found / wanted - 1.0).abs() <= share,
        "{found} is not {wanted}"
    );
}

#[test]
fn density_and_modulus_are_factors() {
    let (plain, dense) = (ring(""), ring("density = { factor = 0.99, error = 0.002 }"));
    let stiff = ring("modulus = { factor = 0.95, error = 0.01 }");
    let of = |prepared: &Prepared, name| measure(prepared, &DRAWN, name);
    // m = rho V; a linear frame's stiffness is proportional to E at a given Poisson's ratio, its frequencies to
    // sqrt(E / rho).
    near(
        of(&dense, "metal_mass"),
        0.99 * of(&plain, "metal_mass"),
        1e-12,
    );
    near(
        of(&dense, "pull.stiffness"),
        of(&plain, "pull.stiffness"),
        1e-12,
    );
    near(
        of(&dense, "frequency"),
        of(&plain, "frequency") / 0.99_f64.sqrt(),
        1e-6,
    );
    near(
        of(&stiff, "pull.stiffness"),
        0.95 * of(&plain, "pull.stiffness"),
        1e-9,
    );
    near(
        of(&stiff, "squeeze.stiffness"),
        0.95 * of(&plain, "squeeze.stiffness"),
        1e-9,
    );
    near(
        of(&stiff, "frequency"),
        0.95_f64.sqrt() * of(&plain, "frequency"),
        1e-6,
    );
    near(of(&stiff, "metal_mass"), of(&plain, "metal_mass"), 1e-15);
}

#[test]
fn walls_come_out_thicker_as_if_drawn_so() {
    let (plain, thick) = (
        ring(""),
        ring("wall = { offset = \"0.05 mm\", error = \"0.01 mm\" }"),
    );
    let drawn_thicker = [DRAWN[0] + 0.05, DRAWN[1] + 0.05];
    for name in [
        "metal_mass",
        "squeeze.stiffness",
        "pull.stiffness",
        "pull.stress",
        "frequency",
    ] {
        near(
            measure(&thick, &DRAWN, name),
            measure(&plain, &drawn_thicker, name),
            1e-9,
        );
    }
    // The drawing stays: rules, tools and times are those of the part as drawn.
    for name in ["ligament", "slot", "cycle_time", "wall_slenderness"] {
        near(
            measure(&thick, &DRAWN, name),
            measure(&plain, &DRAWN, name),
            1e-12,
        );
    }
    let sheet = thick.evaluator.sheet(&DRAWN);
    assert_eq!(sheet.part.unwrap().section.floor_mm, 1.8);
}

#[test]
fn joints_give_in_series() {
    let (plain, joined) = (
        ring(""),
        ring("joint = { compliance = \"0.0005 mm/N\", error = \"0.0001 mm/N\" }"),
    );
    let of = |prepared: &Prepared, name| measure(prepared, &DRAWN, name);
    // Two springs in series: 1/k = 1/k1 + 1/k2. Where nothing is held there are no joints.
    let series = 1.0 / (1.0 / of(&plain, "pull.stiffness") + 0.0005);
    near(of(&joined, "pull.stiffness"), series, 1e-12);
    near(
        of(&joined, "pull.displacement"),
        of(&plain, "pull.displacement") + 7.0 * 0.0005,
        1e-12,
    );
    near(
        of(&joined, "squeeze.stiffness"),
        of(&plain, "squeeze.stiffness"),
        1e-15,
    );
    // A solid of the part is held by the same joints.
    let solid = |prepared: &Prepared| {
        let facts = prepared
            .evaluator
            .solid(&DRAWN, Density::Coarse, 0)
            .unwrap();
        facts.loads[1].stiffness
    };
    near(solid(&joined), 1.0 / (1.0 / solid(&plain) + 0.0005), 1e-12);
}

#[test]
fn operations_take_longer_and_the_machine_is_slower() {
    let (plain, late) = (
        ring(""),
        ring("overhead = { time = \"2.5 s\", error = \"0.5 s\" }"),
    );
    let operations = plain.evaluator.sheet(&DRAWN).plan.operations.len() as f64;
    let of = |prepared: &Prepared, name| measure(prepared, &DRAWN, name);
    // Cycle times are measured in minutes on a sheet or in seconds; the plan says it in seconds.
    let cycle = |prepared: &Prepared| prepared.evaluator.sheet(&DRAWN).plan.cycle_s;
    near(cycle(&late), cycle(&plain) + 2.5 * operations, 1e-12);
    assert!(of(&late, "cost") > of(&plain, "cost"));

    let slow = ring("acceleration = { factor = 0.5, error = 0.05 }");
    // The same machine, its catalogue entry saying half the acceleration.
    let mut entry = plain.clone();
    let conditions = entry.conditions.as_mut().unwrap();
    conditions.machine.acceleration_xy_m_s2 *= 0.5;
    conditions.machine.acceleration_z_m_s2 *= 0.5;
    let with = fretwork::evaluate::Evaluator::new(
        entry.evaluator.setup().clone(),
        entry.study.part.clone().unwrap(),
        &conditions.material,
        &conditions.tools,
        &conditions.machine,
    )
    .unwrap();
    assert!(cycle(&slow) > cycle(&plain));
    near(cycle(&slow), with.sheet(&DRAWN).plan.cycle_s, 1e-15);
}

#[test]
fn the_sheet_says_before_after_and_error() {
    let prepared = ring(
        "density = { factor = 0.98, error = 0.004 }\nmodulus = { factor = 0.9, error = 0.02 }",
    );
    let sheet = prepared.evaluator.sheet(&DRAWN);
    let said = sheet.calibration.expect("a calibrated study");
    assert_eq!(said.parts, 3);
    let names: Vec<&str> = said.factors.iter().map(|factor| factor.name).collect();
    assert_eq!(names, ["density", "modulus"]);
    let row = |name: &str| {
        said.rows
            .iter()
            .find(|row| row.name == name)
            .unwrap()
            .clone()
    };
    let plain = ring("");
    for name in ["metal_mass", "pull.stiffness", "frequency"] {
        near(row(name).before, measure(&plain, &DRAWN, name), 1e-9);
        near(row(name).after, measure(&prepared, &DRAWN, name), 1e-12);
    }
    // Errors of products add as squares of their shares (GUM, JCGM 100:2008, 5.1.6): frequency goes with
    // sqrt(E / rho).
    near(
        row("metal_mass").error,
        row("metal_mass").after * 0.004 / 0.98,
        1e-6,
    );
    near(
        row("pull.stiffness").error,
        row("pull.stiffness").after * 0.02 / 0.9,
        1e-6,
    );
    let share = ((0.5 * 0.02_f64 / 0.9).powi(2) + (0.5 * 0.004_f64 / 0.98).powi(2)).sqrt();
    near(row("frequency").error, row("frequency").after * share, 1e-3);
    assert!(!said.rows.iter().any(|row| row.name == "ligament"));
}

#[test]
fn without_factors_nothing_changes() {
    let (plain, none) = (ring(""), ring("density = { factor = 1, error = 0.01 }"));
    assert_eq!(plain.study.calibration, Calibration::NEUTRAL);
    assert_eq!(
        none.study.calibration,
        Calibration {
            parts: 3,
            density: Factor {
                value: 1.0,
                error: 0.01
            },
            ..Calibration::NEUTRAL
        }
    );
    assert_eq!(
        plain.evaluator.record(&DRAWN),
        none.evaluator.record(&DRAWN)
    );
    assert!(none.evaluator.sheet(&DRAWN).calibration.is_none());
}

#[test]
fn factors_that_can_mean_nothing_are_refused() {
    let refused = |factors: &str| {
        let text = format!("{RING}\n[calibration]\nparts = 3\n{factors}\n");
        let source = fretwork::run::Source {
            file: "ring.toml".into(),
            study: "ring".into(),
            text,
            catalogue: None,
        };
        match fretwork::run::prepare(&source, Overrides::default()) {
            Ok(_) => panic!("{factors} was taken"),
            Err(mistakes) => mistakes.printed,
        }
    };
    let printed = refused("density = { factor = 3, error = 0.1 }");
    assert!(
        printed.contains("study/out-of-range") && printed.contains("0.5 to 2"),
        "{printed}"
    );
    let printed = refused("wall = { offset = \"0.02 N\", error = \"0.01 mm\" }");
    assert!(
        printed.contains("units/wrong-kind") && printed.contains("offset"),
        "{printed}"
    );
    let printed = refused("wall = { offset = 0.02, error = \"0.01 mm\" }");
    assert!(printed.contains("0.02 mm"), "{printed}");
    let printed = refused("wall = { offset = \"0.02 mm\" }");
    assert!(
        printed.contains("study/missing-key") && printed.contains("error"),
        "{printed}"
    );
}
