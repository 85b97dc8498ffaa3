//! A design proved: beam, searched and solid figures side by side, with what the mesh leaves open.

use serde::Serialize;

use super::correction::Target;
use super::evaluator::Evaluator;
use super::truth::{NoSolid, SolidFacts};
use crate::solid::Density;

/// A figure by every model.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ProofRow {
    /// Measure: `tilt.stiffness`.
    pub name: String,
    /// Its unit.
    pub unit: String,
    /// By the beam alone.
    pub beam: f64,
    /// As the search used it: the beam, perhaps times the law.
    pub searched: f64,
    /// By the solid on the coarser mesh.
    pub coarser: f64,
    /// By the solid on the finer mesh.
    pub finer: f64,
    /// The solid's figure: the finer mesh's, carried on to an endlessly fine one.
    pub solid: f64,
    /// What the meshes leave open, in per cent of the figure: see [`Proof`].
    pub open_percent: f64,
}

/// Greatest stress at a hole in one load case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PeakRow {
    /// Load case.
    pub load: String,
    /// By the coarser mesh, in MPa.
    pub coarser_mpa: f64,
    /// By the finer mesh, in MPa.
    pub finer_mpa: f64,
    /// Place (x, y, z) in the plan, in mm.
    pub place_mm: [f64; 3],
    /// Place along the path, in mm.
    pub station_mm: f64,
    /// Name of the hole row, or `bore`.
    pub hole: String,
}

/// A natural vibration.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ModeRow {
    /// In Hz.
    pub frequency_hz: f64,
    /// `in plane`, `out of plane` or `twist`.
    pub kind: String,
    /// Share of the kinetic energy of that kind, 0 to 1.
    pub share: f64,
}

/// The solid answer of a design beside the others.
///
/// A figure is open by 0.3 % and seven tenths of the difference between the meshes: the members of
/// `tests/data/solid/members.csv` whose references were solved on the finest mesh lie within that.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Proof {
    /// Figures that beam and solid both give.
    pub rows: Vec<ProofRow>,
    /// Greatest stresses at holes, load case by load case; empty where nothing is drilled.
    pub peaks: Vec<PeakRow>,
    /// Natural vibrations, lowest first.
    pub modes: Vec<ModeRow>,
    /// The meshes in words: `coarse (41,000 unknowns) and fine (130,000 unknowns)`.
    pub meshes: String,
    /// What was idealised.
    pub remarks: Vec<String>,
    /// Station of each plane of the finer mesh in mm with its section's displacement in plan axes in mm, for
    /// each load case.
    #[serde(skip)]
    pub shapes: Vec<Vec<(f64, [f64; 3])>>,
}

impl Evaluator {
    /// The solid answer of a design, from its variables in base units, at two densities, with its first
    /// `vibrations` natural vibrations on the coarser mesh.
    ///
    /// # Errors
    /// [`NoSolid`]: the beam's answer stands alone.
    pub fn prove(
        &self,
        variables: &[f64],
        (coarser, finer): (Density, Density),
        vibrations: usize,
    ) -> Result<Proof, NoSolid> {
        let low = self.solid(variables, coarser, vibrations.max(1))?;
        let high = self.solid(variables, finer, 0)?;
        let beam = self.beam(variables).ok_or(NoSolid::Design(None))?;
        let searched = self.searched(variables).ok_or(NoSolid::Design(None))?;
        let (rough, fine) = (self.figures(&low), self.figures(&high));
        let rows = self
            .targets()
            .iter()
            .enumerate()
            .map(|(k, (target, name))| {
                let carried = match target {
                    // Vibrations are solved on the coarser mesh; stiffness of the kind they ride on is not
                    // known, so the first load case's mesh error, halved by the root, stands for theirs.
                    Target::Frequency => {
                        let first = self.carry_on(rough[0], fine[0], coarser, finer);
                        rough[k] * (first / rough[0]).powf(if self.rises(0) { 0.5 } else { -0.5 })
                    }
                    _ => self.carry_on(rough[k], fine[k], coarser, finer),
                };
                ProofRow {
                    name: name.clone(),
                    unit: self.unit_of(name),
                    beam: beam[k],
                    searched: searched[k],
                    coarser: rough[k],
                    finer: fine[k],
                    solid: carried,
                    open_percent: open_percent(rough[k], fine[k], carried),
                }
            })
            .collect();
        Ok(Proof {
            rows,
            peaks: self.peaks(&low, &high),
            modes: low
                .modes
                .iter()
                .map(|mode| ModeRow {
                    frequency_hz: mode.frequency_hz,
                    kind: mode.kind.words().into(),
                    share: mode.share,
                })
                .collect(),
            meshes: format!(
                "{} ({} unknowns) and {} ({} unknowns)",
                coarser.words(),
                low.unknowns,
                finer.words(),
                high.unknowns
            ),
            remarks: high.remarks.clone(),
            shapes: high.loads.into_iter().map(|load| load.shape).collect(),
        })
    }

    fn rises(&self, target: usize) -> bool {
        matches!(self.targets()[target].0, Target::Stiffness(_))
    }

    /// A figure of two meshes carried on to an endlessly fine one.
    fn carry_on(&self, rough: f64, fine: f64, coarser: Density, finer: Density) -> f64 {
        fine + (fine - rough) * coarser.left_by(finer)
    }

    fn unit_of(&self, name: &str) -> String {
        let taken = self.measures.iter().find(|taken| taken.name == name);
        // Peaks at holes are a part of a measure, and stresses like it.
        taken.map_or_else(|| "MPa".into(), |taken| taken.unit.into())
    }

    fn peaks(&self, low: &SolidFacts, high: &SolidFacts) -> Vec<PeakRow> {
        let loads = self
            .setup
            .loads
            .iter()
            .zip(low.loads.iter().zip(&high.loads));
        loads
            // Of a blade opened far the solid knows the stiffness at rest only.
            .filter(|(load, _)| load.opening.is_none())
            .filter_map(|(load, (low, high))| {
                let (low, high) = (low.peak?, high.peak?);
                Some(PeakRow {
                    load: load.name.clone(),
                    coarser_mpa: low.equivalent_mpa,
                    finer_mpa: high.equivalent_mpa,
                    place_mm: high.place_mm,
                    station_mm: high.station_mm,
                    hole: match high.row {
                        Some(row) => self.row_name(row),
                        None => "bore".into(),
                    },
                })
            })
            .collect()
    }

    fn row_name(&self, row: usize) -> String {
        let rows = self.frame.as_ref().map(|frame| &frame.part.hole_rows);
        let row = rows.and_then(|rows| rows.get(row));
        row.map_or_else(String::new, |row| row.name.clone())
    }
}

fn open_percent(rough: f64, fine: f64, carried: f64) -> f64 {
    let apart = if fine.is_finite() {
        fine - rough
    } else {
        carried - rough
    };
    0.3 + 70.0 * (apart / carried).abs()
}

/// A solid under one load case, for a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Load case.
    pub load: String,
    /// Its outside.
    pub patches: Vec<crate::solid::Patch>,
    /// Greatest stress at a hole, in MPa; of the whole outside where nothing is drilled.
    pub peak_mpa: f64,
    /// Place (x, y, z) of that stress in the plan, in mm.
    pub peak_mm: Option<[f64; 3]>,
}

impl Evaluator {
    /// A picture of a design for every load case.
    ///
    /// # Errors
    /// [`NoSolid`]: it can't be solved in solid.
    pub fn pictures(&self, variables: &[f64], density: Density) -> Result<Vec<Picture>, NoSolid> {
        let facts = self.solid(variables, density, 0)?;
        let outsides = self.surfaces(variables, density)?;
        let loads = self
            .setup
            .loads
            .iter()
            .zip(facts.loads.iter().zip(outsides));
        Ok(loads
            .map(|(load, (facts, patches))| {
                let most = patches
                    .iter()
                    .map(|patch| patch.equivalent_mpa)
                    .fold(0.0, f64::max);
                Picture {
                    load: load.name.clone(),
                    peak_mpa: facts.peak.map_or(most, |peak| peak.equivalent_mpa),
                    peak_mm: facts.peak.map(|peak| peak.place_mm),
                    patches,
                }
            })
            .collect())
    }
}
