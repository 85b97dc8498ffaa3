//! Hypervolume: how much of objective space a front dominates, up to a reference point.

/// Hypervolume of points, in the product of the objectives' units; exact.
///
/// The measure of all that is at least as bad as some point and better than `reference` in every objective, all
/// objectives to be made least. `points` is flat, one objective after another, in any order, dominated ones
/// included; points that are not better than the reference in every objective do not count. Two objectives take
/// n log n steps, three n log n to n², more objectives grow fast with their number.
///
/// Source: Zitzler and Thiele, IEEE Trans. Evol. Comput. 3(4), 1999 (measure); Beume, Fonseca and others, IEEE
/// Trans. Evol. Comput. 13(5), 2009 (sweep in three dimensions); While, Bradstreet and Barone, IEEE Trans. Evol.
/// Comput. 16(1), 2012 (more dimensions).
pub fn hypervolume(points: &[f64], reference: &[f64]) -> f64 {
    let width = reference.len();
    if width == 0 {
        return 0.0;
    }
    let inside = |point: &&[f64]| point.iter().zip(reference).all(|(p, r)| p < r);
    let inside: Vec<&[f64]> = points.chunks_exact(width).filter(inside).collect();
    match width {
        1 => inside
            .iter()
            .fold(0.0, |most, point| (reference[0] - point[0]).max(most)),
        2 => area(inside, reference),
        3 => volume(inside, reference),
        _ => {
            let mut inside: Vec<Vec<f64>> = inside.into_iter().map(<[f64]>::to_vec).collect();
            inside.sort_by(|a, b| b[width - 1].total_cmp(&a[width - 1]));
            measure(&inside, reference)
        }
    }
}

fn area(mut points: Vec<&[f64]>, reference: &[f64]) -> f64 {
    points.sort_unstable_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let (mut total, mut level) = (0.0, reference[1]);
    for point in points {
        if point[1] < level {
            total += (reference[0] - point[0]) * (level - point[1]);
            level = point[1];
        }
    }
    total
}

/// Sweeps along the third objective and keeps the staircase of the first two.
fn volume(mut points: Vec<&[f64]>, reference: &[f64]) -> f64 {
    points.sort_unstable_by(|a, b| a[2].total_cmp(&b[2]));
    // First objective rises, second falls; a sentinel at each end.
    let mut stairs: Vec<(f64, f64)> = vec![
        (f64::NEG_INFINITY, reference[1]),
        (reference[0], f64::NEG_INFINITY),
    ];
    let (mut total, mut area, mut height) = (0.0, 0.0, f64::NAN);
    for point in points {
        let (x, y, z) = (point[0], point[1], point[2]);
        let after = stairs.partition_point(|stair| stair.0 <= x);
        if stairs[after - 1].1 <= y {
            continue;
        }
        if area > 0.0 {
            total += area * (z - height);
        }
        height = z;
        let mut end = after;
        let (mut from, mut level) = (x, stairs[after - 1].1);
        while stairs[end].1 >= y {
            area += (stairs[end].0 - from) * (level - y);
            (from, level) = stairs[end];
            end += 1;
        }
        area += (stairs[end].0 - from) * (level - y);
        // A stair at the same first objective is beaten as well; the sentinel never is.
        let start = if stairs[after - 1].0 == x {
            after - 1
        } else {
            after
        };
        stairs.splice(start..end, [(x, y)]);
    }
    if area > 0.0 {
        total + area * (reference[2] - height)
    } else {
        0.0
    }
}

/// Sum of what each point adds to those after it.
fn measure(points: &[Vec<f64>], reference: &[f64]) -> f64 {
    let boxed = |point: &[f64]| {
        point
            .iter()
            .zip(reference)
            .map(|(p, r)| r - p)
            .product::<f64>()
    };
    let mut total = 0.0;
    for (k, point) in points.iter().enumerate() {
        let mut clipped: Vec<Vec<f64>> = Vec::new();
        for other in &points[k + 1..] {
            let clip: Vec<f64> = other.iter().zip(point).map(|(a, b)| a.max(*b)).collect();
            let beats = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| a <= b);
            if !clipped.iter().any(|c| beats(c, &clip)) {
                clipped.retain(|c| !beats(&clip, c));
                clipped.push(clip);
            }
        }
        total += boxed(point) - measure(&clipped, reference);
    }
    total
}

/// Share of a box that a front dominates, by 4,096 points of the Sobol sequence: an estimate, exact only in the
/// limit (error of the order of 0.5 % of the box, common experience).
pub(crate) fn sampled_share(points: &[f64], low: &[f64], high: &[f64]) -> f64 {
    const SAMPLES: u64 = 4_096;
    let width = low.len();
    let sobol = super::samplers::sobol::Sobol::plain(width);
    let mut sample = vec![0.0; width];
    let mut hits = 0;
    for k in 0..SAMPLES {
        for (axis, s) in sample.iter_mut().enumerate() {
            *s = low[axis] + (high[axis] - low[axis]) * sobol.at(k, axis);
        }
        hits += u64::from(
            points
                .chunks_exact(width)
                .any(|point| point.iter().zip(&sample).all(|(p, s)| p <= s)),
        );
    }
    hits as f64 / SAMPLES as f64
}

#[cfg(test)]
mod tests {
    use super::super::random::Random;
    use super::*;

    /// By adding and subtracting the boxes of all subsets.
    fn inclusion_exclusion(points: &[f64], reference: &[f64]) -> f64 {
        let width = reference.len();
        let count = points.len() / width;
        (1_u32..1 << count)
            .map(|subset| {
                let corner = |axis: usize| {
                    let members = (0..count).filter(|k| subset >> k & 1 == 1);
                    members
                        .map(|k| points[k * width + axis])
                        .fold(f64::NEG_INFINITY, f64::max)
                };
                let boxed: f64 = (0..width)
                    .map(|axis| (reference[axis] - corner(axis)).max(0.0))
                    .product();
                if subset.count_ones() % 2 == 1 {
                    boxed
                } else {
                    -boxed
                }
            })
            .sum()
    }

    #[test]
    fn agrees_with_inclusion_and_exclusion() {
        let mut random = Random::new(3);
        for width in 1..=5 {
            for round in 0..40 {
                // Coarse values in every second round, for ties.
                let grain = if round % 2 == 0 { 4.0 } else { 1e9 };
                let points: Vec<f64> = (0..8 * width)
                    .map(|_| (random.unit() * 1.2 * grain).round() / grain)
                    .collect();
                let reference = vec![1.1; width];
                let (found, expected) = (
                    hypervolume(&points, &reference),
                    inclusion_exclusion(&points, &reference),
                );
                assert!(
                    (found - expected).abs() < 1e-11,
                    "{width} objectives: {found} for {expected}"
                );
            }
        }
    }

    #[test]
    fn no_point_dominates_nothing() {
        for width in 0..5 {
            assert_eq!(hypervolume(&[], &vec![1.0; width]), 0.0);
        }
        assert_eq!(hypervolume(&[2.0, 0.0, f64::NAN, 0.0], &[1.0, 1.0]), 0.0);
    }

    #[test]
    fn sampling_comes_close() {
        let mut random = Random::new(5);
        let points: Vec<f64> = (0..30 * 4).map(|_| random.unit()).collect();
        let exact = hypervolume(&points, &[1.0; 4]);
        assert!((sampled_share(&points, &[0.0; 4], &[1.0; 4]) - exact).abs() < 0.01);
    }
}
