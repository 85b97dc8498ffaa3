//! What a front says: who beats the baseline, which few candidates stand for the many.
//!
//! Objectives are given as rows of equal length, **smaller is better** in each. What changed between two runs is
//! split by cause in [`shares`]. Which axis drives a measure is read off designs made for it
//! ([`indices()`], [`elementary()`], [`effects()`]) or off any designs ([`regress`]). What scattered parts have in
//! them is summed up by [`moments`], [`chance`] and [`Regressor`]; [`slopes`] gives what one objective costs in
//! another along a front; [`combine()`] puts the fronts of several parts together, and [`steps`] says where the next
//! unit is cheapest.

mod causes;
mod combine;
mod effects;
mod elementary;
mod indices;
mod local;
mod regression;
mod scatter;

pub use causes::{quantile, shares};
pub use combine::{Combined, MOST_HELD, Step, TooMany, combine, steps};
pub use effects::effects;
pub use elementary::{Elementary, elementary};
pub use indices::{Indices, Share, indices};
pub use local::{Slopes, nearest, slopes};
pub use regression::{Coefficient, Fit, LackOfFit, RegressionError, regress};
pub use scatter::{Chance, Regressor, Shares, chance, moments};

/// Whether `a` is at least as good as `b` in every objective and better in one.
pub fn dominates(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b) && a.iter().zip(b).any(|(a, b)| a < b)
}

/// Indices of the rows that dominate `baseline`.
pub fn beats(rows: &[Vec<f64>], baseline: &[f64]) -> Vec<usize> {
    (0..rows.len())
        .filter(|&row| dominates(&rows[row], baseline))
        .collect()
}

/// `count` rows that stand for all: the best of each objective, then always the row farthest from those
/// chosen, in objectives scaled to their range over the rows. In ascending order; all rows where `count` is
/// not smaller than their number.
///
/// Farthest-point selection (Gonzalez, 1985); ties go to the lower index, so the choice is repeatable.
pub fn spread(rows: &[Vec<f64>], count: usize) -> Vec<usize> {
    if rows.len() <= count {
        return (0..rows.len()).collect();
    }
    let scaled = scale(rows);
    let objectives = scaled[0].len();
    let mut chosen: Vec<usize> = Vec::with_capacity(count);
    let mut distance = vec![f64::INFINITY; rows.len()];
    let choose = |row: usize, chosen: &mut Vec<usize>, distance: &mut [f64]| {
        if chosen.contains(&row) || chosen.len() == count {
            return;
        }
        chosen.push(row);
        for (each, scaled_row) in distance.iter_mut().zip(&scaled) {
            let apart: f64 = scaled_row
                .iter()
                .zip(&scaled[row])
                .map(|(a, b)| (a - b) * (a - b))
                .sum();
            *each = each.min(apart);
        }
    };
    for objective in 0..objectives {
        let best = (0..rows.len())
            .min_by(|&a, &b| scaled[a][objective].total_cmp(&scaled[b][objective]))
            .unwrap_or(0);
        choose(best, &mut chosen, &mut distance);
    }
    while chosen.len() < count {
        let mut farthest = 0;
        for row in 0..rows.len() {
            if distance[row] > distance[farthest] {
                farthest = row;
            }
        }
        if distance[farthest] <= 0.0 {
            break;
        }
        choose(farthest, &mut chosen, &mut distance);
    }
    chosen.sort_unstable();
    chosen
}

/// The row that gives away least of every objective at once: nearest to the best of each, objectives scaled to their
/// range over the rows. `None` where there is no row; ties go to the lower index.
///
/// Compromise solution with the Euclidean distance (Zeleny, Multiple criteria decision making, 1973; from memory).
pub fn knee(rows: &[Vec<f64>]) -> Option<usize> {
    let apart = |row: &Vec<f64>| row.iter().map(|x| x * x).sum::<f64>();
    let far: Vec<f64> = scale(rows).iter().map(apart).collect();
    (0..rows.len()).min_by(|&a, &b| far[a].total_cmp(&far[b]))
}

/// Every objective scaled to 0..1 over the rows; 0 where it does not vary.
fn scale(rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let objectives = rows.first().map_or(0, Vec::len);
    let bounds: Vec<(f64, f64)> = (0..objectives)
        .map(|objective| {
            rows.iter()
                .map(|row| row[objective])
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                    (low.min(value), high.max(value))
                })
        })
        .collect();
    rows.iter()
        .map(|row| {
            row.iter()
                .zip(&bounds)
                .map(|(value, (low, high))| {
                    if high > low {
                        (value - low) / (high - low)
                    } else {
                        0.0
                    }
                })
                .collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_knee_gives_away_least_of_both() {
        // A quarter circle of radius 1 about (1, 1) in objectives from 0 to 1: its knee lies on the diagonal, at
        // 1 - cos 45 degrees from either axis.
        let arc: Vec<Vec<f64>> = (0..=90)
            .map(|degrees| f64::from(degrees).to_radians())
            .map(|angle| vec![5.0 * (1.0 - angle.cos()), 300.0 * (1.0 - angle.sin())])
            .collect();
        assert_eq!(knee(&arc), Some(45));
        assert_eq!(knee(&[]), None);
        assert_eq!(knee(&[vec![2.0, 3.0]]), Some(0));
    }

    #[test]
    fn spread_takes_ends_and_covers_the_middle() {
        let rows: Vec<Vec<f64>> = (0..=100)
            .map(|k| {
                let x = f64::from(k) / 100.0;
                vec![x, (1.0 - x) * (1.0 - x)]
            })
            .collect();
        let chosen = spread(&rows, 5);
        assert_eq!(chosen.len(), 5);
        assert!(chosen.contains(&0) && chosen.contains(&100));
        assert!(chosen.windows(2).all(|pair| pair[1] - pair[0] < 45));
        assert_eq!(spread(&rows, 500).len(), 101);
    }

    #[test]
    fn equal_rows_are_not_chosen_twice() {
        let rows = vec![vec![1.0, 2.0]; 10];
        assert_eq!(spread(&rows, 4), vec![0]);
    }

    #[test]
    fn only_rows_better_somewhere_and_worse_nowhere_beat() {
        let rows = vec![vec![1.0, 1.0], vec![0.5, 1.0], vec![0.5, 2.0]];
        assert_eq!(beats(&rows, &[1.0, 1.0]), vec![1]);
    }
}
