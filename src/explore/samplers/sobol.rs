//! The Sobol sequence, scrambled, reached by index.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::random::{Random, to_unit};
use super::super::{Ending, Error};
use super::directions::DIRECTIONS;
use super::sequence;

/// Bits of a point's coordinate, all that an `f64` below 1 holds.
const BITS: u32 = 53;
/// Dimensions there are numbers for.
pub(crate) const MOST_AXES: usize = DIRECTIONS.len() + 1;

/// A Sobol sequence of some dimensions.
///
/// Points come in Gray-code order, so any stretch of 2^k points from a multiple of 2^k is balanced. The sequence
/// repeats itself after 2^53 points.
///
/// Source: Sobol', USSR Comput. Maths. Math. Phys. 7(4), 1967; Antonov and Saleev, 19(1), 1979 (Gray code);
/// Joe and Kuo, SIAM J. Sci. Comput. 30, 2008 (direction numbers).
pub(crate) struct Sobol {
    /// By dimension and bit of the index; the upper bits count.
    directions: Vec<[u64; BITS as usize]>,
    scramble: Option<u64>,
    /// By dimension: bits that every point's are flipped by.
    shift: Vec<u64>,
}

impl Sobol {
    /// As published, from the origin; at most 64 dimensions.
    pub(crate) fn plain(dimensions: usize) -> Self {
        Self {
            directions: (0..dimensions).map(directions).collect(),
            scramble: None,
            shift: vec![0; dimensions],
        }
    }

    /// With every coordinate's bits flipped at random by the bits above them: nested uniform scrambling. Keeps the
    /// evenness, removes the corner points, differs with the seed.
    ///
    /// Source: Owen, in Monte Carlo and Quasi-Monte Carlo Methods in Scientific Computing, 1995.
    pub(crate) fn scrambled(dimensions: usize, seed: u64) -> Self {
        Self {
            scramble: Some(seed),
            ..Self::plain(dimensions)
        }
    }

    /// With the bits of every coordinate multiplied by a random triangular matrix and then flipped at random. As even
    /// as nested scrambling and quicker; averages of smooth functions are mostly nearer, but now and then farther off.
    ///
    /// Sources: Matoušek, Journal of Complexity 14, 1998; Pan and Owen, Mathematics of Computation 92, 2023 (the
    /// distribution of the errors; both from memory).
    pub(crate) fn matrix_scrambled(dimensions: usize, seed: u64) -> Self {
        let mut random = Random::new(seed);
        let mut sobol = Self::plain(dimensions);
        for (directions, shift) in sobol.directions.iter_mut().zip(&mut sobol.shift) {
            // Row k of the matrix: the bits above k at random, k itself, none below; the top bit is the first.
            let rows: Vec<u64> = (0..BITS)
                .map(|k| random.bits() & !(u64::MAX >> k) | 1 << (63 - k))
                .collect();
            for direction in directions {
                let bit = |row: &u64| u64::from((row & *direction).count_ones() % 2);
                let bits = rows.iter().zip(0..).map(|(row, k)| bit(row) << (63 - k));
                *direction = bits.fold(0, |all, bit| all | bit);
            }
            *shift = random.bits();
        }
        sobol
    }

    /// Scrambled, one dimension an axis.
    ///
    /// # Errors
    ///
    /// More axes than there are dimensions.
    pub(crate) fn for_axes(axes: usize, seed: u64) -> Result<Self, Error> {
        if axes > MOST_AXES {
            return Err(Error::TooManyAxes {
                axes,
                most: MOST_AXES,
            });
        }
        Ok(Self::scrambled(axes, seed))
    }

    /// Coordinate of a point in a dimension, at least 0 and below 1.
    pub(crate) fn at(&self, index: u64, dimension: usize) -> f64 {
        let gray = index ^ index >> 1;
        let directions = &self.directions[dimension];
        let mut rest = gray;
        let mut bits = 0;
        while rest != 0 {
            bits ^= directions[(rest.trailing_zeros() % BITS) as usize];
            rest &= rest - 1;
        }
        match self.scramble {
            Some(seed) => to_unit(scramble(bits, mix(seed ^ mix(dimension as u64 + 1)))),
            None => to_unit(bits ^ self.shift[dimension]),
        }
    }
}

/// Direction numbers of a dimension, top bit first, by the recurrence of its polynomial.
fn directions(dimension: usize) -> [u64; BITS as usize] {
    let mut numbers = [0_u64; BITS as usize];
    let Some(&(degree, coefficients, initial)) =
        dimension.checked_sub(1).map(|row| &DIRECTIONS[row])
    else {
        numbers
            .iter_mut()
            .enumerate()
            .for_each(|(bit, number)| *number = 1 << (63 - bit));
        return numbers;
    };
    let degree = degree as usize;
    for bit in 0..BITS as usize {
        numbers[bit] = if bit < degree {
            initial[bit] << (63 - bit)
        } else {
            let earlier = numbers[bit - degree];
            (1..degree)
                .filter(|k| coefficients >> (degree - 1 - k) & 1 == 1)
                .fold(earlier ^ earlier >> degree, |number, k| {
                    number ^ numbers[bit - k]
                })
        };
    }
    numbers
}

fn scramble(bits: u64, key: u64) -> u64 {
    (0..BITS).fold(bits, |scrambled, bit| {
        // The bits above this one, with a mark so that lengths differ.
        let above = if bit == 0 {
            1
        } else {
            bits >> (64 - bit) | 1 << bit
        };
        scrambled ^ (mix(above ^ key) >> 63) << (63 - bit)
    })
}

/// A well-mixed function of 64 bits.
///
/// Source: Steele, Lea and Flood, OOPSLA 2014 (SplitMix64, from memory).
pub(super) fn mix(bits: u64) -> u64 {
    let bits = bits.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let bits = (bits ^ bits >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let bits = (bits ^ bits >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
    bits ^ bits >> 31
}

/// Evaluates the sequence from its beginning; points that rounding has made equal to an earlier one are passed over.
pub(crate) fn run(ledger: &mut Ledger<'_>, scales: &[Scale], seed: u64) -> Result<Ending, Error> {
    let sobol = Sobol::for_axes(scales.len(), seed)?;
    sequence::run(ledger, scales, |index, axis| sobol.at(index, axis))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// Points 0 to 7 in 5 dimensions and point 31 in 10, from a general scientific library (SciPy) with the numbers
    /// of Joe and Kuo 2008.
    #[test]
    fn published_points() {
        let expected = [
            [0.0, 0.0, 0.0, 0.0, 0.0],
            [0.5, 0.5, 0.5, 0.5, 0.5],
            [0.75, 0.25, 0.25, 0.25, 0.75],
            [0.25, 0.75, 0.75, 0.75, 0.25],
            [0.375, 0.375, 0.625, 0.875, 0.375],
            [0.875, 0.875, 0.125, 0.375, 0.875],
            [0.625, 0.125, 0.875, 0.625, 0.625],
            [0.125, 0.625, 0.375, 0.125, 0.125],
        ];
        let sobol = Sobol::plain(10);
        for (index, point) in expected.iter().enumerate() {
            (0..5).for_each(|axis| assert_eq!(sobol.at(index as u64, axis), point[axis]));
        }
        let point = [
            0.03125, 0.53125, 0.90625, 0.96875, 0.96875, 0.78125, 0.34375, 0.53125, 0.15625,
            0.59375,
        ];
        (0..10).for_each(|axis| assert_eq!(sobol.at(31, axis), point[axis]));
    }

    /// Points in all 64 dimensions, from the same library (SciPy 1.17.1, 53 bits).
    #[test]
    fn points_in_all_dimensions() {
        let table = include_str!("../../../tests/data/optimiser/sobol_points.csv");
        let sobol = Sobol::plain(MOST_AXES);
        let mut checked = 0;
        for line in table.lines().skip(1) {
            let (index, point) = line.split_once(',').unwrap();
            let index = index.parse().unwrap();
            for (axis, value) in point.split(' ').enumerate() {
                assert_eq!(
                    sobol.at(index, axis),
                    value.parse::<f64>().unwrap(),
                    "point {index}, axis {axis}"
                );
                checked += 1;
            }
        }
        assert_eq!(checked, 9 * MOST_AXES);
    }

    #[test]
    fn no_point_comes_twice() {
        for sobol in [
            Sobol::plain(3),
            Sobol::scrambled(3, 5),
            Sobol::matrix_scrambled(3, 5),
        ] {
            let point = |index| [0, 1, 2].map(|axis| sobol.at(index, axis).to_bits());
            let points: BTreeSet<[u64; 3]> = (0..1 << 17).map(point).collect();
            assert_eq!(points.len(), 1 << 17);
        }
    }

    #[test]
    fn scrambling_keeps_one_point_in_each_stratum() {
        for sobol in [
            Sobol::scrambled(MOST_AXES, 11),
            Sobol::matrix_scrambled(MOST_AXES, 11),
        ] {
            for axis in 0..MOST_AXES {
                let strata: BTreeSet<u64> = (0..256)
                    .map(|index| (sobol.at(index, axis) * 256.0) as u64)
                    .collect();
                assert_eq!(strata.len(), 256);
            }
        }
    }
}
