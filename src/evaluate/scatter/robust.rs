//! Designs judged by what becomes of them in the shop, within a search.

use super::distribution::{score_of, share_below};
use crate::evaluate::evaluator::{Answer, Evaluator, Record};
use crate::evaluate::setup::Setup;

/// A design that breaks a constraint by more than this share at nominal sizes is not looked at further.
const FAR: f64 = 0.1;

/// Violation of the chance of a design that was not looked at, and the most that a violation of the chance can be.
const UNSEEN: f64 = 0.2;

/// Violation of the chance where ten times as many parts fail as may.
const PER_DECADE: f64 = 0.02;

/// Chances of failure below this count as this.
const LEAST_CHANCE: f64 = 1e-12;

/// What is asked of the copies of a design.
#[derive(Clone, Debug)]
pub(in crate::evaluate) struct Robust {
    /// Least chance of meeting all constraints together, with its standard score.
    chance: Option<(f64, f64)>,
    /// Standard score of each objective's quantile; 0: at nominal sizes.
    scores: Vec<Option<f64>>,
    samples: usize,
}

impl Robust {
    /// What a study asks; `None`: nothing.
    pub fn of(setup: &Setup) -> Option<Robust> {
        let scores: Vec<Option<f64>> = setup
            .objectives
            .iter()
            .map(|objective| objective.quantile.map(score_of))
            .collect();
        let chance = setup
            .scatter
            .chance
            .map(|chance| (chance, score_of(chance)));
        let asks = chance.is_some() || scores.iter().any(Option::is_some);
        asks.then_some(Robust {
            chance,
            scores,
            samples: setup.scatter.samples,
        })
    }
}

impl Evaluator {
    /// Judges a design by its copies, where that is asked for and it comes near to meeting its constraints.
    ///
    /// Over a balanced rule of copies ([`balanced`]) every constraint's margin m has a mean and a standard deviation s:
    /// it is violated by z s less the mean, z the score of the chance asked for. The share of parts that fail is put
    /// at the sum over constraints of Φ(−mean / s), which is never less than the share itself where margins are
    /// normal (Boole's inequality). Objectives are the mean and their quantile's score times s.
    pub(in crate::evaluate) fn harden(
        &self,
        variables: &[f64],
        record: &mut Record,
        answer: Option<Answer<'_>>,
        sound: bool,
    ) {
        let Some(robust) = &self.robust else { return };
        let judged = self.setup.constraints.len() + 1;
        let near = record.violations[..judged].iter().all(|each| *each <= FAR);
        let answer = answer.filter(|_| sound && near);
        let scattered =
            answer.and_then(|answer| self.scattered_from(variables, record.clone(), answer));
        let Some(scattered) = scattered else {
            if robust.chance.is_some()
                && let Some(unsure) = record.violations.get_mut(judged + 1)
            {
                *unsure = UNSEEN;
            }
            return;
        };
        let rule = balanced(&scattered.sources, robust.samples);
        let copies: Vec<Record> = rule
            .iter()
            .map(|scores| scattered.in_proportion(scores))
            .collect();
        robust.judge(&copies, judged, record);
    }
}

impl Robust {
    fn judge(&self, copies: &[Record], judged: usize, record: &mut Record) {
        for (index, score) in self.scores.iter().enumerate() {
            if let Some(score) = score {
                let (mean, sd) = moments(copies.iter().map(|copy| copy.objectives[index]));
                record.objectives[index] = mean + score * sd;
            }
        }
        let Some((chance, score)) = self.chance else {
            return;
        };
        let mut failing = 0.0;
        for index in 0..judged {
            let (mean, sd) = moments(copies.iter().map(|copy| -copy.violations[index]));
            failing += match sd > 0.0 {
                true => share_below(-mean / sd),
                false => f64::from(mean < 0.0),
            };
            record.violations[index] = score * sd - mean;
        }
        let over = failing.max(LEAST_CHANCE) / (1.0 - chance);
        if let Some(unsure) = record.violations.get_mut(judged + 1) {
            *unsure = (PER_DECADE * over.log10()).min(UNSEEN);
        }
    }
}

/// Mean and standard deviation over a rule of points of equal weight.
fn moments(values: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let count = values.clone().count() as f64;
    let mean = values.clone().sum::<f64>() / count;
    let squares: f64 = values.map(|value| (value - mean) * (value - mean)).sum();
    (mean, (squares / count).sqrt())
}

/// Scores of the sources for so many copies at least: every source stands at +1 in half of them and at −1 in the
/// other half, and any two sources agree as often as not. Mean and standard deviation of whatever is linear in the
/// scores come out exact, and the mean of what is quadratic in single scores too.
///
/// Rows of a Hadamard matrix whose order is a power of two greater than the number of sources, one source a column,
/// the constant column left out (Sylvester, Philosophical Magazine 34, 1867; Plackett and Burman, Biometrika 33,
/// 1946; from memory). Rows are as long as there are scores; those without a source stay at 0.
pub fn balanced(sources: &super::Sources, copies: usize) -> Vec<Vec<f64>> {
    let order = copies.max(sources.used.len() + 1).next_power_of_two();
    (0..order)
        .map(|row| {
            let mut scores = vec![0.0; sources.scores];
            for (column, (score, _)) in sources.used.iter().enumerate() {
                let odd = (row & (column + 1)).count_ones() % 2 == 1;
                scores[*score] = if odd { -1.0 } else { 1.0 };
            }
            scores
        })
        .collect()
}
