//! Stretches of pieces between two kept nodes, their inner nodes eliminated once however often they repeat.

use super::block::{
    Block, Row, ZERO, backward_vector, cholesky, forward, forward_vector,
    subtract_transposed_product, sum, times, transpose, transposed_times,
};
use super::element::{Element, mirrored};
use super::wide::wide;

/// A stretch of pieces with its inner nodes eliminated.
#[derive(Clone, Debug)]
pub(super) struct Run {
    /// Which pieces it is made of: (kind, level) of each.
    key: Vec<(usize, usize)>,
    /// Stiffness left at its ends.
    pub first: Block,
    pub across: Block,
    pub last: Block,
    inner: Vec<Inner>,
}

/// An eliminated node: its factor, and its coupling with the next node and with the first of the run.
#[derive(Clone, Debug)]
struct Inner {
    factor: Block,
    next: Block,
    first: Block,
}

wide! {
    /// The run over some pieces.
    fn eliminated<'a>(
        key: &'a [(usize, usize)],
        elements: &'a [Element],
    ) -> Result<Run, (usize, usize)> = Run::new;
}

impl Run {
    /// The index in `known` of the run over these pieces, made and added where it is new.
    ///
    /// # Errors
    /// Inner node of the run (from 1) and degree of freedom without stiffness.
    pub fn find(
        known: &mut Vec<Run>,
        key: &[(usize, usize)],
        elements: &[Element],
    ) -> Result<usize, (usize, usize)> {
        if let Some(index) = known.iter().position(|run| run.key == key) {
            return Ok(index);
        }
        known.push(eliminated(key, elements)?);
        Ok(known.len() - 1)
    }

    #[inline(always)]
    fn new(key: &[(usize, usize)], elements: &[Element]) -> Result<Run, (usize, usize)> {
        let mut levels = key
            .iter()
            .map(|&(kind, level)| &elements[kind].levels[level]);
        let mut run = Run {
            inner: Vec::with_capacity(key.len()),
            key: key.to_vec(),
            first: ZERO,
            across: ZERO,
            last: ZERO,
        };
        let Some(level) = levels.next() else {
            return Ok(run);
        };
        run.first = level.k00;
        run.across = level.k01;
        run.last = mirrored(&level.k00);
        // `last` and `across` are always those of the stretch so far.
        for (at, level) in levels.enumerate() {
            let block = sum(&run.last, 1.0, &level.k00);
            let factor = cholesky(&block).map_err(|freedom| (at + 1, freedom))?;
            let mut next = level.k01;
            let mut first = transpose(&run.across);
            forward(&factor, &mut next);
            forward(&factor, &mut first);
            run.last = mirrored(&level.k00);
            run.across = ZERO;
            subtract_transposed_product(&mut run.last, &next, &next);
            subtract_transposed_product(&mut run.first, &first, &first);
            subtract_transposed_product(&mut run.across, &first, &next);
            run.inner.push(Inner {
                factor,
                next,
                first,
            });
        }
        Ok(run)
    }

    /// Carries the loads of the inner nodes to the ends; `start` is the run's first node, `end` its last.
    #[inline(always)]
    pub fn gather(&self, loads: &mut [Row], start: usize, end: usize) {
        for (k, inner) in self.inner.iter().enumerate() {
            let node = start + 1 + k;
            if loads[node] == [0.0; 8] {
                continue;
            }
            let row = forward_vector(&inner.factor, &loads[node]);
            loads[node] = row;
            let next = if k + 1 == self.inner.len() {
                end
            } else {
                node + 1
            };
            subtract(&mut loads[next], &transposed_times(&inner.next, &row));
            subtract(&mut loads[start], &transposed_times(&inner.first, &row));
        }
    }

    /// Finds the inner nodes' motion from that of the ends.
    #[inline(always)]
    pub fn spread(&self, motion: &mut [Row], start: usize, end: usize) {
        for (k, inner) in self.inner.iter().enumerate().rev() {
            let node = start + 1 + k;
            let next = if k + 1 == self.inner.len() {
                end
            } else {
                node + 1
            };
            let mut row = motion[node];
            subtract(&mut row, &times(&inner.next, &motion[next]));
            subtract(&mut row, &times(&inner.first, &motion[start]));
            motion[node] = backward_vector(&inner.factor, &row);
        }
    }
}

/// `row -= other`.
#[inline(always)]
pub(super) fn subtract(row: &mut Row, other: &Row) {
    for (value, other) in row.iter_mut().zip(other) {
        *value -= other;
    }
}
