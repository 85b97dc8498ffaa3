//! Time of samplers (spaces whose designs cost nothing to evaluate) and of what is learnt from their designs.

use divan::Bencher;
use fretwork::analyse::{elementary, indices};
use fretwork::explore::screening::{blocks, shares, trajectories};
use fretwork::explore::{Axis, Evenness, Known, Next, Plan, Problem, Settings, explore};

fn main() {
    divan::main();
}

struct Cube(Vec<Axis>);

impl Problem for Cube {
    fn axes(&self) -> &[Axis] {
        &self.0
    }
    fn objectives(&self) -> usize {
        0
    }
    fn constraints(&self) -> usize {
        0
    }
    fn width(&self) -> usize {
        1
    }
    fn evaluate(&self, _: &[f64], row: &mut [f64]) {
        row[0] = 0.0;
    }
}

fn cube(axes: usize) -> Vec<Axis> {
    let axis = Axis::Continuous {
        low: 0.0,
        high: 1.0,
        step: None,
        log: false,
    };
    vec![axis; axes]
}

fn sample(bencher: Bencher, plan: Plan, designs: usize) {
    let space = Cube(cube(8));
    let settings = Settings::new(plan, designs, 1);
    bencher.bench_local(|| {
        explore(&space, &settings, Known::default(), &mut |_| Next::Continue).map(|found| found.xs)
    });
}

/// 1,024 designs of 8 axes; the bar is 50 ms.
#[divan::bench(args = [Evenness::Discrepancy, Evenness::Distance])]
fn even_latin_hypercube(bencher: Bencher, by: Evenness) {
    sample(bencher, Plan::EvenLatinHypercube { by }, 1_024);
}

#[divan::bench]
fn space_filling_of_1024(bencher: Bencher) {
    sample(bencher, Plan::SpaceFilling, 1_024);
}

#[divan::bench(args = ["latin hypercube", "sobol", "halton"])]
fn hundred_thousand(bencher: Bencher, plan: &str) {
    let plan = match plan {
        "sobol" => Plan::Sobol,
        "halton" => Plan::Halton,
        _ => Plan::LatinHypercube,
    };
    sample(bencher, plan, 100_000);
}

/// Sobol' indices with their intervals of one measure, 7 axes, 2,048 blocks.
#[divan::bench]
fn indices_of_one_measure(bencher: Bencher) {
    let axes = cube(7);
    let designs = blocks(&axes, 2_048, 1).expect("seven axes");
    let places = shares(&axes, &designs).expect("seven axes");
    let measure = |x: &[f64]| x.iter().product::<f64>() + x[0] * x[0] + x[3];
    let values: Vec<f64> = designs.chunks(7).map(measure).collect();
    bencher.bench_local(|| indices(&places, &values, 7, 1));
}

#[divan::bench]
fn elementary_effects_of_one_measure(bencher: Bencher) {
    let axes = cube(7);
    let designs = trajectories(&axes, 100, 1).expect("seven axes");
    let places = shares(&axes, &designs).expect("seven axes");
    let measure = |x: &[f64]| x.iter().product::<f64>() + x[0] * x[0] + x[3];
    let values: Vec<f64> = designs.chunks(7).map(measure).collect();
    bencher.bench_local(|| elementary(&places, &values, 7));
}
