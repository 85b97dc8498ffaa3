//! `fretwork calibrate`: what measured parts say of the model.

use std::path::{Path, PathBuf};

use clap::{Args, ValueHint};

use super::made::Made;
use super::review::write;
use super::{mistaken, read_text, show, source, tell};
use crate::cli::Failure;
use crate::cli::calibration::{self as printing, Told};
use crate::evaluate::{Calibration, Evaluator};
use crate::ledger::Letter;
use crate::measured::{
    Bench, Outcome, Record, Row, Verdict, calibrate as fitted, gather, predicted, variables_of,
    with_calibration,
};
use crate::review::calibration_plot;
use crate::run::{Overrides, Source, prepare};
use crate::solid::Density;
use crate::store;
use crate::study::suggest;

/// What is to be fitted, and what comes of it.
#[derive(Clone, Debug, Args)]
pub struct Calibrate {
    /// Study file
    #[arg(value_hint = ValueHint::FilePath)]
    study: PathBuf,
    /// Part that is kept out of the fit and judges it [default: the last on record]
    #[arg(long, value_name = "SERIAL")]
    hold_back: Option<String>,
    /// Fit this factor and no others; may be given several times: density,
    /// modulus, wall, joint, overhead, acceleration
    #[arg(long, value_name = "FACTOR")]
    only: Vec<String>,
    /// Leave the solids out: stiffness by the beam alone
    #[arg(long)]
    beam: bool,
    /// New file to draw predicted against measured to
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    svg: Option<PathBuf>,
    /// Write the factors into the study
    #[arg(long)]
    apply: bool,
    /// Write them although the part held back is predicted worse with them
    #[arg(long, requires = "apply")]
    despite_test: bool,
    /// Ledger [default: the one beside the study]
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    ledger: Option<PathBuf>,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
}

/// Fits the factors that the records of a study's parts can tell, and prints predicted against measured before and after.
///
/// # Errors
/// Fewer than two parts; a part or factor that there is not; no factor to be written; a part held back that is predicted
/// worse; files that can't be read or written.
pub fn calibrate(ask: &Calibrate) -> Result<(), Failure> {
    let made = Made::open(&ask.study, ask.ledger.as_deref())?;
    let allowed = allowed(&ask.only)?;
    let records: Vec<&Record> = made
        .records
        .list
        .iter()
        .map(|entry| &entry.record)
        .collect();
    let held_back = held_back(ask, &made, &records)?;
    let gathered = gather(&records, !ask.beam).map_err(|why| {
        Failure::call(
            why,
            format!(
                "put {} right: it is not as `fretwork measure` takes it",
                made.file.display()
            ),
        )
    })?;
    let (mut rows, mut remarks) = (gathered.rows, gathered.remarks);
    for row in &mut rows {
        row.held_back = row.part == held_back;
    }
    remarks.extend(leave_out(&made, &mut rows));
    let evaluator = &made.prepared.evaluator;
    let solid = |variables: &[f64]| match ask.beam {
        true => Vec::new(),
        false => solid_over_beam(evaluator, variables),
    };
    let bench = Bench::new(
        evaluator,
        &rows,
        |letter| made.revision(&Letter::read(letter).ok()?),
        solid,
    );
    let nothing = || {
        Failure::call(
            "the model has no figures of these parts",
            "see `fretwork measure` for what it predicts of each",
        )
    };
    let bench = bench.ok_or_else(nothing)?;
    let outcome =
        fitted(&|values: &[f64]| bench.figures(values), &rows, &allowed).map_err(|error| {
            Failure::call(
                format!("failed to {error}"),
                "see the records: fretwork measure STUDY",
            )
        })?;
    let parts = counted(&rows);
    let told = Told {
        study: &made.ledger.ledger.study,
        rows: &rows,
        outcome: &outcome,
        parts,
        held_back: &held_back,
        remarks: &remarks,
        beam: ask.beam,
    };
    show(|out| match ask.json {
        true => writeln!(out, "{}", printing::json(&told)),
        false => printing::print(out, &told),
    })?;
    if let Some(svg) = &ask.svg {
        write(svg, &calibration_plot(told.study, &rows, &outcome))?;
        tell(&format!("wrote {}", svg.display()));
    }
    match ask.apply {
        true => apply(ask, &outcome, parts),
        false => Ok(()),
    }
}

/// Which factors may be fitted.
fn allowed(only: &[String]) -> Result<[bool; 6], Failure> {
    let names: Vec<&str> = Calibration::NAMES.iter().map(|(name, _)| *name).collect();
    let mut allowed = [only.is_empty(); 6];
    for name in only {
        let place = names.iter().position(|each| each == name);
        let place = place.ok_or_else(|| {
            let mend = suggest(name, &names).unwrap_or_default();
            Failure::call(format!("there is no factor `{name}`"), mend)
        })?;
        allowed[place] = true;
    }
    Ok(allowed)
}

/// The part held back: named, or the last on record.
fn held_back(ask: &Calibrate, made: &Made, records: &[&Record]) -> Result<String, Failure> {
    let mut parts: Vec<&str> = Vec::new();
    for record in records {
        parts.retain(|part| *part != record.part);
        parts.push(&record.part);
    }
    if parts.len() < 2 {
        return Err(Failure::call(
            format!(
                "{} of {} on record: one is fitted, another is held back as a test",
                if parts.len() == 1 {
                    "one part"
                } else {
                    "no part"
                },
                made.ledger.ledger.study
            ),
            "measure two parts at least, better four: fretwork measure STUDY --part SERIAL ...",
        ));
    }
    match &ask.hold_back {
        None => Ok(parts
            .last()
            .map(|last| last.to_string())
            .unwrap_or_default()),
        Some(named) if parts.contains(&named.as_str()) => Ok(named.clone()),
        Some(named) => Err(Failure::call(
            format!("there is no part `{named}` on record"),
            suggest(named, &parts).unwrap_or_default(),
        )),
    }
}

/// Stiffness of each load case by the solid over the beam's, without calibration; none where there is no solid answer.
fn solid_over_beam(evaluator: &Evaluator, variables: &[f64]) -> Vec<(String, f64)> {
    let Some(Ok(neutral)) = evaluator.calibrated(Calibration::NEUTRAL) else {
        return Vec::new();
    };
    let Ok(proof) = neutral.prove(variables, (Density::Coarse, Density::Fine), 1) else {
        return Vec::new();
    };
    let ratio = |row: &crate::evaluate::ProofRow| {
        let load = row.name.strip_suffix(".stiffness")?;
        Some((load.to_string(), row.solid / row.beam))
    };
    proof.rows.iter().filter_map(ratio).collect()
}

/// Takes out the rows of which the model has no figure, and says which: an operation that the plan has no more, say.
fn leave_out(made: &Made, rows: &mut Vec<Row>) -> Vec<String> {
    let evaluator = &made.prepared.evaluator;
    let mut remarks = Vec::new();
    rows.retain(|row| {
        let letter = Letter::read(&row.revision).ok();
        let revision = letter.and_then(|letter| made.revision(&letter));
        let figure = revision.map(|revision| {
            let (variables, _) = variables_of(evaluator, revision);
            predicted(evaluator, &variables, std::slice::from_ref(&row.of))[0]
        });
        let known = figure.is_some_and(f64::is_finite);
        if !known {
            let (part, of) = (&row.part, row.of.words());
            remarks.push(format!(
                "part {part}, {of}: left out, the study as it stands has no such figure"
            ));
        }
        known
    });
    remarks
}

/// Parts that are fitted.
fn counted(rows: &[Row]) -> usize {
    let mut parts: Vec<&str> = Vec::new();
    for row in rows.iter().filter(|row| !row.held_back) {
        if !parts.contains(&row.part.as_str()) {
            parts.push(&row.part);
        }
    }
    parts.len()
}

/// Writes the factors into the study, whole or not at all.
fn apply(ask: &Calibrate, outcome: &Outcome, parts: usize) -> Result<(), Failure> {
    let any = outcome
        .factors
        .iter()
        .any(|found| found.verdict == Verdict::Applied);
    if !any {
        return Err(Failure::call(
            "no factor differs from the model with certainty: nothing is written",
            "measure more parts, or parts of other dimensions",
        ));
    }
    let worse = outcome.test.is_some_and(|(before, after)| after > before);
    if worse && !ask.despite_test {
        return Err(Failure::call(
            "the part held back is predicted worse with these factors: nothing is written",
            "look for what differs in that part; or write them all the same: --despite-test",
        ));
    }
    let file: &Path = &ask.study;
    let before = read_text(file, "study")?;
    let day = store::today()
        .parse()
        .map_err(|why: &str| Failure::other(why, ""))?;
    let after = with_calibration(&before, outcome, parts, day)
        .map_err(|why| Failure::call(format!("failed to {why}"), ""))?;
    // Read again, to see that the study means what was fitted.
    let changed = Source {
        text: after.clone(),
        ..source(file)?
    };
    prepare(&changed, Overrides::default()).map_err(|mistakes| mistaken(&mistakes))?;
    store::replace_text(file, &before, &after)?;
    tell(&format!(
        "{} is calibrated by {parts} parts now",
        file.display()
    ));
    Ok(())
}
