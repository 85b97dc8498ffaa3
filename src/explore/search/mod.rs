//! Evolutionary search for the front: mixed variables, feasibility first.
//!
//! A population breeds blocks of new designs, by differential evolution and by simulated binary crossover; the share
//! of each follows its success. Survivors are chosen by feasibility, then by non-dominated rank, then by what they
//! add to the hypervolume. The population grows with the square root of the designs evaluated: a small one moves
//! fast at first, a large one covers the front later.
//!
//! Source: Deb, Pratap, Agarwal and Meyarivan, IEEE Trans. Evol. Comput. 6(2), 2002 (feasibility first, ranks);
//! Beume, Naujoks and Emmerich, European J. Oper. Res. 181(3), 2007 (hypervolume selection). The growth and the
//! mixture are our own, chosen by measurement.

mod exclusive;
mod polish;
mod select;
mod vary;

use super::axis::Scale;
use super::ledger::Ledger;
use super::random::Random;
use super::samplers::latin_hypercube;
use super::{Ending, Error, Settings};
use select::Survivors;
use vary::{Breeder, Kind};

/// Smallest and largest population.
const POPULATION: (usize, usize) = (40, 500);
/// Members of the population for the square root of the designs evaluated.
const GROWTH: f64 = 0.6;

/// Members after a number of evaluations.
fn population(evaluations: usize) -> usize {
    ((GROWTH * (evaluations as f64).sqrt()) as usize).clamp(POPULATION.0, POPULATION.1)
}

/// Searches until the budget is used up, the front stalls, the observer stops it or the space is exhausted.
pub(crate) fn run(
    ledger: &mut Ledger<'_>,
    scales: &[Scale],
    settings: &Settings,
) -> Result<Ending, Error> {
    let mut search = Search {
        scales,
        random: Random::new(settings.seed),
        places: Vec::new(),
        breeder: Breeder::new(scales),
        survivors: Survivors::default(),
    };
    if let Some(ending) = search.begin(ledger, settings.evaluations)? {
        return Ok(ending);
    }
    let reserve = (settings.polish.clamp(0.0, 1.0) * settings.evaluations as f64) as usize;
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
    breeder: Breeder<'s>,
    survivors: Survivors,
}

impl Search<'_> {
    /// A Latin hypercube beside the starts.
    fn begin(&mut self, ledger: &mut Ledger<'_>, budget: usize) -> Result<Option<Ending>, Error> {
        let designs = (budget / 100)
            .clamp(32, 100)
            .max(4 * self.scales.len())
            .min(128)
            .min(ledger.room());
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
        self.survivors.choose(ledger, 0, population(ledger.len()));
        Ok(ending)
    }

    /// Breeds, evaluates and selects once.
    fn generation(&mut self, ledger: &mut Ledger<'_>) -> Result<Option<Ending>, Error> {
        let first = ledger.len();
        let size = population(first).min(ledger.room());
        let mut kinds = Vec::with_capacity(size);
        let mut x = vec![0.0; self.scales.len()];
        for _ in 0..size {
            match self.propose_child(ledger, &mut x) {
                Some(kind) => kinds.push(kind),
                None => break,
            }
        }
        let exhausted = kinds.is_empty();
        let ending = ledger.evaluate()?;
        self.note_places(ledger);
        self.survivors
            .choose(ledger, first, population(ledger.len()));
        self.breeder.learn(&kinds, self.survivors.newcomers(first));
        Ok(if exhausted {
            Some(Ending::Exhausted)
        } else {
            ending
        })
    }

    /// Refines designs of the front.
    fn polish(
        &mut self,
        ledger: &mut Ledger<'_>,
        evaluations: usize,
    ) -> Result<Option<Ending>, Error> {
        let first = ledger.len();
        let ending = polish::run(
            ledger,
            self.scales,
            self.survivors.front(ledger),
            evaluations,
        )?;
        self.note_places(ledger);
        self.survivors
            .choose(ledger, first, population(ledger.len()));
        Ok(ending)
    }

    /// Proposes a child; where breeding brings nothing new, any new design. `None` where there seems to be none.
    fn propose_child(&mut self, ledger: &mut Ledger<'_>, x: &mut [f64]) -> Option<Kind> {
        for attempt in 0..20 {
            let kind = self
                .breeder
                .breed(&self.survivors, &self.places, attempt, &mut self.random);
            x.iter_mut()
                .zip(self.scales)
                .zip(&self.breeder.child)
                .for_each(|((x, scale), &place)| *x = scale.value(place));
            if ledger.propose(x) {
                return Some(kind);
            }
        }
        latin_hypercube::propose_at_random(ledger, self.scales, &mut self.random)
            .then_some(Kind::Random)
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
