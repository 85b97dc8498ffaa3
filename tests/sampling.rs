//! The samplers: what each promises of its points.

use fretwork::explore::{
    Axis, Ending, Error, Known, Next, Outcome, Plan, Problem, Settings, centred_discrepancy,
    explore,
};

/// A space whose rows don't matter.
struct Space(Vec<Axis>);

impl Problem for Space {
    fn axes(&self) -> &[Axis] {
        &self.0
    }
    fn objectives(&self) -> usize {
        1
    }
    fn constraints(&self) -> usize {
        0
    }
    fn width(&self) -> usize {
        1
    }
    fn evaluate(&self, x: &[f64], row: &mut [f64]) {
        row[0] = x.iter().sum();
    }
}

fn unit() -> Axis {
    Axis::Continuous {
        low: 0.0,
        high: 1.0,
        step: None,
        log: false,
    }
}

fn sample(axes: Vec<Axis>, plan: Plan, count: usize, seed: u64) -> Result<Outcome, Error> {
    let settings = Settings::new(plan, count, seed);
    explore(&Space(axes), &settings, Known::default(), &mut |_| {
        Next::Continue
    })
}

/// One point in each of n strata on every axis: the definition of a Latin hypercube (McKay, Beckman, Conover 1979).
#[test]
fn latin_hypercube_has_one_point_a_stratum() {
    for count in [7, 64, 1000] {
        let points = sample(vec![unit(); 5], Plan::LatinHypercube, count, 3)
            .unwrap()
            .xs;
        for axis in 0..5 {
            let mut taken = vec![false; count];
            for point in points.chunks(5) {
                let stratum = (point[axis] * count as f64) as usize;
                assert!(!taken[stratum.min(count - 1)], "axis {axis}");
                taken[stratum.min(count - 1)] = true;
            }
        }
    }
}

/// Choices and integers come as often as each other, as far as the count allows.
#[test]
fn latin_hypercube_is_balanced_on_discrete_axes() {
    let axes = vec![
        unit(),
        Axis::Choice { count: 5 },
        Axis::Integer { low: -1, high: 2 },
    ];
    let points = sample(axes, Plan::LatinHypercube, 200, 9).unwrap().xs;
    for choice in 0..5 {
        let count = points
            .chunks(3)
            .filter(|p| p[1] == f64::from(choice))
            .count();
        assert_eq!(count, 40);
    }
    for whole in -1..=2 {
        let count = points
            .chunks(3)
            .filter(|p| p[2] == f64::from(whole))
            .count();
        assert_eq!(count, 50);
    }
}

/// Centred discrepancy against that of a general scientific library's samplers (SciPy 1.17 `qmc`, 11 seeds each,
/// `data/optimiser/samplers.csv`): medians within the range that the library's seeds span, a tenth wider.
#[test]
fn discrepancy_is_that_of_the_library() {
    let table = include_str!("data/optimiser/samplers.csv");
    let mut checked = 0;
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let plan = match cells[0] {
            "lhs" => Plan::LatinHypercube,
            "sobol-scrambled" => Plan::Sobol,
            _ => continue,
        };
        let number = |cell: usize| cells[cell].parse::<f64>().unwrap();
        let (dimensions, count) = (number(1) as usize, number(2) as usize);
        let mut found: Vec<f64> = (1..=11)
            .map(|seed| {
                let points = sample(vec![unit(); dimensions], plan.clone(), count, seed).unwrap();
                centred_discrepancy(&points.xs, dimensions)
            })
            .collect();
        found.sort_by(f64::total_cmp);
        let (low, high) = (0.9 * number(5), 1.1 * number(6));
        assert!(
            (low..high).contains(&found[5]),
            "{} d {dimensions} n {count}: {} not in {low} to {high}",
            cells[0],
            found[5]
        );
        checked += 1;
    }
    assert_eq!(checked, 12);
}

#[test]
fn a_grid_is_every_combination_once() {
    let axes = vec![
        unit(),
        Axis::Choice { count: 3 },
        Axis::Integer { low: 4, high: 5 },
    ];
    let plan = Plan::Grid {
        levels: vec![4, 0, 0],
    };
    let outcome = sample(axes, plan, 100, 1).unwrap();
    assert_eq!(outcome.xs.len(), 3 * 24);
    let mut points: Vec<_> = outcome.xs.chunks(3).map(|p| p.to_vec()).collect();
    assert_eq!(points[0], [0.0, 0.0, 4.0]);
    assert_eq!(points[23], [1.0, 2.0, 5.0]);
    points.dedup();
    assert_eq!(points.len(), 24);
}

#[test]
fn a_grid_of_a_million_million_points_is_refused() {
    let plan = Plan::Grid {
        levels: vec![1000; 4],
    };
    let refused = sample(vec![unit(); 4], plan, 20_000, 1);
    assert!(matches!(
        refused,
        Err(Error::GridTooLarge {
            designs: Some(1_000_000_000_000),
            ..
        })
    ));
    let plan = Plan::Grid {
        levels: vec![1000; 40],
    };
    let refused = sample(vec![unit(); 40], plan, 20_000, 1);
    assert!(matches!(
        refused,
        Err(Error::GridTooLarge { designs: None, .. })
    ));
}

/// A space smaller than the budget is evaluated whole, whatever the plan.
#[test]
fn a_small_space_is_exhausted() {
    for plan in [Plan::LatinHypercube, Plan::Sobol, Plan::Search] {
        let axes = vec![Axis::Choice { count: 3 }, Axis::Integer { low: 0, high: 3 }];
        let outcome = sample(axes, plan, 500, 1).unwrap();
        assert_eq!(outcome.xs.len(), 2 * 12);
        assert_eq!(outcome.ending, Ending::Exhausted);
    }
}
