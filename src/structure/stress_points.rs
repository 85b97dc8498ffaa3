//! The places of a section where stress is looked at.

use super::plates::Plates;
use super::section::{Metal, StretchLaw};
use super::thinwall::{Flow, Midlines};
use crate::part::StripName;

/// Four places of one strip where stress is looked at; a coefficient of all four side by side.
#[derive(Clone, Debug)]
pub(super) struct StressPoints {
    /// Strip of each and its number: floor, outer wall, inner wall, ribs.
    pub strips: [(StripName, usize); 4],
    /// (y, z) of each.
    pub places: [(f64, f64); 4],
    /// Normal stress per (N_t, M_n, M_b, B).
    pub normal: [[f64; 4]; 4],
    /// Shear stress per (N_n, N_b, warping torque).
    pub shear: [[f64; 4]; 3],
    /// Shear stress at the surface per uniform torque.
    pub twist: [f64; 4],
}

/// Corners of every plate, and the floor's midline where plates stand and holes run.
pub(super) fn stress_points(
    plates: &Plates,
    midlines: &Midlines,
    stretch: &StretchLaw,
    curvature: f64,
    metal: &Metal,
    torsion: f64,
) -> Vec<StressPoints> {
    let mut points: Vec<StressPoints> = Vec::with_capacity(midlines.flows.len());
    let mut lane = 4;
    let twist = metal.shear_modulus_mpa() / torsion;
    for flow in &midlines.flows {
        let plate = &plates.plates[flow.plate];
        let thickness = plate.thickness();
        let half = 0.5 * thickness;
        let offs: &[f64] = if flow.end { &[-half, half] } else { &[0.0] };
        for &off in offs {
            let (y, z) = corner(plates, flow, off);
            let strength =
                metal.modulus_mpa * plate.axial / plate.net_width / (1.0 - curvature * y);
            let warp = midlines.warp(plate.standing, (flow.y, flow.z), off);
            let normal = stretch
                .strain(flow.plate, (y, z), warp, curvature, plates.floor_middle)
                .map(|strain| strength * strain);
            let over = 1.0 / (thickness * plate.net_pitch);
            let strip = (plate.name, strip_number(plate.name));
            if lane == 4 || points.last().is_some_and(|last| last.strips[0] != strip) {
                // Lanes that stay empty have no stress and so are never the greatest.
                points.push(StressPoints {
                    strips: [strip; 4],
                    places: [(y, z); 4],
                    normal: [[0.0; 4]; 4],
                    shear: [[0.0; 4]; 3],
                    twist: [0.0; 4],
                });
                lane = 0;
            }
            if let Some(last) = points.last_mut() {
                last.places[lane] = (y, z);
                for k in 0..4 {
                    last.normal[k][lane] = normal[k];
                }
                for k in 0..3 {
                    last.shear[k][lane] = flow.flow[k] * over;
                }
                last.twist[lane] = twist * thickness;
            }
            lane += 1;
        }
    }
    points
}

/// Number of a strip among those of any section.
pub(super) fn strip_number(strip: StripName) -> usize {
    match strip {
        StripName::Floor => 0,
        StripName::OuterWall => 1,
        StripName::InnerWall => 2,
        StripName::Rib(index) => 3 + index,
    }
}

/// The corner of a plate beside a place of its midline, `off` mm across the thickness.
fn corner(plates: &Plates, flow: &Flow, off: f64) -> (f64, f64) {
    let plate = &plates.plates[flow.plate];
    if plate.standing {
        // The foot of a wall is looked at where it leaves the floor.
        (flow.y + off, flow.z.max(plate.z.0))
    } else if !flow.end {
        (flow.y, flow.z + off)
    } else if flow.y < plate.middle().0 {
        (plate.y.0, flow.z + off)
    } else {
        (plate.y.1, flow.z + off)
    }
}
