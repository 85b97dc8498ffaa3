//! The search against published problems and figures; its promises to the caller.

mod support;

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};

use fretwork::explore::{
    Axis, Ending, Error, Known, Next, Outcome, Plan, Problem, Settings, explore, hypervolume,
};
use support::problems::{TestProblem, all, named};
use support::reference::{Reference, fronts, median, numbers};

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

/// Median share of the reference front's hypervolume over eleven seeds with 5,000 evaluations. DTLZ2, TNK and CRE25:
/// not below a published search (NSGA-II of a general library, 11 seeds). The others: a gap to 1 of at most 1.3 times
/// that of the best recipe known to us (11 seeds), which is stricter, except on HATCH, where the published search
/// reaches 0.99982 and we 0.99979.
#[test]
fn fronts_are_as_good_as_the_reference() {
    let bars = [
        ("ZDT1", 0.9622),
        ("DTLZ2", 0.928_9),
        ("BNH", 0.999_36),
        ("TNK", 0.980_7),
        ("CRE21", 0.999_29),
        ("CRE24", 0.999_14),
        ("CRE25", 0.998_86),
        ("HATCH", 0.999_75),
        ("PVESSEL", 0.989_4),
        ("TENBAR-D", 0.981_5),
    ];
    let fronts = fronts();
    for (name, bar) in bars {
        let median = median_ratio(&fronts[name], name, 5_000);
        assert!(median >= bar, "{name}: {median}");
    }
}

/// With 10,000 evaluations, two problems on which a search is easily stuck. WELDED: not below the published search.
/// OSY: not below the best recipe known to us (0.9355). A known gap: the published search reaches 0.9877 there, we
/// 0.947 (median of 101 other seeds, which scatter from 0.57 to 0.998).
#[test]
fn hard_fronts_are_reached() {
    let fronts = fronts();
    for (name, bar) in [("WELDED", 0.997), ("OSY", 0.935_5)] {
        let median = median_ratio(&fronts[name], name, 10_000);
        assert!(median >= bar, "{name}: {median}");
    }
}

fn median_ratio(reference: &Reference, name: &str, evaluations: usize) -> f64 {
    let problem = named(name);
    let ratio = |seed| {
        reference.ratio(
            &run(&problem, &Settings::new(Plan::Search, evaluations, seed), 2),
            problem.width(),
        )
    };
    median((1..=11).map(ratio).collect())
}

/// Stopped anywhere, inside a block or while polishing, a run goes on from its rows without evaluating them again.
#[test]
fn a_stopped_run_ends_with_the_same_bytes() {
    let problem = named("CRE24");
    for plan in [Plan::Search, Plan::Sobol, Plan::LatinHypercube] {
        let settings = Settings {
            polish: 0.2,
            ..Settings::new(plan, 1_200, 3)
        };
        let whole = run(&problem, &settings, 2);
        let axes = problem.axes().len();
        for known in [0, 1, 77, 500, 985, 1_000, 1_199, 1_200] {
            let evaluations = AtomicUsize::new(0);
            let counted = Counted {
                problem: &problem,
                evaluations: &evaluations,
            };
            let known_part = Known {
                xs: &whole.xs[..known * axes],
                rows: &whole.rows[..known * problem.width()],
            };
            let again = explore(&counted, &settings, known_part, &mut |_| Next::Continue).unwrap();
            assert_eq!(bits(&whole.xs), bits(&again.xs));
            assert_eq!(bits(&whole.rows), bits(&again.rows));
            assert_eq!(
                (&whole.front, &whole.trace, whole.ending),
                (&again.front, &again.trace, again.ending)
            );
            assert!(evaluations.into_inner() <= 1_200 - known + 1);
        }
        let mut other = whole.xs.clone();
        other[40 * axes] += 1e-9;
        let known = Known {
            xs: &other,
            rows: &whole.rows,
        };
        let refused = explore(&problem, &settings, known, &mut |_| Next::Continue);
        assert_eq!(refused.unwrap_err(), Error::KnownDiffers { design: 40 });
        let known = Known {
            xs: &other[1..],
            rows: &whole.rows,
        };
        assert_eq!(
            explore(&problem, &settings, known, &mut |_| Next::Continue).unwrap_err(),
            Error::BadKnown
        );
    }
}

struct Counted<'p> {
    problem: &'p TestProblem,
    evaluations: &'p AtomicUsize,
}

impl Problem for Counted<'_> {
    fn axes(&self) -> &[Axis] {
        self.problem.axes()
    }
    fn objectives(&self) -> usize {
        self.problem.objectives()
    }
    fn constraints(&self) -> usize {
        self.problem.constraints()
    }
    fn width(&self) -> usize {
        self.problem.width()
    }
    fn evaluate(&self, x: &[f64], row: &mut [f64]) {
        self.evaluations.fetch_add(1, Ordering::Relaxed);
        self.problem.evaluate(x, row);
    }
}

#[test]
fn the_observer_sees_every_design_once_and_can_stop() {
    let problem = named("OSY");
    let mut settings = Settings::new(Plan::Search, 2_000, 9);
    settings.start = vec![vec![5.0, 1.0, 2.0, 0.0, 5.0, 0.0]];
    let mut xs = Vec::new();
    let outcome = explore(&problem, &settings, Known::default(), &mut |progress| {
        assert_eq!(progress.block.start, xs.len() / 6);
        xs.extend_from_slice(progress.xs);
        assert_eq!(progress.block.end, xs.len() / 6);
        if progress.block.end > 700 {
            Next::Stop
        } else {
            Next::Continue
        }
    })
    .unwrap();
    assert_eq!(outcome.ending, Ending::Stopped);
    assert_eq!(bits(&xs), bits(&outcome.xs));
    assert_eq!(&outcome.xs[..6], &settings.start[0]);
    assert!((701..900).contains(&(xs.len() / 6)));
    let all: BTreeSet<Vec<u64>> = outcome.xs.chunks(6).map(bits).collect();
    assert_eq!(all.len(), xs.len() / 6);
}

#[test]
fn the_trace_never_falls_and_a_standstill_ends_the_search() {
    let problem = named("BNH");
    let mut settings = Settings::new(Plan::Search, 100_000, 1);
    settings.stall_after = Some(2_000);
    let outcome = run(&problem, &settings, 2);
    assert_eq!(outcome.ending, Ending::Stalled);
    assert!(outcome.rows.len() / problem.width() < 50_000);
    assert!(
        outcome
            .trace
            .windows(2)
            .all(|pair| pair[0].hypervolume <= pair[1].hypervolume + 1e-12)
    );
    assert!(outcome.trace.last().unwrap().hypervolume > 1.0);
}

/// A problem given by a function.
struct Given<F> {
    axes: Vec<Axis>,
    objectives: usize,
    constraints: usize,
    evaluate: F,
}

impl<F: Fn(&[f64], &mut [f64]) + Sync> Problem for Given<F> {
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
        (self.evaluate)(x, row);
    }
}

const UNIT: Axis = Axis::Continuous {
    low: 0.0,
    high: 1.0,
    step: None,
    log: false,
};

#[test]
fn broken_designs_never_reach_the_front() {
    let broken = |x: &[f64]| x[0] < 0.4;
    let evaluate = |x: &[f64], row: &mut [f64]| {
        let values = [x[0], 1.0 - x[0] + x[1], x[1] - 0.5];
        let worst = if x[1] < 0.3 { f64::NAN } else { f64::INFINITY };
        row.copy_from_slice(&if broken(x) {
            [worst, f64::NEG_INFINITY, f64::NAN]
        } else {
            values
        });
    };
    let problem = Given {
        axes: vec![UNIT; 2],
        objectives: 2,
        constraints: 1,
        evaluate,
    };
    for polish in [0.0, 0.3] {
        let outcome = run(
            &problem,
            &Settings {
                polish,
                ..Settings::new(Plan::Search, 1_000, 2)
            },
            2,
        );
        assert!(
            outcome.front.len() > 20
                && outcome.front.iter().all(|&k| !broken(&outcome.xs[2 * k..]))
        );
    }
    // Nothing is written at all.
    let problem = Given {
        axes: vec![UNIT; 2],
        objectives: 3,
        constraints: 1,
        evaluate: |_: &[f64], _: &mut [f64]| {},
    };
    for plan in [Plan::Search, Plan::Sobol, Plan::LatinHypercube] {
        let outcome = run(
            &problem,
            &Settings {
                polish: 0.2,
                ..Settings::new(plan, 600, 2)
            },
            2,
        );
        assert_eq!(
            (outcome.ending, outcome.feasible, outcome.front.len()),
            (Ending::Budget, 0, 0)
        );
        assert_eq!(outcome.xs.len(), 1_200);
        assert!(outcome.trace.iter().all(|point| point.hypervolume == 0.0));
    }
}

/// Where no design is feasible the search still goes toward the limits.
#[test]
fn without_a_feasible_design_violations_shrink() {
    let evaluate = |x: &[f64], row: &mut [f64]| {
        row.copy_from_slice(&[
            x[0],
            x[1],
            0.1 + x.iter().map(|x| (x - 0.7).abs()).sum::<f64>(),
        ]);
    };
    let problem = Given {
        axes: vec![UNIT; 6],
        objectives: 2,
        constraints: 1,
        evaluate,
    };
    let outcome = run(&problem, &Settings::new(Plan::Search, 3_000, 1), 2);
    let last = outcome
        .rows
        .chunks(3)
        .rev()
        .take(30)
        .map(|row| row[2])
        .fold(f64::INFINITY, f64::min);
    assert_eq!(outcome.feasible, 0);
    assert!(last < 0.11, "{last}");
}

#[test]
fn spaces_smaller_than_the_budget_are_evaluated_whole() {
    let evaluate = |x: &[f64], row: &mut [f64]| row.copy_from_slice(&[x[0], -x[1]]);
    let axes = vec![
        Axis::Integer { low: -3, high: 3 },
        Axis::Choice { count: 4 },
        Axis::Continuous {
            low: 0.0,
            high: 1.0,
            step: Some(0.5),
            log: false,
        },
        Axis::Continuous {
            low: 2.0,
            high: 2.0,
            step: None,
            log: true,
        },
    ];
    let problem = Given {
        axes,
        objectives: 2,
        constraints: 0,
        evaluate,
    };
    for plan in [
        Plan::Search,
        Plan::Sobol,
        Plan::LatinHypercube,
        Plan::Grid { levels: vec![0; 4] },
    ] {
        let mut settings = Settings::new(plan, 500, 4);
        settings.start = vec![vec![1.0, 2.0, 0.5, 2.0]];
        let outcome = run(&problem, &settings, 2);
        assert_eq!(
            (outcome.ending, outcome.xs.len() / 4),
            (Ending::Exhausted, 84)
        );
    }
    let one = Given {
        axes: vec![Axis::Choice { count: 1 }; 3],
        objectives: 2,
        constraints: 0,
        evaluate,
    };
    let outcome = run(&one, &Settings::new(Plan::Search, 500, 4), 1);
    assert_eq!(
        (outcome.ending, outcome.xs.len(), outcome.front),
        (Ending::Exhausted, 3, vec![0])
    );
    // Just larger than the budget: nothing comes twice although hardly anything is left.
    let outcome = run(&problem, &Settings::new(Plan::Search, 83, 4), 1);
    let all: BTreeSet<Vec<u64>> = outcome.xs.chunks(4).map(bits).collect();
    assert_eq!((outcome.ending, all.len()), (Ending::Budget, 83));
    assert_eq!(
        run(&problem, &Settings::new(Plan::Search, 0, 4), 1).ending,
        Ending::Budget
    );
}

/// One and four objectives: the least of a sphere with a step; the front of a simplex of four.
#[test]
fn one_and_four_objectives() {
    let sphere = |x: &[f64], row: &mut [f64]| row[0] = x.iter().map(|x| (x - 0.3).powi(2)).sum();
    let problem = Given {
        axes: vec![UNIT; 5],
        objectives: 1,
        constraints: 0,
        evaluate: sphere,
    };
    let outcome = run(&problem, &Settings::new(Plan::Search, 4_000, 1), 2);
    assert_eq!(outcome.front.len(), 1);
    assert!(outcome.rows[outcome.front[0]] < 1e-5);
    let simplex = |x: &[f64], row: &mut [f64]| {
        let rest = x[3] + 1.0;
        row.copy_from_slice(
            &[
                x[0] * x[1] * x[2],
                x[0] * x[1] * (1.0 - x[2]),
                x[0] * (1.0 - x[1]),
                1.0 - x[0],
            ]
            .map(|f| f * rest),
        );
    };
    let problem = Given {
        axes: vec![UNIT; 4],
        objectives: 4,
        constraints: 0,
        evaluate: simplex,
    };
    let outcome = run(&problem, &Settings::new(Plan::Search, 3_000, 1), 2);
    // One in twenty at random.
    let near = outcome
        .rows
        .chunks(4)
        .filter(|row| row.iter().sum::<f64>() < 1.05)
        .count();
    assert!(near > 450, "{near} of 3000 near the front");
    assert!(
        outcome
            .trace
            .windows(2)
            .all(|pair| pair[0].hypervolume <= pair[1].hypervolume)
    );
}

#[test]
fn senseless_settings_are_refused() {
    let evaluate = |x: &[f64], row: &mut [f64]| row.fill(x[0]);
    let given = |axes, objectives| Given {
        axes,
        objectives,
        constraints: 1,
        evaluate,
    };
    let refused = |problem: &dyn Problem, settings: &Settings| {
        explore(problem, settings, Known::default(), &mut |_| Next::Continue).unwrap_err()
    };
    let search = Settings::new(Plan::Search, 100, 1);
    assert_eq!(refused(&given(vec![], 2), &search), Error::NoAxes);
    assert_eq!(
        refused(&given(vec![Axis::Choice { count: 0 }], 2), &search),
        Error::BadAxis { axis: 0 }
    );
    assert_eq!(
        refused(&given(vec![UNIT], 0), &search),
        Error::ObjectiveCount { objectives: 0 }
    );
    assert_eq!(
        refused(&given(vec![UNIT], 5), &search),
        Error::ObjectiveCount { objectives: 5 }
    );
    for start in [vec![], vec![f64::NAN], vec![0.1, 0.2]] {
        let settings = Settings {
            start: vec![start],
            ..search.clone()
        };
        assert_eq!(
            refused(&given(vec![UNIT], 2), &settings),
            Error::BadStart { start: 0 }
        );
    }
    let settings = Settings {
        start: vec![vec![1.5]],
        ..search
    };
    assert_eq!(
        refused(&given(vec![Axis::Choice { count: 3 }], 2), &settings),
        Error::BadStart { start: 0 }
    );
}
