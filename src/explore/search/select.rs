//! Who survives: feasible before infeasible, then by rank, then by what a design adds to the front.

use super::super::ledger::Ledger;
use super::super::random::Random;
use super::exclusive;
use super::recipe::Recipe;

/// The population: designs, best rank first.
#[derive(Clone, Debug, Default)]
pub(super) struct Survivors {
    pub(super) designs: Vec<usize>,
    /// Rank of each: its front among the feasible, then by violation.
    pub(super) ranks: Vec<u32>,
    /// Members that are best in one objective each; none where none is feasible.
    pub(super) ends: Vec<usize>,
    /// The feasible of the first rank, objectives over their range.
    first: Vec<Member>,
}

/// A front of fewer members has no neighbourhoods.
const LEAST_FRONT: usize = 9;
/// The nearest of so many members drawn at random is taken as a neighbour.
const DRAWN: usize = 8;

impl Survivors {
    /// Chooses among the survivors and the designs from `first` on.
    pub(super) fn choose(&mut self, ledger: &Ledger<'_>, first: usize, recipe: &Recipe) {
        self.first.clear();
        let keep = recipe.population(ledger.len(), ledger.objectives());
        self.select(ledger, first, keep, recipe.by_hypervolume);
        self.look_around(ledger.objectives());
    }

    fn select(&mut self, ledger: &Ledger<'_>, first: usize, keep: usize, by_hypervolume: bool) {
        let pool = self.designs.drain(..).chain(first..ledger.len());
        let (feasible, mut broken): (Vec<usize>, Vec<usize>) =
            pool.partition(|&design| ledger.violation(design) == 0.0);
        self.ranks.clear();
        let mut rank = 0;
        for mut front in fronts(ledger, &feasible) {
            let room = keep - self.designs.len();
            if front.len() > room {
                front = thin(front, ledger.objectives(), room, by_hypervolume);
            }
            self.ranks.resize(self.ranks.len() + front.len(), rank);
            self.designs
                .extend(front.iter().map(|member| member.design));
            if rank == 0 {
                self.first = front;
            }
            rank += 1;
            if self.designs.len() == keep {
                return;
            }
        }
        broken.sort_unstable_by(|&a, &b| {
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
    pub(super) fn front(&self) -> &[usize] {
        &self.designs[..self.first.len()]
    }

    /// Notes the ends of the first rank, and brings its objectives to one range.
    fn look_around(&mut self, objectives: usize) {
        self.ends.clear();
        for axis in 0..objectives {
            let order = |a: &(usize, &Member), b: &(usize, &Member)| {
                a.1.goals[axis].total_cmp(&b.1.goals[axis])
            };
            let members = || self.first.iter().enumerate();
            let (Some(least), Some(most)) = (members().min_by(order), members().max_by(order))
            else {
                return;
            };
            let range = most.1.goals[axis] - least.1.goals[axis];
            let scale = if range > 0.0 { 1.0 / range } else { 0.0 };
            self.ends.push(least.0);
            for member in &mut self.first {
                member.goals[axis] *= scale;
            }
        }
    }

    /// The better of two members drawn at random.
    pub(super) fn tournament(&self, random: &mut Random) -> usize {
        let [a, b] = [0; 2].map(|_| random.below(self.designs.len()));
        if self.ranks[b] < self.ranks[a] { b } else { a }
    }

    /// Whether a member lies on a front that has neighbourhoods: of some members, and of half the population. Where
    /// few are on the front yet, or few there are (a handful of gear trains), the others still have more to tell.
    pub(super) fn has_neighbours(&self, member: usize) -> bool {
        self.first.len() >= LEAST_FRONT.max(self.designs.len() / 2) && member < self.first.len()
    }

    /// A member of the front near another of it.
    pub(super) fn neighbour(&self, member: usize, random: &mut Random) -> usize {
        let here = &self.first[member].goals;
        let (mut nearest, mut least) = (member, f64::INFINITY);
        for _ in 0..DRAWN {
            let other = random.below(self.first.len());
            let apart = self.first[other].goals.iter().zip(here);
            let distance: f64 = apart.map(|(a, b)| (a - b) * (a - b)).sum();
            if distance < least && other != member {
                (nearest, least) = (other, distance);
            }
        }
        nearest
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

/// A feasible design with its objectives, filled up with zeros.
#[derive(Clone, Copy, Debug)]
struct Member {
    goals: [f64; 4],
    design: usize,
}

/// Non-dominated fronts of feasible designs, each sorted by objectives; of equal points all but one go further back.
///
/// Source: Zhang, Tian, Cheng and Jin, IEEE Trans. Evol. Comput. 19(2), 2015 (efficient non-dominated sort).
fn fronts(ledger: &Ledger<'_>, designs: &[usize]) -> Vec<Vec<Member>> {
    let objectives = ledger.objectives();
    let member = |&design: &usize| {
        let mut goals = [0.0; 4];
        goals[..objectives].copy_from_slice(ledger.goals(design));
        Member { goals, design }
    };
    let mut members: Vec<Member> = designs.iter().map(member).collect();
    let lexical = |a: &Member, b: &Member| {
        let differing = a.goals.iter().zip(&b.goals).map(|(a, b)| a.total_cmp(b));
        let first = differing.into_iter().find(|order| order.is_ne());
        first.unwrap_or_else(|| a.design.cmp(&b.design))
    };
    // Survivors come first and sorted, which a merging sort makes use of.
    members.sort_by(lexical);
    let mut fronts: Vec<Vec<Member>> = Vec::new();
    for member in members {
        let at_most = |other: &Member| other.goals.iter().zip(&member.goals).all(|(a, b)| a <= b);
        let beaten = |front: &Vec<Member>| match objectives {
            // Sorted, so that only the last one counts.
            2 => front
                .last()
                .is_some_and(|last| last.goals[1] <= member.goals[1]),
            _ => front.iter().rev().any(at_most),
        };
        let front = fronts.partition_point(beaten);
        match fronts.get_mut(front) {
            Some(front) => front.push(member),
            None => fronts.push(vec![member]),
        }
    }
    fronts
}

/// The `keep` members of a front (sorted by objectives) that cover it best.
fn thin(front: Vec<Member>, objectives: usize, keep: usize, by_hypervolume: bool) -> Vec<Member> {
    let kept = match objectives {
        1 => (0..keep).collect(),
        2 if by_hypervolume => {
            let point = |member: &Member| [member.goals[0], member.goals[1]];
            thin_two(&front.iter().map(point).collect::<Vec<_>>(), keep)
        }
        3 if by_hypervolume => {
            let point = |member: &Member| [member.goals[0], member.goals[1], member.goals[2]];
            exclusive::thin(&front.iter().map(point).collect::<Vec<_>>(), keep)
        }
        _ => {
            let points: Vec<&[f64]> = front.iter().map(|member| &member.goals[..]).collect();
            thin_by_distance(&points, keep)
        }
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
