//! Stresses at some of a slab's nodes, such as those on the walls of its holes.

use std::collections::BTreeMap;

use faer::{Mat, MatRef};

use super::hexahedron::{Law, NODES, equivalent, nodal_slopes, stress};
use super::reduce::product;
use super::slab::Slab;

/// How the slopes of the motion at some nodes follow from the motion: the mean over the elements that meet there.
pub(super) struct NodeSlopes {
    /// Whether a node is one of them.
    pub wanted: Vec<bool>,
    /// Row of a node in the results.
    pub row: Vec<usize>,
    rows: usize,
    /// Element, rows of those of its nodes, and their three rows of slopes each over its 27 nodes.
    elements: Vec<(usize, Vec<usize>, Mat<f64>)>,
}

impl NodeSlopes {
    pub fn new<'a>(slab: &Slab, nodes: impl Iterator<Item = &'a u32>) -> NodeSlopes {
        let count = slab.nodes.len();
        let (mut wanted, mut row, mut rows) = (vec![false; count], vec![usize::MAX; count], 0);
        for &node in nodes {
            if !wanted[node as usize] {
                wanted[node as usize] = true;
                row[node as usize] = rows;
                rows += 1;
            }
        }
        let mut met: BTreeMap<u32, f64> = BTreeMap::new();
        let ours = |element: &[u32; NODES]| -> Vec<usize> {
            (0..NODES)
                .filter(|&at| wanted[element[at] as usize])
                .collect()
        };
        for element in &slab.elements {
            for at in ours(element) {
                *met.entry(element[at]).or_default() += 1.0;
            }
        }
        let mut elements = Vec::new();
        for (index, element) in slab.elements.iter().enumerate() {
            let at = ours(element);
            if at.is_empty() {
                continue;
            }
            let places = element.map(|node| slab.nodes[node as usize]);
            let slopes = nodal_slopes(&places, &at);
            let share = |k: usize| 1.0 / met.get(&element[at[k]]).copied().unwrap_or(1.0);
            let matrix = Mat::from_fn(3 * at.len(), NODES, |r, n| {
                share(r / 3) * slopes[r / 3][(r % 3) * NODES + n]
            });
            let to = at.iter().map(|&at| row[element[at] as usize]).collect();
            elements.push((index, to, matrix));
        }
        NodeSlopes {
            wanted,
            row,
            rows,
            elements,
        }
    }

    /// Equivalent stresses (rows, m) in MPa from motions (3 nodes, m) in the slab's axes.
    pub fn equivalents(&self, slab: &Slab, law: &Law, motion: &Mat<f64>) -> Mat<f64> {
        let many = motion.ncols();
        // (9 rows, m): component i along axis j at 9 row + 3 j + i.
        let mut slopes = Mat::zeros(9 * self.rows, many);
        let mut moved = Mat::zeros(NODES, 3 * many);
        for (index, rows, matrix) in &self.elements {
            for (n, &node) in slab.elements[*index].iter().enumerate() {
                for c in 0..many {
                    for i in 0..3 {
                        moved[(n, 3 * c + i)] = motion[(3 * node as usize + i, c)];
                    }
                }
            }
            let found: Mat<f64> = product(matrix.as_ref(), moved.as_ref());
            add(&mut slopes, rows, found.as_ref());
        }
        Mat::from_fn(self.rows, many, |row, c| {
            let at = |i: usize, j: usize| slopes[(9 * row + 3 * j + i, c)];
            let d = [0, 1, 2].map(|i| [at(i, 0), at(i, 1), at(i, 2)]);
            equivalent(&stress(&d, law))
        })
    }
}

fn add(slopes: &mut Mat<f64>, rows: &[usize], found: MatRef<'_, f64>) {
    for c in 0..slopes.ncols() {
        let into = slopes.col_as_slice_mut(c);
        for (k, row) in rows.iter().enumerate() {
            for j in 0..3 {
                for i in 0..3 {
                    into[9 * row + 3 * j + i] += found[(3 * k + j, 3 * c + i)];
                }
            }
        }
    }
}
