//! What exploring promises its caller: bytes, resumption, endings, bad input.

mod support;

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};

use fretwork::explore::{
    Axis, Ending, Error, Function, Known, Next, Outcome, Plan, Problem, Settings, explore,
};
use support::problems::{TestProblem, named, single};

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

#[test]
fn same_bytes_on_any_number_of_threads() {
    let mut problems = Vec::from(["CRE24", "TENBAR-D", "DTLZ2"].map(named));
    problems.extend(single::all().into_iter().map(|problem| problem.0));
    for problem in problems {
        let settings = Settings {
            polish: 0.1,
            ..Settings::new(Plan::Search, 1_500, 5)
        };
        let one = run(&problem, &settings, 1);
        for threads in [2, 8] {
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
                ..settings.clone()
            },
            1,
        );
        assert_ne!(bits(&one.xs), bits(&seeded.xs));
    }
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

/// Many problems, stopped at places drawn from a list that nobody chose, on other numbers of threads.
#[test]
fn stopped_anywhere_the_bytes_stay_the_same() {
    let mut problems = Vec::from(["OSY", "TENBAR-M", "CRE32", "CRE25"].map(named));
    problems.extend(single::all().into_iter().map(|problem| problem.0));
    let mut state = 20_u64;
    for problem in problems {
        let settings = Settings {
            polish: 0.15,
            ..Settings::new(Plan::Search, 800, 11)
        };
        let whole = run(&problem, &settings, 1);
        let axes = problem.axes().len();
        for threads in [1, 2, 8] {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            let known = (state >> 33) as usize % (whole.xs.len() / axes);
            let known = Known {
                xs: &whole.xs[..known * axes],
                rows: &whole.rows[..known * problem.width()],
            };
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .unwrap();
            let again = pool
                .install(|| explore(&problem, &settings, known, &mut |_| Next::Continue))
                .unwrap();
            assert_eq!(bits(&whole.xs), bits(&again.xs), "{}", problem.name);
            assert_eq!(bits(&whole.rows), bits(&again.rows));
            assert_eq!(
                (&whole.front, &whole.trace, whole.ending),
                (&again.front, &again.trace, again.ending)
            );
        }
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
    let problem = Function::new(vec![UNIT; 2], 2, 1, evaluate);
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
    let problem = Function::new(vec![UNIT; 2], 3, 1, |_: &[f64], _: &mut [f64]| {});
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

/// Objectives that tell nothing, spaces of one point, budgets of next to nothing: an outcome, and within the budget.
#[test]
fn poor_problems_have_an_outcome() {
    let constant = |_: &[f64], row: &mut [f64]| row.fill(-1.0);
    let nothing = |_: &[f64], row: &mut [f64]| row.fill(f64::NAN);
    let infeasible = |x: &[f64], row: &mut [f64]| {
        row.fill(x[0]);
        row[row.len() - 1] = f64::INFINITY;
    };
    let point = Axis::Continuous {
        low: 2.0,
        high: 2.0,
        step: None,
        log: false,
    };
    let mixed = vec![
        UNIT,
        Axis::Choice { count: 1 },
        Axis::Integer { low: 0, high: 5 },
        UNIT,
        Axis::Choice { count: 3 },
    ];
    type Evaluate<'a> = &'a (dyn Fn(&[f64], &mut [f64]) + Sync);
    let evaluates: [(Evaluate, bool); 3] =
        [(&constant, true), (&nothing, false), (&infeasible, false)];
    for (evaluate, feasible) in evaluates {
        for objectives in 1..=4 {
            for (axes, designs) in [(mixed.clone(), usize::MAX), (vec![point.clone(); 2], 1)] {
                let count = axes.len();
                let problem = Function::new(axes, objectives, 1, evaluate);
                for budget in [0, 1, 2, 5, 17, 300] {
                    let settings = Settings {
                        polish: 0.2,
                        ..Settings::new(Plan::Search, budget, 1)
                    };
                    let outcome = run(&problem, &settings, 1);
                    let found = outcome.xs.len() / count;
                    assert_eq!(found, budget.min(designs), "{objectives} objectives");
                    let kept = if feasible { found } else { 0 };
                    assert_eq!(outcome.feasible, kept);
                    assert_eq!(outcome.front.len(), kept.min(1));
                }
            }
        }
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
    let problem = Function::new(vec![UNIT; 6], 2, 1, evaluate);
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
    let problem = Function::new(axes, 2, 0, evaluate);
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
    let one = Function::new(vec![Axis::Choice { count: 1 }; 3], 2, 0, evaluate);
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
    let problem = Function::new(vec![UNIT; 5], 1, 0, sphere);
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
    let problem = Function::new(vec![UNIT; 4], 4, 0, simplex);
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
    let given = |axes, objectives| Function::new(axes, objectives, 1, evaluate);
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
