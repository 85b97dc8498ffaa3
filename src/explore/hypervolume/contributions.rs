//! What each point alone adds to a hypervolume.

use super::layer::Layer;
use super::{arrays, hypervolume};

/// What the hypervolume would lose without each point, in order of the points; 0 for one that another dominates or
/// equals, or that is not better than the reference in every objective.
///
/// `points` is flat, one objective after another, in any order; all objectives are to be made least. Two objectives
/// take n log n steps, three n² short ones, more objectives one small hypervolume a point.
///
/// Source: Guerreiro and Fonseca, IEEE Trans. Evol. Comput. 22(3), 2018 (three dimensions); Bradstreet, While and
/// Barone, IEEE CEC 2008 (others clipped to the point's own box; from memory).
pub fn contributions(points: &[f64], reference: &[f64]) -> Vec<f64> {
    let width = reference.len();
    if width == 0 {
        return Vec::new();
    }
    let better = |point: &[f64]| point.iter().zip(reference).all(|(p, r)| p < r);
    let inside: Vec<usize> = points
        .chunks_exact(width)
        .enumerate()
        .filter(|(_, point)| better(point))
        .map(|(k, _)| k)
        .collect();
    let flat: Vec<f64> = inside
        .iter()
        .flat_map(|&k| &points[k * width..(k + 1) * width])
        .copied()
        .collect();
    let each = match *reference {
        [a, b] => of_two(&arrays(&flat), [a, b]),
        [a, b, c] => of_three(&arrays(&flat), [a, b, c]),
        _ => of_many(&flat, reference),
    };
    let mut contributions = vec![0.0; points.len() / width];
    for (k, each) in inside.into_iter().zip(each) {
        contributions[k] = each;
    }
    contributions
}

/// In order of the first objective, a point of the front has the rectangle up to its neighbours, less what points
/// that it alone dominates have of it.
fn of_two(points: &[[f64; 2]], reference: [f64; 2]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_unstable_by(|&a, &b| {
        let (a, b) = (points[a], points[b]);
        a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
    });
    let mut contributions = vec![0.0; points.len()];
    let lone = |k: usize, start: usize, above: f64| -> (f64, usize) {
        let [left, bottom] = points[order[k]];
        let (mut area, mut from, mut level) = (0.0, left, above);
        for next in start..order.len() {
            let [x, y] = points[order[next]];
            if y < bottom {
                return (area + (x - from) * (level - bottom), next);
            }
            if y < level {
                area += (x - from) * (level - bottom);
                (from, level) = (x, y);
            }
        }
        (area + (reference[0] - from) * (level - bottom), order.len())
    };
    let (mut k, mut above) = (0, reference[1]);
    while k < order.len() {
        let (area, next) = lone(k, k + 1, above);
        contributions[order[k]] = area;
        above = points[order[k]][1];
        k = next;
    }
    contributions
}

fn of_three(points: &[[f64; 3]], reference: [f64; 3]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_unstable_by(|&a, &b| points[a][2].total_cmp(&points[b][2]).then(a.cmp(&b)));
    let mut layer = Layer::sorted(order.iter().map(|&k| points[k]));
    let mut contributions = vec![0.0; points.len()];
    for (index, &k) in order.iter().enumerate() {
        contributions[k] = layer.own(index, reference);
    }
    contributions
}

/// The box of a point less what the others, clipped to it, dominate of it.
fn of_many(points: &[f64], reference: &[f64]) -> Vec<f64> {
    let width = reference.len();
    let count = points.len() / width;
    let mut clipped = Vec::with_capacity(points.len());
    let own = |k: usize| {
        let point = &points[k * width..(k + 1) * width];
        clipped.clear();
        for other in (0..count).filter(|&other| other != k) {
            let other = &points[other * width..(other + 1) * width];
            clipped.extend(other.iter().zip(point).map(|(a, b)| a.max(*b)));
        }
        let whole: f64 = reference.iter().zip(point).map(|(r, p)| r - p).product();
        whole - hypervolume(&clipped, reference)
    };
    (0..count).map(own).map(|own| own.max(0.0)).collect()
}
