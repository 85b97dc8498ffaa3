//! What measured parts say of the model: a few factors with a physical meaning, and what they do to a design's figures.

use std::sync::Arc;

use serde::Serialize;

use super::evaluator::{Answer, Evaluator, Solved, load_size};
use super::sheet::Named;
use crate::catalogue::{Machine, Material};
use crate::part::{Layout, Part, Section};
use crate::structure::Loading;

/// Walls are left at least so thick, in mm, whatever a calibration takes off.
const THINNEST_MM: f64 = 0.01;

/// A figure with its standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// The figure.
    pub value: f64,
    /// Its standard error, 0 or more.
    pub error: f64,
}

impl Factor {
    /// A figure taken as exact.
    pub const fn exact(value: f64) -> Factor {
        Factor { value, error: 0.0 }
    }
}

/// How parts come out of this shop beside what catalogue and model say. [`Calibration::NEUTRAL`] changes nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    /// Measured parts that it rests on.
    pub parts: usize,
    /// Density over the catalogue's.
    pub density: Factor,
    /// Modulus of elasticity over the catalogue's.
    pub modulus: Factor,
    /// What floors, walls and ribs come out thicker than drawn, in mm; negative: thinner.
    pub wall_mm: Factor,
    /// Give of the joints, in mm/N: in series with every load case that is held somewhere and loaded by forces.
    pub joint_mm_per_n: Factor,
    /// Time that each operation on the machine takes beyond its plan, in s.
    pub operation_s: Factor,
    /// The machine's acceleration over the catalogue's.
    pub acceleration: Factor,
}

impl Default for Calibration {
    fn default() -> Calibration {
        Calibration::NEUTRAL
    }
}

impl Calibration {
    /// The model as it stands.
    pub const NEUTRAL: Calibration = Calibration {
        parts: 0,
        density: Factor::exact(1.0),
        modulus: Factor::exact(1.0),
        wall_mm: Factor::exact(0.0),
        joint_mm_per_n: Factor::exact(0.0),
        operation_s: Factor::exact(0.0),
        acceleration: Factor::exact(1.0),
    };

    /// The factors by name, with their units, in the order in which they are shown.
    pub const NAMES: [(&'static str, &'static str); 6] = [
        ("density", ""),
        ("modulus", ""),
        ("wall", "mm"),
        ("joint", "mm/N"),
        ("overhead", "s"),
        ("acceleration", ""),
    ];

    /// The factors in the order of [`Calibration::NAMES`].
    pub fn factors(&self) -> [Factor; 6] {
        [
            self.density,
            self.modulus,
            self.wall_mm,
            self.joint_mm_per_n,
            self.operation_s,
            self.acceleration,
        ]
    }

    /// The same with one factor, by its place in [`Calibration::NAMES`], at another value.
    pub fn with(mut self, place: usize, value: f64) -> Calibration {
        let factors = [
            &mut self.density,
            &mut self.modulus,
            &mut self.wall_mm,
            &mut self.joint_mm_per_n,
            &mut self.operation_s,
            &mut self.acceleration,
        ];
        if let Some(factor) = factors.into_iter().nth(place) {
            factor.value = value;
        }
        self
    }

    /// Whether it changes any figure.
    pub fn is_neutral(&self) -> bool {
        let neutral = Calibration::NEUTRAL.factors();
        let mut pairs = self.factors().into_iter().zip(neutral);
        pairs.all(|(own, neutral)| own.value == neutral.value)
    }

    /// The material as it comes.
    pub(super) fn of_material(&self, material: &Material) -> Material {
        Material {
            density_kg_m3: material.density_kg_m3 * self.density.value,
            modulus_gpa: material.modulus_gpa * self.modulus.value,
            ..material.clone()
        }
    }

    /// The machine as it moves.
    pub(super) fn of_machine(&self, machine: &Machine) -> Machine {
        let factor = self.acceleration.value;
        Machine {
            acceleration_xy_m_s2: machine.acceleration_xy_m_s2 * factor,
            acceleration_z_m_s2: machine.acceleration_z_m_s2 * factor,
            ..machine.clone()
        }
    }

    /// The part as it comes out, where walls do so thicker or thinner than drawn.
    pub(super) fn of_part(&self, part: &Part, layout: &Layout) -> Option<(Part, Layout)> {
        let by = self.wall_mm.value;
        if by == 0.0 {
            return None;
        }
        let (mut part, mut layout) = (part.clone(), layout.clone());
        let bosses = part.bosses.iter_mut().map(|boss| &mut boss.section);
        let sections = layout.sections.iter_mut();
        for section in [&mut part.section]
            .into_iter()
            .chain(bosses)
            .chain(sections)
        {
            thicken(section, by);
        }
        Some((part, layout))
    }
}

/// Thickens floor, walls and ribs; outside faces and heights stay. What is one by its nature stays one: a wall as thick
/// as the frame is wide, a wall or rib no higher than the floor.
fn thicken(section: &mut Section, by: f64) {
    let thicker = |thickness: &mut f64| *thickness = (*thickness + by).max(THINNEST_MM);
    let (floor, width) = (section.floor_mm, section.width_mm);
    thicker(&mut section.floor_mm);
    for wall in [&mut section.outer_wall, &mut section.inner_wall]
        .into_iter()
        .flatten()
    {
        if wall.thickness_mm < width {
            thicker(&mut wall.thickness_mm);
            wall.thickness_mm = wall.thickness_mm.min(width);
        }
        if wall.height_mm <= floor {
            wall.height_mm = wall.height_mm.min(section.floor_mm);
        }
    }
    for rib in &mut section.ribs {
        thicker(&mut rib.thickness_mm);
        if rib.height_mm <= floor {
            rib.height_mm = rib.height_mm.min(section.floor_mm);
        }
    }
}

/// The same evaluator without its calibration, with it, and with each factor one standard error off: all on the beam.
#[derive(Debug)]
pub(super) struct Beside {
    neutral: Evaluator,
    calibrated: Evaluator,
    /// A factor one standard error below and above.
    off: Vec<[Evaluator; 2]>,
}

/// A factor as a sheet shows it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FactorRow {
    /// Which: `density`.
    pub name: &'static str,
    /// The figure.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
    /// Unit; empty for a plain factor.
    pub unit: &'static str,
}

/// A measure before and after calibration.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CalibratedRow {
    /// Name as formulas use it.
    pub name: String,
    /// Without the calibration, in `unit`.
    pub before: f64,
    /// With it.
    pub after: f64,
    /// Standard error that the factors' own errors leave, in `unit`.
    pub error: f64,
    /// Unit as printed.
    pub unit: String,
}

/// What a calibration did to a design's figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Calibrated {
    /// Measured parts that it rests on.
    pub parts: usize,
    /// The factors that differ from neutral.
    pub factors: Vec<FactorRow>,
    /// The measures that they move.
    pub rows: Vec<CalibratedRow>,
}

impl FactorRow {
    /// In words: `density 0.9950 ± 0.0020`.
    pub fn words(&self) -> String {
        // As many decimals as show the error's first two digits.
        let decimals = match self.error > 0.0 {
            true => (1.0 - self.error.log10().floor()).clamp(0.0, 12.0) as usize,
            false => 4,
        };
        let unit = match self.unit {
            "" => String::new(),
            unit => format!(" {unit}"),
        };
        let (value, error) = (self.value, self.error);
        format!(
            "{} {value:.decimals$} ± {error:.decimals$}{unit}",
            self.name
        )
    }
}

impl Calibrated {
    /// In words: `calibrated by 3 parts: density 0.9950 ± 0.0020`.
    pub fn words(&self) -> String {
        let factors: Vec<String> = self.factors.iter().map(FactorRow::words).collect();
        let parts = match self.parts {
            1 => "1 part".to_string(),
            parts => format!("{parts} parts"),
        };
        format!("calibrated by {parts}: {}", factors.join(", "))
    }
}

impl Evaluator {
    /// Adds what the joints give to the work of every load case that is held and loaded by forces, and to its greatest
    /// displacement.
    pub(super) fn join(&self, answer: &Answer, solved: &mut Solved) {
        let give = self.setup.calibration.joint_mm_per_n.value;
        if give == 0.0 {
            return;
        }
        for (loading, response) in answer.loadings.iter().zip(&mut solved.responses) {
            let force = self.joint_force_n(loading, &answer.part, &answer.layout);
            response.work_n_mm += give * force * force;
            response.greatest_displacement_mm += give * force;
        }
    }

    /// Force in N that a load case puts on the joints; 0 where none is held, or none pulls.
    pub(super) fn joint_force_n(&self, loading: &Loading, part: &Part, layout: &Layout) -> f64 {
        let pulls = |action: &crate::structure::Action| action.force.iter().any(|f| *f != 0.0);
        match loading.supports.is_empty() || !loading.actions.iter().any(pulls) {
            true => 0.0,
            false => load_size(loading, part, layout),
        }
    }

    /// The same study with another calibration.
    ///
    /// # Errors
    /// As [`Evaluator::new`]; `None` in a study without a part.
    pub fn calibrated(
        &self,
        calibration: Calibration,
    ) -> Option<Result<Evaluator, super::SetupError>> {
        let frame = self.frame.as_ref()?;
        let mut setup = self.setup.clone();
        setup.calibration = calibration;
        let given = Arc::clone(&frame.given);
        let made = Evaluator::uncompared(setup, frame.part.clone(), given);
        Some(made.map(|made| made.resting_on(self.truth.clone())))
    }

    /// The evaluators that say what the calibration does.
    pub(super) fn comparing(mut self) -> Result<Evaluator, super::SetupError> {
        let calibration = self.setup.calibration;
        if calibration.is_neutral() {
            return Ok(self);
        }
        let with = |calibration| self.calibrated(calibration).unwrap_or(Ok(self.clone()));
        let mut off = Vec::new();
        for (place, factor) in calibration.factors().into_iter().enumerate() {
            if factor.error > 0.0 {
                let low = with(calibration.with(place, factor.value - factor.error))?;
                let high = with(calibration.with(place, factor.value + factor.error))?;
                off.push([low, high]);
            }
        }
        let beside = Beside {
            neutral: with(Calibration::NEUTRAL)?,
            calibrated: self.clone(),
            off,
        };
        self.beside = Some(Arc::new(beside));
        Ok(self)
    }

    /// What the calibration did to a design with these measures, in their units; `None` where there is none, or the
    /// design has no figures.
    ///
    /// The ratio before over after, and that of each factor one standard error off, are the beam's; errors of several
    /// factors are added as squares.
    pub(super) fn calibration_of(
        &self,
        variables: &[f64],
        measures: &[Named],
    ) -> Option<Calibrated> {
        let beside = self.beside.as_ref()?;
        let first = self.setup.variables.len() + self.setup.derived.len();
        let of = |evaluator: &Evaluator| evaluator.record_of_frame(variables).slots;
        let (before, after) = (of(&beside.neutral), of(&beside.calibrated));
        let off: Vec<[Vec<f64>; 2]> = beside
            .off
            .iter()
            .map(|pair| [of(&pair[0]), of(&pair[1])])
            .collect();
        let rows = measures.iter().enumerate().filter_map(|(index, measure)| {
            let slot = first + index;
            let share = |value: f64| value / after[slot];
            let squares = off
                .iter()
                .map(|[low, high]| (0.5 * share(high[slot] - low[slot])).powi(2));
            let error = squares.sum::<f64>().sqrt();
            let moved = (share(before[slot]) - 1.0).abs() > 1e-9 || error > 1e-9;
            (moved && measure.value.is_finite()).then(|| CalibratedRow {
                name: measure.name.clone(),
                before: measure.value * share(before[slot]),
                after: measure.value,
                error: measure.value.abs() * error,
                unit: measure.unit.clone(),
            })
        });
        let calibration = &self.setup.calibration;
        let neutral = Calibration::NEUTRAL.factors();
        let factors = Calibration::NAMES
            .iter()
            .zip(calibration.factors())
            .zip(neutral);
        Some(Calibrated {
            parts: calibration.parts,
            factors: factors
                .filter(|((_, own), neutral)| own.value != neutral.value)
                .map(|((&(name, unit), own), _)| FactorRow {
                    name,
                    value: own.value,
                    error: own.error,
                    unit,
                })
                .collect(),
            rows: rows.collect(),
        })
    }
}
