//! The search against published problems and figures; its promises to the caller.

mod support;

use fretwork::explore::{
    Ending, Known, Next, Outcome, Plan, Problem, Settings, explore, hypervolume,
};
use support::problems::{all, named};
use support::reference::{fronts, median, numbers};

/// Runs without an observer, in a pool of some threads.
fn run(problem: &dyn Problem, settings: &Settings, threads: usize) -> Outcome {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .unwrap();
    pool.install(|| explore(problem, settings, Known::default(), &mut |_| Next::Continue).unwrap())
}

fn bits(values: &[f64]) -> Vec<u64> {
    values.iter().map(|value| value.to_bits()).collect()
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

#[test]
fn same_bytes_on_any_number_of_threads() {
    for name in ["CRE24", "TENBAR-D", "DTLZ2"] {
        let problem = named(name);
        let settings = Settings::new(Plan::Search, 1_500, 5);
        let one = run(&problem, &settings, 1);
        for threads in [2, 7] {
            let other = run(&problem, &settings, threads);
            assert_eq!(bits(&one.xs), bits(&other.xs));
            assert_eq!(bits(&one.rows), bits(&other.rows));
            assert_eq!(one.front, other.front);
            assert_eq!(one.trace, other.trace);
        }
        let seeded = run(
            &problem,
            &Settings {
                seed: 6,
                ..settings
            },
            1,
        );
        assert_ne!(bits(&one.xs), bits(&seeded.xs));
    }
}

/// A run stopped anywhere, in the refinement by Nelder-Mead too, and gone on with from its rows ends with the same
/// bytes, and evaluates no known design again.
#[test]
fn stopped_and_resumed_gives_the_same_bytes() {
    let problem = named("PVESSEL");
    let settings = Settings {
        polish: 0.2,
        ..Settings::new(Plan::Search, 1_200, 3)
    };
    let whole = run(&problem, &settings, 2);
    assert_eq!(whole.ending, Ending::Budget);
    let (axes, width) = (problem.axes().len(), problem.width());
    for known in [100, 700, 1_050, 1_190] {
        let known = Known {
            xs: &whole.xs[..known * axes],
            rows: &whole.rows[..known * width],
        };
        let resumed = explore(&problem, &settings, known, &mut |_| Next::Continue).unwrap();
        assert_eq!(bits(&whole.xs), bits(&resumed.xs));
        assert_eq!(bits(&whole.rows), bits(&resumed.rows));
        assert_eq!(whole.front, resumed.front);
    }
    let mut other = whole.xs[..10 * axes].to_vec();
    other[5] += 1.0;
    let known = Known {
        xs: &other,
        rows: &whole.rows[..10 * width],
    };
    assert!(explore(&problem, &settings, known, &mut |_| Next::Continue).is_err());
}

/// Median share of the reference front's hypervolume over five seeds, not below the published search with 5,000
/// evaluations (NSGA-II of a general library, 11 seeds, `tests/data/optimiser/README.md`).
#[test]
fn fronts_are_as_good_as_the_reference() {
    let bars = [
        ("ZDT1", 0.743),
        ("DTLZ2", 0.929),
        ("BNH", 0.9993),
        ("CRE21", 0.9974),
        ("CRE24", 0.9957),
        ("CRE25", 0.9988),
        ("PVESSEL", 0.974),
        ("TENBAR-D", 0.969),
    ];
    let fronts = fronts();
    for (name, bar) in bars {
        let problem = named(name);
        let ratio = |seed| {
            fronts[name].ratio(
                &run(&problem, &Settings::new(Plan::Search, 5_000, seed), 2),
                problem.width(),
            )
        };
        let median = median((1..=5).map(ratio).collect());
        assert!(median >= bar, "{name}: {median}");
    }
}
