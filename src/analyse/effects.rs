//! Effects of a two-level factorial.

/// The mean and all effects of a full two-level factorial of k factors, from its 2^k results in standard order (the
/// first factor changes fastest), in the same order: mean, A, B, AB, C, AC, BC, ABC, ...
///
/// An effect is the mean of the results at a factor's upper level less that at its lower one; of an interaction, half
/// the difference of the effect between the levels of the other. All NaN where the number of results is no power of 2.
///
/// Source: Yates, The Design and Analysis of Factorial Experiments, 1937 (the algorithm; from memory).
pub fn effects(results: &[f64]) -> Vec<f64> {
    let runs = results.len();
    if !runs.is_power_of_two() {
        return vec![f64::NAN; runs];
    }
    let mut sums = results.to_vec();
    for _ in 0..runs.ilog2() {
        let pairs = || sums.chunks_exact(2);
        let added = pairs().map(|pair| pair[0] + pair[1]);
        sums = added.chain(pairs().map(|pair| pair[1] - pair[0])).collect();
    }
    sums[0] /= runs as f64;
    sums[1..]
        .iter_mut()
        .for_each(|sum| *sum /= runs as f64 / 2.0);
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The 2^3 pilot plant of Box, Hunter and Hunter, Statistics for Experimenters, 1978, table 10.1 (temperature,
    /// concentration, catalyst): mean 64.25, effects 23, -5, 1.5, 1.5, 10, 0, 0.5.
    #[test]
    fn pilot_plant() {
        let yields = [60.0, 72.0, 54.0, 68.0, 52.0, 83.0, 45.0, 80.0];
        let right = [64.25, 23.0, -5.0, 1.5, 1.5, 10.0, 0.0, 0.5];
        assert_eq!(effects(&yields), right);
    }

    #[test]
    fn half_a_factorial_has_no_effects() {
        assert!(effects(&[1.0, 2.0, 3.0]).iter().all(|each| each.is_nan()));
        assert_eq!(effects(&[4.0]), [4.0]);
        assert!(effects(&[]).is_empty());
    }
}
