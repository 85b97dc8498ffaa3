//! Least squares against certified values and worked examples.

use fretwork::analyse::{Fit, RegressionError, regress};

/// Columns of a file of numbers with one head line.
fn columns(text: &str) -> Vec<Vec<f64>> {
    let rows: Vec<Vec<f64>> = text
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(|n| n.parse().unwrap()).collect())
        .collect();
    let column = |k: usize| rows.iter().map(|row| row[k]).collect();
    (0..rows[0].len()).map(column).collect()
}

fn near(value: f64, right: f64, tolerance: f64) {
    let off = (value - right).abs();
    assert!(
        off <= tolerance * right.abs(),
        "{value} for {right}: {}",
        off / right.abs()
    );
}

fn check(fit: &Fit, values: &[f64], errors: &[f64], tolerance: f64) {
    assert_eq!(fit.coefficients.len(), values.len());
    for (k, found) in fit.coefficients.iter().enumerate() {
        let found = found.expect("a coefficient");
        near(found.value, values[k], tolerance);
        near(found.error, errors[k], tolerance);
        near(found.t, values[k] / errors[k], 2.0 * tolerance);
    }
}

/// NIST StRD Longley, certified; 1e-7 is asked of doubles, columns being nearly dependent.
#[test]
fn longley() {
    let mut x = columns(include_str!("data/regression/longley.csv"));
    let y = x.pop().unwrap();
    let fit = regress(&x, &y).unwrap();
    let values = [
        -3482258.63459582,
        15.0618722713733,
        -0.0358191792925910,
        -2.02022980381683,
        -1.03322686717359,
        -0.0511041056535807,
        1829.15146461355,
    ];
    let errors = [
        890420.383607373,
        84.9149257747669,
        0.0334910077722432,
        0.488399681651699,
        0.214274163161675,
        0.226073200069370,
        455.478499142212,
    ];
    check(&fit, &values, &errors, 1e-9);
    near(fit.residual, 836424.055505915, 1e-10);
    near(fit.deviation, (836424.055505915_f64 / 9.0).sqrt(), 1e-10);
    // R² 0.995479004577296 and F 330.285339234588 are certified as well (from memory).
    near(fit.r2, 0.995479004577296, 1e-12);
    near(fit.f, 330.285339234588, 1e-10);
    assert_eq!(fit.freedom, 9);
}

/// NIST StRD Norris, certified.
#[test]
fn norris() {
    let data = columns(include_str!("data/regression/norris.csv"));
    let fit = regress(&data[..1], &data[1]).unwrap();
    let values = [-0.262323073774029, 1.00211681802045];
    check(
        &fit,
        &values,
        &[0.232818234301152, 0.429796848199937e-3],
        1e-11,
    );
    near(fit.deviation, 0.884796396144373, 1e-12);
    near(fit.r2, 0.999993745883712, 1e-14);
}

/// NIST StRD Pontius, certified: a quadratic whose columns differ by 6 powers of ten. Every load comes twice, so the
/// fit can be held against the scatter: a quadratic lacks nothing, a straight line much.
#[test]
fn pontius() {
    let data = columns(include_str!("data/regression/pontius.csv"));
    let squares: Vec<f64> = data[0].iter().map(|x| x * x).collect();
    let fit = regress(&[data[0].clone(), squares], &data[1]).unwrap();
    let values = [
        0.673565789473684e-3,
        0.732059160401003e-6,
        -0.316081871345029e-14,
    ];
    let errors = [
        0.107938612033077e-3,
        0.157817399981659e-9,
        0.486652849992036e-16,
    ];
    check(&fit, &values, &errors, 1e-10);
    near(fit.residual, 0.155761768796992e-5, 1e-10);
    let lack = fit.lack_of_fit.unwrap();
    assert_eq!((lack.lack.1, lack.pure.1), (17, 20));
    near(lack.lack.0 + lack.pure.0, fit.residual, 1e-12);
    assert!(lack.p > 0.05, "{}", lack.p);
    let line = regress(&data[..1], &data[1]).unwrap().lack_of_fit.unwrap();
    assert!(line.p < 1e-6, "{}", line.p);
}

/// NIST StRD Wampler1: degree 5, exact.
#[test]
fn wampler() {
    let x: Vec<f64> = (0..21).map(f64::from).collect();
    let powers: Vec<Vec<f64>> = (1..=5)
        .map(|k| x.iter().map(|x| x.powi(k)).collect())
        .collect();
    let y: Vec<f64> = x.iter().map(|x| (0..=5).map(|k| x.powi(k)).sum()).collect();
    let fit = regress(&powers, &y).unwrap();
    for found in &fit.coefficients {
        near(found.unwrap().value, 1.0, 1e-8);
    }
    near(fit.r2, 1.0, 1e-14);
}

/// A 2² with four centres, worked in lecture slides on response surfaces: coefficients, standard error of the slopes
/// (by the scatter of the centres), curvature, direction of steepest ascent.
#[test]
fn corners_and_centres() {
    let a = vec![-1.0, 1.0, -1.0, 1.0, 0.0, 0.0, 0.0, 0.0];
    let b = vec![-1.0, -1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0];
    let y = [775.0, 670.0, 890.0, 730.0, 745.0, 760.0, 780.0, 720.0];
    let ab: Vec<f64> = a.iter().zip(&b).map(|(a, b)| a * b).collect();
    let corner: Vec<f64> = a.iter().map(|a| a * a).collect();
    let fit = regress(&[a.clone(), b.clone(), ab, corner], &y).unwrap();
    let [mean, slope_a, slope_b, _, curvature] =
        [0, 1, 2, 3, 4].map(|k| fit.coefficients[k].unwrap());
    near(slope_a.value, -66.25, 1e-12);
    near(slope_b.value, 43.75, 1e-12);
    // The constant is the mean of the centres, 751.25; that of the corners, 766.25, lies 15 above it.
    near(mean.value, 751.25, 1e-12);
    near(curvature.value, 15.0, 1e-12);
    near(slope_a.error, 12.64499, 1e-6);
    near(curvature.error, 17.88272, 1e-6);
    let length = slope_a.value.hypot(slope_b.value);
    near(slope_a.value / length, -0.83446, 1e-5);
    near(slope_b.value / length, 0.55106, 1e-5);
    // Probabilities of t with 3 degrees of freedom: a closed form.
    let t: f64 = slope_a.t.abs() / 3.0_f64.sqrt();
    let inside = 2.0 / std::f64::consts::PI * (t.atan() + t / (1.0 + t * t));
    near(slope_a.p, 1.0 - inside, 1e-9);
    assert_eq!(fit.freedom, 3);
}

/// The rows left out one by one, really left out.
#[test]
fn press_is_what_leaving_out_gives() {
    let data = columns(include_str!("data/regression/norris.csv"));
    let fit = regress(&data[..1], &data[1]).unwrap();
    let mut press = 0.0;
    for out in 0..36 {
        let without = |values: &[f64]| -> Vec<f64> {
            let kept = values.iter().enumerate().filter(|(row, _)| *row != out);
            kept.map(|(_, value)| *value).collect()
        };
        let part = regress(&[without(&data[0])], &without(&data[1])).unwrap();
        let [constant, slope] = [0, 1].map(|k| part.coefficients[k].unwrap().value);
        press += (data[1][out] - constant - slope * data[0][out]).powi(2);
    }
    near(fit.press, press, 1e-9);
    assert!(fit.predicted_r2 < fit.adjusted_r2 && fit.adjusted_r2 < fit.r2);
}

/// A column that others hold is left out, and so is one that is constant; the rest is as without them.
#[test]
fn dependent_columns_are_left_out() {
    let a = vec![1.0, 2.0, 3.0, 4.0, 5.0];
    let double: Vec<f64> = a.iter().map(|a| 7.0 - 2.0 * a).collect();
    let y = [1.0, 3.0, 2.0, 5.0, 4.0];
    let alone = regress(std::slice::from_ref(&a), &y).unwrap();
    let fit = regress(&[a, double, vec![0.1; 5]], &y).unwrap();
    assert_eq!(
        fit.coefficients
            .iter()
            .filter(|each| each.is_some())
            .count(),
        2
    );
    assert!(fit.coefficients[3].is_none());
    near(fit.r2, alone.r2, 1e-12);
    assert_eq!(fit.freedom, alone.freedom);
}

#[test]
fn what_cannot_be_fitted_is_refused() {
    assert_eq!(
        regress(&[vec![1.0]], &[1.0, 2.0]),
        Err(RegressionError::Ragged)
    );
    assert_eq!(
        regress(&[], &[1.0, f64::NAN]),
        Err(RegressionError::NotFinite)
    );
    let few = |rows, coefficients| Err(RegressionError::TooFewRows { rows, coefficients });
    assert_eq!(regress(&[], &[]), few(0, 1));
    // As many rows as coefficients: exact, without statistics.
    let fit = regress(&[vec![0.0, 1.0]], &[3.0, 5.0]).unwrap();
    assert_eq!(fit.freedom, 0);
    near(fit.coefficients[1].unwrap().value, 2.0, 1e-15);
    assert!(fit.deviation.is_nan() && fit.coefficients[1].unwrap().p.is_nan());
    // A constant measure has no variance to explain.
    let flat = regress(&[vec![0.0, 1.0, 2.0]], &[4.0; 3]).unwrap();
    assert!(flat.r2.is_nan());
    near(flat.coefficients[0].unwrap().value, 4.0, 1e-15);
    let constant = regress(&[], &[1.0, 2.0, 6.0]).unwrap();
    near(constant.coefficients[0].unwrap().value, 3.0, 1e-15);
}
