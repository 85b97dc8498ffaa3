//! A Latin hypercube made even: strata paired so that discrepancy is small, or distances are large.

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::random::Random;
use super::super::{Ending, Error, Evenness};
use super::evenness::{Discrepancy, Distance, Measure};
use super::latin_hypercube::take;
use super::sobol::Sobol;

/// Most designs that are improved by swaps; with more, the order of the sequence's points stays.
const MOST_SWAPPED: usize = 2_048;
/// Pairs of designs that are looked at altogether.
const WORK: usize = 3_000_000;

/// Places of n designs in 0 to 1, (n, axes) flat, each in the middle of its stratum.
///
/// The order of the points of a scrambled Sobol sequence on each axis gives the first pairing; then the strata of two
/// designs on one axis are swapped wherever that helps.
///
/// Source: Jin, Chen and Sudjianto, Journal of Statistical Planning and Inference 134, 2005 (swaps with cheap updates;
/// from memory).
pub(crate) fn places(
    designs: usize,
    axes: usize,
    seed: u64,
    by: Evenness,
) -> Result<Vec<f64>, Error> {
    let sobol = Sobol::for_axes(axes, seed)?;
    let mut columns: Vec<Vec<f64>> = (0..axes)
        .map(|axis| strata((0..designs).map(|design| sobol.at(design as u64, axis))))
        .collect();
    if (3..=MOST_SWAPPED).contains(&designs) && axes > 1 {
        let random = &mut Random::new(seed);
        match by {
            Evenness::Discrepancy => improve::<Discrepancy>(&mut columns, random),
            Evenness::Distance => improve::<Distance>(&mut columns, random),
        }
    }
    let place = |design: usize| columns.iter().map(move |column| column[design]);
    Ok((0..designs).flat_map(place).collect())
}

/// Middles of strata in the order of some numbers.
fn strata(numbers: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut order: Vec<(f64, usize)> = numbers.zip(0..).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut places = vec![0.0; order.len()];
    for (stratum, (_, design)) in order.iter().enumerate() {
        places[*design] = (stratum as f64 + 0.5) / order.len() as f64;
    }
    places
}

/// Swaps the strata of two designs on one axis wherever that helps, until the work is done.
///
/// Taking swaps that harm a little now and then, less and less of them (a falling threshold), was tried and was no
/// better within the same work.
fn improve<M: Measure>(columns: &mut [Vec<f64>], random: &mut Random) {
    let mut pairs = Pairs::<M>::new(columns);
    let designs = pairs.designs;
    for _ in 0..WORK / designs {
        let column = random.below(columns.len());
        let a = (0..M::LOOK).map(|_| random.below(designs));
        let a = a.reduce(|a, b| {
            if pairs.loads[b] > pairs.loads[a] {
                b
            } else {
                a
            }
        });
        let a = a.unwrap_or(0);
        let b = (a + 1 + random.below(designs - 1)) % designs;
        if pairs.change(columns, column, a, b) < 0.0 {
            pairs.keep(a, b);
            columns[column].swap(a, b);
        }
    }
}

/// One number for each pair of designs, so that a swap costs as many steps as there are designs.
struct Pairs<M> {
    designs: usize,
    /// (designs, designs) flat.
    numbers: Vec<f64>,
    /// Sum of the shares of each design's pairs, where it is looked at.
    loads: Vec<f64>,
    /// What the pairs with either of two designs become.
    moved: [Vec<f64>; 2],
    measure: std::marker::PhantomData<M>,
}

impl<M: Measure> Pairs<M> {
    fn new(columns: &[Vec<f64>]) -> Self {
        let designs = columns[0].len();
        let point = |design: usize| -> Vec<f64> { columns.iter().map(|c| c[design]).collect() };
        let points: Vec<Vec<f64>> = (0..designs).map(point).collect();
        let mut numbers = vec![M::SELF; designs * designs];
        for a in 0..designs {
            for b in 0..a {
                let pair = M::pair(&points[a], &points[b]);
                numbers[a * designs + b] = pair;
                numbers[b * designs + a] = pair;
            }
        }
        let loads = numbers
            .chunks_exact(designs)
            .map(|row| sum_of(row, M::share))
            .collect();
        Self {
            designs,
            loads,
            numbers,
            moved: [vec![0.0; designs], vec![0.0; designs]],
            measure: std::marker::PhantomData,
        }
    }

    /// What swapping the strata of two designs on an axis changes in the sum.
    fn change(&mut self, columns: &[Vec<f64>], axis: usize, a: usize, b: usize) -> f64 {
        let (n, column) = (self.designs, &columns[axis][..]);
        let (at_a, at_b) = (column[a], column[b]);
        // The pair of the two keeps its number, as either takes the other's place.
        let between = self.numbers[a * n + b];
        (self.numbers[a * n + b], self.numbers[b * n + a]) = (M::SELF, M::SELF);
        let mut change = 0.0;
        for (moved, row, from, to) in [(0, a, at_a, at_b), (1, b, at_b, at_a)] {
            let numbers = &self.numbers[row * n..][..n];
            let moved = &mut self.moved[moved][..n];
            for ((moved, &number), &other) in moved.iter_mut().zip(numbers).zip(column) {
                *moved = M::moved(number, from, to, other);
            }
            change += sum_of(moved, M::share) - sum_of(numbers, M::share);
        }
        (self.numbers[a * n + b], self.numbers[b * n + a]) = (between, between);
        (self.moved[0][b], self.moved[1][a]) = (between, between);
        let own = |design: usize, swapped: f64| {
            let at = |(k, c): (usize, &Vec<f64>)| if k == axis { swapped } else { c[design] };
            M::own_share(columns.iter().enumerate().map(at), n)
        };
        change + own(a, at_b) + own(b, at_a) - own(a, at_a) - own(b, at_b)
    }

    /// Takes over what the last change was worked out for.
    fn keep(&mut self, a: usize, b: usize) {
        let n = self.designs;
        for (row, moved) in [(a, &self.moved[0]), (b, &self.moved[1])] {
            let numbers = &mut self.numbers[row * n..][..n];
            if M::LOOK > 1 {
                for ((load, &new), &old) in self.loads.iter_mut().zip(moved).zip(&*numbers) {
                    *load += M::share(new) - M::share(old);
                }
                self.loads[row] = sum_of(moved, M::share);
            }
            numbers.copy_from_slice(moved);
            for (other, &number) in moved.iter().enumerate() {
                self.numbers[other * n + row] = number;
            }
        }
    }
}

/// A sum in four strands, which a processor adds side by side.
fn sum_of(numbers: &[f64], share: impl Fn(f64) -> f64) -> f64 {
    let mut strands = [0.0; 4];
    let parts = numbers.chunks_exact(4);
    let rest: f64 = parts.remainder().iter().map(|&each| share(each)).sum();
    for part in parts {
        for (strand, &each) in strands.iter_mut().zip(part) {
            *strand += share(each);
        }
    }
    strands.iter().sum::<f64>() + rest
}

/// Evaluates as many designs as there is room for. Where rounding to the values of discrete axes makes two designs
/// one, another takes its place at random.
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    seed: u64,
    by: Evenness,
) -> Result<Ending, Error> {
    let (designs, axes) = (ledger.room(), scales.len());
    let places = places(designs, axes, seed, by)?;
    let place = |design: u64, axis: usize| places[design as usize * axes + axis];
    take(ledger, scales, seed, designs as u64, place)
}
