//! Arguments, progress, printed tables and problems: where the program meets its user.
//!
//! Results go to stdout; progress, remarks and errors to stderr. Both drop their colours where they are no
//! terminal or `NO_COLOR` is set. Everything is laid out for
//! 80 columns, or for those of a wider terminal up to 120.

pub mod arguments;
mod budget;
mod calibration;
pub mod commands;
mod comparison;
mod drivers;
mod failure;
mod front;
mod history;
mod interrupt;
mod json;
mod listing;
mod making;
mod meaning;
mod measured;
mod number;
pub mod outside;
mod progress;
mod proof;
mod rooms;
mod scatter;
mod sheet;
mod style;
mod summary;
mod table;
mod tooling;
mod why;

pub use failure::Failure;

#[cfg(test)]
mod samples;
