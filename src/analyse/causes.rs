//! A change split by its causes, whatever the order in which they are thought to have come.

/// Share of each of several causes in a change, in the figure's own unit: what a cause changes where it comes next,
/// averaged over all orders in which the causes may come.
///
/// φ_k = Σ_S |S|! (n − |S| − 1)! / n! · (v(S ∪ {k}) − v(S)), over all sets S of other causes. The shares add up to
/// the whole change; causes that do the same get the same; one that changes nothing gets nothing; where causes act
/// together, what they do together is shared evenly between them.
///
/// `values` v: the figure for every set of causes, 2ⁿ of them; bit k of the index says whether cause k has come, so
/// the first is the figure before and the last the figure after. A figure that is not finite makes every share not a
/// number.
///
/// Source: Shapley, A value for n-person games, Contributions to the Theory of Games II, 1953 (from memory).
pub fn shares(values: &[f64]) -> Vec<f64> {
    let causes = values.len().max(1).ilog2() as usize;
    if values.iter().any(|value| !value.is_finite()) {
        return vec![f64::NAN; causes];
    }
    // Orders in which a set of a given size comes just before a cause, as a share of all: |S|! (n - |S| - 1)! / n!.
    let mut weight = vec![1.0 / causes.max(1) as f64; causes];
    for size in 1..causes {
        weight[size] = weight[size - 1] * size as f64 / (causes - size) as f64;
    }
    (0..causes)
        .map(|cause| {
            let bit = 1 << cause;
            (0..1 << causes)
                .filter(|set| set & bit == 0)
                .map(|set: usize| {
                    weight[set.count_ones() as usize] * (values[set | bit] - values[set])
                })
                .sum()
        })
        .collect()
}

/// The value below which a share of some values lies; between two values in proportion, as of the sorted values
/// x_1 .. x_n at (n - 1) share + 1. Not a number where there is none.
///
/// Source: Hyndman and Fan, Sample quantiles in statistical packages, The American Statistician 50(4), 1996,
/// definition 7 (from memory).
pub fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let Some(last) = sorted.len().checked_sub(1) else {
        return f64::NAN;
    };
    let at = share.clamp(0.0, 1.0) * last as f64;
    let (below, above) = (at.floor() as usize, at.ceil() as usize);
    sorted[below] + (at - at.floor()) * (sorted[above] - sorted[below])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(values: &[f64], expected: &[f64]) {
        for (share, expected) in shares(values).iter().zip(expected) {
            assert!((share - expected).abs() < 1e-12, "{share} {expected}");
        }
    }

    #[test]
    fn causes_that_act_apart_keep_their_own() {
        // 10, +2 by the first, +5 by the second, -1 by the third, in any order.
        let value = |set: usize| {
            10.0 + [2.0, 5.0, -1.0]
                .iter()
                .enumerate()
                .filter(|(cause, _)| set >> cause & 1 == 1)
                .map(|(_, each)| each)
                .sum::<f64>()
        };
        let values: Vec<f64> = (0..8).map(value).collect();
        check(&values, &[2.0, 5.0, -1.0]);
    }

    #[test]
    fn what_causes_do_together_is_shared_evenly() {
        // A time 60 / (speed x feed): 10 before, speed doubled 5, feed trebled 10/3, both 5/3. By hand: speed
        // ((5 - 10) + (5/3 - 10/3)) / 2 = -10/3, feed ((10/3 - 10) + (5/3 - 5)) / 2 = -5; together -25/3.
        check(&[10.0, 5.0, 10.0 / 3.0, 5.0 / 3.0], &[-10.0 / 3.0, -5.0]);
    }

    #[test]
    fn the_gloves_of_three() {
        // The textbook's glove game (from memory): players 1 and 2 hold a left glove, 3 a right one; a pair is worth
        // 1. Shares 1/6, 1/6, 4/6.
        let value = |set: usize| f64::from(set & 0b100 != 0 && set & 0b011 != 0);
        let values: Vec<f64> = (0..8).map(value).collect();
        check(&values, &[1.0 / 6.0, 1.0 / 6.0, 4.0 / 6.0]);
    }

    #[test]
    fn shares_add_up_and_do_not_depend_on_the_order_of_the_causes() {
        // Any 16 numbers; the causes in another order must give the same shares in that order.
        let values: Vec<f64> = (0..16).map(|k| (f64::from(k) * 1.7).sin() * 40.0).collect();
        let plain = shares(&values);
        let whole = values[15] - values[0];
        assert!((plain.iter().sum::<f64>() - whole).abs() < 1e-12 * 40.0);
        let order = [2, 0, 3, 1];
        let turned: Vec<f64> = (0..16_usize)
            .map(|set| {
                let moved = (0..4).filter(|k| set >> k & 1 == 1).map(|k| 1 << order[k]);
                values[moved.sum::<usize>()]
            })
            .collect();
        for (k, share) in shares(&turned).iter().enumerate() {
            assert!((share - plain[order[k]]).abs() < 1e-12 * 40.0);
        }
    }

    #[test]
    fn without_causes_or_figures_there_are_no_shares() {
        assert!(shares(&[3.0]).is_empty());
        assert!(shares(&[3.0, f64::NAN])[0].is_nan());
    }

    #[test]
    fn quantiles_lie_between_values_in_proportion() {
        let values = [4.0, 1.0, 3.0, 2.0];
        assert_eq!(quantile(&values, 0.5), 2.5);
        assert_eq!(quantile(&values, 0.0), 1.0);
        assert_eq!(quantile(&values, 1.0), 4.0);
        assert!((quantile(&values, 0.1) - 1.3).abs() < 1e-12);
        assert!(quantile(&[], 0.5).is_nan());
    }
}
