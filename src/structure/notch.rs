//! The local peak of stress at the edges of drilled holes, by handbook factors.
//!
//! Stretching and bending in the strip's plane use factors on the smeared strain, which is nearly the same
//! whether the strip's edges are free or held by walls; shear uses one on the mean stress of the ligaments.

use std::sync::OnceLock;

use super::plates::Plates;
use super::section::{Metal, StretchLaw};
use super::thinwall::Midlines;
use crate::part::StripName;

/// Stress along a hole's edge over that of the strip without the hole. See [`hole_factors`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoleFactors {
    /// Greatest stress over E times the mean strain along the strip.
    pub tension: f64,
    /// Greatest stress over E times the strain that bending in the strip's plane gives at the hole's edge.
    pub bending: f64,
    /// Greatest stress over the mean shear stress of the ligaments between holes.
    pub shear: f64,
}

const TABLE: &str = include_str!("data/hole_peaks.csv");
const WIDTHS: usize = 9;
const PITCHES: usize = 10;
const LAST_PITCH: f64 = 0.88;

type Rows = [[[f64; 3]; PITCHES]; WIDTHS];

fn table() -> &'static Rows {
    static ROWS: OnceLock<Rows> = OnceLock::new();
    ROWS.get_or_init(|| {
        let mut rows = [[[1.0; 3]; PITCHES]; WIDTHS];
        for (index, line) in TABLE.lines().skip(1).enumerate() {
            for (field, text) in line.split(',').skip(2).take(3).enumerate() {
                rows[index / PITCHES][index % PITCHES][field] = text.parse().unwrap_or(f64::NAN);
            }
        }
        rows
    })
}

/// Factors of stress at the edges of a row of holes along the load, without unit.
///
/// Linear between the values of the table; d/w above 0.8 and d/p above 0.88 take the value there. Stretching
/// over the gross stress (Howland's factor) is `tension` over the strip's axial stiffness factor.
///
/// `d_over_w` diameter over strip width, `d_over_p` diameter over pitch.
///
/// Source: `data/hole_peaks.csv` (own plane-stress finite elements of the cell), which meets Howland (1930).
pub fn hole_factors(d_over_w: f64, d_over_p: f64) -> HoleFactors {
    let rows = table();
    let across = (10.0 * d_over_w).clamp(0.0, (WIDTHS - 1) as f64);
    let row = (across as usize).min(WIDTHS - 2);
    let pitch = d_over_p.clamp(0.0, LAST_PITCH);
    let column = ((10.0 * pitch) as usize).min(PITCHES - 2);
    let step = if column == PITCHES - 2 { 0.08 } else { 0.1 };
    let (u, v) = (
        across - row as f64,
        ((pitch - 0.1 * column as f64) / step).min(1.0),
    );
    let value = |field: usize| {
        let line = |row: usize| {
            let (near, far) = (rows[row][column][field], rows[row][column + 1][field]);
            near + v * (far - near)
        };
        line(row) + u * (line(row + 1) - line(row))
    };
    HoleFactors {
        tension: value(0),
        bending: value(1),
        shear: value(2),
    }
}

/// Stress concentration of one hole in a strip in tension, on the net section: 2 + (1 - d/w)³.
///
/// `d_over_w` diameter over strip width, 0 to 1.
///
/// Source: Heywood, Designing by Photoelasticity, 1952 (from memory).
pub fn single_hole_net(d_over_w: f64) -> f64 {
    2.0 + (1.0 - d_over_w).powi(3)
}

/// Stress concentration of a hole in a wide plate bent across its thickness, on the surface stress: from 3
/// where the plate is thick to 1.79 where it is thin.
///
/// 1.79 + 0.25/(0.39 + x) + 0.81/(1 + x²) - 0.26/(1 + x³), x = d/2t.
///
/// `d_over_t` diameter over thickness.
///
/// Source: Reissner's theory of plates, fitted in Roark's Formulas for Stress and Strain, holes in plates
/// (from memory).
pub fn plate_bending(d_over_t: f64) -> f64 {
    let x = 0.5 * d_over_t;
    1.79 + 0.25 / (0.39 + x) + 0.81 / (1.0 + x * x) - 0.26 / (1.0 + x * x * x)
}

/// Places along a hole's edge that are looked at.
const EDGES: usize = 8;

/// Shares of far stress, of its growth across the strip, of shear and of stress across the strip in the stress
/// along a hole's edge, at eight angles θ from the strip's length: |1 - 2 cos 2θ|, |cos 2θ| sin θ, 4 |sin 2θ| and
/// |1 + 2 cos 2θ|. By the hole's symmetries their signs combine in every way somewhere along the edge, at one of
/// the two surfaces, so the sum of the four misses the peak by no more than the spacing of the angles (3 %).
///
/// Source: Kirsch 1898; for a stress growing across the strip Timoshenko & Goodier, Theory of Elasticity (from
/// memory): along the edge g r (sin θ - sin 3θ).
const SHARES: [[f64; EDGES]; 4] = [
    [
        1.000000, 0.618034, 0.315960, 1.000000, 1.749213, 2.338261, 2.797588, 3.000000,
    ],
    [
        0.000000, 0.250000, 0.196175, 0.000000, 0.310563, 0.611281, 0.875758, 1.000000,
    ],
    [
        0.000000, 2.351141, 3.758770, 4.000000, 3.708735, 2.972579, 1.753485, 0.000000,
    ],
    [
        3.000000, 2.618034, 1.684040, 1.000000, 0.250787, 0.338261, 0.797588, 1.000000,
    ],
];

/// The angles of [`SHARES`], in degrees.
#[cfg(test)]
const ANGLES: [f64; EDGES] = [0.0, 18.0, 35.0, 45.0, 56.0, 66.0, 77.0, 90.0];

/// Stress of a sheet far from a hole, in MPa.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FarStress {
    /// Along the strip.
    pub along: f64,
    /// What its growth across the strip alone gives at the hole's edge: twice the growth times the radius in a
    /// wide sheet.
    pub growth: f64,
    /// Shear.
    pub shear: f64,
    /// Across the strip.
    pub across: f64,
}

/// Greatest stress along the edge of a hole in a sheet, in MPa. 3 `along` alone, 4 `shear` alone.
pub fn edge_peak_mpa(far: FarStress) -> f64 {
    let [a, b, c, d] = &SHARES;
    let mut peaks = [0.0; EDGES];
    for k in 0..EDGES {
        peaks[k] = a[k] * far.along.abs()
            + b[k] * far.growth.abs()
            + c[k] * far.shear.abs()
            + d[k] * far.across.abs();
    }
    peaks.into_iter().fold(0.0, f64::max)
}

/// Stress concentration of an endless row of holes across the load, on the stress of the ligaments:
/// 1 + 2 (1 - d/p)^1.7.
///
/// `d_over_p` diameter over pitch, 0 to 0.6 checked, to 1 where the ligaments are slender.
///
/// Source: fit of own plane-stress finite elements, within 2 %.
pub fn row_across_net(d_over_p: f64) -> f64 {
    1.0 + 2.0 * (1.0 - d_over_p).powf(1.7)
}

/// One line of holes, at the lower and upper surface of the drilled layer.
#[derive(Clone, Debug)]
pub(super) struct NotchPoints {
    /// Index of the row in the part.
    pub row: usize,
    pub strip: StripName,
    pub diameter: f64,
    /// Concentration on the nominal stress of stretching.
    pub concentration: f64,
    /// (y, z) of the line at both surfaces.
    pub places: [(f64, f64); 2],
    /// Far stress per (N_t, M_n, M_b, B) at both surfaces, and what its growth across the strip gives.
    pub normal: [[f64; 4]; 2],
    pub gradient: [f64; 4],
    /// Far shear stress per (N_n, N_b, warping torque).
    pub shear: [f64; 3],
    /// The same at the surface per uniform torque.
    pub twist: f64,
    /// Far stress across the strip at the surfaces per (N_t, M_n, M_b, B): leaning walls bend the floor.
    pub across: [f64; 4],
}

/// The hole edges of a section, line by line.
pub(super) fn notch_points(
    plates: &Plates,
    midlines: &Midlines,
    stretch: &StretchLaw,
    curvature: f64,
    metal: &Metal,
    torsion: f64,
) -> Vec<NotchPoints> {
    let mut all = Vec::with_capacity(plates.lines.len());
    for (index, line) in plates.lines.iter().enumerate() {
        let plate = &plates.plates[line.plate];
        let lanes = plates.lines.iter().filter(|l| l.plate == line.plate);
        let lane = plate.length() / lanes.count() as f64;
        let d_over_p = (line.diameter / line.pitch).min(LAST_PITCH);
        let factors = hole_factors(line.diameter / lane, d_over_p);
        let thickness = plate.thickness();
        let through = plate_bending(line.diameter / thickness);
        let (middle_y, middle_z) = plate.middle();
        let (radius, half) = (0.5 * line.diameter, 0.5 * thickness * line.depth_share);
        // Place (y, z) `along` the strip from the line and `off` across its thickness, and its strains.
        let place_at = |along: f64, off: f64| {
            if plate.standing {
                (line.y + off, line.z + along)
            } else {
                (line.y + along, line.z + off)
            }
        };
        let at = |along: f64, off: f64| {
            let place = place_at(along, off);
            let (midline, from_middle) = if plate.standing {
                ((middle_y, place.1), place.0 - middle_y)
            } else {
                ((place.0, middle_z), place.1 - middle_z)
            };
            let warp = midlines.warp(plate.standing, midline, from_middle);
            let floor = plates.floor_middle;
            let strain = stretch.strain(line.plate, place, warp, curvature, floor);
            (place, strain)
        };
        let modulus = metal.modulus_mpa / (1.0 - curvature * line.y);
        let (_, middle) = at(0.0, 0.0);
        let (_, beside) = at(radius, 0.0);
        let (upper, above) = at(0.0, half);
        let lower = place_at(0.0, -half);
        let bent = factors.tension * through / 3.0;
        let normal = [-1.0, 1.0].map(|side| {
            [0, 1, 2, 3].map(|k| {
                let strain = factors.tension * middle[k] + side * bent * (above[k] - middle[k]);
                modulus * strain / 3.0
            })
        });
        let gradient = [0, 1, 2, 3].map(|k| modulus * factors.bending * (beside[k] - middle[k]));
        // Leaning walls bend the floor across, which rests on the ligaments there.
        let mut across = [0.0; 4];
        if let Some(lean) = stretch.lean.as_ref().filter(|_| line.plate == 0) {
            let [outer, inner] = lean
                .walls
                .each_ref()
                .map(|wall| plates.plates[wall.0].middle().0);
            let share = (line.y - outer) / (inner - outer);
            let surface = 6.0 * metal.modulus_mpa / (thickness * thickness);
            let ligament = 1.0 - line.depth_share * d_over_p;
            let peak = row_across_net(d_over_p) * through / 3.0 / ligament;
            across = [0, 1, 2, 3].map(|k| {
                let moment =
                    |i: usize| (1.0 - share) * lean.across[0][i] + share * lean.across[1][i];
                let sum: f64 = (0..4).map(|i| moment(i) * stretch.strains[i][k]).sum();
                surface * peak * sum / 3.0
            });
        }
        // The twist of thin plates bends them at 45 degrees: 4(1 + nu)/(3 + nu), to 4 where they are thick.
        let thin = 4.0 * (1.0 + metal.poisson) / (3.0 + metal.poisson);
        let twisted = thin + (4.0 - thin) * (through - 1.79) / (3.0 - 1.79);
        let over = factors.shear / (4.0 * thickness * (1.0 - line.depth_share * d_over_p));
        all.push(NotchPoints {
            row: line.row,
            strip: plate.name,
            diameter: line.diameter,
            concentration: factors.tension * plate.net_width / plate.axial,
            places: [lower, upper],
            normal,
            gradient,
            shear: midlines.across[index].map(|flow| flow * over),
            twist: 0.25 * twisted * metal.shear_modulus_mpa() / torsion * thickness,
            across,
        });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::structure::strip_factors;

    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!(
            (value / expected - 1.0).abs() <= tolerance,
            "{value} against {expected}"
        );
    }

    /// Gross stress concentration of a strip with a central row.
    fn gross(d_over_w: f64, d_over_p: f64) -> f64 {
        hole_factors(d_over_w, d_over_p).tension / strip_factors(d_over_w, d_over_p, 0.2).axial
    }

    #[test]
    #[expect(clippy::approx_constant, reason = "Howland's 3.14 is no pi")]
    fn one_hole_in_a_strip() {
        // Howland 1930, gross (from memory), 2 %; Heywood's formula is his fit to the net values.
        let howland = [3.00, 3.03, 3.14, 3.36, 3.74, 4.32];
        for (step, expected) in howland.into_iter().enumerate() {
            let d_over_w = 0.1 * step as f64;
            near(single_hole_net(d_over_w) / (1.0 - d_over_w), expected, 0.02);
        }
        // The single hole of the table: the mean strain of a cell 24 diameters long or more holds its loss.
        near(hole_factors(0.0, 0.0).tension, 3.0, 0.005);
    }

    #[test]
    fn rows_of_holes_along_the_load() {
        // Gross concentration of a row in a strip, plane-stress finite elements of another hand (own
        // computation, no published source), 2 %. d/w, pitch/d.
        for (d_over_w, pitch, expected) in [
            (0.4, 1.5, 2.976),
            (0.4, 2.0, 3.282),
            (0.4, 3.0, 3.664),
            (0.5, 1.5, 3.617),
            (0.5, 2.0, 4.004),
            (0.5, 3.0, 4.333),
            (0.6, 1.5, 4.665),
            (0.6, 2.0, 5.092),
            (0.6, 3.0, 5.328),
        ] {
            near(gross(d_over_w, 1.0 / pitch), expected, 0.02);
        }
    }

    #[test]
    fn a_hole_in_a_sheet() {
        // Kirsch 1898: 3 in tension, 4 in pure shear, 2 in bending; between them |s| + 2 sqrt(s² + 4 t²), the
        // greatest of s (1 - 2 cos 2a) - 4 t sin 2a.
        let none = FarStress::default();
        let along = |along| FarStress { along, ..none };
        near(edge_peak_mpa(along(1.0)), 3.0, 1e-12);
        near(
            edge_peak_mpa(FarStress {
                growth: 2.0,
                ..none
            }),
            2.0,
            1e-12,
        );
        near(
            edge_peak_mpa(FarStress {
                shear: -1.0,
                ..none
            }),
            4.0,
            1e-12,
        );
        near(
            edge_peak_mpa(FarStress {
                across: 1.0,
                ..none
            }),
            3.0,
            1e-12,
        );
        for step in 0..40 {
            let (normal, shear) = (0.05 * step as f64, 1.0);
            let exact = normal + 2.0 * f64::sqrt(normal * normal + 4.0 * shear * shear);
            near(
                edge_peak_mpa(FarStress {
                    shear,
                    ..along(normal)
                }),
                exact,
                0.03,
            );
        }
        for (k, angle) in ANGLES.iter().enumerate() {
            let ((sin2, cos2), sin) = (
                (2.0 * angle.to_radians()).sin_cos(),
                angle.to_radians().sin(),
            );
            let shares = [1.0 - 2.0 * cos2, cos2 * sin, 4.0 * sin2, 1.0 + 2.0 * cos2];
            for (row, share) in SHARES.iter().zip(shares) {
                assert!((row[k] - share.abs()).abs() < 1e-6);
            }
        }
        // Row across the load, gross concentration over d/p 0.1 to 0.6: plane-stress finite elements of another
        // hand (own computation, no published source).
        for (step, gross) in [3.002, 3.011, 3.039, 3.105, 3.249, 3.551]
            .into_iter()
            .enumerate()
        {
            let d_over_p = 0.1 * (step + 1) as f64;
            near(row_across_net(d_over_p) / (1.0 - d_over_p), gross, 0.02);
        }
        // In-plane bending of a wide strip about a small hole: 2 (Timoshenko & Goodier, from memory).
        near(hole_factors(0.0, 0.0).bending, 2.0, 0.005);
        near(hole_factors(0.0, 0.0).shear, 4.0, 1e-9);
        // Thin plate bent: (5 + 3 nu)/(3 + nu), nu 0.3 (Goodier 1936, from memory); thick plate: 3.
        near(plate_bending(1e3), (5.0 + 0.9) / 3.3, 0.005);
        near(plate_bending(1e-3), 3.0, 0.01);
    }
}
