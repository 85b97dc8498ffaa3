//! Terms of a quadratic, and which of them the designs at hand can carry.

use super::basis::{Basis, dot};
use super::coordinates::Coordinates;

/// A term of a quadratic in the coordinates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Term {
    Constant,
    Linear(usize),
    /// Product of two coordinates, the first not after the second.
    Product(usize, usize),
}

impl Term {
    pub(super) fn at(self, at: &[f64]) -> f64 {
        match self {
            Self::Constant => 1.0,
            Self::Linear(a) => at[a],
            Self::Product(a, b) => at[a] * at[b],
        }
    }
}

/// Constant, then a linear term for each coordinate (the first of a variable's kinds is the one that the others
/// are measured from), then squares and products of numbers if wanted.
pub(super) fn terms(coordinates: &Coordinates, products: bool) -> Vec<Term> {
    let number = &coordinates.number;
    let first = |a: usize| a == 0 || coordinates.variable[a] != coordinates.variable[a - 1];
    let all = 0..coordinates.count();
    let linear = all.clone().filter(|&a| number[a] || !first(a));
    let mut terms: Vec<Term> = vec![Term::Constant];
    terms.extend(linear.map(Term::Linear));
    if products {
        for a in all.clone().filter(|&a| number[a]) {
            let seconds = (a..all.end).filter(|&b| number[b]);
            terms.extend(seconds.map(|b| Term::Product(a, b)));
        }
    }
    terms
}

/// Designs for each term that is in without being asked: constant and linear terms.
const DESIGNS_PER_TERM: usize = 3;
/// Most terms, as a share of the designs.
const MOST_TERMS: f64 = 0.6;

/// Terms to fit, in order of choice: one after the other, each time the one that leaves the least sum of squared
/// leave-one-out residuals (PRESS), and of all these sets the one with the least.
///
/// A design's leave-one-out residual is e / (1 - h), e its residual, h its leverage; with orthonormal columns both
/// follow from a further column q by e - q (q'y) and h + q². `columns` (terms, designs) and `y` carry the square root
/// of the weights. The constant is always in, the linear terms where there are three designs for each.
///
/// Source: Allen, Technometrics 16, 1974 (PRESS; from memory).
pub(super) fn select(terms: &[Term], columns: &[Vec<f64>], y: &[f64]) -> Vec<usize> {
    let mut growth = Growth::new(columns, y);
    let linear = terms
        .iter()
        .filter(|term| !matches!(term, Term::Product(..)))
        .count();
    let certain = if y.len() >= DESIGNS_PER_TERM * linear {
        linear
    } else {
        1
    };
    for term in 0..certain {
        growth.add(term);
    }
    let certain = growth.chosen.len();
    let (mut best, mut count) = (growth.press(), certain);
    let most = (MOST_TERMS * y.len() as f64) as usize;
    while growth.chosen.len() < most {
        let Some((term, press)) = growth.next() else {
            break;
        };
        growth.add(term);
        if press < best {
            (best, count) = (press, growth.chosen.len());
        }
    }
    growth.chosen.truncate(count);
    growth.chosen
}

/// A fit that grows term by term, with what every other term would add.
struct Growth {
    /// Columns made orthogonal to all chosen ones; empty where nothing is left of one.
    rest: Vec<Vec<f64>>,
    lengths: Vec<f64>,
    residuals: Vec<f64>,
    leverages: Vec<f64>,
    chosen: Vec<usize>,
}

/// Share of a column's length that must be left for it to be a term of its own.
const OWN: f64 = 1e-6;

impl Growth {
    fn new(columns: &[Vec<f64>], y: &[f64]) -> Self {
        Self {
            rest: columns.to_vec(),
            lengths: columns.iter().map(|each| dot(each, each).sqrt()).collect(),
            residuals: y.to_vec(),
            leverages: vec![0.0; y.len()],
            chosen: Vec::new(),
        }
    }

    fn press(&self) -> f64 {
        let each = self.residuals.iter().zip(&self.leverages);
        each.map(|(e, h)| (e / (1.0 - h).max(1e-9)).powi(2)).sum()
    }

    /// The term that would leave the least PRESS, and that PRESS.
    fn next(&self) -> Option<(usize, f64)> {
        let mut best = None;
        for (term, q) in self.rest.iter().enumerate().filter(|(_, q)| !q.is_empty()) {
            let square = dot(q, q);
            let share = dot(q, &self.residuals) / square;
            let press: f64 = q
                .iter()
                .zip(&self.residuals)
                .zip(&self.leverages)
                .map(|((q, e), h)| ((e - share * q) / (1.0 - h - q * q / square).max(1e-9)).powi(2))
                .sum();
            if best.is_none_or(|(_, least)| press < least) {
                best = Some((term, press));
            }
        }
        best
    }

    fn add(&mut self, term: usize) {
        let mut q = std::mem::take(&mut self.rest[term]);
        let length = dot(&q, &q).sqrt();
        if !(length > OWN * self.lengths[term]) {
            return;
        }
        q.iter_mut().for_each(|q| *q /= length);
        let share = dot(&q, &self.residuals);
        for ((e, h), q) in self.residuals.iter_mut().zip(&mut self.leverages).zip(&q) {
            *e -= share * q;
            *h += q * q;
        }
        for (rest, length) in self.rest.iter_mut().zip(&self.lengths) {
            if rest.is_empty() {
                continue;
            }
            let share = dot(&q, rest);
            rest.iter_mut()
                .zip(&q)
                .for_each(|(rest, q)| *rest -= share * q);
            if !(dot(rest, rest).sqrt() > OWN * length) {
                rest.clear();
            }
        }
        self.chosen.push(term);
    }
}

/// Columns (terms, designs) times the square root of the weights.
pub(super) fn columns(terms: &[Term], at: &[Vec<f64>], weights: &[f64]) -> Vec<Vec<f64>> {
    let column = |term: &Term| {
        let rows = at.iter().zip(weights);
        rows.map(|(at, weight)| term.at(at) * weight.sqrt())
            .collect()
    };
    terms.iter().map(column).collect()
}

/// Leave-one-out residuals of a weighted least-squares fit, by the hat matrix.
pub(super) fn left_out(basis: &Basis, y: Vec<f64>, weights: &[f64]) -> Vec<f64> {
    let (_, rest) = basis.split(y);
    let leverages = basis.leverages();
    rest.iter()
        .zip(leverages)
        .zip(weights)
        .map(|((e, h), weight)| e / (1.0 - h).max(1e-12) / weight.sqrt())
        .collect()
}
