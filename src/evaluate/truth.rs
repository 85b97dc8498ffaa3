//! A design's solid answer, measure by measure beside the beam's.

use std::fmt;

use super::correction::Truth;
use super::evaluator::{Answer, Evaluator, Trouble, carried, frequency_supports, load_size};
use super::outside::Ask;
use super::stations::{loadings, stations};
use crate::solid::{Cut, Density, HolePeak, MeshError, Mode, Patch, Solid, SolidError, cut};

/// What the solid says of a design.
#[derive(Clone, Debug, PartialEq)]
pub struct SolidFacts {
    /// How fine the mesh was.
    pub density: Density,
    /// Answers to the load cases, in the order of the study.
    pub loads: Vec<SolidLoad>,
    /// Natural vibrations, lowest first, with the supports that the frequency is taken with; empty where not
    /// asked for.
    pub modes: Vec<Mode>,
    /// Unknowns of the whole mesh, had it been solved at once.
    pub unknowns: usize,
    /// What was idealised, in words.
    pub remarks: Vec<String>,
}

/// Answer to one load case in solid.
#[derive(Clone, Debug, PartialEq)]
pub struct SolidLoad {
    /// Load over the displacement of its points along it, in N/mm or N mm/rad; not a number where the case has
    /// none.
    pub stiffness: f64,
    /// Greatest displacement of a section, in mm.
    pub displacement_mm: f64,
    /// Greatest stress on the wall of a hole; absent where nothing is drilled.
    pub peak: Option<HolePeak>,
    /// The same among the holes of the hole rows.
    pub row_peak: Option<HolePeak>,
    /// Station of each plane of the mesh in mm, and its section's displacement in plan axes in mm.
    pub shape: Vec<(f64, [f64; 3])>,
}

/// Why a design has no solid answer.
#[derive(Clone, Debug, PartialEq)]
pub enum NoSolid {
    /// The beam has none either.
    Design(Option<Trouble>),
    /// The part can't be meshed.
    Mesh(MeshError),
    /// The solid can't be solved.
    Solve(SolidError),
}

impl fmt::Display for NoSolid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoSolid::Design(_) => write!(f, "solve a design that the beam can't solve either"),
            NoSolid::Mesh(error) => error.fmt(f),
            NoSolid::Solve(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for NoSolid {}

impl Evaluator {
    /// The solid answer of a design, from its variables in base units, with its first `vibrations` natural
    /// vibrations.
    ///
    /// # Errors
    /// [`NoSolid`]: the beam's answer stands alone.
    pub fn solid(
        &self,
        variables: &[f64],
        density: Density,
        vibrations: usize,
    ) -> Result<SolidFacts, NoSolid> {
        let beam = self.resting_on(Truth::Beam);
        let (record, answer, trouble) = beam.examine(variables, false, Ask::Nobody);
        match answer {
            Some(answer) if trouble.is_none() => {
                self.solid_of(&answer, &record.slots, density, vibrations)
            }
            _ => Err(NoSolid::Design(trouble)),
        }
    }

    /// The outside of a design under every load case.
    pub(super) fn surfaces(
        &self,
        variables: &[f64],
        density: Density,
    ) -> Result<Vec<Vec<Patch>>, NoSolid> {
        let beam = self.resting_on(Truth::Beam);
        let (record, answer, trouble) = beam.examine(variables, false, Ask::Nobody);
        let Some(answer) = answer.filter(|_| trouble.is_none()) else {
            return Err(NoSolid::Design(trouble));
        };
        let (part, layout) = answer.as_made();
        let at = stations(&self.setup.loads, part, &record.slots);
        let (_, _, carried_nodes) = loadings(&self.setup.loads, layout, &record.slots);
        // With the force that holds a blade open, where one is opened.
        let loadings = &answer.loadings;
        let carried = carried(part, layout.length_mm, &carried_nodes);
        let cut = cut(part, layout, &at, density).map_err(NoSolid::Mesh)?;
        let nodes = &layout.station_nodes;
        let solid = Solid::new(
            &cut,
            &part.path,
            nodes,
            &answer.frame.metal,
            &carried,
            loadings,
        )
        .map_err(NoSolid::Solve)?;
        let surface = |loading| solid.surface(loading).map_err(NoSolid::Solve);
        loadings.iter().map(surface).collect()
    }

    /// The solid answer of a part.
    pub(super) fn solid_of(
        &self,
        answer: &Answer,
        slots: &[f64],
        density: Density,
        vibrations: usize,
    ) -> Result<SolidFacts, NoSolid> {
        let (part, layout) = answer.as_made();
        let at = stations(&self.setup.loads, part, slots);
        let (_, _, carried_nodes) = loadings(&self.setup.loads, layout, slots);
        // With the force that holds a blade open, where one is opened.
        let loadings = &answer.loadings;
        let carried = carried(part, layout.length_mm, &carried_nodes);
        let cut = cut(part, layout, &at, density).map_err(NoSolid::Mesh)?;
        let nodes = &layout.station_nodes;
        let solid = Solid::new(
            &cut,
            &part.path,
            nodes,
            &answer.frame.metal,
            &carried,
            loadings,
        )
        .map_err(NoSolid::Solve)?;
        let responses = solid.solve(loadings).map_err(NoSolid::Solve)?;
        let loads = loadings
            .iter()
            .zip(responses)
            .map(|(loading, response)| {
                let size = load_size(loading, part, layout);
                // Joints stand between a part and what it is measured on, be it a beam or a solid.
                let give = self.setup.calibration.joint_mm_per_n.value;
                let joint = give * self.joint_force_n(loading, part, layout);
                SolidLoad {
                    stiffness: size * size / (response.work_n_mm + joint * size),
                    displacement_mm: response.greatest_displacement_mm + joint,
                    peak: greatest(response.hole_peaks.iter()),
                    row_peak: greatest(response.hole_peaks.iter().filter(|p| p.row.is_some())),
                    shape: cut
                        .planes
                        .iter()
                        .zip(&response.planes)
                        .map(|(plane, m)| (plane.station_mm, [m[0], m[1], m[2]]))
                        .collect(),
                }
            })
            .collect();
        let modes = match vibrations {
            0 => Vec::new(),
            count => {
                let supports = frequency_supports(loadings);
                solid.modes(supports, count).map_err(NoSolid::Solve)?
            }
        };
        Ok(SolidFacts {
            density,
            loads,
            modes,
            unknowns: unknowns(&cut),
            remarks: cut.remarks.clone(),
        })
    }
}

fn greatest<'a>(peaks: impl Iterator<Item = &'a HolePeak>) -> Option<HolePeak> {
    peaks
        .max_by(|a, b| a.equivalent_mpa.total_cmp(&b.equivalent_mpa))
        .copied()
}

/// Unknowns of the whole mesh: of all slabs, planes counted once.
fn unknowns(cut: &Cut) -> usize {
    let inside: usize = cut
        .links
        .iter()
        .map(|link| {
            let slab = &cut.slabs[link.slab];
            slab.nodes.len() - slab.start.len() - slab.end.len()
        })
        .sum();
    let planes: usize = cut
        .planes
        .iter()
        .map(|plane| cut.faces[plane.face].nodes.len())
        .sum();
    3 * (inside + planes)
}
