//! Random numbers for the serial part of a plan: one stream, from the seed.

use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// A stream of random numbers.
#[derive(Clone, Debug)]
pub(crate) struct Random(Pcg64Mcg);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Pcg64Mcg::seed_from_u64(seed))
    }

    pub(crate) fn bits(&mut self) -> u64 {
        self.0.next_u64()
    }

    /// At least 0 and below 1.
    pub(crate) fn unit(&mut self) -> f64 {
        to_unit(self.bits())
    }

    /// A whole number below `end`.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.bits()) * end as u128) >> 64) as usize
    }

    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    pub(crate) fn shuffle<T>(&mut self, items: &mut [T]) {
        for k in (1..items.len()).rev() {
            items.swap(k, self.below(k + 1));
        }
    }
}

/// The upper 53 bits as a number at least 0 and below 1.
pub(crate) fn to_unit(bits: u64) -> f64 {
    (bits >> 11) as f64 * (1.0 / (1_u64 << 53) as f64)
}
