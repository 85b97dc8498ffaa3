//! `fretwork why`: what holds a candidate, and what it would cost to be better.

use std::path::Path;

use super::{picked, show};
use crate::cli::{Failure, why};
use crate::run::why as reasons;

/// Says of designs of a run why they are as they are.
///
/// # Errors
/// A folder that is no run, a design that is not there or can't be made.
pub fn why(run: &Path, pick: &[usize], as_json: bool) -> Result<(), Failure> {
    let (prepared, stored, picks) = picked::of_run(run, pick)?;
    for pick in picks {
        let found = reasons(&prepared, &stored.designs, &stored.front, pick);
        let Some(found) = found else {
            return Err(Failure::call(
                format!("design {pick} can't be made or solved"),
                "pick a candidate of the front",
            ));
        };
        show(|out| match as_json {
            true => writeln!(out, "{}", serde_json::json!(found)),
            false => {
                let title = format!("{}: why design {pick} is as it is", prepared.job.title);
                why::print(out, &title, &found)
            }
        })?;
    }
    Ok(())
}
