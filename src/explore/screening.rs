//! Which designs to evaluate to learn what drives a measure.
//!
//! Flat designs, one value an axis, for [`crate::analyse`] to read what comes out of them. Unlike those of a plan they
//! may repeat: what is learnt from them rests on each standing where it stands.

use super::axis::{Scale, scales};
use super::random::Random;
use super::samplers::sobol::{MOST_AXES, Sobol};
use super::{Axis, Error};

/// Levels of an axis on which trajectories run.
const LEVELS: f64 = 4.0;

/// Designs for Sobol' indices: (base, axes + 2, axes) flat.
///
/// Each of `base` blocks holds a design A, a design B, and then for each axis A with the value that B has there. A
/// and B are the two halves of the points of a scrambled Sobol sequence; a power of two of them is most even.
///
/// # Errors
///
/// Axes that make no sense; more than 32, as every axis takes two dimensions of the sequence.
///
/// Source: Saltelli and others, Computer Physics Communications 181, 2010.
pub fn blocks(axes: &[Axis], base: usize, seed: u64) -> Result<Vec<f64>, Error> {
    let scales = sound(axes)?;
    let count = scales.len();
    if 2 * count > MOST_AXES {
        return Err(Error::TooManyAxes {
            axes: count,
            most: MOST_AXES / 2,
        });
    }
    let sobol = Sobol::matrix_scrambled(2 * count, seed);
    let mut designs = Vec::with_capacity(base * (count + 2) * count);
    for index in 0..base as u64 {
        let half = |first: usize| -> Vec<f64> {
            let value = |(axis, scale): (usize, &Scale)| scale.value(sobol.at(index, first + axis));
            scales.iter().enumerate().map(value).collect()
        };
        let (a, b) = (half(0), half(count));
        designs.extend_from_slice(&a);
        designs.extend_from_slice(&b);
        for axis in 0..count {
            let start = designs.len();
            designs.extend_from_slice(&a);
            designs[start + axis] = b[axis];
        }
    }
    Ok(designs)
}

/// Designs for elementary effects: (count, axes + 1, axes) flat.
///
/// On each of `count` trajectories every axis moves once, in random order, by two thirds of its range, up or down,
/// between levels at 0, 1/3, 2/3 and 1 of it; on a discrete axis between the values nearest to them. An axis of one
/// value does not move.
///
/// # Errors
///
/// Axes that make no sense.
///
/// Source: Morris, Technometrics 33(2), 1991 (four levels and this step as recommended there; from memory).
pub fn trajectories(axes: &[Axis], count: usize, seed: u64) -> Result<Vec<f64>, Error> {
    let scales = sound(axes)?;
    let mut random = Random::new(seed);
    let mut designs = Vec::with_capacity(count * (axes.len() + 1) * axes.len());
    let step = LEVELS / (2.0 * (LEVELS - 1.0));
    for _ in 0..count {
        // The two values between which each axis moves, first the one where it starts.
        let ends: Vec<[f64; 2]> = scales
            .iter()
            .map(|scale| {
                let low = random.below(LEVELS as usize / 2) as f64 / (LEVELS - 1.0);
                let mut ends = [scale.between(low), scale.between(low + step)];
                if random.chance(0.5) {
                    ends.reverse();
                }
                ends
            })
            .collect();
        let mut order: Vec<usize> = (0..axes.len()).collect();
        random.shuffle(&mut order);
        let mut x: Vec<f64> = ends.iter().map(|ends| ends[0]).collect();
        designs.extend_from_slice(&x);
        for axis in order {
            x[axis] = ends[axis][1];
            designs.extend_from_slice(&x);
        }
    }
    Ok(designs)
}

/// How far along its axis each value of some designs lies, 0 at the lower bound to 1 at the upper, along the
/// logarithm where the axis has one; one half where an axis has one value. Same shape as `designs`.
///
/// # Errors
///
/// Axes that make no sense.
pub fn shares(axes: &[Axis], designs: &[f64]) -> Result<Vec<f64>, Error> {
    let scales = sound(axes)?;
    let share = |(scale, &x): (&Scale, &f64)| scale.share(x);
    Ok(scales.iter().cycle().zip(designs).map(share).collect())
}

fn sound(axes: &[Axis]) -> Result<Vec<Scale>, Error> {
    if axes.is_empty() {
        return Err(Error::NoAxes);
    }
    scales(axes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn axes() -> Vec<Axis> {
        vec![
            Axis::Continuous {
                low: 1.0,
                high: 100.0,
                step: None,
                log: true,
            },
            Axis::Integer { low: 0, high: 2 },
            Axis::Choice { count: 2 },
            Axis::Choice { count: 1 },
        ]
    }

    #[test]
    fn blocks_differ_on_one_axis_from_their_first() {
        let designs = blocks(&axes(), 16, 3).unwrap();
        assert_eq!(designs.len(), 16 * 6 * 4);
        for block in designs.chunks(24) {
            let rows: Vec<&[f64]> = block.chunks(4).collect();
            for axis in 0..4 {
                for other in 0..4 {
                    let from = if axis == other { rows[1] } else { rows[0] };
                    assert_eq!(rows[2 + axis][other], from[other]);
                }
            }
        }
        assert!(blocks(&vec![Axis::Choice { count: 2 }; 33], 1, 1).is_err());
        assert_eq!(blocks(&[], 1, 1), Err(Error::NoAxes));
    }

    #[test]
    fn trajectories_move_every_axis_once() {
        let axes = axes();
        let designs = trajectories(&axes, 50, 9).unwrap();
        let places = shares(&axes, &designs).unwrap();
        assert_eq!(places.len(), 50 * 5 * 4);
        for trajectory in places.chunks(20) {
            let rows: Vec<&[f64]> = trajectory.chunks(4).collect();
            let mut moved = [0; 4];
            for pair in rows.windows(2) {
                for axis in 0..4 {
                    let step = (pair[1][axis] - pair[0][axis]).abs();
                    moved[axis] += usize::from(step > 0.0);
                    let right = [2.0 / 3.0, 0.5, 1.0];
                    assert!(step == 0.0 || (step - right[axis]).abs() < 1e-12);
                }
            }
            assert_eq!(moved, [1, 1, 1, 0]);
        }
    }
}
