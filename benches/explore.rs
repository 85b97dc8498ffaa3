//! What the search and its parts cost: `cargo bench --bench explore`.
//!
//! `search`: time of a whole run of 10,000 evaluations on one thread, the cheap test problem included; divide by
//! 10,000 for the overhead of a design.

#[path = "../tests/support/mod.rs"]
mod support;

use divan::{Bencher, black_box};
use fretwork::explore::{Known, Next, Plan, Settings, explore, hypervolume};

fn main() {
    divan::main();
}

fn run(name: &str, settings: &Settings) -> usize {
    let problem = support::problems::named(name);
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("a pool");
    pool.install(|| {
        explore(&problem, settings, Known::default(), &mut |_| {
            Next::Continue
        })
    })
    .expect("a run")
    .front
    .len()
}

#[divan::bench(args = ["BNH", "OSY", "CRE24", "PVESSEL", "ZDT1", "TENBAR-D", "DTLZ2"], sample_count = 20)]
fn search(bencher: Bencher, name: &str) {
    let settings = Settings::new(Plan::Search, 10_000, 1);
    bencher.bench(|| run(black_box(name), &settings));
}

#[divan::bench(sample_count = 20)]
fn sobol(bencher: Bencher) {
    let settings = Settings::new(Plan::Sobol, 10_000, 1);
    bencher.bench(|| run(black_box("CRE24"), &settings));
}

#[divan::bench(args = [1_000, 10_000])]
fn hypervolume_of_a_sphere(bencher: Bencher, points: u32) {
    let golden = 0.618_033_988_749_895_f64;
    let point = |k: u32| {
        let (a, b) = (
            (f64::from(k) * golden).fract(),
            (f64::from(k) + 0.5) / f64::from(points),
        );
        let (angle, level) = (a * std::f64::consts::FRAC_PI_2, (1.0 - b * b).sqrt());
        [angle.cos() * level, angle.sin() * level, b]
    };
    let points: Vec<f64> = (0..points).flat_map(point).collect();
    bencher.bench(|| hypervolume(black_box(&points), &[1.1; 3]));
}
