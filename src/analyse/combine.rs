//! Fronts of several parts put together exactly: every sum of one point of each that no other sum beats.
//!
//! Measures that add up over the parts (mass, cost, time) are given, **smaller is better** in each. The best choices
//! over all parts are the non-dominated points of the Minkowski sum of the parts' fronts.
//!
//! *Why dominated points may go part by part.* Let p and q be sums over the first parts, p no worse than q in every
//! measure. Whatever is added for the remaining parts, r: p + r is no worse than q + r, so whatever q leads to, p leads
//! to something as good. Rounding changes nothing: a rounded sum is a monotone function of its terms (IEEE 754), so
//! p <= q gives fl(p + r) <= fl(q + r) in every step. The values found are therefore those of all sums, worked out in
//! the same order, to the last bit. Limits on totals are no hindrance: whatever meets them leaves them met by what is no
//! worse.
//!
//! Source: Funke, Hespe, Sanders, Storandt and Truschel, Pareto Sums of Pareto Sets: Lower Bounds and Algorithms, 2024
//! (what a sum of fronts is; merging of sorted sums); Sinha and Zoltners, The multiple-choice knapsack problem,
//! Operations Research 27(3), 1979 (from memory: steps in the order of what they cost a unit).

use crate::explore::front;

/// Sums that may be held at a time, at most.
pub const MOST_HELD: usize = 1_000_000;

/// Sums within the limits that are compared, at most, where there are three or more measures: seconds of work.
const MOST_COMPARED: usize = 5_000_000;

/// Sums that are worked out for one front, at most.
const MOST_WORKED_OUT: usize = 1_000_000_000;

/// What a limit is met up to, as a share of it: totals of the same choices may differ in their last digits.
const ROUNDING: f64 = 1e-9;

/// The choices over all parts that no other choice beats.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Combined {
    /// Totals, (n_choices, n_measures) row by row, rising in the first measure; no two equal.
    pub totals: Vec<f64>,
    /// Which point of each front a choice takes, (n_choices, n_fronts) row by row; of choices with equal totals one.
    pub choices: Vec<usize>,
    measures: usize,
    fronts: usize,
}

impl Combined {
    /// Number of choices.
    pub fn len(&self) -> usize {
        self.totals.len() / self.measures.max(1)
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.totals.is_empty()
    }

    /// Totals of a choice, one a measure.
    pub fn total(&self, choice: usize) -> &[f64] {
        &self.totals[choice * self.measures..][..self.measures]
    }

    /// The point that a choice takes of each front.
    pub fn choice(&self, choice: usize) -> &[usize] {
        &self.choices[choice * self.fronts..][..self.fronts]
    }
}

/// The exact combination is too large to be worked out. Nothing was thinned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooMany {
    /// Front at which it grew too large, from 0.
    pub front: usize,
    /// Sums that would have to be held, or worked out, at a time.
    pub sums: usize,
}

/// The non-dominated sums of one point of each front whose totals are within limits.
///
/// `fronts`: points of each, (n_points, measures) row by row, finite; dominated ones may be among them. `at_most`: limit
/// of each total, infinite where there is none; missing ones are infinite. No fronts give one choice, of nothing.
/// Work and memory follow from the input alone: two measures take some n m steps to add m points to n, three or more
/// some n m log(n m).
///
/// # Errors
/// More than [`MOST_HELD`] sums to hold at a time (of two measures, a few times as many while they are merged), or more
/// than can be worked out in seconds.
///
/// # Panics
/// No measures.
pub fn combine(fronts: &[Vec<f64>], measures: usize, at_most: &[f64]) -> Result<Combined, TooMany> {
    let limit = |measure: usize| {
        let limit = at_most.get(measure).copied().unwrap_or(f64::INFINITY);
        limit + ROUNDING * limit.abs()
    };
    let mut layers: Vec<Layer> = vec![Layer {
        totals: vec![0.0; measures],
        from: vec![(0, 0)],
    }];
    for (number, points) in fronts.iter().enumerate() {
        let rows = front(points, measures);
        let at = |row: usize| &points[row * measures..][..measures];
        // What the remaining fronts add at least.
        let room: Vec<f64> = (0..measures)
            .map(|measure| limit(measure) - least(&fronts[number + 1..], measures, measure))
            .collect();
        let layer = layers.last().expect("the first layer");
        // Without limits all sums are compared; within limits it shows how many are left.
        let sums = layer.from.len().saturating_mul(rows.len());
        let all_are_compared = measures != 2 && room.iter().all(|room| *room == f64::INFINITY);
        if sums > MOST_WORKED_OUT || all_are_compared && sums > MOST_COMPARED {
            return Err(TooMany {
                front: number,
                sums,
            });
        }
        let mut next = Sums::new(measures);
        for &row in &rows {
            next.add(layer, at(row), row, &room)
                .map_err(|sums| TooMany {
                    front: number,
                    sums,
                })?;
        }
        let next = next.finish();
        if next.from.len() > MOST_HELD {
            return Err(TooMany {
                front: number,
                sums: next.from.len(),
            });
        }
        layers.push(next);
    }
    Ok(read_back(&layers, measures))
}

/// Sum over fronts of the least value of a measure.
fn least(fronts: &[Vec<f64>], measures: usize, measure: usize) -> f64 {
    let of = |points: &Vec<f64>| {
        let values = points.iter().skip(measure).step_by(measures);
        values.copied().fold(f64::INFINITY, f64::min)
    };
    fronts.iter().map(of).sum()
}

/// Sums over the first fronts, and what each was made of.
#[derive(Debug, Default)]
struct Layer {
    /// (n, measures), rising in the first measure.
    totals: Vec<f64>,
    /// Sum of the layer before, and point of the front.
    from: Vec<(u32, u32)>,
}

/// A choice for each sum of the last layer.
fn read_back(layers: &[Layer], measures: usize) -> Combined {
    let fronts = layers.len() - 1;
    let last = &layers[fronts];
    let mut choices = vec![0; last.from.len() * fronts];
    for sum in 0..last.from.len() {
        let mut at = sum;
        for part in (0..fronts).rev() {
            let (before, point) = layers[part + 1].from[at];
            choices[sum * fronts + part] = point as usize;
            at = before as usize;
        }
    }
    Combined {
        totals: last.totals.clone(),
        choices,
        measures,
        fronts,
    }
}

/// Gathers the sums of a layer and the points of a front.
struct Sums {
    measures: usize,
    /// Of two measures: staircases of 1, 2, 4, ... points' worth, which are merged when two have the same.
    stairs: Vec<(u32, Vec<Stair>)>,
    /// Of other numbers: the front so far, then sums that have not been compared with it.
    pool: Layer,
    /// Sums on that front.
    kept: usize,
    /// Sums that were compared so far.
    compared: usize,
}

/// A sum of two measures.
#[derive(Clone, Copy, Debug)]
struct Stair {
    at: [f64; 2],
    from: (u32, u32),
}

/// Sums of three or more measures that are gathered before they are compared.
const POOL: usize = 1 << 19;

impl Sums {
    fn new(measures: usize) -> Sums {
        Sums {
            measures,
            stairs: Vec::new(),
            pool: Layer::default(),
            kept: 0,
            compared: 0,
        }
    }

    /// Adds a point to every sum of a layer, as far as there is room.
    fn add(&mut self, layer: &Layer, point: &[f64], row: usize, room: &[f64]) -> Result<(), usize> {
        let sums = layer.totals.chunks_exact(self.measures).enumerate();
        let added = sums.map(|(sum, total)| (total, (sum as u32, row as u32)));
        if self.measures == 2 {
            let stair = |(total, from): (&[f64], _)| Stair {
                at: [total[0] + point[0], total[1] + point[1]],
                from,
            };
            let fits = |stair: &Stair| stair.at[0] <= room[0] && stair.at[1] <= room[1];
            let stairs: Vec<Stair> = added.map(stair).filter(fits).collect();
            return self.climb(merged(&stairs, &[]));
        }
        for (total, from) in added {
            let start = self.pool.totals.len();
            let sum = total.iter().zip(point).map(|(a, b)| a + b);
            self.pool.totals.extend(sum);
            let new = &self.pool.totals[start..];
            match new.iter().zip(room).all(|(sum, room)| sum <= room) {
                true => self.pool.from.push(from),
                false => self.pool.totals.truncate(start),
            }
        }
        if self.pool.from.len() > POOL.max(2 * self.kept) {
            self.compare();
            if self.kept > MOST_HELD {
                return Err(self.kept);
            }
            if self.compared > MOST_COMPARED {
                return Err(self.compared);
            }
        }
        Ok(())
    }

    /// Puts a staircase to the others.
    fn climb(&mut self, stairs: Vec<Stair>) -> Result<(), usize> {
        let (mut rank, mut stairs) = (0, stairs);
        while let Some((_, below)) = self.stairs.pop_if(|(below, _)| *below == rank) {
            stairs = merged(&below, &stairs);
            rank += 1;
        }
        self.stairs.push((rank, stairs));
        let held = self.stairs.iter().map(|(_, stairs)| stairs.len()).sum();
        if held > 4 * MOST_HELD {
            Err(held)
        } else {
            Ok(())
        }
    }

    /// Leaves of the sums those that no other beats.
    fn compare(&mut self) {
        self.compared += self.pool.from.len() - self.kept;
        let kept = front(&self.pool.totals, self.measures);
        let at = |sum: &usize| &self.pool.totals[sum * self.measures..][..self.measures];
        self.pool = Layer {
            totals: kept.iter().flat_map(at).copied().collect(),
            from: kept.iter().map(|sum| self.pool.from[*sum]).collect(),
        };
        self.kept = kept.len();
    }

    fn finish(mut self) -> Layer {
        if self.measures == 2 {
            let all = self.stairs.iter().rev().map(|(_, stairs)| stairs.clone());
            let stairs = all.reduce(|after, before| merged(&before, &after));
            let stairs = stairs.unwrap_or_default();
            return Layer {
                totals: stairs.iter().flat_map(|stair| stair.at).collect(),
                from: stairs.iter().map(|stair| stair.from).collect(),
            };
        }
        self.compare();
        let at = |sum: usize| &self.pool.totals[sum * self.measures..][..self.measures];
        let mut order: Vec<usize> = (0..self.pool.from.len()).collect();
        order.sort_by(|a, b| {
            let mut each = at(*a).iter().zip(at(*b)).map(|(a, b)| a.total_cmp(b));
            each.find(|order| order.is_ne()).unwrap_or(a.cmp(b))
        });
        Layer {
            totals: order.iter().flat_map(|sum| at(*sum)).copied().collect(),
            from: order.iter().map(|sum| self.pool.from[*sum]).collect(),
        }
    }
}

/// The non-dominated of two lists, each rising in the first measure; of equal ones that of the first list.
fn merged(one: &[Stair], other: &[Stair]) -> Vec<Stair> {
    let mut all: Vec<Stair> = Vec::with_capacity(one.len() + other.len());
    let (mut a, mut b) = (0, 0);
    while a < one.len() || b < other.len() {
        let first = b == other.len() || a < one.len() && !comes_before(&other[b], &one[a]);
        let stair = if first { one[a] } else { other[b] };
        if first {
            a += 1
        } else {
            b += 1
        }
        match all.last_mut() {
            Some(last) if last.at[1] <= stair.at[1] => {}
            // Rounding may have made two first measures equal.
            Some(last) if last.at[0] == stair.at[0] => *last = stair,
            _ => all.push(stair),
        }
    }
    all.shrink_to_fit();
    all
}

fn comes_before(a: &Stair, b: &Stair) -> bool {
    a.at[0] < b.at[0] || a.at[0] == b.at[0] && a.at[1] < b.at[1]
}

/// A step along the front of one part towards less of the first measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Point that it starts from.
    pub from: usize,
    /// Point that it leads to.
    pub to: usize,
    /// What it saves of the first measure; above 0.
    pub saves: f64,
    /// What it costs of the second measure; at most 0 for the first step where that saves for nothing.
    pub costs: f64,
}

impl Step {
    /// What a unit of the first measure costs of the second.
    pub fn rate(&self) -> f64 {
        self.costs / self.saves
    }
}

/// Steps from a point towards the least of the first measure, each the cheapest for what it saves.
///
/// The first goes to the least that costs no more than `start`, where there is one. Each later one has the lowest rate
/// of all points that lie further, so rates rise from step to step: they go along the lower hull of the points. Of
/// equal rates the longer step is taken, of equal points the first.
///
/// `points`: (first measure, second measure), finite.
pub fn steps(points: &[(f64, f64)], start: usize) -> Vec<Step> {
    let step = |from: usize, to: usize| Step {
        from,
        to,
        saves: points[from].0 - points[to].0,
        costs: points[to].1 - points[from].1,
    };
    let less = |from: usize| {
        (0..points.len())
            .map(move |to| step(from, to))
            .filter(|step| step.saves > 0.0)
    };
    let mut all = Vec::new();
    let mut at = start;
    let for_nothing = less(start).filter(|step| step.costs <= 0.0).min_by(|a, b| {
        b.saves
            .total_cmp(&a.saves)
            .then(a.costs.total_cmp(&b.costs))
    });
    if let Some(first) = for_nothing {
        at = first.to;
        all.push(first);
    }
    let cheapest = |at: usize| {
        less(at).min_by(|a, b| {
            a.rate()
                .total_cmp(&b.rate())
                .then(b.saves.total_cmp(&a.saves))
        })
    };
    while let Some(next) = cheapest(at) {
        at = next.to;
        all.push(next);
    }
    all
}
