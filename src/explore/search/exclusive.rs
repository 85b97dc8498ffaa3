//! Thinning a front of three objectives by what each point alone adds to the hypervolume.

/// Points that are left of a front when the least contributor has been taken out again and again, in any order.
///
/// `points` are mutually non-dominated and different. A contribution never falls when another point leaves, so an
/// old figure is a lower bound; only the least is brought up to date, and leaves if it is still the least.
pub(super) fn thin(points: &[[f64; 3]], keep: usize) -> Vec<usize> {
    let reference = reference(points);
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_unstable_by(|&a, &b| points[a][2].total_cmp(&points[b][2]).then(a.cmp(&b)));
    let mut sorted: Vec<[f64; 3]> = order.iter().map(|&k| points[k]).collect();
    let mut corners = Vec::new();
    let mut bounds: Vec<f64> = (0..sorted.len())
        .map(|k| contribution(&sorted, k, &reference, &mut corners))
        .collect();
    while sorted.len() > keep {
        let mut least = index_of_least(&bounds);
        loop {
            bounds[least] = contribution(&sorted, least, &reference, &mut corners);
            let next = index_of_least(&bounds);
            if next == least {
                break;
            }
            least = next;
        }
        sorted.remove(least);
        bounds.remove(least);
        order.remove(least);
    }
    order
}

/// One box size beyond the worst, so that the ends of the front weigh enough to stay.
fn reference(points: &[[f64; 3]]) -> [f64; 3] {
    [0, 1, 2].map(|k| {
        let low = points.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min);
        let high = points
            .iter()
            .map(|p| p[k])
            .fold(f64::NEG_INFINITY, f64::max);
        high + if high > low { high - low } else { 1.0 }
    })
}

fn index_of_least(bounds: &[f64]) -> usize {
    let mut least = 0;
    for (k, bound) in bounds.iter().enumerate() {
        if *bound < bounds[least] {
            least = k;
        }
    }
    least
}

/// Volume that only point `k` dominates; `points` sorted by their third objective.
///
/// Above the point's own height its free area can only shrink: every later point is better in the first objective,
/// the second or both, and so cuts the area from the right, from above, or to nothing.
fn contribution(
    points: &[[f64; 3]],
    k: usize,
    reference: &[f64; 3],
    corners: &mut Vec<(f64, f64)>,
) -> f64 {
    let [x, y, z] = points[k];
    let (mut right, mut top) = (reference[0], reference[1]);
    for &[other_x, other_y, _] in &points[..k] {
        match (other_x > x, other_y > y) {
            (true, true) => {}
            (true, false) => right = right.min(other_x),
            (false, true) => top = top.min(other_y),
            (false, false) => return 0.0,
        }
    }
    corners.clear();
    for &[other_x, other_y, _] in &points[..k] {
        if other_x > x && other_x < right && other_y > y && other_y < top {
            corners.push((other_x, other_y));
        }
    }
    corners.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut level = f64::INFINITY;
    corners.retain(|corner| {
        let lower = corner.1 < level;
        level = level.min(corner.1);
        lower
    });
    let (mut volume, mut height, mut area) = (0.0, z, free_area(x, y, right, top, corners));
    for &[other_x, other_y, other_z] in &points[k + 1..] {
        let cuts_right = other_y <= y && other_x < right;
        let cuts_top = other_x <= x && other_y < top;
        if cuts_right || cuts_top {
            volume += area * (other_z - height);
            height = other_z;
            if other_x <= x && other_y <= y {
                return volume;
            }
            if cuts_right {
                right = other_x;
            } else {
                top = other_y;
            }
            area = free_area(x, y, right, top, corners);
        }
    }
    volume + area * (reference[2] - height)
}

/// Area from (x, y) to (right, top) without what lies above and right of any corner.
fn free_area(x: f64, y: f64, right: f64, top: f64, corners: &[(f64, f64)]) -> f64 {
    let (mut area, mut from, mut level) = (0.0, x, top);
    for &(corner_x, corner_y) in corners {
        if corner_x >= right {
            break;
        }
        if corner_y < level {
            area += (corner_x - from) * (level - y);
            (from, level) = (corner_x, corner_y);
        }
    }
    area + (right - from) * (level - y)
}

#[cfg(test)]
mod tests {
    use super::super::super::hypervolume;
    use super::super::super::random::Random;
    use super::*;

    fn front(count: usize, seed: u64) -> Vec<[f64; 3]> {
        let mut random = Random::new(seed);
        let point = |_| {
            let p: [f64; 3] = [0, 1, 2].map(|_| random.unit() + 1e-3);
            let length = p.iter().map(|p| p * p).sum::<f64>().sqrt();
            p.map(|p| p / length)
        };
        (0..count).map(point).collect()
    }

    #[test]
    fn contributions_are_differences_of_hypervolumes() {
        let mut points = front(40, 9);
        points.sort_by(|a, b| a[2].total_cmp(&b[2]));
        let reference = reference(&points);
        let whole = hypervolume(points.as_flattened(), &reference);
        for k in 0..points.len() {
            let mut others = points.clone();
            others.remove(k);
            let expected = whole - hypervolume(others.as_flattened(), &reference);
            let found = contribution(&points, k, &reference, &mut Vec::new());
            assert!((found - expected).abs() < 1e-12, "{found} for {expected}");
        }
    }

    /// As if every contribution were computed anew for every removal.
    #[test]
    fn thinning_takes_out_the_least_each_time() {
        let points = front(60, 4);
        let mut left = thin(&points, 30);
        left.sort_unstable();
        let reference = reference(&points);
        let mut expected: Vec<usize> = (0..points.len()).collect();
        while expected.len() > 30 {
            let without = |k: usize| {
                let rest: Vec<f64> = expected
                    .iter()
                    .filter(|&&j| j != k)
                    .flat_map(|&j| points[j])
                    .collect();
                hypervolume(&rest, &reference)
            };
            let least = *expected
                .iter()
                .max_by(|&&a, &&b| without(a).total_cmp(&without(b)))
                .unwrap();
            expected.retain(|&k| k != least);
        }
        assert_eq!(left, expected);
    }
}
