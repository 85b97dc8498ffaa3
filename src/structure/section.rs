//! Law of a section: strains of the frame from its section forces, mass, and stress from section forces.

use super::ladder::{self, Chord};
use super::plates::{HoleLine, Plates};
use super::thinwall::{Flow, Midlines, inverse_symmetric};
use super::torsion::torsion_constant;
use crate::part::{Perforation, Section, StripName};

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

/// A place of the section where stress is looked at.
#[derive(Clone, Copy, Debug)]
pub(super) struct StressPoint {
    pub strip: StripName,
    pub y: f64,
    pub z: f64,
    /// Normal stress per (N_t, M_n, M_b, B).
    pub normal: [f64; 4],
    /// Shear stress per (N_n, N_b, warping torque).
    pub shear: [f64; 3],
    /// Shear stress at the surface per uniform torque.
    pub twist: f64,
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
    /// E C_w.
    pub warping: f64,
    pub mass: MassLaw,
    pub points: Vec<StressPoint>,
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
        let midlines = Midlines::new(&plates, curvature);
        let (modulus, shear_modulus) = (metal.modulus_mpa, metal.shear_modulus_mpa());
        let moments = stretch_moments(&plates, curvature);
        let inverse = inverse_symmetric(&moments).map(|row| row.map(|value| value / modulus));
        // From (1, y, z) to (strain, k_n, k_b) with fibre strain e + z k_n - y k_b.
        let (swap, sign) = ([0, 2, 1], [1.0, 1.0, -1.0]);
        let mut even = [[0.0; 3]; 3];
        for i in 0..3 {
            for j in 0..3 {
                even[i][j] = sign[i] * sign[j] * inverse[swap[i]][swap[j]];
            }
        }
        let mut shear = midlines
            .shear
            .map(|row| row.map(|value| value / shear_modulus));
        add_ladder(&plates, &midlines, &mut shear, (modulus, shear_modulus));
        let torsion = shear_modulus * torsion_constant(&plates, curvature);
        let (odd, lever, twist) = shear_law(&shear, torsion, midlines.shear_centre);
        let properties = properties(&moments, &plates, &midlines, &shear, torsion, metal);
        let mass = mass(&plates, curvature, metal.density_t_mm3);
        SectionLaw {
            points: stress_points(&plates, &midlines, &even, curvature, metal, torsion),
            even,
            odd,
            lever,
            twist,
            warping: modulus * midlines.warping,
            properties: SectionProperties {
                mass_t_mm: mass.mass,
                ..properties
            },
            mass,
        }
    }
}

/// Moments of the stretching stiffness over E about the path line: of 1, y, z by 1, y, z.
fn stretch_moments(plates: &Plates, curvature: f64) -> [[f64; 3]; 3] {
    let mut m = [[0.0; 3]; 3];
    for plate in &plates.plates {
        let height = plate.z.1 - plate.z.0;
        let middle = plate.middle().1;
        let [zeroth, first, second] =
            fibre_integrals(plate.y, curvature).map(|value| value * height);
        m[0][0] += zeroth;
        m[0][1] += first;
        m[0][2] += middle * zeroth;
        m[1][1] += second;
        m[1][2] += middle * first;
        m[2][2] += (middle * middle + height * height / 12.0) * zeroth;
    }
    for line in &plates.lines {
        let weight = 1.0 / (1.0 - curvature * line.y);
        let area = line.area * weight;
        m[0][0] -= area;
        m[0][1] -= area * line.y;
        m[0][2] -= area * line.z;
        m[1][1] -= area * line.y * line.y + weight * line.about_z;
        m[1][2] -= area * line.y * line.z;
        m[2][2] -= area * line.z * line.z + weight * line.about_y;
    }
    m
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

fn mass(plates: &Plates, curvature: f64, density: f64) -> MassLaw {
    let mut law = MassLaw::default();
    for plate in &plates.plates {
        let (y, z) = plate.middle();
        let (width, height) = (plate.y.1 - plate.y.0, plate.z.1 - plate.z.0);
        let (yy, zz) = (y * y + width * width / 12.0, z * z + height * height / 12.0);
        let yyy = y * y * y + y * width * width / 4.0;
        // A fibre at y is 1 - curvature y long per length of path.
        let area = density * width * height;
        let first = area * (y - curvature * yy);
        law.mass += area * (1.0 - curvature * y);
        law.y += first;
        law.z += area * (1.0 - curvature * y) * z;
        law.yy += area * (yy - curvature * yyy);
        law.zz += area * (1.0 - curvature * y) * zz;
        law.yz += first * z;
    }
    for line in &plates.lines {
        let weight = density * line.volume;
        law.mass -= weight;
        law.y -= weight * line.y;
        law.z -= weight * line.z;
        law.yy -= weight * (line.y * line.y + line.diameter * line.diameter / 16.0);
        law.zz -= weight * line.z * line.z;
        law.yz -= weight * line.y * line.z;
    }
    law
}

fn stress_points(
    plates: &Plates,
    midlines: &Midlines,
    even: &[[f64; 3]; 3],
    curvature: f64,
    metal: &Metal,
    torsion: f64,
) -> Vec<StressPoint> {
    let mut points = Vec::with_capacity(2 * midlines.flows.len());
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
            let mut normal = [0.0; 4];
            for k in 0..3 {
                normal[k] = strength * (even[0][k] + z * even[1][k] - y * even[2][k]);
            }
            normal[3] = strength * warp / (metal.modulus_mpa * midlines.warping);
            let over = 1.0 / (thickness * plate.net_pitch);
            points.push(StressPoint {
                strip: plate.name,
                y,
                z,
                normal,
                shear: flow.flow.map(|flow| flow * over),
                twist: twist * thickness,
            });
        }
    }
    points
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

/// Why a section on a curved path is outside the range in which the beam was checked, if it is.
///
/// The walls' hoop force bends the floor across and lets the walls lean; then no beam whose section keeps
/// its shape holds. The measure is chi² = 12 t_w H³ B / (R² t_f³), wall membrane over floor bending
/// stiffness, t_w and H mean thickness and height above the floor's middle of the outer walls, B width, R radius,
/// t_f floor. Of the solid rings one with chi² 11 is softer by a quarter against tangential loads, one with 69 by
/// more than a third out of plane too. Beyond 10 the section is marked.
///
/// `curvature` in 1/mm.
pub fn outside_validated_range(section: &Section, curvature: f64) -> Option<OutsideRange> {
    let walls = [section.outer_wall, section.inner_wall];
    let standing = walls
        .iter()
        .flatten()
        .filter(|wall| wall.height_mm > section.floor_mm);
    let (mut thickness, mut height, mut count) = (0.0, 0.0, 0.0);
    for wall in standing {
        thickness += wall.thickness_mm;
        height += wall.height_mm - 0.5 * section.floor_mm;
        count += 1.0;
    }
    if count == 0.0 {
        return None;
    }
    let (thickness, height) = (thickness / count, height / count);
    let distortion = 12.0 * thickness * height.powi(3) * section.width_mm * curvature.powi(2)
        / section.floor_mm.powi(3);
    (distortion > MOST_DISTORTION).then_some(OutsideRange {
        distortion,
        limit: MOST_DISTORTION,
    })
}

const MOST_DISTORTION: f64 = 10.0;

/// A section whose shape is expected to give way on the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutsideRange {
    /// Wall membrane over floor bending stiffness, chi².
    pub distortion: f64,
    /// Greatest chi² that counts as checked.
    pub limit: f64,
}

impl std::fmt::Display for OutsideRange {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "tall walls on a thin floor lean on this curve (distortion {:.0}, checked up to {:.0}): the frame is softer than computed",
            self.distortion, self.limit
        )
    }
}
