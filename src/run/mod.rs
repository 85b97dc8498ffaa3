//! Where the rooms meet: a study's text becomes a [`Prepared`] job, the job a [`Finished`] run.

mod compare;
mod data;
mod explore;
mod learn;
mod meaning;
mod prepare;
mod rerun;
mod screen;
mod single;
mod space;
mod tooling;

pub use crate::evaluate::{ModeRow, PeakRow, Proof, ProofRow};
pub use compare::{
    Comparison, Fate, Figure, Incomparable, Move, Nearest, Newcomer, Objective, OldCandidate,
    RunFacts, Side, compare,
};
pub use data::{
    Batch, Change, Column, Designs, Finished, Goal, Job, Known, Limit, Meaning, Milestone, Mistake,
    Mistakes, Next, Origin, Overrides, Role, Source, VariableMeaning,
};
pub use explore::{Proved, Stand, explore, probe, recall, row_point};
pub use learn::{LawRow, Learnt, Lesson, learn, relearn};
pub use meaning::meaning;
pub use prepare::{Conditions, Prepared, measure_names, prepare};
pub use rerun::{Again, Asked, Earlier, OwnTools, rerun};
pub use screen::{
    Curve, Dimension, Driver, FitFigures, Interplay, QuadraticFit, ScreenAsk, Screened, Screening,
    TermRow, screen,
};
pub use single::{design, design_point};
pub use tooling::{Gain, NewTool, OneMore, Tooling, tooling};
