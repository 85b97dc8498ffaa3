//! Studies whose measures come from a program of the user's: with a part and without, run through and through, with
//! programs that fail.

#![cfg(unix)]

mod studies_support;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use fretwork::cli::outside::Program;
use fretwork::evaluate::{Outside, Question};
use fretwork::explore::hypervolume;
use fretwork::run::{Batch, Failed, Finished, Known, Next, Overrides, Prepared, explore, learn};
use fretwork::store::{self, Folder};
use serde_json::Value;
use studies_support::of_text;

/// Binh and Korn, MOBES: a multiobjective evolution strategy for constrained optimization problems, 1997: two
/// variables, two objectives, two constraints, as a study without a part.
const BNH: &str = r#"
format = 1
title = "Binh and Korn"

[evaluator]
command = ["awk", "-f", "bnh.awk"]
measures = { f1 = "1", f2 = "1", g1 = "1", g2 = "1" }
time_limit = "20 s"
retries = 0

[variables.x1]
from = 0
to = 5

[variables.x2]
from = 0
to = 3

[baseline]
x1 = 1
x2 = 1

[constraints]
inside = "g1 <= 25"
outside = "g2 >= 7.7"

[[objective]]
least = "f1"

[[objective]]
least = "f2"

[explore]
evaluations = 400
"#;

/// The same problem as a program.
const BNH_AWK: &str = r#"
function given(name) {
    match($0, "\"" name "\":[-+.0-9eE]+")
    return substr($0, RSTART + length(name) + 3, RLENGTH - length(name) - 3) + 0
}
{
    x = given("x1"); y = given("x2")
    printf "{\"measures\":{\"f1\":%.17g,", 4 * (x * x) + 4 * (y * y)
    printf "\"f2\":%.17g,", (x - 5) * (x - 5) + (y - 5) * (y - 5)
    printf "\"g1\":%.17g,", (x - 5) * (x - 5) + y * y
    printf "\"g2\":%.17g}}\n", (x - 8) * (x - 8) + (y + 3) * (y + 3)
}"#;

fn bnh(x: f64, y: f64) -> Vec<f64> {
    vec![
        4.0 * (x * x) + 4.0 * (y * y),
        (x - 5.0) * (x - 5.0) + (y - 5.0) * (y - 5.0),
        (x - 5.0) * (x - 5.0) + y * y,
        (x - 8.0) * (x - 8.0) + (y + 3.0) * (y + 3.0),
    ]
}

fn given(question: &Question, name: &str) -> f64 {
    let mut all = question.variables.iter();
    all.find(|each| each.name == name)
        .expect("a variable")
        .value
}

fn study(text: &str) -> Prepared {
    of_text("bnh", text.into(), Overrides::default())
}

fn asking(prepared: &Prepared, outside: impl Outside + 'static) -> Prepared {
    Prepared {
        evaluator: prepared.evaluator.asking(Arc::new(outside)),
        ..prepared.clone()
    }
}

/// The study with its program in a folder.
fn asking_program(prepared: &Prepared, folder: &Path) -> Prepared {
    let program = Program::new(prepared.study.asking.as_ref().expect("asks"), folder);
    asking(prepared, program)
}

fn search(prepared: &Prepared, known: &Known, threads: usize) -> Finished {
    searched(prepared, known, threads, &mut |_| Next::Continue)
}

fn searched(
    prepared: &Prepared,
    known: &Known,
    threads: usize,
    observer: &mut (dyn FnMut(&Batch) -> Next + Send),
) -> Finished {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    pool.expect("threads").install(|| {
        let learnt = learn(prepared, &[], &mut |_| Next::Continue).expect("nothing to learn");
        explore(prepared, &learnt, &|range| known.of(range), observer).expect("a space")
    })
}

fn bits(finished: &Finished) -> Vec<u64> {
    let designs = &finished.designs;
    let values = designs.values.iter().chain(&designs.violation);
    let front = finished.front.iter().map(|&design| design as u64);
    values.map(|value| value.to_bits()).chain(front).collect()
}

/// Every bit of every design is the same, whether a program answers or a function of ours, on any number of threads.
/// And the front is that of the problem: its ideal and nadir points and the share of the box that it dominates are
/// those of `tests/data/optimiser/reference_fronts.csv`.
#[test]
fn a_published_problem_by_a_program_is_the_problem_by_a_function() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("bnh.awk"), BNH_AWK).unwrap();
    let plain = study(BNH);
    let function = asking(&plain, |question: &Question| {
        Ok(bnh(given(question, "x1"), given(question, "x2")))
    });
    let ours = search(&function, &Known::default(), 1);
    let program = asking_program(&plain, folder.path());
    let theirs = search(&program, &Known::default(), 3);
    assert_eq!(ours.designs.len(), 400);
    assert!(bits(&ours) == bits(&theirs));
    assert!(ours.failures.is_empty() && theirs.failures.is_empty());

    let goal = |design: usize, at: usize| {
        let (low, high) = [(0.0, 136.0), (4.0, 50.0)][at];
        (ours.designs.row(design)[ours.goals[at].column] - low) / (high - low)
    };
    let points: Vec<f64> = ours
        .front
        .iter()
        .flat_map(|&design| [goal(design, 0), goal(design, 1)])
        .collect();
    assert!(
        points
            .iter()
            .all(|share| (-1e-9..=1.0 + 1e-9).contains(share))
    );
    let share = hypervolume(&points, &[1.1, 1.1]) / 1.025_426_97;
    assert!((0.97..=1.0).contains(&share), "{share}");
}

/// A program that stays, asked a question a line, gives the same designs as one started for each.
#[test]
fn a_program_that_stays_gives_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let awk = BNH_AWK
        .replace(
            "printf \"{\\\"measures\\\"",
            "printf \"{\\\"id\\\":%d,\\\"measures\\\"",
        )
        .replacen(", 4 * (x", ", given(\"id\"), 4 * (x", 1);
    fs::write(folder.path().join("bnh.awk"), awk).unwrap();
    // One awk a line: some read a pipe in blocks.
    let text = BNH
        .replace(
            r#"["awk", "-f", "bnh.awk"]"#,
            r#"["sh", "-c", "while read -r line; do echo \"$line\" | awk -f bnh.awk; done"]"#,
        )
        .replace("retries = 0", "lines = true")
        .replace("evaluations = 400", "evaluations = 120");
    let plain = study(&text);
    let function = asking(&plain, |question: &Question| {
        Ok(bnh(given(question, "x1"), given(question, "x2")))
    });
    let program = asking_program(&plain, folder.path());
    let theirs = search(&program, &Known::default(), 2);
    assert!(theirs.failures.is_empty(), "{:?}", theirs.failures);
    assert!(bits(&search(&function, &Known::default(), 1)) == bits(&theirs));
}

/// Fails where `x1` passes 4, and dies where `x2` falls below a half.
const FAILS: &str = r#"
read -r question
x=$(printf '%s' "$question" | sed 's/.*"x1":\([-+.0-9eE]*\).*/\1/')
y=$(printf '%s' "$question" | sed 's/.*"x2":\([-+.0-9eE]*\).*/\1/')
awk "BEGIN { exit !($x > 4) }" && { echo '{"failed":"x1 is too much"}'; exit 0; }
awk "BEGIN { exit !($y < 0.5) }" && { echo 'no root' >&2; exit 3; }
printf '%s\n' "$question" | awk -f bnh.awk"#;

fn fails(x: f64, y: f64) -> Option<&'static str> {
    if x > 4.0 {
        Some("it says: x1 is too much")
    } else if y < 0.5 {
        Some("it ended with status 3: no root")
    } else {
        None
    }
}

fn failing() -> Prepared {
    let text = BNH
        .replace(r#"["awk", "-f", "bnh.awk"]"#, r#"["sh", "fails.sh"]"#)
        .replace("evaluations = 400", "evaluations = 150");
    study(&text)
}

/// Each design without an answer has its reason, is infeasible and on no front; the others are as they were.
#[test]
fn designs_without_an_answer_are_told_with_their_reasons() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("bnh.awk"), BNH_AWK).unwrap();
    fs::write(folder.path().join("fails.sh"), FAILS).unwrap();
    let run = search(
        &asking_program(&failing(), folder.path()),
        &Known::default(),
        2,
    );
    let expected: Vec<Failed> = (0..run.designs.len())
        .filter_map(|design| {
            let row = run.designs.row(design);
            let reason = fails(row[0], row[1])?.to_string();
            Some(Failed { design, reason })
        })
        .collect();
    assert_eq!(run.failures, expected);
    let reasons = |word: &str| {
        expected
            .iter()
            .filter(|each| each.reason.contains(word))
            .count()
    };
    assert!(
        reasons("too much") > 3 && reasons("no root") > 3,
        "{expected:?}"
    );
    for failed in &run.failures {
        assert!(
            run.designs.row(failed.design)[2..6]
                .iter()
                .all(|value| value.is_nan())
        );
        assert!(run.designs.violation[failed.design] > 0.0);
        assert!(!run.front.contains(&failed.design));
    }
    assert!(!run.front.is_empty());
    let remark = run
        .remarks
        .iter()
        .find(|remark| remark.contains("no answer"));
    let count = format!("about {} of 150 designs", expected.len());
    assert!(
        remark.is_some_and(|remark| remark.contains(&count)),
        "{:?}",
        run.remarks
    );
}

/// A stopped run keeps its answers and failures in its folder; what goes on is asked about the rest alone, and ends as
/// if it had never stopped.
#[test]
fn what_was_answered_is_not_asked_again() {
    let asked = Arc::new(AtomicUsize::new(0));
    let count = Arc::clone(&asked);
    let answer = move |question: &Question| {
        count.fetch_add(1, Ordering::Relaxed);
        let (x, y) = (given(question, "x1"), given(question, "x2"));
        fails(x, y).map_or_else(|| Ok(bnh(x, y)), |why| Err(why.into()))
    };
    // Each sitting has an evaluator of its own, which knows nothing of the others.
    let sitting = || asking(&failing(), answer.clone());
    let prepared = sitting();
    let whole = search(&prepared, &Known::default(), 2);
    // Refining may come upon one design from two sides.
    let twice = asked.swap(0, Ordering::Relaxed) - whole.designs.len();
    assert!(twice <= 3, "{twice}");

    let results = tempfile::tempdir().unwrap();
    let mut folder = Folder::create(results.path(), &prepared.job).unwrap();
    let stopped = searched(&sitting(), &Known::default(), 2, &mut |batch| {
        folder.add(batch).unwrap();
        Next::Stop
    });
    folder.close(&stopped, &[], "page", false).unwrap();
    let first = asked.swap(0, Ordering::Relaxed);
    assert!(first < whole.designs.len() && !stopped.failures.is_empty());

    let mut resumed = Folder::resume(results.path(), &prepared.job)
        .unwrap()
        .expect("a folder");
    let known = resumed.parts.all();
    assert_eq!(known.failures, stopped.failures);
    let rest = searched(&sitting(), &known, 2, &mut |batch| {
        resumed.folder.add(batch).unwrap();
        Next::Continue
    });
    let again = first + asked.load(Ordering::Relaxed) - whole.designs.len();
    assert!(again <= 3, "{again}");
    assert!(bits(&rest) == bits(&whole));
    assert_eq!(rest.failures, whole.failures);
    let path = resumed.folder.path().to_path_buf();
    resumed.folder.close(&rest, &[], "page", true).unwrap();
    assert_eq!(store::open(&path).unwrap().failures, whole.failures);
}

/// The demo ring with a measure of a program's beside its own.
fn ring() -> Prepared {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("studies/yaw-ring.toml");
    let text = fs::read_to_string(file).unwrap();
    let text = text.replacen(
        "[constraints]",
        "[evaluator]\ncommand = [\"true\"]\nmeasures = { wear = \"um\" }\n\n[constraints]\nlasts = \"wear <= 60 um\"",
        1,
    );
    of_text(
        "ring",
        text,
        Overrides {
            evaluations: Some(300),
            seed: Some(3),
        },
    )
}

/// The frame's measures go into the question, the program's into formulas, with units; only what can be made is asked
/// about, and once.
#[test]
fn a_frame_and_a_program_measure_together() {
    let asked = Arc::new(AtomicUsize::new(0));
    let count = Arc::clone(&asked);
    let prepared = asking(&ring(), move |question: &Question| {
        count.fetch_add(1, Ordering::Relaxed);
        let mass = question.measures.iter().find(|each| each.name == "mass");
        let mass = mass.ok_or("no mass")?;
        assert_eq!(mass.unit.symbol.as_str(), "g");
        Ok(vec![2.5 * mass.value])
    });
    let run = search(&prepared, &Known::default(), 2);
    let column = |name: &str| {
        let mut columns = run.columns.iter();
        columns
            .position(|column| column.name == name)
            .expect("a column")
    };
    let (wear, mass) = (column("wear"), column("mass"));
    assert_eq!(run.columns[wear].unit, "um");
    let mut known = 0;
    for design in 0..run.designs.len() {
        let row = run.designs.row(design);
        if row[wear].is_nan() {
            assert!(run.designs.violation[design] > 0.0);
            continue;
        }
        known += 1;
        assert!((row[wear] - 2.5 * row[mass]).abs() < 1e-9 * row[wear]);
        let broken = run.designs.violation[design] > 0.0;
        assert!(row[wear] <= 60.0 + 1e-9 || broken, "design {design}");
    }
    assert!(known > 50 && known < 300, "{known}");
    assert_eq!(asked.load(Ordering::Relaxed), known);
    assert!(run.failures.is_empty());
    let judged = |design: &fretwork::evaluate::Sheet| {
        let mut all = design.constraints.iter();
        all.find(|each| each.name == "lasts").map(|each| each.value)
    };
    for (design, sheet) in &run.sheets {
        let stored = run.designs.row(*design)[wear];
        assert!(judged(sheet).is_some_and(|value| (value - stored).abs() < 1e-9 * stored));
    }
}

fn fretwork(folder: &Path, arguments: &[&str], code: i32) -> (String, String) {
    let output: Output = Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts");
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("UTF-8");
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    let status = output.status.code();
    assert_eq!(status, Some(code), "{arguments:?}\n{out}\n{err}");
    assert!(!err.contains("panicked"), "{err}");
    (out, err)
}

/// A folder whose subfolder holds a study and its program.
fn workshop(study: &str, files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let sub = folder.path().join("work");
    fs::create_dir(&sub).unwrap();
    fs::write(sub.join("bnh.toml"), study).unwrap();
    for (name, text) in files {
        fs::write(sub.join(name), text).unwrap();
    }
    folder
}

/// From the study to the page by the built program, called from another folder than the study's.
#[test]
fn a_study_without_a_part_goes_all_the_way() {
    let folder = workshop(BNH, &[("bnh.awk", BNH_AWK)]);
    let at = folder.path();
    let (out, _) = fretwork(at, &["check", "work/bnh.toml"], 0);
    for words in [
        "PROGRAM",
        "awk -f bnh.awk",
        "gives f1, f2, g1, g2",
        "least f1",
    ] {
        assert!(out.contains(words), "{out}");
    }
    assert!(
        !out.contains("degrees of freedom") && !out.contains("mass"),
        "{out}"
    );
    let (out, _) = fretwork(
        at,
        &[
            "try",
            "work/bnh.toml",
            "--allow-command",
            "--set",
            "x1=2",
            "--json",
        ],
        0,
    );
    let sheet: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(sheet["measures"]["f1"]["value"], 20.0);
    assert_eq!(sheet["constraints"]["inside"]["met"], true);
    let run = [
        "run",
        "work/bnh.toml",
        "--allow-command",
        "--evaluations",
        "120",
        "--json",
    ];
    let (out, _) = fretwork(at, &run, 0);
    let object: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(
        (&object["designs"], &object["failed"]),
        (&120.into(), &0.into())
    );
    let front = fs::read_to_string(at.join("results/bnh-001/front.csv")).unwrap();
    assert!(front.starts_with("design,x1,x2,f1,f2,g1,g2\n"), "{front}");
    let screen = [
        "screen",
        "work/bnh.toml",
        "--allow-command",
        "--designs",
        "200",
    ];
    let (out, _) = fretwork(at, &screen, 0);
    assert!(out.contains("x1") && out.contains("f1"), "{out}");
    // The page is made from the folder: no program is there any more.
    fs::remove_file(at.join("work/bnh.awk")).unwrap();
    fretwork(at, &["review", "results/bnh-001", "--out", "again.html"], 0);
    let page = fs::read_to_string(at.join("again.html")).unwrap();
    assert!(page.contains("Binh and Korn") && page.len() > 50_000);
    for (arguments, words) in [
        (vec!["prove", "work/bnh.toml"], "no part to solve"),
        (
            vec!["rerun", "results/bnh-001"],
            "asks a program of its own",
        ),
        (vec!["why", "results/bnh-001"], "asks a program of its own"),
        (
            vec!["scatter", "work/bnh.toml"],
            "asks a program of its own",
        ),
        (
            vec!["wish", "results/bnh-001", "--least", "f1"],
            "asks a program of its own",
        ),
        (
            vec!["tooling", "results/bnh-001"],
            "asks a program of its own",
        ),
        (
            vec!["compare", "results/bnh-001", "results/bnh-001"],
            "asks a program of its own",
        ),
    ] {
        let (_, err) = fretwork(at, &arguments, 2);
        assert!(
            err.contains(words) && err.contains("mend"),
            "{arguments:?}: {err}"
        );
    }
}

/// Without leave nothing is run: the message points at the place in the study.
#[test]
fn no_program_runs_without_leave() {
    let study = BNH.replace(
        r#"["awk", "-f", "bnh.awk"]"#,
        r#"["sh", "-c", "touch mark"]"#,
    );
    let folder = workshop(&study, &[]);
    fretwork(folder.path(), &["check", "work/bnh.toml"], 0);
    for command in ["run", "try", "screen"] {
        let (_, err) = fretwork(folder.path(), &[command, "work/bnh.toml"], 2);
        for words in [
            "run/not-allowed",
            "[evaluator]",
            "sh -c touch mark",
            "--allow-command",
        ] {
            assert!(err.contains(words), "{err}");
        }
    }
    assert!(!folder.path().join("work/mark").exists());
    assert!(!folder.path().join("results").exists());
}

/// A program that can't answer for today's revision is told before a run begins, and no folder is made.
#[test]
fn a_program_that_never_answers_is_told_at_once() {
    let folder = workshop(BNH, &[("bnh.awk", "BEGIN { print \"hello\" }")]);
    let (_, err) = fretwork(
        folder.path(),
        &["run", "work/bnh.toml", "--allow-command"],
        2,
    );
    for words in [
        "run/no-answer",
        "not one JSON object",
        "`hello`",
        "[evaluator]",
    ] {
        assert!(err.contains(words), "{err}");
    }
    assert!(!folder.path().join("results").exists());
}

/// A run that is killed outright, by its own hundredth question, loses no answer: the same call goes on, asks about the
/// rest alone, and ends with the same front as a run that was left in peace.
#[test]
fn a_killed_run_loses_no_answer() {
    let counts = "echo x >> calls\n[ $(wc -l < calls) -eq 100 ] && kill -9 $PPID\nawk -f bnh.awk\n";
    let study = BNH.replace(r#"["awk", "-f", "bnh.awk"]"#, r#"["sh", "counts.sh"]"#);
    let folder = workshop(&study, &[("bnh.awk", BNH_AWK), ("counts.sh", counts)]);
    let call = |results| {
        let run = [
            "run",
            "work/bnh.toml",
            "--allow-command",
            "--evaluations",
            "150",
        ];
        [&run[..], &["--threads", "1", "--results", results]].concat()
    };
    let killed = Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
        .args(call("results"))
        .current_dir(folder.path())
        .output()
        .expect("the program starts");
    assert_eq!(killed.status.code(), None, "it is killed");
    let (_, err) = fretwork(folder.path(), &call("results"), 0);
    assert!(err.contains("going on with"), "{err}");
    let calls = || {
        fs::read_to_string(folder.path().join("work/calls"))
            .unwrap()
            .lines()
            .count()
    };
    // 99 answers; then today's revision once more, as at every start, and what is left.
    let first = calls();
    assert!((152..156).contains(&first), "{first}");
    fretwork(folder.path(), &call("peace"), 0);
    assert!((150..154).contains(&(calls() - first)), "{}", calls());
    let front = |results| fs::read(folder.path().join(results).join("bnh-001/front.csv")).unwrap();
    assert_eq!(front("results"), front("peace"));
    assert!(!folder.path().join("results/bnh-001/answers.jsonl").exists());
}

/// The demo study without a part, as the README calls it.
#[test]
fn the_demo_spring_is_wound() {
    let folder = tempfile::tempdir().unwrap();
    let study = Path::new(env!("CARGO_MANIFEST_DIR")).join("studies/outside/spring.toml");
    let study = study.to_string_lossy();
    let run = [
        "run",
        &study,
        "--allow-command",
        "--evaluations",
        "300",
        "--json",
    ];
    let (out, _) = fretwork(folder.path(), &run, 0);
    let object: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(object["designs"], 300);
    assert!(
        object["front"].as_u64().is_some_and(|front| front >= 5),
        "{out}"
    );
    let stored = store::open(&folder.path().join("results/spring-001")).unwrap();
    let today = stored.designs.row(0);
    let column = |name: &str| {
        stored
            .columns
            .iter()
            .position(|each| each.name == name)
            .unwrap()
    };
    // R = G d^4 / (8 D^3 n) = 81500 * 1.5^4 / (8 * 12^3 * 7) = 4.2637 N/mm, six millimetres pressed (EN 13906-1).
    assert!((today[column("preload")] - 6.0 * 4.263_742).abs() < 1e-4);
    assert_eq!(stored.designs.violation[0], 0.0);
}
