//! Published figures of the test problems: read from `tests/data/optimiser`.

use std::collections::BTreeMap;

use fretwork::explore::{Outcome, hypervolume};

/// Front of a problem and how good other searches are.
#[derive(Clone, Debug)]
pub struct Reference {
    pub ideal: Vec<f64>,
    pub nadir: Vec<f64>,
    pub hypervolume: f64,
}

pub fn numbers(text: &str) -> Vec<f64> {
    text.split_whitespace()
        .map(|number| number.parse().expect("a number"))
        .collect()
}

/// Ideal, nadir and hypervolume of the reference fronts, by problem.
pub fn fronts() -> BTreeMap<String, Reference> {
    let table = include_str!("../data/optimiser/reference_fronts.csv");
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let reference = Reference {
            ideal: numbers(cells[4]),
            nadir: numbers(cells[5]),
            hypervolume: cells[7].parse().unwrap(),
        };
        (cells[0].to_string(), reference)
    };
    table.lines().skip(1).map(row).collect()
}

impl Reference {
    /// Hypervolume of a run's front as a share of the reference front's.
    pub fn ratio(&self, outcome: &Outcome, width: usize) -> f64 {
        let scaled = |design: &usize| {
            let goals = outcome.rows[design * width..].iter().take(self.ideal.len());
            goals
                .zip(self.ideal.iter().zip(&self.nadir))
                .map(|(f, (low, high))| (f - low) / (high - low))
                .collect()
        };
        let points: Vec<f64> = outcome
            .front
            .iter()
            .flat_map::<Vec<f64>, _>(scaled)
            .collect();
        hypervolume(&points, &vec![1.1; self.ideal.len()]) / self.hypervolume
    }
}

pub fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}
