//! Where the next gram is cheapest: the steps along the fronts of all parts, in the order of what a gram costs.

use super::item::Measure;
use super::options::{Choice, Options};
use crate::analyse::steps;

/// Steps along the fronts of all parts, the cheapest gram first.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// What grams are paid in.
    pub against: Measure,
    /// Steps; those of one part keep their order. After each, all those before have been taken too.
    pub rungs: Vec<Rung>,
}

/// One step of one part: another candidate in the place of the one before.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// Part, by its place among the options.
    pub part: usize,
    /// What stood for it before.
    pub from: Choice,
    /// What stands for it after.
    pub to: Choice,
    /// Mass with allowance that it saves, in g; above 0.
    pub saves: f64,
    /// Differences of cost and cycle time in s, after less before; NaN where not told.
    pub costs: [f64; 2],
    /// Differences of the part's objectives, after less before.
    pub objectives: Vec<f64>,
}

impl Rung {
    fn of(part: usize, from: &Choice, to: &Choice) -> Rung {
        let difference = |at: usize| to.totals[at] - from.totals[at];
        let objectives = to.objectives.iter().zip(&from.objectives);
        Rung {
            part,
            from: from.clone(),
            to: to.clone(),
            saves: -difference(0),
            costs: [difference(1), difference(2)],
            objectives: objectives.map(|(to, from)| to - from).collect(),
        }
    }

    /// What a gram costs in a measure: money or seconds a gram; below 0 where that is saved too.
    pub fn rate(&self, measure: Measure) -> f64 {
        match measure {
            Measure::Mass => -1.0,
            Measure::Cost => self.costs[0] / self.saves,
            Measure::CycleTime => self.costs[1] / self.saves,
        }
    }
}

impl Ladder {
    /// The ladder of parts that all tell mass and `against`, and have a choice each.
    ///
    /// Every part starts from today's revision, also where that may not stay. The first step of a part goes to the
    /// lightest choice that costs no more; further ones follow the lower hull of its choices. Taken in this order they
    /// reach, for what they cost, the greatest saving that steps along the hulls can give; what lies between the hulls is
    /// for the exact combination.
    ///
    /// Source: Sinha and Zoltners, The multiple-choice knapsack problem, Operations Research 27(3), 1979 (from memory).
    pub fn of(parts: &[Options], against: Measure) -> Ladder {
        let mut rungs = Vec::new();
        for (part, options) in parts.iter().enumerate() {
            // Today's revision is the first choice, or no choice at all.
            let stays = usize::from(options.may_stay());
            let places: Vec<&Choice> = [&options.today]
                .into_iter()
                .chain(&options.choices[stays..])
                .collect();
            let point = |choice: &&Choice| (choice.totals[0], choice.totals[against as usize]);
            let points: Vec<(f64, f64)> = places.iter().map(point).collect();
            let taken = steps(&points, 0);
            rungs.extend(
                taken
                    .iter()
                    .map(|step| Rung::of(part, places[step.from], places[step.to])),
            );
        }
        let free = |rung: &Rung| rung.rate(against) <= 0.0;
        rungs.sort_by(|a, b| match (free(a), free(b)) {
            (true, true) => b.saves.total_cmp(&a.saves),
            (true, false) => std::cmp::Ordering::Less,
            (false, true) => std::cmp::Ordering::Greater,
            (false, false) => a.rate(against).total_cmp(&b.rate(against)),
        });
        Ladder { against, rungs }
    }

    /// Totals of mass and of what grams are paid in, at the start and after each step.
    ///
    /// `totals`: mass with allowance in g, cost, cycle time in s of all items today.
    pub fn way(&self, totals: [f64; 3]) -> Vec<(f64, f64)> {
        let mut at = (totals[0], totals[self.against as usize]);
        let mut way = vec![at];
        for rung in &self.rungs {
            at = (
                at.0 - rung.saves,
                at.1 + rung.rate(self.against) * rung.saves,
            );
            way.push(at);
        }
        way
    }
}

/// Mass against an objective of a part: what a gram costs in it, if cost and time may not rise.
#[derive(Clone, Debug, PartialEq)]
pub struct Givings {
    /// Objective, by its place among those of the part.
    pub objective: usize,
    /// The step, from today's revision.
    pub rung: Rung,
}

impl Givings {
    /// How much of the objective a gram costs, always above 0.
    pub fn rate(&self) -> f64 {
        (self.rung.objectives[self.objective] / self.rung.saves).abs()
    }
}

/// For each part and each of its objectives the candidate that loses least of it for each gram that it is lighter than
/// today, at no more cost and time (as far as told) and without loss in any other objective. In the order of the parts.
pub fn givings(parts: &[Options]) -> Vec<Givings> {
    let mut all = Vec::new();
    for (part, options) in parts.iter().enumerate() {
        let today = &options.today;
        let lighter = options.choices.iter().chain(&options.worse);
        let rungs: Vec<Rung> = lighter
            .map(|choice| Rung::of(part, today, choice))
            .filter(|rung| rung.saves > 0.0)
            // What is not told is NaN, and no bar.
            .filter(|rung| !rung.costs.iter().any(|more| *more > 0.0))
            .collect();
        for objective in 0..options.objectives.len() {
            let loss = |rung: &Rung, at: usize| {
                let change = rung.objectives[at];
                if options.objectives[at].most {
                    -change
                } else {
                    change
                }
            };
            let of_it = rungs.iter().filter(|rung| {
                loss(rung, objective) > 0.0
                    && (0..options.objectives.len())
                        .all(|other| other == objective || !(loss(rung, other) > 0.0))
            });
            let best = of_it.min_by(|a, b| {
                let rate = |rung: &Rung| loss(rung, objective) / rung.saves;
                rate(a)
                    .total_cmp(&rate(b))
                    .then(b.saves.total_cmp(&a.saves))
            });
            all.extend(best.map(|rung| Givings {
                objective,
                rung: rung.clone(),
            }));
        }
    }
    all
}
