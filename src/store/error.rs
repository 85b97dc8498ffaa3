//! What can be wrong with a run folder, and the mend.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// Why a run folder could not be written or read.
#[derive(Debug)]
pub enum StoreError {
    /// The disk refused to take something.
    Write {
        /// What was to be written.
        path: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// The disk refused to give something.
    Read {
        /// What was to be read.
        path: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// The folder holds no manifest, so it is no run or one that ended while it was being made.
    NoManifest {
        /// The folder.
        folder: PathBuf,
    },
    /// The manifest can't be understood.
    BadManifest {
        /// The manifest.
        path: PathBuf,
        /// What is wrong in it.
        why: String,
    },
    /// The folder was written in a format that this program doesn't know.
    UnknownFormat {
        /// The manifest.
        path: PathBuf,
        /// Format number found.
        found: u64,
    },
    /// A file that the manifest names is not there.
    Missing {
        /// The file.
        path: PathBuf,
    },
    /// A file is not the one that the manifest describes: cut short, edited or replaced.
    Changed {
        /// The file.
        path: PathBuf,
        /// Length recorded, in bytes.
        recorded_bytes: u64,
        /// Length found, in bytes.
        found_bytes: u64,
    },
    /// A file of designs can't be decoded, or its columns are not those of the manifest.
    BadPart {
        /// The file.
        path: PathBuf,
        /// What is wrong in it.
        why: String,
    },
    /// The folder holds one shard of a run, where a whole run is needed.
    IsShard {
        /// The folder.
        folder: PathBuf,
        /// Which shard, from 1.
        number: usize,
        /// How many there are.
        of: usize,
    },
    /// Folders that can't be gathered into a run.
    NoGather {
        /// What is wrong, in words that fit after "failed to".
        what: String,
        /// The mend.
        mend: String,
    },
    /// A file that is no ledger and no decision.
    NoRecord {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// A file was changed by somebody else since it was read.
    ChangedMeanwhile {
        /// The file.
        path: PathBuf,
    },
    /// Designs already in the folder came out otherwise when they were replayed.
    Clash {
        /// The file that holds them.
        path: PathBuf,
    },
}

impl StoreError {
    pub(super) fn write(path: &Path, cause: io::Error) -> Self {
        StoreError::Write {
            path: path.to_path_buf(),
            cause,
        }
    }

    pub(super) fn read(path: &Path, cause: io::Error) -> Self {
        match cause.kind() {
            io::ErrorKind::NotFound => StoreError::Missing {
                path: path.to_path_buf(),
            },
            _ => StoreError::Read {
                path: path.to_path_buf(),
                cause,
            },
        }
    }

    /// What the reader can do about it.
    pub fn mend(&self) -> String {
        match self {
            StoreError::Write { cause, .. } if cause.kind() == io::ErrorKind::StorageFull => {
                "free some space, then give the same call again: the run goes on where it was".into()
            }
            StoreError::Write { .. } => "choose a folder you may write to: --results DIR".into(),
            StoreError::Read { .. } => "see that you may read the folder".into(),
            StoreError::NoManifest { .. } => {
                "name a run folder, such as results/yaw-ring-001".into()
            }
            StoreError::UnknownFormat { .. } => {
                format!("this is format {}: read the folder with the newer fretwork", super::FORMAT)
            }
            StoreError::Missing { .. } | StoreError::Changed { .. } | StoreError::BadPart { .. } => {
                "put the file back from a copy, or run the study again (a stopped run goes on by itself)".into()
            }
            StoreError::BadManifest { .. } => {
                "put the file back from a copy, or run the study again".into()
            }
            StoreError::IsShard { .. } => {
                "gather the shards into a run: fretwork gather FOLDER...".into()
            }
            StoreError::NoGather { mend, .. } => mend.clone(),
            StoreError::NoRecord { .. } => "name the file itself, as fretwork wrote it".into(),
            StoreError::ChangedMeanwhile { .. } => "give the same call again".into(),
            StoreError::Clash { .. } => {
                "keep the folder for a report, move it away, and run the study again".into()
            }
        }
    }

    /// Whether the disk is at fault, rather than what was named or found.
    pub fn is_disk(&self) -> bool {
        matches!(self, StoreError::Write { .. } | StoreError::Read { .. })
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            StoreError::Write { path, cause } => write!(out, "write {}: {cause}", path.display()),
            StoreError::Read { path, cause } => write!(out, "read {}: {cause}", path.display()),
            StoreError::NoManifest { folder } => {
                write!(
                    out,
                    "open {} as a run: it holds no {}",
                    folder.display(),
                    super::MANIFEST
                )
            }
            StoreError::BadManifest { path, why } => {
                write!(out, "understand {}: {why}", path.display())
            }
            StoreError::UnknownFormat { path, found } => {
                write!(
                    out,
                    "read {}: it is in format {found}, unknown here",
                    path.display()
                )
            }
            StoreError::Missing { path } => write!(out, "find {}", path.display()),
            StoreError::Changed {
                path,
                recorded_bytes,
                found_bytes,
            } => {
                let path = path.display();
                if recorded_bytes == found_bytes {
                    write!(
                        out,
                        "trust {path}: its contents changed since the run wrote it"
                    )
                } else {
                    write!(
                        out,
                        "trust {path}: it has {found_bytes} bytes, the run wrote {recorded_bytes}"
                    )
                }
            }
            StoreError::IsShard { folder, number, of } => write!(
                out,
                "open {} as a run: it is shard {number} of {of}",
                folder.display()
            ),
            StoreError::NoGather { what, .. } => out.write_str(what),
            StoreError::NoRecord { path, why } => write!(out, "read {}: {why}", path.display()),
            StoreError::ChangedMeanwhile { path } => write!(
                out,
                "write {}: somebody else changed it in the meantime",
                path.display()
            ),
            StoreError::BadPart { path, why } => write!(out, "decode {}: {why}", path.display()),
            StoreError::Clash { path } => write!(
                out,
                "go on with the run: designs evaluated again differ from those in {}",
                path.display()
            ),
        }
    }
}

impl std::error::Error for StoreError {}
