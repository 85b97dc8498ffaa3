//! The built program: exit codes, streams, files.

use std::path::Path;
use std::process::{Command, Output, Stdio};

fn fretwork(arguments: &[&str], folder: &Path) -> Output {
    Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

/// Runs the program in an empty folder and checks its exit code; returns stdout and stderr.
fn check(arguments: &[&str], code: i32) -> (String, String) {
    let folder = tempfile::tempdir().unwrap();
    let output = fretwork(arguments, folder.path());
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    assert_eq!(
        output.status.code(),
        Some(code),
        "{arguments:?}\n{out}\n{err}"
    );
    assert!(!err.contains("panicked"), "{err}");
    (out, err)
}

const COMMANDS: [&str; 18] = [
    "new",
    "check",
    "try",
    "screen",
    "run",
    "scatter",
    "why",
    "wish",
    "gather",
    "rerun",
    "compare",
    "tooling",
    "prove",
    "review",
    "adopt",
    "history",
    "list",
    "completions",
];

#[test]
fn help_has_examples_and_fits_80_columns() {
    let (out, err) = check(&["--help"], 0);
    assert!(err.is_empty());
    for command in COMMANDS {
        assert!(
            out.contains(&format!("\n  {command} ")),
            "{command} is not in\n{out}"
        );
        let (help, _) = check(&[command, "--help"], 0);
        assert!(help.contains("Examples:\n  fretwork "), "{help}");
        for line in help.lines() {
            assert!(line.chars().count() <= 80, "{line}");
            assert!(!line.contains('\u{1b}'), "colour in a pipe: {line:?}");
        }
    }
    assert!(
        out.contains("Exit codes: 0 done; 2 a mistake in the call or the study; 1 anything else.")
    );
}

#[test]
fn the_version_is_the_crate_s() {
    let (out, _) = check(&["--version"], 0);
    assert_eq!(
        out.trim(),
        format!("fretwork {}", env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn a_mistake_in_the_call_is_2_and_says_so_on_stderr() {
    for arguments in [
        &[][..],
        &["explore"],
        &["run"],
        &["list"],
        &["list", "spanners"],
        &["try", "ring.toml", "--set", "hole"],
        &["try", "ring.toml", "--set", "=3"],
        &["run", "ring.toml", "--threads", "0"],
        &["run", "ring.toml", "--threads", "two"],
        &["run", "ring.toml", "--evaluations", "0"],
        &["run", "ring.toml", "--evaluations", "1e12"],
        &["run", "ring.toml", "--seed", "-1"],
        &["rerun"],
        &["rerun", "results/ring-001", "--material"],
        &["compare", "results/ring-001"],
        &["completions", "abacus"],
    ] {
        let (out, err) = check(arguments, 2);
        assert!(out.is_empty() && !err.is_empty(), "{arguments:?}");
    }
}

#[test]
fn a_misspelt_command_gets_the_nearest() {
    let (_, err) = check(&["chek"], 2);
    assert!(err.contains("check"), "{err}");
}

#[test]
fn a_study_that_is_not_there_is_a_mistake_in_the_call() {
    for command in ["check", "try", "run"] {
        let (out, err) = check(&[command, "no-such.toml"], 2);
        assert!(out.is_empty());
        assert!(
            err.contains("error: there is no study no-such.toml") && err.contains("mend: "),
            "{err}"
        );
        let (_, err) = check(&[command, "."], 2);
        assert!(err.contains("is a folder"), "{err}");
    }
    let (_, err) = check(&["list", "drills", "--file", "own.toml"], 2);
    assert!(err.contains("own.toml"), "{err}");
}

#[test]
fn a_folder_that_is_no_run_is_named() {
    let (_, err) = check(&["review", "results/yaw-ring-001"], 2);
    assert!(
        err.contains("results/yaw-ring-001") && err.contains("manifest.json"),
        "{err}"
    );
    for arguments in [
        &["rerun", "results/yaw-ring-001"][..],
        &["compare", "results/yaw-ring-001", "results/yaw-ring-002"],
    ] {
        let (out, err) = check(arguments, 2);
        assert!(
            out.is_empty() && err.contains("results/yaw-ring-001"),
            "{err}"
        );
    }
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("manifest.json"), "{\"format\": 99}").unwrap();
    let output = fretwork(&["review", "."], folder.path());
    assert_eq!(output.status.code(), Some(2));
    assert!(
        text(&output.stderr).contains("format 99"),
        "{}",
        text(&output.stderr)
    );
}

#[test]
fn completions_are_scripts() {
    for (shell, words) in [
        ("bash", "complete -F"),
        ("zsh", "#compdef fretwork"),
        ("fish", "complete -c fretwork"),
    ] {
        let (out, err) = check(&["completions", shell], 0);
        assert!(out.contains(words) && err.is_empty(), "{shell}");
        assert!(out.contains("evaluations"), "{shell} knows the options");
    }
}

#[test]
fn a_closed_pipe_is_no_error() {
    for arguments in [&["completions", "zsh"][..], &["--help"]] {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(
            (output.status.code(), text(&output.stderr)),
            (Some(0), String::new()),
            "{arguments:?}"
        );
    }
}

#[test]
fn new_writes_a_study_and_never_replaces_one() {
    let folder = tempfile::tempdir().unwrap();
    let output = fretwork(&["new", "ring.toml"], folder.path());
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let file = folder.path().join("ring.toml");
    assert_eq!(
        std::fs::read_to_string(&file).unwrap(),
        fretwork::study::starter()
    );
    std::fs::write(&file, "mine").unwrap();
    let output = fretwork(&["new", "ring.toml"], folder.path());
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("is there already"));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn catalogues_are_listed_with_one_s_own_entries() {
    for what in ["materials", "drills", "end-mills", "machines"] {
        let (out, err) = check(&["list", what], 0);
        assert!(err.is_empty() && !out.contains('\u{1b}'));
        assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
        let (out, _) = check(&["list", what, "--json"], 0);
        let list: serde_json::Value = serde_json::from_str(&out).unwrap();
        assert!(
            list.as_array()
                .is_some_and(|list| list.len() > 1 && list[0]["id"].is_string()),
            "{out}"
        );
    }
    let folder = tempfile::tempdir().unwrap();
    let own = "[[end_mill]]\nid = \"2.2 mm\"\ndiameter_mm = 2.2\nflutes = 2\nflute_length_mm = 9\n";
    std::fs::write(folder.path().join("own.toml"), own).unwrap();
    let output = fretwork(&["list", "end-mills", "--file", "own.toml"], folder.path());
    assert!(
        text(&output.stdout).contains("2.2 mm"),
        "{}",
        text(&output.stderr)
    );
    std::fs::write(
        folder.path().join("own.toml"),
        own.replace("flutes", "fluts"),
    )
    .unwrap();
    let output = fretwork(&["list", "end-mills", "--file", "own.toml"], folder.path());
    assert_eq!(output.status.code(), Some(2));
    assert!(
        text(&output.stderr).contains("own.toml:"),
        "{}",
        text(&output.stderr)
    );
}
