//! The 27-node hexahedron: triquadratic Lagrange, 3 x 3 x 3 Gauss points.
//!
//! Source: Zienkiewicz & Taylor, The Finite Element Method, Lagrangian elements (from memory).

use std::sync::LazyLock;

use faer::linalg::matmul::matmul;
use faer::{Accum, MatMut, MatRef, Par};

/// Nodes of an element.
pub(super) const NODES: usize = 27;
/// Unknowns of an element.
pub(super) const SIZE: usize = 3 * NODES;

/// Lamé's constants of an isotropic metal, and its density.
#[derive(Clone, Copy, Debug)]
pub(super) struct Law {
    /// λ = E ν / ((1 + ν)(1 - 2 ν)), in MPa.
    pub lambda: f64,
    /// Shear modulus μ, in MPa.
    pub shear: f64,
    /// Density, in t/mm³.
    pub density: f64,
}

impl Law {
    pub fn new(metal: &crate::structure::Metal) -> Law {
        let (e, nu) = (metal.modulus_mpa, metal.poisson);
        Law {
            lambda: e * nu / ((1.0 + nu) * (1.0 - 2.0 * nu)),
            shear: metal.shear_modulus_mpa(),
            density: metal.density_t_mm3,
        }
    }
}

/// Shape functions and their slopes at one point of the reference cube.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shapes {
    pub value: [f64; NODES],
    pub slope: [[f64; NODES]; 3],
    /// Weight of the point in the rule it belongs to.
    pub weight: f64,
}

const GAUSS_2: [f64; 2] = [-0.577_350_269_189_625_8, 0.577_350_269_189_625_8];
const GAUSS_3: [(f64, f64); 3] = [
    (-0.774_596_669_241_483_4, 5.0 / 9.0),
    (0.0, 8.0 / 9.0),
    (0.774_596_669_241_483_4, 5.0 / 9.0),
];

/// Quadratic Lagrange polynomials through -1, 0, 1 and their slopes.
pub(super) fn quadratic(x: f64) -> ([f64; 3], [f64; 3]) {
    (
        [0.5 * x * (x - 1.0), 1.0 - x * x, 0.5 * x * (x + 1.0)],
        [x - 0.5, -2.0 * x, x + 0.5],
    )
}

fn shapes(point: [f64; 3], weight: f64) -> Shapes {
    let [(a, da), (b, db), (c, dc)] = point.map(quadratic);
    let mut shapes = Shapes {
        value: [0.0; NODES],
        slope: [[0.0; NODES]; 3],
        weight,
    };
    for k in 0..3 {
        for j in 0..3 {
            for i in 0..3 {
                let node = i + 3 * j + 9 * k;
                shapes.value[node] = a[i] * b[j] * c[k];
                shapes.slope[0][node] = da[i] * b[j] * c[k];
                shapes.slope[1][node] = a[i] * db[j] * c[k];
                shapes.slope[2][node] = a[i] * b[j] * dc[k];
            }
        }
    }
    shapes
}

/// The 27 points that stiffness and mass are integrated at.
pub(super) static POINTS: LazyLock<[Shapes; 27]> = LazyLock::new(|| {
    std::array::from_fn(|at| {
        let axis = |k: usize| GAUSS_3[at / 3_usize.pow(k as u32) % 3];
        let (a, b, c) = (axis(0), axis(1), axis(2));
        shapes([a.0, b.0, c.0], a.1 * b.1 * c.1)
    })
});

/// The 8 points that stresses are taken at.
static STRESS_POINTS: LazyLock<[Shapes; 8]> = LazyLock::new(|| {
    std::array::from_fn(|at| shapes([at & 1, at >> 1 & 1, at >> 2].map(|bit| GAUSS_2[bit]), 1.0))
});

/// Trilinear extrapolation from the stress points to the nodes, (27, 8).
static TO_NODES: LazyLock<[[f64; 8]; NODES]> = LazyLock::new(|| {
    std::array::from_fn(|node| {
        let place = [node % 3, node / 3 % 3, node / 9].map(|i| (i as f64 - 1.0) / GAUSS_2[1]);
        std::array::from_fn(|at| {
            let sign = |bit: usize| if bit == 1 { 1.0 } else { -1.0 };
            0.125
                * (1.0 + sign(at & 1) * place[0])
                * (1.0 + sign(at >> 1 & 1) * place[1])
                * (1.0 + sign(at >> 2) * place[2])
        })
    })
});

/// Slopes of the shape functions along x, y, z and the volume that a reference volume becomes; `None` where
/// the element is turned inside out.
pub(super) fn slopes(
    shapes: &Shapes,
    places: &[[f64; 3]; NODES],
) -> Option<([[f64; NODES]; 3], f64)> {
    let mut j = [[0.0; 3]; 3];
    for (node, place) in places.iter().enumerate() {
        for (row, slope) in j.iter_mut().zip(&shapes.slope) {
            for (value, x) in row.iter_mut().zip(place) {
                *value += slope[node] * x;
            }
        }
    }
    let cofactor = |r: usize, c: usize| {
        let (r1, r2, c1, c2) = ((r + 1) % 3, (r + 2) % 3, (c + 1) % 3, (c + 2) % 3);
        j[r1][c1] * j[r2][c2] - j[r1][c2] * j[r2][c1]
    };
    let volume = (0..3).map(|c| j[0][c] * cofactor(0, c)).sum::<f64>();
    if !(volume > 0.0) {
        return None;
    }
    let mut gradient = [[0.0; NODES]; 3];
    for axis in 0..3 {
        for r in 0..3 {
            // Inverse of j: entry (axis, r) is the cofactor of (r, axis) over the determinant.
            let factor = cofactor(r, axis) / volume;
            for (value, slope) in gradient[axis].iter_mut().zip(&shapes.slope[r]) {
                *value += factor * slope;
            }
        }
    }
    Some((gradient, volume))
}

/// Matrices of an element, kept so that their memory serves one element after the other.
#[derive(Clone, Debug)]
pub(super) struct Hexahedron {
    /// Stiffness (81 x 81, column by column), unknown 27 axis + node.
    pub stiffness: Vec<f64>,
    /// Mass that a unit acceleration pulls at each node with, in t.
    pub pull: [f64; NODES],
    slanted: Vec<f64>,
    products: Vec<f64>,
}

impl Hexahedron {
    pub fn new() -> Hexahedron {
        Hexahedron {
            stiffness: vec![0.0; SIZE * SIZE],
            pull: [0.0; NODES],
            slanted: vec![0.0; SIZE * NODES],
            products: vec![0.0; SIZE * SIZE],
        }
    }

    /// Fills in the matrices of an element; `None` where it is turned inside out.
    pub fn fill(&mut self, places: &[[f64; 3]; NODES], law: &Law) -> Option<()> {
        self.pull = [0.0; NODES];
        for (at, shapes) in POINTS.iter().enumerate() {
            let (gradient, volume) = slopes(shapes, places)?;
            let weight = volume * shapes.weight;
            let root = weight.sqrt();
            let column = &mut self.slanted[at * SIZE..(at + 1) * SIZE];
            for (part, slopes) in column.chunks_exact_mut(NODES).zip(&gradient) {
                for (value, slope) in part.iter_mut().zip(slopes) {
                    *value = root * slope;
                }
            }
            for (value, shape) in self.pull.iter_mut().zip(&shapes.value) {
                *value += law.density * weight * shape;
            }
        }
        // Products of slopes, (axis, node) by (axis, node).
        let slanted = MatRef::from_column_major_slice(&self.slanted, SIZE, NODES);
        matmul(
            MatMut::from_column_major_slice_mut(&mut self.products, SIZE, SIZE),
            Accum::Replace,
            slanted,
            slanted.transpose(),
            1.0,
            Par::Seq,
        );
        for (at, column) in self.stiffness.chunks_exact_mut(SIZE).enumerate() {
            let (j, b) = (at / NODES, at % NODES);
            let products = |axis: usize, i: usize| {
                &self.products[(axis * NODES + b) * SIZE + i * NODES..][..NODES]
            };
            for i in 0..3 {
                let part = &mut column[i * NODES..(i + 1) * NODES];
                for (value, (p, q)) in part
                    .iter_mut()
                    .zip(products(j, i).iter().zip(products(i, j)))
                {
                    *value = law.lambda * p + law.shear * q;
                }
            }
            let part = &mut column[j * NODES..(j + 1) * NODES];
            for axis in 0..3 {
                for (value, p) in part.iter_mut().zip(products(axis, axis)) {
                    *value += law.shear * p;
                }
            }
        }
        Some(())
    }

    /// Turns the axes of a node to the left about z.
    pub fn turn(&mut self, node: usize, (sin, cos): (f64, f64)) {
        let (x, y) = (node, NODES + node);
        for column in self.stiffness.chunks_exact_mut(SIZE) {
            let (along, left) = (column[x], column[y]);
            column[x] = cos * along + sin * left;
            column[y] = cos * left - sin * along;
        }
        for row in 0..SIZE {
            let (along, left) = (
                self.stiffness[x * SIZE + row],
                self.stiffness[y * SIZE + row],
            );
            self.stiffness[x * SIZE + row] = cos * along + sin * left;
            self.stiffness[y * SIZE + row] = cos * left - sin * along;
        }
    }
}

/// Consistent mass between an element's nodes (27 x 27), the same along every axis; `None` where the element is
/// turned inside out.
pub(super) fn mass(places: &[[f64; 3]; NODES], law: &Law) -> Option<Vec<f64>> {
    let mut mass = vec![0.0; NODES * NODES];
    for shapes in POINTS.iter() {
        let (_, volume) = slopes(shapes, places)?;
        let weight = law.density * volume * shapes.weight;
        for (column, b) in mass.chunks_exact_mut(NODES).zip(&shapes.value) {
            for (value, a) in column.iter_mut().zip(&shapes.value) {
                *value += weight * b * a;
            }
        }
    }
    Some(mass)
}

/// Slopes along x, y, z of a field at some of an element's nodes, from its values at all 27: three rows of 27 for
/// each. Extrapolated from 2 x 2 x 2 points where a quadratic element's stresses are best (Barlow 1976, from
/// memory).
pub(super) fn nodal_slopes(places: &[[f64; 3]; NODES], wanted: &[usize]) -> Vec<[f64; SIZE]> {
    let mut rows = vec![[0.0; SIZE]; wanted.len()];
    for (at, shapes) in STRESS_POINTS.iter().enumerate() {
        let Some((gradient, _)) = slopes(shapes, places) else {
            continue;
        };
        for (row, &node) in rows.iter_mut().zip(wanted) {
            let share = TO_NODES[node][at];
            for (part, slopes) in row.chunks_exact_mut(NODES).zip(&gradient) {
                for (value, slope) in part.iter_mut().zip(slopes) {
                    *value += share * slope;
                }
            }
        }
    }
    rows
}

/// Stresses (xx, yy, zz, xy, yz, zx) in MPa from the slopes of a motion, `d[i][j]` of component i along axis j.
pub(super) fn stress(d: &[[f64; 3]; 3], law: &Law) -> [f64; 6] {
    let spread = law.lambda * (d[0][0] + d[1][1] + d[2][2]);
    let shear = |i: usize, j: usize| law.shear * (d[i][j] + d[j][i]);
    [
        spread + shear(0, 0),
        spread + shear(1, 1),
        spread + shear(2, 2),
        shear(0, 1),
        shear(1, 2),
        shear(2, 0),
    ]
}

/// Equivalent stress of von Mises, in MPa.
pub(super) fn equivalent(s: &[f64; 6]) -> f64 {
    let [x, y, z, xy, yz, zx] = *s;
    (0.5 * ((x - y).powi(2) + (y - z).powi(2) + (z - x).powi(2))
        + 3.0 * (xy * xy + yz * yz + zx * zx))
        .sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cube of side 2 with some nodes moved, so that it is skew and its sides are curved.
    fn skewed() -> [[f64; 3]; NODES] {
        std::array::from_fn(|node| {
            let p = [node % 3, node / 3 % 3, node / 9].map(|i| i as f64 - 1.0);
            [
                p[0] + 0.05 * p[1] * p[2],
                p[1] + 0.08 * p[0] * p[0],
                p[2] + 0.06 * p[0] * p[1],
            ]
        })
    }

    fn law() -> Law {
        Law {
            lambda: 50.0,
            shear: 26.0,
            density: 3.0,
        }
    }

    fn times(hexahedron: &Hexahedron, motion: &[f64]) -> Vec<f64> {
        (0..SIZE)
            .map(|i| {
                (0..SIZE)
                    .map(|j| hexahedron.stiffness[j * SIZE + i] * motion[j])
                    .sum()
            })
            .collect()
    }

    #[test]
    fn rigid_motions_need_no_force() {
        let places = skewed();
        let mut element = Hexahedron::new();
        element.fill(&places, &law()).unwrap();
        for motion in 0..6 {
            let moved = places.map(|[x, y, z]| match motion {
                0 => [1.0, 0.0, 0.0],
                1 => [0.0, 1.0, 0.0],
                2 => [0.0, 0.0, 1.0],
                3 => [0.0, -z, y],
                4 => [z, 0.0, -x],
                _ => [-y, x, 0.0],
            });
            let u: Vec<f64> = (0..SIZE).map(|i| moved[i % NODES][i / NODES]).collect();
            let most = times(&element, &u)
                .iter()
                .fold(0.0_f64, |m, f| m.max(f.abs()));
            assert!(most < 1e-12, "motion {motion}: {most}");
        }
        let total: f64 = element.pull.iter().sum();
        let by_mass: f64 = mass(&places, &law()).unwrap().iter().sum();
        assert!((total - by_mass).abs() < 1e-12 * total);
    }

    #[test]
    fn a_linear_field_has_its_constant_stress() {
        let places = skewed();
        let slope = [[1e-3, 2e-4, -3e-4], [4e-4, -5e-4, 6e-4], [7e-4, 8e-4, 9e-4]];
        let motion = places.map(|p| slope.map(|row| row[0] * p[0] + row[1] * p[1] + row[2] * p[2]));
        let spread = 50.0 * (1e-3 - 5e-4 + 9e-4);
        let exact = [
            spread + 52.0 * 1e-3,
            spread - 52.0 * 5e-4,
            spread + 52.0 * 9e-4,
            26.0 * 6e-4,
            26.0 * 14e-4,
            26.0 * 4e-4,
        ];
        let nodes: Vec<usize> = (0..NODES).collect();
        for row in nodal_slopes(&places, &nodes) {
            let d: [[f64; 3]; 3] = std::array::from_fn(|i| {
                std::array::from_fn(|j| (0..NODES).map(|n| motion[n][i] * row[j * NODES + n]).sum())
            });
            for (got, want) in stress(&d, &law()).iter().zip(exact) {
                assert!((got - want).abs() < 1e-14, "{got} against {want}");
            }
        }
    }
}
