//! Every design that no other beats: an unbounded archive of non-dominated points with fast insertion.

use std::collections::BTreeMap;

/// Non-dominated points, all objectives to be made least. Of equal points the first stays.
#[derive(Clone, Debug)]
pub(crate) enum Archive {
    /// Two objectives: sorted by the first, so by falling second; an insertion takes the logarithm of the size.
    Sorted(BTreeMap<u64, (f64, usize)>),
    /// One, three or four objectives.
    Leaves(Leaves),
}

/// Objectives, filled up with zeros.
type Point = [f64; 4];

/// Points in leaves with bounding boxes, so that most leaves are passed over at a glance.
///
/// Source: the idea of the ND-tree, Jaszkiewicz and Lust, IEEE Trans. Evol. Comput. 22(5), 2018, here with one
/// level only.
#[derive(Clone, Debug, Default)]
pub(crate) struct Leaves {
    leaves: Vec<Leaf>,
    /// Around all points that ever entered.
    bounds: Option<(Point, Point)>,
}

#[derive(Clone, Debug)]
struct Leaf {
    low: Point,
    high: Point,
    points: Vec<(Point, usize)>,
}

/// Points a leaf holds before it is split.
const LEAF: usize = 32;

impl Archive {
    /// For up to four objectives.
    pub(crate) fn new(objectives: usize) -> Self {
        if objectives == 2 {
            Self::Sorted(BTreeMap::new())
        } else {
            Self::Leaves(Leaves::default())
        }
    }

    /// Takes a point in unless another is at least as good in all; points that it dominates leave. Returns whether it
    /// came in.
    pub(crate) fn insert(&mut self, point: &[f64], design: usize) -> bool {
        match self {
            Self::Sorted(points) => insert_sorted(points, point[0], point[1], design),
            Self::Leaves(leaves) => {
                let mut padded = [0.0; 4];
                padded[..point.len()].copy_from_slice(point);
                leaves.insert(padded, design)
            }
        }
    }

    /// Whether some point is at least as good in all.
    pub(crate) fn beats(&self, point: &[f64]) -> bool {
        match self {
            Self::Sorted(points) => points
                .range(..=sortable(point[0]))
                .next_back()
                .is_some_and(|(_, &(other, _))| other <= point[1]),
            Self::Leaves(leaves) => {
                let mut padded = [0.0; 4];
                padded[..point.len()].copy_from_slice(point);
                let beaten = |leaf: &Leaf| {
                    at_most(&leaf.low, &padded)
                        && leaf.points.iter().any(|other| at_most(&other.0, &padded))
                };
                leaves.leaves.iter().any(beaten)
            }
        }
    }

    /// Whether a design with this point is among the points.
    pub(crate) fn holds(&self, point: &[f64], design: usize) -> bool {
        match self {
            Self::Sorted(points) => points
                .get(&sortable(point[0]))
                .is_some_and(|held| held.1 == design),
            Self::Leaves(leaves) => {
                let mut all = leaves.leaves.iter().flat_map(|leaf| &leaf.points);
                all.any(|held| held.1 == design)
            }
        }
    }

    pub(crate) fn len(&self) -> usize {
        match self {
            Self::Sorted(points) => points.len(),
            Self::Leaves(leaves) => leaves.leaves.iter().map(|leaf| leaf.points.len()).sum(),
        }
    }

    /// Designs on the front; two objectives: sorted by the first.
    pub(crate) fn designs(&self) -> Vec<usize> {
        match self {
            Self::Sorted(points) => points.values().map(|point| point.1).collect(),
            Self::Leaves(leaves) => leaves
                .leaves
                .iter()
                .flat_map(|leaf| leaf.points.iter().map(|point| point.1))
                .collect(),
        }
    }
}

impl Archive {
    /// Objectives of all points, flat, in the order of [`Self::designs`].
    pub(crate) fn points(&self, objectives: usize) -> Vec<f64> {
        match self {
            Self::Sorted(points) => points
                .iter()
                .flat_map(|(&key, &(second, _))| [unsorted(key), second])
                .collect(),
            Self::Leaves(leaves) => leaves
                .leaves
                .iter()
                .flat_map(|leaf| &leaf.points)
                .flat_map(|(point, _)| &point[..objectives])
                .copied()
                .collect(),
        }
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

/// The finite number that a whole number of [`sortable`] stands for.
fn unsorted(key: u64) -> f64 {
    f64::from_bits(if key >> 63 == 1 { key ^ 1 << 63 } else { !key })
}

/// Whether no number of `a` is above that of `b`.
fn at_most(a: &Point, b: &Point) -> bool {
    (a[0] <= b[0]) & (a[1] <= b[1]) & (a[2] <= b[2]) & (a[3] <= b[3])
}

fn zip(a: Point, b: Point, pick: fn(f64, f64) -> f64) -> Point {
    [0, 1, 2, 3].map(|k| pick(a[k], b[k]))
}

impl Leaves {
    fn insert(&mut self, point: Point, design: usize) -> bool {
        for k in 0..self.leaves.len() {
            let leaf = &self.leaves[k];
            if at_most(&leaf.low, &point)
                && leaf.points.iter().any(|other| at_most(&other.0, &point))
            {
                // What has just beaten one point often beats the next.
                self.leaves.swap(k, k / 2);
                return false;
            }
        }
        let (low, high) = self.bounds.unwrap_or((point, point));
        let (low, high) = (zip(low, point, f64::min), zip(high, point, f64::max));
        self.bounds = Some((low, high));
        let weight = zip(
            high,
            low,
            |high, low| if high > low { 1.0 / (high - low) } else { 0.0 },
        );
        let (mut nearest, mut least, mut emptied) = (None, f64::INFINITY, false);
        for (k, leaf) in self.leaves.iter_mut().enumerate() {
            if at_most(&point, &leaf.high) {
                leaf.points.retain(|other| !at_most(&point, &other.0));
                emptied |= leaf.points.is_empty();
            }
            let outside = leaf.outside(&point, &weight);
            if outside < least {
                (nearest, least) = (Some(k), outside);
            }
        }
        match nearest {
            Some(nearest) => {
                self.leaves[nearest].push(point, design);
                if self.leaves[nearest].points.len() > LEAF {
                    let other = self.leaves[nearest].split(&weight);
                    self.leaves.push(other);
                }
            }
            None => self.leaves.push(Leaf {
                low: point,
                high: point,
                points: vec![(point, design)],
            }),
        }
        if emptied {
            self.leaves.retain(|leaf| !leaf.points.is_empty());
        }
        true
    }
}

impl Leaf {
    fn push(&mut self, point: Point, design: usize) {
        self.low = zip(self.low, point, f64::min);
        self.high = zip(self.high, point, f64::max);
        self.points.push((point, design));
    }

    /// Weighted distance of a point from the box.
    fn outside(&self, point: &Point, weight: &Point) -> f64 {
        let beyond = |k: usize| {
            (self.low[k] - point[k])
                .max(point[k] - self.high[k])
                .max(0.0)
                * weight[k]
        };
        beyond(0) + beyond(1) + beyond(2) + beyond(3)
    }

    /// Halves the leaf across its widest side and returns the upper half.
    fn split(&mut self, weight: &Point) -> Self {
        let width = |k: usize| (self.high[k] - self.low[k]) * weight[k];
        let widest = (1..4).fold(
            0,
            |widest, k| if width(k) > width(widest) { k } else { widest },
        );
        self.points
            .sort_by(|a, b| a.0[widest].total_cmp(&b.0[widest]));
        let upper = Self::around(self.points.split_off(self.points.len() / 2));
        *self = Self::around(std::mem::take(&mut self.points));
        upper
    }

    fn around(points: Vec<(Point, usize)>) -> Self {
        let bound = |pick: fn(f64, f64) -> f64| {
            points
                .iter()
                .map(|point| point.0)
                .reduce(|a, b| zip(a, b, pick))
        };
        let (low, high) = (
            bound(f64::min).unwrap_or_default(),
            bound(f64::max).unwrap_or_default(),
        );
        Self { low, high, points }
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
            let came_in = archive.insert(&point, design);
            assert_eq!(came_in, archive.designs().contains(&design));
            points.push(point);
        }
        let beaten = |k: usize| {
            let equal_earlier = |j: usize| points[j] == points[k] && j < k;
            (0..points.len()).any(|j| {
                equal_earlier(j)
                    || points[j] != points[k]
                        && points[j].iter().zip(&points[k]).all(|(a, b)| a <= b)
            })
        };
        let expected: Vec<usize> = (0..points.len()).filter(|&k| !beaten(k)).collect();
        let mut designs = archive.designs();
        let flat: Vec<f64> = designs.iter().flat_map(|&k| points[k].clone()).collect();
        assert_eq!(archive.points(objectives), flat);
        designs.sort_unstable();
        assert_eq!(designs, expected);
        assert_eq!(archive.len(), expected.len());
        assert!(objectives == 1 || expected.len() > 5);
    }

    #[test]
    fn holds_exactly_the_non_dominated() {
        for levels in [30.0, 1e6] {
            (1..=4).for_each(|objectives| check(objectives, levels));
        }
    }
}
