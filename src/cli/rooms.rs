//! Calls into the other rooms that need more than one line.

use std::path::Path;

use crate::catalogue::{self, CatalogueError, Table};
use crate::ledger::Decision;
use crate::review::{self, PageFacts, RevisionMark};
use crate::run::{self, Finished, Prepared, ScreenAsk, Screening, screen};
use crate::store::{Manifest, Stored};

/// Designs evaluated to say on a page which dimension drives what.
const DESIGNS_SCREENED: usize = 12_000;

/// What can be listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Catalogue {
    /// Materials with density, stiffness, strength and machining figures.
    Materials,
    /// Drills in the built-in index.
    Drills,
    /// End mills.
    EndMills,
    /// Milling machines.
    Machines,
}

/// Sizes of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

/// Papers of a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum DrawingPaper {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 420 by 297 mm (ISO 216).
    A3,
    /// 8.5 by 11 inches.
    Letter,
    /// 17 by 11 inches.
    Tabloid,
}

/// Which way the views of a drawing are placed (ISO 5456-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Projection {
    /// First angle.
    First,
    /// Third angle.
    Third,
}

/// A run as it was, its baseline and candidates evaluated again, and some picked designs that need not be candidates.
///
/// # Errors
/// In words, why the stored run can't be evaluated.
pub fn recall(prepared: &Prepared, stored: Stored, picks: &[usize]) -> Result<Finished, String> {
    let words = |error: crate::store::StoreError| error.to_string();
    let lessons = stored.lessons(&prepared.job).map_err(words)?;
    let proofs = stored.proofs().map_err(words)?;
    let mut learnt = run::learn(prepared, &lessons, &mut |_| run::Next::Continue)?;
    // Those of a rerun are known to the folder alone.
    for remark in stored.manifest.remarks {
        if !learnt.remarks.contains(&remark) {
            learnt.remarks.push(remark);
        }
    }
    let failures = stored.failures;
    let mut finished = run::recall(
        prepared,
        &learnt,
        stored.designs,
        stored.front,
        stored.trace,
        stored.manifest.ending,
        proofs,
    )?;
    run::add_sheets(prepared, &learnt, &mut finished, picks);
    Ok(Finished {
        failures,
        ..finished
    })
}

/// What was adopted and decided before, for a page.
#[derive(Clone, Debug, Default)]
pub struct Records {
    /// Revisions of the study's ledger.
    pub revisions: Vec<RevisionMark>,
    /// What was decided, its picks by their numbers in the run.
    pub decision: Option<Decision>,
}

/// The review page of the run in a folder: one HTML file. What drives what is looked into for it, in a second or less.
pub fn page(
    prepared: &Prepared,
    run: &Finished,
    manifest: &Manifest,
    folder: &Path,
    records: Records,
) -> String {
    review::page(run, &facts(prepared, manifest, folder, records))
}

/// What a page or paper says of its making; what drives what is looked into for it.
pub fn facts(
    prepared: &Prepared,
    manifest: &Manifest,
    folder: &Path,
    records: Records,
) -> PageFacts {
    let version = manifest.tool.rsplit(' ').next().unwrap_or_default();
    let name = folder
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    PageFacts {
        tool_version: version.to_string(),
        run_name: name,
        date: manifest.started.clone(),
        drivers: drivers(prepared, manifest.seed),
        fingerprint: manifest.fingerprint.clone(),
        revisions: records.revisions,
        decision: records.decision,
    }
}

/// Which dimension drives what in a study, for its page; none where that can't be said.
fn drivers(prepared: &Prepared, seed: u64) -> Option<Screening> {
    // A program would be asked thousands of times, for a page.
    if prepared.study.asking.is_some() {
        return None;
    }
    let ask = ScreenAsk {
        designs: DESIGNS_SCREENED,
        seed,
        measures: Vec::new(),
    };
    screen(prepared, &ask).ok()
}

/// A catalogue, a user's file (its text) laid over it.
///
/// # Errors
/// What is wrong with the user's file, and where.
pub fn listing(which: Catalogue, own: Option<&str>) -> Result<Table, CatalogueError> {
    let builtin = catalogue::Catalogue::builtin();
    let all = match own {
        Some(text) => builtin.with_user_file(text)?,
        None => builtin,
    };
    Ok(match which {
        Catalogue::Materials => all.material_table(),
        Catalogue::Drills => all.drill_table(),
        Catalogue::EndMills => all.end_mill_table(),
        Catalogue::Machines => all.machine_table(),
    })
}
