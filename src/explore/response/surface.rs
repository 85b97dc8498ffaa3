//! A fitted surface, ready to be asked.

use super::coordinates::MOST;
use super::kernel::{Kernel, LANES};
use super::terms::Term;

/// A quadratic, and a sum of correlations with the fitted designs on top where there is one.
#[derive(Clone, Debug)]
pub(super) struct Surface {
    constant: f64,
    linear: Vec<f64>,
    /// Upper triangle, row by row.
    products: Vec<f64>,
    bumps: Option<Bumps>,
}

/// Correlations with the designs, weighted.
#[derive(Clone, Debug)]
pub(super) struct Bumps {
    kernel: Kernel,
    /// One over the length, by coordinate.
    inverse: Vec<f64>,
    blocks: Vec<Block>,
    /// Coordinates over their lengths: (blocks, coordinates).
    scaled: Vec<[f64; LANES]>,
}

#[derive(Clone, Debug)]
struct Block {
    /// Square of the distance from the origin, in lengths.
    squares: [f64; LANES],
    weights: [f64; LANES],
}

impl Surface {
    pub(super) fn new(
        coordinates: usize,
        terms: &[Term],
        coefficients: &[f64],
        bumps: Option<Bumps>,
    ) -> Self {
        let mut surface = Self {
            constant: 0.0,
            linear: vec![0.0; coordinates],
            products: vec![0.0; coordinates * (coordinates + 1) / 2],
            bumps,
        };
        for (term, coefficient) in terms.iter().zip(coefficients) {
            *match *term {
                Term::Constant => &mut surface.constant,
                Term::Linear(a) => &mut surface.linear[a],
                Term::Product(a, b) => {
                    &mut surface.products[a * (2 * coordinates - a + 1) / 2 + b - a]
                }
            } = *coefficient;
        }
        surface
    }

    /// Value at a place.
    #[inline(always)]
    pub(super) fn at(&self, at: &[f64]) -> f64 {
        // Plain loops: a closure that is not inlined would lose the wide registers of the caller.
        let mut value = self.constant;
        let mut next = 0;
        for a in 0..at.len() {
            let mut slope = self.linear[a];
            for b in a..at.len() {
                slope += self.products[next] * at[b];
                next += 1;
            }
            value += slope * at[a];
        }
        match &self.bumps {
            Some(bumps) => value + bumps.at(at),
            None => value,
        }
    }
}

impl Bumps {
    /// `at` are the designs' coordinates, `lengths` one for each coordinate.
    pub(super) fn new(kernel: Kernel, lengths: &[f64], at: &[Vec<f64>], weights: &[f64]) -> Self {
        let inverse: Vec<f64> = lengths.iter().map(|length| 1.0 / length).collect();
        let mut blocks = Vec::new();
        let mut scaled = Vec::new();
        for (at, weights) in at.chunks(LANES).zip(weights.chunks(LANES)) {
            let mut block = Block {
                squares: [0.0; LANES],
                weights: [0.0; LANES],
            };
            block.weights[..weights.len()].copy_from_slice(weights);
            for (coordinate, inverse) in inverse.iter().enumerate() {
                let mut row = [0.0; LANES];
                for (lane, at) in at.iter().enumerate() {
                    row[lane] = at[coordinate] * inverse;
                    block.squares[lane] += row[lane] * row[lane];
                }
                scaled.push(row);
            }
            blocks.push(block);
        }
        Self {
            kernel,
            inverse,
            blocks,
            scaled,
        }
    }

    /// Sum of weights times correlations; |a - b|² = a² + b² - 2 ab.
    #[inline(always)]
    fn at(&self, at: &[f64]) -> f64 {
        let mut twice = [0.0; MOST];
        let mut square = 0.0;
        for k in 0..at.len() {
            let scaled = at[k] * self.inverse[k];
            square += scaled * scaled;
            twice[k] = -2.0 * scaled;
        }
        let mut sum = [0.0; LANES];
        for (index, block) in self.blocks.iter().enumerate() {
            let rows = &self.scaled[index * at.len()..][..at.len()];
            let mut lanes = block.squares;
            for lane in 0..LANES {
                lanes[lane] += square;
            }
            for k in 0..at.len() {
                for lane in 0..LANES {
                    lanes[lane] += twice[k] * rows[k][lane];
                }
            }
            self.kernel.correlations(&mut lanes);
            for lane in 0..LANES {
                sum[lane] += block.weights[lane] * lanes[lane];
            }
        }
        let mut total = 0.0;
        for lane in 0..LANES {
            total += sum[lane];
        }
        total
    }
}
