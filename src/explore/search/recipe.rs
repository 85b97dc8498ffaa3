//! What the search is made of, and how much of each.

use super::super::{Ingredient, Settings};

/// Shares and sizes that decide what is tried next. What each is worth: `results/benchmarks/search-ingredients.md`.
#[derive(Clone, Debug)]
pub(super) struct Recipe {
    /// Bounds of the share of children by differential evolution; the others come from crossover.
    pub(super) differential: (f64, f64),
    /// Share of children of the front that are bred with its neighbours there, whose differences point along it.
    pub(super) neighbours: f64,
    /// Share of children whose parent is an end of the front: where ends stay back, the whole front does.
    pub(super) from_end: f64,
    /// Share of mutations of a continuous axis that go to one of its bounds. Good frames often lie there.
    pub(super) to_bound: f64,
    /// Largest share of children that go back to the limits crossed.
    pub(super) crossings: f64,
    /// Largest share of children that fill gaps of the front.
    pub(super) gaps: f64,
    /// Smallest and largest population.
    population: (usize, usize),
    /// Members for the square root of the designs evaluated: up to two objectives, and for each more.
    growth: (f64, f64),
    /// Whether hypervolume decides who survives of a front, or distance.
    pub(super) by_hypervolume: bool,
}

/// Children of a generation, as a share of the population, and at least: enough work for some threads.
const CHILDREN: (f64, usize) = (0.4, 16);
/// Population where it does not grow: the usual one.
const FIXED: usize = 100;

impl Recipe {
    /// The recipe without what the settings leave out.
    pub(super) fn new(settings: &Settings) -> Self {
        let mut recipe = Self {
            differential: (0.2, 0.8),
            neighbours: 0.8,
            from_end: 0.2,
            to_bound: 0.2,
            crossings: 0.5,
            gaps: 0.3,
            population: (20, 500),
            growth: (0.6, 0.3),
            by_hypervolume: true,
        };
        for ingredient in &settings.without {
            match ingredient {
                Ingredient::Differential => recipe.differential = (0.0, 0.0),
                Ingredient::Crossover => recipe.differential = (1.0, 1.0),
                Ingredient::Neighbours => recipe.neighbours = 0.0,
                Ingredient::Ends => recipe.from_end = 0.0,
                Ingredient::Bounds => recipe.to_bound = 0.0,
                Ingredient::Limits => recipe.crossings = 0.0,
                Ingredient::Gaps => recipe.gaps = 0.0,
                Ingredient::Growth => recipe.population = (FIXED, FIXED),
                Ingredient::Hypervolume => recipe.by_hypervolume = false,
            }
        }
        recipe
    }

    /// Members of the population after a number of evaluations: few at first, which move fast (what they pass by
    /// stays in the archive); many later, which cover the front.
    pub(super) fn population(&self, evaluations: usize, objectives: usize) -> usize {
        let growth = self.growth.0 + self.growth.1 * objectives.saturating_sub(2) as f64;
        let members = (growth * (evaluations as f64).sqrt()) as usize;
        members.clamp(self.population.0, self.population.1)
    }

    /// Children of a generation.
    pub(super) fn children(&self, members: usize) -> usize {
        ((CHILDREN.0 * members as f64) as usize).max(CHILDREN.1)
    }
}
