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
    let name = own.map(|path| path.display().to_string());
    let listing = rooms::listing(what, name.as_deref().zip(text.as_deref())).map_err(|why| {
        Failure::call(
            format!("failed to {why}"),
            "mend the file, then list it again",
        )
    })?;
    show(|out| match as_json {
        true => writeln!(out, "{:#}", listing::json(&listing)),
        false => listing::print(out, &listing),
    })
}
