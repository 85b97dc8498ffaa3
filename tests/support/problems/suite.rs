//! The real-world suite without constraints: their violations, added up, are the last objective.

use std::f64::consts::PI;

use super::constrained::{cre22, cre24, cre25};

/// Sum of what misses 0 from above.
fn missed(limits: &[f64]) -> f64 {
    limits.iter().map(|limit| limit.max(0.0)).sum()
}

/// Four-bar truss.
pub fn re21(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let (force, modulus, length) = (10.0, 2e5, 200.0);
    let root = 2.0_f64.sqrt();
    f[0] = length * (2.0 * x[0] + root * x[1] + x[2].sqrt() + x[3]);
    f[1] = force * length / modulus
        * (2.0 / x[0] + 2.0 * root / x[1] - 2.0 * root / x[2] + 2.0 / x[3]);
}

/// Areas of reinforcement in stock, in square inches, with the misprint of the published code (3 and 10 for 3.10),
/// on which the published front rests.
const BARS: [f64; 77] = [
    0.20, 0.31, 0.40, 0.44, 0.60, 0.62, 0.79, 0.80, 0.88, 0.93, 1.0, 1.20, 1.24, 1.32, 1.40, 1.55,
    1.58, 1.60, 1.76, 1.80, 1.86, 2.0, 2.17, 2.20, 2.37, 2.40, 2.48, 2.60, 2.64, 2.79, 2.80, 3.0,
    3.08, 3.0, 10.0, 3.16, 3.41, 3.52, 3.60, 3.72, 3.95, 3.96, 4.0, 4.03, 4.20, 4.34, 4.40, 4.65,
    4.74, 4.80, 4.84, 5.0, 5.28, 5.40, 5.53, 5.72, 6.0, 6.16, 6.32, 6.60, 7.11, 7.20, 7.80, 7.90,
    8.0, 8.40, 8.69, 9.0, 9.48, 10.27, 11.0, 11.06, 11.85, 12.0, 13.0, 14.0, 15.0,
];

/// Wires in stock, in inches.
const WIRES: [f64; 42] = [
    0.009, 0.0095, 0.0104, 0.0118, 0.0128, 0.0132, 0.014, 0.015, 0.0162, 0.0173, 0.018, 0.02,
    0.023, 0.025, 0.028, 0.032, 0.035, 0.041, 0.047, 0.054, 0.063, 0.072, 0.08, 0.092, 0.105, 0.12,
    0.135, 0.148, 0.162, 0.177, 0.192, 0.207, 0.225, 0.244, 0.263, 0.283, 0.307, 0.331, 0.362,
    0.394, 0.4375, 0.5,
];

fn nearest(stock: &[f64], size: f64) -> f64 {
    let closer = |a: f64, b: &f64| {
        if (b - size).abs() < (a - size).abs() {
            *b
        } else {
            a
        }
    };
    stock.iter().fold(f64::INFINITY, closer)
}

/// Reinforced concrete beam.
pub fn re22(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let (steel, width, depth) = (nearest(&BARS, x[0]), x[1], x[2]);
    f[0] = 29.4 * steel + 0.6 * width * depth;
    f[1] = missed(&[
        180.0 - steel * depth + 7.735 * steel * steel / width,
        depth / width - 4.0,
    ]);
}

/// Pressure vessel.
pub fn re23(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let mut limits = [0.0; 2];
    super::constrained::pvessel(x, f, &mut limits);
    f[1] = missed(&[limits[0], limits[1], 1_296_000.0 + f[1]]);
}

/// Hatch cover.
pub fn re24(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let mut limits = [0.0; 4];
    super::constrained::hatch(x, f, &mut limits);
    f[1] = missed(&limits);
}

/// Coil spring.
pub fn re25(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let (turns, coil, wire) = (x[0].round(), x[1], nearest(&WIRES, x[2]));
    f[0] = PI * PI * coil * wire * wire * (turns + 2.0) / 4.0;
    let ratio = coil / wire;
    let curvature = (4.0 * ratio - 1.0) / (4.0 * ratio - 4.0) + 0.615 / ratio;
    let rate = 11.5e6 * wire.powi(4) / (8.0 * turns * coil.powi(3));
    let solid = 1.05 * (turns + 2.0) * wire;
    let free = 1_000.0 / rate + solid;
    f[1] = missed(&[
        8.0 * curvature * 1_000.0 * coil / (PI * wire.powi(3)) - 189_000.0,
        free - 14.0,
        3.0 - ratio,
        300.0 / rate - 6.0,
        300.0 / rate + 700.0 / rate + solid - free,
        700.0 / rate - 1.25,
    ]);
}

/// Two-bar truss.
pub fn re31(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let mut limits = [0.0; 3];
    super::constrained::cre21(x, &mut f[..2], &mut limits);
    f[2] = missed(&limits);
}

/// Welded beam.
pub fn re32(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let mut limits = [0.0; 4];
    cre22(x, &mut f[..2], &mut limits);
    f[2] = missed(&limits);
}

/// Disc brake; the published constant is 3.14, not π.
#[allow(clippy::approx_constant)]
pub fn re33(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let [inner, outer, force, faces] = [0, 1, 2, 3].map(|k| x[k]);
    let square = outer * outer - inner * inner;
    let cube = outer.powi(3) - inner.powi(3);
    f[0] = 4.9e-5 * square * (faces - 1.0);
    f[1] = 9.82e6 * square / (force * faces * cube);
    f[2] = missed(&[
        20.0 - (outer - inner),
        force / (3.14 * square) - 0.4,
        2.22e-3 * force * cube / square.powi(2) - 1.0,
        900.0 - 2.66e-2 * force * faces * cube / square,
    ]);
}

/// Speed reducer.
pub fn re35(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let mut limits = [0.0; 11];
    let mut x: [f64; 7] = x.try_into().expect("seven variables");
    x[2] = x[2].round();
    cre24(&x, &mut f[..2], &mut limits);
    f[2] = missed(&limits);
}

/// Gear train.
pub fn re36(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let mut limits = [0.0];
    let x: Vec<f64> = x.iter().map(|x| x.round()).collect();
    cre25(&x, &mut f[..2], &mut limits);
    f[2] = missed(&limits);
}

/// Rocket injector.
pub fn re37(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let [a, h, o, p] = [0, 1, 2, 3].map(|k| x[k]);
    f[0] = 0.692 + 0.477 * a - 0.687 * h - 0.080 * o - 0.0650 * p - 0.167 * a * a - 0.0129 * h * a
        + 0.0796 * h * h
        - 0.0634 * o * a
        - 0.0257 * o * h
        + 0.0877 * o * o
        - 0.0521 * p * a
        + 0.00156 * p * h
        + 0.00198 * p * o
        + 0.0184 * p * p;
    f[1] = 0.153 - 0.322 * a + 0.396 * h + 0.424 * o + 0.0226 * p + 0.175 * a * a + 0.0185 * h * a
        - 0.0701 * h * h
        - 0.251 * o * a
        + 0.179 * o * h
        + 0.0150 * o * o
        + 0.0134 * p * a
        + 0.0296 * p * h
        + 0.0752 * p * o
        + 0.0192 * p * p;
    f[2] = 0.370 - 0.205 * a + 0.0307 * h + 0.108 * o + 1.019 * p - 0.135 * a * a
        + 0.0141 * h * a
        + 0.0998 * h * h
        + 0.208 * o * a
        - 0.0301 * o * h
        - 0.226 * o * o
        + 0.353 * p * a
        - 0.0497 * p * o
        - 0.423 * p * p
        + 0.202 * h * a * a
        - 0.281 * o * a * a
        - 0.342 * h * h * a
        - 0.245 * h * h * o
        + 0.281 * o * o * h
        - 0.184 * p * p * a
        - 0.281 * h * a * o;
}
