//! Whether a study is still the one that a run explored.

use super::records::Place;
use super::{mistaken, source, tell};
use crate::cli::Failure;
use crate::ledger::{Difference, differences};
use crate::run::{Overrides, Prepared, Role, prepare};
use crate::store::Stored;

/// Keys of these that nobody need be told of: they change with every run and revision.
const SMALL: [&str; 5] = ["title", "notes", "seed", "explore", "baseline"];

/// Keys of a study that no figure of a design follows from.
const FREE: [&str; 9] = [
    "title",
    "notes",
    "seed",
    "explore",
    "baseline",
    "constraints",
    "objective",
    "robust",
    "variables",
];

/// That the study is still the one that the run explored, as far as figures follow from it. Says what else has changed.
///
/// `what` is done with the run otherwise: `adopt`.
///
/// # Errors
/// What has changed, where `despite_changes` does not say that it may; a study that can't be read.
pub(super) fn refuse_changed(
    place: &Place,
    stored: &Stored,
    despite_changes: bool,
    what: &str,
) -> Result<(), Failure> {
    let Some(file) = &place.study else {
        tell(&format!(
            "no study stands beside {}: whether it changed since the run is not known",
            place.ledger.display()
        ));
        return Ok(());
    };
    let now = source(file)?;
    let prepared = match prepare(&now, Overrides::default()) {
        Ok(prepared) => prepared,
        Err(_) if despite_changes => return Ok(()),
        Err(mistakes) => return Err(mistaken(&mistakes)),
    };
    let Since {
        binding, others, ..
    } = since(stored, &now.text, &prepared);
    if binding.is_empty() || despite_changes {
        let told = [binding, others].concat();
        if !told.is_empty() {
            tell(&format!(
                "the study has changed since the run:\n  {}",
                few(&told).join("\n  ")
            ));
        }
        return Ok(());
    }
    Err(Failure::call(
        format!(
            "{} has changed since the run, and figures follow from that:\n  {}",
            file.display(),
            few(&binding).join("\n  ")
        ),
        format!(
            "run the study again and {what} from that run; or {what} all the same: --despite-changes"
        ),
    ))
}

/// What differs between a run's study and the study as it is now, in words, a line each.
pub(super) struct Since {
    /// What figures of designs follow from.
    pub binding: Vec<String>,
    /// What else differs; titles, notes, seeds, plans and baselines aside.
    pub others: Vec<String>,
    /// Whether the baseline is another one.
    pub baseline: bool,
}

/// What differs between the study that a run explored and its text as it is now, read as `prepared`.
pub(super) fn since(stored: &Stored, now: &str, prepared: &Prepared) -> Since {
    let all = differences(&stored.study_text, now).unwrap_or_default();
    let was: Vec<&str> = of_role(stored, Role::Variable).collect();
    let is: Vec<&str> = prepared
        .study
        .variables
        .iter()
        .map(|each| each.name.as_str())
        .collect();
    // Ranges may change, dimensions that come or go make other parts of the same numbers.
    let free = |difference: &&Difference| {
        let mut path = difference.key.split(['.', '[']);
        let (top, name) = (
            path.next().unwrap_or_default(),
            path.next().unwrap_or_default(),
        );
        FREE.contains(&top) && (top != "variables" || was.contains(&name) == is.contains(&name))
    };
    let mut binding: Vec<String> = all.iter().filter(|each| !free(each)).map(words).collect();
    let entries =
        differences(&stored.catalogue_text, &prepared.job.catalogue_text).unwrap_or_default();
    binding.extend(
        entries
            .iter()
            .map(|each| format!("catalogue: {}", words(each))),
    );
    let small =
        |each: &&Difference| SMALL.contains(&each.key.split('.').next().unwrap_or_default());
    let others: Vec<String> = all
        .iter()
        .filter(|each| free(each) && !small(each))
        .map(words)
        .collect();
    let top =
        |each: &Difference| each.key.split(['.', '[']).next().unwrap_or_default() == "baseline";
    Since {
        binding,
        others,
        baseline: all.iter().any(top),
    }
}

/// Names of the columns of a role.
fn of_role(stored: &Stored, role: Role) -> impl Iterator<Item = &str> {
    let columns = stored
        .columns
        .iter()
        .filter(move |column| column.role == role);
    columns.map(|column| column.name.as_str())
}

fn words(difference: &Difference) -> String {
    let Difference { key, before, after } = difference;
    let text = match (before, after) {
        (Some(before), Some(after)) => format!("{key}: {before} is now {after}"),
        (Some(before), None) => format!("{key}: {before} is gone"),
        (None, Some(after)) => format!("{key}: {after} is new"),
        (None, None) => key.clone(),
    };
    let clean = crate::cli::table::clean(&text);
    match clean.chars().count() {
        0..=150 => clean,
        _ => clean.chars().take(149).chain(['…']).collect(),
    }
}

/// The first lines of many.
pub(super) fn few(lines: &[String]) -> Vec<String> {
    const MOST: usize = 12;
    let mut all: Vec<String> = lines.iter().take(MOST).cloned().collect();
    if lines.len() > MOST {
        all.push(format!("and {} more", lines.len() - MOST));
    }
    all
}
