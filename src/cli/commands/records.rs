//! Ledgers and decisions, found and read for a command.

use std::path::{Path, PathBuf};

use super::tell;
use crate::cli::Failure;
use crate::cli::rooms::Records;
use crate::ledger::{
    Decision, Found, Identity, Ledger, MatchFault, Problem, Revision, figures_in, find_picks,
    read_decision, read_ledger,
};
use crate::review::RevisionMark;
use crate::run::{Column, Role};
use crate::store::{self, Manifest, StoreError, Stored};
use crate::study;

/// A ledger and its text.
pub(super) struct OpenLedger {
    /// Its text, as read.
    pub text: String,
    /// What it says.
    pub ledger: Ledger,
}

/// The ledger of a file; `None` where there is no file.
///
/// # Errors
/// All that is wrong in it, line by line; what is no text file.
pub(super) fn ledger(path: &Path) -> Result<Option<OpenLedger>, Failure> {
    let text = match store::read_record(path) {
        Ok(text) => text,
        Err(StoreError::Missing { .. }) => return Ok(None),
        Err(error) => return Err(error.into()),
    };
    match read_ledger(&text) {
        Ok(ledger) => Ok(Some(OpenLedger { text, ledger })),
        Err(problems) => Err(printed(&problems, &text, path)),
    }
}

/// The decision of a file.
///
/// # Errors
/// All that is wrong in it, line by line; that there is none.
pub(super) fn decision(path: &Path) -> Result<Decision, Failure> {
    let text = store::read_record(path).map_err(|error| match error {
        StoreError::Missing { .. } => Failure::call(
            format!("there is no decision {}", path.display()),
            "name the file that the review page exported",
        ),
        error => error.into(),
    })?;
    read_decision(&text).map_err(|problems| printed(&problems, &text, path))
}

fn printed(problems: &[Problem], text: &str, path: &Path) -> Failure {
    Failure::Text(study::print(
        problems,
        text,
        &path.display().to_string(),
        true,
    ))
}

/// The picks of a decision among the designs of a run.
///
/// # Errors
/// Another study, picks that the run doesn't have: all of them, with their lines.
pub(super) fn picks(
    decision: &Decision,
    file: &Path,
    stored: &Stored,
) -> Result<Vec<Found>, Failure> {
    let variables: Vec<usize> = (0..stored.columns.len())
        .filter(|column| stored.columns[*column].role == Role::Variable)
        .collect();
    let dimensions: Vec<(String, String)> = variables
        .iter()
        .map(|column| {
            (
                stored.columns[*column].name.clone(),
                stored.columns[*column].unit.clone(),
            )
        })
        .collect();
    let designs: Vec<(usize, Vec<f64>)> = stored
        .designs
        .held()
        .map(|design| {
            let row = stored.designs.row(design);
            (
                design,
                variables.iter().map(|column| row[*column]).collect(),
            )
        })
        .collect();
    let identity = Identity {
        study: &stored.manifest.study,
        fingerprint: &stored.manifest.fingerprint,
        dimensions: &dimensions,
        designs: &designs,
        count: stored.designs.len(),
    };
    find_picks(decision, &identity).map_err(|faults| {
        let other_run = decision.run_fingerprint != stored.manifest.fingerprint;
        unmatched(&faults, decision, file, other_run)
    })
}

fn unmatched(faults: &[MatchFault], decision: &Decision, file: &Path, other_run: bool) -> Failure {
    let line = |fault: &MatchFault| match fault.at() {
        Some((line, column)) => format!("{}:{line}:{column}: {fault}", file.display()),
        None => format!("{}: {fault}", file.display()),
    };
    let lines: Vec<String> = faults.iter().map(line).collect();
    let mend = match (faults.first(), other_run) {
        (Some(MatchFault::OtherStudy { .. }), _) => {
            "name a run of the study that was decided on".to_string()
        }
        (_, true) => format!(
            "name the run that was decided on, {}, or take these picks out",
            shown(&decision.run)
        ),
        (_, false) => "export the decision again from the page of this run".to_string(),
    };
    Failure::call(
        format!("failed to find what was picked:\n  {}", lines.join("\n  ")),
        mend,
    )
}

/// A text of a file as one line of a message: without what a terminal would obey, not endless.
pub(super) fn shown(text: &str) -> String {
    crate::cli::table::clean(text).chars().take(80).collect()
}

/// A ledger's file, and the study beside which it stands, if there is one.
pub(super) struct Place {
    /// The ledger, which need not exist yet.
    pub ledger: PathBuf,
    /// The study.
    pub study: Option<PathBuf>,
}

/// Where the ledger of a run's study is: named, or beside the study. That is looked for in this folder, in `studies`, in
/// the folder that holds the results and in `studies` there.
pub(super) fn place(run: &Path, study: &str, named: Option<&Path>) -> Option<Place> {
    if let Some(ledger) = named {
        return Some(Place {
            ledger: ledger.to_path_buf(),
            study: store::study_beside(ledger).filter(|study| study.is_file()),
        });
    }
    let absolute = std::path::absolute(run).ok();
    let above = absolute
        .as_deref()
        .and_then(Path::parent)
        .and_then(Path::parent);
    let folders = [Some(PathBuf::new()), Some("studies".into())]
        .into_iter()
        .chain([
            above.map(Path::to_path_buf),
            above.map(|above| above.join("studies")),
        ]);
    let studies = folders
        .flatten()
        .map(|folder| folder.join(format!("{study}.toml")));
    let found = studies.into_iter().find(|study| study.is_file())?;
    Some(Place {
        ledger: store::ledger_beside(&found),
        study: Some(found),
    })
}

/// The revisions of a ledger as the page of a run marks them; none where there is no ledger. One that can't be read is told
/// on stderr, and the page goes without.
pub(super) fn marks(
    ledger_file: &Path,
    columns: &[Column],
    manifest: &Manifest,
) -> Vec<RevisionMark> {
    let open = match ledger(ledger_file) {
        Ok(Some(open)) => open,
        Ok(None) => return Vec::new(),
        Err(failure) => {
            tell(&format!("{failure}the page is made without revisions"));
            return Vec::new();
        }
    };
    if open.ledger.study != manifest.study {
        let (file, study) = (ledger_file.display(), shown(&open.ledger.study));
        tell(&format!(
            "{file} is the ledger of {study}: the page is made without revisions"
        ));
        return Vec::new();
    }
    let columns: Vec<(String, String)> = columns
        .iter()
        .map(|column| (column.name.clone(), column.unit.clone()))
        .collect();
    let mark = |revision: &Revision| {
        let told = [revision.dimensions.as_slice(), &revision.predicted].concat();
        let same = revision.run_fingerprint == manifest.fingerprint;
        RevisionMark {
            letter: revision.letter.to_string(),
            date: revision.date.to_string(),
            reason: revision.reason.clone(),
            run: revision.run.clone(),
            design: same.then_some(revision.design),
            values: figures_in(&told, &columns),
        }
    };
    let revisions = open.ledger.entries.iter().map(|entry| &entry.revision);
    revisions.map(mark).collect()
}

/// What was adopted and decided of the study of a run, for its page.
///
/// # Errors
/// A decision that can't be read, or is not about the run.
pub(super) fn of_run(stored: &Stored, decided: Option<&Path>) -> Result<Records, Failure> {
    let place = place(&stored.path, &stored.manifest.study, None);
    let revisions = place.map_or_else(Vec::new, |place| {
        marks(&place.ledger, &stored.columns, &stored.manifest)
    });
    let Some(file) = decided else {
        return Ok(Records {
            revisions,
            decision: None,
        });
    };
    let mut decision = decision(file)?;
    let found = picks(&decision, file, stored)?;
    let is = |was: usize| {
        found
            .iter()
            .find(|found| found.was == was)
            .map_or(was, |found| found.is)
    };
    decision.chosen = decision.chosen.map(is);
    for pick in &mut decision.picks {
        pick.design = is(pick.design);
    }
    Ok(Records {
        revisions,
        decision: Some(decision),
    })
}
