//! How good the search is: `cargo bench --bench search`.
//!
//! Runs every published test problem with eleven seeds at three budgets and writes `results/benchmarks/search.csv`
//! and `.md`: the hypervolume of all designs found as a share of the reference front's (median over the seeds),
//! beside that of general libraries and of the best recipe known to us. The seeds are not those that the search was
//! tuned with. `cargo bench --bench search -- OSY TNK` prints some problems only and writes nothing.
//!
//! `cargo bench --bench search -- ingredients` leaves out one part of the search at a time and writes
//! `results/benchmarks/search-ingredients.md`.

#[path = "../tests/support/mod.rs"]
mod support;

use std::cmp::Ordering;
use std::fmt::Write as _;
use std::path::Path;

use fretwork::explore::{Ingredient, Known, Next, Plan, Problem, Settings, explore};
use rayon::prelude::*;
use support::problems::{TestProblem, all};
use support::reference::{Reference, Rivals, fronts, geometric_mean, quartiles, rivals};

const BUDGETS: [usize; 3] = [2_000, 5_000, 10_000];
const SEEDS: std::ops::RangeInclusive<u64> = 1_001..=1_011;
/// A front found may be better than the reference front; a gap below this is none.
const NO_GAP: f64 = 1e-6;

/// One problem at one budget.
struct Line {
    name: &'static str,
    group: &'static str,
    budget: usize,
    /// Lower quartile, median and upper quartile over the seeds.
    ratios: [f64; 3],
    rivals: Rivals,
}

impl Line {
    /// Our gap over another's.
    fn gap_over(&self, other: f64) -> f64 {
        gap(self.ratios[1]) / gap(other)
    }
}

fn gap(ratio: f64) -> f64 {
    (1.0 - ratio).max(NO_GAP)
}

fn main() {
    let chosen: Vec<String> = std::env::args()
        .skip(1)
        .filter(|argument| !argument.starts_with('-'))
        .collect();
    if chosen == ["ingredients"] {
        return write("search-ingredients.md", &ingredients());
    }
    let mut lines = Vec::new();
    for problem in all() {
        if chosen.is_empty() || chosen.iter().any(|name| name == problem.name) {
            for budget in BUDGETS {
                let line = Line {
                    name: problem.name,
                    group: problem.group(),
                    budget,
                    ratios: measure(&problem, budget, &[]),
                    rivals: rivals(problem.name, budget),
                };
                println!("{}", row(&line));
                lines.push(line);
            }
        }
    }
    println!("{}", summary(&lines));
    if chosen.is_empty() {
        write("search.csv", &table(&lines));
        write("search.md", &page(&lines));
    }
}

fn write(name: &str, text: &str) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("results/benchmarks");
    std::fs::create_dir_all(&folder).expect("a folder");
    std::fs::write(folder.join(name), text).expect("a file");
}

/// Quartiles of the shares found, without some ingredients.
fn measure(problem: &TestProblem, budget: usize, without: &[Ingredient]) -> [f64; 3] {
    let reference: &Reference = &fronts()[problem.name];
    let ratio = |seed| {
        let settings = Settings {
            without: without.to_vec(),
            ..Settings::new(Plan::Search, budget, seed)
        };
        let run = explore(problem, &settings, Known::default(), &mut |_| {
            Next::Continue
        });
        reference.ratio(&run.expect("a run"), problem.width())
    };
    quartiles(SEEDS.into_par_iter().map(ratio).collect())
}

/// What the search loses without each of its ingredients.
fn ingredients() -> String {
    use Ingredient::*;
    let parts = [
        (Differential, "differential evolution (crossover alone)"),
        (Crossover, "crossover (differential evolution alone)"),
        (Neighbours, "breeding with neighbours"),
        (Ends, "breeding from the ends"),
        (Bounds, "mutation to the bounds"),
        (Limits, "going back to the limits"),
        (Gaps, "filling gaps"),
        (Growth, "growth (100 members throughout)"),
        (Hypervolume, "hypervolume (distance instead)"),
    ];
    let mut problems = all();
    problems.retain(|problem| !problem.name.starts_with("RE"));
    let mut rows = vec![String::new(); parts.len()];
    for budget in BUDGETS {
        let gaps = |without: &[Ingredient]| -> Vec<f64> {
            let median = |problem| gap(measure(problem, budget, without)[1]);
            problems.iter().map(median).collect()
        };
        let whole = gaps(&[]);
        for (row, (part, _)) in rows.iter_mut().zip(&parts) {
            let ratios: Vec<f64> = gaps(&[*part])
                .iter()
                .zip(&whole)
                .map(|(a, b)| a / b)
                .collect();
            let left = |k: &usize| whole[*k] > 10.0 * NO_GAP;
            let (worst, most) = (0..ratios.len())
                .filter(left)
                .map(|k| (problems[k].name, ratios[k]))
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .expect("problems");
            let constrained: Vec<f64> = (0..ratios.len())
                .filter(left)
                .filter(|&k| problems[k].constraints() > 0)
                .map(|k| ratios[k])
                .collect();
            let every: Vec<f64> = (0..ratios.len()).filter(left).map(|k| ratios[k]).collect();
            let _ = write!(
                row,
                " {:.2} | {:.2} | {worst} {most:.1} |",
                geometric_mean(&constrained),
                geometric_mean(&every),
            );
        }
    }
    let mut text = format!(
        "# What each part of the search is worth\n\n\
         Made by `cargo bench --bench search -- ingredients`; seeds {} to {}. The gap to the reference front without \
         a part over the gap with all parts (medians of eleven seeds; above 1: the part helps), as geometric mean over \
         the constrained and mixed problems, over those and the analytic ones (where there is a gap left to \
         speak of), and where it matters most.\n\n\
         | without |",
        SEEDS.start(),
        SEEDS.end(),
    );
    for budget in BUDGETS {
        let _ = write!(text, " {budget}: constrained | all | most |");
    }
    text += "\n|---|";
    text += &"---|".repeat(3 * BUDGETS.len());
    for (row, (_, name)) in rows.iter().zip(&parts) {
        let _ = write!(text, "\n| {name} |{row}");
    }
    text + "\n"
}

fn row(line: &Line) -> String {
    let Rivals {
        nsga2,
        best,
        ref best_algorithm,
        recipe,
    } = line.rivals;
    let recipe = recipe.map_or("".into(), |recipe| format!("{recipe:.6}"));
    let verdict = match line.ratios[1].total_cmp(&best) {
        Ordering::Greater => "ahead",
        Ordering::Equal => "level",
        Ordering::Less => "behind",
    };
    format!(
        "| {} | {} | {:.6} | {:.6} to {:.6} | {nsga2:.6} | {best:.6} {best_algorithm} | {recipe} | {:.3} | {verdict} |",
        line.name,
        line.budget,
        line.ratios[1],
        line.ratios[0],
        line.ratios[2],
        line.gap_over(nsga2),
    )
}

/// Geometric means of gap ratios by group and budget.
fn summary(lines: &[Line]) -> String {
    let mut text = String::from(
        "| problems | evaluations | gap over NSGA-II's | over the best library's | over the recipe's |\n\
         |---|---|---|---|---|\n",
    );
    let mut groups: Vec<&str> = lines.iter().map(|line| line.group).collect();
    groups.dedup();
    for group in groups {
        for budget in BUDGETS {
            let of = |line: &&Line| line.group == group && line.budget == budget;
            let mean = |pick: &dyn Fn(&Line) -> Option<f64>| {
                let figures: Vec<f64> = lines.iter().filter(of).filter_map(pick).collect();
                if figures.is_empty() {
                    return String::from("-");
                }
                format!("{:.3} ({})", geometric_mean(&figures), figures.len())
            };
            let _ = writeln!(
                text,
                "| {group} | {budget} | {} | {} | {} |",
                mean(&|line| Some(line.gap_over(line.rivals.nsga2))),
                mean(&|line| Some(line.gap_over(line.rivals.best))),
                mean(&|line| line.rivals.recipe.map(|recipe| line.gap_over(recipe))),
            );
        }
    }
    text
}

fn page(lines: &[Line]) -> String {
    let behind: Vec<String> = lines
        .iter()
        .filter(|line| line.ratios[1] < line.rivals.best)
        .map(|line| format!("{} at {}", line.name, line.budget))
        .collect();
    let behind = match behind.is_empty() {
        true => "nowhere".to_string(),
        false => behind.join(", "),
    };
    let rows: String = lines.iter().map(|line| row(line) + "\n").collect();
    format!(
        "# How good the search is\n\n\
         Made by `cargo bench --bench search`; seeds {} to {}, which nothing was tuned with. A figure is the \
         hypervolume of all designs found over the reference front's own: objectives scaled by ideal and nadir of \
         the reference front, reference point 1.1 in each, median of eleven seeds. *Gap* is 1 less that figure, at \
         least {NO_GAP:e}. Figures of others: `tests/data/optimiser/README.md`. The reference fronts of the problems \
         RE.. are approximations that a search can pass.\n\n\
         Behind the best library: {behind}.\n\n{}\n\
         In brackets the number of problems.\n\n\
         | problem | evaluations | found | quartiles | NSGA-II | best library | recipe | gap over NSGA-II's | |\n\
         |---|---|---|---|---|---|---|---|---|\n{rows}",
        SEEDS.start(),
        SEEDS.end(),
        summary(lines),
    )
}

fn table(lines: &[Line]) -> String {
    let mut text = String::from(
        "problem,group,evaluations,ratio_q25,ratio_median,ratio_q75,nsga2,best_library,best_algorithm,recipe,\
         gap_over_nsga2,gap_over_best,gap_over_recipe\n",
    );
    for line in lines {
        let Rivals {
            nsga2,
            best,
            ref best_algorithm,
            recipe,
        } = line.rivals;
        let of_recipe =
            |pick: &dyn Fn(f64) -> f64| recipe.map_or("".into(), |r| format!("{:.6}", pick(r)));
        let _ = writeln!(
            text,
            "{},{},{},{:.6},{:.6},{:.6},{nsga2},{best},{best_algorithm},{},{:.6},{:.6},{}",
            line.name,
            line.group,
            line.budget,
            line.ratios[0],
            line.ratios[1],
            line.ratios[2],
            of_recipe(&|r| r),
            line.gap_over(nsga2),
            line.gap_over(best),
            of_recipe(&|r| line.gap_over(r)),
        );
    }
    text
}
