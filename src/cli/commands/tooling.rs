//! `fretwork tooling`: what one more tool in stock would bring to a finished run.

use std::path::Path;

use super::rerun::Reopened;
use super::{mistaken, show, tell};
use crate::cli::{Failure, tooling};
use crate::run::{Asked, NewTool, Overrides};
use crate::store;
use crate::units::{Unit, read_quantity};

/// Searches a finished run again with each tool by itself, and prints what it brings.
///
/// # Errors
/// A folder that is no finished run; sizes that are no lengths; tools that the catalogue does not know or that are in
/// stock.
pub fn tooling(
    folder: &Path,
    drills: &[String],
    end_mills: &[String],
    evaluations: Option<usize>,
    as_json: bool,
) -> Result<(), Failure> {
    let mut wanted = Vec::new();
    for (kind, sizes) in [(NewTool::Drill, drills), (NewTool::EndMill, end_mills)] {
        for size in sizes {
            wanted.push((kind, diameter(size)?));
        }
    }
    let run = Reopened::of(folder)?;
    let front = run.front();
    let earlier = run.earlier(&front);
    let today = store::tool();
    let asked = Asked {
        overrides: Overrides {
            seed: None,
            evaluations,
        },
        tool: &today,
        ..Asked::default()
    };
    let brought = crate::run::tooling(&earlier, &asked, &wanted, &mut |what| {
        tell(&format!("searching: {what}"));
    })
    .map_err(|mistakes| mistaken(&mistakes))?;
    show(|out| match as_json {
        true => writeln!(out, "{}", serde_json::json!(brought)),
        false => tooling::print(out, &run.name, &brought),
    })
}

/// A diameter in mm.
fn diameter(text: &str) -> Result<f64, Failure> {
    match read_quantity(text) {
        Ok((value, unit)) if unit.dimension == Unit::MM.dimension && value > 0.0 => Ok(value),
        _ => Err(Failure::call(
            format!("`{text}` is no diameter"),
            "write a size with its unit, as in '2.7 mm'",
        )),
    }
}
