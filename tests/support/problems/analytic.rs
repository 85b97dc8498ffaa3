//! Unconstrained problems whose fronts are formulas.

use std::f64::consts::PI;

pub fn zdt1(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let g = 1.0 + 9.0 * x[1..].iter().sum::<f64>() / 29.0;
    (f[0], f[1]) = (x[0], g * (1.0 - (x[0] / g).sqrt()));
}

pub fn zdt4(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let g = 91.0
        + x[1..]
            .iter()
            .map(|x| x * x - 10.0 * (4.0 * PI * x).cos())
            .sum::<f64>();
    (f[0], f[1]) = (x[0], g * (1.0 - (x[0] / g).sqrt()));
}

pub fn dtlz2(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let g = 1.0 + x[2..].iter().map(|x| (x - 0.5).powi(2)).sum::<f64>();
    let (a, b) = (x[0] * PI / 2.0, x[1] * PI / 2.0);
    f.copy_from_slice(&[g * a.cos() * b.cos(), g * a.cos() * b.sin(), g * a.sin()]);
}

pub fn zdt2(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let g = 1.0 + 9.0 * x[1..].iter().sum::<f64>() / 29.0;
    (f[0], f[1]) = (x[0], g * (1.0 - (x[0] / g).powi(2)));
}

pub fn zdt3(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let g = 1.0 + 9.0 * x[1..].iter().sum::<f64>() / 29.0;
    let wave = x[0] / g * (10.0 * PI * x[0]).sin();
    (f[0], f[1]) = (x[0], g * (1.0 - (x[0] / g).sqrt() - wave));
}
