//! A random order of many numbers, reached by index: nothing is stored.

use super::sobol::mix;

/// Rounds of the mixing: four are the fewest that pass for random, a few more serve counts of few bits.
const ROUNDS: u64 = 6;

/// A permutation of the whole numbers below a count.
///
/// A Feistel network over the next even number of bits; numbers that fall beyond the count walk on until they come
/// back, four steps on average at most.
///
/// Sources: Luby and Rackoff, SIAM Journal on Computing 17(2), 1988; Black and Rogaway, CT-RSA 2002 (cycle walking;
/// both from memory).
#[derive(Clone, Copy, Debug)]
pub(super) struct Permutation {
    count: u64,
    half: u32,
    key: u64,
}

impl Permutation {
    pub(super) fn new(count: u64, key: u64) -> Self {
        let bits = u64::BITS - count.saturating_sub(1).leading_zeros();
        Self {
            count,
            half: bits.div_ceil(2).max(1),
            key,
        }
    }

    /// Where an index below the count goes.
    pub(super) fn at(&self, index: u64) -> u64 {
        let mask = (1 << self.half) - 1;
        let mut at = index;
        loop {
            let (mut left, mut right) = (at >> self.half, at & mask);
            for round in 0..ROUNDS {
                let mixed = mix(right ^ self.key.rotate_left(16 * round as u32)) >> 32 & mask;
                (left, right) = (right, left ^ mixed);
            }
            at = left << self.half | right;
            if at < self.count {
                return at;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_comes_once() {
        for count in [1, 2, 3, 7, 16, 17, 1_000, 65_537] {
            let permutation = Permutation::new(count, 99);
            let mut seen = vec![false; count as usize];
            (0..count).for_each(|index| seen[permutation.at(index) as usize] = true);
            assert!(seen.iter().all(|&seen| seen), "{count}");
        }
    }

    /// Places after the permutation do not depend on those before it: rank correlation within three standard errors
    /// (1 / sqrt(n - 1)) for nine of ten keys and more, here for all but two of forty.
    #[test]
    fn order_is_lost() {
        let count = 1_000_u64;
        let middle = (count - 1) as f64 / 2.0;
        let norm = count as f64 * (count as f64 * count as f64 - 1.0) / 12.0;
        let correlation = |key| {
            let permutation = Permutation::new(count, key);
            let product = |index| (index as f64 - middle) * (permutation.at(index) as f64 - middle);
            (0..count).map(product).sum::<f64>() / norm
        };
        let wide = (0..40).filter(|&key| correlation(mix(key)).abs() > 3.0 / 999.0_f64.sqrt());
        assert!(wide.count() <= 2);
        let square = |key| correlation(mix(key)).powi(2) * 999.0;
        let mean = (0..400).map(square).sum::<f64>() / 400.0;
        assert!((0.7..1.3).contains(&mean), "{mean}");
    }
}
