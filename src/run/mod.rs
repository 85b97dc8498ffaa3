//! Where the rooms meet: a study's text becomes a [`Prepared`] job, the job a [`Finished`] run.

mod data;
mod explore;
mod meaning;
mod prepare;
mod single;
mod space;

pub use data::{
    Batch, Column, Designs, Finished, Goal, Job, Known, Limit, Meaning, Milestone, Mistake,
    Mistakes, Next, Overrides, Role, Source, VariableMeaning,
};
pub use explore::{explore, probe, recall};
pub use meaning::meaning;
pub use prepare::{Prepared, measure_names, prepare};
pub use single::design;
