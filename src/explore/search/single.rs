//! One objective: differential evolution whose factors follow their success and whose population shrinks.
//!
//! Truncation, which serves a front, lets a population of one objective gather at the first good place. Here a child
//! only ever replaces its own parent, so that the population stays spread until it is small.
//!
//! Source: Tanabe and Fukunaga, CEC 2014 (success history, shrinking population; constants from memory); Deb, Comput.
//! Methods Appl. Mech. Eng. 186, 2000 (feasibility first).

use std::f64::consts::PI;

use super::super::ledger::Ledger;
use super::super::random::Random;
use super::super::{Ending, Error};
use super::{Search, polish};

/// Members at first for each axis, and at least.
const FIRST: (usize, usize) = (18, 40);
/// Generations at least of the population at first: small budgets start with fewer members.
const GENERATIONS: usize = 25;
/// Members at last.
const LAST: usize = 6;
/// Share of the members that a child may be drawn to, and at least.
const LEADERS: (f64, usize) = (0.11, 2);
/// Factors remembered.
const MEMORY: usize = 5;
/// Replaced designs kept for differences, as a share of the population.
const REPLACED: f64 = 2.0;

/// A child under evaluation.
struct Trial {
    member: usize,
    factor: f64,
    rate: f64,
}

/// The population and what it has learnt.
pub(super) struct Single {
    members: Vec<usize>,
    replaced: Vec<usize>,
    /// Weights of differences and rates of crossover that succeeded.
    memory: [(f64, f64); MEMORY],
    next: usize,
    budget: usize,
    first: usize,
}

/// Whether a design is at least as good as another: less violated, or both feasible and not worse.
fn at_least_as_good(ledger: &Ledger<'_>, a: usize, b: usize) -> bool {
    order(ledger, a, b).is_le()
}

fn order(ledger: &Ledger<'_>, a: usize, b: usize) -> std::cmp::Ordering {
    let goal = |design: usize| ledger.goals(design)[0];
    ledger
        .violation(a)
        .total_cmp(&ledger.violation(b))
        .then(goal(a).total_cmp(&goal(b)))
}

/// Searches until it is over; `reserve` evaluations are kept for the end, to refine the best design.
pub(super) fn run(
    search: &mut Search<'_>,
    ledger: &mut Ledger<'_>,
    budget: usize,
    reserve: usize,
) -> Result<Ending, Error> {
    let axes = search.scales.len();
    let mut single = Single::new(ledger, members(axes, budget), budget - reserve);
    let mut refined = reserve == 0;
    loop {
        let ending = if refined || ledger.room() > reserve {
            single.generation(search, ledger)?
        } else {
            refined = true;
            single.refine(search, ledger)?
        };
        if let Some(ending) = ending {
            return Ok(ending);
        }
    }
}

/// Members at first, for a number of axes and a budget.
pub(super) fn members(axes: usize, budget: usize) -> usize {
    (FIRST.0 * axes)
        .max(FIRST.1)
        .min(budget / GENERATIONS)
        .max(LAST)
}

impl Single {
    /// The best of everything evaluated.
    fn new(ledger: &Ledger<'_>, keep: usize, budget: usize) -> Self {
        let mut members: Vec<usize> = (0..ledger.len()).collect();
        members.sort_by(|&a, &b| order(ledger, a, b).then(a.cmp(&b)));
        members.truncate(keep);
        Self {
            first: members.len(),
            members,
            replaced: Vec::new(),
            memory: [(0.5, 0.5); MEMORY],
            next: 0,
            budget,
        }
    }

    /// Refines the best design by turns: its continuous variables, then steps on its discrete axes, until neither
    /// makes it better.
    fn refine(
        &mut self,
        search: &mut Search<'_>,
        ledger: &mut Ledger<'_>,
    ) -> Result<Option<Ending>, Error> {
        loop {
            let best = self.members[0];
            let room = ledger.room();
            let mut ending = polish::run(ledger, search.scales, &[best], room)?;
            search.note_places(ledger);
            self.admit(ledger);
            if ending.is_none() && search.propose_neighbours(ledger, self.members[0]) > 0 {
                ending = ledger.evaluate()?;
                search.note_places(ledger);
                self.admit(ledger);
            }
            if ending.is_some() || self.members[0] == best {
                return Ok(ending);
            }
        }
    }

    /// Takes the best of everything evaluated in, if it is not a member yet.
    fn admit(&mut self, ledger: &Ledger<'_>) {
        let designs = 0..ledger.len();
        if let Some(best) = designs.min_by(|&a, &b| order(ledger, a, b).then(a.cmp(&b)))
            && best != self.members[0]
        {
            self.members.insert(0, best);
            self.members.pop();
        }
    }

    /// One child of every member.
    pub(super) fn generation(
        &mut self,
        search: &mut Search<'_>,
        ledger: &mut Ledger<'_>,
    ) -> Result<Option<Ending>, Error> {
        let start = ledger.len();
        let mut trials = Vec::new();
        for member in 0..self.members.len() {
            let (factor, rate) = self.draw_factors(&mut search.random);
            for attempt in 0..4 {
                self.breed(search, member, factor, rate);
                search
                    .breeder
                    .mutate(f64::from(attempt), &mut search.random);
                if search.propose_bred(ledger) {
                    trials.push(Trial {
                        member,
                        factor,
                        rate,
                    });
                    break;
                }
            }
        }
        if trials.is_empty() {
            return Ok(Some(Ending::Exhausted));
        }
        if let Some(ending) = ledger.evaluate()? {
            return Ok(Some(ending));
        }
        search.note_places(ledger);
        let mut gains = Vec::new();
        for (design, trial) in (start..ledger.len()).zip(&trials) {
            self.replace(ledger, trial, design, &mut gains, &mut search.random);
        }
        self.learn(&gains);
        self.shrink(ledger);
        Ok(None)
    }

    /// Factors near ones that succeeded: the first from Cauchy's distribution, the second from the normal one.
    fn draw_factors(&self, random: &mut Random) -> (f64, f64) {
        let (factor, rate) = self.memory[random.below(MEMORY)];
        let normal = (-2.0 * (1.0 - random.unit()).ln()).sqrt() * (2.0 * PI * random.unit()).cos();
        let drawn = loop {
            let drawn = factor + 0.1 * (PI * (random.unit() - 0.5)).tan();
            if drawn > 0.0 {
                break drawn.min(1.0);
            }
        };
        (drawn, (rate + 0.1 * normal).clamp(0.0, 1.0))
    }

    /// A child drawn from its parent to a leader, and along a difference.
    fn breed(&self, search: &mut Search<'_>, member: usize, factor: f64, rate: f64) {
        let axes = search.scales.len();
        let random = &mut search.random;
        let count = self.members.len();
        let leaders = ((LEADERS.0 * count as f64) as usize)
            .max(LEADERS.1)
            .min(count);
        let leader = self.members[random.below(leaders)];
        let one = self.members[random.below(count)];
        let other = random.below(count + self.replaced.len());
        let other = match other.checked_sub(count) {
            Some(replaced) => self.replaced[replaced],
            None => self.members[other],
        };
        let parent = self.members[member];
        let place = |design: usize, axis: usize| search.places[design * axes + axis];
        let sure = random.below(axes);
        for axis in 0..axes {
            let here = place(parent, axis);
            let mut moved = here;
            if axis == sure || random.chance(rate) {
                moved += factor * (place(leader, axis) - here)
                    + factor * (place(one, axis) - place(other, axis));
                if moved < 0.0 {
                    moved = 0.5 * here;
                } else if moved > 1.0 {
                    moved = 0.5 * (here + 1.0);
                }
            }
            search.breeder.child[axis] = moved;
        }
    }

    /// Puts a design in its parent's place if it is not worse.
    fn replace(
        &mut self,
        ledger: &Ledger<'_>,
        trial: &Trial,
        design: usize,
        gains: &mut Vec<(f64, f64, f64)>,
        random: &mut Random,
    ) {
        let parent = self.members[trial.member];
        if !at_least_as_good(ledger, design, parent) {
            return;
        }
        let gain = match ledger.violation(parent) {
            0.0 => ledger.goals(parent)[0] - ledger.goals(design)[0],
            violation => violation - ledger.violation(design),
        };
        if gain > 0.0 && gain.is_finite() {
            gains.push((gain, trial.factor, trial.rate));
        }
        let most = (REPLACED * self.members.len() as f64) as usize;
        if self.replaced.len() < most {
            self.replaced.push(parent);
        } else {
            let at = random.below(self.replaced.len());
            self.replaced[at] = parent;
        }
        self.members[trial.member] = design;
    }

    /// Remembers the factors that succeeded, weighted by what they gained; large weights of differences count more.
    fn learn(&mut self, gains: &[(f64, f64, f64)]) {
        let total: f64 = gains.iter().map(|gain| gain.0).sum();
        if !(total > 0.0) {
            return;
        }
        let mean = |pick: fn(&(f64, f64, f64)) -> f64| {
            let moment = |power: i32| -> f64 {
                gains
                    .iter()
                    .map(|gain| gain.0 / total * pick(gain).powi(power))
                    .sum()
            };
            if moment(1) > 0.0 {
                moment(2) / moment(1)
            } else {
                0.0
            }
        };
        self.memory[self.next] = (mean(|gain| gain.1), mean(|gain| gain.2));
        self.next = (self.next + 1) % MEMORY;
    }

    /// Sorts the members, best first, and lets the worst go.
    fn shrink(&mut self, ledger: &Ledger<'_>) {
        let spent = ledger.len() as f64 / self.budget.max(1) as f64;
        let keep = self.first as f64 + (LAST as f64 - self.first as f64) * spent.min(1.0);
        self.members
            .sort_by(|&a, &b| order(ledger, a, b).then(a.cmp(&b)));
        self.members.truncate((keep as usize).max(LAST));
        self.replaced
            .truncate((REPLACED * self.members.len() as f64) as usize);
    }
}
