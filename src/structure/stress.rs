//! Nominal stress in every strip.

use super::block::{Row, add_row, times, transposed_times};
use super::element::{Level, mirrored_times};
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
    /// One entry a strip, in the order of [`place_of`]; none until the strip is met.
    strips: Vec<Option<StripStress>>,
    /// Squares of their equivalent stresses.
    squares: Vec<f64>,
}

/// Where a strip's stress is kept.
fn place_of(strip: StripName) -> usize {
    match strip {
        StripName::Floor => 0,
        StripName::OuterWall => 1,
        StripName::InnerWall => 2,
        StripName::Rib(index) => 3 + index,
    }
}

impl Stresses {
    pub fn new() -> Stresses {
        Stresses {
            strips: vec![None; 4],
            squares: vec![f64::NEG_INFINITY; 4],
        }
    }

    /// Strips, the most stressed first; equal ones in order of their names.
    pub fn finish(self) -> Vec<StripStress> {
        let mut strips: Vec<StripStress> = self.strips.into_iter().flatten().collect();
        strips.sort_by(|a, b| {
            b.equivalent_mpa
                .total_cmp(&a.equivalent_mpa)
                .then(a.strip.cmp(&b.strip))
        });
        strips
    }

    /// Looks at both ends and the middle of a piece. `fixed`: acceleration of every node, where there is one.
    pub fn look_at(&mut self, model: &Model, index: usize, motion: &[Row], fixed: Option<&[Row]>) {
        let piece = &model.pieces[index];
        let levels = &model.elements[piece.kind].levels;
        let far = model.far(index);
        let level = &levels[piece.level];
        let inertia = fixed.map(|a| (&a[index], &a[far]));
        let near = near_force(level, &motion[index], &motion[far], inertia);
        let away = far_force(level, &motion[index], &motion[far], inertia);
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
            &mirrored_times(&level.middle, &motion[far]),
        );
        let mut halfway = None;
        if let Some(a) = fixed {
            // A uniform acceleration in the axes at the middle.
            let mut there = times(&level.middle, &a[index]);
            add_row(&mut there, 1.0, &mirrored_times(&level.middle, &a[far]));
            let mut pull = transposed_times(&half.m01, &a[index]);
            add_row(&mut pull, 1.0, &times(&half.m01, &a[far]));
            add_row(&mut pull, 1.0, &times(&half.m00, &there));
            add_row(&mut pull, 1.0, &mirrored_times(&half.m00, &there));
            add_row(&mut middle, -1.0, &times(&level.give, &pull));
            halfway = Some(there);
        }
        let inertia = halfway.as_ref().zip(fixed.map(|a| &a[far]));
        let near = near_force(half, &middle, &motion[far], inertia);
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
            let square = normal * normal + 3.0 * shear * shear;
            let place = place_of(point.strip);
            if place >= self.strips.len() {
                self.strips.resize(place + 1, None);
                self.squares.resize(place + 1, f64::NEG_INFINITY);
            }
            if square > self.squares[place] {
                self.squares[place] = square;
                self.strips[place] = Some(StripStress {
                    strip: point.strip,
                    equivalent_mpa: square.sqrt(),
                    normal_mpa: normal,
                    segment: piece.segment,
                    station_mm: piece.start_mm + along * piece.length_mm,
                    place_mm: (point.y, point.z),
                });
            }
        }
    }
}

/// Force on the near end of a piece, with the inertia forces of an acceleration of both ends taken into account.
fn near_force(level: &Level, near: &Row, far: &Row, inertia: Option<(&Row, &Row)>) -> Row {
    let mut force = times(&level.k00, near);
    add_row(&mut force, 1.0, &times(&level.k01, far));
    if let Some((a, b)) = inertia {
        add_row(&mut force, 1.0, &times(&level.m00, a));
        add_row(&mut force, 1.0, &times(&level.m01, b));
    }
    force
}

/// As [`near_force`], on the far end.
fn far_force(level: &Level, near: &Row, far: &Row, inertia: Option<(&Row, &Row)>) -> Row {
    let mut force = transposed_times(&level.k01, near);
    add_row(&mut force, 1.0, &mirrored_times(&level.k00, far));
    if let Some((a, b)) = inertia {
        add_row(&mut force, 1.0, &transposed_times(&level.m01, a));
        add_row(&mut force, 1.0, &mirrored_times(&level.m00, b));
    }
    force
}
