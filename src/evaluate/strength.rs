//! What the sheet and the measures need of strength beyond the load cases: fatigue, walls, screws.

use super::setup::{Cycles, PartRecipe};
use crate::catalogue::{Material, MissingProperty};
use crate::machining::Plan;
use crate::part::{Boss, StripName};
use crate::structure::clamp::{bearing_pressure_mpa, cone_diameter_mm};
use crate::structure::fatigue::{
    ALUMINIUM_NOTCH_LENGTH_MM, cycle_shares, effective_peak_mpa, goodman_safety, notch_sensitivity,
    steel_notch_length_mm,
};
use crate::structure::{LoadResponse, WallGive};

/// What is known of a material's fatigue.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FatigueData {
    /// Amplitude borne, in MPa, and at how many cycles.
    pub strength_mpa: f64,
    pub cycles: f64,
    pub ultimate_mpa: f64,
    /// Peterson's length in mm; `None`: full sensitivity is taken.
    pub notch_length_mm: Option<f64>,
}

impl FatigueData {
    pub fn of(material: &Material) -> Result<FatigueData, MissingProperty> {
        let ultimate_mpa = material.need(material.ultimate_mpa, "ultimate_mpa")?;
        Ok(FatigueData {
            strength_mpa: material.need(material.fatigue_mpa, "fatigue_mpa")?,
            cycles: material.need(material.fatigue_cycles, "fatigue_cycles")?,
            ultimate_mpa,
            notch_length_mm: match material.iso_group {
                'P' | 'M' | 'H' => Some(steel_notch_length_mm(ultimate_mpa)),
                // Aluminium, told from the group's other metals by its modulus.
                'N' if (60.0..85.0).contains(&material.modulus_gpa) => {
                    Some(ALUMINIUM_NOTCH_LENGTH_MM)
                }
                _ => None,
            },
        })
    }

    /// Stress of a response that the fatigue strength sees, in MPa: nominal stress, or the peak at a row of holes
    /// less what the notch sensitivity takes off.
    pub fn effective_mpa(&self, response: &LoadResponse) -> f64 {
        let nominal = response.strips.first().map_or(0.0, |s| s.equivalent_mpa);
        let peaks = response.holes.iter().map(|hole| {
            let sensitivity = self.notch_length_mm.map_or(1.0, |length| {
                notch_sensitivity(length, 0.5 * hole.diameter_mm)
            });
            effective_peak_mpa(hole.peak_mpa, hole.concentration, sensitivity)
        });
        peaks.fold(nominal, f64::max)
    }

    /// Factor by which a load's cycle may grow before fatigue.
    pub fn safety(&self, cycles: &Cycles, response: &LoadResponse) -> f64 {
        let effective = self.effective_mpa(response);
        let (amplitude, mean) = cycle_shares(cycles.ratio);
        goodman_safety(
            amplitude * effective,
            mean * effective,
            self.strength_mpa,
            self.ultimate_mpa,
        )
    }
}

/// Greatest local stress of a response by handbook, in MPa.
pub(super) fn peak_mpa(response: &LoadResponse) -> f64 {
    let nominal = response.strips.first().map_or(0.0, |s| s.equivalent_mpa);
    response
        .holes
        .first()
        .map_or(nominal, |hole| nominal.max(hole.peak_mpa))
}

/// A screw through the bore of a boss.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Screw {
    /// Index of the boss in the part.
    pub boss: usize,
    pub clamp_n: f64,
    pub head_mm: f64,
    pub hole_mm: f64,
    /// Thickness under the head.
    pub plate_mm: f64,
    pub bearing_mpa: f64,
    pub cone_mm: f64,
    pub cone_room_mm: f64,
    pub head_room_mm: f64,
}

/// The screws of a part, boss by boss.
pub(super) fn screws(recipe: &PartRecipe, bosses: &[Boss], slots: &[f64]) -> Vec<Screw> {
    let mut screws = Vec::new();
    let mut at = 0;
    for each in &recipe.bosses {
        if let Some((clamp, head)) = &each.screw {
            let (clamp, head) = (clamp.value(slots), head.value(slots));
            screws.extend(
                (at..at + each.at.len()).map(|boss| screw(boss, &bosses[boss], clamp, head)),
            );
        }
        at += each.at.len();
    }
    screws
}

fn screw(index: usize, boss: &Boss, clamp_n: f64, head_mm: f64) -> Screw {
    let hole_mm = boss.bore.map_or(0.0, |bore| bore.diameter_mm);
    let counterbore = boss.bore.and_then(|bore| bore.counterbore);
    let recess_mm = counterbore.map_or(0.0, |wide| wide.depth_mm);
    let plate_mm = boss.section.floor_mm - recess_mm;
    let cone_mm = cone_diameter_mm(head_mm, plate_mm);
    // Clear floor on both sides of the path.
    let standing = boss.section.strips();
    let beside = standing
        .iter()
        .filter(|strip| strip.name != StripName::Floor)
        .map(|strip| strip.y_low.max(-strip.y_high).max(0.0))
        .fold(f64::INFINITY, f64::min);
    let recess_room = counterbore.map_or(f64::INFINITY, |wide| 0.5 * wide.diameter_mm);
    Screw {
        boss: index,
        clamp_n,
        head_mm,
        hole_mm,
        plate_mm,
        bearing_mpa: bearing_pressure_mpa(clamp_n, head_mm, hole_mm),
        cone_mm,
        cone_room_mm: boss.section.width_mm.min(boss.length_mm) - cone_mm,
        head_room_mm: beside.min(recess_room) - 0.5 * head_mm,
    }
}

/// Deflection of a wall's free edge in its finish pass, in mm; 0 where no pocket touches it.
pub(super) fn cut_deflection_mm(wall: &WallGive, plan: &Plan) -> f64 {
    wall.give_mm_n * cut_force_n(wall, plan)
}

/// Force square to a wall in its finish pass, in N.
pub(super) fn cut_force_n(wall: &WallGive, plan: &Plan) -> f64 {
    plan.wall_forces
        .iter()
        .find(|force| force.section == wall.section && force.strip == wall.strip)
        .map_or(0.0, |force| force.force_n)
}
