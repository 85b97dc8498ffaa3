//! `fretwork adopt`: a design of a run becomes the next revision of its study.

use std::path::{Path, PathBuf};

use serde_json::json;

use super::changed::refuse_changed;
use super::records::{self, OpenLedger, Place};
use super::{mistaken, show, source, tell};
use crate::cli::Failure;
use crate::cli::number::signed_percent;
use crate::ledger::{Date, Ledger, Quantity, Revision};
use crate::run::{Overrides, Role, Source, prepare};
use crate::store::{self, StoreError, Stored};
use crate::study;

/// What is to be adopted, and why.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// Folder of the run.
    pub run: &'a Path,
    /// Number of the design.
    pub pick: Option<usize>,
    /// Reason.
    pub reason: Option<&'a str>,
    /// Who decided.
    pub by: &'a [String],
    /// Day of the decision.
    pub date: Option<Date>,
    /// File of the ledger.
    pub ledger: Option<&'a Path>,
    /// What the review page exported.
    pub decision: Option<&'a Path>,
    /// Whether the design is to be the study's baseline.
    pub baseline: bool,
    /// Whether to adopt although the study has changed since.
    pub despite_changes: bool,
    /// Whether to print JSON.
    pub as_json: bool,
}

/// What is adopted: design, reason, people, day.
struct Choice {
    design: usize,
    reason: String,
    by: Vec<String>,
    date: Date,
}

/// Adds a design of a run to the ledger of its study, and makes it the baseline where that is asked for.
///
/// # Errors
/// A design that there is not; no reason; a ledger or decision at fault; a study that has changed since the run; files that
/// can't be written.
pub fn adopt(ask: &Ask) -> Result<(), Failure> {
    let stored = store::open(ask.run)?;
    let choice = choice(ask, &stored)?;
    let Some((row, violation)) = stored.design(choice.design)? else {
        let count = stored.designs.len();
        return Err(Failure::call(
            format!("the run has no design {}", choice.design),
            format!("its designs are 0 to {}", count.saturating_sub(1)),
        ));
    };
    let name = &stored.manifest.study;
    let place = records::place(ask.run, name, ask.ledger).ok_or_else(|| {
        Failure::call(
            format!("there is no study {name}.toml here, in studies, or where the results are"),
            format!("say where the ledger is to be: --ledger FOLDER/{name}.ledger.toml"),
        )
    })?;
    let open = records::ledger(&place.ledger)?;
    if let Some(OpenLedger { ledger, .. }) = open.as_ref().filter(|open| open.ledger.study != *name)
    {
        return Err(Failure::call(
            format!(
                "{} is the ledger of {}, the run is one of {name}",
                place.ledger.display(),
                records::shown(&ledger.study)
            ),
            "name the ledger of the run's study: --ledger FILE",
        ));
    }
    refuse_changed(&place, &stored, ask.despite_changes, "adopt")?;
    let revision = revision(ask.run, &stored, &choice, (&row, violation), open.as_ref());
    let last = open.as_ref().and_then(|open| open.ledger.last());
    let again = last.is_some_and(|last| {
        last.run_fingerprint == revision.run_fingerprint && last.design == revision.design
    });
    let (adopted, letter) = match (again, ask.baseline) {
        (true, false) => {
            let letter = last.map_or_else(String::new, |last| last.letter.to_string());
            return Err(Failure::call(
                format!("design {} is revision {letter} already", choice.design),
                "to make it the study's baseline: --baseline",
            ));
        }
        (true, true) => (
            false,
            last.map(|last| last.letter.clone())
                .unwrap_or(revision.letter.clone()),
        ),
        _ => (true, revision.letter.clone()),
    };
    if let Some(last) = last.filter(|last| !again && last.dimensions == revision.dimensions) {
        tell(&format!(
            "its dimensions are those of revision {}: the two differ in run and reason only",
            last.letter
        ));
    }
    // The study is read and rewritten in memory first, so that a mistake in it leaves the ledger as it is.
    let rebased = match ask.baseline {
        true => Some(rebased(&place, &stored, &row)?),
        false => None,
    };
    if adopted {
        let before = open.as_ref().map(|open| open.text.as_str());
        store::append_entry(&place.ledger, before, name, &revision.text())
            .map_err(refused("--ledger FILE"))?;
    }
    if let Some(Rebased {
        file,
        before,
        after,
    }) = &rebased
    {
        store::replace_text(file, before, after).map_err(|error| {
            let why = Failure::from(error);
            tell(&format!("revision {letter} is in {}", place.ledger.display()));
            match why {
                Failure::Call { what, .. } | Failure::Other { what, .. } => Failure::other(
                    what,
                    "give the same call again when the study can be written: it then changes the baseline only",
                ),
                why => why,
            }
        })?;
    }
    if revision.violation > 0.0 {
        tell(&format!(
            "design {} breaks a constraint by {}",
            choice.design,
            signed_percent(revision.violation).trim_start_matches('+')
        ));
    }
    let baseline = rebased.map(|rebased| rebased.file.display().to_string());
    show(|out| match ask.as_json {
        true => writeln!(
            out,
            "{}",
            json!({
                "revision": letter.as_str(),
                "adopted": adopted,
                "design": choice.design,
                "ledger": place.ledger.display().to_string(),
                "baseline": baseline,
            })
        ),
        false => {
            let ledger = place.ledger.display();
            match adopted {
                true => writeln!(
                    out,
                    "design {} is revision {letter}, in {ledger}",
                    choice.design
                )?,
                false => writeln!(
                    out,
                    "design {} is revision {letter} already, in {ledger}",
                    choice.design
                )?,
            }
            match &baseline {
                Some(study) => writeln!(out, "it is the baseline of {study} now"),
                None => Ok(()),
            }
        }
    })
}

/// What the call and the decision say together; the call comes first.
fn choice(ask: &Ask, stored: &Stored) -> Result<Choice, Failure> {
    let decided = match ask.decision {
        None => None,
        Some(file) => {
            let decision = records::decision(file)?;
            let found = records::picks(&decision, file, stored)?;
            let chosen = decision
                .chosen
                .and_then(|chosen| found.iter().find(|found| found.was == chosen));
            let chosen = chosen.map(|found| found.is);
            Some((decision, chosen))
        }
    };
    let chosen = decided.as_ref().and_then(|(_, chosen)| *chosen);
    let design = match (ask.pick, chosen) {
        (Some(pick), Some(chosen)) if pick != chosen => {
            return Err(Failure::call(
                format!("the decision chose design {chosen}, the call picks {pick}"),
                "leave --pick out, or leave --decision out",
            ));
        }
        (Some(pick), _) => pick,
        (None, Some(chosen)) => chosen,
        (None, None) => {
            let what = match ask.decision {
                None => "nothing says which design to adopt",
                Some(_) => "the decision chose no design",
            };
            return Err(Failure::call(what, "pick one: --pick ID"));
        }
    };
    let decision = decided.map(|(decision, _)| decision);
    let reason = match ask.reason {
        Some(reason) => reason.to_string(),
        None => decision
            .as_ref()
            .map_or_else(String::new, |decision| decision.reason.clone()),
    };
    if reason.trim().is_empty() {
        return Err(Failure::call(
            "nothing says why the design is adopted",
            "give a reason, which stays in the ledger: --reason 'lighter by 4 g, stiff enough'",
        ));
    }
    let by = match (ask.by, &decision) {
        ([], Some(decision)) => decision.by.clone(),
        (by, _) => by.to_vec(),
    };
    let date = ask.date.or(decision.as_ref().map(|decision| decision.date));
    let date = match date {
        Some(date) => date,
        None => store::today()
            .parse()
            .map_err(|why: &str| Failure::other(why, "give the day: --date 2026-11-26"))?,
    };
    Ok(Choice {
        design,
        reason: reason.trim().into(),
        by,
        date,
    })
}

/// The entry that is to be added.
fn revision(
    run: &Path,
    stored: &Stored,
    choice: &Choice,
    (row, violation): (&[f64], f64),
    open: Option<&OpenLedger>,
) -> Revision {
    let figures = |wanted: &[Role]| -> Vec<Quantity> {
        let columns = stored.columns.iter().zip(row);
        columns
            .filter(|(column, value)| wanted.contains(&column.role) && value.is_finite())
            .map(|(column, value)| Quantity {
                name: column.name.clone(),
                value: *value,
                unit: column.unit.clone(),
            })
            .collect()
    };
    let goals = |most: bool| -> Vec<String> {
        let goals = stored.goals.iter().filter(|goal| goal.most == most);
        goals
            .map(|goal| stored.columns[goal.column].name.clone())
            .collect()
    };
    let empty = Ledger::default();
    Revision {
        letter: open.map_or(&empty, |open| &open.ledger).next_letter(),
        date: choice.date,
        by: choice.by.clone(),
        reason: choice.reason.clone(),
        run: super::rerun::folder_name(run),
        design: choice.design,
        run_fingerprint: stored.manifest.fingerprint.clone(),
        study_fingerprint: store::sha256(stored.study_text.as_bytes()),
        tool: stored.manifest.tool.clone(),
        violation,
        least: goals(false),
        most: goals(true),
        dimensions: figures(&[Role::Variable]),
        predicted: figures(&[Role::Measure, Role::Objective]),
    }
}

/// A study with the design as its baseline.
struct Rebased {
    file: PathBuf,
    before: String,
    after: String,
}

/// The study with the design as its baseline, read again to see that it is.
fn rebased(place: &Place, stored: &Stored, row: &[f64]) -> Result<Rebased, Failure> {
    let Some(file) = &place.study else {
        return Err(Failure::call(
            format!(
                "there is no study beside {} whose baseline could be changed",
                place.ledger.display()
            ),
            "leave --baseline out, or keep the ledger beside the study: STUDY.ledger.toml",
        ));
    };
    let before = super::read_text(file, "study")?;
    let values: Vec<(String, f64, String)> = stored
        .columns
        .iter()
        .zip(row)
        .filter(|(column, _)| column.role == Role::Variable)
        .map(|(column, value)| {
            let value = Quantity {
                name: String::new(),
                value: *value,
                unit: String::new(),
            };
            let rounded = value.text(12).parse().unwrap_or(value.value);
            (column.name.clone(), rounded, column.unit.clone())
        })
        .collect();
    let changed = study::rebase(&before, &values)
        .map_err(|why| Failure::call(format!("failed to {why}"), ""))?;
    let read = prepare(
        &Source {
            text: changed.clone(),
            ..source(file)?
        },
        Overrides::default(),
    )
    .map_err(|mistakes| mistaken(&mistakes))?;
    let is = read.evaluator.baseline();
    let same = read.study.variables.iter().zip(&is).all(|(variable, is)| {
        let of_row = stored
            .columns
            .iter()
            .zip(row)
            .find(|(column, _)| column.name == variable.name);
        let wanted = of_row.and_then(|(column, value)| {
            let (name, unit) = (String::new(), column.unit.clone());
            let own = variable.unit.symbol.as_str();
            Some(
                Quantity {
                    name,
                    value: *value,
                    unit,
                }
                .in_unit(own)?
                    * variable.unit.size,
            )
        });
        wanted.is_some_and(|wanted| (is - wanted).abs() <= 1e-9 * wanted.abs().max(1e-6))
    });
    match same {
        true => Ok(Rebased {
            file: file.clone(),
            before,
            after: changed,
        }),
        false => Err(Failure::call(
            format!(
                "the design can't be the baseline of {}: its variables are others now",
                file.display()
            ),
            "run the study again and adopt from that run",
        )),
    }
}

/// A file that can't be written, with the option that names another.
fn refused(option: &str) -> impl Fn(StoreError) -> Failure {
    move |error| {
        let full = matches!(&error, StoreError::Write { cause, .. } if cause.kind() == std::io::ErrorKind::StorageFull);
        match Failure::from(error) {
            Failure::Other { what, .. } if full => Failure::other(
                what,
                "free some space, then give the same call again: nothing was changed",
            ),
            Failure::Other { what, .. } => Failure::other(
                what,
                format!("choose a file that you may write to: {option}"),
            ),
            failure => failure,
        }
    }
}
