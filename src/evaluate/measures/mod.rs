//! Measures: everything the evaluator returns of a design, by name.
//!
//! To add one: write it in the file of its kind (or a new file) and list it there; a new file is one line in
//! [`ALL`].

mod blade;
mod geometry;
mod load;
mod machining;
mod mass;
mod screws;
mod stiffness;
mod walls;

pub use geometry::rule_name;

use crate::machining::Billet;
use crate::part::{Layout, Part, Rules, Volume};

/// Everything that is known of a design when its measures are taken. Not a number where it could not be had.
#[derive(Debug)]
pub struct Facts<'a> {
    /// The part.
    pub part: &'a Part,
    /// The part in segments.
    pub layout: &'a Layout,
    /// Its volume.
    pub volume: &'a Volume,
    /// Its geometric rules.
    pub rules: &'a Rules,
    /// Density, in t/mm³.
    pub density: f64,
    /// Yield strength, in MPa.
    pub yield_mpa: f64,
    /// Answers to the load cases, in the order of the study.
    pub loads: &'a [LoadFacts],
    /// First natural frequency, in Hz.
    pub frequency_hz: f64,
    /// Cycle time, in s.
    pub cycle_s: f64,
    /// Tool changes.
    pub tool_changes: f64,
    /// Narrowest slot less the smallest end mill in stock, in mm.
    pub cutter_gap_mm: f64,
    /// Volume cut from the billet, in mm³.
    pub removed_mm3: f64,
    /// Cost of one part, in the study's money.
    pub cost: f64,
    /// A part's share of making the machine ready, in s.
    pub setup_s: f64,
    /// The stock for one part.
    pub billet: Billet,
    /// Room that the billet leaves on the machine's table, in mm.
    pub table_room_mm: f64,
    /// Greatest deflection of a wall's free edge in its finish pass, in mm.
    pub wall_deflection_mm: f64,
    /// The same under the study's pressing force, in mm.
    pub wall_press_mm: f64,
    /// Greatest pressure under a screw's head, in MPa; 0 without screws.
    pub bearing_mpa: f64,
    /// Least room between a clamped cone and the boss's edge, in mm; infinite without screws.
    pub cone_room_mm: f64,
    /// Least room between a screw's head and walls and ribs, in mm; infinite without screws.
    pub head_room_mm: f64,
}

/// Answer to one load case.
#[derive(Clone, Copy, Debug)]
pub struct LoadFacts {
    /// Load over the displacement of its points along it, in N/mm (forces) or N mm/rad (moments only).
    pub stiffness: f64,
    /// Greatest displacement, in mm.
    pub displacement_mm: f64,
    /// Greatest nominal stress, in MPa.
    pub stress_mpa: f64,
    /// What holds a blade open, in load cases that open it.
    pub opening: OpeningFacts,
    /// Greatest local stress, peaks at drilled holes included, in MPa.
    pub peak_mpa: f64,
    /// Factor by which the load's cycle may grow before fatigue; not a number where that is not asked for.
    pub fatigue_safety: f64,
}

/// Answer to a load case that opens a blade.
#[derive(Clone, Copy, Debug)]
pub struct OpeningFacts {
    /// Force that holds it open, in N.
    pub force_n: f64,
    /// Energy stored, in N mm.
    pub energy_n_mm: f64,
    /// Safety against fatigue between its two openings.
    pub fatigue_safety: f64,
}

impl OpeningFacts {
    /// Of a load case that opens nothing, or of a design that could not be solved.
    pub const UNKNOWN: OpeningFacts = OpeningFacts {
        force_n: f64::NAN,
        energy_n_mm: f64::NAN,
        fatigue_safety: f64::NAN,
    };
}

/// How a measure is had.
#[derive(Clone, Copy, Debug)]
pub enum Take {
    /// Once a design.
    Once(fn(&Facts) -> f64),
    /// Once a load case, by its index; the measure's full name is `load.name`.
    EachLoad(fn(&Facts, usize) -> f64),
    /// Once a load case that opens a blade, by its index.
    EachOpening(fn(&Facts, usize) -> f64),
}

/// A measure.
#[derive(Clone, Copy, Debug)]
pub struct Measure {
    /// Name in formulas.
    pub name: &'static str,
    /// Unit of the value.
    pub unit: &'static str,
    /// What it is, in words.
    pub words: &'static str,
    /// How it is had, in `unit`.
    pub take: Take,
}

/// Every measure, kind by kind.
pub const ALL: &[&[Measure]] = &[
    mass::MEASURES,
    load::MEASURES,
    blade::MEASURES,
    stiffness::MEASURES,
    walls::MEASURES,
    screws::MEASURES,
    machining::MEASURES,
    geometry::MEASURES,
];

/// A measure of a certain study: its full name, and which load case it speaks of.
#[derive(Clone, Debug)]
pub struct Taken {
    /// Full name: `mass`, `squeeze.stress`.
    pub name: String,
    /// Unit of the value.
    pub unit: &'static str,
    /// The measure.
    pub measure: Measure,
    /// Index of the load case, for a measure of one.
    pub load: Option<usize>,
}

impl Taken {
    /// The value, in `unit`.
    pub fn value(&self, facts: &Facts) -> f64 {
        match (self.measure.take, self.load) {
            (Take::Once(take), _) => take(facts),
            (Take::EachLoad(take) | Take::EachOpening(take), Some(load)) => take(facts, load),
            (Take::EachLoad(_) | Take::EachOpening(_), None) => f64::NAN,
        }
    }
}

/// What acts in a load case. Its stiffness follows from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Acting {
    /// Forces, perhaps with moments: stiffness in N/mm.
    Forces,
    /// Only moments: stiffness in N mm/rad.
    Moments,
    /// An acceleration, alone or with forces: no stiffness.
    Inertia,
    /// A blade is opened: stiffness in N/mm at its start, and measures of its own.
    Opening,
}

/// A load case as its measures need to know it.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadName {
    /// Name from the study.
    pub name: String,
    /// What acts.
    pub acting: Acting,
    /// Whether its fatigue is looked at.
    pub fatigue: bool,
}

/// The measures of a study with the given load cases, in the order of a design's record.
pub fn of_study(loads: &[LoadName]) -> Vec<Taken> {
    let mut taken = Vec::new();
    for measure in ALL.iter().copied().flatten().copied() {
        match measure.take {
            Take::Once(_) => taken.push(Taken {
                name: measure.name.into(),
                unit: measure.unit,
                measure,
                load: None,
            }),
            Take::EachLoad(_) | Take::EachOpening(_) => {
                let opens = |load: &LoadName| load.acting == Acting::Opening;
                let has = |load: &LoadName| match (measure.take, measure.name) {
                    (Take::EachOpening(_), _) => opens(load),
                    (_, load::STIFFNESS) => load.acting != Acting::Inertia,
                    (_, load::FATIGUE_SAFETY) => load.fatigue && !opens(load),
                    _ => true,
                };
                let loads = loads.iter().enumerate().filter(|(_, load)| has(load));
                taken.extend(loads.map(|(index, load)| Taken {
                    name: format!("{}.{}", load.name, measure.name),
                    unit: match load.acting {
                        Acting::Moments if measure.name == load::STIFFNESS => "N mm/rad",
                        _ => measure.unit,
                    },
                    measure,
                    load: Some(index),
                }));
            }
        }
    }
    taken
}
