//! A front looked at from one of its designs: who is next, and what one objective costs in another.

use super::scale;
use nalgebra::{DMatrix, DVector};

/// Neighbours that a plane is laid through, for each objective.
const FOR_EACH: usize = 4;

/// Indices of the `count` rows nearest to row `at`, itself left out, in objectives scaled to their range over the
/// rows; the nearest first, ties to the lower index. Rows equal to it are left out.
pub fn nearest(rows: &[Vec<f64>], at: usize, count: usize) -> Vec<usize> {
    let scaled = scale(rows);
    let distance = |row: usize| -> f64 {
        let pairs = scaled[row].iter().zip(&scaled[at]);
        pairs.map(|(a, b)| (a - b) * (a - b)).sum()
    };
    let mut near: Vec<(f64, usize)> = (0..rows.len())
        .filter(|row| *row != at)
        .map(|row| (distance(row), row))
        .filter(|(distance, _)| *distance > 0.0)
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    near.truncate(count);
    near.into_iter().map(|(_, row)| row).collect()
}

/// What an objective changes by with each of the others along a front, those not named kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Slopes {
    /// Change of the objective for a change by 1 of each other one, in the order of the objectives; 0 for itself.
    pub slopes: Vec<f64>,
    /// Standard error of each: how far the front is from a plane there.
    pub errors: Vec<f64>,
}

/// Slopes of `objective` about row `at` of a front: of the plane through that row that fits its nearest rows best,
/// nearer ones weighing more. `None` where these are too few, or lie in a line.
///
/// Least squares weighted by 1 - (d / d_far)³ cubed, as of Cleveland, Robust locally weighted regression, Journal of
/// the American Statistical Association 74, 1979 (from memory).
pub fn slopes(rows: &[Vec<f64>], at: usize, objective: usize) -> Option<Slopes> {
    let objectives = rows.get(at)?.len();
    let others: Vec<usize> = (0..objectives).filter(|each| *each != objective).collect();
    let near = nearest(rows, at, FOR_EACH * objectives);
    if near.len() < others.len() + 1 {
        return None;
    }
    let scaled = scale(rows);
    let distance = |row: usize| -> f64 {
        let pairs = scaled[row].iter().zip(&scaled[at]);
        pairs.map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt()
    };
    // The farthest would weigh nothing.
    let far = 1.1 * distance(*near.last()?);
    let weights: Vec<f64> = near
        .iter()
        .map(|row| (1.0 - (distance(*row) / far).powi(3)).powi(3))
        .collect();
    // Scaled, so that units do not matter to the solver.
    let ranges: Vec<f64> = (0..objectives)
        .map(|each| {
            let values = near
                .iter()
                .map(|row| (rows[*row][each] - rows[at][each]).abs());
            values.fold(0.0, f64::max)
        })
        .collect();
    if ranges
        .iter()
        .any(|range| !(*range > 0.0) || !range.is_finite())
    {
        return None;
    }
    let off = |row: usize, each: usize| (rows[row][each] - rows[at][each]) / ranges[each];
    let columns = DMatrix::from_fn(near.len(), others.len(), |k, column| {
        weights[k].sqrt() * off(near[k], others[column])
    });
    let values = DVector::from_fn(near.len(), |k, _| {
        weights[k].sqrt() * off(near[k], objective)
    });
    let normal = columns.transpose() * &columns;
    let inverse = normal.clone().cholesky()?.inverse();
    // A plane through points in a line is none.
    if normal.norm() * inverse.norm() > 1e6 {
        return None;
    }
    let fit = &inverse * (columns.transpose() * &values);
    let left = (&values - &columns * &fit).norm_squared();
    let spare = (near.len() - others.len()).max(1) as f64;
    let mut found = Slopes {
        slopes: vec![0.0; objectives],
        errors: vec![0.0; objectives],
    };
    for (column, &other) in others.iter().enumerate() {
        let unit = ranges[objective] / ranges[other];
        found.slopes[other] = fit[column] * unit;
        found.errors[other] = (left / spare * inverse[(column, column)]).sqrt() * unit;
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_of_a_sphere_are_those_of_its_tangent_plane() {
        // x² + y² + z² = 1 about (1, 1, 1)/√3: dz/dx = -x/z = -1, y kept.
        let mut rows = vec![vec![1.0 / 3.0_f64.sqrt(); 3]];
        for i in -10..=10 {
            for j in -10..=10 {
                let (x, y) = (
                    rows[0][0] + f64::from(i) * 0.01,
                    rows[0][1] + f64::from(j) * 0.01,
                );
                if (i, j) != (0, 0) {
                    rows.push(vec![x, y, (1.0 - x * x - y * y).sqrt()]);
                }
            }
        }
        let found = slopes(&rows, 0, 2).unwrap();
        for other in [0, 1] {
            let off = (found.slopes[other] + 1.0).abs();
            assert!(
                off < 0.01 && off < 3.0 * found.errors[other] + 0.01,
                "{found:?}"
            );
        }
        assert_eq!(found.slopes[2], 0.0);
    }

    #[test]
    fn two_objectives_have_the_slope_of_their_curve() {
        // f2 = 1 / f1: slope -1 at (1, 1), in whatever units.
        let rows: Vec<Vec<f64>> = (0..=40)
            .map(|k| 0.8 + 0.01 * f64::from(k))
            .map(|x| vec![1e-3 * x, 50.0 / x])
            .collect();
        let found = slopes(&rows, 20, 1).unwrap();
        assert!((found.slopes[0] / -50e3 - 1.0).abs() < 0.01, "{found:?}");
    }

    #[test]
    fn too_few_or_equal_rows_have_no_slope() {
        assert_eq!(slopes(&[vec![1.0, 2.0]], 0, 0), None);
        assert_eq!(slopes(&vec![vec![1.0, 2.0]; 9], 0, 0), None);
        // A line in three objectives is no plane.
        let line: Vec<Vec<f64>> = (0..20)
            .map(|k| vec![f64::from(k), f64::from(-k), f64::from(2 * k)])
            .collect();
        assert_eq!(slopes(&line, 10, 0), None);
    }

    #[test]
    fn the_nearest_come_first() {
        let rows: Vec<Vec<f64>> = [0.0, 10.0, 4.0, 5.0, 5.0, 7.0]
            .map(|x| vec![x, -x])
            .to_vec();
        assert_eq!(nearest(&rows, 3, 2), vec![2, 5]);
    }
}
