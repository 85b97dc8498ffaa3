//! Designs picked out of a study or a run.

use std::path::Path;

use super::{mistaken, prepared, refuse_asking, review};
use crate::cli::Failure;
use crate::run::{Next, Overrides, Prepared, design_point, learn, prepare, row_point};
use crate::store::{self, Stored};

/// Designs of a study or run: their names, and their variables in base units.
pub(super) type Points = Vec<(String, Vec<f64>)>;

/// A design of a study: today's revision with some variables set to other values.
///
/// # Errors
/// Mistakes in the study or in what is set.
pub(super) fn of_study(
    study: &Path,
    set: &[(String, String)],
    pick: &[usize],
) -> Result<(Prepared, Points), Failure> {
    if let Some(pick) = pick.first() {
        return Err(Failure::call(
            format!("there is no design {pick} in a study"),
            "name a run folder, or set variables: --set 'hole=3 mm'",
        ));
    }
    let prepared = prepared(study, Overrides::default())?;
    refuse(&prepared, study)?;
    let values = design_point(&prepared, set).map_err(|mistakes| mistaken(&mistakes))?;
    let name = match set.is_empty() {
        true => "baseline",
        false => "design",
    };
    Ok((prepared, vec![(name.into(), values)]))
}

/// A stored run with its study as it rests on what was learnt, and the designs picked; the first candidate where
/// none is.
///
/// # Errors
/// A folder that is no run, a design that is not there.
pub(super) fn of_run(
    run: &Path,
    pick: &[usize],
) -> Result<(Prepared, Stored, Vec<usize>), Failure> {
    let stored = store::open(run)?;
    let overrides = Overrides {
        seed: Some(stored.manifest.seed),
        evaluations: Some(stored.manifest.evaluations),
    };
    let prepared =
        prepare(&review::source(&stored), overrides).map_err(|mistakes| mistaken(&mistakes))?;
    refuse(&prepared, run)?;
    let lessons = stored.lessons(&prepared.job)?;
    let learnt = learn(&prepared, &lessons, &mut |_| Next::Continue)
        .map_err(|why| Failure::call(format!("failed to {why}"), "run the study again"))?;
    let picks: Vec<usize> = match pick {
        [] => stored.front.iter().copied().take(1).collect(),
        picks => picks.to_vec(),
    };
    let count = stored.designs.len();
    if let Some(missing) = picks.iter().find(|pick| **pick >= count) {
        return Err(Failure::call(
            format!("the run has no design {missing}"),
            format!("its designs are 0 to {}", count.saturating_sub(1)),
        ));
    }
    if picks.is_empty() {
        return Err(Failure::call(
            "the run has no candidate",
            "pick a design: --pick 0 is the baseline",
        ));
    }
    Ok((prepared.resting(&learnt), stored, picks))
}

/// Designs about which a program answers are not looked at from all sides: it would be asked hundreds of times.
fn refuse(prepared: &Prepared, of: &Path) -> Result<(), Failure> {
    refuse_asking(
        prepared,
        &format!("look around designs of {}", of.display()),
        "fretwork try asks about one design at a time, fretwork screen about the space",
    )
}

/// Variables of a stored design, in base units.
pub(super) fn point(prepared: &Prepared, stored: &Stored, pick: usize) -> Vec<f64> {
    row_point(prepared, stored.designs.row(pick))
}
