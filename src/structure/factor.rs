//! The frame's equations: a chain of 7 x 7 blocks, factorised once per set of supports.

use super::block::{
    Block, Row, ZERO, backward_vector, cholesky, forward, forward_vector,
    subtract_transposed_product, times, transpose, transposed_times,
};
use super::spans::Condensed;

/// Degrees of freedom held at a node; with `plan` (sine and cosine of the path's heading) the node's
/// displacements and rotations are turned into plan axes first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hold {
    pub node: usize,
    pub held: [bool; 7],
    pub plan: Option<(f64, f64)>,
}

/// Factorised stiffness of a chain or closed chain of pieces.
///
/// Cholesky along the chain; a closed chain keeps node 0 for last and carries its column along.
#[derive(Clone, Debug)]
pub(super) struct Factor {
    closed: bool,
    holds: Vec<Hold>,
    diagonal: Vec<Block>,
    next: Vec<Block>,
    closing: Vec<Block>,
}

impl Factor {
    /// `pieces` in order. An open chain has a node more than pieces, a closed one as many, two or more.
    ///
    /// # Errors
    /// Node and degree of freedom without stiffness.
    pub fn new(
        closed: bool,
        pieces: &[Condensed],
        holds: Vec<Hold>,
    ) -> Result<Factor, (usize, usize)> {
        let count = pieces.len();
        let nodes = if closed { count } else { count + 1 };
        let first = usize::from(closed);
        let mut factor = Factor {
            closed,
            diagonal: Vec::with_capacity(nodes),
            next: Vec::with_capacity(nodes),
            closing: Vec::with_capacity(if closed { nodes } else { 0 }),
            holds,
        };
        let hold_at = |holds: &[Hold], node: usize| holds.iter().find(|h| h.node == node).copied();
        // What is left of the block of the node in hand, and of node 0 of a closed chain.
        let mut block = pieces[0][0];
        let mut last = ZERO;
        let mut closing = ZERO;
        if closed {
            last = super::block::sum(&pieces[0][0], 1.0, &pieces[count - 1][2]);
            block = super::block::sum(&pieces[1 % count][0], 1.0, &pieces[0][2]);
            closing = transpose(&pieces[0][1]);
            factor.diagonal.push(ZERO);
            factor.next.push(ZERO);
            factor.closing.push(ZERO);
        }
        let holds = factor.holds.clone();
        let zero_hold = if closed { hold_at(&holds, 0) } else { None };
        apply_block(&mut last, zero_hold);
        let mut here = hold_at(&holds, first);
        apply_block(&mut block, here);
        apply_coupling(&mut closing, here, zero_hold);
        for node in first..nodes {
            let l = cholesky(&block).map_err(|freedom| (node, freedom))?;
            let ends = node + 1 == nodes;
            let mut to_next = if node < count { pieces[node][1] } else { ZERO };
            let there = if ends {
                zero_hold
            } else {
                hold_at(&holds, node + 1)
            };
            apply_coupling(&mut to_next, here, there);
            if closed && ends {
                // The last piece runs back to node 0.
                closing = super::block::sum(&closing, 1.0, &to_next);
            }
            if closed {
                forward(&l, &mut closing);
                subtract_transposed_product(&mut last, &closing, &closing);
            }
            if !ends {
                forward(&l, &mut to_next);
                let far = pieces[node][2];
                block = if node + 1 < count {
                    super::block::sum(&pieces[node + 1][0], 1.0, &far)
                } else {
                    far
                };
                apply_block(&mut block, there);
                subtract_transposed_product(&mut block, &to_next, &to_next);
            }
            factor.diagonal.push(l);
            factor.next.push(if ends { ZERO } else { to_next });
            if closed {
                factor.closing.push(closing);
                let mut fill = ZERO;
                if !ends {
                    subtract_transposed_product(&mut fill, &to_next, &closing);
                }
                closing = fill;
            }
            here = there;
        }
        if closed {
            factor.diagonal[0] = cholesky(&last).map_err(|freedom| (0, freedom))?;
        }
        Ok(factor)
    }

    /// Replaces loads by displacements, both in the axes of the path at each node.
    pub fn solve(&self, loads: &mut [Row]) {
        let nodes = self.diagonal.len();
        let first = usize::from(self.closed);
        for hold in &self.holds {
            let row = &mut loads[hold.node];
            if let Some(plan) = hold.plan {
                to_plan(row, plan);
            }
            for (value, held) in row.iter_mut().zip(hold.held) {
                if held {
                    *value = 0.0;
                }
            }
        }
        for node in first..nodes {
            let mut row = loads[node];
            forward_vector(&self.diagonal[node], &mut row);
            loads[node] = row;
            if node + 1 < nodes {
                subtract(
                    &mut loads[node + 1],
                    &transposed_times(&self.next[node], &row),
                );
            }
            if self.closed {
                subtract(&mut loads[0], &transposed_times(&self.closing[node], &row));
            }
        }
        if self.closed {
            let mut row = loads[0];
            forward_vector(&self.diagonal[0], &mut row);
            backward_vector(&self.diagonal[0], &mut row);
            loads[0] = row;
        }
        for node in (first..nodes).rev() {
            let mut row = loads[node];
            if node + 1 < nodes {
                subtract(&mut row, &times(&self.next[node], &loads[node + 1]));
            }
            if self.closed {
                subtract(&mut row, &times(&self.closing[node], &loads[0]));
            }
            backward_vector(&self.diagonal[node], &mut row);
            loads[node] = row;
        }
        for hold in &self.holds {
            if let Some((sin, cos)) = hold.plan {
                to_plan(&mut loads[hold.node], (-sin, cos));
            }
        }
    }
}

fn subtract(row: &mut Row, other: &Row) {
    for (value, other) in row.iter_mut().zip(other) {
        *value -= other;
    }
}

/// Turns displacement and rotation from path axes (along, left) into plan axes (x, y).
pub(super) fn to_plan(row: &mut Row, (sin, cos): (f64, f64)) {
    for k in [0, 3] {
        let (along, left) = (row[k], row[k + 1]);
        row[k] = cos * along - sin * left;
        row[k + 1] = sin * along + cos * left;
    }
}

fn rows_to_plan(block: &mut Block, (sin, cos): (f64, f64)) {
    for k in [0, 3] {
        for j in 0..7 {
            let (along, left) = (block[k][j], block[k + 1][j]);
            block[k][j] = cos * along - sin * left;
            block[k + 1][j] = sin * along + cos * left;
        }
    }
}

fn apply_block(block: &mut Block, hold: Option<Hold>) {
    let Some(hold) = hold else { return };
    if let Some(plan) = hold.plan {
        rows_to_plan(block, plan);
        for row in block.iter_mut() {
            to_plan(row, plan);
        }
    }
    for k in 0..7 {
        if hold.held[k] {
            block[k] = [0.0; 8];
            for row in block.iter_mut() {
                row[k] = 0.0;
            }
            block[k][k] = 1.0;
        }
    }
}

fn apply_coupling(block: &mut Block, here: Option<Hold>, there: Option<Hold>) {
    if let Some(hold) = here {
        if let Some(plan) = hold.plan {
            rows_to_plan(block, plan);
        }
        for k in 0..7 {
            if hold.held[k] {
                block[k] = [0.0; 8];
            }
        }
    }
    if let Some(hold) = there {
        for row in block.iter_mut() {
            if let Some(plan) = hold.plan {
                to_plan(row, plan);
            }
            for k in 0..7 {
                if hold.held[k] {
                    row[k] = 0.0;
                }
            }
        }
    }
}
