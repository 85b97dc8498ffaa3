//! The built program from a study to a run folder and back: files, streams, exit codes.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

fn program() -> Command {
    Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

/// Runs the program in a folder and checks its exit code.
fn check(folder: &Path, arguments: &[&str], code: i32) -> Output {
    let output = program()
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts");
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    assert_eq!(
        output.status.code(),
        Some(code),
        "{arguments:?}\n{out}\n{err}"
    );
    assert!(!err.contains("panicked"), "{err}");
    output
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("one JSON value on stdout")
}

/// A folder with the starter study in it.
fn workshop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    check(folder.path(), &["new", "ring.toml"], 0);
    folder
}

/// Contents of the files that must not depend on threads and stops.
fn lasting(run: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let parts = fs::read_dir(run.join("designs"))
        .unwrap()
        .map(|entry| entry.unwrap().path());
    parts
        .chain([run.join("front.csv")])
        .map(|path| {
            let name = path.strip_prefix(run).unwrap().to_path_buf();
            (name, fs::read(path).unwrap())
        })
        .collect()
}

#[test]
fn check_says_what_a_study_means() {
    let folder = workshop();
    let output = check(folder.path(), &["check", "ring.toml"], 0);
    assert!(output.stderr.is_empty());
    let out = text(&output.stdout);
    for words in [
        "PART",
        "VARIABLES",
        "LOAD CASES",
        "OBJECTIVES",
        "degrees of freedom",
        "about",
    ] {
        assert!(out.contains(words), "{words} is not in\n{out}");
    }
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    let object = json(&check(folder.path(), &["check", "ring.toml", "--json"], 0));
    assert_eq!(object["ok"], true);
}

#[test]
fn mistakes_in_a_study_are_2_and_all_told() {
    let folder = workshop();
    let study = fs::read_to_string(folder.path().join("ring.toml")).unwrap();
    let study = study
        .replace("material = ", "materail = ")
        .replace("seed = 1", "seed = -1");
    fs::write(folder.path().join("wrong.toml"), study).unwrap();
    for command in ["check", "try", "run"] {
        let output = check(folder.path(), &[command, "wrong.toml"], 2);
        let err = text(&output.stderr);
        assert!(output.stdout.is_empty());
        assert!(
            err.contains("wrong.toml:") && err.contains("materail") && err.contains("seed"),
            "{err}"
        );
        assert!(!err.contains('\u{1b}'), "colour in a pipe");
    }
    assert!(!folder.path().join("results").exists(), "nothing was begun");
    let object = json(&check(folder.path(), &["check", "wrong.toml", "--json"], 2));
    assert_eq!(object["ok"], false);
    let problems = object["problems"].as_array().unwrap();
    assert!(
        problems.len() >= 2
            && problems
                .iter()
                .all(|problem| problem["line"].as_u64() > Some(0)),
        "{object}"
    );
}

#[test]
fn try_prints_a_sheet_or_one_object() {
    let folder = workshop();
    let output = check(
        folder.path(),
        &["try", "ring.toml", "--set", "hole=2.5 mm"],
        0,
    );
    let out = text(&output.stdout);
    for words in [
        "this design",
        "baseline",
        "CONSTRAINTS",
        "SECTIONS",
        "LOAD CASES",
        "OPERATIONS",
        "MASS",
        "CAUTIONS",
    ] {
        assert!(out.contains(words), "{words} is not in\n{out}");
    }
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");

    let object = json(&check(
        folder.path(),
        &["try", "ring.toml", "--set", "hole=2.5 mm", "--json"],
        0,
    ));
    assert_eq!(object["design"]["hole"]["value"], 2.5);
    assert_eq!(object["design"]["hole"]["unit"], "mm");
    assert!(object["measures"]["mass"]["value"].as_f64() > Some(0.0));
    assert!(object["constraints"]["web"]["met"].is_boolean());
    assert!(object["constraints"]["web"]["limit"].is_number());
    assert!(!object["operations"].as_array().unwrap().is_empty());
    assert!(!object["loads"].as_array().unwrap().is_empty());
}

#[test]
fn try_refuses_what_a_variable_can_t_be() {
    let folder = workshop();
    for set in [
        "hoel=3 mm",
        "hole=3 N",
        "hole=three",
        "hole=3",
        "hole=1e999 mm",
        "wall=-1 mm",
    ] {
        let output = check(folder.path(), &["try", "ring.toml", "--set", set], 2);
        assert!(
            output.stdout.is_empty() && !output.stderr.is_empty(),
            "{set}"
        );
    }
}

#[test]
fn a_run_is_a_folder_and_one_object_on_any_number_of_threads() {
    let folder = workshop();
    let run = |threads: &str| {
        let arguments = [
            "run",
            "ring.toml",
            "--evaluations",
            "600",
            "--seed",
            "5",
            "--threads",
            threads,
            "--json",
        ];
        let output = check(folder.path(), &arguments, 0);
        assert!(
            output.stderr.is_empty(),
            "quiet in a pipe: {}",
            text(&output.stderr)
        );
        json(&output)
    };
    let object = run("1");
    assert_eq!(object["run"], "results/ring-001");
    assert_eq!(object["designs"], 600);
    assert!(object["feasible"].as_u64() >= object["front"].as_u64());
    assert!(object["hypervolume"].as_f64() > Some(0.0) && object["seconds"].as_f64() > Some(0.0));
    let first = folder.path().join("results/ring-001");
    for file in [
        "study.toml",
        "catalogue.toml",
        "manifest.json",
        "front.csv",
        "review.html",
    ] {
        assert!(first.join(file).is_file(), "{file}");
    }
    assert!(fs::read_dir(first.join("plots")).unwrap().count() > 0);
    let study = fs::read_to_string(folder.path().join("ring.toml")).unwrap();
    assert_eq!(fs::read_to_string(first.join("study.toml")).unwrap(), study);

    let again = run("3");
    assert_eq!(again["run"], "results/ring-002");
    assert_eq!(
        lasting(&first),
        lasting(&folder.path().join("results/ring-002"))
    );
}

#[test]
fn results_that_can_t_be_written_are_1() {
    let folder = workshop();
    fs::write(folder.path().join("taken"), "mine").unwrap();
    let output = check(
        folder.path(),
        &[
            "run",
            "ring.toml",
            "--evaluations",
            "10",
            "--results",
            "taken",
        ],
        1,
    );
    let err = text(&output.stderr);
    assert!(err.contains("taken") && err.contains("mend: "), "{err}");
    assert_eq!(
        fs::read_to_string(folder.path().join("taken")).unwrap(),
        "mine"
    );
}

#[test]
fn review_makes_the_page_anew_and_replaces_nothing_else() {
    let folder = workshop();
    check(
        folder.path(),
        &["run", "ring.toml", "--evaluations", "300"],
        0,
    );
    let page = folder.path().join("results/ring-001/review.html");
    let first = fs::read(&page).unwrap();
    fs::remove_file(&page).unwrap();
    check(folder.path(), &["review", "results/ring-001"], 0);
    assert!(
        fs::read(&page).unwrap() == first,
        "the same page as after the run"
    );

    check(
        folder.path(),
        &["review", "results/ring-001", "--out", "page.html"],
        0,
    );
    assert!(fs::read(folder.path().join("page.html")).unwrap() == first);
    fs::write(folder.path().join("page.html"), "mine").unwrap();
    check(
        folder.path(),
        &["review", "results/ring-001", "--out", "page.html"],
        2,
    );
    assert_eq!(
        fs::read_to_string(folder.path().join("page.html")).unwrap(),
        "mine"
    );

    let part = folder
        .path()
        .join("results/ring-001/designs/part-00000.parquet");
    let bytes = fs::read(&part).unwrap();
    fs::write(&part, &bytes[..bytes.len() / 2]).unwrap();
    let output = check(folder.path(), &["review", "results/ring-001"], 2);
    assert!(text(&output.stderr).contains("part-00000.parquet"));
}

/// An interrupt ends the run at a block with exit code 1; the same call goes on, to the same files.
#[cfg(unix)]
#[test]
fn an_interrupted_run_goes_on_to_the_same_files() {
    // Solids before and after the search are of the run too; two proofs are enough to see that.
    let quick = || {
        let folder = workshop();
        let study = folder.path().join("ring.toml");
        let text = fs::read_to_string(&study).unwrap();
        assert!(text.contains("proofs = 24"));
        fs::write(&study, text.replace("proofs = 24", "proofs = 2")).unwrap();
        folder
    };
    let whole = quick();
    let arguments = ["run", "ring.toml", "--evaluations", "20000", "--json"];
    check(whole.path(), &arguments, 0);
    let folder = quick();
    let run = folder.path().join("results/ring-001");
    let child = program()
        .args(arguments)
        .current_dir(folder.path())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    while !run.join("designs/part-00000.parquet").exists() {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    let kill = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(kill.success());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", text(&output.stderr));
    assert!(
        text(&output.stderr).contains("the same call goes on"),
        "{}",
        text(&output.stderr)
    );
    let stopped = json(&output);
    assert_eq!(stopped["complete"], false);
    assert!(stopped["designs"].as_u64() < Some(20_000));
    assert!(run.join("review.html").is_file(), "the folder can be used");

    let output = check(folder.path(), &arguments, 0);
    assert!(
        text(&output.stderr).contains("going on with results/ring-001"),
        "{}",
        text(&output.stderr)
    );
    assert_eq!(json(&output)["run"], "results/ring-001");
    assert!(
        lasting(&run) == lasting(&whole.path().join("results/ring-001")),
        "the same bytes"
    );
}
