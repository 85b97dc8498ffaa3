//! A slab reduced to its two end planes, in the path's own axes there.

use faer::{Mat, MatMut, MatRef};

use super::dissect::{Branch, dissect};
use super::hexahedron::{Hexahedron, Law, NODES, SIZE, mass};
use super::reduce::{Body, Loose, Reduced, Way, add_product};
use super::slab::Slab;

/// Amplitudes of a slab: accelerations along the axes of its first plane.
pub(super) const ACCELERATIONS: usize = 3;

/// The way from a slab's end planes to its inside.
#[derive(Clone, Debug)]
pub(super) struct Condensed {
    branches: Vec<Branch>,
    ways: Vec<Way>,
}

/// Why a slab could not be condensed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bad {
    /// An element is turned inside out.
    Element(usize),
    /// A node hangs loose.
    Node(usize),
}

/// Condenses a slab to the unknowns of its end planes (along the path, left, up), first plane first. The
/// amplitudes are forces of inertia of unit accelerations along the axes of the first plane: positive ones push
/// forward.
///
/// # Errors
/// [`Bad`] for a mesh with faults.
pub(super) fn condense(slab: &Slab, law: &Law) -> Result<(Reduced, Condensed), Bad> {
    let branches = dissect(slab);
    let mut leaf = Leaf::new(slab, law);
    let mut open: Vec<Option<Reduced>> = Vec::with_capacity(branches.len());
    let mut ways = Vec::with_capacity(branches.len());
    for branch in &branches {
        leaf.locate(branch);
        let (gone, kept) = (3 * branch.gone, 3 * branch.kept().len());
        let mut body = Body::new(gone, kept, ACCELERATIONS);
        for &element in &branch.elements {
            leaf.add_stiffness(element, &mut body)?;
        }
        for half in branch.halves.into_iter().flatten() {
            if let Some(part) = open[half].take() {
                body.add(&part, &leaf.unknowns(branches[half].kept()));
            }
        }
        let mut reduced = body
            .reduce()
            .map_err(|Loose(at)| Bad::Node(branch.nodes[at / 3] as usize))?;
        ways.push(std::mem::replace(
            &mut reduced.way,
            Way {
                factor: Mat::new(),
                loads: Mat::new(),
            },
        ));
        open.push(Some(reduced));
    }
    let none = || Body::new(0, 0, ACCELERATIONS).reduce().ok();
    match open.pop().flatten().or_else(none) {
        Some(root) => Ok((root, Condensed { branches, ways })),
        None => Err(Bad::Node(0)),
    }
}

/// Adds elements to the branch at hand.
struct Leaf<'a> {
    slab: &'a Slab,
    law: &'a Law,
    /// Place of each node in the branch.
    place: Vec<usize>,
    /// Whether a node lies in the last plane, whose axes are turned.
    last: Vec<bool>,
    turn: (f64, f64),
    element: Hexahedron,
}

impl<'a> Leaf<'a> {
    fn new(slab: &'a Slab, law: &'a Law) -> Leaf<'a> {
        let mut last = vec![false; slab.nodes.len()];
        if slab.turn != 0.0 {
            for &node in slab.end.iter().filter(|&&node| node != u32::MAX) {
                last[node as usize] = true;
            }
        }
        Leaf {
            slab,
            law,
            place: vec![usize::MAX; slab.nodes.len()],
            last,
            turn: slab.turn.sin_cos(),
            element: Hexahedron::new(),
        }
    }

    fn locate(&mut self, branch: &Branch) {
        for (at, &node) in branch.nodes.iter().enumerate() {
            if node != u32::MAX {
                self.place[node as usize] = at;
            }
        }
    }

    fn unknowns(&self, nodes: &[u32]) -> Vec<usize> {
        nodes
            .iter()
            .flat_map(|&node| {
                let at = 3 * self.place[node as usize];
                [at, at + 1, at + 2]
            })
            .collect()
    }

    fn add_stiffness(&mut self, index: usize, body: &mut Body) -> Result<(), Bad> {
        let nodes = &self.slab.elements[index];
        let places = nodes.map(|node| self.slab.nodes[node as usize]);
        let filled = self.element.fill(&places, self.law);
        filled.ok_or(Bad::Element(index))?;
        let (sin, cos) = self.turn;
        for (at, &node) in nodes.iter().enumerate() {
            let (row, pull) = (3 * self.place[node as usize], self.element.pull[at]);
            let (sin, cos) = match self.last[node as usize] {
                true => (sin, cos),
                false => (0.0, 1.0),
            };
            if self.last[node as usize] {
                self.element.turn(at, self.turn);
            }
            body.loads[(row, 0)] += cos * pull;
            body.loads[(row + 1, 0)] -= sin * pull;
            body.loads[(row, 1)] += sin * pull;
            body.loads[(row + 1, 1)] += cos * pull;
            body.loads[(row + 2, 2)] += pull;
        }
        let mut order: [usize; NODES] = std::array::from_fn(|at| at);
        order.sort_unstable_by_key(|&at| self.place[nodes[at] as usize]);
        let rows = order.map(|at| 3 * self.place[nodes[at] as usize]);
        for (b, &node) in order.iter().enumerate() {
            for j in 0..3 {
                let from = &self.element.stiffness[(j * NODES + node) * SIZE..][..SIZE];
                let unknown = rows[b] + j;
                let into = body.column(unknown);
                for i in j..3 {
                    into[i - j] += from[i * NODES + node];
                }
                for (&a, &row) in order.iter().zip(&rows).skip(b + 1) {
                    let into = &mut into[row - unknown..][..3];
                    into[0] += from[a];
                    into[1] += from[NODES + a];
                    into[2] += from[2 * NODES + a];
                }
            }
        }
        Ok(())
    }

    fn add_mass(&self, index: usize, into: &mut Mat<f64>) {
        let nodes = &self.slab.elements[index];
        let places = nodes.map(|node| self.slab.nodes[node as usize]);
        let Some(mass) = mass(&places, self.law) else {
            return;
        };
        let rows = nodes.map(|node| 3 * self.place[node as usize]);
        let last = nodes.map(|node| self.last[node as usize]);
        for b in 0..NODES {
            for a in 0..NODES {
                // From the axes of one node to those of the other.
                let (sin, cos) = match (last[a], last[b]) {
                    (true, false) => self.turn,
                    (false, true) => (-self.turn.0, self.turn.1),
                    _ => (0.0, 1.0),
                };
                let (value, p, q) = (mass[b * NODES + a], rows[a], rows[b]);
                into[(p, q)] += cos * value;
                into[(p, q + 1)] += sin * value;
                into[(p + 1, q)] -= sin * value;
                into[(p + 1, q + 1)] += cos * value;
                into[(p + 2, q + 2)] += value;
            }
        }
    }
}

impl Condensed {
    /// Mass on the unknowns of the end planes, the inside following them statically; both triangles hold.
    pub fn mass(&self, slab: &Slab, law: &Law) -> Mat<f64> {
        let mut leaf = Leaf::new(slab, law);
        let mut open: Vec<Mat<f64>> = Vec::with_capacity(self.branches.len());
        for (branch, way) in self.branches.iter().zip(&self.ways) {
            leaf.locate(branch);
            let size = 3 * branch.nodes.len();
            let mut all = Mat::zeros(size, size);
            for &element in &branch.elements {
                leaf.add_mass(element, &mut all);
            }
            for half in branch.halves.into_iter().flatten() {
                let part = std::mem::replace(&mut open[half], Mat::new());
                let to = leaf.unknowns(self.branches[half].kept());
                for (j, &q) in to.iter().enumerate() {
                    let into = all.col_as_slice_mut(q);
                    for (value, &p) in part.col_as_slice(j).iter().zip(&to) {
                        into[p] += value;
                    }
                }
            }
            open.push(way.mass(all.as_ref()));
        }
        open.pop().unwrap_or_else(Mat::new)
    }

    /// Motion of the nodes in the slab's own axes (3 nodes, m), from that of its planes in their axes and the
    /// accelerations' amplitudes (3, m). Only nodes of the elements that touch a `wanted` node are sure to be
    /// there.
    pub fn inside(
        &self,
        slab: &Slab,
        planes: MatRef<'_, f64>,
        amplitudes: MatRef<'_, f64>,
        wanted: &[bool],
    ) -> Mat<f64> {
        let many = planes.ncols();
        let mut motion = Mat::zeros(3 * slab.nodes.len(), many);
        for (at, &node) in slab.start.iter().chain(&slab.end).enumerate() {
            if node != u32::MAX {
                copy_rows(motion.as_mut(), 3 * node as usize, planes, 3 * at, 3);
            }
        }
        let useful = self.useful(slab, wanted);
        let places = |nodes: &[u32]| -> Vec<usize> {
            let all = nodes.iter().filter(|&&node| node != u32::MAX);
            all.map(|&node| 3 * node as usize).collect()
        };
        for (at, (branch, way)) in self.branches.iter().zip(&self.ways).enumerate().rev() {
            if !useful[at] || branch.gone == 0 {
                continue;
            }
            let mut kept = Mat::zeros(3 * branch.kept().len(), many);
            if at + 1 == self.branches.len() {
                kept.copy_from(planes);
            } else {
                for (i, from) in places(branch.kept()).into_iter().enumerate() {
                    copy_rows(kept.as_mut(), 3 * i, motion.as_ref(), from, 3);
                }
            }
            let mut gone = Mat::zeros(3 * branch.gone, many);
            add_product(gone.as_mut(), way.loads.as_ref(), amplitudes, 1.0);
            way.back(gone.as_mut(), kept.as_ref());
            for (i, to) in places(&branch.nodes[..branch.gone]).into_iter().enumerate() {
                copy_rows(motion.as_mut(), to, gone.as_ref(), 3 * i, 3);
            }
        }
        let (sin, cos) = slab.turn.sin_cos();
        for at in places(&slab.end) {
            for c in 0..many {
                let (x, y) = (motion[(at, c)], motion[(at + 1, c)]);
                motion[(at, c)] = cos * x - sin * y;
                motion[(at + 1, c)] = sin * x + cos * y;
            }
        }
        motion
    }

    /// Which branches lie on the way to a wanted node's elements.
    fn useful(&self, slab: &Slab, wanted: &[bool]) -> Vec<bool> {
        let mut touched = vec![false; slab.nodes.len()];
        for element in &slab.elements {
            if element.iter().any(|&node| wanted[node as usize]) {
                for &node in element {
                    touched[node as usize] = true;
                }
            }
        }
        let mut useful: Vec<bool> = Vec::with_capacity(self.branches.len());
        for branch in &self.branches {
            let own = &branch.nodes[..branch.gone];
            let below = branch.halves.into_iter().flatten();
            let any = own.iter().any(|&node| touched[node as usize])
                || below.into_iter().any(|half| useful[half]);
            useful.push(any);
        }
        useful
    }
}

fn copy_rows(mut into: MatMut<'_, f64>, to: usize, from: MatRef<'_, f64>, at: usize, rows: usize) {
    for c in 0..from.ncols() {
        for k in 0..rows {
            into[(to + k, c)] = from[(at + k, c)];
        }
    }
}
