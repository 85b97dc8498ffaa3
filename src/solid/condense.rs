//! A slab reduced to its two end planes, in the path's own axes there.

use faer::{Mat, MatRef};

use super::dissect::{Branch, dissect};
use super::hexahedron::{Law, SIZE, hexahedron, stresses};
use super::reduce::{Body, Loose, Reduced, Way, add_product};
use super::slab::Slab;

/// Amplitudes of a slab: accelerations along the axes of its first plane.
pub(super) const ACCELERATIONS: usize = 3;

/// A slab on the unknowns of its end planes (along the path, left, up), first plane first. Its amplitudes are
/// forces of inertia of unit accelerations along the axes of the first plane: positive ones push forward.
#[derive(Clone, Debug)]
pub(super) struct Condensed {
    pub reduced: Reduced,
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

/// Condenses a slab.
///
/// # Errors
/// [`Bad`] for a mesh with faults.
pub(super) fn condense(slab: &Slab, law: &Law, with_mass: bool) -> Result<Condensed, Bad> {
    let branches = dissect(slab);
    let mut open: Vec<Option<Reduced>> = Vec::with_capacity(branches.len());
    let mut ways = Vec::with_capacity(branches.len());
    let mut place = vec![usize::MAX; slab.nodes.len()];
    for branch in &branches {
        for (at, &node) in branch.nodes.iter().enumerate() {
            place[node as usize] = at;
        }
        let mut body = Body::new(3 * branch.nodes.len(), ACCELERATIONS, with_mass);
        for &element in &branch.elements {
            add_element(slab, element, law, &place, &mut body)?;
        }
        for half in branch.halves.into_iter().flatten() {
            let part = open[half].take();
            let to = unknowns(branches[half].kept(), &place);
            if let Some(part) = part {
                body.add(&part, &to, &[0, 1, 2]);
            }
        }
        let Reduced {
            stiffness,
            loads,
            give,
            mass,
            way,
        } = body
            .reduce(3 * branch.gone)
            .map_err(|Loose(at)| Bad::Node(branch.nodes[at / 3] as usize))?;
        ways.push(way);
        open.push(Some(Reduced {
            stiffness,
            loads,
            give,
            mass,
            way: Way {
                factor: Mat::new(),
                loads: Mat::new(),
            },
        }));
    }
    let root = open.pop().flatten().unwrap_or_else(|| Reduced {
        stiffness: Mat::new(),
        loads: Mat::new(),
        give: Mat::new(),
        mass: Mat::new(),
        way: Way {
            factor: Mat::new(),
            loads: Mat::new(),
        },
    });
    Ok(Condensed {
        reduced: to_planes(root, slab, with_mass),
        branches,
        ways,
    })
}

fn unknowns(nodes: &[u32], place: &[usize]) -> Vec<usize> {
    nodes
        .iter()
        .flat_map(|&node| {
            let at = 3 * place[node as usize];
            [at, at + 1, at + 2]
        })
        .collect()
}

fn add_element(
    slab: &Slab,
    element: usize,
    law: &Law,
    place: &[usize],
    body: &mut Body,
) -> Result<(), Bad> {
    let nodes = &slab.elements[element];
    let places = nodes.map(|node| slab.nodes[node as usize]);
    let with_mass = body.mass.nrows() > 0;
    let matrices = hexahedron(&places, law, with_mass).ok_or(Bad::Element(element))?;
    let to = unknowns(nodes, place);
    body.add_stiffness(
        MatRef::from_column_major_slice(&matrices.stiffness, SIZE, SIZE),
        &to,
    );
    for (a, pull) in matrices.pull.iter().enumerate() {
        for axis in 0..3 {
            body.loads[(to[3 * a + axis], axis)] += pull;
        }
    }
    if with_mass {
        for b in 0..nodes.len() {
            for a in 0..nodes.len() {
                for axis in 0..3 {
                    body.mass[(to[3 * a + axis], to[3 * b + axis])] +=
                        matrices.mass[b * nodes.len() + a];
                }
            }
        }
    }
    Ok(())
}

/// From the unknowns that the slab has, in its own axes, to all unknowns of its planes in their axes.
fn to_planes(root: Reduced, slab: &Slab, with_mass: bool) -> Reduced {
    let (sin, cos) = slab.turn.sin_cos();
    let faces: Vec<(u32, bool)> = slab
        .start
        .iter()
        .map(|&node| (node, false))
        .chain(slab.end.iter().map(|&node| (node, true)))
        .collect();
    let size = 3 * faces.len();
    let mut to = Vec::with_capacity(root.stiffness.nrows());
    let mut turned = vec![false; size];
    for (at, &(node, end)) in faces.iter().enumerate() {
        if node != u32::MAX {
            to.extend([3 * at, 3 * at + 1, 3 * at + 2]);
        }
        turned[3 * at] = end;
    }
    let mut stiffness = Mat::zeros(size, size);
    let mut mass = Mat::zeros(
        if with_mass { size } else { 0 },
        if with_mass { size } else { 0 },
    );
    for (j, &q) in to.iter().enumerate() {
        for (i, &p) in to.iter().enumerate().skip(j) {
            let value = root.stiffness[(i, j)];
            stiffness[(p, q)] = value;
            stiffness[(q, p)] = value;
        }
        if with_mass {
            for (i, &p) in to.iter().enumerate() {
                mass[(p, q)] = root.mass[(i, j)];
            }
        }
    }
    let mut loads = Mat::zeros(size, ACCELERATIONS);
    for (i, &p) in to.iter().enumerate() {
        for c in 0..ACCELERATIONS {
            loads[(p, c)] = root.loads[(i, c)];
        }
    }
    turn(&mut stiffness, &turned, (sin, cos));
    if with_mass {
        turn(&mut mass, &turned, (sin, cos));
    }
    turn_rows(&mut loads, &turned, (sin, cos));
    Reduced {
        stiffness,
        loads,
        give: root.give,
        mass,
        way: root.way,
    }
}

/// Components of a vector along axes that are turned to the left.
fn turn_rows(matrix: &mut Mat<f64>, turned: &[bool], (sin, cos): (f64, f64)) {
    for at in (0..turned.len()).filter(|&at| turned[at]) {
        for c in 0..matrix.ncols() {
            let (x, y) = (matrix[(at, c)], matrix[(at + 1, c)]);
            matrix[(at, c)] = cos * x + sin * y;
            matrix[(at + 1, c)] = cos * y - sin * x;
        }
    }
}

fn turn(matrix: &mut Mat<f64>, turned: &[bool], angle: (f64, f64)) {
    turn_rows(matrix, turned, angle);
    let (sin, cos) = angle;
    for at in (0..turned.len()).filter(|&at| turned[at]) {
        for r in 0..matrix.nrows() {
            let (x, y) = (matrix[(r, at)], matrix[(r, at + 1)]);
            matrix[(r, at)] = cos * x + sin * y;
            matrix[(r, at + 1)] = cos * y - sin * x;
        }
    }
}

impl Condensed {
    /// Motion of every node in the slab's own axes (3 nodes, m), from that of its planes in their axes and the
    /// accelerations' amplitudes (3, m).
    pub fn inside(
        &self,
        slab: &Slab,
        planes: MatRef<'_, f64>,
        amplitudes: MatRef<'_, f64>,
    ) -> Mat<f64> {
        let (sin, cos) = slab.turn.sin_cos();
        let many = planes.ncols();
        let mut motion = Mat::zeros(3 * slab.nodes.len(), many);
        let first = slab.start.len();
        for (at, &node) in slab.start.iter().chain(&slab.end).enumerate() {
            if node == u32::MAX {
                continue;
            }
            let into = 3 * node as usize;
            for c in 0..many {
                let (x, y) = (planes[(3 * at, c)], planes[(3 * at + 1, c)]);
                let (x, y) = match at < first {
                    true => (x, y),
                    false => (cos * x - sin * y, sin * x + cos * y),
                };
                motion[(into, c)] = x;
                motion[(into + 1, c)] = y;
                motion[(into + 2, c)] = planes[(3 * at + 2, c)];
            }
        }
        for (branch, way) in self.branches.iter().zip(&self.ways).rev() {
            let row = |at: usize| 3 * branch.nodes[at / 3] as usize + at % 3;
            let kept = Mat::from_fn(3 * branch.kept().len(), many, |i, c| {
                motion[(row(3 * branch.gone + i), c)]
            });
            let gone = way.back(kept.as_ref(), amplitudes);
            for i in 0..gone.nrows() {
                for c in 0..many {
                    motion[(row(i), c)] = gone[(i, c)];
                }
            }
        }
        motion
    }
}

/// Stress at some nodes of a slab (the mean over the elements that meet there), from one column of
/// [`Condensed::inside`]: components in the slab's axes, in MPa. Nodes not asked for are zero.
pub(super) fn nodal_stresses(
    slab: &Slab,
    law: &Law,
    motion: MatRef<'_, f64>,
    column: usize,
    wanted: &[bool],
) -> Vec<[f64; 6]> {
    let mut sums = vec![([0.0; 6], 0.0_f64); slab.nodes.len()];
    for element in &slab.elements {
        if !element.iter().any(|&node| wanted[node as usize]) {
            continue;
        }
        let places = element.map(|node| slab.nodes[node as usize]);
        let moved = element.map(|node| {
            let at = 3 * node as usize;
            [0, 1, 2].map(|axis| motion[(at + axis, column)])
        });
        let found = stresses(&places, &moved, law);
        for (&node, stress) in element.iter().zip(&found) {
            let sum = &mut sums[node as usize];
            for (value, part) in sum.0.iter_mut().zip(stress) {
                *value += part;
            }
            sum.1 += 1.0;
        }
    }
    sums.into_iter()
        .map(|(sum, count)| sum.map(|value| value / count.max(1.0)))
        .collect()
}

/// Product of two matrices, for the small algebra of pieces.
pub(super) fn product(a: MatRef<'_, f64>, b: MatRef<'_, f64>) -> Mat<f64> {
    let mut result = Mat::zeros(a.nrows(), b.ncols());
    add_product(result.as_mut(), a, b, 1.0);
    result
}
