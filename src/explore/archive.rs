//! Every design that no other beats: an unbounded archive of non-dominated points with fast insertion.

use std::collections::BTreeMap;

/// Non-dominated points, all objectives to be made least. Of equal points the first stays.
#[derive(Clone, Debug)]
pub(crate) enum Archive {
    /// Two objectives: sorted by the first, so by falling second; an insertion takes the logarithm of the size.
    Sorted(BTreeMap<u64, (f64, usize)>),
    /// Any number of objectives.
    Leaves(Leaves),
}

/// Points in leaves with bounding boxes, so that most leaves are passed over at a glance.
///
/// Source: the idea of the ND-tree, Jaszkiewicz and Lust, IEEE Trans. Evol. Comput. 22(5), 2018, here with one
/// level only.
#[derive(Clone, Debug)]
pub(crate) struct Leaves {
    objectives: usize,
    leaves: Vec<Leaf>,
}

#[derive(Clone, Debug)]
struct Leaf {
    low: Vec<f64>,
    high: Vec<f64>,
    /// Flat, `objectives` numbers a point.
    points: Vec<f64>,
    designs: Vec<usize>,
}

/// Points a leaf holds before it is split.
const LEAF: usize = 32;

impl Archive {
    pub(crate) fn new(objectives: usize) -> Self {
        if objectives == 2 {
            Self::Sorted(BTreeMap::new())
        } else {
            Self::Leaves(Leaves {
                objectives,
                leaves: Vec::new(),
            })
        }
    }

    /// Whether the point entered; points that it dominates have left.
    pub(crate) fn insert(&mut self, point: &[f64], design: usize) -> bool {
        match self {
            Self::Sorted(points) => insert_sorted(points, point[0], point[1], design),
            Self::Leaves(leaves) => leaves.insert(point, design),
        }
    }

    pub(crate) fn len(&self) -> usize {
        match self {
            Self::Sorted(points) => points.len(),
            Self::Leaves(leaves) => leaves.leaves.iter().map(|leaf| leaf.designs.len()).sum(),
        }
    }

    /// Designs on the front, in order of evaluation.
    pub(crate) fn designs(&self) -> Vec<usize> {
        let mut designs: Vec<usize> = match self {
            Self::Sorted(points) => points.values().map(|point| point.1).collect(),
            Self::Leaves(leaves) => leaves
                .leaves
                .iter()
                .flat_map(|leaf| leaf.designs.iter().copied())
                .collect(),
        };
        designs.sort_unstable();
        designs
    }
}

/// A whole number that sorts as the finite number does.
fn sortable(number: f64) -> u64 {
    let bits = (number + 0.0).to_bits();
    if bits >> 63 == 1 {
        !bits
    } else {
        bits | 1 << 63
    }
}

fn insert_sorted(
    points: &mut BTreeMap<u64, (f64, usize)>,
    first: f64,
    second: f64,
    design: usize,
) -> bool {
    let key = sortable(first);
    if points
        .range(..=key)
        .next_back()
        .is_some_and(|(_, &(other, _))| other <= second)
    {
        return false;
    }
    while let Some((&next, _)) = points
        .range(key..)
        .next()
        .filter(|(_, (other, _))| *other >= second)
    {
        points.remove(&next);
    }
    points.insert(key, (second, design));
    true
}

/// Whether no number of `a` is above that of `b`.
fn at_most(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b)
}

impl Leaves {
    fn insert(&mut self, point: &[f64], design: usize) -> bool {
        let width = self.objectives;
        for k in 0..self.leaves.len() {
            let leaf = &self.leaves[k];
            if at_most(&leaf.low, point)
                && leaf
                    .points
                    .chunks_exact(width)
                    .any(|other| at_most(other, point))
            {
                // What has just beaten one point often beats the next.
                self.leaves.swap(k, k / 2);
                return false;
            }
        }
        for leaf in &mut self.leaves {
            if at_most(point, &leaf.high) {
                leaf.remove_dominated(point);
            }
        }
        self.leaves.retain(|leaf| !leaf.designs.is_empty());
        self.place(point, design);
        true
    }

    fn place(&mut self, point: &[f64], design: usize) {
        let outside = |leaf: &Leaf| -> f64 {
            let beyond = |(p, (low, high)): (&f64, (&f64, &f64))| {
                let size = (high - low).max(f64::MIN_POSITIVE);
                ((low - p).max(p - high) / size).max(0.0).min(1e9)
            };
            point
                .iter()
                .zip(leaf.low.iter().zip(&leaf.high))
                .map(beyond)
                .sum()
        };
        let nearest = (0..self.leaves.len())
            .map(|k| (outside(&self.leaves[k]), k))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, nearest)) = nearest else {
            self.leaves.push(Leaf::new(point, design));
            return;
        };
        let leaf = &mut self.leaves[nearest];
        leaf.push(point, design);
        if leaf.designs.len() > LEAF {
            let other = leaf.split();
            self.leaves.push(other);
        }
    }
}

impl Leaf {
    fn new(point: &[f64], design: usize) -> Self {
        Self {
            low: point.to_vec(),
            high: point.to_vec(),
            points: point.to_vec(),
            designs: vec![design],
        }
    }

    fn push(&mut self, point: &[f64], design: usize) {
        for (k, &p) in point.iter().enumerate() {
            self.low[k] = self.low[k].min(p);
            self.high[k] = self.high[k].max(p);
        }
        self.points.extend_from_slice(point);
        self.designs.push(design);
    }

    fn remove_dominated(&mut self, point: &[f64]) {
        let width = point.len();
        let mut k = 0;
        while k < self.designs.len() {
            if at_most(point, &self.points[k * width..(k + 1) * width]) {
                self.designs.swap_remove(k);
                let last = self.designs.len() * width;
                self.points.copy_within(last.., k * width);
                self.points.truncate(last);
            } else {
                k += 1;
            }
        }
    }

    /// Halves the leaf across its relatively widest side and returns the upper half.
    fn split(&mut self) -> Self {
        let width = self.low.len();
        let spread = |k: usize| {
            (self.high[k] - self.low[k]) / (self.high[k].abs() + self.low[k].abs()).max(1e-300)
        };
        let axis = (0..width)
            .max_by(|&a, &b| spread(a).total_cmp(&spread(b)))
            .unwrap_or(0);
        let mut order: Vec<usize> = (0..self.designs.len()).collect();
        order.sort_by(|&a, &b| {
            self.points[a * width + axis].total_cmp(&self.points[b * width + axis])
        });
        let gather = |members: &[usize]| {
            let point = |k: usize| &self.points[k * width..(k + 1) * width];
            let mut leaf = Self::new(point(members[0]), self.designs[members[0]]);
            members[1..]
                .iter()
                .for_each(|&k| leaf.push(point(k), self.designs[k]));
            leaf
        };
        let (lower, upper) = order.split_at(order.len() / 2);
        let (lower, upper) = (gather(lower), gather(upper));
        *self = lower;
        upper
    }
}

#[cfg(test)]
mod tests {
    use super::super::random::Random;
    use super::*;

    /// The archive holds what a comparison of every point with every other leaves.
    fn check(objectives: usize, levels: f64) {
        let mut random = Random::new(7);
        let mut archive = Archive::new(objectives);
        let mut points: Vec<Vec<f64>> = Vec::new();
        for design in 0..1_500 {
            let mut point: Vec<f64> = (0..objectives).map(|_| random.unit()).collect();
            let length = point.iter().map(|p| p.abs()).sum::<f64>() + 0.01 * random.unit();
            point
                .iter_mut()
                .for_each(|p| *p = (*p / length * levels).round() / levels - 0.3);
            archive.insert(&point, design);
            points.push(point);
        }
        let beaten = |k: usize| {
            let equal_earlier = |j: usize| points[j] == points[k] && j < k;
            (0..points.len()).any(|j| {
                equal_earlier(j) || points[j] != points[k] && at_most(&points[j], &points[k])
            })
        };
        let expected: Vec<usize> = (0..points.len()).filter(|&k| !beaten(k)).collect();
        assert_eq!(archive.designs(), expected);
        assert_eq!(archive.len(), expected.len());
        assert!(expected.len() > 5);
    }

    #[test]
    fn holds_exactly_the_non_dominated() {
        for levels in [30.0, 1e6] {
            (2..=4).for_each(|objectives| check(objectives, levels));
        }
    }
}
