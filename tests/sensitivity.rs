//! Sobol' indices and elementary effects against closed forms and published figures.

use std::f64::consts::PI;

use fretwork::analyse::{Elementary, Indices, elementary, indices};
use fretwork::explore::screening::{blocks, shares, trajectories};
use fretwork::explore::{Axis, Error};

type Function = fn(&[f64]) -> f64;

fn axes(count: usize, low: f64, high: f64) -> Vec<Axis> {
    let axis = Axis::Continuous {
        low,
        high,
        step: None,
        log: false,
    };
    vec![axis; count]
}

/// Ishigami and Homma 1990, a 7, b 0.1, on -pi to pi.
fn ishigami(x: &[f64]) -> f64 {
    x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin()
}

/// The g-function of Saltelli and Sobol' 1995, a 0 1 4.5 9 99 99 99 99, on 0 to 1.
fn g_function(x: &[f64]) -> f64 {
    let a = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];
    let factor = |(a, x): (f64, &f64)| ((4.0 * x - 2.0).abs() + a) / (1.0 + a);
    a.into_iter().zip(x).map(factor).product()
}

/// First-order and total indices in closed form.
fn analytic(function: &str) -> Vec<[f64; 2]> {
    let table = include_str!("data/sensitivity/sensitivity_analytic.csv");
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        [2, 3].map(|k| cells[k].parse().unwrap())
    };
    table
        .lines()
        .filter(|line| line.starts_with(function))
        .map(row)
        .collect()
}

/// Largest errors of first order and total over the axes: medians over 11 seeds of a general library.
fn published(function: &str, base: usize) -> [f64; 2] {
    let table = include_str!("data/sensitivity/sensitivity.csv");
    let start = format!("{function},{base},False,");
    let line = table.lines().find(|line| line.starts_with(&start)).unwrap();
    let cells: Vec<&str> = line.split(',').collect();
    [5, 6].map(|k| cells[k].parse().unwrap())
}

fn estimate(function: Function, axes: &[Axis], base: usize, seed: u64) -> Vec<Indices> {
    let designs = blocks(axes, base, seed).unwrap();
    let values: Vec<f64> = designs.chunks(axes.len()).map(function).collect();
    indices(&shares(axes, &designs).unwrap(), &values, axes.len(), seed)
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Medians of the largest error over 21 seeds, beside those of a general library with as many designs: of first order
/// always smaller, of the total of the same size (up to twice), all together 0.7 of them at most.
#[test]
fn indices_are_as_near_as_those_of_a_library() {
    let cases: [(&str, Function, Vec<Axis>); 2] = [
        ("ishigami", ishigami, axes(3, -PI, PI)),
        ("g-function-8", g_function, axes(8, 0.0, 1.0)),
    ];
    let mut ratios = Vec::new();
    for (name, function, axes) in &cases {
        let right = analytic(name.trim_end_matches("-8"));
        assert_eq!(right.len(), axes.len());
        for base in [1_024, 2_048, 4_096, 8_192] {
            let errors: Vec<[f64; 2]> = (1..=21)
                .map(|seed| {
                    let found = estimate(*function, axes, base, seed);
                    let off = found.iter().zip(&right);
                    off.fold([0.0_f64; 2], |worst, (found, right)| {
                        [
                            worst[0].max((found.first.value - right[0]).abs()),
                            worst[1].max((found.total.value - right[1]).abs()),
                        ]
                    })
                })
                .collect();
            for (which, published) in published(name, base).into_iter().enumerate() {
                let ours = median(errors.iter().map(|each| each[which]).collect());
                println!("{name} {base} {which}: {ours:.6} for {published:.6}");
                ratios.push(ours / published);
            }
        }
    }
    let mean =
        (ratios.iter().map(|ratio: &f64| ratio.ln()).sum::<f64>() / ratios.len() as f64).exp();
    println!("geometric mean {mean:.3}");
    let first = ratios.iter().step_by(2);
    assert!(
        first.fold(0.0, |worst: f64, &ratio| worst.max(ratio)) < 1.0,
        "{ratios:?}"
    );
    assert!(ratios.iter().all(|&ratio| ratio < 2.0), "{ratios:?}");
    assert!(mean < 0.7, "{mean}");
}

/// Every index of the Ishigami function within 0.01 of its closed form at 4,096 base designs, whatever the seed, and
/// inside its own interval as often as promised, or more often (points of a sequence scatter less than random ones).
#[test]
fn ishigami_and_its_intervals() {
    let axes = axes(3, -PI, PI);
    let right = analytic("ishigami");
    let (mut inside, mut all) = (0, 0);
    for seed in 1..=20 {
        for (found, right) in estimate(ishigami, &axes, 4_096, seed).iter().zip(&right) {
            for (share, right) in [found.first, found.total].iter().zip(right) {
                assert!(
                    (share.value - right).abs() < 0.01,
                    "{seed}: {} for {right}",
                    share.value
                );
                assert!(share.low <= share.value && share.value <= share.high);
                assert!(share.high - share.low < 0.15);
                inside += usize::from(share.low <= *right && *right <= share.high);
                all += 1;
            }
            assert_eq!(found.used, 4_096);
        }
    }
    assert!(inside as f64 >= 0.95 * all as f64, "{inside} of {all}");
}

/// On discrete axes, against sums over all combinations: x + 2 y + x y with x of 0..3 and y of 5 and 9 (choice 0, 1).
#[test]
fn indices_on_discrete_axes() {
    let axes = [Axis::Integer { low: 0, high: 3 }, Axis::Choice { count: 2 }];
    let function = |x: &[f64]| {
        let y = if x[1] == 0.0 { 5.0 } else { 9.0 };
        x[0] + 2.0 * y + x[0] * y
    };
    // By hand: the mean over y is 8 x + 14, over x is 1.5 + 3.5 y. Variances 8² 1.25 = 80 and 3.5² 4 = 49, of all 134.
    let [x, y] = [80.0 / 134.0, 49.0 / 134.0];
    let found = estimate(function, &axes, 2_048, 4);
    for (found, (first, total)) in found.iter().zip([(x, 1.0 - y), (y, 1.0 - x)]) {
        assert!(
            (found.first.value - first).abs() < 0.01,
            "{} for {first}",
            found.first.value
        );
        assert!(
            (found.total.value - total).abs() < 0.01,
            "{} for {total}",
            found.total.value
        );
    }
}

/// What can't be evaluated is left out, and counted; where nothing is left or varies, there is no index.
#[test]
fn missing_values_are_left_out() {
    let axes = axes(3, 0.0, 1.0);
    // A measure of x and y, which designs with z above 0.9 have not.
    let partial = |x: &[f64]| {
        if x[2] > 0.9 {
            f64::NAN
        } else {
            x[0] + 2.0 * x[1]
        }
    };
    let found = estimate(partial, &axes, 4_096, 1);
    let share = |k: usize| (found[k].first.value, found[k].total.value);
    for (k, right) in [(0, 0.2), (1, 0.8), (2, 0.0)] {
        let (first, total) = share(k);
        assert!(
            (first - right).abs() < 0.02 && (total - right).abs() < 0.02,
            "{first} {total}"
        );
    }
    // A step along x or y keeps z, one along z needs two designs below 0.9.
    assert!((found[0].used as f64 / 4_096.0 - 0.9).abs() < 0.01);
    assert!((found[2].used as f64 / 4_096.0 - 0.81).abs() < 0.01);
    let nothing = |function: Function| {
        let found = estimate(function, &axes, 64, 1);
        assert!(
            found
                .iter()
                .all(|each| each.first.value.is_nan() && each.total.value.is_nan())
        );
    };
    nothing(|_| f64::NAN);
    nothing(|_| 3.5);
    nothing(|_| f64::INFINITY);
    assert!(
        indices(&[], &[], 3, 1)
            .iter()
            .all(|each| each.total.value.is_nan())
    );
}

#[test]
fn the_same_seed_gives_the_same_intervals() {
    let axes = axes(3, -PI, PI);
    let [a, b, c] = [7, 7, 8].map(|seed| estimate(ishigami, &axes, 256, seed));
    assert_eq!(a, b);
    assert_ne!(a, c);
    let wide = blocks(&vec![axes[0].clone(); 33], 4, 1);
    assert_eq!(wide, Err(Error::TooManyAxes { axes: 33, most: 32 }));
}

fn effects(function: Function, axes: &[Axis], count: usize) -> Vec<Elementary> {
    let designs = trajectories(axes, count, 3).unwrap();
    let values: Vec<f64> = designs.chunks(axes.len()).map(function).collect();
    elementary(&shares(axes, &designs).unwrap(), &values, axes.len())
}

/// Every elementary effect of a sum c_i x_i on the unit cube is c_i; with x_1 x_2 added, an effect of x_1 is c_1 + x_2,
/// whose mean over the levels 0, 1/3, 2/3 and 1 is c_1 + 1/2 (Morris 1991; worked).
#[test]
fn elementary_effects_of_a_sum_are_its_factors() {
    let found = effects(
        |x| 3.0 * x[0] - 2.0 * x[1] + 0.5 * x[2],
        &axes(3, 0.0, 1.0),
        20,
    );
    for (found, right) in found.iter().zip([3.0_f64, -2.0, 0.5]) {
        assert!((found.mean - right).abs() < 1e-12);
        assert!((found.size - right.abs()).abs() < 1e-12);
        assert!(found.spread < 1e-12 && found.count == 20);
    }
    let found = effects(
        |x| 3.0 * x[0] - 2.0 * x[1] + x[0] * x[1],
        &axes(3, 0.0, 1.0),
        4_000,
    );
    // The standard deviation of the levels is sqrt(5/36).
    let spread = (5.0_f64 / 36.0).sqrt();
    for (found, right) in found.iter().zip([3.5, -1.5]) {
        assert!((found.mean - right).abs() < 4.0 * spread / 4_000.0_f64.sqrt());
        assert!((found.spread - spread).abs() < 0.01);
    }
    assert_eq!(
        (found[2].mean, found[2].size, found[2].spread),
        (0.0, 0.0, 0.0)
    );
}

/// Effects are changes over an axis's whole range, whatever its unit, steps or logarithm.
#[test]
fn elementary_effects_are_over_the_whole_range() {
    let axes = [
        Axis::Continuous {
            low: 1.0,
            high: 1_000.0,
            step: None,
            log: true,
        },
        Axis::Integer { low: 2, high: 8 },
        Axis::Choice { count: 2 },
        Axis::Choice { count: 1 },
    ];
    let found = effects(|x| x[0].ln() + 0.5 * x[1] - x[2], &axes, 30);
    for (found, right) in found.iter().zip([1_000.0_f64.ln(), 3.0, -1.0]) {
        assert!(
            (found.mean - right).abs() < 1e-9,
            "{} for {right}",
            found.mean
        );
        assert_eq!(found.count, 30);
    }
    assert_eq!(found[3].count, 0);
    assert!(found[3].mean.is_nan());
}

/// A step to a design that has no value gives no effect.
#[test]
fn elementary_effects_pass_over_what_is_missing() {
    let found = effects(
        |x| if x[0] > 0.9 { f64::NAN } else { x[0] + x[1] },
        &axes(2, 0.0, 1.0),
        200,
    );
    assert!(found[0].count < 150 && found[0].count > 50);
    assert!((found[0].mean - 1.0).abs() < 1e-12 && (found[1].mean - 1.0).abs() < 1e-12);
}
