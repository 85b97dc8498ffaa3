//! The parts of a budget: their studies, revisions and runs, found and read.

use std::path::{Path, PathBuf};

use super::budget::{Ask, told};
use super::changed::{Since, few, since};
use super::records;
use super::{mistaken, source};
use crate::budget::{Budget, Front, Item, Part, Problem, Source, Today};
use crate::cli::Failure;
use crate::ledger::Quantity;
use crate::run::{Overrides, Prepared, Role, design, prepare};
use crate::store::{self, Stored};

/// What was found of the parts.
pub(super) struct Found {
    /// Parts as they stand today.
    pub parts: Vec<Part>,
    /// Fronts of those that have a run, by item.
    pub fronts: Vec<(usize, Front)>,
    /// What the reader must know.
    pub remarks: Vec<String>,
}

/// Looks up every part of a budget.
///
/// # Errors
/// Studies, revisions and runs that there are not, with their places; a run of another study, or of one that has changed.
pub(super) fn find(ask: &Ask, budget: &Budget, text: &str) -> Result<Found, Failure> {
    let folder = ask.file.parent().unwrap_or(Path::new(""));
    let named = named_runs(ask, budget)?;
    let mut found = Found {
        parts: Vec::new(),
        fronts: Vec::new(),
        remarks: Vec::new(),
    };
    let mut problems = Vec::new();
    for (index, item) in budget.items.iter().enumerate() {
        let Some(of) = &item.source else { continue };
        match part(ask, item, of, folder, &named, &mut found.remarks)? {
            Ok((today, front)) => match today.weighed_by(item, &budget.currency) {
                Ok(today) => {
                    found.parts.push((index, today));
                    found.fronts.extend(front.map(|front| (index, front)));
                }
                Err(problem) => problems.push(problem),
            },
            Err(problem) => problems.push(problem),
        }
    }
    match problems.is_empty() {
        true => Ok(found),
        false => Err(told(&problems, text, &ask.file)),
    }
}

/// File stem of a study.
fn stem(study: &str) -> String {
    let stem = Path::new(study).file_stem();
    stem.map_or_else(String::new, |stem| stem.to_string_lossy().into_owned())
}

/// The runs that the call names, each with the study that it is one of.
fn named_runs(ask: &Ask, budget: &Budget) -> Result<Vec<(String, PathBuf)>, Failure> {
    let mut named: Vec<(String, PathBuf)> = Vec::new();
    let sources = || budget.items.iter().filter_map(|item| item.source.as_ref());
    for run in &ask.run {
        let study = store::Manifest::read(run)?.study;
        if !sources().any(|source| stem(&source.study) == study) {
            let mut studies: Vec<String> = sources().map(|source| stem(&source.study)).collect();
            studies.dedup();
            return Err(Failure::call(
                format!(
                    "{} is a run of {}, no part of the budget",
                    run.display(),
                    records::shown(&study)
                ),
                format!("the budget has parts of: {}", studies.join(", ")),
            ));
        }
        if let Some((_, other)) = named.iter().find(|(known, _)| *known == study) {
            return Err(Failure::call(
                format!(
                    "{} and {} are both runs of {study}",
                    other.display(),
                    run.display()
                ),
                "name one of them",
            ));
        }
        named.push((study, run.clone()));
    }
    Ok(named)
}

/// What a part is today, and the front of its run, if it has one; a problem in the budget by itself.
type Looked = Result<(Today, Option<Front>), Problem>;

fn part(
    ask: &Ask,
    item: &Item,
    of: &Source,
    folder: &Path,
    named: &[(String, PathBuf)],
    remarks: &mut Vec<String>,
) -> Result<Looked, Failure> {
    let file = folder.join(&of.study);
    let study = stem(&of.study);
    if !file.is_file() {
        let title = format!("there is no study {}", file.display());
        let problem = Problem::new(
            "budget/no-study",
            title,
            item.places.study.clone(),
            "no such file",
        );
        return Ok(Err(problem.mend(
            "name the file as it lies from the budget: study = \"yaw-ring.toml\"",
        )));
    }
    let now = source(&file)?;
    let prepared = prepare(&now, Overrides::default()).map_err(|mistakes| mistaken(&mistakes))?;
    let stored = match run(ask, item, of, folder, &study, named)? {
        Ok(stored) => stored,
        Err(problem) => return Ok(Err(problem)),
    };
    let mut same_baseline = false;
    if let Some(stored) = &stored {
        let changed = since(stored, &now.text, &prepared);
        same_baseline = !changed.baseline;
        if let Some(problem) = changed_since(ask, item, stored, &file, changed, remarks) {
            return Ok(Err(problem));
        }
    }
    let today = match &of.revision {
        None => {
            let as_run = stored.as_ref().filter(|_| same_baseline);
            if stored.is_some() && !same_baseline && prepared.evaluator.has_part() {
                remarks.push(format!(
                    "{}: the baseline changed since the run, so today's stiffness is the beam's",
                    item.name
                ));
            }
            baseline(item, &prepared, as_run)?
        }
        Some(letter) => match revision(item, letter, &file, &study, stored.as_ref())? {
            Ok(today) => today,
            Err(problem) => return Ok(Err(problem)),
        },
    };
    let front = stored.map(|stored| front(&stored));
    if let Some(front) = front.as_ref().filter(|front| front.candidates.is_empty()) {
        remarks.push(format!("{} has no candidate", front.run));
    }
    Ok(Ok((today, front)))
}

/// The run of a part: the call's, the budget's, or the newest where that is asked for.
fn run(
    ask: &Ask,
    item: &Item,
    of: &Source,
    folder: &Path,
    study: &str,
    named: &[(String, PathBuf)],
) -> Result<Result<Option<Stored>, Problem>, Failure> {
    let of_call = named.iter().find(|(known, _)| known == study);
    let path = match (of_call, &of.run, &ask.results) {
        (Some((_, path)), _, _) => path.clone(),
        (None, Some(run), _) => folder.join(run),
        (None, None, Some(results)) => match store::newest_run(results, study)? {
            Some(path) => path,
            None => return Ok(Ok(None)),
        },
        (None, None, None) => return Ok(Ok(None)),
    };
    if !store::is_run(&path) {
        let title = format!("{} is no run folder", path.display());
        let problem = Problem::new(
            "budget/no-run",
            title,
            item.places.run.clone(),
            "no run there",
        );
        return Ok(Err(problem.mend(format!(
            "run the study, and name the folder as it lies from the budget; or take the line out: fretwork run {study}.toml"
        ))));
    }
    let stored = store::open(&path)?;
    if stored.manifest.study != study {
        let title = format!(
            "{} is a run of {}, not of {study}",
            path.display(),
            records::shown(&stored.manifest.study)
        );
        let problem = Problem::new(
            "budget/other-run",
            title,
            item.places.run.clone(),
            "a run of another study",
        )
        .with(item.places.study.clone(), "the part's study");
        return Ok(Err(problem.mend("name a run of the part's study")));
    }
    Ok(Ok(Some(stored)))
}

/// That figures no longer follow from the study as it is; what else has changed is told.
fn changed_since(
    ask: &Ask,
    item: &Item,
    stored: &Stored,
    file: &Path,
    changed: Since,
    remarks: &mut Vec<String>,
) -> Option<Problem> {
    let run = super::rerun::folder_name(&stored.path);
    let Since {
        binding, others, ..
    } = changed;
    if !binding.is_empty() && !ask.despite_changes {
        let title = format!(
            "{} has changed since {run}, and figures follow from that",
            file.display()
        );
        let problem = Problem::new(
            "budget/study-changed",
            title,
            item.places.study.clone(),
            "no longer what was run",
        );
        let problem = few(&binding).into_iter().fold(problem, Problem::note);
        return Some(
            problem.mend("run the study again; or take the run all the same: --despite-changes"),
        );
    }
    let told = [binding, others].concat();
    if !told.is_empty() {
        remarks.push(format!(
            "{} has changed since {run}: {}",
            file.display(),
            few(&told).join("; ")
        ));
    }
    None
}

/// The study's baseline, as the run has it or else evaluated.
fn baseline(item: &Item, prepared: &Prepared, stored: Option<&Stored>) -> Result<Today, Failure> {
    let label = "baseline".into();
    if let Some(stored) = stored.filter(|stored| stored.designs.holds(0)) {
        return Ok(Today {
            label,
            design: Some(0),
            figures: figures(stored, stored.designs.row(0)),
            violation: stored.designs.violation_of(0),
            ..Today::default()
        });
    }
    if prepared.study.asking.is_some() {
        return Err(Failure::call(
            format!(
                "{}: its study asks a program of its own about today's revision",
                item.name
            ),
            "name a run that has the answer: --run RUN",
        ));
    }
    let sheet = design(prepared, &[]).map_err(|mistakes| mistaken(&mistakes))?;
    let all = sheet
        .variables
        .iter()
        .chain(&sheet.measures)
        .chain(&sheet.objectives);
    let figures = all
        .filter(|named| named.value.is_finite())
        .map(|named| Quantity {
            name: named.name.clone(),
            value: named.value,
            unit: named.unit.clone(),
        });
    let broken = sheet.constraints.iter().filter(|judged| !judged.met);
    Ok(Today {
        label,
        figures: figures.collect(),
        violation: broken.map(|judged| -judged.margin).fold(0.0, f64::max),
        ..Today::default()
    })
}

/// A revision of the study's ledger.
fn revision(
    item: &Item,
    letter: &str,
    file: &Path,
    study: &str,
    stored: Option<&Stored>,
) -> Result<Result<Today, Problem>, Failure> {
    let beside = store::ledger_beside(file);
    let open = records::ledger(&beside)?;
    let entries = open.as_ref().map_or(&[][..], |open| &open.ledger.entries);
    if let Some(open) = open.as_ref().filter(|open| open.ledger.study != study) {
        return Err(Failure::call(
            format!(
                "{} is the ledger of {}",
                beside.display(),
                records::shown(&open.ledger.study)
            ),
            format!("keep the ledger of {study} beside its study"),
        ));
    }
    let Some(entry) = entries
        .iter()
        .find(|entry| entry.revision.letter.as_str() == letter)
    else {
        let title = format!("{study} has no revision {}", records::shown(letter));
        let problem = Problem::new(
            "budget/no-such-revision",
            title,
            item.places.revision.clone(),
            "not in its ledger",
        );
        let letters: Vec<&str> = entries
            .iter()
            .map(|entry| entry.revision.letter.as_str())
            .collect();
        return Ok(Err(problem.mend(match letters.is_empty() {
            true => format!(
                "there is no ledger {}: write \"baseline\", or adopt a design first",
                beside.display()
            ),
            false => format!("write one of: {}, or \"baseline\"", letters.join(", ")),
        })));
    };
    let revision = &entry.revision;
    let same = stored.is_some_and(|stored| stored.manifest.fingerprint == revision.run_fingerprint);
    Ok(Ok(Today {
        label: letter.into(),
        design: same.then_some(revision.design),
        figures: [revision.dimensions.as_slice(), &revision.predicted].concat(),
        violation: revision.violation,
        ..Today::default()
    }))
}

fn figures(stored: &Stored, row: &[f64]) -> Vec<Quantity> {
    let columns = stored
        .columns
        .iter()
        .zip(row)
        .filter(|(_, value)| value.is_finite());
    let quantity = |(column, value): (&crate::run::Column, &f64)| Quantity {
        name: column.name.clone(),
        value: *value,
        unit: column.unit.clone(),
    };
    columns.map(quantity).collect()
}

fn front(stored: &Stored) -> Front {
    let columns = stored.columns.iter();
    let is_variable = |column: &usize| stored.columns[*column].role == Role::Variable;
    let candidate = |design: &usize| (*design, stored.designs.row(*design).to_vec());
    Front {
        run: super::rerun::folder_name(&stored.path),
        columns: columns
            .map(|column| (column.name.clone(), column.unit.clone()))
            .collect(),
        dimensions: (0..stored.columns.len()).filter(is_variable).collect(),
        goals: stored
            .goals
            .iter()
            .map(|goal| (goal.column, goal.most))
            .collect(),
        candidates: stored.front.iter().map(candidate).collect(),
    }
}
