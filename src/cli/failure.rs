//! How a command can fail, and the exit code of each way.

use std::fmt;
use std::io;

use crate::store::StoreError;

/// Why a command did not do what was asked.
#[derive(Debug)]
pub enum Failure {
    /// A mistake in the call or in what it names: exit code 2.
    Call {
        /// What went wrong, as it follows "error: ".
        what: String,
        /// What to do about it; may be empty.
        mend: String,
    },
    /// Mistakes in the study or in a catalogue file, already in print: exit code 2.
    Text(String),
    /// Anything else: exit code 1.
    Other {
        /// What went wrong, as it follows "error: ".
        what: String,
        /// What to do about it; may be empty.
        mend: String,
    },
    /// The run was stopped on request and can go on: exit code 1, and nothing more to say.
    Stopped,
    /// Whoever read the results has seen enough (`| head`): exit code 0, and nothing to say.
    ClosedPipe,
}

impl Failure {
    /// A mistake in the call.
    pub fn call(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Failure::Call {
            what: what.into(),
            mend: mend.into(),
        }
    }

    /// Anything else than a mistake of the caller.
    pub fn other(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Failure::Other {
            what: what.into(),
            mend: mend.into(),
        }
    }

    /// Exit code.
    pub fn code(&self) -> u8 {
        match self {
            Failure::Call { .. } | Failure::Text(_) => 2,
            Failure::Other { .. } | Failure::Stopped => 1,
            Failure::ClosedPipe => 0,
        }
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        let (what, mend) = (format!("failed to {error}"), error.mend());
        if error.is_disk() {
            Failure::other(what, mend)
        } else {
            Failure::call(what, mend)
        }
    }
}

/// Errors of printing; every other error of the system is turned into a failure where its file is known.
impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Failure::ClosedPipe,
            _ => Failure::other(format!("failed to print: {error}"), ""),
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (bad, good) = (super::style::BAD, super::style::GOOD);
        match self {
            Failure::Call { what, mend } | Failure::Other { what, mend } => {
                writeln!(out, "{bad}error{bad:#}: {what}")?;
                if mend.is_empty() {
                    Ok(())
                } else {
                    writeln!(out, "  {good}mend{good:#}: {mend}")
                }
            }
            Failure::Text(printed) => writeln!(out, "{}", printed.trim_end()),
            Failure::Stopped | Failure::ClosedPipe => Ok(()),
        }
    }
}
