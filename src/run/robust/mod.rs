//! A design as it comes out of the shop: what its figures scatter by, how sure its constraints are, which tolerance
//! to tighten and which to relax.

mod advice;
mod data;

pub use data::{Asked, QuantityRow, Retoleranced, Scatter, ScatterRow, SourceShare, SureRow};

use crate::analyse::{self, Chance, Regressor, Shares};
use crate::evaluate::scatter::{Distribution, Quantity, Scattered, Sources, score_of, share_below};
use crate::evaluate::setup::Setup;
use crate::evaluate::{Evaluator, Record};
use crate::explore::Sobol;
use crate::units::Unit;
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

/// Scores that the Sobol sequence serves; any beyond are random.
const EVEN: usize = 64;

/// Sources named as the greatest of a figure, at most, and the least share for which one is named.
const NAMED: usize = 4;
const LEAST_SHARE: f64 = 0.01;

/// Standard normal scores for so many samples, (samples, scores): the same for every design.
///
/// A scrambled Sobol sequence through the inverse of the normal distribution; scores beyond its dimensions are
/// random.
pub fn scores(samples: usize, scores: usize, seed: u64) -> Vec<Vec<f64>> {
    let even = Sobol::scrambled(scores.min(EVEN), seed);
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut row = |index: usize| {
        let unit = |score: usize| match score < EVEN {
            true => even.at(index as u64, score),
            false => (random.next_u64() >> 11) as f64 * 2.0_f64.powi(-53),
        };
        // A coordinate of 0 has no score.
        (0..scores)
            .map(unit)
            .map(|unit| score_of(unit.max(1e-12)))
            .collect()
    };
    (0..samples).map(&mut row).collect()
}

/// A design, by its variables in base units, under scatter; `None` where it can't be made or nothing scatters.
///
/// `advise`: whether tolerances are tried narrower and wider.
pub fn scatter(
    evaluator: &Evaluator,
    variables: &[f64],
    samples: usize,
    seed: u64,
    advise: bool,
) -> Option<Scatter> {
    let scattered = evaluator.scattered(variables)?;
    let sources = scattered.sources();
    if sources.used.is_empty() {
        return None;
    }
    let points = scores(samples, sources.scores, seed);
    let copies = sampled(&scattered, &points);
    let columns: Vec<(usize, Option<Distribution>)> = sources
        .used
        .iter()
        .map(|(score, _)| (*score, alone(sources, *score)))
        .collect();
    let used: Vec<Vec<f64>> = points
        .iter()
        .map(|row| {
            let column = |(score, alone): &(usize, Option<Distribution>)| match alone {
                Some(distribution) => {
                    (distribution.at(row[*score]) - distribution.mean()) / distribution.sd()
                }
                None => row[*score],
            };
            columns.iter().map(column).collect()
        })
        .collect();
    let study = Study {
        setup: evaluator.setup(),
        figures: figures(evaluator),
        names: sources.used.iter().map(|(_, name)| name.clone()).collect(),
        samples: &copies,
        regressor: Regressor::new(&used),
        slopes: Slopes::of(&scattered),
        searched: evaluator.record(variables),
    };
    // No part, or one that breaks a rule, is violated by 1 and more.
    let geometry = evaluator.setup().constraints.len();
    let mut found = Scatter {
        samples,
        quantities: sources
            .quantities
            .iter()
            .map(|each| row(each, sources, evaluator))
            .collect(),
        sources: sources.used.len(),
        figures: study.figures(scattered.nominal()),
        constraints: study.constraints(scattered.nominal()),
        all: all_met(&copies, evaluator.setup()),
        asked: evaluator.setup().scatter.chance,
        broken: copies
            .iter()
            .filter(|copy| !(copy.violations[geometry] < 1.0))
            .count(),
        tighten: Vec::new(),
        relax: None,
    };
    if advise {
        found.tighten = study.tighten(&scattered, &points, &found.constraints);
        found.relax = study.relax(&scattered, &points, &found.constraints);
    }
    Some(found)
}

fn sampled(scattered: &Scattered, points: &[Vec<f64>]) -> Vec<Record> {
    points
        .par_iter()
        .map(|scores| scattered.at(scores))
        .collect()
}

/// Violations of copies that count: constraints, geometric rules, tools in stock.
fn judged(setup: &Setup) -> usize {
    setup.constraints.len() + 2
}

fn all_met(copies: &[Record], setup: &Setup) -> Chance {
    let judged = judged(setup);
    let meets = |copy: &&Record| copy.violations[..judged].iter().all(|each| *each <= 0.0);
    analyse::chance(copies.iter().filter(meets).count(), copies.len())
}

/// Differences of a design's records with its sources one standard deviation up and down.
struct Slopes {
    middle: Record,
    ends: Vec<[Record; 2]>,
}

impl Slopes {
    fn of(scattered: &Scattered) -> Slopes {
        let sources = scattered.sources();
        let at = |place: Option<(usize, f64)>| {
            let mut scores = vec![0.0; sources.scores];
            if let Some((score, value)) = place {
                scores[score] = value;
            }
            scattered.in_proportion(&scores)
        };
        Slopes {
            middle: at(None),
            ends: sources
                .used
                .iter()
                .map(|(score, _)| [at(Some((*score, 1.0))), at(Some((*score, -1.0)))])
                .collect(),
        }
    }

    /// Change of a figure with each source, one standard deviation up: half the difference of both ends.
    ///
    /// Source: JCGM 100:2008 (GUM), 5.1.3 note 2; their squares add up to the variance of equation 10, and where
    /// quantities have a source in common of equation 13 (from memory).
    fn parts(&self, of: impl Fn(&Record) -> f64) -> Vec<f64> {
        let part = |[up, down]: &[Record; 2]| 0.5 * (of(up) - of(down));
        self.ends.iter().map(part).collect()
    }
}

/// A named figure of a record, with its unit.
struct Figure {
    name: String,
    unit: Unit,
    read: Read,
}

enum Read {
    Slot(usize),
    Objective(usize),
}

impl Figure {
    fn of(&self, setup: &Setup, record: &Record) -> f64 {
        let value = match self.read {
            Read::Slot(slot) => record.slots[slot],
            Read::Objective(index) => setup.objectives[index].value.value(&record.slots),
        };
        value / self.unit.size
    }
}

/// Objectives, then derived values that follow from measures, then measures; none twice.
fn figures(evaluator: &Evaluator) -> Vec<Figure> {
    let setup = evaluator.setup();
    let first = setup.variables.len();
    let mut figures: Vec<Figure> = Vec::new();
    let objectives = setup.objectives.iter().enumerate();
    figures.extend(objectives.map(|(index, objective)| Figure {
        name: objective.value.text.clone(),
        unit: objective.unit,
        read: Read::Objective(index),
    }));
    let derived = setup
        .derived
        .iter()
        .enumerate()
        .filter(|(_, each)| each.after);
    let derived = derived.map(|(index, each)| (each.name.clone(), each.unit, first + index));
    let measures = evaluator.measures().enumerate();
    let measures = measures
        .map(|(index, (name, unit))| (name.to_string(), unit, first + setup.derived.len() + index));
    for (name, unit, slot) in derived.chain(measures) {
        if !figures.iter().any(|figure| figure.name == name) {
            let read = Read::Slot(slot);
            figures.push(Figure { name, unit, read });
        }
    }
    figures
}

/// What the rows of a design's scatter are made from.
struct Study<'a> {
    setup: &'a Setup,
    figures: Vec<Figure>,
    names: Vec<String>,
    samples: &'a [Record],
    regressor: Option<Regressor>,
    slopes: Slopes,
    /// As the search has it.
    searched: Record,
}

impl Study<'_> {
    fn shares(&self, values: &[f64]) -> Option<Shares> {
        self.regressor.as_ref()?.shares(values)
    }

    /// The greatest sources of a variance.
    fn greatest(&self, shares: &[f64]) -> Vec<SourceShare> {
        let mut all: Vec<SourceShare> = shares
            .iter()
            .zip(&self.names)
            .filter(|(share, _)| **share >= LEAST_SHARE)
            .map(|(share, name)| SourceShare {
                source: name.clone(),
                share: *share,
            })
            .collect();
        all.sort_by(|a, b| b.share.total_cmp(&a.share));
        all.truncate(NAMED);
        all
    }

    fn figures(&self, nominal: &Record) -> Vec<ScatterRow> {
        self.figures
            .iter()
            .filter_map(|figure| {
                let of = |record: &Record| figure.of(self.setup, record);
                let values: Vec<f64> = self
                    .samples
                    .iter()
                    .map(of)
                    .filter(|v| v.is_finite())
                    .collect();
                let (mean, sd) = analyse::moments(&values);
                // What rounding moves does not scatter.
                if !(sd > 1e-9 * mean.abs().max(f64::MIN_POSITIVE)) {
                    return None;
                }
                let shares = match values.len() == self.samples.len() {
                    true => self.shares(&values),
                    false => None,
                };
                let parts = self.slopes.parts(of);
                Some(ScatterRow {
                    name: figure.name.clone(),
                    unit: figure.unit.symbol.to_string(),
                    nominal: of(nominal),
                    mean,
                    sd,
                    linear_sd: length(&parts),
                    quantiles: [0.05, 0.5, 0.95].map(|share| analyse::quantile(&values, share)),
                    asked: self.asked(figure, &values),
                    explained: shares.as_ref().map_or(f64::NAN, |shares| shares.explained),
                    sources: shares.map_or(Vec::new(), |shares| self.greatest(&shares.shares)),
                })
            })
            .collect()
    }

    fn asked(&self, figure: &Figure, values: &[f64]) -> Option<Asked> {
        let Read::Objective(index) = figure.read else {
            return None;
        };
        let objective = &self.setup.objectives[index];
        let share = objective.quantile?;
        let least = self.searched.objectives[index] / objective.unit.size;
        Some(Asked {
            share,
            searched: if objective.most { -least } else { least },
            sampled: analyse::quantile(values, if objective.most { 1.0 - share } else { share }),
        })
    }

    fn constraints(&self, nominal: &Record) -> Vec<SureRow> {
        let named = self.setup.constraints.iter().map(|each| {
            let sign = match each.relation {
                crate::evaluate::setup::Relation::AtMost => "<=",
                crate::evaluate::setup::Relation::AtLeast => ">=",
            };
            (
                each.name.clone(),
                format!("{} {sign} {}", each.value.text, each.limit.text),
            )
        });
        let rules = (
            "geometric rules".to_string(),
            "least metal or room by the geometric rules >= 0 mm".to_string(),
        );
        let mut rows: Vec<SureRow> = named
            .chain([rules])
            .enumerate()
            .filter_map(|(index, (name, text))| self.constraint(index, name, text, nominal))
            .collect();
        rows.sort_by(|a, b| {
            let by_chance = a.chance.share.total_cmp(&b.chance.share);
            by_chance.then(a.deviations.total_cmp(&b.deviations))
        });
        rows
    }

    fn constraint(
        &self,
        index: usize,
        name: String,
        text: String,
        nominal: &Record,
    ) -> Option<SureRow> {
        let margin = |record: &Record| -record.violations[index];
        let margins: Vec<f64> = self.samples.iter().map(margin).collect();
        let met = margins.iter().filter(|margin| **margin >= 0.0).count();
        let sd = length(&self.slopes.parts(margin));
        if met == margins.len() && !(sd > 1e-9) {
            return None;
        }
        let shares = self.shares(&margins);
        let middle = margin(&self.slopes.middle);
        Some(SureRow {
            name,
            text,
            chance: analyse::chance(met, margins.len()),
            linear_chance: match sd > 0.0 {
                true => share_below(middle / sd),
                false => f64::from(middle >= 0.0),
            },
            deviations: margin(nominal) / sd,
            sources: shares.map_or(Vec::new(), |shares| self.greatest(&shares.shares)),
        })
    }
}

/// The distribution of a quantity that a source moves alone, and that nothing else moves: a figure is linear in that
/// sooner than in its normal score.
fn alone(sources: &Sources, score: usize) -> Option<Distribution> {
    let moves = |each: &&Quantity| each.loadings.iter().any(|loading| loading.0 == score);
    let mut moved = sources.quantities.iter().filter(moves);
    match (moved.next(), moved.next()) {
        (Some(only), None) if only.loadings.len() == 1 && only.distribution.sd() > 0.0 => {
            Some(only.distribution)
        }
        _ => None,
    }
}

fn length(parts: &[f64]) -> f64 {
    parts.iter().map(|part| part * part).sum::<f64>().sqrt()
}

fn row(quantity: &Quantity, sources: &Sources, evaluator: &Evaluator) -> QuantityRow {
    use crate::evaluate::scatter::What;
    let (symbol, size) = match &quantity.what {
        What::Dimensions(_) => ("mm".to_string(), 1.0),
        What::Variable(index) => {
            let unit = evaluator.setup().variables[*index].unit;
            (unit.symbol.to_string(), unit.size)
        }
        _ => ("%".to_string(), 0.01),
    };
    let moves = |score: usize| {
        let moved = |each: &&Quantity| each.loadings.iter().any(|loading| loading.0 == score);
        sources.quantities.iter().filter(moved).count()
    };
    let shared = quantity
        .loadings
        .iter()
        .find(|(score, _)| moves(*score) > 1);
    QuantityRow {
        name: quantity.name.clone(),
        shape: quantity.distribution.words(),
        shift: quantity.distribution.mean() / size,
        sd: quantity.distribution.sd() / size,
        unit: symbol,
        common: shared.and_then(|(score, loading)| {
            let named = sources.used.iter().find(|(used, _)| used == score)?;
            Some((named.1.clone(), loading * loading))
        }),
    }
}
