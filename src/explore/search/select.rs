//! Who survives: feasible before infeasible, then by rank, then by what a design adds to the front.

use super::super::ledger::Ledger;
use super::exclusive;

/// The population: designs, best rank first.
#[derive(Clone, Debug, Default)]
pub(super) struct Survivors {
    pub(super) designs: Vec<usize>,
    /// Rank of each: its front among the feasible, then by violation.
    pub(super) ranks: Vec<u32>,
}

impl Survivors {
    /// Chooses among the survivors and the designs from `first` on.
    pub(super) fn choose(&mut self, ledger: &Ledger<'_>, first: usize, keep: usize) {
        let pool = self.designs.drain(..).chain(first..ledger.len());
        let (feasible, mut broken): (Vec<usize>, Vec<usize>) =
            pool.partition(|&design| ledger.violation(design) == 0.0);
        self.ranks.clear();
        let mut rank = 0;
        for mut front in fronts(ledger, feasible) {
            let room = keep - self.designs.len();
            if front.len() > room {
                front = thin(ledger, front, room);
            }
            self.ranks.resize(self.ranks.len() + front.len(), rank);
            self.designs.extend(front);
            rank += 1;
            if self.designs.len() == keep {
                return;
            }
        }
        broken.sort_by(|&a, &b| {
            ledger
                .violation(a)
                .total_cmp(&ledger.violation(b))
                .then(a.cmp(&b))
        });
        for design in broken.into_iter().take(keep - self.designs.len()) {
            self.designs.push(design);
            self.ranks.push(rank);
            rank += 1;
        }
    }

    /// The feasible designs of the first rank.
    pub(super) fn front(&self, ledger: &Ledger<'_>) -> &[usize] {
        let first = |k: &usize| self.ranks[*k] == 0 && ledger.violation(self.designs[*k]) == 0.0;
        &self.designs[..(0..self.designs.len()).take_while(first).count()]
    }

    /// Survivors among the designs from `first` on, counted from there.
    pub(super) fn newcomers(&self, first: usize) -> Vec<usize> {
        self.designs
            .iter()
            .filter(|&&design| design >= first)
            .map(|design| design - first)
            .collect()
    }
}

/// Non-dominated fronts of feasible designs, each sorted by objectives; of equal points all but one go further back.
///
/// Source: Zhang, Tian, Cheng and Jin, IEEE Trans. Evol. Comput. 19(2), 2015 (efficient non-dominated sort).
fn fronts(ledger: &Ledger<'_>, mut designs: Vec<usize>) -> Vec<Vec<usize>> {
    let goals = |design: usize| ledger.goals(design);
    let lexical = |&a: &usize, &b: &usize| {
        let differing = goals(a)
            .iter()
            .zip(goals(b))
            .map(|(a, b)| a.total_cmp(b))
            .find(|order| order.is_ne());
        differing.unwrap_or_else(|| a.cmp(&b))
    };
    designs.sort_unstable_by(lexical);
    let two = ledger.objectives() == 2;
    let mut fronts: Vec<Vec<usize>> = Vec::new();
    for design in designs {
        let at_most = |&other: &usize| goals(other).iter().zip(goals(design)).all(|(a, b)| a <= b);
        let beaten = |front: &Vec<usize>| match two {
            // Sorted, so that only the last one counts.
            true => front.last().is_some_and(at_most),
            false => front.iter().rev().any(at_most),
        };
        let front = fronts.partition_point(beaten);
        match fronts.get_mut(front) {
            Some(front) => front.push(design),
            None => fronts.push(vec![design]),
        }
    }
    fronts
}

/// The `keep` designs of a front (sorted by objectives) that cover it best.
fn thin(ledger: &Ledger<'_>, front: Vec<usize>, keep: usize) -> Vec<usize> {
    let kept = match ledger.objectives() {
        1 => (0..keep).collect(),
        2 => thin_two(
            &front
                .iter()
                .map(|&design| [ledger.goals(design)[0], ledger.goals(design)[1]])
                .collect::<Vec<_>>(),
            keep,
        ),
        3 => {
            let point = |&design: &usize| [0, 1, 2].map(|k| ledger.goals(design)[k]);
            exclusive::thin(&front.iter().map(point).collect::<Vec<_>>(), keep)
        }
        _ => thin_by_distance(
            &front
                .iter()
                .map(|&design| ledger.goals(design))
                .collect::<Vec<_>>(),
            keep,
        ),
    };
    kept.into_iter().map(|k| front[k]).collect()
}

/// Takes the point with the least hypervolume of its own out, again and again; the ends stay to the last.
fn thin_two(points: &[[f64; 2]], keep: usize) -> Vec<usize> {
    let mut left: Vec<usize> = (0..points.len()).collect();
    let own = |left: &[usize], k: usize| {
        if k == 0 || k + 1 == left.len() {
            return f64::INFINITY;
        }
        let ([before, here], after) = (
            [left[k - 1], left[k]].map(|k| points[k]),
            points[left[k + 1]],
        );
        (after[0] - here[0]) * (before[1] - here[1])
    };
    let mut areas: Vec<f64> = (0..left.len()).map(|k| own(&left, k)).collect();
    while left.len() > keep {
        let least = (0..left.len()).fold(
            0,
            |least, k| if areas[k] < areas[least] { k } else { least },
        );
        left.remove(least);
        areas.remove(least);
        let beside = [least.wrapping_sub(1), least];
        beside
            .into_iter()
            .filter(|&k| k < left.len())
            .for_each(|k| areas[k] = own(&left, k));
    }
    left
}

/// Takes one of the two nearest points out, again and again, the one that is nearer to a third.
///
/// Source: Zitzler, Laumanns and Thiele, TIK-Report 103, ETH Zurich, 2001 (truncation of the archive).
fn thin_by_distance(points: &[&[f64]], keep: usize) -> Vec<usize> {
    let axes = points[0].len();
    let bound = |k: usize, start: f64, pick: fn(f64, f64) -> f64| {
        points.iter().map(|p| p[k]).fold(start, pick)
    };
    let sizes: Vec<f64> = (0..axes)
        .map(|k| bound(k, f64::NEG_INFINITY, f64::max) - bound(k, f64::INFINITY, f64::min))
        .map(|size| if size > 0.0 { size } else { 1.0 })
        .collect();
    let distance = |a: usize, b: usize| -> f64 {
        let apart = points[a].iter().zip(points[b]).zip(&sizes);
        apart.map(|((a, b), size)| ((a - b) / size).powi(2)).sum()
    };
    let mut left: Vec<usize> = (0..points.len()).collect();
    let two_nearest = |left: &[usize], k: usize| {
        let mut nearest = [f64::INFINITY; 2];
        for &other in left.iter().filter(|&&other| other != k) {
            let distance = distance(k, other);
            if distance < nearest[0] {
                nearest = [distance, nearest[0]];
            } else {
                nearest[1] = nearest[1].min(distance);
            }
        }
        nearest
    };
    let mut nearest: Vec<[f64; 2]> = left.iter().map(|&k| two_nearest(&left, k)).collect();
    while left.len() > keep.max(1) {
        let order = |a: &[f64; 2], b: &[f64; 2]| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]));
        let most_crowded = (0..left.len()).fold(0, |most, k| {
            if order(&nearest[k], &nearest[most]).is_lt() {
                k
            } else {
                most
            }
        });
        let gone = left.remove(most_crowded);
        nearest.remove(most_crowded);
        for k in 0..left.len() {
            if distance(left[k], gone) <= nearest[k][1] {
                nearest[k] = two_nearest(&left, left[k]);
            }
        }
    }
    left.truncate(keep);
    left
}
