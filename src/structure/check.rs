//! Sizes that make no frame.

use super::error::StructureError;
use super::model::Carried;
use super::section::Metal;
use crate::part::{Depth, Layout};

fn positive(what: &'static str, value: f64) -> Result<(), StructureError> {
    if value > 0.0 && value.is_finite() {
        Ok(())
    } else {
        Err(StructureError::Size { what, value })
    }
}

fn at_least_zero(what: &'static str, value: f64) -> Result<(), StructureError> {
    if value >= 0.0 && value.is_finite() {
        Ok(())
    } else {
        Err(StructureError::Size { what, value })
    }
}

/// Checks the sizes that a frame is computed from.
///
/// # Errors
/// [`StructureError::Size`], [`StructureError::Tight`], [`StructureError::NoNode`].
pub(super) fn check(
    layout: &Layout,
    metal: &Metal,
    carried: &Carried,
) -> Result<(), StructureError> {
    positive("Young's modulus in MPa", metal.modulus_mpa)?;
    positive("density in t/mm3", metal.density_t_mm3)?;
    positive("0.5 - Poisson's ratio", 0.5 + 1e-9 - metal.poisson)?;
    positive("1 + Poisson's ratio", 1.0 + metal.poisson)?;
    at_least_zero("spread mass in t/mm", carried.spread_t_per_mm)?;
    positive("number of segments", layout.segments.len() as f64)?;
    for point in &carried.points {
        at_least_zero("carried mass in t", point.mass_t)?;
        let nodes = layout.nodes_mm.len();
        if point.node >= nodes {
            return Err(StructureError::NoNode {
                node: point.node,
                nodes,
            });
        }
    }
    for (index, kind) in layout.kinds.iter().enumerate() {
        positive("length of a segment in mm", kind.length_mm)?;
        at_least_zero("size of the curvature in 1/mm", kind.curvature.abs())?;
        let section = &layout.sections[kind.section];
        positive("width of the section in mm", section.width_mm)?;
        positive("thickness of the floor in mm", section.floor_mm)?;
        for wall in [section.outer_wall, section.inner_wall].iter().flatten() {
            positive("thickness of a wall in mm", wall.thickness_mm)?;
            at_least_zero("height of a wall in mm", wall.height_mm)?;
        }
        let walls = [section.outer_wall, section.inner_wall];
        let standing: f64 = walls.iter().flatten().map(|wall| wall.thickness_mm).sum();
        positive(
            "width left between the walls in mm",
            section.width_mm - standing,
        )?;
        for rib in &section.ribs {
            positive("thickness of a rib in mm", rib.thickness_mm)?;
            at_least_zero("height of a rib in mm", rib.height_mm)?;
            let reach = rib.offset_mm.abs() + 0.5 * rib.thickness_mm;
            let over = 0.5 * section.width_mm - reach;
            at_least_zero("floor beyond a rib in mm", over + 1e-9)?;
        }
        for perforation in &kind.perforations {
            positive("diameter of holes in mm", perforation.diameter_mm)?;
            positive("pitch of holes in mm", perforation.pitch_mm)?;
            at_least_zero(
                "size of a hole row's offset in mm",
                perforation.offset_mm.abs(),
            )?;
            at_least_zero(
                "size of a hole row's gap in mm",
                perforation.row_gap_mm.abs(),
            )?;
            if let Depth::Blind(depth) = perforation.depth {
                positive("depth of holes in mm", depth)?;
            }
        }
        let reach = 0.5 * section.width_mm;
        if reach * kind.curvature.abs() > 0.95 {
            return Err(StructureError::Tight {
                kind: index,
                radius_mm: 1.0 / kind.curvature.abs(),
                reach_mm: reach,
            });
        }
    }
    Ok(())
}
