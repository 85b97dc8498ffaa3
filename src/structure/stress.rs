//! Nominal stress in every strip.

use super::block::{Row, add_row, times};
use super::model::Model;
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

/// Gathers the greatest stress of every strip.
pub(super) struct Stresses {
    /// By strip: floor, outer wall, inner wall, ribs.
    greatest: Vec<Greatest>,
    /// Equivalent stresses squared at the place in hand.
    squares: Vec<[f64; 4]>,
    /// Pieces shorter than this are looked at at their ends only.
    short_mm: f64,
}

/// Where a strip is most stressed so far.
#[derive(Clone, Copy)]
struct Greatest {
    /// Equivalent stress squared; negative where the strip was not met yet.
    square: f64,
    normal: f64,
    piece: usize,
    along: f64,
    /// Group of stress points of the piece's law, and place in it.
    group: usize,
    lane: usize,
}

const UNSEEN: Greatest = Greatest {
    square: -1.0,
    normal: 0.0,
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

impl Stresses {
    /// `strips` how many there are at most; `short_mm`: pieces shorter than this are looked at at their ends
    /// only.
    pub fn new(strips: usize, short_mm: f64) -> Stresses {
        Stresses {
            greatest: vec![UNSEEN; strips],
            squares: Vec::new(),
            short_mm,
        }
    }

    /// Strips, the most stressed first; equal ones in order of their names.
    pub fn finish(self, model: &Model) -> Vec<StripStress> {
        let seen = self
            .greatest
            .iter()
            .filter(|greatest| greatest.square >= 0.0);
        let mut strips: Vec<StripStress> = seen
            .map(|greatest| {
                let piece = &model.pieces[greatest.piece];
                let points = &model.laws[piece.kind].points[greatest.group];
                StripStress {
                    strip: points.strips[greatest.lane].0,
                    equivalent_mpa: greatest.square.sqrt(),
                    normal_mpa: greatest.normal,
                    segment: piece.segment,
                    station_mm: piece.start_mm + greatest.along * piece.length_mm,
                    place_mm: points.places[greatest.lane],
                }
            })
            .collect();
        strips.sort_by(|a, b| {
            b.equivalent_mpa
                .total_cmp(&a.equivalent_mpa)
                .then(a.strip.cmp(&b.strip))
        });
        strips
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
        self.compare(
            law,
            (index, 0.0),
            &near.map(|value| -value),
            motion[index][6],
        );
        self.compare(law, (index, 1.0), &away, motion[far][6]);
        if piece.level == 0 || piece.length_mm < self.short_mm {
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
        self.compare(law, (index, 0.5), &near.map(|value| -value), middle[6]);
    }

    /// Compares the stresses from section forces (N_t, N_n, N_b, M_t, M_n, M_b, B) and warping amplitude.
    #[inline(always)]
    fn compare(&mut self, law: &SectionLaw, (piece, along): (usize, f64), r: &Row, p: f64) {
        let warping_torque =
            law.lever[0] * r[1] + law.lever[1] * r[2] + law.lever[2] * r[3] - law.twist * p;
        let (y, z) = law.properties.shear_centre_mm;
        let uniform = (r[3] + z * r[1] - y * r[2] - warping_torque).abs();
        let local = law.local * r[1].abs();
        let felt = [
            r[0],
            r[4],
            r[5],
            r[6],
            r[1],
            r[2],
            warping_torque,
            uniform,
            local,
        ];
        self.squares.resize(law.points.len(), [0.0; 4]);
        for (group, points) in law.points.iter().enumerate() {
            // Written down, so that the compiler reckons the four side by side.
            let square = &mut self.squares[group];
            points.stress(&felt, square);
            let greatest = &mut self.greatest[points.strips[0].1];
            // Without short cuts, so that all four are compared at once.
            let known = greatest.square;
            let any = (square[0] > known)
                | (square[1] > known)
                | (square[2] > known)
                | (square[3] > known);
            if !any {
                continue;
            }
            for lane in 0..4 {
                if square[lane] > greatest.square {
                    *greatest = Greatest {
                        square: square[lane],
                        normal: points.normal(lane, &felt),
                        piece,
                        along,
                        group,
                        lane,
                    };
                }
            }
        }
    }
}

impl StressPoints {
    /// Equivalent stress squared of the four places from N_t, M_n, M_b, B, N_n, N_b, warping torque, uniform torque
    /// and the local stress.
    #[inline(always)]
    fn stress(&self, felt: &[f64; 9], square: &mut [f64; 4]) {
        let ([a, b, c, d], [e, f, g]) = (&self.normal, &self.shear);
        for k in 0..4 {
            let mut normal = a[k] * felt[0] + b[k] * felt[1] + c[k] * felt[2] + d[k] * felt[3];
            normal += felt[8].copysign(normal);
            let shear =
                (e[k] * felt[4] + f[k] * felt[5] + g[k] * felt[6]).abs() + self.twist[k] * felt[7];
            square[k] = normal * normal + 3.0 * shear * shear;
        }
    }

    /// Normal stress of one of them.
    fn normal(&self, lane: usize, felt: &[f64; 9]) -> f64 {
        let [a, b, c, d] = &self.normal;
        let normal = a[lane] * felt[0] + b[lane] * felt[1] + c[lane] * felt[2] + d[lane] * felt[3];
        normal + felt[8].copysign(normal)
    }
}
