//! Run folders: a run as files that outlive it.
//!
//! ```text
//! results/yaw-ring-001/
//!   study.toml      the study as it was read
//!   catalogue.toml  the catalogue entries it used
//!   manifest.json   program, seed, counts, times, SHA-256 of every file; written after each part
//!   designs/        part-00000.parquet, ...: every design, 4096 a file
//!   solids.csv      designs solved as solids, from which the law was learnt
//!   front.csv       the candidates
//!   proofs.csv      candidates solved as solids
//!   failures.csv    designs about which the study's program gave no answer, and why
//!   trace.csv       how the search went
//!   plots/*.svg
//!   review.html     the page
//! ```
//!
//! A file is whole or not there. Folders are numbered and never written over. A run that was stopped or killed
//! goes on when it is asked for again, and ends with the same designs to the byte: known designs are handed to
//! the search, which replays itself over them.

mod budget;
mod clock;
mod error;
mod failures;
mod files;
mod folder;
mod gather;
mod handoff;
mod ledger;
mod manifest;
mod measured;
mod open;
mod part;
mod parts;
mod solids;
mod tables;

pub use budget::newest_run;
pub use error::StoreError;
pub use files::{sha256, write_new, write_whole};
pub use folder::{BLOCK, Folder, Resumed, is_run, replace_page};
pub use gather::Shards;
pub use handoff::write_handoff;
pub use ledger::{append_entry, ledger_beside, read_record, replace_text, study_beside, today};
pub use manifest::{
    ChangeRecord, ColumnRecord, FORMAT, FileRecord, GoalRecord, LimitRecord, MANIFEST, Manifest,
    OriginRecord, ShardRecord, Status, tool,
};
pub use measured::{append_records, measured_beside};
pub use open::{Stored, open};
pub use parts::Parts;
