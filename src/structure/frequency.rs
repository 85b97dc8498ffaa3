//! First natural frequency.

use super::Support;
use super::block::{Row, add_row, dot};
use super::element::rigid_motions;
use super::error::StructureError;
use super::model::{Model, point_momentum};
use super::wide::wide;
use nalgebra::{SMatrix, SVector};
use std::f64::consts::TAU;

const MOST_STEPS: usize = 60;
const CHANGE: f64 = 2e-4;

impl Model {
    /// First natural frequency in Hz: with the given supports, or of the frame free in space (its six rigid
    /// motions left out) where there are none.
    ///
    /// Lanczos iteration of the inverse stiffness times the consistent mass (carried masses included) until the
    /// frequency moves by less than 1e-4 of itself; it then errs by far less. The mass matrix uses the static shapes of the
    /// elements; the path is cut into nine pieces or more, which leaves less than 0.1 % in the first frequency.
    ///
    /// # Errors
    /// As [`Model::solve`] for the supports; [`StructureError::NoFrequency`].
    ///
    /// Source: Parlett, The Symmetric Eigenvalue Problem, chapter 13 (from memory).
    pub fn first_frequency_hz(&mut self, supports: &[Support]) -> Result<f64, StructureError> {
        let factor = self.factor(supports)?;
        let free = supports.is_empty().then(|| rigid(self));
        lanczos(self, factor, free.as_ref())
    }

    #[inline(always)]
    fn lanczos(&self, factor: usize, free: Option<&RigidMotions>) -> Result<f64, StructureError> {
        let nodes = self.poses.len();
        let mut vector = self.first_guess(free.is_some());
        let mut heavy = vec![[0.0; 8]; nodes];
        // By step: vector, and mass times vector.
        let mut known: Vec<Row> = Vec::with_capacity(12 * nodes);
        let (mut diagonal, mut beside) = (Vec::with_capacity(12), Vec::<f64>::with_capacity(12));
        let mut last = 0.0;
        for step in 0..MOST_STEPS.min(7 * nodes) {
            if let Some(free) = free {
                free.remove(&mut vector);
            }
            for step in known.chunks_exact(2 * nodes) {
                let (before, heavy) = step.split_at(nodes);
                let share = inner(heavy, &vector);
                combine(&mut vector, -share, before);
            }
            heavy.fill([0.0; 8]);
            self.add_inertia(&vector, 1.0, &mut heavy);
            let norm = inner(&heavy, &vector).max(0.0).sqrt();
            if step > 0 {
                if norm <= 1e-12 * diagonal[0] {
                    return frequency(last);
                }
                beside.push(norm);
            }
            if !(norm > 0.0 && norm.is_finite()) {
                return Err(StructureError::NoFrequency);
            }
            scale(&mut vector, 1.0 / norm);
            scale(&mut heavy, 1.0 / norm);
            known.extend_from_slice(&vector);
            known.extend_from_slice(&heavy);
            vector.copy_from_slice(&heavy);
            self.substitute(factor, &mut vector);
            diagonal.push(inner(&heavy, &vector));
            let greatest = greatest_eigenvalue(&diagonal, &beside, last);
            if step > 1 && (greatest - last).abs() <= CHANGE * greatest {
                return frequency(greatest);
            }
            last = greatest;
        }
        Err(StructureError::NoFrequency)
    }

    /// A mixture of smooth shapes, uneven on purpose so that no symmetry of the frame hides a mode.
    fn first_guess(&self, free: bool) -> Vec<Row> {
        let nodes = self.poses.len();
        let twist = 0.5 / self.laws[0].mass.radius();
        (0..nodes)
            .map(|node| {
                let s = node as f64 / self.pieces.len() as f64;
                let (a, b) = if free && self.closed {
                    ((2.0 * TAU * s).cos(), (2.0 * TAU * s + 0.4).sin())
                } else if free {
                    let bow = 8.0 * (s - 0.5) * (s - 0.5) - 0.66;
                    (bow + 0.1 * (s - 0.4).powi(3), bow)
                } else {
                    (
                        1.0 + 0.2 * (TAU * s + 0.3).cos(),
                        0.6 + 0.3 * (TAU * s + 0.7).sin(),
                    )
                };
                let (sin, cos) = self.headings[node];
                let (x, y) = if free {
                    (0.0, 0.8 * b)
                } else {
                    (0.7 * b * cos, -0.7 * b * sin)
                };
                [x, y, a, twist * (3.0 * s + 0.2).cos(), 0.0, 0.0, 0.0, 0.0]
            })
            .collect()
    }
}

wide! {
    fn lanczos<'a>(
        model: &'a Model,
        factor: usize,
        free: Option<&'a RigidMotions>,
    ) -> Result<f64, StructureError> = Model::lanczos;
}

wide! {
    fn rigid<'a>(model: &'a Model) -> RigidMotions = RigidMotions::new;
}

fn frequency(greatest: f64) -> Result<f64, StructureError> {
    if greatest > 0.0 && greatest.is_finite() {
        Ok(1.0 / (greatest.sqrt() * TAU))
    } else {
        Err(StructureError::NoFrequency)
    }
}

/// The rigid motions of a floating frame, their momenta, and the inverse of their inertia.
pub(super) struct RigidMotions {
    motions: Vec<[Row; 6]>,
    momenta: Vec<[Row; 6]>,
    inverse: SMatrix<f64, 6, 6>,
}

impl RigidMotions {
    #[inline(always)]
    pub fn new(model: &Model) -> RigidMotions {
        let nodes = model.poses.len();
        let motions: Vec<[Row; 6]> = (0..nodes).map(|node| model.rigid_motions(node)).collect();
        // Momenta at both ends of a piece per rigid motion in the axes at its start: by kind, not by piece.
        let mut kinds: Vec<Option<[(Row, Row); 6]>> = vec![None; model.laws.len()];
        let mut momenta = vec![[[0.0; 8]; 6]; nodes];
        for (index, piece) in model.pieces.iter().enumerate() {
            let ends = kinds[piece.kind].get_or_insert_with(|| {
                let level = model.level(piece);
                rigid_motions(piece.length_mm, model.curvatures[piece.kind])
                    .map(|(near, far)| level.inertia(&near, &far))
            });
            let far = model.far(index);
            for k in 0..6 {
                for (share, (start, end)) in motions[index][k].iter().zip(ends.iter()) {
                    add_row(&mut momenta[index][k], *share, start);
                    add_row(&mut momenta[far][k], *share, end);
                }
            }
        }
        for (node, mass) in &model.points {
            for k in 0..6 {
                let momentum = point_momentum(mass, &motions[*node][k]);
                add_row(&mut momenta[*node][k], 1.0, &momentum);
            }
        }
        let mut inertia = SMatrix::<f64, 6, 6>::zeros();
        for (moved, heavy) in motions.iter().zip(&momenta) {
            for k in 0..6 {
                for j in 0..=k {
                    inertia[(j, k)] += dot(&moved[j], &heavy[k]);
                }
            }
        }
        inertia.fill_lower_triangle_with_upper_triangle();
        RigidMotions {
            motions,
            momenta,
            inverse: inertia.try_inverse().unwrap_or_else(SMatrix::zeros),
        }
    }

    #[inline(always)]
    pub fn remove(&self, vector: &mut [Row]) {
        let mut momentum = SVector::<f64, 6>::zeros();
        for (heavy, row) in self.momenta.iter().zip(vector.iter()) {
            for k in 0..6 {
                momentum[k] += dot(&heavy[k], row);
            }
        }
        let share = self.inverse * momentum;
        for (motions, row) in self.motions.iter().zip(vector) {
            for k in 0..6 {
                add_row(row, -share[k], &motions[k]);
            }
        }
    }
}

#[inline(always)]
fn inner(a: &[Row], b: &[Row]) -> f64 {
    a.iter().zip(b).map(|(a, b)| dot(a, b)).sum()
}

#[inline(always)]
fn combine(a: &mut [Row], factor: f64, b: &[Row]) {
    for (a, b) in a.iter_mut().zip(b) {
        add_row(a, factor, b);
    }
}

#[inline(always)]
fn scale(a: &mut [Row], factor: f64) {
    for row in a {
        for value in row {
            *value *= factor;
        }
    }
}

/// Greatest eigenvalue of a symmetric tridiagonal matrix, by Newton's method on its characteristic
/// polynomial from above, where it falls monotonically; `before` that of the matrix without its last row.
///
/// The greatest eigenvalue of [[before, b], [b, d]], d the last of the diagonal and b beside it, is no less.
fn greatest_eigenvalue(diagonal: &[f64], beside: &[f64], before: f64) -> f64 {
    let at = |k: usize| beside[k].abs();
    let last = diagonal.len() - 1;
    if last == 0 {
        return diagonal[0];
    }
    let (mean, half) = (
        0.5 * (before + diagonal[last]),
        0.5 * (before - diagonal[last]),
    );
    let mut value = (mean + half.hypot(beside[last - 1])) * (1.0 + 1e-12);
    for _ in 0..100 {
        // Ratio of determinants q_k and its logarithmic derivative.
        let (mut q, mut dq, mut log) = (value - diagonal[0], 1.0, 0.0);
        if q <= 0.0 {
            return value;
        }
        log += dq / q;
        for k in 1..diagonal.len() {
            let b = at(k - 1) * at(k - 1);
            let (next, slope) = (value - diagonal[k] - b / q, 1.0 + b * dq / (q * q));
            (q, dq) = (next, slope);
            if q <= 0.0 {
                return value;
            }
            log += dq / q;
        }
        let step = 1.0 / log;
        value -= step;
        if step <= 1e-10 * value.abs() {
            break;
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::greatest_eigenvalue;

    #[test]
    fn tridiagonal_matrix_of_second_differences() {
        // Eigenvalues of tridiag(1, 2, 1) of size n are 2 + 2 cos(k pi / (n + 1)) (textbook result, from memory).
        let value = (1..=6).fold(0.0, |before, size| {
            greatest_eigenvalue(&[2.0; 6][..size], &[1.0; 5][..size - 1], before)
        });
        let exact = 2.0 + 2.0 * (std::f64::consts::PI / 7.0).cos();
        assert!((value - exact).abs() < 1e-8, "{value}");
    }
}
