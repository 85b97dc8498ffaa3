//! One design to every measure, with its trace.

pub mod build;
mod calibration;
mod correction;
mod evaluator;
mod made;
mod making;
pub mod measures;
pub mod outside;
mod proof;
pub mod scatter;
pub mod setup;
mod sheet;
mod stations;
mod strength;
mod truth;
mod words;

pub use crate::structure::{Field, FieldPlace, ModeKind, ModeShape};
pub use calibration::{Calibrated, CalibratedRow, Calibration, Factor, FactorRow};
pub use correction::{Ratios, Target, Truth};
pub use evaluator::{Evaluator, Record, SetupError, Trouble, load_names};
pub use outside::{Answer as OutsideAnswer, Outside, OutsideMeasure, Quantity, Question};
pub use proof::{ModeRow, PeakRow, Picture, Proof, ProofRow};
pub use sheet::{
    Arrow, Held, Judged, LoadFatigue, LoadPeak, LoadRow, MassRow, Named, OpeningRow, RuleRow,
    ScrewRow, SectionRow, Sheet, ToleranceRow, WallRow,
};
pub use truth::{NoSolid, SolidFacts, SolidLoad};
