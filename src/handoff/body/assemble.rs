//! Traced faces put together into a body: what belongs to one line becomes one edge.

use std::collections::BTreeMap;

use super::geometry::{Curve, Frame, Surface, Vec3};
use super::grid::Shape;
use super::patches::{Half, Patches};
use super::plan::Plan;
use super::trace;
use super::{Body, BodyError, Edge, Face, Use};

/// A face whose loops still run along single pieces: an edge and its direction at a time.
struct Rough {
    surface: Surface,
    same_sense: bool,
    loops: Vec<Vec<(usize, bool)>>,
}

/// Line that a piece of an edge belongs to; pieces of one line may become one edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Owner {
    /// A curve of the plan at a level.
    Level(usize, usize),
    /// A plan vertex.
    Upright(usize),
    /// Itself alone.
    Own,
}

/// The body of a plan and its patches.
pub fn body(plan: &Plan, patches: Patches) -> Result<Body, BodyError> {
    let pieces = Pieces {
        plan,
        patches: &patches,
    };
    let mut rough = Vec::new();
    for patch in &patches.patches {
        let faces = trace::faces(patch).map_err(|half| pieces.contact(half.edge))?;
        for loops in faces {
            let plain = |around: Vec<Half>| {
                around
                    .iter()
                    .map(|half| (half.edge, half.forward))
                    .collect()
            };
            rough.push(Rough {
                surface: patch.surface,
                same_sense: patch.same_sense,
                loops: loops.into_iter().map(plain).collect(),
            });
        }
    }
    for face in &patches.faces {
        rough.push(Rough {
            surface: face.surface,
            same_sense: face.same_sense,
            loops: vec![face.around.clone()],
        });
    }
    pieces.two_sided(&rough)?;
    Ok(pieces.join(rough))
}

struct Pieces<'a> {
    plan: &'a Plan,
    patches: &'a Patches,
}

impl Pieces<'_> {
    /// Corners at a piece's start and end.
    fn ends(&self, edge: usize) -> (usize, usize) {
        let plan = self.plan;
        let levels = plan.levels.len();
        if let Some(other) = edge.checked_sub(plan.other_edges()) {
            let other = &self.patches.edges[other];
            return (other.from, other.to);
        }
        let (index, level) = (edge / levels, edge % levels);
        match index.checked_sub(plan.edges.len()) {
            None => {
                let each = plan.edges[index];
                (plan.corner(each.from, level), plan.corner(each.to, level))
            }
            Some(vertex) => (plan.corner(vertex, level), plan.corner(vertex, level + 1)),
        }
    }

    fn owner(&self, edge: usize) -> Owner {
        let plan = self.plan;
        if edge >= plan.other_edges() {
            return Owner::Own;
        }
        let levels = plan.levels.len();
        let (index, level) = (edge / levels, edge % levels);
        match index.checked_sub(plan.edges.len()) {
            None => Owner::Level(plan.edges[index].curve, level),
            Some(vertex) => Owner::Upright(vertex),
        }
    }

    fn point(&self, corner: usize) -> Vec3 {
        if let Some(other) = corner.checked_sub(self.plan.other_corners()) {
            return self.patches.corners[other];
        }
        let levels = self.plan.levels.len();
        let at = self.plan.vertices[corner / levels];
        Vec3::new(at.x, at.y, self.plan.levels[corner % levels])
    }

    fn curve(&self, edge: usize) -> Curve {
        match self.owner(edge) {
            Owner::Own => self.patches.edges[edge - self.plan.other_edges()]
                .curve
                .clone(),
            Owner::Upright(_) => Curve::Line,
            Owner::Level(curve, level) => match self.plan.curves[curve].shape {
                Shape::Line { .. } => Curve::Line,
                Shape::Circle {
                    centre,
                    radius,
                    ccw,
                } => Curve::Circle {
                    frame: Frame::new(
                        Vec3::new(centre.x, centre.y, self.plan.levels[level]),
                        if ccw { Vec3::z() } else { -Vec3::z() },
                    ),
                    radius,
                },
            },
        }
    }

    fn contact(&self, edge: usize) -> BodyError {
        let (from, to) = self.ends(edge);
        let middle = 0.5 * (self.point(from) + self.point(to));
        BodyError::Contact { at: middle.into() }
    }

    /// Every piece has a face on each side and no more.
    fn two_sided(&self, faces: &[Rough]) -> Result<(), BodyError> {
        let mut uses: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
        for &(edge, forward) in faces.iter().flat_map(|face| &face.loops).flatten() {
            let count = uses.entry(edge).or_default();
            if forward {
                count.0 += 1;
            } else {
                count.1 += 1;
            }
        }
        match uses.iter().find(|(_, count)| **count != (1, 1)) {
            Some((&edge, _)) => Err(self.contact(edge)),
            None => Ok(()),
        }
    }

    /// Pieces of one line joined wherever nothing else meets them; corners and edges numbered as they come.
    fn join(&self, faces: Vec<Rough>) -> Body {
        let passed = self.passed(&faces);
        let mut body = Body {
            vertices: Vec::new(),
            edges: Vec::new(),
            faces: Vec::with_capacity(faces.len()),
        };
        let mut corners: BTreeMap<usize, usize> = BTreeMap::new();
        let mut edges: BTreeMap<usize, usize> = BTreeMap::new();
        for face in faces {
            let mut loops = Vec::with_capacity(face.loops.len());
            for around in face.loops {
                let mut uses = Vec::with_capacity(around.len());
                for run in self.runs(&around, &passed) {
                    let forward = run[0].1;
                    // The same run is met from the other side in reverse.
                    let key = run.iter().map(|piece| piece.0).min().unwrap_or(0);
                    let (first, last) = (run[0].0, run[run.len() - 1].0);
                    let (first, last) = if forward {
                        (first, last)
                    } else {
                        (last, first)
                    };
                    let edge = *edges.entry(key).or_insert_with(|| {
                        let mut vertex = |corner: usize| {
                            *corners.entry(corner).or_insert_with(|| {
                                body.vertices.push(self.point(corner));
                                body.vertices.len() - 1
                            })
                        };
                        body.edges.push(Edge {
                            curve: self.curve(first),
                            from: vertex(self.ends(first).0),
                            to: vertex(self.ends(last).1),
                        });
                        body.edges.len() - 1
                    });
                    uses.push(Use { edge, forward });
                }
                loops.push(uses);
            }
            body.faces.push(Face {
                surface: face.surface,
                same_sense: face.same_sense,
                loops,
            });
        }
        body
    }

    /// Corners where just two pieces of one line meet.
    fn passed(&self, faces: &[Rough]) -> BTreeMap<usize, bool> {
        let mut at: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for &(edge, forward) in faces.iter().flat_map(|face| &face.loops).flatten() {
            // Each piece is used once each way.
            if forward {
                let (from, to) = self.ends(edge);
                at.entry(from).or_default().push(edge);
                at.entry(to).or_default().push(edge);
            }
        }
        let passed = |edges: &Vec<usize>| {
            edges.len() == 2
                && edges[0] != edges[1]
                && self.owner(edges[0]) != Owner::Own
                && self.owner(edges[0]) == self.owner(edges[1])
        };
        at.iter()
            .map(|(&corner, edges)| (corner, passed(edges)))
            .collect()
    }

    /// A loop cut into runs that each are one edge.
    fn runs(
        &self,
        around: &[(usize, bool)],
        passed: &BTreeMap<usize, bool>,
    ) -> Vec<Vec<(usize, bool)>> {
        let start = |piece: &(usize, bool)| {
            let (from, to) = self.ends(piece.0);
            if piece.1 { from } else { to }
        };
        let goes_on = |piece: &(usize, bool)| passed.get(&start(piece)).copied().unwrap_or(false);
        let first = around.iter().position(|piece| !goes_on(piece)).unwrap_or(0);
        let mut runs: Vec<Vec<(usize, bool)>> = Vec::new();
        for index in 0..around.len() {
            let piece = around[(first + index) % around.len()];
            match runs.last_mut() {
                Some(run) if goes_on(&piece) => run.push(piece),
                _ => runs.push(vec![piece]),
            }
        }
        runs
    }
}
