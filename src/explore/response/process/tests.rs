//! Against a library, refits and differences.

use super::super::surface::{Bumps, Surface};
use super::*;

fn sample(count: usize) -> Sample {
    let at: Vec<Vec<f64>> = (0..count)
        .map(|k| {
            let place = |by: f64| ((k as f64 + 0.5) * by).fract() * 2.0 - 1.0;
            vec![place(0.618_034), place(0.414_214), place(0.732_051)]
        })
        .collect();
    let y = at
        .iter()
        .map(|at| (1.3 * at[0]).sin() + at[1] * at[1] * at[0] + 0.3 * at[2])
        .collect();
    let weights = (0..count).map(|k| 1.0 + (k % 3) as f64).collect();
    Sample { at, y, weights }
}

fn trend(sample: &Sample) -> Vec<Vec<f64>> {
    let column = |k: usize| sample.at.iter().map(|at| at[k]).collect();
    vec![vec![1.0; sample.y.len()], column(0), column(2)]
}

/// Mean of the posterior at three places without a trend, as a general-purpose library has it (scikit-learn 1.9.1,
/// `GaussianProcessRegressor`, `RBF` and `Matern(nu=2.5)` with lengths 0.8 and 1.5, `alpha` 1e-3 over the weight).
#[test]
fn posterior_of_a_library() {
    let sample = Sample {
        at: [
            [-0.9, -0.7],
            [-0.3, 0.8],
            [0.1, -0.2],
            [0.6, 0.5],
            [0.95, -0.85],
            [-0.6, 0.1],
            [0.3, 0.9],
        ]
        .map(Vec::from)
        .to_vec(),
        y: vec![1.2, -0.4, 0.7, 0.1, 2.3, 0.6, -0.9],
        weights: vec![1.0, 2.0, 1.0, 4.0, 1.0, 0.5, 1.0],
    };
    let cases = [
        (
            Kernel::SquaredExponential,
            [0.37398300415695473, 1.5672903934090745, 0.25714437122507583],
        ),
        (
            Kernel::Matern,
            [0.3821865661820387, 1.5505575302210572, 0.1110661944882726],
        ),
    ];
    for (kernel, right) in cases {
        let process = Process::new(kernel, &sample, &[], &[0, 1]);
        let parameters = [0.8_f64.ln(), 1.5_f64.ln(), 1e-3_f64.ln()];
        let state = process.state(&parameters).unwrap();
        let lengths = process.lengths(&parameters);
        let bumps = Bumps::new(kernel, &lengths, &sample.at, &state.weights);
        let surface = Surface::new(2, &[], &[], Some(bumps));
        for (at, right) in [[0.0, 0.0], [0.5, -0.5], [-0.8, 0.9]].iter().zip(right) {
            let value = surface.at(at);
            assert!(
                (value - right).abs() < 1e-6,
                "{kernel:?}: {value} for {right}"
            );
        }
    }
}

#[test]
fn gradient_is_that_of_the_criterion() {
    let sample = sample(23);
    let trend = trend(&sample);
    for kernel in [Kernel::SquaredExponential, Kernel::Matern] {
        let process = Process::new(kernel, &sample, &trend, &[0, 1, 1]);
        let parameters = vec![0.3, -0.2, -3.0];
        let value = |parameters: &[f64]| {
            process.state(parameters).unwrap().criterion + process.expectation(parameters).0
        };
        let slope = process.slope(&parameters, &process.state(&parameters).unwrap());
        for k in 0..3 {
            let by = |by: f64| {
                let mut parameters = parameters.clone();
                parameters[k] += by;
                value(&parameters)
            };
            let right = (by(1e-5) - by(-1e-5)) / 2e-5;
            assert!(
                (slope[k] - right).abs() < 1e-5 * (1.0 + right.abs()),
                "{kernel:?} {k}: {} for {right}",
                slope[k]
            );
        }
    }
}

#[test]
fn left_out_residuals_are_those_of_refits() {
    let sample = sample(19);
    let trend = trend(&sample);
    let parameters = [0.2, 0.1, 0.4, -4.0];
    for kernel in [Kernel::SquaredExponential, Kernel::Matern] {
        let process = Process::new(kernel, &sample, &trend, &[0, 1, 2]);
        let residuals = process.state(&parameters).unwrap().left_out();
        for out in 0..sample.y.len() {
            let rows: Vec<usize> = (0..sample.y.len()).filter(|&row| row != out).collect();
            let rest = sample.only(&rows);
            let columns: Vec<Vec<f64>> = trend
                .iter()
                .map(|column| rows.iter().map(|&row| column[row]).collect())
                .collect();
            let refit = Process::new(kernel, &rest, &columns, &[0, 1, 2]);
            let state = refit.state(&parameters).unwrap();
            let near = |at: &[f64]| {
                let distance = |k: usize| (at[k] - sample.at[out][k]) / parameters[k].exp();
                kernel.correlation((0..3).map(|k| distance(k).powi(2)).sum())
            };
            let bumps = rest.at.iter().zip(&state.weights);
            let line = trend.iter().zip(&state.coefficients);
            let prediction = bumps.map(|(at, weight)| weight * near(at)).sum::<f64>()
                + line.map(|(column, b)| column[out] * b).sum::<f64>();
            let right = sample.y[out] - prediction;
            assert!(
                (residuals[out] - right).abs() < 1e-9,
                "{kernel:?}: {} for {right}",
                residuals[out]
            );
        }
    }
}
