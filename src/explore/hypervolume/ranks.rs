//! A set of whole numbers below some end, with the next one above and below any number in few steps.

/// Which numbers are in, 64 a word; each level says which words of the one below are not empty.
///
/// Source: the tree of van Emde Boas, Information Processing Letters 6(3), 1977, here with 64 branches.
pub(super) struct Ranks {
    levels: Vec<Vec<u64>>,
}

impl Ranks {
    /// An empty set of numbers below `end`.
    pub(super) fn new(end: usize) -> Self {
        let mut levels = Vec::new();
        let mut words = end;
        loop {
            words = words.div_ceil(64).max(1);
            levels.push(vec![0; words]);
            if words == 1 {
                return Self { levels };
            }
        }
    }

    pub(super) fn insert(&mut self, rank: usize) {
        let mut at = rank;
        for level in &mut self.levels {
            level[at / 64] |= 1 << (at % 64);
            at /= 64;
        }
    }

    pub(super) fn remove(&mut self, rank: usize) {
        let mut at = rank;
        for level in &mut self.levels {
            level[at / 64] &= !(1 << (at % 64));
            if level[at / 64] != 0 {
                return;
            }
            at /= 64;
        }
    }

    /// The largest number in the set below `rank`.
    pub(super) fn before(&self, rank: usize) -> Option<usize> {
        let mut at = rank;
        for (height, level) in self.levels.iter().enumerate() {
            let below = level.get(at / 64)? & ((1 << (at % 64)) - 1);
            if below != 0 {
                let mut found = at / 64 * 64 + 63 - below.leading_zeros() as usize;
                for level in self.levels[..height].iter().rev() {
                    found = found * 64 + 63 - level[found].leading_zeros() as usize;
                }
                return Some(found);
            }
            at /= 64;
        }
        None
    }

    /// The least number in the set above `rank`.
    pub(super) fn after(&self, rank: usize) -> Option<usize> {
        let mut at = rank;
        for (height, level) in self.levels.iter().enumerate() {
            let above = level.get(at / 64)? & (!1_u64 << (at % 64));
            if above != 0 {
                let mut found = at / 64 * 64 + above.trailing_zeros() as usize;
                for level in self.levels[..height].iter().rev() {
                    found = found * 64 + level[found].trailing_zeros() as usize;
                }
                return Some(found);
            }
            at /= 64;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::random::Random;
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn neighbours_are_those_of_a_sorted_set() {
        for end in [1, 64, 65, 5_000, 300_000] {
            let mut random = Random::new(end as u64);
            let (mut ranks, mut sorted) = (Ranks::new(end), BTreeSet::new());
            for round in 0..4_000 {
                let rank = random.below(end);
                if round % 3 == 2 {
                    ranks.remove(rank);
                    sorted.remove(&rank);
                } else {
                    ranks.insert(rank);
                    sorted.insert(rank);
                }
                let at = random.below(end);
                assert_eq!(ranks.before(at), sorted.range(..at).next_back().copied());
                assert_eq!(ranks.after(at), sorted.range(at + 1..).next().copied());
            }
        }
    }
}
