//! The best choice of revisions over all parts.

use super::account::Account;
use super::item::{MEASURES, Measure};
use super::options::{Choice, Options};
use crate::analyse::{Combined, TooMany, combine};

/// A limit on a total.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bound {
    /// What is limited.
    pub measure: Measure,
    /// Its limit, over all items: mass with allowance in g, money, s.
    pub limit: f64,
}

/// What is asked of the whole product.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// What is to be least.
    pub least: Measure,
    /// What is looked at where several choices have equally little of it.
    pub then: Measure,
    /// Limits of totals.
    pub bounds: Vec<Bound>,
}

/// A choice for every part.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// What is taken for each part, by its place among the part's choices.
    pub takes: Vec<usize>,
    /// Mass of the whole product without allowance, in g.
    pub estimate: f64,
    /// Totals of the whole product: mass with allowance in g, cost, cycle time in s.
    pub totals: [f64; 3],
}

/// Every choice over all parts that no other beats in mass and another measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Overall {
    /// The other measure.
    pub against: Measure,
    /// Choices, the lightest first.
    pub offers: Vec<Offer>,
}

/// What stays as it is: the items without options.
struct Rest {
    estimate: f64,
    totals: [f64; 3],
}

impl Rest {
    fn of(account: &Account, parts: &[Options]) -> Rest {
        let rest = || {
            let stays = |item: &usize| !parts.iter().any(|options| options.item == *item);
            (0..account.lines.len())
                .filter(stays)
                .map(|item| &account.lines[item])
        };
        Rest {
            estimate: rest().map(|line| line.estimate).sum(),
            totals: MEASURES.map(|measure| {
                rest()
                    .filter_map(|line| line.totals[measure as usize])
                    .sum()
            }),
        }
    }

    /// The offer of a combined choice, its totals added up anew.
    fn with(&self, parts: &[Options], takes: &[usize]) -> Offer {
        let taken = || {
            parts
                .iter()
                .zip(takes)
                .map(|(options, take)| &options.choices[*take])
        };
        let total = |measure: Measure| {
            let of = |choice: &Choice| choice.totals[measure as usize];
            self.totals[measure as usize] + taken().map(of).sum::<f64>()
        };
        Offer {
            takes: takes.to_vec(),
            estimate: self.estimate + taken().map(|choice| choice.estimate).sum::<f64>(),
            totals: MEASURES.map(total),
        }
    }
}

fn combined(parts: &[Options], measures: &[Measure], at_most: &[f64]) -> Result<Combined, TooMany> {
    let points = |options: &Options| -> Vec<f64> {
        let of = |choice: &Choice| {
            measures
                .iter()
                .map(|measure| choice.totals[*measure as usize])
                .collect::<Vec<f64>>()
        };
        options.choices.iter().flat_map(of).collect()
    };
    let fronts: Vec<Vec<f64>> = parts.iter().map(points).collect();
    combine(&fronts, measures.len(), at_most)
}

/// Every choice over all parts that no other beats in mass and `against`, the lightest first. All parts tell `against`.
///
/// # Errors
/// The combination is too large.
pub fn overall(account: &Account, parts: &[Options], against: Measure) -> Result<Overall, TooMany> {
    let rest = Rest::of(account, parts);
    let combined = combined(parts, &[Measure::Mass, against], &[])?;
    let offers = (0..combined.len()).map(|at| rest.with(parts, combined.choice(at)));
    Ok(Overall {
        against,
        offers: offers.collect(),
    })
}

/// The best choice over all parts; `None` where no choice meets all limits. All parts tell what is asked for.
///
/// # Errors
/// The combination is too large.
pub fn ask(account: &Account, parts: &[Options], asked: &Asked) -> Result<Option<Offer>, TooMany> {
    let rest = Rest::of(account, parts);
    let mut measures = vec![asked.least];
    for measure in asked
        .bounds
        .iter()
        .map(|bound| bound.measure)
        .chain([asked.then])
    {
        if !measures.contains(&measure) {
            measures.push(measure);
        }
    }
    let limit = |measure: &Measure| {
        let of = asked
            .bounds
            .iter()
            .filter(|bound| bound.measure == *measure);
        let limit = of.map(|bound| bound.limit).fold(f64::INFINITY, f64::min);
        limit - rest.totals[*measure as usize]
    };
    let at_most: Vec<f64> = measures.iter().map(limit).collect();
    let combined = combined(parts, &measures, &at_most)?;
    // Totals rise in what is to be least.
    Ok((!combined.is_empty()).then(|| rest.with(parts, combined.choice(0))))
}
