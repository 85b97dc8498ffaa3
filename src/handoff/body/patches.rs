//! Surfaces with the pieces of their boundaries, before these are traced into loops.

use std::collections::BTreeMap;

use super::geometry::{Curve, Frame, Surface, Vec3};
use super::grid::{Point, Shape};
use super::plan::{Plan, PlanCurve};
use crate::part::POINT_ANGLE_DEG;

/// How a boundary bends in the coordinates of its patch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Centre of the circle.
    pub centre: Point,
    /// Whether it runs counter-clockwise.
    pub ccw: bool,
}

/// A piece of a boundary: an edge in the direction that keeps the patch to its left, seen from the air.
///
/// Coordinates lie in the surface, right-handed seen from the air.
#[derive(Clone, Copy, Debug)]
pub struct Half {
    /// Index of the edge, as [`Plan::flat`], [`Plan::upright`] and what comes after them.
    pub edge: usize,
    /// Whether it runs along the edge.
    pub forward: bool,
    /// Start.
    pub a: Point,
    /// End.
    pub b: Point,
    /// On a circle; straight where there is none.
    pub bend: Option<Bend>,
}

/// All that lies on one surface and faces the same way: one face or several.
#[derive(Debug)]
pub struct Patch {
    /// The surface.
    pub surface: Surface,
    /// Whether the surface's own normal points into the air.
    pub same_sense: bool,
    /// Boundaries in any order.
    pub halves: Vec<Half>,
    /// Loops that are known already: holes let into the patch, each with a point within it.
    pub holes: Vec<(Vec<Half>, Point)>,
}

/// An edge that belongs to no line of the plan.
#[derive(Debug)]
pub struct OtherEdge {
    /// Its curve.
    pub curve: Curve,
    /// Index of the corner where it starts.
    pub from: usize,
    /// Index of the corner where it ends.
    pub to: usize,
}

/// A face whose loop is known already: an edge and its direction at a time.
#[derive(Debug)]
pub struct OtherFace {
    /// The surface.
    pub surface: Surface,
    /// Whether the surface's own normal points into the air.
    pub same_sense: bool,
    /// The loop.
    pub around: Vec<(usize, bool)>,
}

/// Everything that faces are made from.
#[derive(Debug, Default)]
pub struct Patches {
    /// Level and upright patches.
    pub patches: Vec<Patch>,
    /// Upright patch of a curve of the plan, by whether it faces to the right of the curve.
    pub upright: BTreeMap<(usize, bool), usize>,
    /// Edges beyond those of the plan.
    pub edges: Vec<OtherEdge>,
    /// Corners beyond those of the plan.
    pub corners: Vec<Vec3>,
    /// Faces beyond those of the patches.
    pub faces: Vec<OtherFace>,
}

impl Patches {
    /// Patches of the plan, drill points included.
    pub fn of(plan: &Plan) -> Patches {
        let mut patches = Patches::default();
        for level in 0..plan.levels.len() {
            for up in [false, true] {
                let patch = level_patch(plan, level, up);
                if !patch.halves.is_empty() {
                    patches.patches.push(patch);
                }
            }
        }
        patches.uprights(plan);
        patches.points(plan);
        patches
    }

    /// A new corner beyond those of the plan: its index.
    pub fn corner(&mut self, plan: &Plan, at: Vec3) -> usize {
        self.corners.push(at);
        plan.other_corners() + self.corners.len() - 1
    }

    /// A new edge beyond those of the plan: its index.
    pub fn edge(&mut self, plan: &Plan, curve: Curve, from: usize, to: usize) -> usize {
        self.edges.push(OtherEdge { curve, from, to });
        plan.other_edges() + self.edges.len() - 1
    }

    fn uprights(&mut self, plan: &Plan) {
        let slabs = plan.levels.len() - 1;
        for (index, edge) in plan.edges.iter().enumerate() {
            for slab in 0..slabs {
                let (left, right) = (
                    plan.profiles[edge.left][slab],
                    plan.profiles[edge.right][slab],
                );
                if left == right {
                    continue;
                }
                // Metal to the left: the face looks to the right of the curve, and runs along it.
                let key = (edge.curve, left);
                let next = self.patches.len();
                let patch = *self.upright.entry(key).or_insert(next);
                if patch == next {
                    let (surface, same_sense) = upright_surface(plan, edge.curve, left);
                    self.patches.push(Patch {
                        surface,
                        same_sense,
                        halves: Vec::new(),
                        holes: Vec::new(),
                    });
                }
                let (start, end) = match left {
                    true => ((edge.from, edge.at.0), (edge.to, edge.at.1)),
                    false => ((edge.to, -edge.at.1), (edge.from, -edge.at.0)),
                };
                let (low, high) = (plan.levels[slab], plan.levels[slab + 1]);
                let corners = [
                    Point::new(start.1, low),
                    Point::new(end.1, low),
                    Point::new(end.1, high),
                    Point::new(start.1, high),
                ];
                let sides = [
                    (plan.flat(index, slab), left),
                    (plan.upright(end.0, slab), true),
                    (plan.flat(index, slab + 1), !left),
                    (plan.upright(start.0, slab), false),
                ];
                let halves = &mut self.patches[patch].halves;
                for (side, (edge, forward)) in sides.into_iter().enumerate() {
                    halves.push(Half {
                        edge,
                        forward,
                        a: corners[side],
                        b: corners[(side + 1) % 4],
                        bend: None,
                    });
                }
            }
        }
        for patch in self.upright.values() {
            cancel(&mut self.patches[*patch].halves);
        }
    }

    /// Drill points: cones below the circles of blind holes.
    fn points(&mut self, plan: &Plan) {
        let mut arcs: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (index, edge) in plan.edges.iter().enumerate() {
            if plan.curves[edge.curve].bottom.is_some() {
                arcs.entry(edge.curve).or_default().push(index);
            }
        }
        for (curve, own) in arcs {
            let PlanCurve {
                shape: Shape::Circle { centre, radius, .. },
                bottom: Some(bottom),
                ..
            } = plan.curves[curve]
            else {
                continue;
            };
            // The seam of the tube above goes on to the point.
            let Some(&first) = own.first() else { continue };
            let rim = plan.corner(plan.edges[first].from, bottom.level);
            let apex = self.corner(plan, Vec3::new(centre.x, centre.y, bottom.apex));
            let seam = self.edge(plan, Curve::Line, rim, apex);
            let arcs = own
                .iter()
                .map(|&edge| (plan.flat(edge, bottom.level), true));
            let around = [(seam, true), (seam, false)].into_iter().chain(arcs);
            let origin = Vec3::new(centre.x, centre.y, plan.levels[bottom.level]);
            self.faces.push(OtherFace {
                surface: Surface::Cone {
                    frame: Frame::new(origin, Vec3::z()),
                    radius,
                    half_angle: (0.5 * POINT_ANGLE_DEG).to_radians(),
                },
                same_sense: false,
                around: around.collect(),
            });
        }
    }
}

/// What is metal below a level and air above it, or the other way round.
fn level_patch(plan: &Plan, level: usize, up: bool) -> Patch {
    let slabs = plan.levels.len() - 1;
    let faces = |profile: usize| {
        let metal = &plan.profiles[profile];
        let below = level > 0 && metal[level - 1];
        let above = level < slabs && metal[level];
        if up { below && !above } else { above && !below }
    };
    // Seen from below, left is right.
    let mirrored = |point: Point| {
        if up {
            point
        } else {
            Point::new(-point.x, point.y)
        }
    };
    let mut halves = Vec::new();
    for (index, edge) in plan.edges.iter().enumerate() {
        let (left, right) = (faces(edge.left), faces(edge.right));
        let bottom = plan.curves[edge.curve].bottom;
        let bottom = bottom.is_some_and(|bottom| bottom.level == level);
        if left == right || bottom {
            continue;
        }
        let forward = left == up;
        let (a, b) = (plan.vertices[edge.from], plan.vertices[edge.to]);
        let (a, b) = if forward { (a, b) } else { (b, a) };
        let bend = match plan.curves[edge.curve].shape {
            Shape::Line { .. } => None,
            Shape::Circle { centre, ccw, .. } => Some(Bend {
                centre: mirrored(centre),
                ccw: (ccw == forward) == up,
            }),
        };
        halves.push(Half {
            edge: plan.flat(index, level),
            forward,
            a: mirrored(a),
            b: mirrored(b),
            bend,
        });
    }
    let axis = if up { Vec3::z() } else { -Vec3::z() };
    Patch {
        surface: Surface::Plane(Frame::new(Vec3::new(0.0, 0.0, plan.levels[level]), axis)),
        same_sense: true,
        halves,
        holes: Vec::new(),
    }
}

/// Surface over a curve of the plan, and whether its normal looks to the wanted side.
fn upright_surface(plan: &Plan, curve: usize, right: bool) -> (Surface, bool) {
    match plan.curves[curve].shape {
        Shape::Line { point, direction } => {
            let normal = Vec3::new(direction.y, -direction.x, 0.0);
            let normal = if right { normal } else { -normal };
            let origin = Vec3::new(point.x, point.y, 0.0);
            (Surface::Plane(Frame::new(origin, normal)), true)
        }
        Shape::Circle {
            centre,
            radius,
            ccw,
        } => {
            let frame = Frame::new(Vec3::new(centre.x, centre.y, 0.0), Vec3::z());
            // Run counter-clockwise, away from the axis is to the right.
            (Surface::Cylinder { frame, radius }, ccw == right)
        }
    }
}

/// Takes out what two neighbouring pieces of a patch share.
fn cancel(halves: &mut Vec<Half>) {
    let mut uses: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, half) in halves.iter().enumerate() {
        uses.entry(half.edge).or_default().push(index);
    }
    let mut gone = vec![false; halves.len()];
    for pair in uses.values().filter(|uses| uses.len() == 2) {
        let (a, b) = (&halves[pair[0]], &halves[pair[1]]);
        // On both sides of a tube's seam the same edge has two places.
        if a.a == b.b && a.b == b.a {
            gone[pair[0]] = true;
            gone[pair[1]] = true;
        }
    }
    let mut gone = gone.into_iter();
    halves.retain(|_| !gone.next().unwrap_or(false));
}
