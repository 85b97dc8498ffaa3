//! Evolutionary search for the front: mixed variables, feasibility first.
//!
//! A population breeds blocks of new designs, by differential evolution and by simulated binary crossover; the share
//! of each follows its success. Most are bred with neighbours on the front, whose differences point along it; some at
//! its ends, where a front that stays short loses most. Survivors are chosen by feasibility, then by non-dominated
//! rank, then by what they add to the hypervolume. The population grows with the square root of the designs
//! evaluated: a small one moves fast at first, a large one covers the front later. Besides,
//!
//! - a child that would be on the front, were it feasible, is tried again where the first limit is met
//!   ([`limits`]): good designs lie at their limits;
//! - the widest gaps of the whole front are filled once it rests ([`gaps`]).
//!
//! One objective has a search of its own ([`single`]). Every ingredient is there because the benchmark
//! `cargo bench --bench search` is worse without it
//! ([`recipe`]).
//!
//! Source: Deb, Pratap, Agarwal and Meyarivan, IEEE Trans. Evol. Comput. 6(2), 2002 (feasibility first, ranks);
//! Beume, Naujoks and Emmerich, European J. Oper. Res. 181(3), 2007 (hypervolume selection). Growth, neighbours, ends,
//! limits and gaps are our own, chosen by measurement.

mod exclusive;
mod gaps;
mod limits;
mod polish;
mod recipe;
mod select;
mod single;
mod sweep;
mod vary;

use super::axis::Scale;
use super::ledger::Ledger;
use super::random::Random;
use super::samplers::latin_hypercube;
use super::{Ending, Error, Settings};
use gaps::Gaps;
use limits::Crossing;
use recipe::Recipe;
use select::Survivors;
use vary::{Breeder, Kind};

/// Searches until the budget is used up, the front stalls, the observer stops it or the space is exhausted.
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    settings: &Settings,
) -> Result<Ending, Error> {
    let recipe = Recipe::new(settings);
    let mut search = Search {
        scales,
        random: Random::new(settings.seed),
        places: Vec::new(),
        breeder: Breeder::new(scales, recipe.clone()),
        recipe,
        survivors: Survivors::default(),
        gaps: Gaps::default(),
        crossings: Vec::new(),
        beyond: Vec::new(),
        x: Vec::new(),
    };
    if let Some(ending) = search.begin(ledger, settings.evaluations)? {
        return Ok(ending);
    }
    let reserve = (settings.polish.clamp(0.0, 1.0) * settings.evaluations as f64) as usize;
    if ledger.objectives() == 1 {
        return single::run(&mut search, ledger, settings.evaluations, reserve);
    }
    let mut polished = reserve == 0;
    loop {
        let ending = if polished || ledger.room() > reserve {
            search.generation(ledger)?
        } else {
            polished = true;
            search.polish(ledger, reserve)?
        };
        if let Some(ending) = ending {
            return Ok(ending);
        }
    }
}

struct Search<'s> {
    scales: &'s [Scale],
    random: Random,
    /// Places in 0 to 1 of all designs, flat.
    places: Vec<f64>,
    recipe: Recipe,
    breeder: Breeder<'s>,
    survivors: Survivors,
    gaps: Gaps,
    crossings: Vec<Crossing>,
    /// Starts that break a limit.
    beyond: Vec<usize>,
    /// The last design proposed.
    x: Vec<f64>,
}

/// Where a design proposed came from.
#[derive(Clone, Copy, Debug)]
struct Child {
    kind: Kind,
    parent: usize,
    /// Times that its parent's crossing of the limits was tried before.
    tries: u32,
}

impl Child {
    fn of(kind: Kind, parent: usize) -> Self {
        Self {
            kind,
            parent,
            tries: 0,
        }
    }
}

impl Search<'_> {
    /// A Latin hypercube beside the starts.
    fn begin(&mut self, ledger: &mut Ledger<'_>, budget: usize) -> Result<Option<Ending>, Error> {
        let starts = ledger.proposed();
        let axes = self.scales.len();
        let designs = match ledger.objectives() {
            1 => single::members(axes, budget),
            _ => (budget / 100).clamp(32, 100).max(4 * axes).min(128),
        };
        let designs = designs.min(ledger.room());
        let places = latin_hypercube::places(designs, self.scales.len(), &mut self.random);
        let mut x = vec![0.0; self.scales.len()];
        for place in places.chunks_exact(self.scales.len()) {
            x.iter_mut()
                .zip(self.scales)
                .zip(place)
                .for_each(|((x, scale), &place)| *x = scale.value(place));
            ledger.propose(&x);
        }
        let ending = ledger.evaluate()?;
        self.note_places(ledger);
        let beyond = |&start: &usize| {
            let violation = ledger.violation(start);
            violation > 0.0 && violation.is_finite()
        };
        self.beyond = (0..starts).filter(beyond).collect();
        self.survivors.choose(ledger, 0, &self.recipe);
        Ok(ending)
    }

    /// Breeds, evaluates and selects once.
    fn generation(&mut self, ledger: &mut Ledger<'_>) -> Result<Option<Ending>, Error> {
        let first = ledger.len();
        let members = self.recipe.population(first, ledger.objectives());
        let size = self.recipe.children(members).min(ledger.room());
        let crossings = (self.recipe.crossings * size as f64) as usize;
        let mut children = self.cross_limits(ledger, crossings);
        while children.len() < size
            && let Some(child) = self.propose_child(ledger)
        {
            children.push(child);
        }
        let ending = ledger.evaluate()?;
        self.note_places(ledger);
        for (design, child) in (first..ledger.len()).zip(&children) {
            self.crossings
                .extend(Crossing::between(ledger, child.parent, design, child.tries));
        }
        self.survivors.choose(ledger, first, &self.recipe);
        let kinds: Vec<Kind> = children.iter().map(|child| child.kind).collect();
        self.breeder.learn(&kinds, self.survivors.newcomers(first));
        let fillers = (first..ledger.len())
            .zip(&kinds)
            .filter(|(_, kind)| **kind == Kind::Filler);
        self.gaps.learn(ledger, fillers.map(|filler| filler.0));
        Ok(if children.is_empty() {
            Some(Ending::Exhausted)
        } else {
            ending
        })
    }

    /// Proposes children at the limits that children of the last generation crossed.
    fn cross_limits(&mut self, ledger: &mut Ledger<'_>, most: usize) -> Vec<Child> {
        let mut children = Vec::new();
        self.cross_from_starts(ledger, most / 2);
        for crossing in std::mem::take(&mut self.crossings) {
            if children.len() == most {
                break;
            }
            let (inside, outside, share) = crossing.place(ledger);
            if share > 0.0 && self.propose_between(ledger, inside, outside, share) {
                children.push(Child {
                    kind: Kind::Other,
                    parent: inside,
                    tries: crossing.tries + 1,
                });
            }
        }
        children
    }

    /// Refines designs of the front.
    fn polish(
        &mut self,
        ledger: &mut Ledger<'_>,
        evaluations: usize,
    ) -> Result<Option<Ending>, Error> {
        let first = ledger.len();
        let ending = polish::run(ledger, self.scales, self.survivors.front(), evaluations)?;
        self.note_places(ledger);
        self.survivors.choose(ledger, first, &self.recipe);
        Ok(ending)
    }

    /// Brings starts that break a limit back from beyond it, toward the nearest survivor within.
    fn cross_from_starts(&mut self, ledger: &Ledger<'_>, most: usize) {
        let axes = self.scales.len();
        let place = |design: usize| &self.places[design * axes..(design + 1) * axes];
        let front = self.survivors.front();
        if front.len() < 8 {
            return;
        }
        for _ in 0..most {
            let Some(start) = self.beyond.pop() else {
                return;
            };
            let distance = |&design: &usize| -> f64 {
                let apart = place(design).iter().zip(place(start));
                apart.map(|(a, b)| (a - b) * (a - b)).sum()
            };
            let nearest = front
                .iter()
                .copied()
                .min_by(|a, b| distance(a).total_cmp(&distance(b)));
            if let Some(inside) = nearest {
                self.crossings
                    .extend(Crossing::between(ledger, inside, start, 0));
            }
        }
    }

    /// Proposes a child; where breeding brings nothing new, any new design. `None` where there seems to be none.
    fn propose_child(&mut self, ledger: &mut Ledger<'_>) -> Option<Child> {
        if self
            .random
            .chance(self.gaps.share(ledger, self.recipe.gaps))
            && let Some((left, right)) = self.gaps.next(ledger)
        {
            let share = self.random.unit();
            if self.propose_between(ledger, left, right, share) {
                return Some(Child::of(Kind::Filler, left));
            }
        }
        for attempt in 0..20 {
            let (kind, parent) =
                self.breeder
                    .breed(&self.survivors, &self.places, attempt, &mut self.random);
            if self.propose_bred(ledger) {
                return Some(Child::of(kind, parent));
            }
        }
        latin_hypercube::propose_at_random(ledger, self.scales, &mut self.random)
            .then(|| Child::of(Kind::Other, self.survivors.designs[0]))
    }

    /// Proposes a design at a share of the way from one to another.
    fn propose_between(
        &mut self,
        ledger: &mut Ledger<'_>,
        from: usize,
        to: usize,
        share: f64,
    ) -> bool {
        let axes = self.scales.len();
        let [from, to] = [from, to].map(|design| &self.places[design * axes..(design + 1) * axes]);
        self.breeder.between(from, to, share);
        self.propose_bred(ledger)
    }

    fn propose_bred(&mut self, ledger: &mut Ledger<'_>) -> bool {
        let values = self.scales.iter().zip(&self.breeder.child);
        self.x.clear();
        self.x
            .extend(values.map(|(scale, &place)| scale.value(place)));
        ledger.propose(&self.x)
    }

    fn note_places(&mut self, ledger: &Ledger<'_>) {
        let axes = self.scales.len();
        for design in self.places.len() / axes..ledger.len() {
            self.places.extend(
                self.scales
                    .iter()
                    .zip(ledger.x(design))
                    .map(|(scale, &value)| scale.place(value)),
            );
        }
    }
}
