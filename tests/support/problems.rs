//! Published test problems of multi-objective design.

use std::f64::consts::PI;

use fretwork::explore::{Axis, Problem};

/// Writes objectives and constraint values (met at 0 or below) of a design.
type Formulas = fn(&[f64], &mut [f64], &mut [f64]);

/// A test problem.
pub struct TestProblem {
    pub name: &'static str,
    axes: Vec<Axis>,
    objectives: usize,
    constraints: usize,
    formulas: Formulas,
}

impl Problem for TestProblem {
    fn axes(&self) -> &[Axis] {
        &self.axes
    }
    fn objectives(&self) -> usize {
        self.objectives
    }
    fn constraints(&self) -> usize {
        self.constraints
    }
    fn width(&self) -> usize {
        self.objectives + self.constraints
    }
    fn evaluate(&self, x: &[f64], row: &mut [f64]) {
        let (f, g) = row.split_at_mut(self.objectives);
        (self.formulas)(x, f, g);
    }
}

fn real(low: f64, high: f64) -> Axis {
    Axis::Continuous {
        low,
        high,
        step: None,
        log: false,
    }
}

fn reals(bounds: &[(f64, f64)]) -> Vec<Axis> {
    bounds.iter().map(|&(low, high)| real(low, high)).collect()
}

/// All problems, with their sources in `tests/data/optimiser/README.md`.
pub fn all() -> Vec<TestProblem> {
    let problem = |name, axes, objectives, constraints, formulas| TestProblem {
        name,
        axes,
        objectives,
        constraints,
        formulas,
    };
    let log = Axis::Continuous {
        low: 1e-5,
        high: 100.0,
        step: None,
        log: true,
    };
    let mut zdt4_axes = vec![real(-5.0, 5.0); 10];
    zdt4_axes[0] = real(0.0, 1.0);
    let mut reducer = reals(&[
        (2.6, 3.6),
        (0.7, 0.8),
        (17.0, 28.0),
        (7.3, 8.3),
        (7.3, 8.3),
        (2.9, 3.9),
        (5.0, 5.5),
    ]);
    reducer[2] = Axis::Integer { low: 17, high: 28 };
    let thickness = Axis::Integer { low: 1, high: 100 };
    vec![
        problem("ZDT1", vec![real(0.0, 1.0); 30], 2, 0, zdt1 as Formulas),
        problem("ZDT4", zdt4_axes, 2, 0, zdt4),
        problem("DTLZ2", vec![real(0.0, 1.0); 12], 3, 0, dtlz2),
        problem("BNH", reals(&[(0.0, 5.0), (0.0, 3.0)]), 2, 2, bnh),
        problem(
            "OSY",
            reals(&[
                (0.0, 10.0),
                (0.0, 10.0),
                (1.0, 5.0),
                (0.0, 6.0),
                (1.0, 5.0),
                (0.0, 10.0),
            ]),
            2,
            6,
            osy,
        ),
        problem("TNK", reals(&[(0.0, PI), (1e-30, PI)]), 2, 2, tnk),
        problem(
            "WELDED",
            reals(&[(0.125, 5.0), (0.1, 10.0), (0.1, 10.0), (0.125, 5.0)]),
            2,
            4,
            welded,
        ),
        problem("CRE21", vec![log.clone(), log, real(1.0, 3.0)], 2, 3, cre21),
        problem("CRE24", reducer, 2, 11, cre24),
        problem(
            "CRE25",
            vec![Axis::Integer { low: 12, high: 60 }; 4],
            2,
            1,
            cre25,
        ),
        problem("HATCH", reals(&[(0.5, 4.0), (0.5, 50.0)]), 2, 4, hatch),
        problem(
            "PVESSEL",
            vec![
                thickness.clone(),
                thickness,
                real(10.0, 200.0),
                real(10.0, 240.0),
            ],
            2,
            2,
            pvessel,
        ),
        problem(
            "TENBAR-D",
            vec![
                Axis::Choice {
                    count: SECTIONS.len()
                };
                10
            ],
            2,
            10,
            tenbar,
        ),
    ]
}

pub fn named(name: &str) -> TestProblem {
    all()
        .into_iter()
        .find(|problem| problem.name == name)
        .expect("a problem of the list")
}

fn zdt1(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let g = 1.0 + 9.0 * x[1..].iter().sum::<f64>() / 29.0;
    (f[0], f[1]) = (x[0], g * (1.0 - (x[0] / g).sqrt()));
}

fn zdt4(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let g = 91.0
        + x[1..]
            .iter()
            .map(|x| x * x - 10.0 * (4.0 * PI * x).cos())
            .sum::<f64>();
    (f[0], f[1]) = (x[0], g * (1.0 - (x[0] / g).sqrt()));
}

fn dtlz2(x: &[f64], f: &mut [f64], _: &mut [f64]) {
    let g = 1.0 + x[2..].iter().map(|x| (x - 0.5).powi(2)).sum::<f64>();
    let (a, b) = (x[0] * PI / 2.0, x[1] * PI / 2.0);
    f.copy_from_slice(&[g * a.cos() * b.cos(), g * a.cos() * b.sin(), g * a.sin()]);
}

fn bnh(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    f[0] = 4.0 * x[0].powi(2) + 4.0 * x[1].powi(2);
    f[1] = (x[0] - 5.0).powi(2) + (x[1] - 5.0).powi(2);
    g[0] = ((x[0] - 5.0).powi(2) + x[1].powi(2) - 25.0) / 25.0;
    g[1] = (7.7 - (x[0] - 8.0).powi(2) - (x[1] + 3.0).powi(2)) / 7.7;
}

fn osy(x: &[f64], f: &mut [f64], g: &mut [f64]) {
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

fn tnk(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    f.copy_from_slice(x);
    g[0] = 1.0 + 0.1 * (16.0 * (x[0] / x[1]).atan()).cos() - x[0].powi(2) - x[1].powi(2);
    g[1] = 2.0 * ((x[0] - 0.5).powi(2) + (x[1] - 0.5).powi(2)) - 1.0;
}

fn welded(x: &[f64], f: &mut [f64], g: &mut [f64]) {
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

fn cre21(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let (a, b) = ((16.0 + x[2] * x[2]).sqrt(), (1.0 + x[2] * x[2]).sqrt());
    f[0] = x[0] * a + x[1] * b;
    f[1] = 20.0 * a / (x[0] * x[2]);
    g[0] = f[0] - 0.1;
    g[1] = f[1] - 1e5;
    g[2] = 80.0 * b / (x[2] * x[1]) - 1e5;
}

/// The published coefficient is 0.7854, not a quarter of π.
#[allow(clippy::approx_constant)]
fn cre24(x: &[f64], f: &mut [f64], g: &mut [f64]) {
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

fn cre25(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    f[0] = (6.931 - x[2] / x[0] * x[3] / x[1]).abs();
    f[1] = x.iter().copied().fold(0.0, f64::max);
    g[0] = f[0] / 6.931 - 0.5;
}

fn hatch(x: &[f64], f: &mut [f64], g: &mut [f64]) {
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

fn pvessel(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    let [t1, t2, r, l] = [0.0625 * x[0].round(), 0.0625 * x[1].round(), x[2], x[3]];
    f[0] = 0.6224 * t1 * r * l + 1.7781 * t2 * r * r + 3.1661 * t1 * t1 * l + 19.84 * t1 * t1 * r;
    f[1] = -(PI * r * r * l + 4.0 / 3.0 * PI * r.powi(3));
    g[0] = 0.0193 * r - t1;
    g[1] = 0.00954 * r - t2;
}

/// Sections in stock, in square inches.
const SECTIONS: [f64; 42] = [
    1.62, 1.80, 1.99, 2.13, 2.38, 2.62, 2.63, 2.88, 2.93, 3.09, 3.13, 3.38, 3.47, 3.55, 3.63, 3.84,
    3.87, 3.88, 4.18, 4.22, 4.49, 4.59, 4.80, 4.97, 5.12, 5.74, 7.22, 7.97, 11.5, 13.5, 13.9, 14.2,
    15.5, 16.0, 16.9, 18.8, 19.9, 22.0, 22.9, 26.5, 30.0, 33.5,
];

/// Plane truss by the stiffness method, two bays of 360 in.
fn tenbar(x: &[f64], f: &mut [f64], g: &mut [f64]) {
    const BARS: [(usize, usize); 10] = [
        (3, 5),
        (1, 3),
        (4, 6),
        (2, 4),
        (3, 4),
        (1, 2),
        (4, 5),
        (3, 6),
        (2, 3),
        (1, 4),
    ];
    const NODES: [(f64, f64); 6] = [
        (720.0, 360.0),
        (720.0, 0.0),
        (360.0, 360.0),
        (360.0, 0.0),
        (0.0, 360.0),
        (0.0, 0.0),
    ];
    let area = |bar: usize| SECTIONS[x[bar] as usize];
    let geometry = |bar: usize| {
        let ((ax, ay), (bx, by)) = (NODES[BARS[bar].0 - 1], NODES[BARS[bar].1 - 1]);
        let length = (bx - ax).hypot(by - ay);
        (
            [
                (ax - bx) / length,
                (ay - by) / length,
                (bx - ax) / length,
                (by - ay) / length,
            ],
            length,
        )
    };
    // Freedoms 0 to 7 are nodes 1 to 4; beyond, the fixed ones.
    let freedom = |bar: usize, k: usize| {
        [
            BARS[bar].0 - 1,
            BARS[bar].0 - 1,
            BARS[bar].1 - 1,
            BARS[bar].1 - 1,
        ][k] * 2
            + k % 2
    };
    let mut matrix = [[0.0; 9]; 8];
    matrix[3][8] = -100.0;
    matrix[7][8] = -100.0;
    f[0] = 0.0;
    for bar in 0..10 {
        let (direction, length) = geometry(bar);
        f[0] += 0.1 * area(bar) * length;
        for i in (0..4).filter(|&i| freedom(bar, i) < 8) {
            for j in (0..4).filter(|&j| freedom(bar, j) < 8) {
                matrix[freedom(bar, i)][freedom(bar, j)] +=
                    1e4 * area(bar) / length * direction[i] * direction[j];
            }
        }
    }
    for k in 0..8 {
        for row in k + 1..8 {
            let factor = matrix[row][k] / matrix[k][k];
            let pivot = matrix[k];
            matrix[row]
                .iter_mut()
                .zip(pivot)
                .skip(k)
                .for_each(|(m, p)| *m -= factor * p);
        }
    }
    let mut moved = [0.0; 12];
    for k in (0..8).rev() {
        let known: f64 = (k + 1..8)
            .map(|column| matrix[k][column] * moved[column])
            .sum();
        moved[k] = (matrix[k][8] - known) / matrix[k][k];
    }
    f[1] = moved.iter().fold(0.0, |most, m| m.abs().max(most));
    for (bar, g) in g.iter_mut().enumerate() {
        let (direction, length) = geometry(bar);
        let strain = (0..4)
            .map(|k| direction[k] * moved[freedom(bar, k)])
            .sum::<f64>()
            / length;
        *g = (1e4 * strain).abs() / 25.0 - 1.0;
    }
}
