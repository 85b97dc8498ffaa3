//! Whether a body is the boundary of one solid.

use std::collections::BTreeMap;
use std::fmt;

use super::{Body, Curve, Vec3};

/// Vertices and curves keep this near to their surfaces, in mm.
const NEAR_MM: f64 = 1e-7;

/// What a boundary consists of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Topology {
    /// Number of corners.
    pub vertices: usize,
    /// Number of edges.
    pub edges: usize,
    /// Number of faces.
    pub faces: usize,
    /// Number of loops of all faces.
    pub loops: usize,
    /// Number of holes through the solid, from the formula of Euler and Poincaré for one shell:
    /// V - E + F - (L - F) = 2 (1 - G).
    pub genus: usize,
}

/// What is wrong with a boundary.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// It has no face.
    Empty,
    /// An edge is not used once each way.
    Uses {
        /// Index of the edge.
        edge: usize,
    },
    /// A loop does not close.
    Open {
        /// Index of the face.
        face: usize,
    },
    /// A corner or an edge lies off one of its surfaces or curves.
    Off {
        /// Index of the face.
        face: usize,
        /// How far, in mm.
        away_mm: f64,
    },
    /// The outer loop of a face does not fit the sense of its surface.
    Sense {
        /// Index of the face.
        face: usize,
    },
    /// Faces meet in a corner only.
    Pinched {
        /// Where: x, y, z in mm.
        at: [f64; 3],
    },
    /// There are several solids.
    Pieces {
        /// How many.
        count: usize,
    },
    /// The numbers of corners, edges, faces and loops fit no solid.
    Euler {
        /// V - E + F - (L - F).
        sum: i64,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::Empty => write!(f, "no face"),
            Fault::Uses { edge } => write!(f, "edge {edge} is not used once each way"),
            Fault::Open { face } => write!(f, "a loop of face {face} is open"),
            Fault::Off { face, away_mm } => {
                write!(
                    f,
                    "the boundary of face {face} lies {away_mm:.1e} mm off it"
                )
            }
            Fault::Sense { face } => write!(f, "face {face} looks the wrong way"),
            Fault::Pinched { at: [x, y, z] } => {
                write!(
                    f,
                    "faces meet in a corner only at ({x:.3}, {y:.3}, {z:.3}) mm"
                )
            }
            Fault::Pieces { count } => write!(f, "{count} pieces"),
            Fault::Euler { sum } => write!(f, "Euler number {sum}"),
        }
    }
}

impl std::error::Error for Fault {}

impl Body {
    /// Whether the body is the boundary of one solid: every edge used once each way, loops closed, corners and edges
    /// on their surfaces, faces looking outwards, one piece, Euler's number.
    ///
    /// That faces do not run through one another is not looked at.
    ///
    /// # Errors
    /// The first [`Fault`] found.
    pub fn check(&self) -> Result<Topology, Fault> {
        if self.faces.is_empty() {
            return Err(Fault::Empty);
        }
        self.used_twice()?;
        for face in 0..self.faces.len() {
            self.closed(face)?;
            self.on_surface(face)?;
            if !(self.signed_area(face) > 0.0) {
                return Err(Fault::Sense { face });
            }
        }
        self.whole_corners()?;
        let count = self.pieces();
        if count != 1 {
            return Err(Fault::Pieces { count });
        }
        let (vertices, edges, faces) = (self.vertices.len(), self.edges.len(), self.faces.len());
        let loops: usize = self.faces.iter().map(|face| face.loops.len()).sum();
        let sum = vertices as i64 - edges as i64 + 2 * faces as i64 - loops as i64;
        if sum > 2 || sum % 2 != 0 {
            return Err(Fault::Euler { sum });
        }
        Ok(Topology {
            vertices,
            edges,
            faces,
            loops,
            genus: ((2 - sum) / 2) as usize,
        })
    }

    fn used_twice(&self) -> Result<(), Fault> {
        let mut uses = vec![[0usize; 2]; self.edges.len()];
        for each in self.faces.iter().flat_map(|face| &face.loops).flatten() {
            uses[each.edge][usize::from(each.forward)] += 1;
        }
        match uses.iter().position(|uses| *uses != [1, 1]) {
            Some(edge) => Err(Fault::Uses { edge }),
            None => Ok(()),
        }
    }

    /// Corners at the start and end of a use.
    pub fn ends(&self, each: &super::Use) -> (usize, usize) {
        let edge = &self.edges[each.edge];
        if each.forward {
            (edge.from, edge.to)
        } else {
            (edge.to, edge.from)
        }
    }

    fn closed(&self, face: usize) -> Result<(), Fault> {
        for around in &self.faces[face].loops {
            for (index, each) in around.iter().enumerate() {
                let next = &around[(index + 1) % around.len()];
                if self.ends(each).1 != self.ends(next).0 {
                    return Err(Fault::Open { face });
                }
            }
        }
        Ok(())
    }

    fn on_surface(&self, face: usize) -> Result<(), Fault> {
        let surface = &self.faces[face].surface;
        let mut worst: f64 = 0.0;
        for each in self.faces[face].loops.iter().flatten() {
            let edge = &self.edges[each.edge];
            let steps = match edge.curve {
                Curve::Line => 2,
                Curve::Circle { .. } => 4,
                Curve::Spline(ref spline) => 3 * spline.pieces(),
            };
            for step in 0..=steps {
                let (point, _) = self.along(each.edge, step as f64 / steps as f64);
                worst = worst.max(surface.distance(&point));
            }
            for (vertex, share) in [(edge.from, 0.0), (edge.to, 1.0)] {
                let (point, _) = self.along(each.edge, share);
                worst = worst.max((point - self.vertices[vertex]).norm());
                worst = worst.max(surface.distance(&self.vertices[vertex]));
            }
        }
        if worst < NEAR_MM {
            Ok(())
        } else {
            Err(Fault::Off {
                face,
                away_mm: worst,
            })
        }
    }

    /// All faces at a corner hang together round it by edges.
    fn whole_corners(&self) -> Result<(), Fault> {
        // Each use ends at a corner; the next use of its loop starts there, and the same edge's other use starts
        // there in the neighbouring face. Following both walks round the corner.
        let mut starts: BTreeMap<(usize, bool), (usize, bool)> = BTreeMap::new();
        for around in self.faces.iter().flat_map(|face| &face.loops) {
            for (index, each) in around.iter().enumerate() {
                let next = around[(index + 1) % around.len()];
                starts.insert((each.edge, each.forward), (next.edge, next.forward));
            }
        }
        let mut seen: BTreeMap<(usize, bool), bool> = BTreeMap::new();
        let mut rounds = vec![0usize; self.vertices.len()];
        for &first in starts.keys() {
            if seen.contains_key(&first) {
                continue;
            }
            let mut at = first;
            while seen.insert(at, true).is_none() {
                let next = starts[&at];
                at = (next.0, !next.1);
            }
            let edge = &self.edges[first.0];
            let corner = if first.1 { edge.to } else { edge.from };
            rounds[corner] += 1;
        }
        match rounds.iter().position(|&count| count > 1) {
            Some(corner) => Err(Fault::Pinched {
                at: self.vertices[corner].into(),
            }),
            None => Ok(()),
        }
    }

    /// Number of pieces that hang together by edges.
    fn pieces(&self) -> usize {
        let mut group: Vec<usize> = (0..self.faces.len()).collect();
        fn root(group: &mut [usize], mut at: usize) -> usize {
            while group[at] != at {
                group[at] = group[group[at]];
                at = group[at];
            }
            at
        }
        let mut owner = vec![usize::MAX; self.edges.len()];
        for (face, each) in self.faces.iter().enumerate() {
            for each in each.loops.iter().flatten() {
                if owner[each.edge] == usize::MAX {
                    owner[each.edge] = face;
                } else {
                    let (a, b) = (root(&mut group, owner[each.edge]), root(&mut group, face));
                    group[a.max(b)] = a.min(b);
                }
            }
        }
        (0..self.faces.len())
            .filter(|&face| root(&mut group, face) == face)
            .count()
    }

    /// Box around the body: least and greatest x, y, z in mm, exact for lines and circles about the tool axis.
    pub fn bounds(&self) -> (Vec3, Vec3) {
        let mut low = Vec3::repeat(f64::INFINITY);
        let mut high = Vec3::repeat(f64::NEG_INFINITY);
        let mut take = |point: Vec3| {
            low = low.inf(&point);
            high = high.sup(&point);
        };
        for edge in &self.edges {
            take(self.vertices[edge.from]);
            take(self.vertices[edge.to]);
            let Curve::Circle { frame, radius } = &edge.curve else {
                continue;
            };
            let (from, to) = (self.vertices[edge.from], self.vertices[edge.to]);
            let turn = edge.curve.turn(from, to, edge.from == edge.to);
            let start = frame.polar(&from).0;
            for direction in [Vec3::x(), Vec3::y(), -Vec3::x(), -Vec3::y()] {
                let angle = frame.polar(&(frame.origin + direction)).0;
                let passed = (angle - start).rem_euclid(std::f64::consts::TAU);
                if frame.axis.z.abs() > 0.5 && passed < turn {
                    take(frame.origin + direction * *radius);
                }
            }
        }
        (low, high)
    }
}
