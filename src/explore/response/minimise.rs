//! The least value of a smooth function, from its gradient.

use super::basis::dot;

/// Value and gradient.
pub(super) type Look = (f64, Vec<f64>);

/// Longest step, in any coordinate.
const LONGEST: f64 = 2.0;
/// A gain below this, twice in a row, ends the walk.
const GAIN: f64 = 1e-4;
/// Share of the expected gain that a step must bring.
const ENOUGH: f64 = 1e-4;

/// A place of least value near the start, and the value there.
///
/// `f` gives value and gradient, or nothing where it has no value. Quasi-Newton steps with the inverse curvature
/// learnt on the way (BFGS) and halving of steps that gain too little; `most` evaluations at the longest.
///
/// Source: Nocedal and Wright, Numerical Optimization, 2006, algorithm 6.1 and equation 6.17 (from memory).
pub(super) fn minimise(
    f: &mut dyn FnMut(&[f64]) -> Option<Look>,
    start: Vec<f64>,
    most: usize,
) -> Option<(Vec<f64>, f64)> {
    let count = start.len();
    let mut x = start;
    let (mut value, mut slope) = f(&x)?;
    let mut inverse = identity(count, 0.2);
    let (mut evaluations, mut stalls, mut fresh) = (1, 0, true);
    while evaluations < most && stalls < 2 {
        let mut step: Vec<f64> = inverse.iter().map(|row| -dot(row, &slope)).collect();
        let longest = step.iter().fold(0.0_f64, |most, each| most.max(each.abs()));
        if longest > LONGEST {
            step.iter_mut().for_each(|each| *each *= LONGEST / longest);
        }
        let expected = dot(&step, &slope);
        if !(expected < -1e-12) {
            break;
        }
        let mut share = 1.0;
        let taken = loop {
            let next: Vec<f64> = x.iter().zip(&step).map(|(x, s)| x + share * s).collect();
            evaluations += 1;
            match f(&next) {
                Some((to, at)) if to <= value + ENOUGH * share * expected => {
                    break Some((next, to, at));
                }
                _ if evaluations >= most || share < 1e-4 => break None,
                _ => share *= 0.4,
            }
        };
        let Some((next, to, at)) = taken else {
            break;
        };
        stalls = if value - to < GAIN { stalls + 1 } else { 0 };
        let moved: Vec<f64> = step.iter().map(|each| share * each).collect();
        let bent: Vec<f64> = at.iter().zip(&slope).map(|(a, b)| a - b).collect();
        if dot(&moved, &bent) > 1e-12 {
            if fresh {
                inverse = identity(count, dot(&moved, &bent) / dot(&bent, &bent));
                fresh = false;
            }
            learn(&mut inverse, &moved, &bent);
        }
        (x, value, slope) = (next, to, at);
    }
    Some((x, value))
}

fn identity(count: usize, size: f64) -> Vec<Vec<f64>> {
    (0..count)
        .map(|row| {
            let mut unit = vec![0.0; count];
            unit[row] = size;
            unit
        })
        .collect()
}

/// H <- (I - s y'/ys) H (I - y s'/ys) + s s'/ys.
fn learn(inverse: &mut [Vec<f64>], moved: &[f64], bent: &[f64]) {
    let product = dot(moved, bent);
    let h: Vec<f64> = inverse.iter().map(|row| dot(row, bent)).collect();
    let factor = (1.0 + dot(&h, bent) / product) / product;
    for (row, a) in inverse.iter_mut().enumerate() {
        for (column, a) in a.iter_mut().enumerate() {
            *a += factor * moved[row] * moved[column]
                - (h[row] * moved[column] + moved[row] * h[column]) / product;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The valley of Rosenbrock, The Computer Journal 3, 1960: least value 0 at (1, 1), from (-1.2, 1).
    #[test]
    fn finds_the_end_of_a_valley() {
        let mut f = |x: &[f64]| {
            let (a, b) = (x[1] - x[0] * x[0], 1.0 - x[0]);
            let slope = vec![-400.0 * x[0] * a - 2.0 * b, 200.0 * a];
            Some((100.0 * a * a + b * b, slope))
        };
        let (x, value) = minimise(&mut f, vec![-1.2, 1.0], 200).unwrap();
        assert!(value < 1e-5, "{value} at {x:?}");
        assert!((x[0] - 1.0).abs() < 0.01 && (x[1] - 1.0).abs() < 0.02);
    }

    #[test]
    fn stays_where_there_are_values() {
        let mut f = |x: &[f64]| (x[0] > 0.0).then(|| (x[0] - x[0].ln(), vec![1.0 - 1.0 / x[0]]));
        let (x, _) = minimise(&mut f, vec![3.0], 100).unwrap();
        assert!((x[0] - 1.0).abs() < 0.02);
        assert!(minimise(&mut f, vec![-1.0], 100).is_none());
    }
}
