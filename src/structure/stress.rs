//! Nominal stress in every strip.

use super::block::{Row, add_row, times, transposed_times};
use super::element::{Level, mirrored};
use super::model::{Model, Piece};
use super::section::SectionLaw;
use crate::part::StripName;

/// Greatest nominal stress of one strip and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripStress {
    /// The strip.
    pub strip: StripName,
    /// Equivalent stress sqrt(sigma² + 3 tau²) in MPa: normal stress from stretching, bending (on curves with
    /// the fibres' lengths) and restrained warping; shear from shear forces, warping and uniform torsion. In
    /// drilled strips the normal stress is spread over the width that the holes leave and the shear over the
    /// ligaments; peaks at hole edges are not in it.
    pub equivalent_mpa: f64,
    /// Normal stress there, in MPa.
    pub normal_mpa: f64,
    /// Segment of the layout.
    pub segment: usize,
    /// Place along the path, in mm.
    pub station_mm: f64,
    /// Place in the section (y, z), in mm.
    pub place_mm: (f64, f64),
}

/// Gathers the greatest stress of every strip.
pub(super) struct Stresses {
    strips: Vec<StripStress>,
}

impl Stresses {
    pub fn new() -> Stresses {
        Stresses {
            strips: Vec::with_capacity(6),
        }
    }

    /// Strips, the most stressed first; equal ones in order of their names.
    pub fn finish(mut self) -> Vec<StripStress> {
        self.strips.sort_by(|a, b| {
            b.equivalent_mpa
                .total_cmp(&a.equivalent_mpa)
                .then(a.strip.cmp(&b.strip))
        });
        self.strips
    }

    /// Looks at both ends and the middle of a piece. `fixed`: acceleration of every node, where there is one.
    pub fn look_at(&mut self, model: &Model, index: usize, motion: &[Row], fixed: Option<&[Row]>) {
        let piece = &model.pieces[index];
        let levels = &model.elements[piece.kind].levels;
        let far = model.far(index);
        let level = &levels[piece.level];
        let inertia = fixed.map(|a| (&a[index], &a[far]));
        let (near, away) = end_forces(level, &motion[index], &motion[far], inertia);
        let law = &model.laws[piece.kind];
        self.compare(law, piece, 0.0, &near.map(|value| -value), motion[index][6]);
        self.compare(law, piece, 1.0, &away, motion[far][6]);
        if piece.level == 0 {
            return;
        }
        let half = &levels[piece.level - 1];
        let mut middle = times(&level.middle, &motion[index]);
        add_row(
            &mut middle,
            1.0,
            &times(&mirrored(&level.middle), &motion[far]),
        );
        let mut halfway = None;
        if let Some(a) = fixed {
            // A uniform acceleration in the axes at the middle.
            let mut there = times(&level.middle, &a[index]);
            add_row(&mut there, 1.0, &times(&mirrored(&level.middle), &a[far]));
            let mut pull = transposed_times(&half.m01, &a[index]);
            add_row(&mut pull, 1.0, &times(&half.m01, &a[far]));
            add_row(&mut pull, 1.0, &times(&half.m00, &there));
            add_row(&mut pull, 1.0, &times(&mirrored(&half.m00), &there));
            add_row(&mut middle, -1.0, &times(&level.give, &pull));
            halfway = Some(there);
        }
        let inertia = halfway.as_ref().zip(fixed.map(|a| &a[far]));
        let (near, _) = end_forces(half, &middle, &motion[far], inertia);
        self.compare(law, piece, 0.5, &near.map(|value| -value), middle[6]);
    }

    /// Compares the stresses from section forces (N_t, N_n, N_b, M_t, M_n, M_b, B) and warping amplitude.
    fn compare(&mut self, law: &SectionLaw, piece: &Piece, along: f64, r: &Row, p: f64) {
        let warping_torque =
            law.lever[0] * r[1] + law.lever[1] * r[2] + law.lever[2] * r[3] - law.twist * p;
        let (y, z) = law.properties.shear_centre_mm;
        let uniform = r[3] + z * r[1] - y * r[2] - warping_torque;
        for point in &law.points {
            let [a, b, c, d] = point.normal;
            let normal = a * r[0] + b * r[4] + c * r[5] + d * r[6];
            let [a, b, c] = point.shear;
            let shear =
                (a * r[1] + b * r[2] + c * warping_torque).abs() + (point.twist * uniform).abs();
            let equivalent = (normal * normal + 3.0 * shear * shear).sqrt();
            let known = self
                .strips
                .iter_mut()
                .find(|known| known.strip == point.strip);
            let found = StripStress {
                strip: point.strip,
                equivalent_mpa: equivalent,
                normal_mpa: normal,
                segment: piece.segment,
                station_mm: piece.start_mm + along * piece.length_mm,
                place_mm: (point.y, point.z),
            };
            match known {
                None => self.strips.push(found),
                Some(known) if known.equivalent_mpa < equivalent => *known = found,
                Some(_) => {}
            }
        }
    }
}

/// Forces on both ends of a piece, with the inertia forces of an acceleration taken into account.
fn end_forces(level: &Level, near: &Row, far: &Row, inertia: Option<(&Row, &Row)>) -> (Row, Row) {
    let mut start = times(&level.k00, near);
    add_row(&mut start, 1.0, &times(&level.k01, far));
    let mut end = transposed_times(&level.k01, near);
    add_row(&mut end, 1.0, &times(&mirrored(&level.k00), far));
    if let Some((a, b)) = inertia {
        add_row(&mut start, 1.0, &times(&level.m00, a));
        add_row(&mut start, 1.0, &times(&level.m01, b));
        add_row(&mut end, 1.0, &transposed_times(&level.m01, a));
        add_row(&mut end, 1.0, &times(&mirrored(&level.m00), b));
    }
    (start, end)
}
