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

/// Lower quartile, median, upper quartile.
pub fn quartiles(mut values: Vec<f64>) -> [f64; 3] {
    values.sort_by(f64::total_cmp);
    [1, 2, 3].map(|k| values[k * (values.len() - 1) / 4])
}

pub fn geometric_mean(values: &[f64]) -> f64 {
    (values.iter().map(|value| value.ln()).sum::<f64>() / values.len() as f64).exp()
}

/// How well others did on a problem with a budget: hypervolume of all they found, over the reference front's.
#[derive(Clone, Debug)]
pub struct Rivals {
    pub nsga2: f64,
    pub best: f64,
    pub best_algorithm: String,
    /// The recipe was not measured everywhere.
    pub recipe: Option<f64>,
}

pub fn rivals(problem: &str, evaluations: usize) -> Rivals {
    let library = include_str!("../data/optimiser/search_reference.csv");
    let cells = |line: &'static str| line.split(',').collect::<Vec<&str>>();
    let of_this = |cells: &Vec<&str>, column: usize| {
        cells[0] == problem && cells[column] == evaluations.to_string()
    };
    let figures: Vec<(&str, f64)> = library
        .lines()
        .map(cells)
        .filter(|cells| of_this(cells, 2))
        .map(|cells| (cells[1], cells[4].parse().expect("a number")))
        .collect();
    let best = figures
        .iter()
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .expect("a library's figure");
    let nsga2 = figures.iter().find(|figure| figure.0 == "NSGA2");
    let recipe = include_str!("../data/optimiser/recipe.csv")
        .lines()
        .map(cells)
        .find(|cells| of_this(cells, 1));
    Rivals {
        nsga2: nsga2.expect("a figure of NSGA-II").1,
        best: best.1,
        best_algorithm: best.0.into(),
        recipe: recipe.map(|cells| cells[3].parse().expect("a number")),
    }
}
