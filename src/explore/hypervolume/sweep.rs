//! Hypervolume in two and three dimensions, by sweeps.

use super::ranks::Ranks;

/// Area that points dominate; all are better than the reference.
pub(super) fn area(mut points: Vec<[f64; 2]>, reference: [f64; 2]) -> f64 {
    points.sort_unstable_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let (mut total, mut level) = (0.0, reference[1]);
    for [x, y] in points {
        if y < level {
            total += (reference[0] - x) * (level - y);
            level = y;
        }
    }
    total
}

/// Volume that points dominate; all are better than the reference.
///
/// Sweeps along the third objective and keeps the staircase of the first two: n log n steps.
pub(super) fn volume(mut points: Vec<[f64; 3]>, reference: [f64; 3]) -> f64 {
    points.sort_unstable_by(|a, b| a[2].total_cmp(&b[2]));
    let mut order: Vec<(f64, f64, usize)> = points
        .iter()
        .enumerate()
        .map(|(k, point)| (point[0], point[1], k))
        .collect();
    order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut ranks = vec![0; points.len()];
    for (rank, (_, _, point)) in order.iter().enumerate() {
        ranks[*point] = rank;
    }
    // Steps of the staircase by rank: the first objective rises, the second falls.
    let mut stairs = Ranks::new(points.len());
    let (mut total, mut area, mut height) =
        (0.0, 0.0, points.first().map_or(0.0, |first| first[2]));
    for (&[x, y, z], &rank) in points.iter().zip(&ranks) {
        let mut level = stairs
            .before(rank)
            .map_or(reference[1], |before| order[before].1);
        if level <= y {
            continue;
        }
        total += area * (z - height);
        height = z;
        let mut from = x;
        loop {
            let next = stairs.after(rank);
            let (to, below) = next.map_or((reference[0], f64::NEG_INFINITY), |next| {
                (order[next].0, order[next].1)
            });
            area += (to - from) * (level - y);
            match next {
                Some(next) if below >= y => {
                    (from, level) = (to, below);
                    stairs.remove(next);
                }
                _ => break,
            }
        }
        stairs.insert(rank);
    }
    total + area * (reference[2] - height)
}
