//! New designs from old ones, in places from 0 to 1.

use super::super::axis::Scale;
use super::super::random::{Random, to_unit};
use super::recipe::Recipe;
use super::select::Survivors;

/// How a child was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Differential,
    Crossover,
    /// Fills a gap of the front.
    Filler,
    /// Not bred from the population.
    Other,
}

/// Makes children and keeps account of what succeeds.
#[derive(Clone, Debug)]
pub(super) struct Breeder<'s> {
    scales: &'s [Scale],
    recipe: Recipe,
    /// Share of children by differential evolution.
    share: f64,
    /// Places of the last child.
    pub(super) child: Vec<f64>,
}

/// Weight of the last generation in the share.
const LEARNING: f64 = 0.1;
/// Axes mutated after a crossover, on average.
const MUTATION: f64 = 0.5;
impl<'s> Breeder<'s> {
    pub(super) fn new(scales: &'s [Scale], recipe: Recipe) -> Self {
        Self {
            scales,
            share: 0.5_f64.clamp(recipe.differential.0, recipe.differential.1),
            recipe,
            child: vec![0.0; scales.len()],
        }
    }

    /// Moves the share toward what survived more often.
    pub(super) fn learn(&mut self, kinds: &[Kind], survived: Vec<usize>) {
        let rate = |kind: Kind| {
            let made = kinds.iter().filter(|&&k| k == kind).count() as f64;
            let kept = survived
                .iter()
                .filter(|&&k| kinds.get(k) == Some(&kind))
                .count() as f64;
            (kept + 0.5) / (made + 1.0)
        };
        let (differential, crossover) = (rate(Kind::Differential), rate(Kind::Crossover));
        let success = differential / (differential + crossover);
        let (least, most) = self.recipe.differential;
        self.share = (self.share + LEARNING * (success - self.share)).clamp(least, most);
    }

    /// Makes a child of the population and returns how, and of which design; the more attempts went before, the
    /// more is changed.
    pub(super) fn breed(
        &mut self,
        population: &Survivors,
        places: &[f64],
        attempt: usize,
        random: &mut Random,
    ) -> (Kind, usize) {
        let axes = self.scales.len();
        let place = |member: usize| {
            let design = population.designs[member];
            &places[design * axes..(design + 1) * axes]
        };
        let kind = if random.chance(self.share) {
            Kind::Differential
        } else {
            Kind::Crossover
        };
        let parent = if !population.ends.is_empty() && random.chance(self.recipe.from_end) {
            population.ends[random.below(population.ends.len())]
        } else {
            population.tournament(random)
        };
        let neighbours = population.has_neighbours(parent) && random.chance(self.recipe.neighbours);
        self.child.copy_from_slice(place(parent));
        if kind == Kind::Differential {
            let [one, other] = [0; 2].map(|_| match neighbours {
                true => population.neighbour(parent, random),
                false => random.below(population.designs.len()),
            });
            self.differ(place(one), place(other), random);
            if attempt > 0 {
                self.mutate(attempt as f64, random);
            }
        } else {
            let mate = match neighbours {
                true => population.neighbour(parent, random),
                false => population.tournament(random),
            };
            self.cross(place(mate), random);
            self.mutate(MUTATION + attempt as f64, random);
        }
        (kind, population.designs[parent])
    }

    /// Makes a child at a share of the way from one design to another.
    pub(super) fn between(&mut self, from: &[f64], to: &[f64], share: f64) {
        for ((place, from), to) in self.child.iter_mut().zip(from).zip(to) {
            *place = (from + share * (to - from)).clamp(0.0, 1.0);
        }
    }

    /// Adds a share of the difference of two designs on nine of ten axes.
    ///
    /// Source: Storn and Price, J. Global Optimization 11, 1997; Kukkonen and Lampinen, CEC 2005 (many objectives).
    fn differ(&mut self, one: &[f64], other: &[f64], random: &mut Random) {
        let factor = 0.3 + 0.6 * random.unit();
        let sure = random.below(self.child.len());
        for (axis, place) in self.child.iter_mut().enumerate() {
            if axis == sure || random.chance(0.9) {
                let moved = *place + factor * (one[axis] - other[axis]);
                *place = back_inside(*place, moved, random);
            }
        }
    }

    /// Simulated binary crossover on half of the axes, distribution index 15.
    ///
    /// Source: Deb and Agrawal, Complex Systems 9, 1995.
    fn cross(&mut self, mate: &[f64], random: &mut Random) {
        if random.chance(0.1) {
            return;
        }
        for (place, &other) in self.child.iter_mut().zip(mate) {
            let bits = random.bits();
            if bits & 1 == 0 || *place == other {
                continue;
            }
            let u = to_unit(bits);
            let spread = if u <= 0.5 {
                root16(2.0 * u)
            } else {
                1.0 / root16(2.0 * (1.0 - u))
            };
            let sign = if bits & 2 == 0 { spread } else { -spread };
            *place = (0.5 * ((1.0 + sign) * *place + (1.0 - sign) * other)).clamp(0.0, 1.0);
        }
    }

    /// Mutates `weight` axes on average: polynomial mutation, distribution index 15, or to a bound; to a neighbour or
    /// anywhere on a discrete axis.
    ///
    /// Source: Deb and Goyal, Computer Science and Informatics 26(4), 1996; Michalewicz, Genetic Algorithms + Data
    /// Structures = Evolution Programs, Springer 1992 (bounds).
    pub(super) fn mutate(&mut self, weight: f64, random: &mut Random) {
        let rate = (weight / self.child.len() as f64).min(0.5);
        for (place, scale) in self.child.iter_mut().zip(self.scales) {
            if !random.chance(rate) {
                continue;
            }
            let u = random.unit();
            match scale.count {
                Some(count) if random.chance(0.5) => {
                    let step = 1.0 / count as f64;
                    let moved = *place + if u < 0.5 { -step } else { step };
                    *place = if (0.0..1.0).contains(&moved) {
                        moved
                    } else {
                        2.0 * *place - moved
                    };
                }
                Some(_) => *place = u,
                None if random.chance(self.recipe.to_bound) => *place = u.round(),
                None if u < 0.5 => {
                    let inner = 2.0 * u + (1.0 - 2.0 * u) * power16(1.0 - *place);
                    *place = (*place + root16(inner) - 1.0).clamp(0.0, 1.0);
                }
                None => {
                    let inner = 2.0 * (1.0 - u) + (2.0 * u - 1.0) * power16(*place);
                    *place = (*place + 1.0 - root16(inner)).clamp(0.0, 1.0);
                }
            }
        }
    }
}

/// A place that has left 0 to 1 goes somewhere between the bound and where it came from.
fn back_inside(from: f64, moved: f64, random: &mut Random) -> f64 {
    if moved < 0.0 {
        from * random.unit()
    } else if moved > 1.0 {
        1.0 + (from - 1.0) * random.unit()
    } else {
        moved
    }
}

/// Sixteenth root by square roots: the same on every platform, and quick.
fn root16(x: f64) -> f64 {
    x.sqrt().sqrt().sqrt().sqrt()
}

fn power16(x: f64) -> f64 {
    let square = |x: f64| x * x;
    square(square(square(square(x))))
}
