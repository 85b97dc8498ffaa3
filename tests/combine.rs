//! Fronts of parts put together: against every sum worked out (brute force), against a published algorithm's claims.

use fretwork::analyse::{Combined, MOST_HELD, combine, steps};
use proptest::prelude::*;

/// Every choice of one point of each front: totals, added in the order of the fronts, and points.
fn all_sums(fronts: &[Vec<f64>], measures: usize) -> Vec<(Vec<f64>, Vec<usize>)> {
    let mut all = vec![(vec![0.0; measures], Vec::new())];
    for front in fronts {
        let mut next = Vec::new();
        for (total, choice) in &all {
            for (point, row) in front.chunks(measures).enumerate() {
                let sum: Vec<f64> = total.iter().zip(row).map(|(a, b)| a + b).collect();
                let mut choice: Vec<usize> = choice.clone();
                choice.push(point);
                next.push((sum, choice));
            }
        }
        all = next;
    }
    all
}

fn beats(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b) && a != b
}

/// Totals that no other beats, each once, sorted: compared pair by pair.
fn best(fronts: &[Vec<f64>], measures: usize, at_most: &[f64]) -> Vec<Vec<f64>> {
    let within = |total: &Vec<f64>| {
        let each = total.iter().zip(at_most);
        each.clone()
            .all(|(total, limit)| *total <= limit + 1e-9 * limit.abs())
    };
    let all: Vec<Vec<f64>> = all_sums(fronts, measures)
        .into_iter()
        .map(|(total, _)| total)
        .filter(within)
        .collect();
    let mut kept: Vec<Vec<f64>> = all
        .iter()
        .filter(|total| !all.iter().any(|other| beats(other, total)))
        .cloned()
        .collect();
    kept.sort_by(|a, b| a.partial_cmp(b).unwrap());
    kept.dedup();
    kept
}

/// Whether the combination is that of brute force, to the last bit, and every choice adds up to its total.
fn check(fronts: &[Vec<f64>], measures: usize, at_most: &[f64]) -> Combined {
    let found = combine(fronts, measures, at_most).unwrap();
    let totals: Vec<Vec<f64>> = (0..found.len())
        .map(|at| found.total(at).to_vec())
        .collect();
    assert_eq!(totals, best(fronts, measures, at_most));
    for at in 0..found.len() {
        let mut sum = vec![0.0; measures];
        for (front, point) in fronts.iter().zip(found.choice(at)) {
            for (sum, value) in sum.iter_mut().zip(&front[point * measures..]) {
                *sum += value;
            }
        }
        assert_eq!(sum, found.total(at));
    }
    found
}

/// Fronts of up to 9 points: whole numbers with many ties and duplicates, or any numbers; some counted several times, as
/// pieces of a part are.
fn fronts(measures: usize) -> impl Strategy<Value = Vec<Vec<f64>>> {
    let value = prop_oneof![(0i32..6).prop_map(f64::from), 0.0..10.0f64];
    let points = prop::collection::vec(value, measures * 9);
    let front = (points, 1usize..=9, 1u32..=4).prop_map(move |(points, count, pieces)| {
        points[..measures * count]
            .iter()
            .map(|value| value * f64::from(pieces))
            .collect()
    });
    prop::collection::vec(front, 1..=4)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn one_measure_is_exact(fronts in fronts(1)) {
        check(&fronts, 1, &[f64::INFINITY]);
    }

    #[test]
    fn two_measures_are_exact(fronts in fronts(2)) {
        check(&fronts, 2, &[f64::INFINITY; 2]);
    }

    #[test]
    fn three_measures_are_exact(fronts in fronts(3)) {
        check(&fronts, 3, &[f64::INFINITY; 3]);
    }

    #[test]
    fn limits_leave_what_brute_force_leaves(
        fronts in fronts(2),
        more in fronts(3),
        limits in prop::collection::vec(0.0..40.0f64, 3),
    ) {
        check(&fronts, 2, &limits[..2]);
        check(&more, 3, &limits);
    }

    /// Steps along the hulls, merged in the order of their rates, pass through points of the exact combination: the hull
    /// of a sum of sets is the sum of their hulls, and its corners are best choices ("supported" ones).
    ///
    /// Source: Sinha and Zoltners, The multiple-choice knapsack problem, Operations Research 27(3), 1979 (from memory).
    #[test]
    fn steps_by_their_rates_reach_best_choices(
        fronts in prop::collection::vec(prop::collection::vec((0i32..60, 0i32..60), 1..9), 1..=4),
    ) {
        let fronts: Vec<Vec<(f64, f64)>> = fronts
            .iter()
            .map(|front| front.iter().map(|(a, b)| (f64::from(*a), f64::from(*b))).collect())
            .collect();
        let flat: Vec<Vec<f64>> = fronts
            .iter()
            .map(|front| front.iter().flat_map(|(a, b)| [*a, *b]).collect())
            .collect();
        let exact = check(&flat, 2, &[]);
        // From the cheapest points: there is nothing to be had for nothing.
        let mut at = (0.0, 0.0);
        let mut all = Vec::new();
        for front in &fronts {
            let start = (0..front.len())
                .min_by(|a, b| {
                    let key = |at: &usize| (front[*at].1, front[*at].0);
                    key(a).partial_cmp(&key(b)).unwrap()
                })
                .unwrap();
            at = (at.0 + front[start].0, at.1 + front[start].1);
            let own = steps(front, start);
            prop_assert!(own.windows(2).all(|pair| pair[0].rate() <= pair[1].rate()));
            prop_assert!(own.iter().all(|step| step.saves > 0.0 && step.costs > 0.0));
            all.extend(own);
        }
        all.sort_by(|a, b| a.rate().total_cmp(&b.rate()));
        // Steps of one rate lie on one edge of the hull; between its ends a sum need not be a best one.
        for (index, step) in all.iter().enumerate() {
            at = (at.0 - step.saves, at.1 + step.costs);
            if all.get(index + 1).is_none_or(|next| next.rate() > step.rate()) {
                let is_best = (0..exact.len()).any(|choice| exact.total(choice) == [at.0, at.1]);
                prop_assert!(is_best, "{at:?}");
            }
        }
    }
}

/// By hand. A: (1, 9), (2, 4), (6, 1); B: (0, 3), (2, 2). Sums: (1, 12), (3, 11), (2, 7), (4, 6), (6, 4), (8, 3). Beaten
/// are (3, 11), by (2, 7), and none else.
#[test]
fn two_small_fronts_by_hand() {
    let fronts = [vec![1.0, 9.0, 2.0, 4.0, 6.0, 1.0], vec![0.0, 3.0, 2.0, 2.0]];
    let found = check(&fronts, 2, &[]);
    assert_eq!(
        found.totals,
        [1.0, 12.0, 2.0, 7.0, 4.0, 6.0, 6.0, 4.0, 8.0, 3.0]
    );
    assert_eq!(found.choices, [0, 0, 1, 0, 1, 1, 2, 0, 2, 1]);
    let found = combine(&fronts, 2, &[f64::INFINITY, 6.0]).unwrap();
    assert_eq!(found.totals, [4.0, 6.0, 6.0, 4.0, 8.0, 3.0]);
    assert!(combine(&fronts, 2, &[0.5]).unwrap().is_empty());
}

#[test]
fn nothing_and_fronts_without_points() {
    let nothing = combine(&[], 2, &[]).unwrap();
    assert_eq!(
        (nothing.len(), nothing.totals.as_slice()),
        (1, &[0.0, 0.0][..])
    );
    assert!(nothing.choice(0).is_empty());
    assert!(
        combine(&[vec![1.0, 2.0], vec![]], 2, &[])
            .unwrap()
            .is_empty()
    );
    assert!(
        combine(&[vec![], vec![1.0, 2.0, 3.0]], 3, &[])
            .unwrap()
            .is_empty()
    );
    // What is no number is no choice.
    assert_eq!(
        combine(&[vec![f64::NAN, 2.0, 3.0, 4.0]], 2, &[])
            .unwrap()
            .totals,
        [3.0, 4.0]
    );
}

/// A front of `count` points on a curve, none beaten, in random places.
fn curve(count: usize, seed: u32, measures: usize) -> Vec<f64> {
    let mut state = seed;
    let mut draw = move || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state >> 8) / f64::from(1u32 << 24)
    };
    (0..count)
        .flat_map(|_| {
            let (u, v) = (0.01 + 0.98 * draw(), 0.01 + 0.98 * draw());
            match measures {
                2 => vec![u, 1.0 / u],
                _ => vec![u, v, 1.0 / (u * v)],
            }
        })
        .collect()
}

/// Three fronts of 1,000 candidates that beat each other nowhere: a thousand million choices.
#[test]
fn three_long_fronts_are_combined() {
    let fronts: Vec<Vec<f64>> = (1..=3).map(|seed| curve(1_000, seed, 2)).collect();
    let found = combine(&fronts, 2, &[]).unwrap();
    assert!(
        found.len() > 10_000 && found.len() <= MOST_HELD,
        "{}",
        found.len()
    );
    for at in 1..found.len() {
        let (before, after) = (found.total(at - 1), found.total(at));
        assert!(before[0] < after[0] && before[1] > after[1]);
    }
    // Ends: the least of each measure over all parts.
    let least = |measure: usize| -> f64 {
        let of = |front: &Vec<f64>| {
            front
                .iter()
                .skip(measure)
                .step_by(2)
                .copied()
                .fold(f64::INFINITY, f64::min)
        };
        fronts.iter().map(of).sum()
    };
    assert!((found.total(0)[0] - least(0)).abs() < 1e-12);
    assert!((found.total(found.len() - 1)[1] - least(1)).abs() < 1e-9);
}

/// What is too large for an exact answer is said, not thinned; limits make it small enough.
#[test]
fn a_combination_too_large_is_told() {
    let curves =
        |count: usize| -> Vec<Vec<f64>> { (1..=3).map(|seed| curve(count, seed, 3)).collect() };
    let fault = combine(&curves(3_000), 3, &[]).unwrap_err();
    assert!(fault.front >= 1 && fault.sums > MOST_HELD, "{fault:?}");
    let limited = combine(&curves(600), 3, &[0.35, 0.35]).unwrap();
    assert!(!limited.is_empty());
    assert!((0..limited.len()).all(|at| {
        limited.total(at)[..2]
            .iter()
            .all(|total| *total <= 0.35 * (1.0 + 1e-9))
    }));
}
