//! `fretwork compare`: two runs side by side, and why their figures differ.

use std::path::Path;

use super::rerun::{finished, folder_name, frozen};
use super::review::write;
use super::{show, tell};
use crate::cli::{Failure, comparison};
use crate::review;
use crate::run::{self, Comparison, Incomparable, Learnt, Prepared, Side};
use crate::store::{self, Stored};

/// Compares two finished runs, prints what moved and why, and writes a page where one is asked for.
///
/// # Errors
/// Folders that are no finished runs, runs that have nothing in common, an existing file where the page should go.
pub fn compare(
    before: &Path,
    after: &Path,
    out: Option<&Path>,
    as_json: bool,
) -> Result<(), Failure> {
    let compared = of_folders(before, after)?;
    show(|out| match as_json {
        true => writeln!(out, "{}", comparison::json(&compared)),
        false => comparison::print(out, &compared),
    })?;
    if let Some(out) = out {
        write(out, &review::comparison_page(&compared, &store::tool()))?;
        tell(&format!("wrote {}", out.display()));
    }
    Ok(())
}

fn of_folders(before: &Path, after: &Path) -> Result<Comparison, Failure> {
    let (first, second) = (Opened::of(before)?, Opened::of(after)?);
    run::compare(&first.side(), &second.side()).map_err(|why| {
        let mend = match why {
            Incomparable::Asks => "put their front.csv side by side",
            _ => "compare a run with its rerun, or with another run of the same study",
        };
        Failure::call(format!("failed to {why}"), mend)
    })
}

/// A run, read, its law fitted to its stored solids.
struct Opened {
    name: String,
    stored: Stored,
    prepared: Prepared,
    learnt: Learnt,
}

impl Opened {
    fn of(folder: &Path) -> Result<Opened, Failure> {
        let stored = finished(folder)?;
        let (_, prepared, lessons) = frozen(&stored)?;
        let learnt = run::relearn(&prepared, &lessons);
        Ok(Opened {
            name: folder_name(folder),
            stored,
            prepared,
            learnt,
        })
    }

    fn side(&self) -> Side<'_> {
        Side {
            run: &self.name,
            tool: &self.stored.manifest.tool,
            prepared: &self.prepared,
            learnt: &self.learnt,
            columns: &self.stored.columns,
            designs: &self.stored.designs,
            front: &self.stored.front,
        }
    }
}
