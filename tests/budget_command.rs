//! `fretwork budget` as a built program, on small runs of demo studies.

use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::Value;

fn check(folder: &Path, arguments: &[&str], code: i32) -> (String, String) {
    let output = Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    let (status, out, err) = (
        output.status.code(),
        text(output.stdout),
        text(output.stderr),
    );
    assert_eq!(status, Some(code), "{arguments:?}\n{out}\n{err}");
    assert!(!err.contains("panicked"), "{err}");
    (out, err)
}

const BUDGET: &str = "\
format = 1
title = \"Gimbal\"

[limits]
mass = \"70 g\"

[[item]]
name = \"ring\"
study = \"ring.toml\"
revision = \"baseline\"

[[item]]
name = \"arm\"
study = \"arm.toml\"
revision = \"baseline\"
quantity = 2
keep = []

[[item]]
name = \"screws\"
kind = \"fastener\"
mass = \"0.6 g\"
quantity = 8
basis = \"weighed\"
";

/// A folder with two studies, a small run of each on the beam, and a budget.
fn made() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (demo, name) in [("yaw-ring", "ring"), ("tilt-arm", "arm")] {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("studies/{demo}.toml"));
        let study = fs::read_to_string(demo).unwrap().replace(
            "evaluations = 24000",
            "evaluations = 900\ntruth = \"beam\"\nproofs = 0",
        );
        let file = format!("{name}.toml");
        fs::write(folder.path().join(&file), study).unwrap();
        check(folder.path(), &["run", &file, "--json"], 0);
    }
    fs::write(folder.path().join("b.toml"), BUDGET).unwrap();
    folder
}

#[test]
fn a_budget_from_file_to_page() {
    let folder = made();
    let here = folder.path();
    let budget = |more: &[&str], code| check(here, &[&["budget", "b.toml"], more].concat(), code);

    // Without runs: the account alone.
    let (out, _) = budget(&[], 0);
    assert!(
        out.contains("ring, baseline")
            && out.contains("without a run")
            && !out.contains("NEXT GRAM"),
        "{out}"
    );

    // With the newest runs: the same bytes again and again, no line too long.
    let all = ["--results", "results"];
    let (out, _) = budget(&all, 0);
    assert!(
        out.contains("NEXT GRAM") && out.contains("LIGHTEST for no more cost than today"),
        "{out}"
    );
    for line in out.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    assert_eq!(budget(&all, 0).0, out);
    let (json, _) = budget(&[&all[..], &["--json"]].concat(), 0);
    let told: Value = serde_json::from_str(&json).unwrap();
    told_adds_up(&told);

    // Named runs are the same as the newest.
    let named = ["--run", "results/ring-001", "--run", "results/arm-001"];
    assert_eq!(budget(&named, 0).0, out);

    // What is asked for is kept.
    let (json, _) = budget(
        &[
            &all[..],
            &[
                "--json",
                "--at-most",
                "mass=69 g",
                "--at-most",
                "cycle_time=60 min",
            ],
        ]
        .concat(),
        0,
    );
    let told: Value = serde_json::from_str(&json).unwrap();
    let answer = &told["fronts"]["answers"][0];
    assert_eq!(answer["asked"]["least"], "cost");
    if !answer["offer"].is_null() {
        let totals = &answer["offer"]["totals"];
        assert!(totals["mass"].as_f64().unwrap() <= 69.0 * (1.0 + 1e-8));
        assert!(totals["cycle_time"].as_f64().unwrap() <= 3600.0 * (1.0 + 1e-8));
    }
    let (out, _) = budget(&[&all[..], &["--at-most", "mass=5 g"]].concat(), 0);
    assert!(
        out.contains("No choice of candidates is within the limits"),
        "{out}"
    );

    // Files, never written over.
    let drawn = [&all[..], &["--page", "b.html", "--svg", "b.svg"]].concat();
    budget(&drawn, 0);
    assert!(
        fs::read_to_string(here.join("b.html"))
            .unwrap()
            .contains("Gimbal")
    );
    let (_, err) = budget(&drawn, 2);
    assert!(err.contains("is there already"), "{err}");
    let (_, err) = budget(&["--svg", "c.svg"], 2);
    assert!(err.contains("no front to draw"), "{err}");

    // Of two runs of a study the later is the newest.
    check(here, &["run", "ring.toml", "--seed", "2", "--json"], 0);
    let (json, _) = budget(&[&all[..], &["--json"]].concat(), 0);
    let told: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(told["parts"][0]["run"], "ring-002");

    adopted(here);
    wrong(here);
}

/// Every combined choice adds up to its totals, and every answer is one of them.
fn told_adds_up(told: &Value) {
    let number = |value: &Value| value.as_f64().unwrap();
    let rest: f64 = told["items"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|item| item["revision"].is_null())
        .map(|item| number(&item["totals"]["mass"]))
        .sum();
    let answers = told["fronts"]["answers"].as_array().unwrap();
    assert_eq!(answers.len(), 2);
    for answer in answers {
        let Some(offer) = answer["offer"].as_object() else {
            continue;
        };
        let takes = offer["takes"].as_array().unwrap();
        let mass: f64 = takes
            .iter()
            .map(|take| number(&take["totals"]["mass"]))
            .sum();
        assert!((mass + rest - number(&offer["totals"]["mass"])).abs() < 1e-9);
        let combined = told["fronts"]["combined"].as_array().unwrap();
        assert!(combined.iter().any(|each| {
            (number(&each["totals"]["mass"]) - number(&offer["totals"]["mass"])).abs() < 1e-9
        }));
    }
}

/// Revisions of a ledger, and a baseline that moved.
fn adopted(here: &Path) {
    check(
        here,
        &[
            "adopt",
            "results/ring-001",
            "--pick",
            "0",
            "--reason",
            "as cut",
        ],
        0,
    );
    let text = BUDGET.replacen("\"baseline\"", "\"A\"", 1);
    fs::write(here.join("a.toml"), &text).unwrap();
    let (out, _) = check(here, &["budget", "a.toml", "--results", "results"], 0);
    assert!(out.contains("ring, A"), "{out}");
    fs::write(here.join("a.toml"), text.replace("\"A\"", "\"B\"")).unwrap();
    let (_, err) = check(here, &["budget", "a.toml"], 2);
    assert!(
        err.contains("ring has no revision B")
            && err.contains("a.toml:10:")
            && err.contains("write one of: A"),
        "{err}"
    );
    fs::write(
        here.join("a.toml"),
        BUDGET.replace(
            "\"arm.toml\"\nrevision = \"baseline\"",
            "\"arm.toml\"\nrevision = \"A\"",
        ),
    )
    .unwrap();
    let (_, err) = check(here, &["budget", "a.toml"], 2);
    assert!(err.contains("there is no ledger"), "{err}");
}

/// Everything that can be wrong beyond the budget's own text.
fn wrong(here: &Path) {
    let told = |text: &str, more: &[&str]| {
        fs::write(here.join("w.toml"), text).unwrap();
        check(here, &[&["budget", "w.toml"], more].concat(), 2).1
    };
    let err = told(&BUDGET.replace("ring.toml", "rong.toml"), &[]);
    assert!(
        err.contains("error[budget/no-study]") && err.contains("w.toml:9:"),
        "{err}"
    );
    let with_run = |run: &str| {
        BUDGET.replacen(
            "revision = \"baseline\"",
            &format!("revision = \"baseline\"\nrun = {run:?}"),
            1,
        )
    };
    let err = told(&with_run("results/ring-009"), &[]);
    assert!(
        err.contains("error[budget/no-run]") && err.contains("w.toml:11:"),
        "{err}"
    );
    let err = told(&with_run("results/arm-001"), &[]);
    assert!(
        err.contains("error[budget/other-run]") && err.contains("a run of arm, not of ring"),
        "{err}"
    );
    let err = told(
        &BUDGET.replace("keep = []", "keep = [\"sway >= 3 mm\"]"),
        &["--results", "results"],
    );
    assert!(err.contains("error[budget/keep]"), "{err}");
    let err = told(&BUDGET.replace("keep = []", "mass_from = \"cost\""), &[]);
    assert!(
        err.contains("error[budget/no-figure]") && err.contains("`cost` is no mass"),
        "{err}"
    );
    let err = told(BUDGET, &["--run", "results"]);
    assert!(err.contains("as a run"), "{err}");
    let err = told(
        BUDGET,
        &["--run", "results/ring-001", "--run", "results/ring-001"],
    );
    assert!(err.contains("both runs of ring"), "{err}");
    for (call, words) in [
        (["--at-most", "weight=3 g"], "nothing that a budget adds up"),
        (["--at-most", "mass=3 mm"], "is a length, mass is a mass"),
        (["--at-most", "mass=heavy"], "is no limit"),
        (["--at-most", "cost=3 USD"], "counts in EUR"),
        (["--least", "beauty"], "nothing that a budget adds up"),
        (["--against", "mass"], "not paid in grams"),
        (["--results", "nowhere"], "nowhere"),
    ] {
        let err = told(BUDGET, &call);
        assert!(err.contains(words), "{call:?}: {err}");
    }
    let err = check(here, &["budget", "nothing.toml"], 2).1;
    assert!(err.contains("there is no budget nothing.toml"), "{err}");
    let err = check(here, &["budget", "results"], 2).1;
    assert!(err.contains("is a folder"), "{err}");

    // A study that changed since its run: what changed is said; constraints that changed are told beside the budget.
    let study = fs::read_to_string(here.join("ring.toml")).unwrap();
    fs::write(
        here.join("ring.toml"),
        study.replace("radius = \"40 mm\"", "radius = \"41 mm\""),
    )
    .unwrap();
    let err = told(BUDGET, &["--results", "results"]);
    assert!(
        err.contains("error[budget/study-changed]") && err.contains("part.path.radius"),
        "{err}"
    );
    let all_the_same = [
        "budget",
        "b.toml",
        "--results",
        "results",
        "--despite-changes",
    ];
    let (out, _) = check(here, &all_the_same, 0);
    assert!(out.contains("has changed since ring-002"), "{out}");
    fs::write(
        here.join("ring.toml"),
        study.replace("squeeze.stiffness >= 1500", "squeeze.stiffness >= 1600"),
    )
    .unwrap();
    let (out, _) = check(here, &["budget", "b.toml", "--results", "results"], 0);
    assert!(out.contains("squeeze_stiffness"), "{out}");
    // A baseline that moved is evaluated.
    fs::write(
        here.join("ring.toml"),
        study.replace("floor = \"1.8 mm\"", "floor = \"2 mm\""),
    )
    .unwrap();
    let (out, _) = check(here, &["budget", "b.toml", "--results", "results"], 0);
    assert!(out.contains("the baseline changed since the run"), "{out}");
    fs::write(here.join("ring.toml"), "format = ").unwrap();
    check(here, &["budget", "b.toml"], 2);
}
