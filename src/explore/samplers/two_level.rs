//! Two-level factorials and their regular fractions.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::{Ending, Error};
use super::coded;

/// Most factors of which all combinations are taken: a million runs.
const MOST_BASIC: usize = 20;

/// Generators of published fractions: factors, halvings, and for each factor that is not basic the product of basic
/// factors whose level it takes. Basic factors are A, B, C, ... (the letter I is left out).
///
/// The fractions of least aberration. Sources: Box, Hunter and Hunter, Statistics for Experimenters, 2nd edition,
/// 2005, table of two-level fractional factorials; NIST/SEMATECH e-Handbook of Statistical Methods, 5.3.3.4.7 (both
/// from memory; the tests look for lesser aberration among all fractions of the same size and find none).
const GENERATORS: [(usize, usize, &str); 31] = [
    (3, 1, "AB"),
    (4, 1, "ABC"),
    (5, 1, "ABCD"),
    (5, 2, "AB AC"),
    (6, 1, "ABCDE"),
    (6, 2, "ABC BCD"),
    (6, 3, "AB AC BC"),
    (7, 1, "ABCDEF"),
    (7, 2, "ABCD ABDE"),
    (7, 3, "ABC BCD ACD"),
    (7, 4, "AB AC BC ABC"),
    (8, 1, "ABCDEFG"),
    (8, 2, "ABCD ABEF"),
    (8, 3, "ABC ABD BCDE"),
    (8, 4, "BCD ACD ABC ABD"),
    (9, 2, "ACDFG BCEFG"),
    (9, 3, "ABCD ACEF CDEF"),
    (9, 4, "BCDE ACDE ABDE ABCE"),
    (9, 5, "ABC BCD ACD ABD ABCD"),
    (10, 3, "ABCG BCDE ACDF"),
    (10, 4, "BCDF ACDF ABDE ABCE"),
    (10, 5, "ABCD ABCE ABDE ACDE BCDE"),
    (10, 6, "ABC BCD ACD ABD ABCD AB"),
    (11, 4, "ABCG BCDE ACDF ABCDEFG"),
    (11, 5, "CDE ABCD ABF BDEF ADEF"),
    (11, 6, "ABC BCD CDE ACD ADE BDE"),
    (11, 7, "ABC BCD ACD ABD ABCD AB AC"),
    (12, 8, "ABC BCD ACD ABD ABCD AB AC AD"),
    (13, 9, "ABC BCD ACD ABD ABCD AB AC AD BC"),
    (14, 10, "ABC BCD ACD ABD ABCD AB AC AD BC BD"),
    (15, 11, "ABC BCD ACD ABD ABCD AB AC AD BC BD CD"),
];

/// A regular fraction of a two-level factorial, or all of it.
///
/// Effects are sets of factors as bits: bit k is factor k. One bit is a main effect, two are an interaction.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fraction {
    factors: usize,
    /// Of each factor that is not basic: the basic factors whose product it is.
    generators: Vec<u64>,
}

impl Fraction {
    /// The published fraction of 2^(factors - halvings) runs.
    ///
    /// # Errors
    ///
    /// [`Error::NoFraction`] where none is published, [`Error::AxisCount`] without factors or with more runs than 2^20.
    pub fn new(factors: usize, halvings: usize) -> Result<Self, Error> {
        let row = GENERATORS
            .iter()
            .find(|row| (row.0, row.1) == (factors, halvings));
        let generators = match row {
            Some(row) => row.2.split(' ').map(letters).collect(),
            None if halvings == 0 => Vec::new(),
            None => {
                return Err(Error::NoFraction {
                    axes: factors,
                    halvings,
                    possible: Self::possible(factors),
                });
            }
        };
        if factors == 0 || factors - halvings > MOST_BASIC {
            return Err(Error::AxisCount {
                plan: "two-level",
                axes: factors,
                least: 1,
                most: MOST_BASIC,
            });
        }
        Ok(Self {
            factors,
            generators,
        })
    }

    /// Halvings of a factorial that are published, in ascending order.
    pub fn possible(factors: usize) -> Vec<usize> {
        let of = GENERATORS.iter().filter(|row| row.0 == factors);
        of.map(|row| row.1).collect()
    }

    /// Number of runs.
    pub fn runs(&self) -> usize {
        1 << self.basic()
    }

    fn basic(&self) -> usize {
        self.factors - self.generators.len()
    }

    /// The defining relation: effects that can't be told from the mean, in ascending order of their bits.
    pub fn words(&self) -> Vec<u64> {
        let basic = self.basic();
        let word = |(k, generator): (usize, &u64)| generator | 1 << (basic + k);
        let generators: Vec<u64> = self.generators.iter().enumerate().map(word).collect();
        let product = |set: u64| {
            let chosen = generators
                .iter()
                .enumerate()
                .filter(|(k, _)| set >> k & 1 == 1);
            chosen.fold(0, |word, (_, generator)| word ^ generator)
        };
        let mut words: Vec<u64> = (1..1_u64 << generators.len()).map(product).collect();
        words.sort_unstable();
        words
    }

    /// The resolution: the fewest factors in a word of the defining relation; `None` of a full factorial.
    ///
    /// III: main effects are mixed with interactions of two. IV: those of two with each other. V and more: effects of
    /// one and two factors are mixed with those of three and more only.
    ///
    /// Source: Box and Hunter, Technometrics 3(3), 1961.
    pub fn resolution(&self) -> Option<usize> {
        self.words()
            .iter()
            .map(|word| word.count_ones() as usize)
            .min()
    }

    /// Effects of one and two factors that can't be told apart, in groups of two and more.
    pub fn aliases(&self) -> Vec<Vec<u64>> {
        let words = self.words();
        let single = (0..self.factors).map(|a| 1_u64 << a);
        let pairs = (0..self.factors).flat_map(|a| {
            let with = move |b| 1_u64 << a | 1_u64 << b;
            (a + 1..self.factors).map(with)
        });
        let effects: Vec<u64> = single.chain(pairs).collect();
        let mut groups: Vec<Vec<u64>> = Vec::new();
        for effect in effects {
            let mixed = |other: &u64| words.contains(&(other ^ effect));
            match groups.iter_mut().find(|group| mixed(&group[0])) {
                Some(group) => group.push(effect),
                None => groups.push(vec![effect]),
            }
        }
        groups.retain(|group| group.len() > 1);
        groups
    }

    /// Level of a factor in a run, -1 or 1. Runs are in standard order: the first factor changes fastest.
    pub fn level(&self, run: usize, factor: usize) -> f64 {
        let up = match factor.checked_sub(self.basic()) {
            None => run >> factor & 1 == 1,
            Some(k) => {
                let generator = self.generators[k];
                // A product of levels is -1 where an odd number of them is.
                (generator & !(run as u64)).count_ones().is_multiple_of(2)
            }
        };
        if up { 1.0 } else { -1.0 }
    }

    /// All runs, (runs, factors) flat.
    pub(super) fn coded(&self) -> Vec<f64> {
        (0..self.runs())
            .flat_map(|run| (0..self.factors).map(move |factor| self.level(run, factor)))
            .collect()
    }
}

/// Letters of basic factors as bits; I is no factor.
fn letters(word: &str) -> u64 {
    let bit = |letter: u8| 1 << (letter - b'A' - u8::from(letter > b'I'));
    word.bytes().map(bit).sum()
}

/// Evaluates the fraction.
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    halvings: usize,
) -> Result<Ending, Error> {
    let fraction = Fraction::new(scales.len(), halvings)?;
    coded::run(ledger, scales, &fraction.coded())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Number of words of each length, from 3 on.
    fn pattern(words: impl Iterator<Item = u64>) -> [u32; 16] {
        let mut pattern = [0; 16];
        words.for_each(|word| pattern[word.count_ones() as usize] += 1);
        pattern
    }

    /// The best pattern that any choice of generators gives, as many as `halvings` from `basic` factors.
    fn least(basic: usize, halvings: usize) -> [u32; 16] {
        let columns: Vec<u64> = (1..1_u64 << basic).filter(|c| c.count_ones() > 1).collect();
        let mut best = [u32::MAX; 16];
        let mut chosen = Vec::new();
        visit(&columns, 0, basic, halvings, &mut chosen, &mut best);
        best
    }

    fn visit(
        columns: &[u64],
        from: usize,
        basic: usize,
        left: usize,
        words: &mut Vec<u64>,
        best: &mut [u32; 16],
    ) {
        if left == 0 {
            *best = (*best).min(pattern(words.iter().copied()));
            return;
        }
        let known = words.len();
        let mark = 1 << (basic + left - 1);
        for index in from..columns.len() {
            words.push(columns[index] | mark);
            for k in 0..known {
                words.push(words[k] ^ columns[index] ^ mark);
            }
            visit(columns, index + 1, basic, left - 1, words, best);
            words.truncate(known);
        }
    }

    #[test]
    fn no_fraction_of_the_same_size_has_less_aberration() {
        for (factors, halvings, _) in GENERATORS {
            let fraction = Fraction::new(factors, halvings).unwrap();
            let found = pattern(fraction.words().into_iter());
            let best = least(factors - halvings, halvings);
            assert_eq!(found, best, "2^({factors}-{halvings})");
        }
    }

    /// NIST/SEMATECH e-Handbook 5.3.3.4.7 and Box, Hunter and Hunter 2005 (from memory): runs and resolution.
    #[test]
    fn resolutions_are_as_published() {
        let published = [
            (3, 1, 4, 3),
            (4, 1, 8, 4),
            (5, 1, 16, 5),
            (5, 2, 8, 3),
            (6, 1, 32, 6),
            (6, 2, 16, 4),
            (6, 3, 8, 3),
            (7, 1, 64, 7),
            (7, 2, 32, 4),
            (7, 3, 16, 4),
            (7, 4, 8, 3),
            (8, 2, 64, 5),
            (8, 3, 32, 4),
            (8, 4, 16, 4),
            (9, 2, 128, 6),
            (9, 3, 64, 4),
            (9, 4, 32, 4),
            (9, 5, 16, 3),
            (10, 3, 128, 5),
            (10, 4, 64, 4),
            (10, 5, 32, 4),
            (10, 6, 16, 3),
            (11, 4, 128, 5),
            (11, 5, 64, 4),
            (11, 6, 32, 4),
            (11, 7, 16, 3),
            (15, 11, 16, 3),
        ];
        for (factors, halvings, runs, resolution) in published {
            let fraction = Fraction::new(factors, halvings).unwrap();
            assert_eq!(fraction.runs(), runs);
            assert_eq!(fraction.resolution(), Some(resolution));
        }
        assert_eq!(Fraction::new(4, 0).unwrap().resolution(), None);
    }

    /// Columns of every fraction are balanced and at right angles to each other.
    #[test]
    fn columns_are_orthogonal() {
        for (factors, halvings, _) in GENERATORS {
            let fraction = Fraction::new(factors, halvings).unwrap();
            let product = |a: usize, b: usize| -> f64 {
                let runs = 0..fraction.runs();
                runs.map(|run| fraction.level(run, a) * fraction.level(run, b))
                    .sum()
            };
            for a in 0..factors {
                assert_eq!(
                    (0..fraction.runs())
                        .map(|run| fraction.level(run, a))
                        .sum::<f64>(),
                    0.0
                );
                assert!((0..a).all(|b| product(a, b) == 0.0));
            }
        }
    }

    /// The half of 2^3 with C = AB: A = BC, B = AC, C = AB (NIST/SEMATECH e-Handbook 5.3.3.4.3).
    #[test]
    fn aliases_of_the_half_of_three() {
        let fraction = Fraction::new(3, 1).unwrap();
        assert_eq!(fraction.words(), [0b111]);
        let groups = [[0b001, 0b110], [0b010, 0b101], [0b100, 0b011]];
        assert_eq!(fraction.aliases(), groups);
        assert!(Fraction::new(5, 1).unwrap().aliases().is_empty());
    }

    /// The quarter of 2^6, resolution IV: two-factor interactions are mixed in the groups that the e-Handbook lists
    /// for E = ABC, F = BCD (from memory): AB+CE, AC+BE, AD+EF, AE+BC+DF, AF+DE, BD+CF, BF+CD.
    #[test]
    fn aliases_of_the_quarter_of_six() {
        let groups: Vec<Vec<u64>> = [
            "AB CE", "AC BE", "AD EF", "AE BC DF", "AF DE", "BD CF", "BF CD",
        ]
        .iter()
        .map(|group| group.split(' ').map(letters).collect())
        .collect();
        assert_eq!(Fraction::new(6, 2).unwrap().aliases(), groups);
    }

    #[test]
    fn unpublished_fractions_are_refused() {
        assert_eq!(
            Fraction::new(9, 1),
            Err(Error::NoFraction {
                axes: 9,
                halvings: 1,
                possible: vec![2, 3, 4, 5]
            })
        );
        assert!(Fraction::new(0, 0).is_err());
        assert!(Fraction::new(64, 0).is_err());
    }
}
