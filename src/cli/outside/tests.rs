//! Programs that answer well, badly, late or never.

use super::*;
use crate::evaluate::{OutsideMeasure, Quantity};
use crate::units::Unit;

/// Answers every line with twice `x`, minding `id`, as a shell and awk do it. (Some awks read a pipe in blocks, so each
/// line has one of its own.)
const DOUBLES: &str = r#"while IFS= read -r line; do printf '%s\n' "$line" | awk '{
  id = match($0, /"id":[0-9]+/) ? substr($0, RSTART, RLENGTH) "," : ""
  match($0, /"x":[^,}]+/); x = substr($0, RSTART + 4, RLENGTH - 4)
  printf "{%s\"measures\":{\"y\":%.17g}}\n", id, 2 * x }'; done"#;

fn program(script: &str, lines: bool, limit_s: f64, retries: u64) -> (Program, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("model.sh"), script).unwrap();
    let asking = Asking {
        command: vec!["sh".into(), "model.sh".into()],
        lines,
        time_limit_s: limit_s,
        retries,
        measures: vec![OutsideMeasure {
            name: "y".into(),
            unit: Unit::NUMBER,
        }],
    };
    (Program::new(&asking, folder.path()), folder)
}

fn ask(program: &Program, x: f64) -> OutsideAnswer {
    program.answer(&Question {
        variables: vec![Quantity {
            name: "x",
            unit: Unit::NUMBER,
            value: x,
        }],
        ..Question::default()
    })
}

/// What is said of a script that answers no question.
fn why(script: &str, lines: bool) -> String {
    let (program, _folder) = program(script, lines, 10.0, 0);
    ask(&program, 1.0).unwrap_err()
}

#[test]
fn a_program_answers_in_its_folder_once_or_line_by_line() {
    for lines in [false, true] {
        let (program, _folder) = program(DOUBLES, lines, 10.0, 0);
        for x in [1.5, 0.1 + 0.2, -3.0] {
            assert_eq!(ask(&program, x), Ok(vec![2.0 * x]), "lines: {lines}");
        }
        assert_eq!(program.idle().len(), usize::from(lines));
    }
}

#[test]
fn many_threads_have_a_program_each() {
    let (program, _folder) = program(DOUBLES, true, 10.0, 0);
    std::thread::scope(|scope| {
        for thread in 0..4 {
            let program = &program;
            scope.spawn(move || {
                for step in 0..50 {
                    let x = f64::from(100 * thread + step);
                    assert_eq!(ask(program, x), Ok(vec![2.0 * x]));
                }
            });
        }
    });
    assert!((1..=4).contains(&program.idle().len()));
}

#[test]
fn bad_programs_are_told_apart() {
    for (script, words) in [
        ("exit 3", "it ended with status 3"),
        (
            "echo first >&2; echo 'no such mesh' >&2; exit 1",
            "it ended with status 1: no such mesh",
        ),
        ("kill -9 $$", "signal 9 ended it"),
        ("cat >/dev/null", "it gives no output"),
        ("echo 'Loading the model'", "`Loading the model`"),
        ("echo '{\"measures\":{\"y\":NaN}}'", "JSON has no `NaN`"),
        ("echo '{\"measures\":{}}'", "it gives no `y`"),
        ("echo '{\"failed\":\"it buckles\"}'", "it says: it buckles"),
    ] {
        let why = why(script, false);
        assert!(why.contains(words), "{script}: {why}");
    }
}

#[test]
fn bad_programs_that_stay_are_told_apart() {
    for (script, words) in [
        ("exit 0", "it ended in place of answering"),
        (
            "read line; echo lost >&2; exit 4",
            "it ended with status 4: lost",
        ),
        ("read line; echo hello; cat", "`hello`"),
        (
            "read line; echo '{\"measures\":{\"y\":1}}'; cat",
            "lacks the `id`",
        ),
        (
            "read line; echo '{\"id\":99,\"measures\":{\"y\":1}}'; cat",
            "another question",
        ),
    ] {
        let why = why(script, true);
        assert!(why.contains(words), "{script}: {why}");
    }
}

#[test]
fn a_program_that_is_not_there_is_named() {
    let (mut program, _folder) = program("", false, 10.0, 0);
    program.command = vec!["./no-such-program".into()];
    let why = ask(&program, 1.0).unwrap_err();
    assert!(
        why.contains("`./no-such-program` could not be started"),
        "{why}"
    );
}

/// A hanging program is ended with what it started: the process that would leave a mark after three seconds does not live.
#[test]
fn a_program_that_hangs_is_ended_with_its_children() {
    for lines in [false, true] {
        let (program, folder) = program("(sleep 3; touch mark) & sleep 60", lines, 0.2, 0);
        let begun = Instant::now();
        assert_eq!(ask(&program, 1.0), Err("it took longer than 0.2 s".into()));
        assert!(
            begun.elapsed() < Duration::from_secs(20),
            "it waits for no end"
        );
        std::thread::sleep(Duration::from_millis(3500));
        assert!(!folder.path().join("mark").exists(), "a child lives on");
    }
}

/// A child left behind holds the output open; the answer counts all the same, and the child is ended.
#[test]
fn a_child_left_behind_delays_no_answer() {
    let script = "(sleep 4; touch mark) & echo '{\"measures\":{\"y\":4}}'";
    let (program, folder) = program(script, false, 60.0, 0);
    let begun = Instant::now();
    assert_eq!(ask(&program, 1.0), Ok(vec![4.0]));
    assert!(
        begun.elapsed() < Duration::from_secs(4),
        "{:?}",
        begun.elapsed()
    );
    std::thread::sleep(Duration::from_millis(4500));
    assert!(!folder.path().join("mark").exists());
}

/// Nor does one that has left the group, which nothing can reach.
#[test]
fn a_child_that_has_left_delays_no_answer() {
    let script = "setsid sleep 8 & echo '{\"measures\":{\"y\":4}}'";
    let (program, _folder) = program(script, false, 60.0, 0);
    let begun = Instant::now();
    assert_eq!(ask(&program, 1.0), Ok(vec![4.0]));
    assert!(
        begun.elapsed() < Duration::from_secs(7),
        "{:?}",
        begun.elapsed()
    );
}

#[test]
fn floods_are_cut_off() {
    let much = format!("it answers with more than {} MiB", MOST_OUTPUT >> 20);
    assert_eq!(why("yes", false), much);
    assert_eq!(why("tr '\\0' x < /dev/zero", false), much);
    assert_eq!(why("read line; tr '\\0' x < /dev/zero", true), much);
    // Complaints may be of any length: only their end is kept.
    let noisy = "yes 'a warning' | head -n 300000 >&2; echo '{\"measures\":{\"y\":4}}'";
    let (program, _folder) = program(noisy, false, 60.0, 0);
    assert_eq!(ask(&program, 1.0), Ok(vec![4.0]));
}

/// The third attempt succeeds; with fewer, the last reason stands. A program's own word is not doubted.
#[test]
fn attempts_are_counted() {
    let script = "n=$(cat count 2>/dev/null || echo 0); n=$((n + 1)); echo $n > count
        [ $n -ge 3 ] && echo '{\"measures\":{\"y\":4}}' || exit 7";
    let (patient, _folder) = program(script, false, 10.0, 2);
    assert_eq!(ask(&patient, 1.0), Ok(vec![4.0]));
    let (hasty, _folder) = program(script, false, 10.0, 1);
    assert_eq!(
        ask(&hasty, 1.0),
        Err("it ended with status 7 (attempt 2 of 2)".into())
    );
    let says = "echo x >> count; echo '{\"failed\":\"no\"}'";
    let (sure, folder) = program(says, false, 10.0, 5);
    assert_eq!(ask(&sure, 1.0), Err("it says: no".into()));
    assert_eq!(
        std::fs::read_to_string(folder.path().join("count")).unwrap(),
        "x\n"
    );
}

/// One that spoils an answer is replaced, and the next question gets a sound one.
#[test]
fn a_spoilt_program_is_replaced() {
    let script =
        format!("[ -e done ] || {{ touch done; read line; echo spoilt; cat; exit; }}\n{DOUBLES}");
    let (program, _folder) = program(&script, true, 10.0, 1);
    assert_eq!(ask(&program, 2.0), Ok(vec![4.0]));
    assert_eq!(ask(&program, 3.0), Ok(vec![6.0]));
}

/// Output that nobody asked for is never taken for the answer to a later question.
#[test]
fn an_answer_too_many_is_never_taken_for_the_next() {
    let twice = DOUBLES.replace("; done", "; echo '{\"id\":0}'; done");
    let (program, _folder) = program(&twice, true, 10.0, 3);
    for x in [1.0, 2.0, 3.0] {
        assert_eq!(ask(&program, x), Ok(vec![2.0 * x]));
    }
}

/// The command is no shell text: what a shell would expand stays as it is.
#[test]
fn no_shell_reads_the_command() {
    let (mut program, _folder) = program("echo \"$1\" >&2; exit 1", false, 10.0, 0);
    program.command.push("$HOME; touch mark *".into());
    let why = ask(&program, 1.0).unwrap_err();
    assert_eq!(why, "it ended with status 1: $HOME; touch mark *");
}
