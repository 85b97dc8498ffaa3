//! Published test problems of multi-objective design, with their sources in `tests/data/optimiser/README.md`.

mod analytic;
mod constrained;
pub mod single;
mod suite;
mod truss;

use std::f64::consts::{PI, SQRT_2};

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

impl TestProblem {
    /// Of what kind the problem is.
    pub fn group(&self) -> &'static str {
        if self.name.starts_with("RE") {
            "constraints as an objective"
        } else if self.constraints > 0 {
            "constrained and mixed"
        } else {
            "analytic"
        }
    }
}

pub fn real(low: f64, high: f64) -> Axis {
    Axis::Continuous {
        low,
        high,
        step: None,
        log: false,
    }
}

fn whole(low: i64, high: i64) -> Axis {
    Axis::Integer { low, high }
}

fn reals(bounds: &[(f64, f64)]) -> Vec<Axis> {
    bounds.iter().map(|&(low, high)| real(low, high)).collect()
}

pub fn named(name: &str) -> TestProblem {
    all()
        .into_iter()
        .find(|problem| problem.name == name)
        .expect("a problem of the list")
}

/// All problems: analytic ones, those with constraints, the suite whose last objective is what misses them.
pub fn all() -> Vec<TestProblem> {
    let mut problems = analytic_ones();
    problems.extend(constrained_ones());
    problems.extend(suite_ones());
    problems
}

fn problem(
    name: &'static str,
    axes: Vec<Axis>,
    objectives: usize,
    constraints: usize,
    formulas: Formulas,
) -> TestProblem {
    TestProblem {
        name,
        axes,
        objectives,
        constraints,
        formulas,
    }
}

fn analytic_ones() -> Vec<TestProblem> {
    let unit = |axes| vec![real(0.0, 1.0); axes];
    let mut zdt4_axes = vec![real(-5.0, 5.0); 10];
    zdt4_axes[0] = real(0.0, 1.0);
    vec![
        problem("ZDT1", unit(30), 2, 0, analytic::zdt1),
        problem("ZDT2", unit(30), 2, 0, analytic::zdt2),
        problem("ZDT3", unit(30), 2, 0, analytic::zdt3),
        problem("ZDT4", zdt4_axes, 2, 0, analytic::zdt4),
        problem("DTLZ2", unit(12), 3, 0, analytic::dtlz2),
    ]
}

/// Cross sections that span seven powers of ten are searched in their logarithm.
fn two_bars() -> Vec<Axis> {
    let log = Axis::Continuous {
        low: 1e-5,
        high: 100.0,
        step: None,
        log: true,
    };
    vec![log.clone(), log, real(1.0, 3.0)]
}

fn weld() -> Vec<Axis> {
    reals(&[(0.125, 5.0), (0.1, 10.0), (0.1, 10.0), (0.125, 5.0)])
}

fn reducer() -> Vec<Axis> {
    let mut axes = reals(&[
        (2.6, 3.6),
        (0.7, 0.8),
        (17.0, 28.0),
        (7.3, 8.3),
        (7.3, 8.3),
        (2.9, 3.9),
        (5.0, 5.5),
    ]);
    axes[2] = whole(17, 28);
    axes
}

fn vessel() -> Vec<Axis> {
    vec![
        whole(1, 100),
        whole(1, 100),
        real(10.0, 200.0),
        real(10.0, 240.0),
    ]
}

fn constrained_ones() -> Vec<TestProblem> {
    use constrained::*;
    let osy_axes = reals(&[
        (0.0, 10.0),
        (0.0, 10.0),
        (1.0, 5.0),
        (0.0, 6.0),
        (1.0, 5.0),
        (0.0, 10.0),
    ]);
    let car = reals(&[
        (0.5, 1.5),
        (0.45, 1.35),
        (0.5, 1.5),
        (0.5, 1.5),
        (0.875, 2.625),
        (0.4, 1.2),
        (0.4, 1.2),
    ]);
    let ship = reals(&[
        (150.0, 274.32),
        (20.0, 32.31),
        (13.0, 25.0),
        (10.0, 11.71),
        (14.0, 18.0),
        (0.63, 0.75),
    ]);
    let bars = Axis::Choice {
        count: truss::SECTIONS.len(),
    };
    let bars_and_height = [vec![bars.clone(); 10], vec![real(180.0, 540.0)]].concat();
    vec![
        problem("BNH", reals(&[(0.0, 5.0), (0.0, 3.0)]), 2, 2, bnh),
        problem("OSY", osy_axes, 2, 6, osy),
        problem("TNK", reals(&[(0.0, PI), (1e-30, PI)]), 2, 2, tnk),
        problem("WELDED", weld(), 2, 4, welded),
        problem("CRE21", two_bars(), 2, 3, cre21),
        problem("CRE22", weld(), 2, 4, cre22),
        problem("CRE24", reducer(), 2, 11, cre24),
        problem("CRE25", vec![whole(12, 60); 4], 2, 1, cre25),
        problem("CRE31", car, 3, 10, cre31),
        problem("CRE32", ship, 3, 9, cre32),
        problem("HATCH", reals(&[(0.5, 4.0), (0.5, 50.0)]), 2, 4, hatch),
        problem("PVESSEL", vessel(), 2, 2, pvessel),
        problem("TENBAR-D", vec![bars; 10], 2, 10, truss::tenbar),
        problem(
            "TENBAR-M",
            bars_and_height,
            2,
            11,
            truss::tenbar_of_any_height,
        ),
    ]
}

fn suite_ones() -> Vec<TestProblem> {
    use suite::*;
    let four_bars = reals(&[(1.0, 3.0), (SQRT_2, 3.0), (SQRT_2, 3.0), (1.0, 3.0)]);
    let concrete = reals(&[(0.2, 15.0), (0.0, 20.0), (0.0, 40.0)]);
    let spring = vec![whole(1, 70), real(0.6, 3.0), real(0.09, 0.5)];
    let brake = reals(&[
        (55.0, 80.0),
        (75.0, 110.0),
        (1_000.0, 3_000.0),
        (11.0, 20.0),
    ]);
    vec![
        problem("RE21", four_bars, 2, 0, re21),
        problem("RE22", concrete, 2, 0, re22),
        problem("RE23", vessel(), 2, 0, re23),
        problem("RE24", reals(&[(0.5, 4.0), (0.5, 50.0)]), 2, 0, re24),
        problem("RE25", spring, 2, 0, re25),
        problem("RE31", two_bars(), 3, 0, re31),
        problem("RE32", weld(), 3, 0, re32),
        problem("RE33", brake, 3, 0, re33),
        problem("RE35", reducer(), 3, 0, re35),
        problem("RE36", vec![whole(12, 60); 4], 3, 0, re36),
        problem("RE37", vec![real(0.0, 1.0); 4], 3, 0, re37),
    ]
}
