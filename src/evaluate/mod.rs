//! One design to every measure, with its trace.

pub mod build;
mod evaluator;
pub mod measures;
pub mod setup;
mod sheet;
mod stations;
mod words;

pub use evaluator::{Evaluator, Record, SetupError, load_names};
pub use sheet::{Judged, LoadRow, MassRow, Named, RuleRow, SectionRow, Sheet};
