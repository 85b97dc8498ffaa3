//! The arc element with seven degrees of freedom, exact whatever its length, with a consistent mass matrix.
//!
//! Degrees of freedom of an end, in the axes of the path there: u_t, u_n, u_b, th_t, th_n, th_b and the
//! warping amplitude p. A piece is its own mirror image about its middle; so of the 14 x 14 stiffness only
//! the blocks K00 and K01 are kept: K11 = S K00 S, K10 = transpose(K01) = S K01 S with the signs S below,
//! and joining two equal pieces needs only a 4 x 4 and a 3 x 3 inverse.

use super::block::{
    Block, Row, ZERO, add_row, product, sum, symmetric_times, times, transpose, transposed_product,
    transposed_times,
};
use super::piece::start;
use super::section::SectionLaw;
use super::wide::wide;

/// Signs of the degrees of freedom under reflection about a cross-section.
pub(super) const MIRROR: [f64; 8] = [-1.0, 1.0, 1.0, 1.0, -1.0, -1.0, -1.0, 0.0];

/// `S v`.
#[inline(always)]
pub(super) fn reflected(v: &Row) -> Row {
    std::array::from_fn(|k| MIRROR[k] * v[k])
}

impl Level {
    /// Forces on both ends per motion of both ends.
    #[inline(always)]
    pub fn forces(&self, near: &Row, far: &Row) -> (Row, Row) {
        pair(&self.k00, &self.k01, near, far)
    }

    /// Inertia forces on both ends per acceleration of both ends.
    #[inline(always)]
    pub fn inertia(&self, near: &Row, far: &Row) -> (Row, Row) {
        pair(&self.m00, &self.m01, near, far)
    }

    /// Motion of the middle node without load there.
    #[inline(always)]
    pub fn middle_of(&self, near: &Row, far: &Row) -> Row {
        let mut middle = times(&self.middle, near);
        let from_far = times(&self.middle, &reflected(far));
        add_row(&mut middle, 1.0, &reflected(&from_far));
        middle
    }
}

/// Products of the symmetric matrix [[a, b], [b', S a S]], b' = S b S, with (near, far).
#[inline(always)]
fn pair(a: &Block, b: &Block, near: &Row, far: &Row) -> (Row, Row) {
    let far_mirrored = reflected(far);
    let mut first = symmetric_times(a, near);
    add_row(
        &mut first,
        1.0,
        &reflected(&transposed_times(b, &far_mirrored)),
    );
    let mut last = reflected(&symmetric_times(a, &far_mirrored));
    add_row(&mut last, 1.0, &transposed_times(b, near));
    (first, last)
}

/// One piece of 2^k starting pieces.
#[derive(Clone, Debug)]
pub(super) struct Level {
    pub k00: Block,
    pub k01: Block,
    pub m00: Block,
    pub m01: Block,
    /// Motion of the middle node per motion of the first end (zero for the starting piece).
    pub middle: Block,
    /// Motion of the middle node per load there, ends held.
    pub give: Block,
}

/// A segment: its starting piece and every doubling of it; the last is the whole segment.
#[derive(Clone, Debug)]
pub(super) struct Element {
    pub levels: Vec<Level>,
}

/// `S a S`.
#[inline(always)]
pub(super) fn mirrored(a: &Block) -> Block {
    let mut out = *a;
    for (row, sign) in out.iter_mut().zip(MIRROR) {
        for (value, other) in row.iter_mut().zip(MIRROR) {
            *value *= sign * other;
        }
    }
    out
}

impl Element {
    /// The element of a section law over a length of path in mm, doubled at least `least` times.
    pub fn new(law: &SectionLaw, length: f64, curvature: f64, least: usize) -> Element {
        let decay = (law.twist / law.warping).sqrt();
        let pieces = length * decay.max(2.0 * curvature.abs());
        let doublings = (pieces.log2().ceil().max(0.0) as usize).max(least);
        Element {
            levels: levels(law, length, curvature, doublings),
        }
    }
}

wide! {
    fn levels<'a>(law: &'a SectionLaw, length: f64, curvature: f64, doublings: usize) -> Vec<Level> = doubled;
}

/// The starting piece of a length and its doublings.
#[inline(always)]
fn doubled(law: &SectionLaw, length: f64, curvature: f64, doublings: usize) -> Vec<Level> {
    let mut levels = Vec::with_capacity(doublings + 1);
    levels.push(start(law, length / (1u64 << doublings) as f64, curvature));
    for _ in 0..doublings {
        let next = double(&levels[levels.len() - 1]);
        levels.push(next);
    }
    levels
}

/// Two equal pieces joined, their common node condensed, stiffness and mass alike.
#[inline(always)]
fn double(piece: &Level) -> Level {
    let give = inverse_of_doubled(&piece.k00);
    let mut middle = product(&give, &transpose(&piece.k01));
    for row in &mut middle {
        for value in row {
            *value = -*value;
        }
    }
    let from_far = mirrored(&middle);
    let k00 = sum(&piece.k00, 1.0, &product(&piece.k01, &middle));
    let k01 = product(&piece.k01, &from_far);
    // M00' = M00 + M01 X0 + X0' M10 + X0' Mm X0, M01' = M01 X1 + X0' Mm X1 + X0' M01.
    let at_middle = sum(&piece.m00, 1.0, &mirrored(&piece.m00));
    let pulled = transposed_product(&middle, &at_middle);
    let half = product(&sum(&piece.m01, 0.5, &pulled), &middle);
    let m00 = sum(&sum(&piece.m00, 1.0, &half), 1.0, &transpose(&half));
    let m01 = sum(
        &product(&sum(&piece.m01, 1.0, &pulled), &from_far),
        1.0,
        &transposed_product(&middle, &piece.m01),
    );
    Level {
        k00,
        k01,
        m00,
        m01,
        middle,
        give,
    }
}

/// Inverse of K00 + S K00 S, which falls apart into the degrees of freedom of either sign.
#[inline(always)]
fn inverse_of_doubled(k00: &Block) -> Block {
    let mut out = ZERO;
    inverse_group(k00, [0, 4, 5, 6], &mut out);
    inverse_group(k00, [1, 2, 3], &mut out);
    out
}

#[inline(always)]
fn inverse_group<const N: usize>(k: &Block, members: [usize; N], out: &mut Block) {
    // Gauss-Jordan without pivoting: the group is symmetric positive definite.
    let mut a = [[0.0; N]; N];
    for i in 0..N {
        for j in 0..N {
            a[i][j] = 2.0 * k[members[i]][members[j]];
        }
    }
    for pivot in 0..N {
        let over = 1.0 / a[pivot][pivot];
        a[pivot][pivot] = 1.0;
        for value in &mut a[pivot] {
            *value *= over;
        }
        let line = a[pivot];
        for (i, row) in a.iter_mut().enumerate() {
            if i != pivot {
                let factor = row[pivot];
                row[pivot] = 0.0;
                for (value, other) in row.iter_mut().zip(&line) {
                    *value -= factor * other;
                }
            }
        }
    }
    for i in 0..N {
        for j in 0..N {
            out[members[i]][members[j]] = a[i][j];
        }
    }
}

/// Sine and cosine of the turn over `s`, and the arc's coordinates from its middle (along, across).
pub(super) fn turn(curvature: f64, s: f64) -> (f64, f64, f64, f64) {
    let angle = curvature * s;
    let (sin, cos) = angle.sin_cos();
    if angle.abs() < 1e-3 {
        let square = angle * angle;
        let across = 0.5 * angle * s * (1.0 - square / 12.0);
        (
            sin,
            cos,
            s * (1.0 - square / 6.0 * (1.0 - square / 20.0)),
            across,
        )
    } else {
        (sin, cos, sin / curvature, (1.0 - cos) / curvature)
    }
}

/// The six rigid motions of an arc, unit motions of its first end, at both ends in the axes there.
pub(super) fn rigid_motions(length: f64, curvature: f64) -> [(Row, Row); 6] {
    let (sin, cos, x, y) = turn(curvature, length);
    std::array::from_fn(|k| {
        let mut near = [0.0; 8];
        near[k] = 1.0;
        let (mut u, mut w) = ([0.0; 3], [0.0; 3]);
        if k < 3 {
            u[k] = 1.0;
        } else {
            w[k - 3] = 1.0;
            u = [-w[2] * y, w[2] * x, w[0] * y - w[1] * x];
        }
        let local = |v: [f64; 3]| [cos * v[0] + sin * v[1], cos * v[1] - sin * v[0], v[2]];
        let (u, w) = (local(u), local(w));
        (near, [u[0], u[1], u[2], w[0], w[1], w[2], 0.0, 0.0])
    })
}

#[cfg(test)]
mod tests {
    use super::super::block::dot;
    use super::*;
    use crate::part::{Section, Wall};
    use crate::structure::Metal;

    fn element(length: f64, curvature: f64, least: usize) -> (SectionLaw, Element) {
        let wall = |thickness_mm, height_mm| {
            Some(Wall {
                thickness_mm,
                height_mm,
            })
        };
        let section = Section {
            width_mm: 11.0,
            floor_mm: 1.5,
            outer_wall: wall(1.4, 7.0),
            inner_wall: wall(1.0, 5.0),
            ribs: Vec::new(),
            slits: None,
        };
        let metal = Metal {
            modulus_mpa: 68900.0,
            poisson: 0.33,
            density_t_mm3: 2.7e-9,
            yield_mpa: 276.0,
        };
        let law = SectionLaw::new(&section, &[], curvature, &metal);
        let element = Element::new(&law, length, curvature, least);
        (law, element)
    }

    #[test]
    fn rigid_motions_need_no_force_and_have_the_whole_mass() {
        for (length, curvature) in [(30.0, 0.025), (30.0, 0.0), (45.0, -0.03)] {
            let (law, element) = element(length, curvature, 4);
            let level = &element.levels[element.levels.len() - 1];
            let scale = level
                .k00
                .iter()
                .flatten()
                .fold(0.0_f64, |m, v| m.max(v.abs()));
            for (k, (near, far)) in rigid_motions(length, curvature).into_iter().enumerate() {
                let mut force = times(&level.k00, &near);
                add_row(&mut force, 1.0, &times(&level.k01, &far));
                let most = force.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
                assert!(most < 1e-9 * scale, "{length} {curvature} {k}: {most:e}");
                if k < 3 {
                    let mut momentum = times(&level.m00, &near);
                    add_row(&mut momentum, 1.0, &times(&level.m01, &far));
                    let mut away = transposed_times(&level.m01, &near);
                    add_row(&mut away, 1.0, &times(&mirrored(&level.m00), &far));
                    let mass = dot(&momentum, &near) + dot(&away, &far);
                    let expected = law.mass.mass * length;
                    assert!((mass / expected - 1.0).abs() < 1e-9, "{mass} {expected}");
                }
            }
        }
    }

    #[test]
    fn stiffness_is_symmetric_and_does_not_depend_on_the_doublings() {
        let (_, coarse) = element(40.0, 0.02, 0);
        let (_, fine) = element(40.0, 0.02, 9);
        assert!(coarse.levels.len() + 3 < fine.levels.len());
        let (a, b) = (
            &coarse.levels[coarse.levels.len() - 1],
            &fine.levels[fine.levels.len() - 1],
        );
        for i in 0..7 {
            for j in 0..7 {
                let size = (a.k00[i][i] * a.k00[j][j]).sqrt();
                assert!((a.k00[i][j] - a.k00[j][i]).abs() < 1e-12 * size);
                assert!((a.k00[i][j] - b.k00[i][j]).abs() < 1e-8 * size, "{i} {j}");
                assert!((a.k01[i][j] - b.k01[i][j]).abs() < 1e-8 * size, "{i} {j}");
            }
        }
    }
}
