//! `fretwork list`: a catalogue.

use std::path::Path;

use super::{read_text, rooms, show};
use crate::cli::{Failure, listing};

/// Prints a catalogue, a user's own file added.
///
/// # Errors
/// A file that can't be read or understood.
pub fn list(what: rooms::Catalogue, own: Option<&Path>, as_json: bool) -> Result<(), Failure> {
    let text = own
        .map(|path| read_text(path, "catalogue file"))
        .transpose()?;
    let table = rooms::listing(what, text.as_deref()).map_err(|error| {
        let file = own.map_or_else(String::new, |path| path.display().to_string());
        Failure::call(
            format!("{file}:{}:{}: {}", error.line, error.column, error.message),
            error.mend,
        )
    })?;
    show(|out| match as_json {
        true => writeln!(out, "{:#}", listing::json(&table)),
        false => listing::print(out, &table),
    })
}
