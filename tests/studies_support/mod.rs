//! The demo studies, read and ready.

use std::fs;
use std::path::Path;

use fretwork::evaluate::Evaluator;
use fretwork::evaluate::setup::Range;
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

/// The first `count` designs, from so many drawn, that keep the geometric rules: spread over a study's space by a fixed
/// sequence, their variables in base units.
#[allow(dead_code, reason = "not every test file draws designs")]
pub fn random_designs(
    evaluator: &Evaluator,
    seed: u32,
    drawn: usize,
    count: usize,
) -> Vec<Vec<f64>> {
    // Numerical Recipes' quick generator (Press et al. 1992); any spread would do.
    let mut seed = seed;
    let mut share = || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(seed >> 8) / f64::from(1 << 24)
    };
    let mut value = |range: &Range| match range {
        Range::Continuous { low, high, step } => match step {
            Some(step) => low + (share() * (high - low) / step).round() * step,
            None => low + share() * (high - low),
        },
        Range::Integer { low, high } => (*low as f64 + share() * (high - low + 1) as f64).floor(),
        Range::Choice(all) => all[(share() * all.len() as f64) as usize],
    };
    let variables = &evaluator.setup().variables;
    let mut draw = || variables.iter().map(|each| value(&each.range)).collect();
    let all = std::iter::repeat_with(|| -> Vec<f64> { draw() }).take(drawn);
    all.filter(|design| evaluator.keeps_rules(design))
        .take(count)
        .collect()
}
