//! Sobol' indices: shares of a measure's variance by axis.

use std::f64::consts::{PI, SQRT_2};

use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::quantile;

/// Resamples behind an interval.
const RESAMPLES: usize = 200;
/// Groups of blocks that are drawn in a resample.
const GROUPS: usize = 64;
/// Bins on which the values of an axis are ranked.
const BINS: usize = 4_096;

/// A share and the interval in which it lies in 95 of 100 cases.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The share; sampling can put a total a little above 1.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Shares of an axis in a measure's variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Indices {
    /// First order: what knowing the axis alone would take off the variance.
    pub first: Share,
    /// Total: what would be left of the variance if all other axes were known.
    pub total: Share,
    /// Pairs of designs that the total rests on.
    pub used: usize,
}

/// Sobol' indices of every axis, from blocks of designs.
///
/// `shares` (base, axes + 2, axes): where designs stand on their axes, 0 to 1; in each block A, B, and A with B's value
/// on each axis. `values` (base, axes + 2): the measure. Designs without a finite one are left out: where rules make
/// some designs impossible, the shares are those within what remains. NaN where nothing varies, or hardly any design
/// has a value. The same seed gives the same intervals.
///
/// First order: the variance of the mean over the other axes, E[y | x_i], which is expanded over all designs in
/// cosines of the rank of x_i, some 12 of them for a thousand blocks (Plischke; on an axis of few values: their
/// means). Total: mean of (f(A) − f(AB_i))² / 2 V (Jansen); where no value is missing, of what the expansions leave of
/// f, the first-order share added, so that only the interplay of axes is left to chance. Intervals by resampling
/// blocks in groups: the basic bootstrap, percentiles 2.5 and 97.5 %.
///
/// Sources: Sobol', Mathematical Modelling and Computational Experiment 1, 1993; Jansen, Computer Physics
/// Communications 117, 1999; Plischke, Reliability Engineering and System Safety 95, 2010; Davison and Hinkley, Bootstrap
/// Methods and their Application, 1997 (from memory).
pub fn indices(shares: &[f64], values: &[f64], axes: usize, seed: u64) -> Vec<Indices> {
    let sample = Sample::new(values, axes);
    let draws = draws(sample.groups(), seed);
    (0..axes)
        .map(|axis| {
            let column: Vec<f64> = shares.iter().skip(axis).step_by(axes).copied().collect();
            sample.of_axis(axis, &column, &draws)
        })
        .collect()
}

/// How often each group is drawn in each resample.
fn draws(groups: usize, seed: u64) -> Vec<Vec<f64>> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut below = |end: usize| ((u128::from(random.next_u64()) * end as u128) >> 64) as usize;
    (0..RESAMPLES)
        .map(|_| {
            let mut drawn = vec![0.0; groups];
            (0..groups).for_each(|_| drawn[below(groups)] += 1.0);
            drawn
        })
        .collect()
}

/// The values of a measure, its mean taken off.
struct Sample {
    values: Vec<f64>,
    block: usize,
    /// Blocks in a group.
    group: usize,
    complete: bool,
    /// Most cosines.
    order: usize,
}

impl Sample {
    fn new(values: &[f64], axes: usize) -> Self {
        let finite = || values.iter().filter(|value| value.is_finite());
        let count = finite().count();
        let mean = finite().sum::<f64>() / count as f64;
        let block = axes + 2;
        let base = values.len() / block;
        let thousands = (count as f64 / block as f64 / 1_024.0).max(0.1);
        Self {
            values: values.iter().map(|value| value - mean).collect(),
            block,
            group: base.div_ceil(GROUPS).max(1),
            complete: count == values.len(),
            order: (12.0 * thousands.powf(0.25)).round() as usize,
        }
    }

    fn groups(&self) -> usize {
        (self.values.len() / self.block).div_ceil(self.group)
    }

    fn of_axis(&self, axis: usize, column: &[f64], draws: &[Vec<f64>]) -> Indices {
        let basis = Basis::new(column, &self.values, self.order);
        let mut sums: Vec<Sums> = vec![Sums::new(basis.count()); self.groups()];
        let mut at = vec![0.0; basis.count()];
        for (row, (&value, &share)) in self.values.iter().zip(column).enumerate() {
            if value.is_finite() {
                basis.place(share, &mut at);
                sums[row / self.block / self.group].add(value, &at);
            }
        }
        let coefficients = Sums::total(&sums, None).coefficients();
        let expanded = |share: f64, at: &mut [f64]| {
            basis.place(share, at);
            coefficients
                .iter()
                .zip(at)
                .map(|(c, at)| c * *at)
                .sum::<f64>()
        };
        for block in 0..self.values.len() / self.block {
            let (first, moved) = (block * self.block, block * self.block + 2 + axis);
            let mut step = self.values[first] - self.values[moved];
            if self.complete {
                step -= expanded(column[first], &mut at) - expanded(column[moved], &mut at);
            }
            if step.is_finite() {
                sums[block / self.group].step(step);
            }
        }
        let all = Sums::total(&sums, None);
        let found = all.shares(self.complete);
        let resampled: Vec<[f64; 2]> = draws
            .iter()
            .map(|drawn| Sums::total(&sums, Some(drawn)).shares(self.complete))
            .collect();
        let share = |which: usize| {
            let of_draws: Vec<f64> = resampled.iter().map(|each| each[which]).collect();
            let value = found[which];
            // Mirrored at the value: squares grow by resampling as they did by sampling.
            Share {
                value,
                low: (2.0 * value - quantile(&of_draws, 0.975)).clamp(0.0, value.max(0.0)),
                high: (2.0 * value - quantile(&of_draws, 0.025)).max(value),
            }
        };
        Indices {
            first: share(0),
            total: share(1),
            used: all.steps as usize,
        }
    }
}

/// Orthonormal functions of an axis.
struct Basis {
    /// Rank, 0 to 1, or level of each bin of the axis.
    of_bin: Vec<f64>,
    kind: Kind,
}

enum Kind {
    /// Cosines of the rank, so many.
    Cosines(usize),
    /// One function for each level, of these heights.
    Levels(Vec<f64>),
}

impl Basis {
    /// Functions of the axis on which values that are finite stand at `column`.
    fn new(column: &[f64], values: &[f64], order: usize) -> Self {
        let mut counts = vec![0_usize; BINS];
        let standing = column
            .iter()
            .zip(values)
            .filter(|(_, value)| value.is_finite());
        standing.for_each(|(&share, _)| counts[bin(share)] += 1);
        let all = counts.iter().sum::<usize>() as f64;
        let taken: Vec<usize> = (0..BINS).filter(|&bin| counts[bin] > 0).collect();
        let mut of_bin = vec![0.0; BINS];
        if taken.len() <= order + 1 {
            for (level, &bin) in taken.iter().enumerate() {
                of_bin[bin] = level as f64;
            }
            let height = |&bin: &usize| (all / counts[bin] as f64).sqrt();
            let heights = taken.iter().map(height).collect();
            return Self {
                of_bin,
                kind: Kind::Levels(heights),
            };
        }
        let mut below = 0.0;
        for bin in taken {
            let here = counts[bin] as f64;
            of_bin[bin] = (below + here / 2.0) / all;
            below += here;
        }
        Self {
            of_bin,
            kind: Kind::Cosines(order),
        }
    }

    fn count(&self) -> usize {
        match &self.kind {
            Kind::Cosines(order) => *order,
            Kind::Levels(heights) => heights.len(),
        }
    }

    /// Writes the functions at a place.
    fn place(&self, share: f64, at: &mut [f64]) {
        let place = self.of_bin[bin(share)];
        match &self.kind {
            Kind::Cosines(_) => {
                // cos (k + 1) x = 2 cos x cos k x - cos (k - 1) x
                let first = (PI * place).cos();
                let (mut before, mut here) = (1.0, first);
                for at in at {
                    *at = SQRT_2 * here;
                    (before, here) = (here, 2.0 * first * here - before);
                }
            }
            Kind::Levels(heights) => {
                at.fill(0.0);
                let level = place as usize;
                at[level] = heights[level];
            }
        }
    }
}

fn bin(share: f64) -> usize {
    ((share * BINS as f64) as usize).min(BINS - 1)
}

/// What a group of blocks adds up to.
#[derive(Clone)]
struct Sums {
    count: f64,
    value: f64,
    square: f64,
    products: Vec<f64>,
    steps: f64,
    step_square: f64,
}

impl Sums {
    fn new(functions: usize) -> Self {
        Self {
            count: 0.0,
            value: 0.0,
            square: 0.0,
            products: vec![0.0; functions],
            steps: 0.0,
            step_square: 0.0,
        }
    }

    fn add(&mut self, value: f64, at: &[f64]) {
        self.count += 1.0;
        self.value += value;
        self.square += value * value;
        for (product, at) in self.products.iter_mut().zip(at) {
            *product += value * at;
        }
    }

    fn step(&mut self, step: f64) {
        self.steps += 1.0;
        self.step_square += step * step / 2.0;
    }

    /// The groups together, each as often as it was drawn.
    fn total(groups: &[Self], drawn: Option<&[f64]>) -> Self {
        let mut all = Self::new(groups.first().map_or(0, |group| group.products.len()));
        for (index, group) in groups.iter().enumerate() {
            let times = drawn.map_or(1.0, |drawn| drawn[index]);
            all.count += times * group.count;
            all.value += times * group.value;
            all.square += times * group.square;
            all.steps += times * group.steps;
            all.step_square += times * group.step_square;
            for (sum, product) in all.products.iter_mut().zip(&group.products) {
                *sum += times * product;
            }
        }
        all
    }

    fn coefficients(&self) -> Vec<f64> {
        self.products
            .iter()
            .map(|product| product / self.count)
            .collect()
    }

    /// First-order and total share; `rest` where the steps are of what the expansion leaves.
    fn shares(&self, rest: bool) -> [f64; 2] {
        let mean = self.value / self.count;
        let variance = self.square / self.count - mean * mean;
        // A variance of rounding is none.
        if self.steps < 2.0 || !(variance > 0.0) {
            return [f64::NAN; 2];
        }
        let first: f64 = self.coefficients().iter().map(|each| each * each).sum();
        let total = self.step_square / self.steps + if rest { first } else { 0.0 };
        [first / variance, total / variance]
    }
}
