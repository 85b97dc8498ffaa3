//! The Halton sequence, its digits permuted, reached by index.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::random::Random;
use super::super::{Ending, Error};
use super::{sequence, sobol::mix};

/// Bases: the first primes, one a dimension.
const PRIMES: [u64; 64] = [
    2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83, 89, 97,
    101, 103, 107, 109, 113, 127, 131, 137, 139, 149, 151, 157, 163, 167, 173, 179, 181, 191, 193,
    197, 199, 211, 223, 227, 229, 233, 239, 241, 251, 257, 263, 269, 271, 277, 281, 283, 293, 307,
    311,
];

/// A Halton sequence of some dimensions: coordinates are the digits of the index, mirrored at the point.
///
/// Sources: Halton, Numerische Mathematik 2, 1960; digits permuted at random, each place and base by itself: Owen, A
/// randomized Halton algorithm in R, arXiv 1706.02808, 2017.
pub(crate) struct Halton {
    /// By dimension: for every place of the fraction the digit that each digit becomes.
    digits: Vec<Vec<Vec<u64>>>,
}

impl Halton {
    /// One dimension an axis, digits permuted by the seed.
    ///
    /// # Errors
    ///
    /// More axes than there are bases.
    pub(crate) fn for_axes(axes: usize, seed: u64) -> Result<Self, Error> {
        Self::new(axes, |dimension, digits| {
            let mut random = Random::new(mix(seed ^ mix(dimension as u64 + 1)));
            digits.iter_mut().for_each(|place| random.shuffle(place));
        })
    }

    fn new(axes: usize, change: impl Fn(usize, &mut [Vec<u64>])) -> Result<Self, Error> {
        let Some(primes) = PRIMES.get(..axes) else {
            return Err(Error::TooManyAxes {
                axes,
                most: PRIMES.len(),
            });
        };
        let digits = |(dimension, &prime): (usize, &u64)| {
            // Places until a double has no bits left for more.
            let places = (53.0 / (prime as f64).log2()).ceil() as usize;
            let mut digits = vec![(0..prime).collect(); places];
            change(dimension, &mut digits);
            digits
        };
        Ok(Self {
            digits: primes.iter().enumerate().map(digits).collect(),
        })
    }

    /// Coordinate of a point in a dimension, at least 0 and below 1.
    pub(crate) fn at(&self, index: u64, dimension: usize) -> f64 {
        let prime = PRIMES[dimension];
        let (mut rest, mut share, mut at) = (index, 1.0, 0.0);
        for digits in &self.digits[dimension] {
            share /= prime as f64;
            at += digits[(rest % prime) as usize] as f64 * share;
            rest /= prime;
        }
        // Rounding may reach 1.
        at.min(1.0 - f64::EPSILON / 2.0)
    }
}

/// Evaluates the sequence from its beginning; points that rounding has made equal to an earlier one are passed over.
pub(crate) fn run(ledger: &mut Ledger<'_>, scales: &[Scale], seed: u64) -> Result<Ending, Error> {
    let halton = Halton::for_axes(scales.len(), seed)?;
    sequence::run(ledger, scales, |index, axis| halton.at(index, axis))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The sequence in bases 2, 3 and 5 as every textbook prints it (Halton 1960): 1/2 1/4 3/4 1/8 ..., 1/3 2/3 1/9
    /// 4/9 ..., 1/5 2/5 ...
    #[test]
    fn published_points() {
        let plain = Halton::new(3, |_, _| {}).unwrap();
        let expected = [
            [0.0, 0.0, 0.0],
            [1.0 / 2.0, 1.0 / 3.0, 1.0 / 5.0],
            [1.0 / 4.0, 2.0 / 3.0, 2.0 / 5.0],
            [3.0 / 4.0, 1.0 / 9.0, 3.0 / 5.0],
            [1.0 / 8.0, 4.0 / 9.0, 4.0 / 5.0],
            [5.0 / 8.0, 7.0 / 9.0, 1.0 / 25.0],
            [3.0 / 8.0, 2.0 / 9.0, 6.0 / 25.0],
            [7.0 / 8.0, 5.0 / 9.0, 11.0 / 25.0],
            [1.0 / 16.0, 8.0 / 9.0, 16.0 / 25.0],
        ];
        for (index, point) in expected.iter().enumerate() {
            for (dimension, value) in point.iter().enumerate() {
                assert!((plain.at(index as u64, dimension) - value).abs() < 1e-15);
            }
        }
    }

    #[test]
    fn bases_are_the_first_primes() {
        let is_prime = |n: u64| (2..n).all(|k| !n.is_multiple_of(k));
        let primes: Vec<u64> = (2..312).filter(|&n| is_prime(n)).collect();
        assert_eq!(PRIMES[..], primes);
    }

    #[test]
    fn permuting_keeps_one_point_in_each_stratum() {
        let halton = Halton::for_axes(64, 3).unwrap();
        for (dimension, &prime) in PRIMES.iter().enumerate() {
            let mut seen = vec![false; prime as usize];
            for index in 0..prime {
                seen[(halton.at(index, dimension) * prime as f64) as usize] = true;
            }
            assert!(seen.iter().all(|&seen| seen));
        }
        assert!(Halton::for_axes(65, 3).is_err());
    }
}
