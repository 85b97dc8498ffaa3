//! Published problems of one objective, with the best value known.

use fretwork::explore::Axis;

use super::{TestProblem, problem, real, reals, reducer, truss, weld, whole};

/// Each problem beside the least feasible objective published, with its source in the README of the data.
pub fn all() -> Vec<(TestProblem, f64)> {
    let sections = Axis::Choice {
        count: truss::SECTIONS.len(),
    };
    let plates = vec![
        whole(1, 99),
        whole(1, 99),
        real(10.0, 200.0),
        real(10.0, 200.0),
    ];
    let coil = reals(&[(0.05, 2.0), (0.25, 1.3), (2.0, 15.0)]);
    vec![
        (problem("weld", weld(), 1, 7, welded_beam), 1.724_852),
        (problem("vessel", plates, 1, 4, vessel), 6_059.714),
        (problem("spring", coil, 1, 4, spring), 0.012_665),
        (
            problem("reducer", reducer(), 1, 11, speed_reducer),
            2_994.471,
        ),
        (
            problem("ten bars", vec![sections; 10], 1, 11, ten_bars),
            5_490.74,
        ),
        (
            problem("gears", vec![whole(12, 60); 4], 1, 0, gears),
            2.700_857e-12,
        ),
    ]
}

/// Least cost of a welded beam: Ragsdell and Phillips 1976, in the form of Coello 2000.
fn welded_beam(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [h, l, t, b] = [0, 1, 2, 3].map(|k| x[k]);
    let (load, length, young, shear_modulus) = (6_000.0, 14.0_f64, 30e6, 12e6);
    f[0] = 1.10471 * h * h * l + 0.04811 * t * b * (14.0 + l);
    let half = ((h + t) / 2.0).powi(2);
    let radius = (l * l / 4.0 + half).sqrt();
    let polar = 2.0 * 2.0_f64.sqrt() * h * l * (l * l / 12.0 + half);
    let twist = load * (length + l / 2.0) * radius / polar;
    let direct = load / (2.0_f64.sqrt() * h * l);
    let stress = (direct * direct + direct * twist * l / radius + twist * twist).sqrt();
    let buckling = 4.013 * young * (t * t * b.powi(6) / 36.0).sqrt() / (length * length)
        * (1.0 - t / (2.0 * length) * (young / (4.0 * shear_modulus)).sqrt());
    g.copy_from_slice(&[
        stress / 13_600.0 - 1.0,
        6.0 * load * length / (b * t * t) / 30_000.0 - 1.0,
        h - b,
        (0.10471 * h * h + 0.04811 * t * b * (14.0 + l)) / 5.0 - 1.0,
        0.125 - h,
        4.0 * load * length.powi(3) / (young * t.powi(3) * b) / 0.25 - 1.0,
        1.0 - buckling / load,
    ]);
}

/// Least cost of a pressure vessel with plates in sixteenths of an inch: Kannan and Kramer 1994.
fn vessel(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let mut limits = [0.0; 2];
    let mut goals = [0.0; 2];
    super::constrained::pvessel(x, &mut goals, &mut limits);
    f[0] = goals[0];
    g[..2].copy_from_slice(&limits);
    g[2] = (1_296_000.0 + goals[1]) / 1_296_000.0;
    g[3] = x[3] / 240.0 - 1.0;
}

/// Least mass of a spring in tension: Belegundu 1982, Arora 1989.
fn spring(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [d, coil, turns] = [0, 1, 2].map(|k| x[k]);
    f[0] = (turns + 2.0) * coil * d * d;
    g.copy_from_slice(&[
        1.0 - coil.powi(3) * turns / (71_785.0 * d.powi(4)),
        (4.0 * coil * coil - coil * d) / (12_566.0 * (coil * d.powi(3) - d.powi(4)))
            + 1.0 / (5_108.0 * d * d)
            - 1.0,
        1.0 - 140.45 * d / (coil * coil * turns),
        (coil + d) / 1.5 - 1.0,
    ]);
}

/// Least mass of a speed reducer: Golinski 1970. The published coefficient is 0.7854, not a quarter of π.
#[allow(clippy::approx_constant)]
fn speed_reducer(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [x1, x2, x3, x4, x5, x6, x7] = [0, 1, 2, 3, 4, 5, 6].map(|k| x[k]);
    let stress = |length: f64, load: f64, d: f64| {
        ((745.0 * length / (x2 * x3)).powi(2) + load).sqrt() / d.powi(3)
    };
    f[0] = 0.7854 * x1 * x2 * x2 * (3.3333 * x3 * x3 + 14.9334 * x3 - 43.0934)
        - 1.508 * x1 * (x6 * x6 + x7 * x7)
        + 7.4777 * (x6.powi(3) + x7.powi(3))
        + 0.7854 * (x4 * x6 * x6 + x5 * x7 * x7);
    g.copy_from_slice(&[
        27.0 / (x1 * x2 * x2 * x3) - 1.0,
        397.5 / (x1 * x2 * x2 * x3 * x3) - 1.0,
        1.93 * x4.powi(3) / (x2 * x3 * x6.powi(4)) - 1.0,
        1.93 * x5.powi(3) / (x2 * x3 * x7.powi(4)) - 1.0,
        stress(x4, 16.9e6, x6) / 110.0 - 1.0,
        stress(x5, 157.5e6, x7) / 85.0 - 1.0,
        x2 * x3 / 40.0 - 1.0,
        5.0 * x2 / x1 - 1.0,
        x1 / (12.0 * x2) - 1.0,
        (1.5 * x6 + 1.9) / x4 - 1.0,
        (1.1 * x7 + 1.9) / x5 - 1.0,
    ]);
}

/// Least weight of the ten-bar truss that moves 2 in at most: Rajeev and Krishnamoorthy 1992.
fn ten_bars(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let mut goals = [0.0; 2];
    truss::tenbar(x, &mut goals, &mut g[..10]);
    f[0] = goals[0];
    g[10] = goals[1] / 2.0 - 1.0;
}

/// A train of four gears nearest to the ratio 1 / 6.931: Sandgren 1990.
fn gears(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    f[0] = (1.0 / 6.931 - x[2] * x[3] / (x[0] * x[1])).powi(2);
}
