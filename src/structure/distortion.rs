//! Walls that lean on a curve.
//!
//! On a curved path the stress along a wall pushes it to or from the centre; the wall leans and the floor
//! bends across. Taken as if the lean followed the local section forces at once, with its work condensed
//! into the law of the section.

use super::plates::Plates;
use crate::part::Section;

/// Share of the free lean that develops: what is held back by the neighbouring sections, mainly at clamps
/// and loads, is not in a law of one section. From 0.4, 0.5, 0.6, 0.7 on R01, R05, R07, R09, A01, where 0.6 errs
/// least (3.2 %); on R03, R11, R15, A03 it then errs by 3.4 %. These were looked at side by side, and R13, which
/// would take 0.7 or more, was left out as beyond the model.
const SHARE: f64 = 0.6;

/// Stiffness over E for (strain, k_n, k_b, warping rate) that the lean of both walls takes away, and the lean
/// per unit of each.
pub(super) struct Lean {
    /// Loss of stiffness.
    pub loss: [[f64; 4]; 4],
    /// Lean of the outer and inner wall (indices of their plates with it) per unit of strain, k_n, k_b, p'.
    pub walls: [(usize, [f64; 4]); 2],
    /// Moments over E per length with which the leaning walls bend the floor across, at the outer and at the
    /// inner wall, per unit of each: positive where its top is pulled.
    pub across: [[f64; 4]; 2],
}

impl Lean {
    /// Half of the lean and of what it takes away.
    pub fn halved(&self) -> Lean {
        Lean {
            loss: self.loss.map(|row| row.map(|value| 0.5 * value)),
            walls: self
                .walls
                .map(|(plate, lean)| (plate, lean.map(|value| 0.5 * value))),
            across: self.across.map(|row| row.map(|value| 0.5 * value)),
        }
    }
}

/// The lean of a section with two walls on a curved path; `warp` gives the sectorial coordinate on a wall.
pub(super) fn lean(
    section: &Plates,
    curvature: f64,
    poisson: f64,
    warp: impl Fn(usize, f64) -> f64,
) -> Option<Lean> {
    let floor = &section.plates[0];
    if curvature == 0.0 || section.plates.len() < 3 {
        return None;
    }
    let (outer, inner) = (&section.plates[1], &section.plates[2]);
    if outer.y.0 > floor.y.0 + 1e-9 || inner.y.1 < floor.y.1 - 1e-9 {
        return None;
    }
    let foot = section.floor_middle;
    let width = inner.middle().0 - outer.middle().0;
    let plate_stiffness = |t: f64| t * t * t / (12.0 * (1.0 - poisson * poisson));
    // Holes weaken the floor's bending across where they are: strips in series.
    let mut soft = width;
    for line in section.lines.iter().filter(|line| line.plate == 0) {
        let left = 1.0 - 0.9 * line.depth_share * (line.diameter / line.pitch).min(1.0);
        soft += line.diameter * (1.0 / left - 1.0);
    }
    let across = plate_stiffness(floor.thickness()) / soft;
    let mut stiffness = [[4.0 * across, 2.0 * across], [2.0 * across, 4.0 * across]];
    // The walls' own bending in series: c = 1/5 H/D per wall, from a cantilever under an even load.
    let mut flex = inverse(&stiffness);
    let mut coupling = [[0.0; 4]; 2];
    let mut own = [0.0; 2];
    for (k, wall) in [outer, inner].into_iter().enumerate() {
        let (y, t) = (wall.middle().0, wall.thickness());
        let height = wall.z.1 - foot;
        flex[k][k] += height / (5.0 * plate_stiffness(t));
        let weight = wall.axial * t / (1.0 - curvature * y);
        // Moments of the height above the foot with 1, z, -y and the sectorial coordinate (linear in z).
        let (first, second) = (0.5 * height * height, height * height * height / 3.0);
        let (w0, w1) = (warp(k + 1, foot), warp(k + 1, wall.z.1));
        let slope = (w1 - w0) / height;
        coupling[k] = [
            first,
            foot * first + second,
            -y * first,
            w0 * first + slope * second,
        ]
        .map(|value| curvature * weight * value);
        own[k] = curvature * curvature * weight * second;
    }
    stiffness = inverse(&flex);
    let held = stiffness;
    for k in 0..2 {
        stiffness[k][k] += own[k];
    }
    let give = inverse(&stiffness);
    let share = SHARE;
    let mut walls = [(1, [0.0; 4]), (2, [0.0; 4])];
    let mut loss = [[0.0; 4]; 4];
    for i in 0..4 {
        for k in 0..2 {
            walls[k].1[i] = -share * (give[k][0] * coupling[0][i] + give[k][1] * coupling[1][i]);
        }
    }
    for i in 0..4 {
        for j in 0..4 {
            loss[i][j] = -(coupling[0][i] * walls[0].1[j] + coupling[1][i] * walls[1].1[j]);
        }
    }
    let at = |k: usize, i: usize| held[k][0] * walls[0].1[i] + held[k][1] * walls[1].1[i];
    let across = [
        [0, 1, 2, 3].map(|i| -at(0, i)),
        [0, 1, 2, 3].map(|i| at(1, i)),
    ];
    Some(Lean {
        loss,
        walls,
        across,
    })
}

fn inverse(m: &[[f64; 2]; 2]) -> [[f64; 2]; 2] {
    let over = 1.0 / (m[0][0] * m[1][1] - m[0][1] * m[1][0]);
    [
        [m[1][1] * over, -m[0][1] * over],
        [-m[1][0] * over, m[0][0] * over],
    ]
}

/// Why a section on a curved path is outside the range in which the beam was checked, if it is.
///
/// The walls' hoop force bends the floor across and lets the walls lean; the law of the section takes that in
/// as if it followed the section forces at once, which holds while it is small. The measure is
/// chi² = 12 t_w H³ B / (R² t_f³), wall membrane over floor bending stiffness; t_w and H mean thickness and
/// height above the floor's middle of the outer and inner wall, B width, R radius, t_f floor. Solid rings with
/// chi² up to 11 agree within 8 %; one with 69 is softer than the beam by a fifth. Beyond 15 the section is
/// marked.
///
/// `curvature` in 1/mm.
///
/// Source: own comparison with solid finite elements (tests/data/solid/members.csv).
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

const MOST_DISTORTION: f64 = 15.0;

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
