//! Full designs a second, from variables to every measure, on one thread and on two, for both demo studies.
//!
//! Designs are spread evenly over the space, as a search would meet them; those that break a geometric rule are
//! cheaper, so the baseline, which is evaluated in full, is timed too.

use std::fs;
use std::path::Path;

use divan::counter::ItemsCount;
use fretwork::evaluate::setup::Range;
use fretwork::run::{Overrides, Prepared, Source, prepare};
use rayon::prelude::*;

fn main() {
    divan::main();
}

const DESIGNS: usize = 2000;

fn prepared(study: &str) -> Prepared {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("studies")
        .join(format!("{study}.toml"));
    let source = Source {
        file: file.display().to_string(),
        study: study.into(),
        text: fs::read_to_string(&file).expect("the study is there"),
        catalogue: None,
    };
    prepare(&source, Overrides::default()).expect("the study is right")
}

/// Designs spread over the space by an additive recurrence.
fn designs(prepared: &Prepared) -> Vec<Vec<f64>> {
    let variables = &prepared.evaluator.setup().variables;
    (0..DESIGNS)
        .map(|design| {
            variables
                .iter()
                .enumerate()
                .map(|(axis, variable)| {
                    let at =
                        (0.5 + design as f64 * (0.618_034 / (1.0 + axis as f64)).sqrt()).fract();
                    match &variable.range {
                        Range::Continuous { low, high, .. } => low + at * (high - low),
                        Range::Integer { low, high } => {
                            (*low as f64 + at * (high - low) as f64).round()
                        }
                        Range::Choice(values) => values[(at * values.len() as f64) as usize],
                    }
                })
                .collect()
        })
        .collect()
}

const STUDIES: [&str; 3] = ["yaw-ring", "tilt-arm", "isolator-blade"];

#[divan::bench(args = STUDIES, sample_count = 10)]
fn one_thread(bencher: divan::Bencher, study: &str) {
    let prepared = prepared(study);
    let designs = designs(&prepared);
    bencher.counter(ItemsCount::new(DESIGNS)).bench(|| {
        designs
            .iter()
            .map(|design| prepared.evaluator.record(design).objectives[0])
            .sum::<f64>()
    });
}

#[divan::bench(args = STUDIES, sample_count = 10)]
fn two_threads(bencher: divan::Bencher, study: &str) {
    let prepared = prepared(study);
    let designs = designs(&prepared);
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(2)
        .build()
        .expect("threads");
    bencher.counter(ItemsCount::new(DESIGNS)).bench(|| {
        pool.install(|| {
            designs
                .par_iter()
                .map(|design| prepared.evaluator.record(design).objectives[0])
                .sum::<f64>()
        })
    });
}

#[divan::bench(args = STUDIES, sample_count = 10)]
fn baseline_one_thread(bencher: divan::Bencher, study: &str) {
    let prepared = prepared(study);
    let baseline = prepared.evaluator.baseline();
    bencher
        .counter(ItemsCount::new(1_usize))
        .bench(|| prepared.evaluator.record(divan::black_box(&baseline)));
}
