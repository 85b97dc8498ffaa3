//! The few designs of a front that people look for first: its ends, its knee, and some between.

use crate::analyse;
use crate::run::Finished;

/// A design that stands out on a front.
#[derive(Clone, Debug, PartialEq)]
pub struct Landmark {
    /// Design.
    pub design: usize,
    /// What it is: `least mass`, `knee`; empty for one that fills a gap.
    pub what: String,
    /// Whether it gives away least of every objective at once.
    pub knee: bool,
}

/// The ends of a run's front (best in each objective), its knee, and designs spread between them up to `most`, in the
/// order of the front. Fewer where the front is smaller; none where no design is feasible.
pub fn landmarks(run: &Finished, most: usize) -> Vec<Landmark> {
    let rows: Vec<Vec<f64>> = run
        .front
        .iter()
        .map(|&design| losses(run, design))
        .collect();
    let mut chosen: Vec<(usize, String, bool)> = Vec::new();
    for (index, goal) in run.goals.iter().enumerate() {
        let best = (0..rows.len()).min_by(|&a, &b| rows[a][index].total_cmp(&rows[b][index]));
        let name = run
            .columns
            .get(goal.column)
            .map_or("?", |column| &column.name);
        let what = format!("{} {name}", if goal.most { "most" } else { "least" });
        add(&mut chosen, best, &what, false);
    }
    add(&mut chosen, analyse::knee(&rows), "knee", true);
    chosen.truncate(most.max(1));
    // Spread ones, as many as there is room for beside those that are named.
    for count in 1..=most {
        for row in analyse::spread(&rows, count) {
            if chosen.len() < most && !chosen.iter().any(|(known, ..)| *known == row) {
                chosen.push((row, String::new(), false));
            }
        }
    }
    chosen.sort_by_key(|(row, ..)| *row);
    let named = |(row, what, knee): (usize, String, bool)| Landmark {
        design: run.front[row],
        what,
        knee,
    };
    chosen.into_iter().map(named).collect()
}

fn add(chosen: &mut Vec<(usize, String, bool)>, row: Option<usize>, what: &str, knee: bool) {
    let Some(row) = row else { return };
    match chosen.iter_mut().find(|(known, ..)| *known == row) {
        Some((_, words, was_knee)) => {
            *words = format!("{words}, {what}");
            *was_knee |= knee;
        }
        None => chosen.push((row, what.into(), knee)),
    }
}

/// The objectives of a design, each so that less is better.
fn losses(run: &Finished, design: usize) -> Vec<f64> {
    let row = run.designs.row(design);
    let value = |column: usize| row.get(column).copied().unwrap_or(f64::NAN);
    run.goals
        .iter()
        .map(|goal| match goal.most {
            true => -value(goal.column),
            false => value(goal.column),
        })
        .collect()
}
