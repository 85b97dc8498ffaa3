//! Which designs to evaluate next.

use rayon::prelude::*;

use super::super::axis::Scale;
use super::super::ledger::Ledger;
use super::super::random::Random;
use super::super::response::Look;
use super::super::{Axis, Known, Next, Plan, Problem, Settings, explore};
use super::asked::Models;
use super::improvement::{Guess, Mark, ln_normal_below, shortfall};
use super::models::Memory;
use super::tame::Tame;

/// Designs that the evolutionary search looks at before each block.
const LOOKED_AT: usize = 8_000;
/// The same of a search that starts afresh, so that other places are not forgotten.
const AFRESH: usize = 4_000;
/// Designs of its front, and others, that are weighed.
const FRONT: usize = 300;
const OTHERS: usize = 100;
/// Designs near the best one that are weighed beside it, and their first distance, as a share of an axis.
const ROUNDS: usize = 5;
const NEAR: usize = 24;
const DISTANCE: f64 = 0.05;
/// How far the mark lies beyond the worst of the front, in its sizes.
const BEYOND: f64 = 0.1;
/// Every so many designs one is to push out an end of the front, where that is expected to gain this share of it.
const ENDS: usize = 4;
const END_GAIN: f64 = 2e-3;

/// Finds designs worth evaluating.
pub(super) struct Proposer<'p> {
    problem: &'p dyn Problem,
    scales: &'p [Scale],
    memory: Memory,
    random: Random,
    /// The last search's front.
    pool: Vec<Vec<f64>>,
    /// Usual deviation of each constraint on it.
    margins: Vec<f64>,
    /// Designs proposed.
    count: usize,
}

impl<'p> Proposer<'p> {
    pub(super) fn new(
        problem: &'p dyn Problem,
        scales: &'p [Scale],
        memory: Memory,
        seed: u64,
    ) -> Self {
        Self {
            problem,
            scales,
            memory,
            random: Random::new(seed ^ 0x5EED),
            pool: Vec::new(),
            margins: Vec::new(),
            count: 0,
        }
    }

    /// Proposes a block; `false` where nothing new was found, or too little is known to expect anything.
    pub(super) fn propose(&mut self, ledger: &mut Ledger<'_>, batch: usize) -> bool {
        let objectives = self.problem.objectives();
        let (tames, reference) = frame(ledger, objectives);
        let seed = self.random.bits();
        let Some(mut models) = self.memory.models(ledger, &tames) else {
            return false;
        };
        let front: Vec<usize> = ledger.front();
        let goals: Vec<f64> = front
            .iter()
            .flat_map(|&design| ledger.goals(design))
            .copied()
            .collect();
        let mut mark = (!front.is_empty()).then(|| Mark::new(&goals, reference));
        self.margins.resize(models.constraints(), 0.0);
        let mut candidates = self.candidates(ledger, &models, &front, seed);
        let mut look = Look::default();
        let before = ledger.proposed();
        for _ in 0..batch {
            let end = mark
                .as_ref()
                .and_then(|mark| self.end(&models, mark, &tames, &candidates));
            let weigh = |x: &[f64]| match (end, &mark) {
                (Some((objective, least)), _) => end_weight(&models, objective, least, x),
                (None, mark) => weight(&models, mark.as_ref(), x),
            };
            self.count += 1;
            let weights: Vec<f64> = candidates.par_iter().map(|x| weigh(x)).collect();
            let mut order: Vec<usize> = (0..candidates.len()).collect();
            order.sort_by(|&a, &b| weights[b].total_cmp(&weights[a]).then(a.cmp(&b)));
            let Some(&best) = order.first() else {
                break;
            };
            let refined = self.refine(&weigh, &candidates[best], weights[best]);
            let others = order.iter().map(|&k| &candidates[k]);
            let Some(taken) = [&refined]
                .into_iter()
                .chain(others)
                .find(|x| ledger.propose(x))
                .cloned()
            else {
                break;
            };
            if let Some(mark) = &mut mark {
                let goals = models.objectives(&taken, &mut look);
                let goals: Vec<f64> = goals.iter().map(|goal| goal.0).collect();
                if models
                    .limits(&taken, &mut look)
                    .iter()
                    .all(|limit| limit.0 <= 0.0)
                {
                    mark.add(&goals);
                }
            }
            models.believe(&taken, &mut look);
            candidates.push(refined);
        }
        ledger.proposed() > before
    }

    /// What the evolutionary search finds where the processes are taken at their word.
    fn candidates(
        &mut self,
        ledger: &Ledger<'_>,
        models: &Models,
        front: &[usize],
        seed: u64,
    ) -> Vec<Vec<f64>> {
        let expected = Expected {
            axes: self.problem.axes(),
            objectives: self.problem.objectives(),
            models,
            margins: &self.margins,
        };
        let mut start: Vec<Vec<f64>> = Vec::new();
        start.extend(evenly(front, 100).map(|&design| ledger.x(design).to_vec()));
        start.extend(evenly(&self.pool, 100).cloned());
        if start.is_empty() {
            let mut designs: Vec<usize> = (0..ledger.len()).collect();
            let by_violation = |&a: &usize, &b: &usize| {
                ledger
                    .violation(a)
                    .total_cmp(&ledger.violation(b))
                    .then(a.cmp(&b))
            };
            designs.sort_by(by_violation);
            start.extend(
                designs
                    .iter()
                    .take(50)
                    .map(|&design| ledger.x(design).to_vec()),
            );
        }
        let search = |looked_at: usize, start: Vec<Vec<f64>>| {
            let settings = Settings {
                start,
                ..Settings::new(Plan::Search, looked_at, seed)
            };
            explore(&expected, &settings, Known::default(), &mut |_| {
                Next::Continue
            })
        };
        let axes = self.scales.len();
        if let Ok(found) = search(AFRESH, Vec::new()) {
            let x = |design: &usize| found.xs[design * axes..(design + 1) * axes].to_vec();
            start.extend(evenly(&found.front, 60).map(x));
        }
        let Ok(found) = search(LOOKED_AT, start) else {
            return Vec::new();
        };
        let x = |design: usize| found.xs[design * axes..(design + 1) * axes].to_vec();
        self.pool = evenly(&found.front, FRONT)
            .map(|&design| x(design))
            .collect();
        let width = expected.width();
        let mut others: Vec<(f64, usize)> = found
            .rows
            .chunks_exact(width)
            .map(|row| super::super::violation(row, expected.objectives, expected.constraints()))
            .enumerate()
            .map(|(design, violation)| (violation, design))
            .collect();
        others.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        let mut candidates = self.pool.clone();
        candidates.extend(others.iter().take(OTHERS).map(|&(_, design)| x(design)));
        let deviations: Vec<Vec<f64>> = evenly(&self.pool, 40)
            .map(|x| {
                let limits = models.limits(x, &mut Look::default());
                limits.iter().map(|limit| limit.1).collect()
            })
            .collect();
        for (k, margin) in self.margins.iter_mut().enumerate() {
            let mut each: Vec<f64> = deviations.iter().map(|deviations| deviations[k]).collect();
            each.sort_by(f64::total_cmp);
            *margin = each.get(each.len() / 2).copied().unwrap_or(0.0);
        }
        candidates
    }

    /// Whether the next design is to push out an end of the front: the objective, and the least value of it so far.
    fn end(
        &self,
        models: &Models,
        mark: &Mark,
        tames: &[Tame],
        candidates: &[Vec<f64>],
    ) -> Option<(usize, f64)> {
        let objectives = tames.len();
        if objectives < 2 || !self.count.is_multiple_of(ENDS) {
            return None;
        }
        let objective = self.count / ENDS % objectives;
        let least = mark.least(objective)?;
        let most = candidates
            .par_iter()
            .map(|x| end_weight(models, objective, least, x))
            .reduce(|| f64::NEG_INFINITY, f64::max);
        (most > (END_GAIN * tames[objective].size).ln()).then_some((objective, least))
    }

    /// A better design near a good one: steps at random, shorter when they stop helping.
    fn refine(
        &mut self,
        weigh: &(dyn Fn(&[f64]) -> f64 + Sync),
        start: &[f64],
        weight_there: f64,
    ) -> Vec<f64> {
        let (mut best, mut most) = (start.to_vec(), weight_there);
        let mut distance = DISTANCE;
        for _ in 0..ROUNDS {
            let near: Vec<Vec<f64>> = (0..NEAR).map(|_| self.near(&best, distance)).collect();
            let weights: Vec<f64> = near.par_iter().map(|x| weigh(x)).collect();
            let mut better = false;
            for (x, weight) in near.into_iter().zip(weights) {
                if weight > most {
                    (best, most, better) = (x, weight, true);
                }
            }
            distance *= if better { 0.7 } else { 0.3 };
        }
        best
    }

    /// Some axes moved, by about so much; a discrete one by at least a step.
    fn near(&mut self, x: &[f64], distance: f64) -> Vec<f64> {
        let random = &mut self.random;
        let share = (2.0 / x.len() as f64).max(0.3);
        let sure = random.below(x.len());
        let each = self.scales.iter().zip(x).enumerate();
        each.map(|(axis, (scale, &value))| {
            if axis != sure && !random.chance(share) {
                return value;
            }
            let far = distance * (2.0 * random.unit() - 1.0) * (1.0 + random.unit());
            let place = scale.place(value);
            let moved = match scale.count {
                Some(count) => {
                    let step = 1.0 / count as f64;
                    place
                        + if far.abs() < step {
                            step.copysign(far)
                        } else {
                            far
                        }
                }
                None => place + far,
            };
            scale.value(moved.clamp(0.0, 1.0))
        })
        .collect()
    }
}

/// Some of a list, spread evenly over it.
fn evenly<T>(list: &[T], most: usize) -> impl Iterator<Item = &T> {
    let count = list.len().min(most);
    (0..count).map(move |k| &list[(2 * k + 1) * list.len() / (2 * count)])
}

/// Logarithm of expected gain times the probability of meeting everything; without a mark the latter alone.
fn weight(models: &Models, mark: Option<&Mark>, x: &[f64]) -> f64 {
    let mut look = Look::default();
    let met = |&(mean, deviation): &Guess| {
        ln_normal_below(-mean / deviation.max(1e-9 * mean.abs()).max(1e-300))
    };
    let mut weight: f64 = models.limits(x, &mut look).iter().map(met).sum();
    if let Some(mark) = mark {
        let gain = mark.gain(&models.objectives(x, &mut look));
        weight += (gain + 1e-300).ln();
    }
    weight + models.success(x, &mut look).ln()
}

/// As [`weight`], for the gain of one objective alone.
fn end_weight(models: &Models, objective: usize, least: f64, x: &[f64]) -> f64 {
    let mut look = Look::default();
    let gain = shortfall(models.objectives(x, &mut look)[objective], least);
    weight(models, None, x) + (gain + 1e-300).ln()
}

/// How each objective is tamed, and where the mark lies: by the front, or the better half where there is none.
fn frame(ledger: &Ledger<'_>, objectives: usize) -> (Vec<Tame>, Vec<f64>) {
    let front = ledger.front();
    let known: Vec<usize> = (0..ledger.len())
        .filter(|&design| ledger.violation(design) < f64::INFINITY)
        .collect();
    let tame = |k: usize| {
        let values = |designs: &[usize]| -> Vec<f64> {
            let mut values: Vec<f64> = designs
                .iter()
                .map(|&design| ledger.goals(design)[k])
                .collect();
            values.sort_by(f64::total_cmp);
            values
        };
        let (all, best) = (values(&known), values(&front));
        let (low, high) = match (best.first(), best.last()) {
            (Some(&low), Some(&high)) if high > low => (low, high),
            (Some(&low), _) => {
                let above = all.iter().filter(|value| **value > low);
                let above: Vec<f64> = above.copied().collect();
                (low, above.get(above.len() / 4).copied().unwrap_or(low))
            }
            _ => (
                all.first().copied().unwrap_or(0.0),
                all.get(all.len() / 2).copied().unwrap_or(0.0),
            ),
        };
        let size = if high > low { high - low } else { 1.0 };
        let tame = Tame {
            low: low - size,
            high: high + size,
            size,
        };
        (tame, high + BEYOND * size)
    };
    (0..objectives).map(tame).unzip()
}

/// The problem as the processes see it.
struct Expected<'m> {
    axes: &'m [Axis],
    objectives: usize,
    models: &'m Models,
    margins: &'m [f64],
}

impl Problem for Expected<'_> {
    fn axes(&self) -> &[Axis] {
        self.axes
    }
    fn objectives(&self) -> usize {
        self.objectives
    }
    fn constraints(&self) -> usize {
        self.models.constraints()
    }
    fn width(&self) -> usize {
        self.objectives + self.models.constraints()
    }
    fn evaluate(&self, x: &[f64], row: &mut [f64]) {
        self.models.means(x, &mut Look::default(), row);
        for (limit, margin) in row[self.objectives..].iter_mut().zip(self.margins) {
            *limit += margin;
        }
    }
}
