//! One face into triangles.

use std::collections::VecDeque;
use std::f64::consts::TAU;

use spade::handles::FixedVertexHandle;
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

use super::super::body::{Body, Frame, Surface, Use};
use super::{Mesh, step};

/// A place in a face's own coordinates: in its plane, or unrolled.
type Place = Point2<f64>;

/// A corner of the triangulation.
#[derive(Clone, Copy)]
struct Corner {
    place: Place,
    point: usize,
}

impl spade::HasPosition for Corner {
    type Scalar = f64;
    fn position(&self) -> Place {
        self.place
    }
}

type Delaunay = ConstrainedDelaunayTriangulation<Corner>;

impl Mesh {
    /// Triangles of a face. `None` where chords of its boundary cross.
    pub(super) fn face(&mut self, body: &Body, index: usize, edges: &[Vec<usize>]) -> Option<()> {
        let face = &body.faces[index];
        let loops: Vec<Vec<usize>> = face
            .loops
            .iter()
            .map(|around| around.iter().flat_map(|each| along(each, edges)).collect())
            .collect();
        match &face.surface {
            Surface::Cone { .. } => {
                self.fan(&loops[0], body, face.loops[0][0]);
                Some(())
            }
            Surface::Plane(frame) => {
                let flat = |points: &Vec<usize>| {
                    points
                        .iter()
                        .map(|&point| {
                            let from = self.points[point] - frame.origin;
                            Corner {
                                place: Place::new(
                                    from.dot(&frame.across),
                                    from.dot(&frame.third()),
                                ),
                                point,
                            }
                        })
                        .collect()
                };
                let loops: Vec<Vec<Corner>> = loops.iter().map(flat).collect();
                let delaunay = triangulated(&loops)?;
                self.take(&delaunay, face.same_sense);
                Some(())
            }
            Surface::Cylinder { frame, radius } => {
                let loops = self.unrolled(&loops, frame, *radius);
                let mut delaunay = triangulated(&loops)?;
                self.refine(&mut delaunay, frame, *radius)?;
                self.take(&delaunay, face.same_sense);
                Some(())
            }
        }
    }

    /// A cone: its rim's points with its point. The first two uses of the loop are the seam, there and back.
    fn fan(&mut self, around: &[usize], body: &Body, seam: Use) {
        let apex = body.ends(&seam).1;
        let rim: Vec<usize> = around
            .iter()
            .copied()
            .filter(|&point| point != apex)
            .collect();
        // The seam's start stands twice: before the seam and after it.
        let rim = &rim[1..];
        for (index, &point) in rim.iter().enumerate() {
            let next = rim[(index + 1) % rim.len()];
            self.triangles.push([point, next, apex]);
        }
    }

    /// Loops on a cylinder unrolled: arc length against height, every loop within the outer one's range.
    fn unrolled(&self, loops: &[Vec<usize>], frame: &Frame, radius: f64) -> Vec<Vec<Corner>> {
        let mut range: Option<(f64, f64)> = None;
        let mut all = Vec::with_capacity(loops.len());
        for around in loops {
            let mut angles: Vec<(f64, f64)> = Vec::with_capacity(around.len());
            for &point in around {
                let (angle, _, height) = frame.polar(&self.points[point]);
                let near = angles.last().map_or(angle, |last: &(f64, f64)| last.0);
                angles.push((angle + ((near - angle) / TAU).round() * TAU, height));
            }
            let low = angles.iter().fold(f64::INFINITY, |low, at| low.min(at.0));
            let high = angles
                .iter()
                .fold(f64::NEG_INFINITY, |high, at| high.max(at.0));
            let (from, to) = *range.get_or_insert((low, high));
            let shift = ((0.5 * (from + to) - 0.5 * (low + high)) / TAU).round() * TAU;
            all.push(
                angles
                    .iter()
                    .zip(around)
                    .map(|(&(angle, height), &point)| Corner {
                        place: Place::new((angle + shift) * radius, height),
                        point,
                    })
                    .collect(),
            );
        }
        all
    }

    /// Inner points on a cylinder until no triangle spans more than the step.
    fn refine(&mut self, delaunay: &mut Delaunay, frame: &Frame, radius: f64) -> Option<()> {
        let most = step(radius, self.chord_mm) * radius * (1.0 + 1e-6);
        let fixed = delaunay.num_constraints();
        loop {
            let inside = inside(delaunay);
            let mut wanted: Vec<Place> = Vec::new();
            for edge in delaunay.undirected_edges() {
                let half = edge.as_directed();
                if edge.is_constraint_edge() || !inside[half.face().fix().index()] {
                    continue;
                }
                let [a, b] = edge.positions();
                if (a.x - b.x).abs() > most {
                    wanted.push(Place::new(0.5 * (a.x + b.x), 0.5 * (a.y + b.y)));
                }
            }
            if wanted.is_empty() {
                return Some(());
            }
            for place in wanted {
                let angle = place.x / radius;
                self.points
                    .push(frame.origin + frame.outward(angle) * radius + frame.axis * place.y);
                let point = self.points.len() - 1;
                delaunay.insert(Corner { place, point }).ok()?;
            }
            if delaunay.num_constraints() != fixed {
                return None;
            }
        }
    }

    /// The triangles within the boundary, facing as the face does.
    fn take(&mut self, delaunay: &Delaunay, same_sense: bool) {
        let inside = inside(delaunay);
        for face in delaunay.inner_faces() {
            if !inside[face.fix().index()] {
                continue;
            }
            let [a, b, c] = face.vertices().map(|vertex| vertex.data().point);
            self.triangles
                .push(if same_sense { [a, b, c] } else { [a, c, b] });
        }
    }
}

/// Points of a use, its end left out.
fn along(each: &Use, edges: &[Vec<usize>]) -> Vec<usize> {
    let points = &edges[each.edge];
    let mut points: Vec<usize> = match each.forward {
        true => points.clone(),
        false => points.iter().rev().copied().collect(),
    };
    points.pop();
    points
}

/// Delaunay triangulation that keeps all boundaries. `None` where they cross.
fn triangulated(loops: &[Vec<Corner>]) -> Option<Delaunay> {
    let mut delaunay = Delaunay::new();
    let mut handles: Vec<Vec<FixedVertexHandle>> = Vec::with_capacity(loops.len());
    for around in loops {
        let mut own = Vec::with_capacity(around.len());
        for &corner in around {
            own.push(delaunay.insert(corner).ok()?);
        }
        handles.push(own);
    }
    for own in &handles {
        for (index, &from) in own.iter().enumerate() {
            let to = own[(index + 1) % own.len()];
            if from == to || !delaunay.can_add_constraint(from, to) {
                return None;
            }
            delaunay.add_constraint(from, to);
        }
    }
    Some(delaunay)
}

/// Which faces of a triangulation lie within its boundaries: an odd number of boundaries away from the outside.
fn inside(delaunay: &Delaunay) -> Vec<bool> {
    let mut inside = vec![false; delaunay.num_all_faces()];
    let mut seen = vec![false; delaunay.num_all_faces()];
    let outer = delaunay.outer_face().fix();
    seen[outer.index()] = true;
    let mut next = VecDeque::new();
    for edge in delaunay.convex_hull() {
        next.push_back(edge.fix());
    }
    // Edges that lead from a known face to another.
    while let Some(edge) = next.pop_front() {
        let edge = delaunay.directed_edge(edge);
        let (here, there) = (edge.face().fix(), edge.rev().face().fix());
        let (here, there, edge) = match (seen[here.index()], seen[there.index()]) {
            (true, false) => (here, there, edge.rev()),
            (false, true) => (there, here, edge),
            _ => continue,
        };
        seen[there.index()] = true;
        inside[there.index()] = inside[here.index()] != edge.is_constraint_edge();
        next.push_back(edge.next().fix());
        next.push_back(edge.prev().fix());
    }
    inside
}
