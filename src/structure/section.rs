//! Law of a section: strains of the frame from its section forces, mass, and stress from section forces.

use super::distortion::{self, Lean};
use super::ladder::{self, Chord};
use super::notch::{NotchPoints, notch_points};
use super::plates::{HoleLine, Plates};
use super::slit::slit_floor;
use super::stress_points::{StressPoints, stress_points};
use super::thinwall::{Midlines, inverse_symmetric};
use super::torsion::torsion_constant;
use crate::part::{Perforation, Section};

/// The metal, in MPa and t/mm³.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Metal {
    /// Young's modulus, in MPa.
    pub modulus_mpa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Density, in t/mm³ (2.7e-9 for aluminium).
    pub density_t_mm3: f64,
    /// Yield strength, in MPa.
    pub yield_mpa: f64,
}

impl Metal {
    /// Shear modulus in MPa, E / (2 (1 + nu)).
    pub fn shear_modulus_mpa(&self) -> f64 {
        0.5 * self.modulus_mpa / (1.0 + self.poisson)
    }
}

/// Stiffness of a section, holes smeared along the path. About axes parallel to y and z.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionProperties {
    /// Area of the solid section, in mm².
    pub area_mm2: f64,
    /// Area that stretching sees (EA / E), in mm².
    pub stretch_area_mm2: f64,
    /// Centroid (y, z) of the stretching stiffness, in mm.
    pub centroid_mm: (f64, f64),
    /// Second moments that bending sees: about the axis along y (out of the frame's plane), about the axis
    /// along z (in plane), and the product, in mm⁴.
    pub bending_mm4: (f64, f64, f64),
    /// Torsion constant J, in mm⁴.
    pub torsion_mm4: f64,
    /// Shear centre (y, z), in mm.
    pub shear_centre_mm: (f64, f64),
    /// Warping constant about the shear centre, in mm⁶.
    pub warping_mm6: f64,
    /// Areas that shear sees along y and along z, in mm².
    pub shear_areas_mm2: (f64, f64),
    /// Mass per length, in t/mm; carried masses left out.
    pub mass_t_mm: f64,
}

/// Mass per length of path about the line y = z = 0: mass, first and second moments.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct MassLaw {
    pub mass: f64,
    pub y: f64,
    pub z: f64,
    pub yy: f64,
    pub zz: f64,
    pub yz: f64,
}

impl MassLaw {
    /// Radius of gyration about the path line, in mm.
    pub fn radius(&self) -> f64 {
        ((self.yy + self.zz) / self.mass).sqrt()
    }
}

/// The law of one section at one curvature, about the path line.
#[derive(Clone, Debug)]
pub(super) struct SectionLaw {
    /// Strain and curvatures per (N_t, M_n, M_b).
    pub even: [[f64; 3]; 3],
    /// Shear strains and rate of twist, at no warping, per (N_n, N_b, M_t).
    pub odd: [[f64; 3]; 3],
    /// The same per unit of warping amplitude p.
    pub lever: [f64; 3],
    /// Work of the warping amplitude p without torque: torsion / (1 + torsion x warping shear flexibility).
    pub twist: f64,
    /// Strain and curvatures per rate of the warping amplitude at no section force: by leaning walls.
    pub warp_lever: [f64; 3],
    /// E C_w at given section forces.
    pub warping: f64,
    pub mass: MassLaw,
    pub points: Vec<StressPoints>,
    /// Normal stress of slit strips' own bending per shear force along y.
    pub local: f64,
    pub notches: Vec<NotchPoints>,
    pub properties: SectionProperties,
}

/// Integrals over a strip of 1/(1 - curvature y), exactly: (over the length, its first and second moment
/// about y = 0) per height.
///
/// With x = curvature a / (1 - curvature y_c), a half the width: the series of atanh where it would cancel.
///
/// Source: Winkler-Bach theory of the curved bar; Timoshenko, Strength of Materials (from memory).
fn fibre_integrals((low, high): (f64, f64), curvature: f64) -> [f64; 3] {
    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
    let shorter = 1.0 - curvature * middle;
    let x = curvature * half / shorter;
    let square = x * x;
    // (atanh x - x) / x³
    let series = if square < 0.01 {
        let mut sum = 0.0;
        for k in (0..8).rev() {
            sum = sum * square + 1.0 / (2 * k + 3) as f64;
        }
        sum
    } else {
        (x.atanh() - x) / (square * x)
    };
    let zeroth = 2.0 * half / shorter * (1.0 + square * series);
    let first = 2.0 * half * half / shorter * x * series;
    let second = 2.0 * half * half * half / shorter * series;
    [
        zeroth,
        first + middle * zeroth,
        second + 2.0 * middle * first + middle * middle * zeroth,
    ]
}

impl SectionLaw {
    pub fn new(
        section: &Section,
        perforations: &[Perforation],
        curvature: f64,
        metal: &Metal,
    ) -> SectionLaw {
        let plates = Plates::new(section, perforations, curvature);
        let slit = section
            .slits
            .map(|slits| (slit_floor(section, slits, metal), section.unslit()));
        // A slit floor warps and is looked at as a whole one.
        let whole = slit
            .as_ref()
            .map(|(_, unslit)| Plates::new(unslit, &[], curvature));
        let outline = whole.as_ref().unwrap_or(&plates);
        let mut midlines = Midlines::new(outline, curvature);
        if let Some((floor, _)) = &slit {
            midlines.warping = floor.warping;
            midlines.shear = floor.shear;
        }
        let (modulus, shear_modulus) = (metal.modulus_mpa, metal.shear_modulus_mpa());
        let moments = stretch_moments(&plates, curvature);
        let lean = distortion::lean(&plates, curvature, metal.poisson, |plate, z| {
            midlines.warp(true, (plates.plates[plate].middle().0, z), 0.0)
        });
        let stretch = StretchLaw::new(&moments, midlines.warping, lean, modulus);
        let mut shear = midlines
            .shear
            .map(|row| row.map(|value| value / shear_modulus));
        add_ladder(&plates, &midlines, &mut shear, (modulus, shear_modulus));
        let torsion = shear_modulus
            * match &slit {
                Some((floor, _)) => floor.torsion,
                None => torsion_constant(&plates, curvature),
            };
        let (odd, lever, twist) = shear_law(&shear, torsion, midlines.shear_centre);
        let properties = properties(&moments, &plates, &midlines, &shear, torsion, metal);
        let mass = mass(&plates, curvature, metal.density_t_mm3);
        SectionLaw {
            points: stress_points(outline, &midlines, &stretch, curvature, metal, torsion),
            local: slit.map_or(0.0, |(floor, _)| floor.local),
            notches: notch_points(&plates, &midlines, &stretch, curvature, metal, torsion),
            even: stretch.even,
            warp_lever: stretch.warp_lever,
            odd,
            lever,
            twist,
            warping: stretch.warping,
            properties: SectionProperties {
                mass_t_mm: mass.mass,
                ..properties
            },
            mass,
        }
    }
}

/// Stretching, bending and warping together.
pub(super) struct StretchLaw {
    even: [[f64; 3]; 3],
    warp_lever: [f64; 3],
    warping: f64,
    /// Strain, k_n, k_b, p' per (N_t, M_n, M_b, B).
    pub strains: [[f64; 4]; 4],
    pub lean: Option<Lean>,
}

impl StretchLaw {
    /// Elongation of the fibre at a place (y, z) of a plate per length of path and per (N_t, M_n, M_b, B);
    /// `warp` its sectorial coordinate.
    pub fn strain(
        &self,
        plate: usize,
        (y, z): (f64, f64),
        warp: f64,
        curvature: f64,
        floor_middle: f64,
    ) -> [f64; 4] {
        let e = &self.strains;
        let leans = self.lean.as_ref().and_then(|lean| {
            let wall = lean.walls.iter().find(|wall| wall.0 == plate)?;
            Some((wall.1, curvature * (z - floor_middle)))
        });
        std::array::from_fn(|k| {
            let mut strain = e[0][k] + z * e[1][k] - y * e[2][k] + warp * e[3][k];
            if let Some((lean, arm)) = leans {
                strain += arm * (0..4).map(|i| lean[i] * e[i][k]).sum::<f64>();
            }
            strain
        })
    }

    /// From the moments over E of 1, y, z, and what leaning walls take away.
    fn new(moments: &[[f64; 3]; 3], warping: f64, lean: Option<Lean>, modulus: f64) -> StretchLaw {
        // From (1, y, z) to (strain, k_n, k_b) with fibre strain e + z k_n - y k_b.
        let (swap, sign) = ([0, 2, 1], [1.0, 1.0, -1.0]);
        let mut whole = [[0.0; 4]; 4];
        for i in 0..3 {
            for j in 0..3 {
                let (a, b) = (swap[i].min(swap[j]), swap[i].max(swap[j]));
                whole[i][j] = sign[i] * sign[j] * moments[a][b];
            }
        }
        whole[3][3] = warping;
        let (whole, lean) = soften(&whole, lean);
        let stiff = [0, 1, 2].map(|i| [whole[i][0], whole[i][1], whole[i][2]]);
        let (couple, warp) = ([whole[0][3], whole[1][3], whole[2][3]], whole[3][3]);
        let even = inverse_symmetric(&stiff).map(|row| row.map(|value| value / modulus));
        let warp_lever: [f64; 3] =
            std::array::from_fn(|i| -modulus * (0..3).map(|k| even[i][k] * couple[k]).sum::<f64>());
        let shared: f64 = (0..3).map(|k| couple[k] * warp_lever[k]).sum();
        let warping = modulus * (warp + shared);
        let mut strains = [[0.0; 4]; 4];
        strains[3] = [0, 1, 2, 3].map(|k| if k < 3 { warp_lever[k] } else { 1.0 } / warping);
        for i in 0..3 {
            for k in 0..4 {
                let direct = if k < 3 { even[i][k] } else { 0.0 };
                strains[i][k] = direct + warp_lever[i] * strains[3][k];
            }
        }
        StretchLaw {
            even,
            warp_lever,
            warping,
            strains,
            lean,
        }
    }
}

/// Takes the leaning walls' loss from a stiffness.
///
/// The loss is reckoned on midlines; far outside the checked range (a floor much thinner than the walls) that can
/// exceed what there is, and it is halved until every pivot keeps a fiftieth of itself.
fn soften(whole: &[[f64; 4]; 4], lean: Option<Lean>) -> ([[f64; 4]; 4], Option<Lean>) {
    let Some(mut lean) = lean else {
        return (*whole, None);
    };
    let before = pivots(whole);
    for _ in 0..8 {
        let mut left = *whole;
        for (row, loss) in left.iter_mut().zip(&lean.loss) {
            for (value, loss) in row.iter_mut().zip(loss) {
                *value -= loss;
            }
        }
        let after = pivots(&left);
        if (0..4).all(|k| after[k] > 0.02 * before[k]) {
            return (left, Some(lean));
        }
        lean = lean.halved();
    }
    (*whole, None)
}

/// Pivots of a symmetric matrix, without exchange.
fn pivots(matrix: &[[f64; 4]; 4]) -> [f64; 4] {
    let mut m = *matrix;
    for k in 0..4 {
        for i in k + 1..4 {
            let factor = m[i][k] / m[k][k];
            for j in k + 1..4 {
                m[i][j] -= factor * m[k][j];
            }
        }
    }
    [m[0][0], m[1][1], m[2][2], m[3][3]]
}

/// Moments of the stretching stiffness over E about the path line: of 1, y, z by 1, y, z.
fn stretch_moments(plates: &Plates, curvature: f64) -> [[f64; 3]; 3] {
    let mut m = [[0.0; 3]; 3];
    for (index, plate) in plates.plates.iter().enumerate() {
        let height = plate.z.1 - plate.z.0;
        let [zeroth, first, second] =
            fibre_integrals(plate.y, curvature).map(|value| value * height);
        let left = left_by_holes(plates, index);
        let y = first / zeroth;
        let spread = (second - first * y) * left.about_z;
        let area = zeroth * left.area;
        let (y, z) = (y + left.shift.0, plate.middle().1 + left.shift.1);
        m[0][0] += area;
        m[0][1] += area * y;
        m[0][2] += area * z;
        m[1][1] += area * y * y + spread;
        m[1][2] += area * y * z;
        m[2][2] += area * z * z + zeroth * height * height / 12.0 * left.about_y;
    }
    m
}

/// What holes leave of a plate: shares of its area and own second moments, and the shift of its centre.
struct Left {
    area: f64,
    about_y: f64,
    about_z: f64,
    shift: (f64, f64),
}

fn left_by_holes(plates: &Plates, index: usize) -> Left {
    let plate = &plates.plates[index];
    let (middle_y, middle_z) = plate.middle();
    let (width, height) = (plate.y.1 - plate.y.0, plate.z.1 - plate.z.0);
    let solid = width * height;
    let (mut first, mut about_y, mut about_z) = ((0.0, 0.0), 0.0, 0.0);
    for line in plates.lines.iter().filter(|line| line.plate == index) {
        let (y, z) = (line.y - middle_y, line.z - middle_z);
        first.0 -= line.area * y;
        first.1 -= line.area * z;
        about_y += line.about_y + line.area * z * z;
        about_z += line.about_z + line.area * y * y;
    }
    // Holes that leave next to nothing are the geometric rules' matter; here every share stays positive.
    let area = plate.axial;
    let shift = (
        (first.0 / (area * solid)).clamp(-0.2 * width, 0.2 * width),
        (first.1 / (area * solid)).clamp(-0.2 * height, 0.2 * height),
    );
    let own = |size: f64, lost: f64, shift: f64| {
        let whole = solid * size * size / 12.0;
        (1.0 - (lost + area * solid * shift * shift) / whole).max(0.05 * area)
    };
    Left {
        area,
        about_y: own(height, about_y, shift.1),
        about_z: own(width, about_z, shift.0),
        shift,
    }
}

/// Adds to the shear flexibility what the holes let slip.
fn add_ladder(plates: &Plates, midlines: &Midlines, shear: &mut [[f64; 3]; 3], moduli: (f64, f64)) {
    for (index, line) in plates.lines.iter().enumerate() {
        let thickness = plates.plates[line.plate].thickness();
        let chords = [-1.0, 1.0].map(|side| chord(plates, line, side));
        let slip = ladder::slip(
            line.diameter,
            line.pitch,
            thickness,
            line.depth_share,
            chords,
            moduli,
        );
        let flow = midlines.across[index];
        for i in 0..3 {
            for j in 0..3 {
                shear[i][j] += slip * flow[i] * flow[j];
            }
        }
    }
}

/// The strip of metal on one side of a line of holes.
fn chord(plates: &Plates, line: &HoleLine, side: f64) -> Chord {
    let plate = &plates.plates[line.plate];
    let place = |other: &HoleLine| if plate.standing { other.z } else { other.y };
    let (bounds, here) = (if plate.standing { plate.z } else { plate.y }, place(line));
    let edge = if side < 0.0 { bounds.0 } else { bounds.1 };
    let mut width = side * (edge - here) - 0.5 * line.diameter;
    for other in plates
        .lines
        .iter()
        .filter(|other| other.plate == line.plate)
    {
        let gap = side * (place(other) - here);
        if gap > 1e-9 {
            width = width.min(gap - 0.5 * (line.diameter + other.diameter));
        }
    }
    let wall = if plate.standing {
        // The floor under a drilled wall.
        let floor = &plates.plates[0];
        (side < 0.0).then(|| {
            let width = width + 0.5 * floor.thickness();
            (width, floor.thickness(), 0.5 * floor.length())
        })
    } else {
        plates
            .plates
            .iter()
            .skip(1)
            .map(|wall| {
                let from_edge = side * (wall.middle().0 - here) - 0.5 * line.diameter;
                (from_edge, wall.thickness(), wall.length())
            })
            .find(|wall| wall.0 > 0.0 && wall.0 <= width + 0.5 * wall.1)
    };
    Chord { width, wall }
}

/// Strains per (N_n, N_b, M_t) about the path line at no warping amplitude; per warping amplitude; and the
/// warping amplitude's own work.
///
/// `shear` F is the flexibility for (V_n, V_b, T_w) at the shear centre, where the uniform torque is
/// GJ times the rate of twist and the warping torque T_w = T - GJ tau. With tau = p + F_wV V + F_ww T_w:
/// tau = (p + F_wV V + F_ww T) / (1 + GJ F_ww), and the shear strains are F_VV V + F_Vw T_w. For F_ww = 0
/// this is Vlasov's theory, tau = p.
fn shear_law(
    shear: &[[f64; 3]; 3],
    torsion: f64,
    (y, z): (f64, f64),
) -> ([[f64; 3]; 3], [f64; 3], f64) {
    let over = 1.0 / (1.0 + torsion * shear[2][2]);
    let mut centre = [[0.0; 3]; 3];
    for i in 0..2 {
        for j in 0..2 {
            centre[i][j] = shear[i][j] - torsion * over * shear[i][2] * shear[j][2];
        }
        centre[i][2] = over * shear[i][2];
        centre[2][i] = centre[i][2];
    }
    centre[2][2] = over * shear[2][2];
    let lever = [
        -torsion * over * shear[0][2],
        -torsion * over * shear[1][2],
        over,
    ];
    // Torque about the shear centre: M_t + z N_n - y N_b.
    let carry = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [z, -y, 1.0]];
    let mut odd = [[0.0; 3]; 3];
    let mut about_path = [0.0; 3];
    for i in 0..3 {
        for j in 0..3 {
            about_path[i] += carry[j][i] * lever[j];
            for k in 0..3 {
                for l in 0..3 {
                    odd[i][j] += carry[k][i] * centre[k][l] * carry[l][j];
                }
            }
        }
    }
    (odd, about_path, torsion * over)
}

fn properties(
    moments: &[[f64; 3]; 3],
    plates: &Plates,
    midlines: &Midlines,
    shear: &[[f64; 3]; 3],
    torsion: f64,
    metal: &Metal,
) -> SectionProperties {
    let (area, y, z) = (
        moments[0][0],
        moments[0][1] / moments[0][0],
        moments[0][2] / moments[0][0],
    );
    let over_shear = 1.0 / metal.shear_modulus_mpa();
    SectionProperties {
        area_mm2: plates.plates.iter().map(|plate| plate.area()).sum(),
        stretch_area_mm2: area,
        centroid_mm: (y, z),
        bending_mm4: (
            moments[2][2] - area * z * z,
            moments[1][1] - area * y * y,
            moments[1][2] - area * y * z,
        ),
        torsion_mm4: torsion * over_shear,
        shear_centre_mm: midlines.shear_centre,
        warping_mm6: midlines.warping,
        shear_areas_mm2: (over_shear / shear[0][0], over_shear / shear[1][1]),
        mass_t_mm: 0.0,
    }
}

/// Mass per length; holes take their volume out of their strip, move its centre and change its spread.
fn mass(plates: &Plates, curvature: f64, density: f64) -> MassLaw {
    let mut law = MassLaw::default();
    for (index, plate) in plates.plates.iter().enumerate() {
        let (y, z) = plate.middle();
        let (width, height) = (plate.y.1 - plate.y.0, plate.z.1 - plate.z.0);
        let (mut left, mut off_y, mut off_z) = (width * height, 0.0, 0.0);
        let mut spread = (left * width * width / 12.0, left * height * height / 12.0);
        for line in plates.lines.iter().filter(|line| line.plate == index) {
            left -= line.volume;
            off_y -= line.volume * (line.y - y);
            off_z -= line.volume * (line.z - z);
            let disc = line.diameter * line.diameter / 16.0;
            let (own_y, own_z) = if plate.standing {
                (width * width / 12.0, disc)
            } else {
                (disc, height * height / 12.0)
            };
            spread.0 -= line.volume * ((line.y - y).powi(2) + own_y);
            spread.1 -= line.volume * ((line.z - z).powi(2) + own_z);
        }
        // With these bounds it is always a possible mass, misplaced holes or not.
        let shift_y = (off_y / left).clamp(-0.2 * width, 0.2 * width);
        let shift_z = (off_z / left).clamp(-0.2 * height, 0.2 * height);
        let own = |spread: f64, size: f64, shift: f64| {
            let least = shift * shift + 0.042 * size * size;
            (spread / left).max(least).min(size * size)
        };
        let own_y = own(spread.0, width, shift_y);
        let own_z = own(spread.1, height, shift_z);
        let (yy, zz) = (y * y + own_y, z * z + own_z);
        let yyy = y * y * y + 3.0 * y * own_y;
        // A fibre at y is 1 - curvature y long per length of path.
        let area = density * left;
        let mass = area * (1.0 - curvature * y);
        let first = area * (y - curvature * yy);
        law.mass += mass;
        law.y += first + mass * shift_y;
        law.z += mass * (z + shift_z);
        law.yy += area * (yy - curvature * yyy) + 2.0 * mass * y * shift_y;
        law.zz += mass * (zz + 2.0 * z * shift_z);
        law.yz += first * z + mass * (shift_y * z + y * shift_z);
    }
    law
}
