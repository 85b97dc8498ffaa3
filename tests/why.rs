//! Why a candidate is as it is, and why no design is feasible: every figure against a sum by hand or an evaluation of
//! its own.

mod studies_support;

use fretwork::run::{
    Designs, Finished, Known, Learnt, Next, Overrides, Prepared, Why, shortfall, why,
};
use std::f64::consts::TAU;
use studies_support::of_text;

/// A ring with an outer wall of 8 mm: V = 2 pi (40 12 f + (46 - w/2) w (8 - f)) by Pappus.
const RING: &str = r#"
format = 1
title = "Ring with a wall"
material = "al6061_t6511"
machine = "small_vmc"
seed = 1

[part.path]
shape = "circle"
radius = "40 mm"

[part.section]
width = "12 mm"
floor = "floor"
outer_wall = { thickness = "wall", height = "8 mm" }

[variables.floor]
from = "1 mm"
to = "3 mm"
step = "0.1 mm"

[variables.wall]
from = "0.6 mm"
to = "2 mm"

[baseline]
floor = "1 mm"
wall = "1.5 mm"

[load.squeeze]
forces = [
  { at = "90 deg", axes = "path", force = ["0 N", "10 N", "0 N"] },
  { at = "270 deg", axes = "path", force = ["0 N", "10 N", "0 N"] },
]

[[objective]]
least = "mass"

[[objective]]
most = "squeeze.stiffness"

[explore]
truth = "beam"
proofs = 0
evaluations = 200
"#;

fn ring(constraints: &str) -> Prepared {
    of_text(
        "ring",
        format!("{RING}\n[constraints]\n{constraints}\n"),
        Overrides::default(),
    )
}

fn mass_g(prepared: &Prepared, floor: f64, wall: f64) -> f64 {
    let volume = TAU * (40.0 * 12.0 * floor + (46.0 - 0.5 * wall) * wall * (8.0 - floor));
    prepared.conditions.as_ref().unwrap().material.density_kg_m3 * 1e-6 * volume
}

fn explored(prepared: &Prepared) -> Finished {
    let nothing = Learnt::nothing(prepared);
    fretwork::run::explore(prepared, &nothing, &|_| Known::default(), &mut |_| {
        Next::Continue
    })
    .unwrap()
}

/// Why the baseline is as it is.
fn baseline(prepared: &Prepared) -> Why {
    let run = explored(prepared);
    why(prepared, &run.designs, &run.front, 0).expect("the baseline is a part")
}

#[track_caller]
fn near(value: f64, expected: f64, relative: f64) {
    let off = (value - expected).abs();
    assert!(
        off <= relative * expected.abs(),
        "{value} against {expected}"
    );
}

#[test]
fn a_step_is_what_pappus_says() {
    let ring = ring("light = \"mass <= 60 g\"");
    let why = baseline(&ring);
    let mass = mass_g(&ring, 1.0, 1.5);
    // Floor: only up, by its step. Wall: a hundredth of its range either way.
    let steps: Vec<String> = why.steps.iter().map(|step| step.change.words()).collect();
    assert_eq!(
        steps,
        [
            "floor 1 -> 1.1 mm",
            "wall 1.5 -> 1.486 mm",
            "wall 1.5 -> 1.514 mm"
        ]
    );
    for (step, (floor, wall)) in why
        .steps
        .iter()
        .zip([(1.1, 1.5), (1.0, 1.486), (1.0, 1.514)])
    {
        let shift = &step.shifts[0];
        assert_eq!((&shift.name[..], &shift.unit[..]), ("mass", "g"));
        near(shift.by, mass_g(&ring, floor, wall) - mass, 1e-6);
        assert_eq!(shift.better, Some(shift.by < 0.0));
        // Stiffness against an evaluation of its own, in N/mm (base units).
        let record = |floor: f64, wall: f64| ring.evaluator.record(&[floor, wall]).objectives[1];
        near(
            step.shifts[1].by,
            record(1.0, 1.5) - record(floor, wall),
            1e-6,
        );
        assert!(step.broken.is_empty() && !step.beats);
    }
    let end = &why.ends[0];
    assert_eq!(
        (&end.variable[..], &end.value[..], end.end),
        ("floor", "1 mm", "lower bound")
    );
    assert_eq!(why.ends.len(), 1);
}

#[test]
fn an_active_constraint_is_told_with_what_it_holds() {
    // Stiffness of today's revision less a hundredth: a thinner wall by a hundredth of its range breaks nothing, and
    // the constraint is active by its room alone. Less a tenth of a per cent: the thinner wall breaks it.
    let plain = ring("light = \"mass <= 60 g\"");
    let stiff = -plain.evaluator.record(&[1.0, 1.5]).objectives[1];
    for (room, held) in [(0.015, 0), (0.001, 1)] {
        let limit = stiff * (1.0 - room);
        let ring = ring(&format!(
            "light = \"mass <= 60 g\"\nstiff = \"squeeze.stiffness >= {limit} N/mm\""
        ));
        let why = baseline(&ring);
        assert_eq!(why.active.len(), 1, "{:?}", why.active);
        let active = &why.active[0];
        assert_eq!(active.name, "stiff");
        near(active.margin, stiff / limit - 1.0, 1e-6);
        near(active.value, stiff, 1e-6);
        near(active.limit, limit, 1e-6);
        assert_eq!(active.held.len(), held, "{:?}", active.held);
        if held == 1 {
            assert_eq!(active.held[0], "wall 1.5 -> 1.486 mm");
            let step = &why.steps[1];
            assert_eq!(step.broken[0].name, "stiff");
            let thinner = -ring.evaluator.record(&[1.0, 1.486]).objectives[1];
            near(step.broken[0].by, 1.0 - thinner / limit, 1e-6);
        }
    }
}

#[test]
fn exchange_rates_and_neighbours_are_the_fronts() {
    let ring = ring("light = \"mass <= 60 g\"");
    let run = explored(&ring);
    assert!(run.front.len() > 20);
    let at = run.front.len() / 2;
    let pick = run.front[at];
    let found = why(&ring, &run.designs, &run.front, pick).unwrap();
    let column = |name: &str| {
        run.columns
            .iter()
            .position(|each| each.name == name)
            .unwrap()
    };
    let (mass, stiff) = (column("mass"), column("squeeze.stiffness"));
    let of = |design: usize| {
        (
            run.designs.row(design)[mass],
            run.designs.row(design)[stiff],
        )
    };
    // The secant over a few candidates to either side.
    let (a, b) = (of(run.front[at - 4]), of(run.front[at + 4]));
    let rate = &found.exchange[0];
    assert_eq!((&rate.of[..], &rate.per[..]), ("mass", "squeeze.stiffness"));
    assert!(rate.cost > 0.0 && rate.error < 0.5 * rate.cost, "{rate:?}");
    near(rate.cost, (b.0 - a.0) / (b.1 - a.1), 0.3);
    assert_eq!(found.neighbours.len(), 3);
    for each in &found.neighbours {
        assert!(run.front.contains(&each.design) && each.design != pick);
        near(each.shifts[0].by, of(each.design).0 - of(pick).0, 1e-6);
        near(each.shifts[1].by, of(each.design).1 - of(pick).1, 1e-6);
        for change in &each.changes {
            let index = column(&change.variable);
            near(change.to, run.designs.row(each.design)[index], 1e-9);
            near(change.from, run.designs.row(pick)[index], 1e-9);
        }
    }
    // What a page shows of it.
    let told = run.told.iter().find(|told| told.design == pick).unwrap();
    assert_eq!(told.why.as_ref(), Some(&found));
    assert!(told.scatter.as_ref().unwrap().samples == 128);
}

#[test]
fn a_design_off_the_front_is_told_what_beats_it() {
    // At a floor of 3 mm the ring is heavy for its stiffness by a wall of 0.6 mm; where a single step betters one
    // objective and worsens none it must say so, else each step that betters one must cost another or break something.
    let ring = ring("light = \"mass <= 60 g\"");
    let run = explored(&ring);
    let off = (0..run.designs.len())
        .find(|design| !run.front.contains(design))
        .unwrap();
    let found = why(&ring, &run.designs, &run.front, off).unwrap();
    assert!(!found.on_front && found.exchange.is_empty() && found.neighbours.is_empty());
    for step in &found.steps {
        let better = step.shifts.iter().any(|shift| shift.better == Some(true));
        let worse = step.shifts.iter().any(|shift| shift.better == Some(false));
        assert_eq!(step.beats, better && !worse && step.broken.is_empty());
    }
}

#[test]
fn when_nothing_is_feasible_the_limit_that_must_move_is_told() {
    let ring_of = |stiff: f64| {
        ring(&format!(
            "light = \"mass <= 25 g\"\nstiff = \"squeeze.stiffness >= {stiff} N/mm\"\n"
        ))
    };
    let hopeless = ring_of(5000.0);
    let run = explored(&hopeless);
    assert!(run.front.is_empty());
    let found = run.shortfall.clone().expect("it is told");
    assert_eq!(found, shortfall(&hopeless, &run.designs).unwrap());
    let killer = &found.killers[0];
    assert_eq!(
        (&killer.name[..], killer.breaks),
        ("stiff", run.designs.len())
    );
    // Counted again from the columns.
    let column = |name: &str| {
        run.columns
            .iter()
            .position(|each| each.name == name)
            .unwrap()
    };
    let (mass, stiff) = (column("mass"), column("squeeze.stiffness"));
    let light: Vec<usize> = (0..run.designs.len())
        .filter(|d| run.designs.row(*d)[mass] <= 25.0)
        .collect();
    assert_eq!(killer.alone, light.len());
    let stiffest = light
        .iter()
        .map(|d| run.designs.row(*d)[stiff])
        .fold(0.0, f64::max);
    let (design, to_pass) = killer.nearest.as_ref().unwrap();
    near(to_pass.needed, stiffest, 1e-6);
    near(to_pass.limit, 5000.0, 1e-9);
    near(run.designs.row(*design)[stiff], stiffest, 1e-6);
    // With the limit moved there, that design is feasible.
    let moved = ring_of(to_pass.needed * (1.0 - 1e-9));
    let point: Vec<f64> = run.designs.row(*design)[..2].to_vec();
    assert!(
        moved
            .evaluator
            .record(&point)
            .violations
            .iter()
            .all(|each| *each <= 0.0)
    );
    assert!(
        found
            .lines()
            .iter()
            .any(|line| line.contains("stiff") && line.contains("instead of 5000"))
    );
    // With a feasible design there is nothing to tell.
    let fair = explored(&ring_of(to_pass.needed * 0.9));
    assert!(!fair.front.is_empty() && fair.shortfall.is_none());
    assert!(shortfall(&hopeless, &Designs::default()).is_none());
}

/// Runs the program in a folder; what it prints, which must fit 80 columns.
fn fretwork(folder: &std::path::Path, arguments: &[&str], code: i32) -> String {
    let output = std::process::Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts");
    let out = String::from_utf8(output.stdout).expect("UTF-8");
    let err = String::from_utf8(output.stderr).expect("UTF-8");
    assert_eq!(
        output.status.code(),
        Some(code),
        "{arguments:?}\n{out}\n{err}"
    );
    assert!(!err.contains("panicked"), "{err}");
    if !arguments.contains(&"--json") {
        assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    }
    if code == 0 { out } else { err }
}

#[test]
fn the_commands_print_what_the_library_finds() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let text = format!("{RING}\n[constraints]\nlight = \"mass <= 60 g\"\n");
    std::fs::write(path.join("ring.toml"), text).unwrap();
    fretwork(path, &["run", "ring.toml", "--evaluations", "60"], 0);
    let run = "results/ring-001";
    let printed = fretwork(path, &["why", run], 0);
    for words in [
        "WHAT HOLDS IT",
        "EXCHANGE RATES",
        "NEAREST ON THE FRONT",
        "BETTER IN MASS?",
    ] {
        assert!(printed.contains(words), "{printed}");
    }
    let json: serde_json::Value =
        serde_json::from_str(&fretwork(path, &["why", run, "--pick", "0", "--json"], 0)).unwrap();
    assert_eq!(json["design"], 0);
    assert_eq!(json["ends"][0]["end"], "lower bound");
    let printed = fretwork(path, &["scatter", run, "--samples", "64"], 0);
    for words in [
        "FIGURES",
        "CONSTRAINTS",
        "SCATTERS",
        "TIGHTEN OR RELAX",
        "second set-up",
    ] {
        assert!(printed.contains(words), "{printed}");
    }
    let json: serde_json::Value = serde_json::from_str(&fretwork(
        path,
        &[
            "scatter",
            "ring.toml",
            "--set",
            "floor=2 mm",
            "--samples",
            "64",
            "--json",
        ],
        0,
    ))
    .unwrap();
    assert_eq!(json["scatter"]["samples"], 64);
    assert_eq!(json["scatter"]["all"]["share"], 1.0);
    for arguments in [
        &["why", run, "--pick", "9999"][..],
        &["why", "ring.toml"],
        &["scatter", run, "--set", "floor=2 mm"],
        &["scatter", "ring.toml", "--pick", "3"],
    ] {
        assert!(
            fretwork(path, arguments, 2).contains("mend"),
            "{arguments:?}"
        );
    }
}
