//! Constrained problems, each constraint met at 0 or below.

use std::f64::consts::PI;

pub fn bnh(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    f[0] = 4.0 * x[0].powi(2) + 4.0 * x[1].powi(2);
    f[1] = (x[0] - 5.0).powi(2) + (x[1] - 5.0).powi(2);
    g[0] = ((x[0] - 5.0).powi(2) + x[1].powi(2) - 25.0) / 25.0;
    g[1] = (7.7 - (x[0] - 8.0).powi(2) - (x[1] + 3.0).powi(2)) / 7.7;
}

pub fn osy(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let square = |k: usize, shift: f64| (x[k] - shift).powi(2);
    f[0] = -(25.0 * square(0, 2.0)
        + square(1, 2.0)
        + square(2, 1.0)
        + square(3, 4.0)
        + square(4, 1.0));
    f[1] = x.iter().map(|x| x * x).sum();
    g[0] = (2.0 - x[0] - x[1]) / 2.0;
    g[1] = (x[0] + x[1] - 6.0) / 6.0;
    g[2] = (x[1] - x[0] - 2.0) / 2.0;
    g[3] = (x[0] - 3.0 * x[1] - 2.0) / 2.0;
    g[4] = (square(2, 3.0) + x[3] - 4.0) / 4.0;
    g[5] = (4.0 - square(4, 3.0) - x[5]) / 4.0;
}

pub fn tnk(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    f.copy_from_slice(x);
    g[0] = 1.0 + 0.1 * (16.0 * (x[0] / x[1]).atan()).cos() - x[0].powi(2) - x[1].powi(2);
    g[1] = 2.0 * ((x[0] - 0.5).powi(2) + (x[1] - 0.5).powi(2)) - 1.0;
}

pub fn welded(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [h, l, t, b] = [x[0], x[1], x[2], x[3]];
    f[0] = 1.10471 * h * h * l + 0.04811 * t * b * (14.0 + l);
    f[1] = 2.1952 / (t.powi(3) * b);
    let radius_squared = 0.25 * (l * l + (h + t).powi(2));
    let direct = 6_000.0 / (2.0_f64.sqrt() * h * l);
    let twist = 6_000.0 * (14.0 + 0.5 * l) * radius_squared.sqrt()
        / (2.0_f64.sqrt() * h * l * (l * l / 12.0 + 0.25 * (h + t).powi(2)));
    let shear =
        (direct * direct + twist * twist + l * direct * twist / radius_squared.sqrt()).sqrt();
    let buckling = 64_746.022 * (1.0 - 0.028_234_6 * t) * t * b.powi(3);
    g[0] = (shear - 13_600.0) / 13_600.0;
    g[1] = (504_000.0 / (t * t * b) - 30_000.0) / 30_000.0;
    g[2] = (h - b) / 4.875;
    g[3] = (6_000.0 - buckling) / 6_000.0;
}

pub fn cre21(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let (a, b) = ((16.0 + x[2] * x[2]).sqrt(), (1.0 + x[2] * x[2]).sqrt());
    f[0] = x[0] * a + x[1] * b;
    f[1] = 20.0 * a / (x[0] * x[2]);
    g[0] = f[0] - 0.1;
    g[1] = f[1] - 1e5;
    g[2] = 80.0 * b / (x[2] * x[1]) - 1e5;
}

/// The published coefficient is 0.7854, not a quarter of π.
#[allow(clippy::approx_constant)]
pub fn cre24(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [x1, x2, x3, x4, x5, x6, x7] = [0, 1, 2, 3, 4, 5, 6].map(|k| x[k]);
    f[0] = 0.7854 * x1 * x2 * x2 * (10.0 * x3 * x3 / 3.0 + 14.933 * x3 - 43.0934)
        - 1.508 * x1 * (x6 * x6 + x7 * x7)
        + 7.477 * (x6.powi(3) + x7.powi(3))
        + 0.7854 * (x4 * x6 * x6 + x5 * x7 * x7);
    let stress = |length: f64, load: f64, d: f64| {
        ((745.0 * length / (x2 * x3)).powi(2) + load).sqrt() / (0.1 * d.powi(3))
    };
    f[1] = stress(x4, 1.69e7, x6);
    g.copy_from_slice(&[
        1.0 / (x1 * x2 * x2 * x3) - 1.0 / 27.0,
        1.0 / (x1 * x2 * x2 * x3 * x3) - 1.0 / 397.5,
        x4.powi(3) / (x2 * x3 * x6.powi(4)) - 1.0 / 1.93,
        x5.powi(3) / (x2 * x3 * x7.powi(4)) - 1.0 / 1.93,
        x2 * x3 - 40.0,
        x1 / x2 - 12.0,
        5.0 - x1 / x2,
        1.9 - x4 + 1.5 * x6,
        1.9 - x5 + 1.1 * x7,
        f[1] - 1_300.0,
        stress(x5, 1.575e8, x7) - 1_100.0,
    ]);
}

pub fn cre25(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    f[0] = (6.931 - x[2] / x[0] * x[3] / x[1]).abs();
    f[1] = x.iter().copied().fold(0.0, f64::max);
    g[0] = f[0] / 6.931 - 0.5;
}

pub fn hatch(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let modulus = 7e5;
    let buckling = modulus * x[0] * x[0] / 100.0;
    let bending = 4_500.0 / (x[0] * x[1]);
    f[0] = x[0] + 120.0 * x[1];
    f[1] = 562_000.0 / (modulus * x[0] * x[1] * x[1]);
    g[0] = bending / 700.0 - 1.0;
    g[1] = 1_800.0 / x[1] / 450.0 - 1.0;
    g[2] = f[1] / 1.5 - 1.0;
    g[3] = bending / buckling - 1.0;
}

pub fn pvessel(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [t1, t2, r, l] = [0.0625 * x[0].round(), 0.0625 * x[1].round(), x[2], x[3]];
    f[0] = 0.6224 * t1 * r * l + 1.7781 * t2 * r * r + 3.1661 * t1 * t1 * l + 19.84 * t1 * t1 * r;
    f[1] = -(PI * r * r * l + 4.0 / 3.0 * PI * r.powi(3));
    g[0] = 0.0193 * r - t1;
    g[1] = 0.00954 * r - t2;
}

/// As [`welded`] with another buckling load and constraints in their own units.
pub fn cre22(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [x1, x2, x3, x4] = [0, 1, 2, 3].map(|k| x[k]);
    let (load, length, young, shear_modulus) = (6_000.0, 14.0_f64, 30e6, 12e6);
    f[0] = 1.10471 * x1 * x1 * x2 + 0.04811 * x3 * x4 * (14.0 + x2);
    f[1] = 4.0 * load * length.powi(3) / (young * x4 * x3.powi(3));
    let half = ((x1 + x3) / 2.0_f64).powi(2);
    let radius = (x2 * x2 / 4.0 + half).sqrt();
    let polar = 2.0 * 2.0_f64.sqrt() * x1 * x2 * (x2 * x2 / 12.0 + half);
    let twist = load * (length + x2 / 2.0) * radius / polar;
    let direct = load / (2.0_f64.sqrt() * x1 * x2);
    let shear =
        (direct * direct + 2.0 * direct * twist * x2 / (2.0 * radius) + twist * twist).sqrt();
    let buckling = 4.013 * young * (x3 * x3 * x4.powi(6) / 36.0).sqrt() / (length * length)
        * (1.0 - x3 / (2.0 * length) * (young / (4.0 * shear_modulus)).sqrt());
    g.copy_from_slice(&[
        shear - 13_600.0,
        6.0 * load * length / (x4 * x3 * x3) - 30_000.0,
        x1 - x4,
        load - buckling,
    ]);
}

/// Car side impact.
pub fn cre31(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [x1, x2, x3, x4, x5, x6, x7] = [0, 1, 2, 3, 4, 5, 6].map(|k| x[k]);
    f[0] = 1.98 + 4.9 * x1 + 6.67 * x2 + 6.98 * x3 + 4.01 * x4 + 1.78 * x5 + 1e-5 * x6 + 2.73 * x7;
    f[1] = 4.72 - 0.5 * x4 - 0.19 * x2 * x3;
    let pillar = 10.58 - 0.674 * x1 * x2 - 0.67275 * x2;
    let door = 16.45 - 0.489 * x3 * x7 - 0.843 * x5 * x6;
    f[2] = 0.5 * (pillar + door);
    g.copy_from_slice(&[
        1.16 - 0.3717 * x2 * x4 - 0.0092928 * x3 - 1.0,
        0.261 - 0.0159 * x1 * x2 - 0.06486 * x1 - 0.019 * x2 * x7
            + 0.0144 * x3 * x5
            + 0.0154464 * x6
            - 0.32,
        0.214 + 0.00817 * x5 - 0.045195 * x1 - 0.0135168 * x1 + 0.03099 * x2 * x6 - 0.018 * x2 * x7
            + 0.007176 * x3
            + 0.023232 * x3
            - 0.00364 * x5 * x6
            - 0.018 * x2 * x2
            - 0.32,
        0.74 - 0.61 * x2 - 0.031296 * x3 - 0.031872 * x7 + 0.227 * x2 * x2 - 0.32,
        28.98 + 3.818 * x3 - 4.2 * x1 * x2 + 1.27296 * x6 - 2.68065 * x7 - 32.0,
        33.86 + 2.95 * x3 - 5.057 * x1 * x2 - 3.795 * x2 - 3.4431 * x7 + 1.45728 - 32.0,
        46.36 - 9.9 * x2 - 4.4505 * x1 - 32.0,
        f[1] - 4.0,
        pillar - 9.9,
        door - 15.7,
    ]);
}

/// A bulk carrier: cost of transport, weight of the ship, cargo a year.
pub fn cre32(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [l, b, d, t, knots, block] = [0, 1, 2, 3, 4, 5].map(|k| x[k]);
    let displacement = 1.025 * l * b * t * block;
    let froude = 0.5144 * knots / (9.8065 * l).sqrt();
    let factor = 4_977.06 * block * block - 8_105.61 * block + 4_456.51;
    let slope = -10_847.2 * block * block + 12_817.0 * block - 6_960.32;
    let power = displacement.powf(2.0 / 3.0) * knots.powi(3) / (factor + slope * froude);
    let outfit = l.powf(0.8) * b.powf(0.6) * d.powf(0.3) * block.powf(0.1);
    let steel = 0.034 * l.powf(1.7) * b.powf(0.7) * d.powf(0.4) * block.sqrt();
    let ship = steel + outfit + 0.17 * power.powf(0.9);
    let price = 1.3 * (2_000.0 * steel.powf(0.85) + 3_500.0 * outfit + 2_400.0 * power.powf(0.8));
    let dead_weight = displacement - ship;
    let sea_days = 5_000.0 / 24.0 * knots;
    let consumption = 0.19 * power * 24.0 / 1_000.0 + 0.2;
    let fuel = 1.05 * consumption * sea_days * 100.0;
    let cargo = dead_weight - consumption * (sea_days + 5.0) - 2.0 * dead_weight.sqrt();
    let trips = 350.0 / (sea_days + 2.0 * (cargo / 8_000.0 + 0.5));
    let voyages = (fuel + 6.3 * dead_weight.powf(0.8)) * trips;
    let costs = 0.2 * price + 40_000.0 * dead_weight.powf(0.3) + voyages;
    (f[0], f[1], f[2]) = (costs / (cargo * trips), ship, -cargo * trips);
    let rise = (0.085 * block - 0.002) * b * b / (t * block);
    g.copy_from_slice(&[
        6.0 - l / b,
        l / d - 15.0,
        l / t - 19.0,
        t - 0.45 * dead_weight.powf(0.31),
        t - 0.7 * d - 0.7,
        dead_weight - 500_000.0,
        3_000.0 - dead_weight,
        froude - 0.32,
        0.07 * b - (0.53 * t + rise - (1.0 + 0.52 * d)),
    ]);
}
