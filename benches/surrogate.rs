//! Search by Gaussian processes beside the evolutionary search and a general library's: `cargo bench --bench
//! surrogate`. Writes `results/benchmarks/surrogate.md`; takes some ten minutes on two cores.
//!
//! Other problems or fewer seeds: `cargo bench --bench surrogate -- --seeds 1 OSY CRE24` prints the table and writes
//! nothing.

#[path = "../tests/support/mod.rs"]
mod support;

use std::fmt::Write;
use std::time::Instant;

use fretwork::explore::{Known, Next, Outcome, Plan, Problem, Settings, explore};
use support::problems::TestProblem;
use support::reference::{self, Reference, median};

const PROBLEMS: [&str; 13] = [
    "BNH", "TNK", "OSY", "WELDED", "CRE21", "CRE22", "CRE24", "CRE25", "HATCH", "PVESSEL", "CRE31",
    "CRE32", "DTLZ2",
];
const BUDGETS: [usize; 3] = [50, 100, 200];
const SEEDS: u64 = 3;
const BATCH: usize = 4;

const HEAD: &str = "# Search by Gaussian processes

Hypervolume of everything evaluated as a share of the reference front's (objectives scaled by ideal and nadir, reference
point 1.1), medians; problems and reference fronts of `tests/data/optimiser`. *Processes*: designs chosen four at a time,
after 50, 100 and 200 evaluations of one run. *Search*: this project's evolutionary search with a budget of as many.
*Library*: NSGA-II of a general library after 2,000, 5,000 and 10,000 evaluations. The time is that of choosing and evaluating
a design, averaged over a run of 200, on whatever else the machine was doing.
Three constants of the method were chosen on the same seeds of OSY, CRE24, WELDED, HATCH and DTLZ2, whose rows flatter it
somewhat.
";

fn run(problem: &TestProblem, plan: Plan, budget: usize, seed: u64) -> Outcome {
    explore(
        problem,
        &Settings::new(plan, budget, seed),
        Known::default(),
        &mut |_| Next::Continue,
    )
    .expect("a run")
}

/// What a run knew after some evaluations.
fn share(
    reference: &Reference,
    problem: &TestProblem,
    outcome: &Outcome,
    evaluations: usize,
) -> f64 {
    let width = problem.width();
    let rows = &outcome.rows[..evaluations * width];
    let (objectives, constraints) = (problem.objectives(), problem.constraints());
    let feasible = (0..evaluations).filter(|design| {
        let row = &rows[design * width..(design + 1) * width];
        fretwork::explore::violation(row, objectives, constraints) == 0.0
    });
    let part = Outcome {
        rows: rows.to_vec(),
        front: feasible.collect(),
        ..outcome.clone()
    };
    reference.ratio(&part, width)
}

/// The library's figures at its three budgets.
fn library(name: &str) -> String {
    let table = include_str!("../tests/data/optimiser/search_reference.csv");
    let figure = |budget: usize| {
        let start = format!("{name},NSGA2,{budget},");
        let row = table.lines().find(|line| line.starts_with(&start));
        let figure = row.and_then(|row| row.split(',').nth(4));
        let figure = figure.and_then(|figure| figure.parse::<f64>().ok());
        figure.map_or(String::from("-"), |figure| format!("{figure:.4}"))
    };
    [2_000, 5_000, 10_000].map(figure).join(" / ")
}

fn main() {
    let arguments: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| a != "--bench")
        .collect();
    let mut seeds = SEEDS;
    let mut names: Vec<&str> = Vec::new();
    let mut rest = arguments.iter();
    while let Some(argument) = rest.next() {
        match argument.as_str() {
            "--seeds" => seeds = rest.next().and_then(|n| n.parse().ok()).expect("a number"),
            name => names.push(name),
        }
    }
    let named = !names.is_empty();
    if !named {
        names.extend(PROBLEMS);
    }
    let fronts = reference::fronts();
    let mut text = format!(
        "{HEAD}\nMedians of {seeds} seeds. Made by `cargo bench --bench surrogate`.\n\n| problem | processes 50 / 100 / 200 \
         | search 50 / 100 / 200 | library 2,000 / 5,000 / 10,000 | s a design |\n|---|---|---|---|---|\n"
    );
    for name in names {
        let problem = support::problems::named(name);
        let reference = &fronts[name];
        let mut found = [const { Vec::new() }; 3];
        let mut searched = [const { Vec::new() }; 3];
        let mut times = Vec::new();
        for seed in 1..=seeds {
            let start = Instant::now();
            let most = BUDGETS[2];
            let outcome = run(&problem, Plan::Surrogate { batch: BATCH }, most, seed);
            times.push(start.elapsed().as_secs_f64() / most as f64);
            for (k, &budget) in BUDGETS.iter().enumerate() {
                let known = budget.min(outcome.rows.len() / problem.width());
                found[k].push(share(reference, &problem, &outcome, known));
                let search = run(&problem, Plan::Search, budget, seed);
                searched[k].push(reference.ratio(&search, problem.width()));
            }
        }
        let cells = |shares: [Vec<f64>; 3]| {
            shares
                .map(|shares| format!("{:.4}", median(shares)))
                .join(" / ")
        };
        let line = format!(
            "| {name} | {} | {} | {} | {:.3} |",
            cells(found),
            cells(searched),
            library(name),
            median(times)
        );
        eprintln!("{line}");
        writeln!(text, "{line}").expect("text grows");
    }
    print!("{text}");
    if !named && seeds == SEEDS && std::env::args().any(|argument| argument == "--bench") {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/results/benchmarks");
        std::fs::create_dir_all(folder).expect("a folder");
        std::fs::write(format!("{folder}/surrogate.md"), text).expect("a file");
    }
}
