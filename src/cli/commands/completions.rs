//! `fretwork completions`: a completion script for a shell.

use clap::CommandFactory;
use clap_complete::Shell;

use super::show;
use crate::cli::{Failure, arguments::Arguments};

/// Prints the script.
///
/// # Errors
/// A stream that can't be written.
pub fn completions(shell: Shell) -> Result<(), Failure> {
    show(|out| {
        let mut script = Vec::new();
        clap_complete::generate(shell, &mut Arguments::command(), "fretwork", &mut script);
        out.write_all(&script)
    })
}
