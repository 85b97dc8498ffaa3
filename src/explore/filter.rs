//! The points that no other beats, out of very many.

/// Indices of the points that no other beats, rising; of equal points the first.
///
/// `points` is flat, `objectives` numbers a point, all to be made least; points with NaN are left out. Up to four
/// objectives take n log n steps, and one factor log n more in four; more objectives take n steps for every point
/// that is left.
///
/// # Panics
///
/// No objectives.
///
/// Source: Kung, Luccio and Preparata, J. ACM 22(4), 1975 (halves, and what the better half beats of the other).
pub fn front(points: &[f64], objectives: usize) -> Vec<usize> {
    match objectives {
        1 => of::<1>(points),
        2 => of::<2>(points),
        3 => of::<3>(points),
        4 => of::<4>(points),
        _ => one_by_one(points, objectives),
    }
}

/// A point and its index.
#[derive(Clone, Copy, Debug)]
struct Point<const N: usize> {
    at: [f64; N],
    index: usize,
}

/// Fewer points than this are compared one by one.
const FEW: usize = 16;
/// Fewer pairs than this as well.
const FEW_PAIRS: usize = 10_000;
/// Points that are tried on all others first, to be rid of most of them at once.
const KILLERS: usize = 8;

fn of<const N: usize>(points: &[f64]) -> Vec<usize> {
    let mut points: Vec<Point<N>> = points
        .as_chunks::<N>()
        .0
        .iter()
        .enumerate()
        .filter(|(_, at)| !at.iter().any(|each| each.is_nan()))
        // Adding zero turns -0 into 0, so that equal numbers are equal in every comparison.
        .map(|(index, at)| Point {
            at: at.map(|each| each + 0.0),
            index,
        })
        .collect();
    drop_hopeless(&mut points);
    points.sort_unstable_by(|a, b| {
        let differing = (0..N)
            .map(|k| a.at[k].total_cmp(&b.at[k]))
            .find(|order| order.is_ne());
        differing.unwrap_or_else(|| a.index.cmp(&b.index))
    });
    let mut filter = Filter {
        dead: vec![false; points.len()],
        merged: points.clone(),
    };
    // From here on the index is the place in that order.
    let indices: Vec<usize> = points.iter().map(|point| point.index).collect();
    for (place, point) in points.iter_mut().enumerate() {
        point.index = place;
    }
    let left = filter.halve(&mut points);
    let mut front: Vec<usize> = points[..left]
        .iter()
        .map(|point| indices[point.index])
        .collect();
    front.sort_unstable();
    front
}

/// Whether a point is at least as good as another in the objectives from one on.
#[inline(always)]
fn at_most<const N: usize>(a: &[f64; N], b: &[f64; N], from: usize) -> bool {
    let mut all = true;
    for k in from..N {
        all &= a[k] <= b[k];
    }
    all
}

/// Drops what is worse in every objective than one of some well-balanced points.
fn drop_hopeless<const N: usize>(points: &mut Vec<Point<N>>) {
    if points.len() < 64 * KILLERS {
        return;
    }
    let (mut low, mut high) = (points[0].at, points[0].at);
    for point in points.iter() {
        for k in 0..N {
            low[k] = low[k].min(point.at[k]);
            high[k] = high[k].max(point.at[k]);
        }
    }
    let weight = |k: usize| {
        let size = high[k] - low[k];
        if size > 0.0 && size.is_finite() {
            1.0 / size
        } else {
            0.0
        }
    };
    // The first weighs all objectives alike, the others one of them more.
    let mut best = [(f64::INFINITY, 0); KILLERS];
    for killer in 0..=N.min(KILLERS - 1) {
        let mut weights = [0.0; N];
        for (k, each) in weights.iter_mut().enumerate() {
            *each = weight(k) * if k + 1 == killer { 3.0 } else { 1.0 };
        }
        for (k, point) in points.iter().enumerate() {
            let mut sum = 0.0;
            for axis in 0..N {
                sum += weights[axis] * (point.at[axis] - low[axis]);
            }
            if sum < best[killer].0 {
                best[killer] = (sum, k);
            }
        }
    }
    let killers: Vec<[f64; N]> = best
        .iter()
        .filter(|best| best.0.is_finite())
        .map(|best| points[best.1].at)
        .collect();
    let worse = |at: &[f64; N], killer: &[f64; N]| {
        let mut all = true;
        for k in 0..N {
            all &= killer[k] < at[k];
        }
        all
    };
    points.retain(|point| {
        let mut any = false;
        for killer in &killers {
            any |= worse(&point.at, killer);
        }
        !any
    });
}

struct Filter<const N: usize> {
    /// By place in lexical order.
    dead: Vec<bool>,
    merged: Vec<Point<N>>,
}

impl<const N: usize> Filter<N> {
    /// Objective by which lists are sorted: the last but one.
    const KEY: usize = N.saturating_sub(2);

    /// Moves the points that no other beats to the beginning, sorted by the key, and returns their number. Given
    /// in lexical order, so that no point is beaten by a later one.
    fn halve(&mut self, points: &mut [Point<N>]) -> usize {
        if points.len() <= FEW {
            return few(points);
        }
        let middle = points.len() / 2;
        let (lower, upper) = points.split_at_mut(middle);
        let left = self.halve(lower);
        let right = self.halve(upper);
        self.kill(&lower[..left], &upper[..right], 1.min(Self::KEY));
        let mut count = 0;
        let (mut a, mut b) = (lower[..left].iter().peekable(), upper[..right].iter());
        for point in b.by_ref().filter(|point| !self.dead[point.index]) {
            while let Some(first) = a.next_if(|a| a.at[Self::KEY] <= point.at[Self::KEY]) {
                self.merged[count] = *first;
                count += 1;
            }
            self.merged[count] = *point;
            count += 1;
        }
        for first in a {
            self.merged[count] = *first;
            count += 1;
        }
        points[..count].copy_from_slice(&self.merged[..count]);
        count
    }

    /// Marks those of `upper` that one of `lower` is at least as good as in the objectives from `from` on, being so
    /// in all before. Both are sorted by the key.
    fn kill(&mut self, lower: &[Point<N>], upper: &[Point<N>], from: usize) {
        if lower.is_empty() || upper.is_empty() {
            return;
        }
        if from >= Self::KEY {
            return self.sweep(lower, upper);
        }
        if lower.len() * upper.len() <= FEW_PAIRS {
            for point in upper {
                let beaten = lower
                    .iter()
                    .any(|other| at_most(&other.at, &point.at, from));
                self.dead[point.index] |= beaten;
            }
            return;
        }
        let Some(pivot) = pivot(lower, upper, from) else {
            return self.kill(lower, upper, from + 1);
        };
        let part = |points: &[Point<N>], below: bool| -> Vec<Point<N>> {
            let inside = |point: &&Point<N>| (point.at[from] <= pivot) == below;
            points.iter().filter(inside).copied().collect()
        };
        let (lower_low, lower_high) = (part(lower, true), part(lower, false));
        let (upper_low, mut upper_high) = (part(upper, true), part(upper, false));
        self.kill(&lower_low, &upper_low, from);
        self.kill(&lower_low, &upper_high, from + 1);
        upper_high.retain(|point| !self.dead[point.index]);
        self.kill(&lower_high, &upper_high, from);
    }

    /// As [`Self::kill`] where two objectives are left.
    fn sweep(&mut self, lower: &[Point<N>], upper: &[Point<N>]) {
        let mut others = lower.iter().peekable();
        let mut least = f64::INFINITY;
        for point in upper {
            while let Some(other) =
                others.next_if(|other| other.at[Self::KEY] <= point.at[Self::KEY])
            {
                least = least.min(other.at[N - 1]);
            }
            self.dead[point.index] |= least <= point.at[N - 1];
        }
    }
}

/// As [`Filter::halve`] for few points.
fn few<const N: usize>(points: &mut [Point<N>]) -> usize {
    let mut left = 0;
    for k in 0..points.len() {
        let point = points[k];
        if !points[..left]
            .iter()
            .any(|other| at_most(&other.at, &point.at, 0))
        {
            points[left] = point;
            left += 1;
        }
    }
    let key = Filter::<N>::KEY;
    points[..left].sort_unstable_by(|a, b| a.at[key].total_cmp(&b.at[key]));
    left
}

/// A value of an objective that parts the points, some above it; nothing where every one of `lower` is at least as
/// good as every one of `upper`.
fn pivot<const N: usize>(lower: &[Point<N>], upper: &[Point<N>], axis: usize) -> Option<f64> {
    let most = |points: &[Point<N>]| {
        let values = points.iter().map(|point| point.at[axis]);
        values.fold(f64::NEG_INFINITY, f64::max)
    };
    let least = upper
        .iter()
        .map(|point| point.at[axis])
        .fold(f64::INFINITY, f64::min);
    if most(lower) <= least {
        return None;
    }
    const SAMPLE: usize = 31;
    let sample = |points: &[Point<N>]| -> Vec<f64> {
        let step = points.len().div_ceil(SAMPLE);
        points
            .iter()
            .step_by(step)
            .map(|point| point.at[axis])
            .collect()
    };
    let mut sample = [sample(lower), sample(upper)].concat();
    sample.sort_unstable_by(f64::total_cmp);
    let (middle, top) = (sample[sample.len() / 2], most(lower).max(most(upper)));
    if middle < top {
        return Some(middle);
    }
    let below = |points: &[Point<N>]| {
        let values = points.iter().map(|point| point.at[axis]);
        values
            .filter(|value| *value < top)
            .fold(f64::NEG_INFINITY, f64::max)
    };
    Some(below(lower).max(below(upper)))
}

/// For many objectives: in lexical order every point is compared with those left so far.
fn one_by_one(points: &[f64], objectives: usize) -> Vec<usize> {
    let at = |k: usize| &points[k * objectives..(k + 1) * objectives];
    let mut order: Vec<usize> = (0..points.len() / objectives)
        .filter(|&k| !at(k).iter().any(|each| each.is_nan()))
        .collect();
    order.sort_unstable_by(|&a, &b| {
        let pairs = at(a).iter().zip(at(b));
        let differing = pairs
            .map(|(a, b)| (a + 0.0).total_cmp(&(b + 0.0)))
            .find(|order| order.is_ne());
        differing.unwrap_or_else(|| a.cmp(&b))
    });
    let mut front: Vec<usize> = Vec::new();
    for k in order {
        let beats = |&other: &usize| at(other).iter().zip(at(k)).all(|(a, b)| a <= b);
        if !front.iter().any(beats) {
            front.push(k);
        }
    }
    front.sort_unstable();
    front
}
