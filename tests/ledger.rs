//! Ledgers: what is written is read back; edited, damaged and merged ones are reported by line; history; the commands.

mod records;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use fretwork::ledger::{
    CODES, Date, History, Ledger, Letter, Problem, Quantity, Revision, Sense, read_decision,
    read_ledger,
};
use proptest::prelude::*;
use records::{line_of, quantity, revision};

/// A ledger of three invented revisions.
fn three() -> (String, Vec<Revision>) {
    let mut text = Ledger::heading("ring");
    let mut letter = Letter::first();
    let mut all = Vec::new();
    for (index, mass) in [37.125, 30.5, 33.25].into_iter().enumerate() {
        let mut each = revision(letter.as_str(), mass);
        each.design = 10 * index;
        text += &format!("\n{}", each.text());
        letter = letter.next();
        all.push(each);
    }
    (text, all)
}

fn problems(text: &str) -> Vec<Problem> {
    read_ledger(text).expect_err("a problem")
}

/// Format 1, which seals are over: this text must not change. Its SHA-256 was worked out by `sha256sum` (GNU coreutils).
#[test]
fn an_entry_is_written_as_format_1_has_it() {
    let entry = Revision {
        violation: 0.0312,
        ..revision("A", 37.125)
    };
    let without_seal = include_str!("data/ledger/entry.toml");
    let seal = "71957aae6b1774e7e09865ca85251d53c70b3ed0282caf87f7bf5650df8eafb9";
    let text = entry.text();
    assert_eq!(
        text.replace(&format!("seal = \"{seal}\"\n"), ""),
        without_seal
    );
    assert_eq!(entry.seal(), seal);
}

#[test]
fn what_is_written_is_read_back() {
    let (text, written) = three();
    let ledger = read_ledger(&text).unwrap();
    assert_eq!(ledger.study, "ring");
    let read: Vec<Revision> = ledger
        .entries
        .iter()
        .map(|entry| entry.revision.clone())
        .collect();
    assert_eq!(read, written);
    assert_eq!(ledger.next_letter().as_str(), "D");
    for entry in &ledger.entries {
        let line = text.lines().nth(entry.line - 1).unwrap();
        assert_eq!(line, "[[revision]]");
    }
}

#[test]
fn comments_empty_lines_and_line_ends_may_change() {
    let (text, _) = three();
    let whole = read_ledger(&text).unwrap();
    let commented = text.replace(
        "[[revision]]",
        "# talked over on Tuesday\n\n[[revision]]  # next",
    );
    for other in [
        text.replace('\n', "\r\n"),
        commented,
        format!("\u{feff}{text}"),
        text.trim_end().to_string(),
    ] {
        let read = read_ledger(&other).unwrap();
        assert!(
            read.entries
                .iter()
                .zip(&whole.entries)
                .all(|(a, b)| a.revision == b.revision)
        );
        assert_eq!(read.entries.len(), 3);
    }
}

/// Every value of every entry, changed by one letter or digit.
#[test]
fn whatever_is_edited_is_found_in_its_entry() {
    let (text, _) = three();
    let heads: Vec<usize> = (1..)
        .zip(text.lines())
        .filter(|(_, line)| *line == "[[revision]]")
        .map(|(at, _)| at)
        .collect();
    let mut edited = 0;
    for (number, line) in (1..).zip(text.lines()) {
        let Some((key, value)) = line.split_once(" = ") else {
            continue;
        };
        if number < heads[0] {
            continue;
        }
        // The last letter or digit becomes another one.
        let at = value
            .rfind(|each: char| each.is_ascii_alphanumeric())
            .unwrap();
        let old = &value[at..at + 1];
        let new = if old == "1" {
            "2"
        } else if old.parse::<u8>().is_ok() {
            "1"
        } else {
            "m"
        };
        let new = if old == new { "g" } else { new };
        let changed = format!("{key} = {}{new}{}", &value[..at], &value[at + 1..]);
        let other: Vec<&str> = (1..)
            .zip(text.lines())
            .map(|(at, line)| if at == number { changed.as_str() } else { line })
            .collect();
        let other = other.join("\n");
        let found = problems(&other);
        let from = *heads.iter().rev().find(|head| **head <= number).unwrap();
        let to = heads
            .iter()
            .copied()
            .find(|head| *head > number)
            .unwrap_or(usize::MAX);
        let told = found
            .iter()
            .any(|problem| (from..to).contains(&line_of(&other, problem)));
        assert!(told, "{line} -> {changed}: {found:#?}");
        edited += 1;
    }
    assert_eq!(edited, 3 * 18);
}

/// A ledger cut anywhere is whole up to a revision, or reported.
#[test]
fn a_ledger_cut_short_is_reported() {
    let (text, written) = three();
    let mut whole = 0;
    for end in 0..text.len() {
        match read_ledger(&text[..end]) {
            Ok(ledger) => {
                let count = ledger.entries.len();
                assert!(
                    ledger
                        .entries
                        .iter()
                        .zip(&written)
                        .all(|(read, written)| read.revision == *written)
                );
                let rest = text[end..].trim_start();
                let next = rest.is_empty()
                    || rest.starts_with("[[revision]]")
                    || rest.starts_with('"') && count == 3;
                assert!(next || count == 0, "cut at {end}: {rest:.60}");
                whole += 1;
            }
            Err(found) => assert!(!found.is_empty()),
        }
    }
    assert!(whole < 20, "{whole} cuts went unnoticed");
}

#[test]
fn two_people_who_adopt_the_same_letter_are_told() {
    let (text, _) = three();
    let (ours, theirs) = (
        revision("D", 30.0),
        Revision {
            design: 99,
            ..revision("D", 29.0)
        },
    );
    let merged = format!(
        "{text}\n<<<<<<< HEAD\n{}=======\n{}>>>>>>> other branch\n",
        ours.text(),
        theirs.text()
    );
    let found = problems(&merged);
    assert_eq!(
        found.iter().map(|each| each.code).collect::<Vec<_>>(),
        ["ledger/conflict"; 3]
    );
    let lines: Vec<usize> = found.iter().map(|each| line_of(&merged, each)).collect();
    let marks: Vec<usize> = (1..)
        .zip(merged.lines())
        .filter(|(_, line)| line.starts_with(['<', '=', '>']))
        .map(|(at, _)| at)
        .collect();
    assert_eq!(lines, marks);
    // The marks taken out, both entries kept.
    let both = format!("{text}\n{}\n{}", ours.text(), theirs.text());
    let found = problems(&both);
    assert_eq!(found[0].code, "ledger/repeated");
    assert_eq!(found[0].spans.len(), 2);
    let mend = found[0].mend.as_deref().unwrap();
    assert!(mend.contains("fretwork adopt ring-001 --pick 99"), "{mend}");
    // One kept.
    assert!(read_ledger(&format!("{text}\n{}", ours.text())).is_ok());
}

#[test]
fn every_code_has_a_text_and_a_mend() {
    let entry = revision("A", 37.0).text();
    let head = Ledger::heading("ring");
    let good = format!("{head}\n{entry}");
    assert!(read_ledger(&good).is_ok());
    let cases: Vec<(&str, String)> = vec![
        ("ledger/empty", "# nothing\n".into()),
        (
            "ledger/not-toml",
            good.replace("[[revision]]", "[[revision]"),
        ),
        ("ledger/conflict", format!("{good}<<<<<<< HEAD\n")),
        ("ledger/format", good.replace("format = 1", "format = 2")),
        ("ledger/edited", good.replace("37 g", "36 g")),
        (
            "ledger/gap",
            format!("{head}\n{}", revision("B", 37.0).text()),
        ),
        ("ledger/letter", good.replace("\"A\"", "\"I\"")),
        (
            "ledger/missing-key",
            good.replace("reason = ", "# reason = "),
        ),
        (
            "ledger/out-of-range",
            good.replace("design = 7", "design = -7"),
        ),
        ("ledger/quantity", good.replace("37 g", "heavy")),
        ("ledger/repeated", format!("{good}\n{entry}")),
        ("ledger/unknown-key", good.replace("reason = ", "raison = ")),
        (
            "ledger/wrong-type",
            good.replace("date = 2026-03-02", "date = \"2026-03-02\""),
        ),
    ];
    let mut met = BTreeSet::new();
    for (code, text) in &cases {
        let found = problems(text);
        assert!(
            found.iter().any(|problem| problem.code == *code),
            "{code}: {found:#?}"
        );
        met.insert(*code);
        check_places(&found, text);
    }
    for (code, text) in [
        ("ledger/other-kind", good.clone()),
        (
            "ledger/no-such-pick",
            records::decision_text().replace("chosen = 7", "chosen = 8"),
        ),
    ] {
        let found = read_decision(&text).expect_err(code);
        assert!(
            found.iter().any(|problem| problem.code == code),
            "{code}: {found:#?}"
        );
        met.insert(code);
        check_places(&found, &text);
    }
    let listed: BTreeSet<&str> = CODES.iter().map(|(code, _)| *code).collect();
    assert_eq!(met, listed);
}

fn check_places(found: &[Problem], text: &str) {
    for problem in found {
        assert!(
            problem.mend.is_some() || problem.code == "ledger/unknown-key",
            "{problem:?}"
        );
        for (span, _) in &problem.spans {
            assert!(text.get(span.clone()).is_some(), "{problem:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Any text is read or refused, never more.
    #[test]
    fn no_text_makes_it_panic(junk in "\\PC*", at in 0usize..4000, cut in 0usize..40) {
        let (text, _) = three();
        let floor = |mut at: usize| { while !text.is_char_boundary(at) { at -= 1; } at };
        let at = floor(at.min(text.len()));
        let end = floor((at + cut).min(text.len()));
        let other = format!("{}{junk}{}", &text[..at], &text[end..]);
        if let Err(found) = read_ledger(&other) {
            prop_assert!(!found.is_empty());
            fretwork::study::print(&found, &other, "x.ledger.toml", false);
        }
        let _ = read_decision(&other);
    }

    /// Whatever a reason and a name hold, they come back.
    #[test]
    fn every_reason_comes_back(reason in "(?s).{1,200}", name in "(?s).{0,40}") {
        let each = Revision { reason: reason.clone(), by: vec![name.clone()], ..revision("A", 1.0) };
        let read = read_ledger(&format!("{}\n{}", Ledger::heading("ring"), each.text())).unwrap();
        prop_assert_eq!(&read.entries[0].revision.reason, &reason);
        prop_assert_eq!(&read.entries[0].revision.by[0], &name);
    }
}

/// Worked by hand: 37 g to 29.6 g is -7.4 g, -20 %; 100 s to 2 min is +20 s, +20 %; 2 in is 50.8 mm.
#[test]
fn a_history_tells_differences() {
    let (first, second) = (
        Revision {
            dimensions: vec![quantity("width", 2.0, "in"), quantity("rib", 1.0, "mm")],
            predicted: vec![
                quantity("mass", 37.0, "g"),
                quantity("stiffness", 240.0, "N/mm"),
                quantity("time", 100.0, "s"),
                quantity("gone", 1.0, "mm"),
                quantity("zero", 0.0, "mm"),
            ],
            ..revision("A", 0.0)
        },
        Revision {
            dimensions: vec![quantity("width", 50.8, "mm"), quantity("hole", 4.5, "mm")],
            predicted: vec![
                quantity("stress", 3.0, "MPa"),
                quantity("time", 2.0, "min"),
                quantity("zero", 0.5, "mm"),
                quantity("mass", 29.6, "g"),
            ],
            least: vec!["mass".into()],
            most: vec!["stress".into(), "stiffness".into()],
            ..revision("B", 0.0)
        },
    );
    let text = format!(
        "{}\n{}\n{}",
        Ledger::heading("ring"),
        first.text(),
        second.text()
    );
    let history = History::of(&read_ledger(&text).unwrap());
    let names: Vec<(&str, Option<Sense>)> = history
        .measures
        .iter()
        .map(|each| (each.name.as_str(), each.sense))
        .collect();
    assert_eq!(
        names,
        [
            ("stress", Some(Sense::Most)),
            ("mass", Some(Sense::Least)),
            ("stiffness", Some(Sense::Most)),
            ("time", None),
            ("zero", None)
        ],
        "objectives first, then what all revisions tell"
    );
    let [stress, mass, stiffness, time, zero] = &history.measures[..] else {
        panic!()
    };
    assert_eq!(
        stiffness.values,
        [Some(240.0), None],
        "an objective stays, told or not"
    );
    let (difference, share) = mass.change(1).unwrap();
    assert!((difference + 7.4).abs() < 1e-12 && (share + 0.2).abs() < 1e-12);
    assert_eq!(
        (
            mass.change(0),
            mass.better(1),
            stress.change(1),
            stress.better(1)
        ),
        (None, Some(true), None, None)
    );
    let (difference, share) = time.change(1).unwrap();
    assert!(
        (difference - 20.0 / 60.0).abs() < 1e-12 && (share - 0.2).abs() < 1e-12,
        "{difference} {share}"
    );
    assert_eq!((time.unit.as_str(), time.better(1)), ("min", None));
    assert_eq!(
        zero.change(1)
            .map(|(difference, share)| (difference, share.is_finite())),
        Some((0.5, false))
    );
    let changes: Vec<(&str, Option<&str>, Option<&str>)> = history.steps[1]
        .changes
        .iter()
        .map(|each| (each.name.as_str(), each.from.as_deref(), each.to.as_deref()))
        .collect();
    assert_eq!(
        changes,
        [("hole", None, Some("4.5 mm")), ("rib", Some("1 mm"), None)]
    );
    assert!(history.steps[0].changes.is_empty());
}

/// Pages and pictures of histories that are short, long, gapped and hostile.
#[test]
fn every_history_is_drawn() {
    let hostile = "</script><img src=x onerror=alert(1)> \" ' & \u{202e}";
    for count in [1, 2, 60] {
        let mut text = Ledger::heading(hostile);
        let mut letter = Letter::first();
        for index in 0..count {
            let mut each = revision(letter.as_str(), 40.0 - index as f64);
            each.reason = hostile.repeat(3);
            each.run = hostile.into();
            if index % 3 == 1 {
                each.predicted.retain(|quantity| quantity.name != "mass");
            }
            each.predicted.push(Quantity {
                name: hostile.into(),
                value: -1e-7,
                unit: "mm^4".into(),
            });
            text += &format!("\n{}", each.text());
            letter = letter.next();
        }
        let history = History::of(&read_ledger(&text).unwrap());
        let shown: Vec<usize> = (0..history.measures.len()).collect();
        let page = fretwork::review::history_page(&history, &shown, "fretwork test");
        assert!(
            !page.contains("<img") && !page.contains("<script") && !page.contains("NaN"),
            "{count}"
        );
        assert!(page.contains("default-src 'none'") && !page.contains("{{"));
        let picture = fretwork::review::history_plot(&history, &shown);
        assert!(
            picture.starts_with("<svg xmlns=")
                && !picture.contains("<img")
                && !picture.contains("NaN")
        );
        // Gaps break the line, dots stand for the revisions that tell the figure.
        let dots = picture.matches("<circle").count();
        let told: usize = history
            .measures
            .iter()
            .map(|each| each.values.iter().flatten().count())
            .sum();
        assert_eq!(dots, told);
    }
}

mod program {
    //! The built program on a small run of a demo study.

    use super::*;
    use std::path::PathBuf;
    use std::process::{Command, Output};

    fn fretwork(folder: &Path, arguments: &[&str]) -> Output {
        Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
            .args(arguments)
            .current_dir(folder)
            .output()
            .expect("the program starts")
    }

    fn check(folder: &Path, arguments: &[&str], code: i32) -> (String, String) {
        let output = fretwork(folder, arguments);
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

    /// A folder with a study, and a run of some designs on the beam.
    fn ran() -> (tempfile::TempDir, PathBuf, String) {
        let folder = tempfile::tempdir().unwrap();
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("studies/yaw-ring.toml");
        let study = fs::read_to_string(demo).unwrap().replace(
            "plan = \"search\"\nevaluations = 24000",
            "plan = \"sobol\"\nevaluations = 60\ntruth = \"beam\"\nproofs = 0",
        );
        assert!(study.contains("sobol"));
        let file = folder.path().join("ring.toml");
        fs::write(&file, &study).unwrap();
        check(folder.path(), &["run", "ring.toml", "--json"], 0);
        (folder, file, study)
    }

    #[test]
    fn adopt_and_history() {
        let (folder, study_file, study) = ran();
        let here = folder.path();
        let ledger = here.join("ring.ledger.toml");
        let run = "results/ring-001";
        let adopt = |more: &[&str], code| check(here, &[&["adopt", run], more].concat(), code);

        // What can't be adopted leaves no file.
        let (_, err) = adopt(&["--pick", "60", "--reason", "x"], 2);
        assert!(
            err.contains("the run has no design 60") && err.contains("0 to 59"),
            "{err}"
        );
        let (_, err) = adopt(&["--pick", "3", "--reason", "  "], 2);
        assert!(err.contains("nothing says why"), "{err}");
        let (_, err) = adopt(&["--reason", "x"], 2);
        assert!(err.contains("which design"), "{err}");
        adopt(&["--pick", "3", "--reason", "x", "--date", "2026-02-30"], 2);
        assert!(!ledger.exists());
        let (_, err) = check(here, &["history", "ring.toml"], 2);
        assert!(err.contains("there is no ledger"), "{err}");

        // Two revisions; the first stays to the byte.
        adopt(
            &[
                "--pick",
                "0",
                "--reason",
                "as cut today",
                "--date",
                "2026-03-02",
            ],
            0,
        );
        let first = fs::read_to_string(&ledger).unwrap();
        let (out, _) = adopt(
            &[
                "--pick",
                "5",
                "--reason",
                "thicker \"walls\"",
                "--by",
                "N. Author",
                "--baseline",
                "--json",
            ],
            0,
        );
        let said: serde_json::Value = serde_json::from_str(&out).unwrap();
        assert_eq!(
            (said["revision"].as_str(), said["design"].as_u64()),
            (Some("B"), Some(5))
        );
        let second = fs::read_to_string(&ledger).unwrap();
        assert!(second.starts_with(&first));
        let read = read_ledger(&second).unwrap();
        let adopted = read.last().unwrap();
        assert_eq!(
            (adopted.reason.as_str(), adopted.run.as_str()),
            ("thicker \"walls\"", "ring-001")
        );
        let manifest: serde_json::Value = serde_json::from_str(
            &fs::read_to_string(here.join(run).join("manifest.json")).unwrap(),
        )
        .unwrap();
        assert_eq!(manifest["fingerprint"], adopted.run_fingerprint);
        assert_eq!(
            manifest["files"]["study.toml"]["sha256"],
            adopted.study_fingerprint
        );

        // The baseline moved, and nothing else of the study did.
        let rebased = fs::read_to_string(&study_file).unwrap();
        let differ: Vec<(&str, &str)> = study
            .lines()
            .zip(rebased.lines())
            .filter(|(a, b)| a != b)
            .collect();
        assert!(!differ.is_empty() && differ.len() <= 7, "{differ:?}");
        let (out, _) = check(here, &["try", "ring.toml", "--beam", "--json"], 0);
        let tried: serde_json::Value = serde_json::from_str(&out).unwrap();
        for quantity in &adopted.dimensions {
            let value = tried["design"]["design"][&quantity.name]["value"].as_f64();
            let value = value
                .or(tried["design"][&quantity.name]["value"].as_f64())
                .expect(&out);
            assert!(
                (value - quantity.value).abs() < 1e-9 * value.abs(),
                "{}: {value}",
                quantity.name
            );
        }

        // The same again is no new revision; a changed baseline is no changed study.
        let (_, err) = adopt(&["--pick", "5", "--reason", "again"], 2);
        assert!(err.contains("is revision B already"), "{err}");
        adopt(&["--pick", "5", "--reason", "again", "--baseline"], 0);
        assert_eq!(fs::read_to_string(&ledger).unwrap(), second);

        // A study that changed where figures follow from it is refused, key by key.
        fs::write(
            &study_file,
            rebased
                .replace("width = \"13 mm\"", "width = \"14 mm\"")
                .replace("mass = \"6 g\"", "mass = \"7 g\""),
        )
        .unwrap();
        let (_, err) = adopt(&["--pick", "6", "--reason", "x"], 2);
        assert!(
            err.contains("part.section.width: \"13 mm\" is now \"14 mm\"")
                && err.contains("part.carries[1].mass"),
            "{err}"
        );
        assert!(err.contains("--despite-changes"), "{err}");
        assert_eq!(fs::read_to_string(&ledger).unwrap(), second);
        adopt(&["--pick", "6", "--reason", "x", "--despite-changes"], 0);
        fs::write(
            &study_file,
            rebased
                .replace("mass\"\n", "cost\"\n")
                .replace("hum = \"frequency >= 1200 Hz\"", ""),
        )
        .unwrap();
        let (_, err) = adopt(&["--pick", "7", "--reason", "x"], 0);
        assert!(
            err.contains("constraints.hum") && err.contains("objective[1].least"),
            "{err}"
        );

        history(here, &ledger);
        damaged(here, &ledger, run);
    }

    fn history(here: &Path, ledger: &Path) {
        let (out, _) = check(
            here,
            &["history", "ring.toml", "--page", "h.html", "--svg", "h.svg"],
            0,
        );
        for line in out.lines() {
            assert!(
                line.chars().count() <= 80 && line.trim_end() == line,
                "{line}"
            );
        }
        for words in [
            "ring: 4 revisions",
            "tilt.stiffness",
            "as cut today",
            "by N. Author",
            "thicker \"walls\"",
            " -> ",
        ] {
            assert!(out.contains(words), "{words} is not in\n{out}");
        }
        assert!(
            fs::read_to_string(here.join("h.html"))
                .unwrap()
                .contains("Step by step")
        );
        let (_, err) = check(here, &["history", "ring.toml", "--page", "h.html"], 2);
        assert!(err.contains("is there already"), "{err}");
        let (out, _) = check(here, &["history", ledger.to_str().unwrap(), "--json"], 0);
        let told: serde_json::Value = serde_json::from_str(&out).unwrap();
        let steps = told["revisions"].as_array().unwrap();
        let mass = |index: usize| steps[index]["measures"]["mass"]["value"].as_f64().unwrap();
        let difference = steps[1]["measures"]["mass"]["difference"].as_f64().unwrap();
        assert!((mass(1) - mass(0) - difference).abs() < 1e-12);
        let (_, err) = check(here, &["history", "ring.toml", "--measure", "beauty"], 2);
        assert!(err.contains("beauty") && err.contains("ligament"), "{err}");
        // The page of a run marks the revisions.
        check(
            here,
            &["review", "results/ring-001", "--out", "with.html"],
            0,
        );
    }

    /// Damage is reported by line, and nothing is written.
    fn damaged(here: &Path, ledger: &Path, run: &str) {
        let good = fs::read_to_string(ledger).unwrap();
        let edited = good.replace("as cut today", "as cut tomorrow");
        let line = 1 + good
            .lines()
            .position(|line| line == "[[revision]]")
            .unwrap();
        for (text, place) in [
            (&edited, format!("ring.ledger.toml:{line}:1")),
            (&format!("{good}<<<<<<< HEAD\n"), "ledger/conflict".into()),
        ] {
            fs::write(ledger, text).unwrap();
            for call in [
                &["history", "ring.toml"][..],
                &["adopt", run, "--pick", "9", "--reason", "x"],
            ] {
                let (_, err) = check(here, call, 2);
                assert!(err.contains(&place) && err.contains("mend"), "{err}");
            }
            assert_eq!(fs::read_to_string(ledger).unwrap(), *text);
            // A page is made all the same, and says what it lacks.
            let page = format!("damaged-{}.html", text.len());
            let (_, err) = check(here, &["review", run, "--out", &page], 0);
            assert!(
                err.contains(&place) && err.contains("without revisions"),
                "{err}"
            );
        }
        fs::write(ledger, good.replace("study = \"ring\"", "study = \"arm\"")).unwrap();
        let (_, err) = check(here, &["adopt", run, "--pick", "9", "--reason", "x"], 2);
        assert!(err.contains("is the ledger of arm"), "{err}");
        fs::write(ledger, &good).unwrap();

        let pick = ["adopt", run, "--pick", "9", "--reason", "x"];
        let (_, err) = check(here, &[&pick[..], &["--ledger", "results"]].concat(), 2);
        assert!(err.contains("it is a folder"), "{err}");
        #[cfg(target_os = "linux")]
        {
            // Nobody may make a file there.
            let (_, err) = check(
                here,
                &[&pick[..], &["--ledger", "/proc/ring.ledger.toml"]].concat(),
                1,
            );
            assert!(
                err.contains("failed to write") && err.contains("--ledger FILE"),
                "{err}"
            );
            // A disk that takes nothing more: files may have no length.
            let program = assert_cmd::cargo::cargo_bin!("fretwork");
            let full = format!(
                "trap '' XFSZ; ulimit -f 0; exec '{}' {} --pick 9 --reason x 2>&1 | cat",
                program.display(),
                "adopt results/ring-001"
            );
            let said = Command::new("bash")
                .args(["-c", &full])
                .current_dir(here)
                .output()
                .unwrap();
            let said = String::from_utf8(said.stdout).unwrap();
            assert!(
                said.contains("failed to write") && said.contains("ring.ledger.toml"),
                "{said}"
            );
            assert_eq!(fs::read_to_string(ledger).unwrap(), good);
            let left: Vec<_> = fs::read_dir(here)
                .unwrap()
                .map(|entry| entry.unwrap().file_name())
                .collect();
            assert!(
                left.iter()
                    .all(|name| !name.to_string_lossy().ends_with(".tmp")),
                "{left:?}"
            );
        }
    }
}

/// The demo ledger is whole, and its last revision is the baseline of its study.
#[test]
fn the_demo_ledger_is_whole() {
    let ledger = read_ledger(include_str!("../studies/yaw-ring.ledger.toml")).unwrap();
    assert_eq!(
        (ledger.study.as_str(), ledger.entries.len()),
        ("yaw-ring", 3)
    );
    let study = include_str!("../studies/yaw-ring.toml");
    let baseline: toml::Table = study.parse().unwrap();
    let last = &ledger.last().unwrap().dimensions;
    for (name, value) in baseline["baseline"].as_table().unwrap() {
        let adopted = last.iter().find(|quantity| quantity.name == *name).unwrap();
        assert_eq!(value.as_str(), Some(adopted.text(6).as_str()), "{name}");
    }
}

#[test]
fn dates_of_entries_are_days() {
    let text = format!("{}\n{}", Ledger::heading("ring"), revision("A", 1.0).text());
    for wrong in [
        "2026-03-02T10:00:00Z",
        "10:00:00",
        "2026-02-30",
        "\"2026-03-02\"",
        "3",
    ] {
        assert!(
            read_ledger(&text.replace("2026-03-02", wrong)).is_err(),
            "{wrong}"
        );
    }
    assert_eq!(
        Date::new(2026, 3, 2).map(|date| date.to_string()),
        Some("2026-03-02".into())
    );
}
