//! What scatters in a part: quantities with their distributions, and the independent sources that move them.

use super::distribution::{Distribution, Shape};
use super::recipe::{Of, ScatterPlan, ScatterRecipe};
use crate::machining::tolerance::{Common, Dimension, Made, Toleranced};

/// What of a design a quantity is.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// A design variable, by its index.
    Variable(usize),
    /// Modulus of elasticity.
    Modulus,
    /// Density.
    Density,
    /// Yield strength.
    Yield,
    /// A load case, by its index.
    Load(usize),
    /// Dimensions of the part that are one and the same: a wall that runs on through a boss, the holes of one drill.
    Dimensions(Vec<Dimension>),
}

/// A quantity that scatters.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// In words: `outer wall, thickness`.
    pub name: String,
    /// What it is.
    pub what: What,
    /// Its deviation: in mm of a dimension, in base units of a variable, as a share of the nominal value otherwise.
    pub distribution: Distribution,
    /// Independent sources that move it, by their place among the scores, each with its part in the quantity's own
    /// score; the squares add up to 1.
    pub loadings: Vec<(usize, f64)>,
}

/// The quantities of a design and where their scores come from.
#[derive(Clone, Debug, PartialEq)]
pub struct Sources {
    /// What scatters.
    pub quantities: Vec<Quantity>,
    /// Number of scores; some may move nothing in this design.
    pub scores: usize,
    /// The sources that move something: place of the score, and what it is.
    pub used: Vec<(usize, String)>,
}

impl Sources {
    /// What scatters in a part whose process gives these tolerances, with the variables' values in base units.
    pub(super) fn of(plan: &ScatterPlan, variables: &[f64], given: &[Toleranced]) -> Sources {
        let commons = commons(&plan.recipes);
        let mut sources = Sources {
            quantities: Vec::with_capacity(plan.recipes.len() + given.len()),
            scores: Common::ALL.len() + commons.len(),
            used: Vec::new(),
        };
        for recipe in &plan.recipes {
            let own = sources.next();
            let what = match &recipe.of {
                Of::Variable(index) => What::Variable(*index),
                Of::Modulus => What::Modulus,
                Of::Density => What::Density,
                Of::Yield => What::Yield,
                Of::Load(index) => What::Load(*index),
                Of::Dimension(_) => continue,
            };
            let nominal = match what {
                What::Variable(index) if recipe.relative => variables[index],
                _ => 1.0,
            };
            sources.add(recipe, own, &commons, what, nominal);
        }
        // A place for every dimension, whether or not it shares that of another, so that scores keep theirs.
        let places: Vec<usize> = given.iter().map(|_| sources.next()).collect();
        let mut first: Vec<(usize, usize)> = Vec::with_capacity(given.len());
        for (index, each) in given.iter().enumerate() {
            // Nothing is known of a bore that stands beside the path.
            if matches!(each.dimension, Dimension::BorePosition(_)) {
                continue;
            }
            if let Some((_, quantity)) = first.iter().find(|(other, _)| same(&given[*other], each))
            {
                let what = &mut sources.quantities[*quantity].what;
                if let What::Dimensions(list) = what {
                    list.push(each.dimension);
                }
                continue;
            }
            let own = places[index];
            let what = What::Dimensions(vec![each.dimension]);
            let said = |recipe: &&ScatterRecipe| matches!(&recipe.of, Of::Dimension(name) if *name == each.name);
            match (plan.recipes.iter().find(said), plan.process) {
                (Some(recipe), _) => {
                    let nominal = if recipe.relative { each.size_mm } else { 1.0 };
                    sources.add(recipe, own, &commons, what, nominal);
                }
                (None, Some(shape)) => sources.of_process(each, shape, own, what),
                (None, None) => continue,
            }
            first.push((index, sources.quantities.len() - 1));
        }
        sources.quantities.retain(|quantity| {
            quantity.distribution.sd() > 0.0 || quantity.distribution.mean() != 0.0
        });
        sources.single_out();
        sources.name(&commons);
        sources
    }

    fn next(&mut self) -> usize {
        self.scores += 1;
        self.scores - 1
    }

    fn add(
        &mut self,
        recipe: &ScatterRecipe,
        own: usize,
        commons: &[String],
        what: What,
        nominal: f64,
    ) {
        let place = recipe
            .common
            .as_ref()
            .and_then(|name| commons.iter().position(|each| each == name));
        self.quantities.push(Quantity {
            name: recipe.name.clone(),
            what,
            distribution: recipe.distribution.scaled(nominal),
            loadings: loadings(
                place.map(|place| (Common::ALL.len() + place, recipe.share)),
                own,
            ),
        });
    }

    fn of_process(&mut self, each: &Toleranced, shape: Shape, own: usize, what: What) {
        let place = |common: Common| {
            let mut all = Common::ALL.iter();
            all.position(|other| *other == common).unwrap_or(0)
        };
        let common = each.made.common();
        self.quantities.push(Quantity {
            name: each.name.clone(),
            what,
            distribution: Distribution::of_tolerance(shape, each.tolerance.plus_minus_mm),
            loadings: loadings(common.map(|(common, share)| (place(common), share)), own),
        });
    }

    /// What one quantity alone would have in common is its own.
    fn single_out(&mut self) {
        let moved = |quantities: &[Quantity], score: usize| {
            let moves = |quantity: &&Quantity| quantity.loadings.iter().any(|each| each.0 == score);
            quantities.iter().filter(moves).count()
        };
        for index in 0..self.quantities.len() {
            let loadings = &self.quantities[index].loadings;
            let alone = loadings
                .iter()
                .all(|(score, _)| moved(&self.quantities, *score) == 1);
            if alone && let Some(last) = loadings.last().copied() {
                self.quantities[index].loadings = vec![(last.0, 1.0)];
            }
        }
    }

    fn name(&mut self, commons: &[String]) {
        for score in 0..self.scores {
            let moves = |quantity: &&Quantity| quantity.loadings.iter().any(|each| each.0 == score);
            let mut moved = self.quantities.iter().filter(moves);
            let Some(first) = moved.next() else { continue };
            let by_study = score.checked_sub(Common::ALL.len());
            let name = match (
                Common::ALL.get(score),
                by_study.and_then(|k| commons.get(k)),
            ) {
                (Some(common), _) => common.words().to_string(),
                (_, Some(common)) => common.clone(),
                _ => first.name.clone(),
            };
            self.used.push((score, name));
        }
    }
}

/// Names of dimensions, of those that are one the first.
pub(super) fn names(given: &[Toleranced]) -> Vec<String> {
    let first = |index: &usize| {
        !given[..*index]
            .iter()
            .any(|other| same(other, &given[*index]))
    };
    let all = (0..given.len()).filter(first);
    all.map(|index| given[index].name.clone()).collect()
}

/// The names of what recipes have in common, in order.
fn commons(recipes: &[ScatterRecipe]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in recipes.iter().filter_map(|recipe| recipe.common.as_ref()) {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}

fn loadings(common: Option<(usize, f64)>, own: usize) -> Vec<(usize, f64)> {
    match common {
        Some((place, share)) if share >= 1.0 => vec![(place, 1.0)],
        Some((place, share)) if share > 0.0 => {
            vec![(place, share.sqrt()), (own, (1.0 - share).sqrt())]
        }
        _ => vec![(own, 1.0)],
    }
}

/// Whether two dimensions are one: cut in one pass, made by one drill, or the thickness of one strip.
fn same(a: &Toleranced, b: &Toleranced) -> bool {
    let alike = a.made == b.made && a.size_mm == b.size_mm;
    match (a.dimension, b.dimension) {
        (Dimension::Width(_), Dimension::Width(_)) => alike,
        (Dimension::Thickness(_, x), Dimension::Thickness(_, y)) => {
            x == y && a.made == b.made && (a.made == Made::Strip || alike)
        }
        (Dimension::Height(_, x), Dimension::Height(_, y)) => x == y && alike,
        (
            Dimension::RowDiameter(_) | Dimension::BoreDiameter(_),
            Dimension::RowDiameter(_) | Dimension::BoreDiameter(_),
        ) => alike,
        (Dimension::SlitWidth(_), Dimension::SlitWidth(_)) => alike,
        _ => false,
    }
}
