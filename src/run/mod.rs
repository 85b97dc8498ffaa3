//! Where the rooms meet: a study's text becomes a [`Prepared`] job, the job a [`Finished`] run.

mod compare;
mod data;
mod explore;
mod failed;
mod learn;
mod meaning;
mod prepare;
mod rerun;
mod robust;
mod screen;
mod shortfall;
mod single;
mod space;
mod thin;
mod tooling;
mod why;
mod wish;

pub use crate::evaluate::{ModeRow, PeakRow, Proof, ProofRow};
pub use compare::{
    Comparison, Fate, Figure, Incomparable, Move, Nearest, Newcomer, Objective, OldCandidate,
    RunFacts, Side, compare,
};
pub use data::{
    Batch, Change, Column, Designs, Finished, Goal, Job, Known, Limit, Meaning, Milestone, Mistake,
    Mistakes, Next, Origin, Overrides, PART, Recall, Role, Shard, Source, Thinned, Told,
    VariableMeaning,
};
pub use explore::{
    Proved, ShardDone, Stand, add_sheets, explore, explore_shard, probe, recall, row_point,
};
pub use failed::{Failed, ask_baseline, not_allowed};
pub use learn::{LawRow, Learnt, Lesson, learn, relearn};
pub use meaning::meaning;
pub use prepare::{Conditions, Prepared, measure_names, prepare};
pub use rerun::{Again, Asked, Earlier, OwnTools, rerun};
pub use robust::{
    Asked as AskedQuantile, QuantityRow, Retoleranced, Scatter, ScatterRow, SourceShare, SureRow,
    scatter, scores,
};
pub use screen::{
    Curve, Dimension, Driver, FitFigures, Interplay, QuadraticFit, ScreenAsk, Screened, Screening,
    TermRow, screen,
};
pub use shortfall::{Killer, Shortfall, ToPass, shortfall};
pub use single::{design, design_point};
pub use thin::Thinner;
pub use tooling::{Gain, NewTool, OneMore, Tooling, tooling};
pub use why::{Active, AtEnd, Better, Broken, Changed, Exchange, Neighbour, Shift, Step, Why, why};
pub use wish::{Wished, wish};
