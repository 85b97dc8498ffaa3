//! First natural frequency.

use super::Support;
use super::block::{Row, add_row, dot};
use super::error::StructureError;
use super::model::Model;
use nalgebra::{SMatrix, SVector};
use std::f64::consts::TAU;

const MOST_STEPS: usize = 60;
/// Steps that a start which holds little of the first mode needs to show it.
const LEAST_STEPS: usize = 4;
/// Residual of the inverse square of the frequency, relative; its error is of the square of that.
const RESIDUAL: f64 = 1e-3;

impl Model {
    /// First natural frequency in Hz: with the given supports, or of the frame free in space (its six rigid
    /// motions left out) where there are none.
    ///
    /// Lanczos iteration of the inverse stiffness times the consistent mass (carried masses included) until the
    /// residual of the mode is 1e-3. The mass matrix uses the static shapes of the elements; the path is cut into nine pieces or more, which leaves less than 0.1 % in the first frequency.
    ///
    /// # Errors
    /// As [`Model::solve`] for the supports; [`StructureError::NoFrequency`].
    ///
    /// Source: Parlett, The Symmetric Eigenvalue Problem, chapter 13 (from memory).
    pub fn first_frequency_hz(&mut self, supports: &[Support]) -> Result<f64, StructureError> {
        let factor = self.factor(supports)?;
        let free = supports.is_empty().then(|| RigidMotions::new(self));
        let nodes = self.poses.len();
        let mut vector = self.first_guess(supports.is_empty());
        let mut basis: Vec<Vec<Row>> = Vec::with_capacity(12);
        let mut weighted: Vec<Vec<Row>> = Vec::with_capacity(12);
        let (mut diagonal, mut beside) = (Vec::with_capacity(12), Vec::<f64>::with_capacity(12));
        let mut last = 0.0;
        for step in 0..MOST_STEPS.min(7 * nodes) {
            if let Some(free) = &free {
                free.remove(self, &mut vector);
            }
            for (known, heavy) in basis.iter().zip(&weighted) {
                let share = inner(heavy, &vector);
                combine(&mut vector, -share, known);
            }
            let mut heavy = vec![[0.0; 8]; nodes];
            self.add_inertia(&vector, 1.0, &mut heavy);
            let norm = inner(&heavy, &vector).max(0.0).sqrt();
            if step > 0 {
                let residual = norm * last_component(&diagonal, &beside, last);
                let shown = step >= LEAST_STEPS && residual <= RESIDUAL * last;
                if shown || norm <= 1e-12 * diagonal[0] {
                    return frequency(last);
                }
                beside.push(norm);
            }
            if !(norm > 0.0 && norm.is_finite()) {
                return Err(StructureError::NoFrequency);
            }
            scale(&mut vector, 1.0 / norm);
            scale(&mut heavy, 1.0 / norm);
            let mut next = heavy.clone();
            self.replace_by_motion(factor, &mut next);
            diagonal.push(inner(&heavy, &next));
            last = greatest_eigenvalue(&diagonal, &beside);
            basis.push(vector);
            weighted.push(heavy);
            vector = next;
        }
        Err(StructureError::NoFrequency)
    }

    /// A mixture of smooth shapes in all displacements and rotations, uneven on purpose so that no symmetry of
    /// the frame hides a mode.
    fn first_guess(&self, free: bool) -> Vec<Row> {
        let nodes = self.poses.len();
        let radius = self.laws[0].mass.radius();
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
                // Any frame's modes have a share in numbers that follow no pattern (multiples of the golden
                // ratio, their fractions).
                let uneven = |seed: f64| ((node as f64 + seed) * 0.618_033_988_75).fract() - 0.5;
                let (sin, cos) = self.headings[node];
                let (x, y) = if free {
                    (0.0, 0.8 * b)
                } else {
                    (0.7 * b * cos, -0.7 * b * sin)
                };
                let twist = (3.0 * s + 0.2).cos() + 0.2 * uneven(0.3);
                [
                    x + 0.1 * uneven(0.1),
                    y + 0.1 * uneven(0.7),
                    a + 0.1 * uneven(0.5),
                    0.5 * twist / radius,
                    0.0,
                    0.0,
                    0.0,
                    0.0,
                ]
            })
            .collect()
    }
}

fn frequency(greatest: f64) -> Result<f64, StructureError> {
    if greatest > 0.0 && greatest.is_finite() {
        Ok(1.0 / (greatest.sqrt() * TAU))
    } else {
        Err(StructureError::NoFrequency)
    }
}

/// The rigid motions of a floating frame, their momenta, and the inverse of their inertia.
struct RigidMotions {
    momenta: Vec<Vec<Row>>,
    inverse: SMatrix<f64, 6, 6>,
}

impl RigidMotions {
    fn new(model: &Model) -> RigidMotions {
        let nodes = model.poses.len();
        let motions: Vec<[Row; 6]> = (0..nodes).map(|node| model.rigid_motions(node)).collect();
        let mut momenta = Vec::with_capacity(6);
        let mut inertia = SMatrix::<f64, 6, 6>::zeros();
        for k in 0..6 {
            let motion: Vec<Row> = motions.iter().map(|six| six[k]).collect();
            let mut momentum = vec![[0.0; 8]; nodes];
            model.add_inertia(&motion, 1.0, &mut momentum);
            for (six, row) in motions.iter().zip(&momentum) {
                for j in 0..6 {
                    inertia[(j, k)] += dot(&six[j], row);
                }
            }
            momenta.push(momentum);
        }
        RigidMotions {
            momenta,
            inverse: inertia.try_inverse().unwrap_or_else(SMatrix::zeros),
        }
    }

    fn remove(&self, model: &Model, vector: &mut [Row]) {
        let mut momentum = SVector::<f64, 6>::zeros();
        for k in 0..6 {
            momentum[k] = inner(&self.momenta[k], vector);
        }
        let share = self.inverse * momentum;
        for (node, row) in vector.iter_mut().enumerate() {
            let six = model.rigid_motions(node);
            for k in 0..6 {
                add_row(row, -share[k], &six[k]);
            }
        }
    }
}

fn inner(a: &[Row], b: &[Row]) -> f64 {
    a.iter().zip(b).map(|(a, b)| dot(a, b)).sum()
}

fn combine(a: &mut [Row], factor: f64, b: &[Row]) {
    for (a, b) in a.iter_mut().zip(b) {
        add_row(a, factor, b);
    }
}

fn scale(a: &mut [Row], factor: f64) {
    for row in a {
        for value in row {
            *value *= factor;
        }
    }
}

/// Magnitude of the last component of a symmetric tridiagonal matrix's unit eigenvector.
fn last_component(diagonal: &[f64], beside: &[f64], eigenvalue: f64) -> f64 {
    let (mut before, mut here, mut sum) = (0.0, 1.0, 1.0);
    for k in 1..diagonal.len() {
        let pull = if k > 1 { beside[k - 2] * before } else { 0.0 };
        let next = ((eigenvalue - diagonal[k - 1]) * here - pull) / beside[k - 1];
        (before, here) = (here, next);
        sum += next * next;
    }
    (here * here / sum).sqrt()
}

/// Greatest eigenvalue of a symmetric tridiagonal matrix, by Newton's method on its characteristic
/// polynomial from above, where it falls monotonically.
fn greatest_eigenvalue(diagonal: &[f64], beside: &[f64]) -> f64 {
    let at = |k: usize| beside.get(k).map_or(0.0, |value| value.abs());
    let mut value = (0..diagonal.len())
        .map(|k| diagonal[k] + at(k) + if k > 0 { at(k - 1) } else { 0.0 })
        .fold(f64::MIN, f64::max);
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
        let value = greatest_eigenvalue(&[2.0; 6], &[1.0; 5]);
        let exact = 2.0 + 2.0 * (std::f64::consts::PI / 7.0).cos();
        assert!((value - exact).abs() < 1e-8, "{value}");
    }
}
