//! Nominal stress in every strip, and the local peak at the holes of every row.

use super::block::{Row, add_row, times};
use super::model::Model;
use super::notch::{FarStress, NotchPoints, edge_peak_mpa};
use super::section::SectionLaw;
use super::stress_points::StressPoints;
use super::wide::wide;
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

/// Greatest local stress at the edges of a row's holes, by handbook factors, and where it is.
///
/// The holes are smeared along the path, so the place is that of the greatest load on the row, not the centre of
/// a hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoleStress {
    /// Index of the row in [`crate::part::Part::hole_rows`].
    pub row: usize,
    /// The drilled strip.
    pub strip: StripName,
    /// Stress along the hole's edge, in MPa.
    pub peak_mpa: f64,
    /// Stress concentration of the row in stretching, on the net section.
    pub concentration: f64,
    /// Diameter of the holes, in mm.
    pub diameter_mm: f64,
    /// Segment of the layout.
    pub segment: usize,
    /// Place along the path, in mm.
    pub station_mm: f64,
    /// Edge of the hole in the section (y, z), in mm.
    pub place_mm: (f64, f64),
}

/// What a section feels: N_t, M_n, M_b, B, N_n, N_b, warping torque, uniform torque, local stress of slit strips.
pub(super) type Felt = [f64; 9];

/// Gathers the greatest stress of every strip and of every row of holes.
pub(super) struct Stresses {
    /// By strip: floor, outer wall, inner wall, ribs.
    strips: Vec<Greatest>,
    /// By row of holes.
    rows: Vec<Greatest>,
    /// By piece: at its start, middle and end. The middle of short pieces is left out.
    felt: Vec<[Felt; 3]>,
    looked_inside: Vec<bool>,
    /// Equivalent stresses squared at the place in hand.
    squares: Vec<[f64; 4]>,
    /// Pieces shorter than this are looked at at their ends only.
    short_mm: f64,
}

/// Where a strip or a row is most stressed so far.
#[derive(Clone, Copy)]
struct Greatest {
    /// Equivalent stress squared, or peak; negative where it was not met yet.
    value: f64,
    piece: usize,
    along: f64,
    /// Group of points of the piece's law, and place in it.
    group: usize,
    lane: usize,
}

const UNSEEN: Greatest = Greatest {
    value: -1.0,
    piece: 0,
    along: 0.0,
    group: 0,
    lane: 0,
};

wide! {
    fn look<'a>(
        stresses: &'a mut Stresses,
        model: &'a Model,
        motion: &'a [Row],
        fixed: Option<&'a [Row]>,
    ) -> () = Stresses::look_along;
}

impl StressPoints {
    /// Equivalent stress squared of the four places.
    #[inline(always)]
    pub(super) fn stress(&self, felt: &Felt, square: &mut [f64; 4]) {
        let ([a, b, c, d], [e, f, g]) = (&self.normal, &self.shear);
        let uniform = felt[7].abs();
        for k in 0..4 {
            let mut normal = a[k] * felt[0] + b[k] * felt[1] + c[k] * felt[2] + d[k] * felt[3];
            normal += felt[8].copysign(normal);
            let shear =
                (e[k] * felt[4] + f[k] * felt[5] + g[k] * felt[6]).abs() + self.twist[k] * uniform;
            square[k] = normal * normal + 3.0 * shear * shear;
        }
    }

    /// Normal stress of one of them.
    fn normal(&self, lane: usize, felt: &Felt) -> f64 {
        let [a, b, c, d] = &self.normal;
        let normal = a[lane] * felt[0] + b[lane] * felt[1] + c[lane] * felt[2] + d[lane] * felt[3];
        normal + felt[8].copysign(normal)
    }
}

impl NotchPoints {
    /// Greatest stress along the edge of a hole, and the surface where it is; where that can't exceed `known`, a
    /// lesser value than that.
    fn peak(&self, felt: &Felt, known: f64) -> (f64, usize) {
        let even = |c: &[f64; 4]| c[0] * felt[0] + c[1] * felt[1] + c[2] * felt[2] + c[3] * felt[3];
        let [e, f, g] = self.shear;
        let shear = (e * felt[4] + f * felt[5] + g * felt[6]).abs() + self.twist * felt[7].abs();
        let (growth, across) = (even(&self.gradient), even(&self.across));
        let normal = [even(&self.normal[0]), even(&self.normal[1])];
        let side = usize::from(normal[1].abs() > normal[0].abs());
        let along = normal[side];
        let most = 3.0 * (along.abs() + across.abs()) + growth.abs() + 4.0 * shear;
        if most <= known {
            return (0.0, side);
        }
        let peak = edge_peak_mpa(FarStress {
            along,
            growth,
            shear,
            across,
        });
        (peak, side)
    }
}

impl Stresses {
    /// For a model; pieces shorter than `short_mm` are looked at at their ends only.
    pub fn new(model: &Model, short_mm: f64) -> Stresses {
        Stresses {
            strips: vec![UNSEEN; model.strips],
            rows: vec![UNSEEN; model.rows],
            felt: Vec::with_capacity(model.pieces.len()),
            looked_inside: Vec::with_capacity(model.pieces.len()),
            squares: Vec::new(),
            short_mm,
        }
    }

    /// Strips and rows of holes, the most stressed first; equal ones in order of their names. The first of each is
    /// followed between the places looked at.
    pub fn finish(mut self, model: &Model) -> (Vec<StripStress>, Vec<HoleStress>) {
        for greatest in &mut self.strips {
            greatest.value = greatest.value.max(0.0).sqrt() * greatest.value.signum();
        }
        let mut strips = Vec::with_capacity(self.strips.len());
        let governing = first(&self.strips);
        for (index, greatest) in self.strips.iter().enumerate() {
            if greatest.value >= 0.0 {
                strips.push(self.strip(model, greatest, Some(index) == governing));
            }
        }
        strips.sort_by(|a, b| {
            b.equivalent_mpa
                .total_cmp(&a.equivalent_mpa)
                .then(a.strip.cmp(&b.strip))
        });
        let mut rows = Vec::with_capacity(self.rows.len());
        let governing = first(&self.rows);
        for (index, greatest) in self.rows.iter().enumerate() {
            if greatest.value >= 0.0 {
                rows.push(self.row(model, greatest, Some(index) == governing));
            }
        }
        rows.sort_by(|a, b| b.peak_mpa.total_cmp(&a.peak_mpa).then(a.row.cmp(&b.row)));
        (strips, rows)
    }

    fn strip(&self, model: &Model, greatest: &Greatest, follow: bool) -> StripStress {
        let (group, lane) = (greatest.group, greatest.lane);
        let points = &model.laws[model.pieces[greatest.piece].kind].points[group];
        let mut place = (greatest.value, greatest.piece, greatest.along);
        if follow {
            place = self.inside(model, greatest, |law, felt| {
                let mut square = [0.0; 4];
                law.points[group].stress(felt, &mut square);
                square[lane].sqrt()
            });
        }
        let (equivalent_mpa, index, along) = place;
        let piece = &model.pieces[index];
        let seen = &self.felt[index];
        let felt = std::array::from_fn(|k| parabola([seen[0][k], seen[1][k], seen[2][k]], along));
        StripStress {
            strip: points.strips[lane].0,
            equivalent_mpa,
            normal_mpa: points.normal(lane, &felt),
            segment: piece.segment,
            station_mm: piece.start_mm + along * piece.length_mm,
            place_mm: points.places[lane],
        }
    }

    fn row(&self, model: &Model, greatest: &Greatest, follow: bool) -> HoleStress {
        let group = greatest.group;
        let notch = &model.laws[model.pieces[greatest.piece].kind].notches[group];
        let mut place = (greatest.value, greatest.piece, greatest.along);
        if follow {
            place = self.inside(model, greatest, |law, felt| {
                law.notches[group].peak(felt, 0.0).0
            });
        }
        let (peak_mpa, index, along) = place;
        let piece = &model.pieces[index];
        HoleStress {
            row: notch.row,
            strip: notch.strip,
            peak_mpa,
            concentration: notch.concentration,
            diameter_mm: notch.diameter,
            segment: piece.segment,
            station_mm: piece.start_mm + along * piece.length_mm,
            place_mm: notch.places[greatest.lane],
        }
    }

    /// Greatest value at a place of the section near where it was found, on the parabola through both ends and
    /// the middle of a piece: (value, piece, share of its length).
    ///
    /// Between the three the section forces of an arc run as sines and cosines of at most 40 degrees, so a
    /// parabola misses their peak by far less than the nearest of the three does (up to 1.5 %).
    fn inside(
        &self,
        model: &Model,
        greatest: &Greatest,
        value: impl Fn(&SectionLaw, &Felt) -> f64,
    ) -> (f64, usize, f64) {
        let (piece, last) = (greatest.piece, model.pieces.len() - 1);
        let beside = match greatest.along {
            0.0 if piece > 0 => Some(piece - 1),
            0.0 if model.closed => Some(last),
            1.0 if piece < last => Some(piece + 1),
            1.0 if model.closed => Some(0),
            _ => None,
        };
        let kind = model.pieces[piece].kind;
        let law = &model.laws[kind];
        let mut best = (greatest.value, piece, greatest.along);
        for index in std::iter::once(piece).chain(beside) {
            if model.pieces[index].kind != kind || !self.looked_inside[index] {
                continue;
            }
            let seen = self.felt[index].map(|felt| value(law, &felt));
            if let Some(along) = top(seen) {
                let there = parabola(seen, along);
                if there > best.0 {
                    best = (there, index, along);
                }
            }
        }
        best
    }

    /// Looks at both ends of every piece and at its middle. `fixed`: acceleration of every node, where there is
    /// one.
    pub fn look(&mut self, model: &Model, motion: &[Row], fixed: Option<&[Row]>) {
        look(self, model, motion, fixed);
    }

    #[inline(always)]
    fn look_along(&mut self, model: &Model, motion: &[Row], fixed: Option<&[Row]>) {
        for piece in 0..model.pieces.len() {
            self.look_at(model, piece, motion, fixed);
        }
    }

    #[inline(always)]
    fn look_at(&mut self, model: &Model, index: usize, motion: &[Row], fixed: Option<&[Row]>) {
        let piece = &model.pieces[index];
        let levels = &model.elements[piece.kind].levels;
        let far = model.far(index);
        let level = &levels[piece.level];
        let (mut near, mut away) = level.forces(&motion[index], &motion[far]);
        if let Some(a) = fixed {
            let (start, end) = level.inertia(&a[index], &a[far]);
            add_row(&mut near, 1.0, &start);
            add_row(&mut away, 1.0, &end);
        }
        let law = &model.laws[piece.kind];
        let start = felt(law, &near.map(|value| -value), motion[index][6]);
        let end = felt(law, &away, motion[far][6]);
        self.compare(law, (index, 0.0), &start);
        self.compare(law, (index, 1.0), &end);
        let inside = piece.level > 0 && piece.length_mm >= self.short_mm;
        self.looked_inside.push(inside);
        if !inside {
            let middle = std::array::from_fn(|k| 0.5 * (start[k] + end[k]));
            self.felt.push([start, middle, end]);
            return;
        }
        let half = &levels[piece.level - 1];
        let mut middle = level.middle_of(&motion[index], &motion[far]);
        let mut inertia = [0.0; 8];
        if let Some(a) = fixed {
            let there = level.middle_of(&a[index], &a[far]);
            let mut pull = half.inertia(&a[index], &there).1;
            inertia = half.inertia(&there, &a[far]).0;
            add_row(&mut pull, 1.0, &inertia);
            add_row(&mut middle, -1.0, &times(&level.give, &pull));
        }
        let mut near = half.forces(&middle, &motion[far]).0;
        add_row(&mut near, 1.0, &inertia);
        let middle = felt(law, &near.map(|value| -value), middle[6]);
        self.compare(law, (index, 0.5), &middle);
        self.felt.push([start, middle, end]);
    }

    #[inline(always)]
    fn compare(&mut self, law: &SectionLaw, (piece, along): (usize, f64), felt: &Felt) {
        self.squares.resize(law.points.len(), [0.0; 4]);
        for (group, points) in law.points.iter().enumerate() {
            // Written down, so that the compiler reckons the four side by side.
            let square = &mut self.squares[group];
            points.stress(felt, square);
            let greatest = &mut self.strips[points.strips[0].1];
            // Without short cuts, so that all four are compared at once.
            let known = greatest.value;
            let any = (square[0] > known)
                | (square[1] > known)
                | (square[2] > known)
                | (square[3] > known);
            if !any {
                continue;
            }
            for lane in 0..4 {
                if square[lane] > greatest.value {
                    *greatest = Greatest {
                        value: square[lane],
                        piece,
                        along,
                        group,
                        lane,
                    };
                }
            }
        }
        for (group, notch) in law.notches.iter().enumerate() {
            let greatest = &mut self.rows[notch.row];
            let (peak, lane) = notch.peak(felt, greatest.value);
            if peak > greatest.value {
                *greatest = Greatest {
                    value: peak,
                    piece,
                    along,
                    group,
                    lane,
                };
            }
        }
    }
}

/// The first of the greatest.
fn first(all: &[Greatest]) -> Option<usize> {
    let greatest = all.iter().map(|each| each.value).fold(0.0, f64::max);
    all.iter().position(|each| each.value >= greatest)
}

/// What a section feels of the forces (N_t, N_n, N_b, M_t, M_n, M_b, B) and the warping amplitude.
pub(super) fn felt(law: &SectionLaw, r: &Row, p: f64) -> Felt {
    let warping_torque =
        law.lever[0] * r[1] + law.lever[1] * r[2] + law.lever[2] * r[3] - law.twist * p;
    let (y, z) = law.properties.shear_centre_mm;
    let uniform = r[3] + z * r[1] - y * r[2] - warping_torque;
    [
        r[0],
        r[4],
        r[5],
        r[6],
        r[1],
        r[2],
        warping_torque,
        uniform,
        law.local * r[1].abs(),
    ]
}

/// The parabola through values at 0, 1/2 and 1, at a share of the way.
fn parabola([start, middle, end]: [f64; 3], along: f64) -> f64 {
    let bend = 2.0 * (start - 2.0 * middle + end);
    start + along * (end - start - bend + along * bend)
}

/// Where that parabola has its top, if that lies inside.
fn top([start, middle, end]: [f64; 3]) -> Option<f64> {
    let bend = 2.0 * (start - 2.0 * middle + end);
    let along = -(end - start - bend) / (2.0 * bend);
    (bend < 0.0 && along > 0.0 && along < 1.0).then_some(along)
}
