//! The demo studies, read and ready.

use std::fs;
use std::path::Path;

use fretwork::run::{Overrides, Prepared, Source, prepare};

/// A demo study by its file stem.
#[allow(dead_code, reason = "not every test file reads demo studies")]
pub fn prepared(study: &str, overrides: Overrides) -> Prepared {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("studies")
        .join(format!("{study}.toml"));
    let text = fs::read_to_string(&file).expect("the study is there");
    of_text(study, text, overrides)
}

/// A study from its text.
pub fn of_text(study: &str, text: String, overrides: Overrides) -> Prepared {
    let source = Source {
        file: format!("{study}.toml"),
        study: study.into(),
        text,
        catalogue: None,
    };
    match prepare(&source, overrides) {
        Ok(prepared) => prepared,
        Err(mistakes) => panic!("{}", mistakes.printed),
    }
}
