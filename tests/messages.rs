//! Studies that are at fault, one a code, beside the text that is printed for them.
//!
//! `messages/CODE.toml` (with `-` for `/`) is the study, `messages/CODE.txt` the text. With `RECORD_MESSAGES=1`
//! the texts are written anew; read the difference before keeping it.

mod common;

use common::read_with_stand_in;
use fretwork::study::{CODES, print};
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/messages")
        .join(name)
}

/// Codes with a bad study in `messages/`.
fn recorded() -> BTreeSet<String> {
    let names = fs::read_dir(path("")).expect("tests/messages");
    let names = names.map(|entry| {
        entry
            .expect("entry")
            .file_name()
            .to_string_lossy()
            .to_string()
    });
    let codes = names.filter_map(|name| Some(name.strip_suffix(".toml")?.replacen('-', "/", 1)));
    codes.collect()
}

#[test]
fn every_code_has_a_bad_study() {
    let listed: BTreeSet<String> = CODES.iter().map(|(code, _)| code.to_string()).collect();
    assert_eq!(listed.len(), CODES.len(), "a code is listed twice");
    assert_eq!(listed, recorded());
}

#[test]
fn bad_studies_print_what_is_recorded() {
    let record = std::env::var_os("RECORD_MESSAGES").is_some();
    for code in recorded() {
        let name = code.replace('/', "-");
        let text = fs::read_to_string(path(&format!("{name}.toml"))).expect(&name);
        let problems = read_with_stand_in(&text).expect_err(&code);
        for problem in &problems {
            assert!(
                CODES.iter().any(|(known, _)| *known == problem.code),
                "{} is not listed",
                problem.code
            );
            assert!(problem.mend.is_some(), "no mend: {problem:?}");
            for (span, _) in &problem.spans {
                assert!(text.get(span.clone()).is_some(), "{code}: {problem:?}");
            }
        }
        assert!(
            problems.iter().any(|problem| problem.code == code),
            "{code} is not among {problems:#?}"
        );
        let printed = print(&problems, &text, &format!("{name}.toml"), false) + "\n";
        let file = path(&format!("{name}.txt"));
        if record {
            fs::write(&file, &printed).expect("text written");
        }
        assert_eq!(
            printed,
            fs::read_to_string(&file).unwrap_or_default(),
            "{name}"
        );
        assert!(
            print(&problems, &text, "study.toml", true).contains("\u{1b}["),
            "{code} has no colour"
        );
    }
}
