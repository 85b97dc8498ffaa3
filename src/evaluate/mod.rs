//! One design to every measure, with its trace.

pub mod build;
pub mod measures;
pub mod setup;
mod sheet;

pub use sheet::{Judged, LoadRow, MassRow, Named, RuleRow, SectionRow, Sheet};
