//! How good the search is, against published problems and figures.

mod support;

use fretwork::explore::{
    Function, Known, Next, Outcome, Plan, Problem, Settings, explore, hypervolume,
};
use rayon::prelude::*;
use support::problems::{TestProblem, all, named, single};
use support::reference::{fronts, geometric_mean, median, numbers, rivals};

fn run(problem: &dyn Problem, settings: &Settings) -> Outcome {
    explore(problem, settings, Known::default(), &mut |_| Next::Continue).unwrap()
}

/// Values of eight designs a problem, computed by general-purpose libraries: `tests/data/optimiser/README.md`.
#[test]
fn test_problems_are_as_published() {
    let mut checked = 0;
    for line in include_str!("data/optimiser/check_points.csv")
        .lines()
        .skip(1)
    {
        let cells: Vec<&str> = line.split(',').collect();
        let Some(problem) = all().into_iter().find(|problem| problem.name == cells[0]) else {
            continue;
        };
        let mut row = vec![f64::NAN; problem.width()];
        problem.evaluate(&numbers(cells[1]), &mut row);
        let expected = [numbers(cells[2]), numbers(cells[3])].concat();
        assert_eq!(row.len(), expected.len(), "{}", problem.name);
        for (found, expected) in row.iter().zip(&expected) {
            let error = (found - expected).abs() / expected.abs().max(1.0);
            assert!(error < 1e-9, "{}: {found} for {expected}", problem.name);
        }
        checked += 1;
    }
    assert_eq!(checked, 8 * all().len());
}

/// Sections and answer printed with the problem: `tests/data/optimiser/README.md`.
#[test]
fn ten_bar_truss_of_the_literature() {
    let indices = [41, 0, 38, 32, 0, 0, 27, 37, 37, 0].map(f64::from);
    let mut row = [0.0; 12];
    named("TENBAR-D").evaluate(&indices, &mut row);
    assert!((row[0] - 5_491.7).abs() < 0.05);
    assert!((row[1] - 1.998).abs() < 0.000_5);
}

/// Limits 0.876667, 0.543333 and 0.807401 of ZDT1, ZDT2 and DTLZ2 with reference point 1.1: Zitzler, Deb and Thiele
/// 2000; Deb and others 2002 (fronts from memory, hypervolumes worked).
#[test]
fn hypervolumes_of_known_fronts() {
    let points = 20_000;
    let curve = |second: fn(f64) -> f64| -> Vec<f64> {
        (0..=points)
            .map(|k| f64::from(k) / f64::from(points))
            .flat_map(|f| [f, second(f)])
            .collect()
    };
    let zdt1 = hypervolume(&curve(|f| 1.0 - f.sqrt()), &[1.1, 1.1]);
    let zdt2 = hypervolume(&curve(|f| 1.0 - f * f), &[1.1, 1.1]);
    assert!(
        (zdt1 - 0.876_667).abs() < 5e-5 && zdt1 < 0.876_667,
        "{zdt1}"
    );
    assert!(
        (zdt2 - 0.543_333).abs() < 5e-5 && zdt2 < 0.543_334,
        "{zdt2}"
    );
    let (mut sphere, steps) = (Vec::new(), 250);
    for i in 0..=steps {
        for k in 0..=steps {
            let (a, b) = [i, k]
                .map(|k| f64::from(k) / f64::from(steps) * std::f64::consts::FRAC_PI_2)
                .into();
            sphere.extend([a.cos() * b.cos(), a.cos() * b.sin(), a.sin()]);
        }
    }
    let dtlz2 = hypervolume(&sphere, &[1.1; 3]);
    assert!(
        (dtlz2 - 0.807_401).abs() < 5e-3 && dtlz2 < 0.807_401,
        "{dtlz2}"
    );
}

/// Median share of the reference front's hypervolume over eleven seeds. No share of the recipe was tuned with them, but
/// two of its rules were accepted while they were looked at.
fn median_ratio(problem: &TestProblem, evaluations: usize) -> f64 {
    let reference = &fronts()[problem.name];
    let ratio = |seed| {
        let outcome = run(problem, &Settings::new(Plan::Search, evaluations, seed));
        reference.ratio(&outcome, problem.width())
    };
    median((2_001..=2_011_u64).into_par_iter().map(ratio).collect())
}

/// No library's search measured is ahead on any problem, and over the constrained and mixed ones the gap to the
/// reference front is a small part of NSGA-II's: `tests/data/optimiser/README.md`. (`cargo bench --bench search` has
/// all budgets and problems; those whose last objective is what misses the constraints are solved too well to compare.)
fn ahead_of_libraries(evaluations: usize, share: f64) {
    let mut shares = Vec::new();
    for problem in all()
        .iter()
        .filter(|problem| !problem.name.starts_with("RE"))
    {
        let median = median_ratio(problem, evaluations);
        let rivals = rivals(problem.name, evaluations);
        assert!(
            median >= rivals.best,
            "{}: {median} is behind {} of {}",
            problem.name,
            rivals.best,
            rivals.best_algorithm
        );
        if problem.constraints() > 0 {
            shares.push((1.0 - median).max(1e-6) / (1.0 - rivals.nsga2));
        }
    }
    let mean = geometric_mean(&shares);
    assert!(shares.len() == 14 && mean < share, "{mean}");
}

#[test]
fn ahead_of_libraries_at_2_000_evaluations() {
    ahead_of_libraries(2_000, 0.25);
}

#[test]
fn ahead_of_libraries_at_10_000_evaluations() {
    ahead_of_libraries(10_000, 0.25);
}

/// Published optima, reached with 20,000 evaluations in the median of eleven seeds: welded beam 1.724852 (Coello,
/// Computers in Industry 41, 2000), pressure vessel of stocked plate 6059.714 (Kannan and Kramer, J. Mech. Design 116,
/// 1994, value from later studies), spring 0.012665 (Arora, Introduction to Optimum Design, 1989; value of later
/// studies), speed reducer 2994.471 (Golinski, J. Mechanisms 5, 1970), ten-bar truss of stocked sections 5490.74 lb
/// (Cai and Thierauf, 1993), gear train 2.700857e-12 (Sandgren, J. Mech. Design 112, 1990). Problems and values from
/// memory. Tolerance: the digits printed; the spring's valley is flat.
#[test]
fn published_optima_are_reached() {
    for (problem, best) in single::all() {
        let least = |seed| {
            let settings = Settings {
                polish: 0.05,
                ..Settings::new(Plan::Search, 20_000, seed)
            };
            let outcome = run(&problem, &settings);
            let design = outcome.front.first().expect("a feasible design");
            outcome.rows[design * problem.width()]
        };
        let median = median((2_001..=2_011_u64).into_par_iter().map(least).collect());
        let tolerance = if problem.name == "spring" { 1e-3 } else { 1e-6 };
        assert!(
            (median / best - 1.0).abs() < tolerance,
            "{}: {median} for {best}",
            problem.name
        );
    }
}

/// Four objectives: the share of what a sphere's positive part dominates that the front found does.
///
/// The front of DTLZ2 is that part of the unit sphere (Deb, Thiele, Laumanns, Zitzler, CEC 2002). Up to the reference
/// point 1.1 it dominates 1.1⁴ less the ball's sixteenth, π²/32.
#[test]
fn a_front_of_four_objectives_is_covered() {
    let axes = vec![support::problems::real(0.0, 1.0); 8];
    let sphere = Function::new(axes, 4, 0, |x, row| {
        let g = 1.0 + x[3..].iter().map(|x| (x - 0.5).powi(2)).sum::<f64>();
        let angle = |k: usize| x[k] * std::f64::consts::FRAC_PI_2;
        let (a, b, c) = (angle(0), angle(1), angle(2));
        row.copy_from_slice(&[
            g * a.cos() * b.cos() * c.cos(),
            g * a.cos() * b.cos() * c.sin(),
            g * a.cos() * b.sin(),
            g * a.sin(),
        ]);
    });
    let whole = 1.1_f64.powi(4) - std::f64::consts::PI.powi(2) / 32.0;
    let share = |seed| {
        let outcome = run(&sphere, &Settings::new(Plan::Search, 5_000, seed));
        let points: Vec<f64> = outcome
            .front
            .iter()
            .flat_map(|&design| outcome.rows[4 * design..][..4].to_vec())
            .collect();
        hypervolume(&points, &[1.1; 4]) / whole
    };
    let share = median((1..=3_u64).into_par_iter().map(share).collect());
    assert!(share > 0.87 && share < 1.0, "{share}");
}

/// After a limit has moved, an earlier front to start from is worth more than three times the evaluations.
#[test]
fn an_earlier_front_is_a_head_start() {
    let problem = named("CRE24");
    let width = problem.width();
    let tighter = |x: &[f64], row: &mut [f64]| {
        named("CRE24").evaluate(x, row);
        row[2 + 9] += 100.0;
    };
    let changed = Function::new(problem.axes().to_vec(), 2, 11, tighter);
    let before = run(&problem, &Settings::new(Plan::Search, 5_000, 1));
    let start = before.front.iter().step_by(before.front.len() / 200 + 1);
    let start: Vec<Vec<f64>> = start
        .map(|&design| before.xs[design * 7..(design + 1) * 7].to_vec())
        .collect();
    let reference = &fronts()["CRE24"];
    let share = |evaluations, start: &[Vec<f64>]| {
        let share = |seed| {
            let settings = Settings {
                start: start.to_vec(),
                ..Settings::new(Plan::Search, evaluations, seed)
            };
            reference.ratio(&run(&changed, &settings), width)
        };
        median((1..=11_u64).into_par_iter().map(share).collect())
    };
    let (warm, cold) = (share(700, &start), share(2_100, &[]));
    assert!(start.len() > 100 && warm > cold, "{warm} after {cold}");
}
