//! Triangles of a body: watertight, none farther from the true surface than a stated chord error.
//!
//! Every edge is cut into points once, so the faces on both sides share them. Each face is triangulated in its own
//! plane, or unrolled, by a constrained Delaunay triangulation of its boundary; cylinders get inner points where a
//! triangle would cut too deep (`face`).

mod face;

use std::fmt;

use super::body::{Body, Curve, Vec3};

/// Chord error where none is asked for, in mm.
pub const CHORD_MM: f64 = 0.01;

/// Least and greatest chord error that may be asked for, in mm.
pub const CHORD_RANGE_MM: (f64, f64) = (1e-4, 1.0);

/// Chords are made finer down to this share of the chord error asked for, where they cross.
const FINEST: f64 = 0.02;

/// A circle gets at least a point every so many rad, however small it is.
const MOST_STEP: f64 = 0.5;

/// A closed surface of triangles.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    /// Corners, in mm.
    pub points: Vec<Vec3>,
    /// Triangles, counter-clockwise seen from the air.
    pub triangles: Vec<[usize; 3]>,
    /// No point of a triangle is farther than this from the true surface, in mm.
    pub chord_mm: f64,
}

/// Why there is no mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MeshError {
    /// The chord error asked for is out of range.
    Chord {
        /// It, in mm.
        chord_mm: f64,
    },
    /// Chords of neighbouring boundaries cross, however fine: metal is as good as nothing there.
    Crossing {
        /// Index of the face.
        face: usize,
        /// Finest chord error tried, in mm.
        chord_mm: f64,
    },
}

impl fmt::Display for MeshError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MeshError::Chord { chord_mm } => write!(
                f,
                "no mesh: a chord error of {chord_mm} mm; choose one from {} to {} mm",
                CHORD_RANGE_MM.0, CHORD_RANGE_MM.1
            ),
            MeshError::Crossing { face, chord_mm } => write!(
                f,
                "no mesh: at face {face} boundaries cross even with a chord error of {chord_mm:.1e} mm; leave more metal there"
            ),
        }
    }
}

impl std::error::Error for MeshError {}

impl Mesh {
    /// Triangles of a body with at most `chord_mm` between them and its surface.
    ///
    /// The same body gives the same mesh to the bit.
    ///
    /// # Errors
    /// [`MeshError`]: chord error out of range, or metal next to nothing.
    pub fn of(body: &Body, chord_mm: f64) -> Result<Mesh, MeshError> {
        if !(CHORD_RANGE_MM.0 <= chord_mm && chord_mm <= CHORD_RANGE_MM.1) {
            return Err(MeshError::Chord { chord_mm });
        }
        // Where metal or air is thinner than the chord error, finer chords may still pass.
        let mut finer = chord_mm;
        loop {
            match Mesh::once(body, finer) {
                Ok(mesh) => return Ok(Mesh { chord_mm, ..mesh }),
                Err(face) if finer < FINEST * chord_mm => {
                    return Err(MeshError::Crossing {
                        face,
                        chord_mm: finer,
                    });
                }
                Err(_) => finer *= 0.5,
            }
        }
    }

    /// Triangles with at most `chord_mm` between them and the surface. `Err` with the face where chords cross.
    fn once(body: &Body, chord_mm: f64) -> Result<Mesh, usize> {
        let mut mesh = Mesh {
            points: body.vertices.clone(),
            triangles: Vec::new(),
            chord_mm,
        };
        let edges: Vec<Vec<usize>> = (0..body.edges.len())
            .map(|edge| mesh.cut(body, edge))
            .collect();
        for index in 0..body.faces.len() {
            mesh.face(body, index, &edges).ok_or(index)?;
        }
        Ok(mesh)
    }

    /// Points of an edge from its start to its end, both included.
    fn cut(&mut self, body: &Body, index: usize) -> Vec<usize> {
        let edge = &body.edges[index];
        let (from, to) = (body.vertices[edge.from], body.vertices[edge.to]);
        let steps = match &edge.curve {
            Curve::Line => 1,
            Curve::Circle { radius, .. } => {
                let turn = edge.curve.turn(from, to, edge.from == edge.to);
                (turn / step(*radius, self.chord_mm)).ceil() as usize
            }
            Curve::Spline(_) => self.steps_of_curve(body, index),
        };
        let mut points = vec![edge.from];
        for at in 1..steps {
            self.points
                .push(body.along(index, at as f64 / steps as f64).0);
            points.push(self.points.len() - 1);
        }
        points.push(edge.to);
        points
    }

    /// Steps of an edge so that its chords keep near enough.
    fn steps_of_curve(&self, body: &Body, index: usize) -> usize {
        let mut steps = 2;
        loop {
            let deep = (0..steps).any(|at| {
                let share = |part: f64| (at as f64 + part) / steps as f64;
                let point = |part: f64| body.along(index, share(part)).0;
                let (start, end) = (point(0.0), point(1.0));
                let chord = (end - start).normalize();
                let bend = body.along(index, share(0.0)).1.normalize();
                let away = |part: f64| {
                    let from = point(part) - start;
                    (from - chord * from.dot(&chord)).norm()
                };
                bend.dot(&chord).clamp(-1.0, 1.0).acos() > 0.5 * MOST_STEP
                    || [0.25, 0.5, 0.75]
                        .into_iter()
                        .any(|part| away(part) > 0.98 * self.chord_mm)
            });
            if !deep || steps > 4096 {
                return steps;
            }
            steps += steps.div_ceil(4);
        }
    }

    /// Whether every side of a triangle is the side of one other, run the other way: closed and all facing outwards
    /// or all inwards.
    pub fn watertight(&self) -> bool {
        let mut sides: Vec<(usize, usize)> = self
            .triangles
            .iter()
            .flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)])
            .collect();
        sides.sort_unstable();
        let once = sides.windows(2).all(|pair| pair[0] != pair[1]);
        once && sides
            .iter()
            .all(|&(a, b)| a != b && sides.binary_search(&(b, a)).is_ok())
    }

    /// Volume in mm³, positive where the triangles face outwards (sum of tetrahedra to the origin).
    pub fn volume_mm3(&self) -> f64 {
        let six: f64 = self
            .triangles
            .iter()
            .map(|&[a, b, c]| self.points[a].cross(&self.points[b]).dot(&self.points[c]))
            .sum();
        six / 6.0
    }
}

/// Angle in rad whose chord on a circle keeps within the chord error; a little less, for rounding.
fn step(radius: f64, chord_mm: f64) -> f64 {
    let whole = 2.0 * (1.0 - (0.98 * chord_mm / radius).min(1.0)).acos();
    whole.min(MOST_STEP)
}
