//! What the items of a budget add up to.

use super::item::{BASES, Basis, Budget, MEASURES, Measure};
use super::options::Today;

/// A part of this project as it stands today, with the item (by index) that it is.
pub type Part = (usize, Today);

/// What a budget adds up to.
#[derive(Clone, Debug, PartialEq)]
pub struct Account {
    /// A line an item, in order.
    pub lines: Vec<Line>,
    /// Mass without allowance, in g.
    pub estimate: f64,
    /// Totals: mass with allowance in g, cost, cycle time in s; of what is told.
    pub totals: [f64; 3],
    /// Limits of the totals.
    pub limits: [Option<f64>; 3],
}

/// A line of an account.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Name of the item.
    pub name: String,
    /// Revision that it stands at: a letter, or `baseline`; `None` where it is no part of this project.
    pub revision: Option<String>,
    /// Pieces.
    pub quantity: usize,
    /// How its mass is known.
    pub basis: Basis,
    /// Growth allowance, as a share of the mass.
    pub growth: f64,
    /// Whether the budget gives that allowance; else it is the usual one.
    pub own_growth: bool,
    /// Mass of all pieces without allowance, in g.
    pub estimate: f64,
    /// Mass of all pieces with allowance in g, cost and cycle time in s of all pieces; `None` where not told.
    pub totals: [Option<f64>; 3],
}

impl Account {
    /// Adds up. `parts`: what the parts of this project are today; their figures stand in where the budget gives none.
    ///
    /// # Errors
    /// Index of an item whose mass nothing tells.
    pub fn of(budget: &Budget, parts: &[Part]) -> Result<Account, usize> {
        let mut lines = Vec::new();
        for (index, item) in budget.items.iter().enumerate() {
            let today = parts.iter().find(|(part, _)| *part == index);
            let today = today.map(|(_, today)| today);
            let each = |measure: Measure| {
                let own = item.each[measure as usize];
                own.or(today.and_then(|today| today.each[measure as usize]))
            };
            let pieces = item.quantity as f64;
            let mass = each(Measure::Mass).ok_or(index)? * pieces;
            let growth = item.allowance();
            lines.push(Line {
                name: item.name.clone(),
                revision: today.map(|today| today.label.clone()),
                quantity: item.quantity,
                basis: item.basis,
                growth,
                own_growth: item.growth.is_some(),
                estimate: mass,
                totals: [
                    Some(mass * (1.0 + growth)),
                    each(Measure::Cost).map(|cost| cost * pieces),
                    each(Measure::CycleTime).map(|time| time * pieces),
                ],
            });
        }
        let total = |measure: Measure| {
            let told = lines
                .iter()
                .filter_map(|line| line.totals[measure as usize]);
            told.sum()
        };
        Ok(Account {
            estimate: lines.iter().map(|line| line.estimate).sum(),
            totals: MEASURES.map(total),
            limits: budget.limits,
            lines,
        })
    }

    /// Growth allowance of all items together, in g.
    pub fn growth(&self) -> f64 {
        self.totals[0] - self.estimate
    }

    /// What is left below a limit, and that as a share of the limit; below 0 where it is passed. `None` without a limit.
    pub fn margin(&self, measure: Measure) -> Option<(f64, f64)> {
        let limit = self.limits[measure as usize]?;
        let left = limit - self.totals[measure as usize];
        Some((left, left / limit))
    }

    /// Share of each basis in the mass without allowance, in the order of [`BASES`]; 0 where nothing weighs anything.
    pub fn shares(&self) -> [f64; 3] {
        BASES.map(|basis| {
            let of_basis = self.lines.iter().filter(|line| line.basis == basis);
            let mass: f64 = of_basis.map(|line| line.estimate).sum();
            if self.estimate > 0.0 {
                mass / self.estimate
            } else {
                0.0
            }
        })
    }

    /// Items that do not tell a measure.
    pub fn silent(&self, measure: Measure) -> usize {
        let silent = self
            .lines
            .iter()
            .filter(|line| line.totals[measure as usize].is_none());
        silent.count()
    }
}
