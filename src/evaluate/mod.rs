//! One design to every measure, with its trace.

pub mod setup;
