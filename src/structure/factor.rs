//! The frame's equations: a chain of 7 x 7 blocks, factorised once per set of supports.

use super::block::{
    Block, Row, ZERO, backward_vector, cholesky, forward, forward_vector,
    subtract_transposed_product, sum, times, transpose, transposed_times,
};
use super::element::Element;
use super::run::{Run, subtract};
use super::wide::wide;

/// Degrees of freedom held at a node; with `plan` (sine and cosine of the path's heading) the node's
/// displacements and rotations are turned into plan axes first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hold {
    pub node: usize,
    pub held: [bool; 7],
    pub plan: Option<(f64, f64)>,
}

/// Factorised stiffness of a chain or closed chain of runs.
///
/// Cholesky along the chain of the runs' ends; a closed chain keeps node 0 for last and carries its column
/// along.
#[derive(Clone, Debug)]
pub(super) struct Factor {
    closed: bool,
    holds: Vec<Hold>,
    /// Run and first node of each stretch.
    stretches: Vec<(usize, usize)>,
    /// The kept nodes.
    nodes: Vec<usize>,
    blocks: Vec<Kept>,
}

/// What is left at a kept node.
#[derive(Clone, Debug)]
struct Kept {
    /// Inverse of its Cholesky factor.
    diagonal: Block,
    /// Coupling with the next kept node.
    next: Block,
    /// Coupling with node 0 of a closed chain.
    closing: Block,
}

wide! {
    fn eliminate<'a>(factor: &'a mut Factor, known: &'a [Run]) -> Result<(), (usize, usize)> = Factor::eliminate;
}

wide! {
    fn solve<'a>(factor: &'a Factor, known: &'a [Run], loads: &'a mut [Row]) -> () = Factor::replace;
}

impl Factor {
    /// `keys`: kind and level of every piece. An open chain has a node more than pieces. Runs that are not
    /// among the `known` are added to them.
    ///
    /// # Errors
    /// Node and degree of freedom without stiffness.
    pub fn new(
        closed: bool,
        keys: &[(usize, usize)],
        elements: &[Element],
        known: &mut Vec<Run>,
        holds: Vec<Hold>,
    ) -> Result<Factor, (usize, usize)> {
        let breaks = breaks(closed, keys, &holds);
        let mut stretches = Vec::with_capacity(breaks.len());
        for (k, &from) in breaks.iter().enumerate() {
            let to = breaks.get(k + 1).copied().unwrap_or(keys.len());
            if from < to {
                let run = Run::find(known, &keys[from..to], elements)
                    .map_err(|(node, freedom)| (from + node, freedom))?;
                stretches.push((run, from));
            }
        }
        let mut nodes: Vec<usize> = stretches.iter().map(|stretch| stretch.1).collect();
        if !closed {
            nodes.push(keys.len());
        }
        let mut factor = Factor {
            closed,
            blocks: Vec::with_capacity(nodes.len()),
            holds,
            stretches,
            nodes,
        };
        eliminate(&mut factor, known)?;
        Ok(factor)
    }

    #[inline(always)]
    fn eliminate(&mut self, known: &[Run]) -> Result<(), (usize, usize)> {
        let (count, nodes) = (self.stretches.len(), self.nodes.len());
        let run = |k: usize| &known[self.stretches[k].0];
        let hold = |k: usize| {
            let node = self.nodes[k];
            self.holds.iter().find(|hold| hold.node == node).copied()
        };
        let first = usize::from(self.closed);
        // What is left of the block of the node in hand, and of node 0 of a closed chain.
        let mut block = run(0).first;
        let (mut last, mut closing) = (ZERO, ZERO);
        let zero_hold = if self.closed { hold(0) } else { None };
        if self.closed {
            last = sum(&run(0).first, 1.0, &run(count - 1).last);
            block = sum(&run(1 % count).first, 1.0, &run(0).last);
            closing = transpose(&run(0).across);
            self.blocks.push(Kept {
                diagonal: ZERO,
                next: ZERO,
                closing: ZERO,
            });
        }
        apply_block(&mut last, zero_hold);
        let mut here = hold(first);
        apply_block(&mut block, here);
        apply_coupling(&mut closing, here, zero_hold);
        for k in first..nodes {
            let l = cholesky(&block).map_err(|freedom| (self.nodes[k], freedom))?;
            let ends = k + 1 == nodes;
            let mut to_next = if k < count { run(k).across } else { ZERO };
            let there = if ends { zero_hold } else { hold(k + 1) };
            apply_coupling(&mut to_next, here, there);
            if self.closed && ends {
                // The last run goes back to node 0.
                closing = sum(&closing, 1.0, &to_next);
            }
            if self.closed {
                forward(&l, &mut closing);
                subtract_transposed_product(&mut last, &closing, &closing);
            }
            if !ends {
                forward(&l, &mut to_next);
                block = run(k).last;
                if k + 1 < count {
                    block = sum(&block, 1.0, &run(k + 1).first);
                }
                apply_block(&mut block, there);
                subtract_transposed_product(&mut block, &to_next, &to_next);
            }
            let mut after = ZERO;
            if self.closed && !ends {
                subtract_transposed_product(&mut after, &to_next, &closing);
            }
            self.blocks.push(Kept {
                diagonal: l,
                next: to_next,
                closing,
            });
            closing = after;
            here = there;
        }
        if self.closed {
            self.blocks[0].diagonal = cholesky(&last).map_err(|freedom| (0, freedom))?;
        }
        Ok(())
    }

    /// Replaces loads by displacements, both in the axes of the path at each node. `known` are the runs that
    /// the factor was made with.
    pub fn solve(&self, known: &[Run], loads: &mut [Row]) {
        solve(self, known, loads);
    }

    #[inline(always)]
    fn replace(&self, known: &[Run], loads: &mut [Row]) {
        let far = |k: usize| self.nodes.get(k + 1).copied().unwrap_or(0);
        for (k, &(run, start)) in self.stretches.iter().enumerate() {
            known[run].gather(loads, start, far(k));
        }
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
        self.substitute(loads);
        for hold in &self.holds {
            if let Some((sin, cos)) = hold.plan {
                to_plan(&mut loads[hold.node], (-sin, cos));
            }
        }
        for (k, &(run, start)) in self.stretches.iter().enumerate() {
            known[run].spread(loads, start, far(k));
        }
    }

    #[inline(always)]
    fn substitute(&self, loads: &mut [Row]) {
        let first = usize::from(self.closed);
        let count = self.nodes.len();
        for k in first..count {
            let row = forward_vector(&self.blocks[k].diagonal, &loads[self.nodes[k]]);
            loads[self.nodes[k]] = row;
            if k + 1 < count {
                let next = transposed_times(&self.blocks[k].next, &row);
                subtract(&mut loads[self.nodes[k + 1]], &next);
            }
            if self.closed {
                subtract(
                    &mut loads[0],
                    &transposed_times(&self.blocks[k].closing, &row),
                );
            }
        }
        if self.closed {
            let row = forward_vector(&self.blocks[0].diagonal, &loads[0]);
            loads[0] = backward_vector(&self.blocks[0].diagonal, &row);
        }
        for k in (first..count).rev() {
            let mut row = loads[self.nodes[k]];
            if k + 1 < count {
                subtract(
                    &mut row,
                    &times(&self.blocks[k].next, &loads[self.nodes[k + 1]]),
                );
            }
            if self.closed {
                subtract(&mut row, &times(&self.blocks[k].closing, &loads[0]));
            }
            loads[self.nodes[k]] = backward_vector(&self.blocks[k].diagonal, &row);
        }
    }

    /// The supports of this factor.
    pub fn holds(&self) -> &[Hold] {
        &self.holds
    }
}

/// Nodes that stay: held ones, and the ends of a stretch that repeats all along the chain; every
/// node where nothing repeats.
fn breaks(closed: bool, keys: &[(usize, usize)], holds: &[Hold]) -> Vec<usize> {
    let count = keys.len();
    let repeats = |period: usize| {
        count.is_multiple_of(period) && keys[period..].iter().zip(keys).all(|(a, b)| a == b)
    };
    // A stretch costs its inner nodes once, and one kept node each time it occurs.
    let period = (1..=count / 2)
        .filter(|&period| repeats(period))
        .min_by_key(|&period| period - 1 + 2 * count / period)
        .unwrap_or(1);
    let mut nodes: Vec<usize> = (0..count).step_by(period).collect();
    for hold in holds {
        if hold.node < count {
            nodes.push(hold.node);
        }
    }
    nodes.sort_unstable();
    nodes.dedup();
    debug_assert!(!closed || nodes.len() > 1);
    nodes
}

/// Turns displacement and rotation from path axes (along, left) into plan axes (x, y).
pub(super) fn to_plan(row: &mut Row, (sin, cos): (f64, f64)) {
    for k in [0, 3] {
        let (along, left) = (row[k], row[k + 1]);
        row[k] = cos * along - sin * left;
        row[k + 1] = sin * along + cos * left;
    }
}

#[inline(always)]
fn rows_to_plan(block: &mut Block, (sin, cos): (f64, f64)) {
    for k in [0, 3] {
        for j in 0..7 {
            let (along, left) = (block[k][j], block[k + 1][j]);
            block[k][j] = cos * along - sin * left;
            block[k + 1][j] = sin * along + cos * left;
        }
    }
}

#[inline(always)]
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

#[inline(always)]
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
