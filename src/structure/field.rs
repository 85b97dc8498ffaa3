//! Movement and stress along the path: what a drawing shows of a load case.

use super::Loading;
use super::block::{Row, add_row, times};
use super::factor::to_plan;
use super::model::Model;
use super::opening::Opened;
use super::response::LoadResponse;
use super::stress::felt;
use crate::part::{Pose, StripName};

/// Places along the path that a field has at most.
pub const MOST_PLACES: usize = 120;

/// Movement and stress along the path.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Field {
    /// Strips that have a stress anywhere, in words, in the order of each place's stresses.
    pub strips: Vec<String>,
    /// Places in order along the path, the first again at the end of a closed one.
    pub places: Vec<FieldPlace>,
}

/// What happens at a place of the path.
///
/// A point (y, z) of the section there moves by `moved_mm` + `turned` x r, r the point's distance from the path line
/// (small rotations; the warping of the section left out).
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct FieldPlace {
    /// Place along the path, in mm.
    pub station_mm: f64,
    /// The same in the plan, (x, y) in mm.
    pub at_mm: [f64; 2],
    /// Movement of the path line y = z = 0 along the plan's x, y, z, in mm.
    pub moved_mm: [f64; 3],
    /// Rotation of the section about the plan's x, y, z, in rad.
    pub turned: [f64; 3],
    /// Greatest equivalent stress of every strip there, in MPa, as [`super::StripStress`] has it; `None` where the
    /// strip does not stand.
    pub stress_mpa: Vec<Option<f64>>,
}

impl FieldPlace {
    /// Greatest stress of the section, in MPa.
    pub fn greatest_mpa(&self) -> f64 {
        self.stress_mpa
            .iter()
            .flatten()
            .copied()
            .fold(0.0, f64::max)
    }
}

impl Field {
    /// Movements and rotations times a factor.
    pub fn scaled(mut self, factor: f64) -> Field {
        for place in &mut self.places {
            for value in place.moved_mm.iter_mut().chain(&mut place.turned) {
                *value *= factor;
            }
        }
        self
    }

    /// Strips without any stress are left out, and places beyond the most are joined with their neighbours, which keep
    /// the greater stress.
    fn tidy(mut self, strips: usize) -> Field {
        let share = self.places.len().div_ceil(MOST_PLACES).max(1);
        let last = self.places.len().saturating_sub(1);
        let mut kept: Vec<FieldPlace> = Vec::with_capacity(MOST_PLACES);
        for (index, place) in self.places.into_iter().enumerate() {
            if index % share == 0 || index == last {
                kept.push(place);
            } else if let Some(before) = kept.last_mut() {
                for (known, value) in before.stress_mpa.iter_mut().zip(place.stress_mpa) {
                    *known = greater(*known, value);
                }
            }
        }
        let stands = |strip: usize| kept.iter().any(|place| place.stress_mpa[strip].is_some());
        let standing: Vec<usize> = (0..strips).filter(|&strip| stands(strip)).collect();
        for place in &mut kept {
            place.stress_mpa = standing
                .iter()
                .map(|&strip| place.stress_mpa[strip])
                .collect();
        }
        self.strips = standing
            .into_iter()
            .map(|strip| strip_name(strip).words())
            .collect();
        self.places = kept;
        self
    }
}

fn greater(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    match (one, other) {
        (Some(a), Some(b)) => Some(a.max(b)),
        (a, b) => a.or(b),
    }
}

/// The strip of a number; see [`super::stress_points::strip_number`].
fn strip_name(number: usize) -> StripName {
    match number {
        0 => StripName::Floor,
        1 => StripName::OuterWall,
        2 => StripName::InnerWall,
        rib => StripName::Rib(rib - 3),
    }
}

/// A place of a piece on the way: distance from its start in mm, motion and acceleration in path axes.
type Stop = (f64, Row, Row);

impl Model {
    /// Movement and stress along the path under the load case that a response answers.
    ///
    /// Places stand at every joint and between them about a sixty-fourth of the path apart, or as near as the elements
    /// go down (a 24th or less); at most [`MOST_PLACES`].
    pub fn field(&self, loading: &Loading, response: &LoadResponse) -> Field {
        let acceleration =
            (loading.acceleration != [0.0; 3]).then(|| self.translation(loading.acceleration));
        let mut places: Vec<FieldPlace> = Vec::with_capacity(2 * MOST_PLACES);
        for (index, piece) in self.pieces.iter().enumerate() {
            let stops = self.stops(index, &response.chain, acceleration.as_deref());
            let law = &self.laws[piece.kind];
            let halvings = (stops.len() - 1).ilog2() as usize;
            let level = &self.elements[piece.kind].levels[piece.level - halvings];
            let mut stresses = vec![vec![None; self.strips]; stops.len()];
            for (k, pair) in stops.windows(2).enumerate() {
                let (mut near, mut away) = level.forces(&pair[0].1, &pair[1].1);
                if acceleration.is_some() {
                    let (start, end) = level.inertia(&pair[0].2, &pair[1].2);
                    add_row(&mut near, 1.0, &start);
                    add_row(&mut away, 1.0, &end);
                }
                let ends = [
                    felt(law, &near.map(|value| -value), pair[0].1[6]),
                    felt(law, &away, pair[1].1[6]),
                ];
                for (end, felt) in ends.iter().enumerate() {
                    for points in &law.points {
                        let mut squares = [0.0; 4];
                        points.stress(felt, &mut squares);
                        let most = squares.iter().copied().fold(0.0, f64::max).sqrt();
                        let known = &mut stresses[k + end][points.strips[0].1];
                        *known = greater(*known, Some(most));
                    }
                }
            }
            for ((along, motion, _), stress) in stops.iter().zip(stresses) {
                let place = self.field_place(index, *along, motion, stress);
                match places.last_mut() {
                    // The joint with the piece before.
                    Some(before) if *along == 0.0 => {
                        for (known, value) in before.stress_mpa.iter_mut().zip(place.stress_mpa) {
                            *known = greater(*known, value);
                        }
                    }
                    _ => places.push(place),
                }
            }
        }
        if self.closed
            && let [first, .., last] = &mut places[..]
        {
            for (a, b) in first.stress_mpa.iter_mut().zip(&mut last.stress_mpa) {
                *a = greater(*a, *b);
                *b = *a;
            }
        }
        let field = Field {
            strips: Vec::new(),
            places,
        };
        field.tidy(self.strips)
    }

    /// The blade opened, its ends carried on straight to those of the path.
    pub fn opened_field(&self, opened: &Opened) -> Field {
        let ends = [0.0, self.length()];
        let (Some(first), Some(last)) = (opened.shape.first(), opened.shape.last()) else {
            return Field::default();
        };
        let carried = |at: f64, from: &[f64; 5]| {
            let (far, (sin, cos)) = (at - from[0], from[3].sin_cos());
            [
                at,
                from[1] + far * (cos - 1.0),
                from[2] + far * sin,
                from[3],
                0.0,
            ]
        };
        let mut shape = opened.shape.clone();
        if first[0] > ends[0] {
            shape.insert(0, carried(ends[0], first));
        }
        if last[0] < ends[1] {
            shape.push(carried(ends[1], last));
        }
        let (sin, cos) = self.headings[0];
        let places = shape
            .into_iter()
            .map(|[at, along, across, turn, stress]| FieldPlace {
                station_mm: at,
                at_mm: [self.poses[0].x + at * cos, self.poses[0].y + at * sin],
                moved_mm: [along * cos, along * sin, across],
                // A strip that rises along the path turns about its left, backwards.
                turned: [turn * sin, -turn * cos, 0.0],
                stress_mpa: vec![Some(stress)],
            })
            .collect();
        let field = Field {
            strips: Vec::new(),
            places,
        };
        field.tidy(1)
    }

    /// Motion at both ends of a piece and at equal shares between them.
    pub(super) fn stops(&self, index: usize, motion: &[Row], fixed: Option<&[Row]>) -> Vec<Stop> {
        let piece = &self.pieces[index];
        let levels = &self.elements[piece.kind].levels;
        let far = self.far(index);
        let of = |node: usize| fixed.map_or([0.0; 8], |rows| rows[node]);
        let mut stops = vec![
            (0.0, motion[index], of(index)),
            (piece.length_mm, motion[far], of(far)),
        ];
        // To the nearest power of two.
        let parts = 64.0 * piece.length_mm / self.length();
        let halvings = parts.log2().round().max(0.0) as usize;
        for step in 0..halvings.min(piece.level) {
            let (level, half) = (&levels[piece.level - step], &levels[piece.level - step - 1]);
            let mut finer = Vec::with_capacity(2 * stops.len() - 1);
            for pair in stops.windows(2) {
                let (near, away) = (&pair[0], &pair[1]);
                let mut middle = level.middle_of(&near.1, &away.1);
                let there = level.middle_of(&near.2, &away.2);
                if fixed.is_some() {
                    let mut pull = half.inertia(&near.2, &there).1;
                    add_row(&mut pull, 1.0, &half.inertia(&there, &away.2).0);
                    add_row(&mut middle, -1.0, &times(&level.give, &pull));
                }
                finer.push(*near);
                finer.push((0.5 * (near.0 + away.0), middle, there));
            }
            finer.push(stops[stops.len() - 1]);
            stops = finer;
        }
        stops
    }

    fn field_place(
        &self,
        index: usize,
        along: f64,
        motion: &Row,
        stress_mpa: Vec<Option<f64>>,
    ) -> FieldPlace {
        let piece = &self.pieces[index];
        let pose: Pose = self.poses[index].advance(along, self.curvatures[piece.kind]);
        let mut row = *motion;
        to_plan(&mut row, pose.heading.sin_cos());
        FieldPlace {
            station_mm: piece.start_mm + along,
            at_mm: [pose.x, pose.y],
            moved_mm: [row[0], row[1], row[2]],
            turned: [row[3], row[4], row[5]],
            stress_mpa,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::stress_points::strip_number;
    use super::strip_name;

    #[test]
    fn strips_are_numbered_both_ways() {
        for number in 0..9 {
            assert_eq!(strip_number(strip_name(number)), number);
        }
    }
}
