//! Runs of nodes that no support touches, eliminated once for all sets of supports.
//!
//! Between two kept nodes a and b the chain is condensed to one piece with blocks K_aa, K_ab, K_bb; what was
//! eliminated is found again from the motion of a and b.

use super::block::{
    Block, Row, ZERO, backward_vector, cholesky, forward, forward_vector,
    subtract_transposed_product, sum, times, transpose, transposed_times,
};
use super::element::mirrored;

/// Stiffness of a condensed length of chain: K_aa, K_ab, K_bb.
pub(super) type Condensed = [Block; 3];

/// A chain with all but some nodes eliminated.
#[derive(Clone, Debug)]
pub(super) struct Spans {
    /// Nodes that are left, in order; node 0 first, and on an open chain the last node last.
    pub kept: Vec<usize>,
    /// One piece between neighbouring kept nodes; on a closed chain the last runs back to the first.
    pub pieces: Vec<Condensed>,
    spans: Vec<Span>,
}

/// The nodes between two kept ones: for each its Cholesky factor, and its coupling to the node that follows and to
/// the kept node before, both with the factor taken out.
#[derive(Clone, Debug)]
struct Span {
    from: usize,
    to: usize,
    inner: Vec<[Block; 3]>,
}

impl Spans {
    /// Eliminates every node of a chain of pieces (K00 and K01 of each; see [`super::element`]) that is not in
    /// `kept`. Two nodes or more are left.
    ///
    /// # Errors
    /// Node and degree of freedom without stiffness.
    pub fn new(
        closed: bool,
        pieces: &[(&Block, &Block)],
        kept: &[usize],
    ) -> Result<Spans, (usize, usize)> {
        let count = pieces.len();
        let mut kept = kept.to_vec();
        kept.push(0);
        if !closed {
            kept.push(count);
        } else if kept.iter().all(|&node| node == 0) {
            kept.push(count / 2);
        }
        kept.sort_unstable();
        kept.dedup();
        let mut spans = Vec::with_capacity(kept.len());
        let mut condensed = Vec::with_capacity(kept.len());
        for (index, &from) in kept.iter().enumerate() {
            let to = match kept.get(index + 1) {
                Some(&to) => to,
                None if closed => count,
                None => break,
            };
            let (span, piece) = condense(pieces, from, to)?;
            spans.push(span);
            condensed.push(piece);
        }
        Ok(Spans {
            kept,
            pieces: condensed,
            spans,
        })
    }

    /// Number of a kept node among the kept.
    pub fn number(&self, node: usize) -> Option<usize> {
        self.kept.binary_search(&node).ok()
    }

    /// Carries the loads of eliminated nodes to the kept ones.
    pub fn forward(&self, loads: &mut [Row]) {
        let nodes = loads.len();
        for span in &self.spans {
            for (index, [factor, next, before]) in span.inner.iter().enumerate() {
                let node = span.from + 1 + index;
                let mut row = loads[node];
                forward_vector(factor, &mut row);
                loads[node] = row;
                let following = if node + 1 == span.to {
                    span.to % nodes
                } else {
                    node + 1
                };
                subtract(&mut loads[following], &transposed_times(next, &row));
                subtract(&mut loads[span.from], &transposed_times(before, &row));
            }
        }
    }

    /// Finds the motion of eliminated nodes from that of the kept ones.
    pub fn backward(&self, loads: &mut [Row]) {
        let nodes = loads.len();
        for span in &self.spans {
            for (index, [factor, next, before]) in span.inner.iter().enumerate().rev() {
                let node = span.from + 1 + index;
                let mut row = loads[node];
                let following = loads[if node + 1 == span.to {
                    span.to % nodes
                } else {
                    node + 1
                }];
                subtract(&mut row, &times(next, &following));
                subtract(&mut row, &times(before, &loads[span.from]));
                backward_vector(factor, &mut row);
                loads[node] = row;
            }
        }
    }
}

/// Eliminates the nodes between two kept ones.
fn condense(
    pieces: &[(&Block, &Block)],
    from: usize,
    to: usize,
) -> Result<(Span, Condensed), (usize, usize)> {
    let mut near = *pieces[from].0;
    let mut far = mirrored(pieces[from].0);
    let mut inner = Vec::with_capacity(to - from - 1);
    // Coupling of the node in hand to `from`, by the rows of the node in hand.
    let mut before = transpose(pieces[from].1);
    for node in from + 1..to {
        let block = sum(pieces[node].0, 1.0, &far);
        let factor = cholesky(&block).map_err(|freedom| (node, freedom))?;
        let mut next = *pieces[node].1;
        forward(&factor, &mut next);
        forward(&factor, &mut before);
        subtract_transposed_product(&mut near, &before, &before);
        far = mirrored(pieces[node].0);
        subtract_transposed_product(&mut far, &next, &next);
        let mut fill = ZERO;
        subtract_transposed_product(&mut fill, &next, &before);
        inner.push([factor, next, before]);
        before = fill;
    }
    let span = Span { from, to, inner };
    Ok((span, [near, transpose(&before), far]))
}

fn subtract(row: &mut Row, other: &Row) {
    for (value, other) in row.iter_mut().zip(other) {
        *value -= other;
    }
}
