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

/// Stiffness (81 x 81, unknown 3 node + axis, column by column), consistent load of unit accelerations along
/// x, y, z as a mass per node, and volume.
#[derive(Clone, Debug)]
pub(super) struct Hexahedron {
    pub stiffness: Vec<f64>,
    /// Consistent mass between nodes (27 x 27); empty unless asked for.
    pub mass: Vec<f64>,
    /// Mass that a unit acceleration pulls at each node with, in t.
    pub pull: [f64; NODES],
}

/// The element's matrices; `None` where it is turned inside out.
pub(super) fn hexahedron(
    places: &[[f64; 3]; NODES],
    law: &Law,
    with_mass: bool,
) -> Option<Hexahedron> {
    let mut slanted = vec![0.0; SIZE * NODES];
    let mut weights = [0.0; NODES];
    for (at, shapes) in POINTS.iter().enumerate() {
        let (gradient, volume) = slopes(shapes, places)?;
        let weight = volume * shapes.weight;
        weights[at] = weight;
        let root = weight.sqrt();
        let column = &mut slanted[at * SIZE..(at + 1) * SIZE];
        for axis in 0..3 {
            for node in 0..NODES {
                column[axis * NODES + node] = root * gradient[axis][node];
            }
        }
    }
    // Products of slopes, (axis, node) by (axis, node).
    let mut products = vec![0.0; SIZE * SIZE];
    let slanted = MatRef::from_column_major_slice(&slanted, SIZE, NODES);
    matmul(
        MatMut::from_column_major_slice_mut(&mut products, SIZE, SIZE),
        Accum::Replace,
        slanted,
        slanted.transpose(),
        1.0,
        Par::Seq,
    );
    let product =
        |i: usize, a: usize, j: usize, b: usize| products[(j * NODES + b) * SIZE + i * NODES + a];
    let mut stiffness = vec![0.0; SIZE * SIZE];
    for b in 0..NODES {
        for a in 0..NODES {
            let trace = product(0, a, 0, b) + product(1, a, 1, b) + product(2, a, 2, b);
            for j in 0..3 {
                let column = &mut stiffness[(3 * b + j) * SIZE + 3 * a..][..3];
                for (i, value) in column.iter_mut().enumerate() {
                    *value = law.lambda * product(i, a, j, b) + law.shear * product(j, a, i, b);
                }
                column[j] += law.shear * trace;
            }
        }
    }
    let mut pull = [0.0; NODES];
    for (shapes, weight) in POINTS.iter().zip(&weights) {
        for (value, shape) in pull.iter_mut().zip(&shapes.value) {
            *value += law.density * weight * shape;
        }
    }
    let mut mass = Vec::new();
    if with_mass {
        mass.resize(NODES * NODES, 0.0);
        for (shapes, weight) in POINTS.iter().zip(&weights) {
            for b in 0..NODES {
                let factor = law.density * weight * shapes.value[b];
                for a in 0..NODES {
                    mass[b * NODES + a] += factor * shapes.value[a];
                }
            }
        }
    }
    Some(Hexahedron {
        stiffness,
        mass,
        pull,
    })
}

/// Stresses (xx, yy, zz, xy, yz, zx) in MPa at the nodes, extrapolated from 2 x 2 x 2 points where a
/// quadratic element's stresses are best (Barlow 1976, from memory).
pub(super) fn stresses(
    places: &[[f64; 3]; NODES],
    motion: &[[f64; 3]; NODES],
    law: &Law,
) -> [[f64; 6]; NODES] {
    let mut at_points = [[0.0; 6]; 8];
    for (stress, shapes) in at_points.iter_mut().zip(STRESS_POINTS.iter()) {
        let Some((gradient, _)) = slopes(shapes, places) else {
            continue;
        };
        let mut d = [[0.0; 3]; 3];
        for node in 0..NODES {
            for i in 0..3 {
                for j in 0..3 {
                    d[i][j] += motion[node][i] * gradient[j][node];
                }
            }
        }
        let spread = law.lambda * (d[0][0] + d[1][1] + d[2][2]);
        let shear = |i: usize, j: usize| law.shear * (d[i][j] + d[j][i]);
        *stress = [
            spread + shear(0, 0),
            spread + shear(1, 1),
            spread + shear(2, 2),
            shear(0, 1),
            shear(1, 2),
            shear(2, 0),
        ];
    }
    std::array::from_fn(|node| {
        let mut sum = [0.0; 6];
        for (stress, share) in at_points.iter().zip(&TO_NODES[node]) {
            for (value, part) in sum.iter_mut().zip(stress) {
                *value += share * part;
            }
        }
        sum
    })
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
        let element = hexahedron(&places, &law(), true).unwrap();
        for motion in 0..6 {
            let u: Vec<f64> = places
                .iter()
                .flat_map(|[x, y, z]| match motion {
                    0 => [1.0, 0.0, 0.0],
                    1 => [0.0, 1.0, 0.0],
                    2 => [0.0, 0.0, 1.0],
                    3 => [0.0, -z, *y],
                    4 => [*z, 0.0, -x],
                    _ => [-y, *x, 0.0],
                })
                .collect();
            let most = times(&element, &u)
                .iter()
                .fold(0.0_f64, |m, f| m.max(f.abs()));
            assert!(most < 1e-12, "motion {motion}: {most}");
        }
        let total: f64 = element.pull.iter().sum();
        let by_mass: f64 = element.mass.iter().sum();
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
        for stress in stresses(&places, &motion, &law()) {
            for (got, want) in stress.iter().zip(exact) {
                assert!((got - want).abs() < 1e-14, "{got} against {want}");
            }
        }
    }
}
