//! Holes of walls and ribs let into the upright faces.

use super::BodyError;
use super::geometry::{Curve, Frame, Surface, Vec3};
use super::grid::{Grid, Point, nearest};
use super::patches::{Bend, Half, OtherFace, Patches};
use super::plan::{Plan, PlanEdge};
use super::wall_holes::{Joint, Rim, Stop, TOUCH_MM, WallHole, half_height, refused};
use crate::part::{POINT_ANGLE_DEG, Part};

/// All wall holes, let into the patches.
pub fn cut(
    part: &Part,
    grid: &Grid,
    plan: &Plan,
    holes: &[WallHole],
    patches: &mut Patches,
) -> Result<(), BodyError> {
    let mut on_curve: Vec<Vec<usize>> = vec![Vec::new(); plan.curves.len()];
    for (index, edge) in plan.edges.iter().enumerate() {
        on_curve[edge.curve].push(index);
    }
    for hole in holes {
        let mut cutter = Cutter {
            grid,
            plan,
            on_curve: &on_curve,
            patches,
            hole,
        };
        cutter
            .drill()
            .ok_or_else(|| refused(part, &hole.hole, hole.number, hole.station))?;
    }
    Ok(())
}

/// One hole and what it is cut into. `None` from its functions: the hole breaks over a border.
struct Cutter<'a> {
    grid: &'a Grid,
    plan: &'a Plan,
    on_curve: &'a [Vec<usize>],
    patches: &'a mut Patches,
    hole: &'a WallHole,
}

impl Cutter<'_> {
    fn drill(&mut self) -> Option<()> {
        let hole = self.hole;
        let tube = hole.tube;
        let mut ends = Vec::with_capacity(2);
        for (rim, is_low) in [(&hole.low, true), (&hole.high, false)] {
            ends.push(match rim {
                Some(rim) => self.rim(rim, is_low)?,
                None => self.bottom()?,
            });
        }
        let [(low, low_seam), (high, high_seam)] = [ends[0].clone(), ends[1].clone()];
        let seam = self
            .patches
            .edge(self.plan, Curve::Line, low_seam, high_seam);
        let around = low
            .iter()
            .map(|&edge| (edge, true))
            .chain([(seam, true)])
            .chain(high.iter().rev().map(|&edge| (edge, false)))
            .chain([(seam, false)])
            .collect();
        self.patches.faces.push(OtherFace {
            surface: Surface::Cylinder {
                frame: Frame::new(tube.point(0.0, 0.0, tube.height), tube.axis()),
                radius: tube.radius,
            },
            same_sense: false,
            around,
        });
        Some(())
    }

    /// Circle and cone at the end of a blind hole: the circle's edge and its corner at the seam.
    fn bottom(&mut self) -> Option<(Vec<usize>, usize)> {
        let hole = self.hole;
        let tube = hole.tube;
        let (bottom, apex) = hole.bottom?;
        let (sin, cos) = hole.seam.sin_cos();
        let start = tube.point(tube.radius * cos, bottom, tube.height + tube.radius * sin);
        let start = self.patches.corner(self.plan, start);
        let tip = self
            .patches
            .corner(self.plan, tube.point(0.0, apex, tube.height));
        let circle = self
            .patches
            .edge(self.plan, tube.circle(bottom), start, start);
        let seam = self.patches.edge(self.plan, Curve::Line, start, tip);
        // The cone lies beyond the circle: forward where the drill came from low y.
        let onwards = apex > bottom;
        let axis = if onwards { -tube.axis() } else { tube.axis() };
        self.patches.faces.push(OtherFace {
            surface: Surface::Cone {
                frame: Frame::new(tube.point(0.0, bottom, tube.height), axis),
                radius: tube.radius,
                half_angle: (0.5 * POINT_ANGLE_DEG).to_radians(),
            },
            same_sense: false,
            around: vec![(seam, true), (seam, false), (circle, onwards)],
        });
        Some((vec![circle], start))
    }

    /// A rim let into its faces: its edges in order of the angle, and its corner at the seam.
    fn rim(&mut self, rim: &Rim, is_low: bool) -> Option<(Vec<usize>, usize)> {
        let hole = self.hole;
        let tube = hole.tube;
        let rails = self.grid.rails.len();
        let y = self.grid.rails[rim.rail];
        let chains = self.grid.chains.len();
        let arcs = hole.arcs(rim, chains);
        let on = |phi: f64, chain: usize| {
            let (sin, cos) = phi.sin_cos();
            let u = tube.radius * cos;
            let a = tube.side(self.grid.chains[chain].rail(y), y, u);
            tube.point(u, a, tube.height + tube.radius * sin)
        };
        let seam_at = on(hole.seam, arcs[0].chain);
        let seam = self.patches.corner(self.plan, seam_at);
        let mut edges = Vec::with_capacity(arcs.len());
        for arc in &arcs {
            self.covered(rim, arc.chain, is_low)?;
            let shape = self.grid.chains[arc.chain].rail(y);
            let curve = tube.rim(shape, y, arc.from.phi, arc.to.phi);
            let corner = |stop: Stop| match stop.joint {
                None => seam,
                Some(joint) => {
                    let chain = rim.joints[joint].chain;
                    let z = tube.height + tube.radius * stop.phi.sin();
                    let vertex = self.joint_vertex(chain, rim.rail);
                    self.plan.corner(vertex, self.plan.level(z))
                }
            };
            let (from, to) = (corner(arc.from), corner(arc.to));
            let edge = self.patches.edge(self.plan, curve, from, to);
            edges.push(edge);
            let patch = *self
                .patches
                .upright
                .get(&(arc.chain * rails + rim.rail, is_low))?;
            let middle = 0.5 * (self.grid.chains[arc.chain].from + self.grid.chains[arc.chain].to);
            let sign = if is_low { 1.0 } else { -1.0 };
            let in_patch = |point: Vec3| {
                let plan = Point::new(point.x, point.y);
                let (s, _) = self.grid.chains[arc.chain].place(plan, middle);
                Point::new(sign * s, point.z)
            };
            let centre = in_patch(tube.point(0.0, y, tube.height));
            let place = |stop: Stop| match stop.joint {
                None => in_patch(seam_at),
                Some(joint) => {
                    let chain = &self.grid.chains[arc.chain];
                    // The joint lies at the end of the chain before it and at the start of the one after.
                    let s = match rim.joints[joint].chain == arc.chain {
                        true => chain.to,
                        false => chain.from,
                    };
                    let level = self.plan.level(tube.height + tube.radius * stop.phi.sin());
                    Point::new(sign * s, self.plan.levels[level])
                }
            };
            // The wall's face keeps to the left, so it runs round the hole clockwise: on the low side against the
            // angle, on the high side, seen from there, along it.
            let (a, b) = match is_low {
                true => (place(arc.to), place(arc.from)),
                false => (place(arc.from), place(arc.to)),
            };
            let half = Half {
                edge,
                forward: !is_low,
                a,
                b,
                bend: Some(Bend { centre, ccw: false }),
            };
            if rim.joints.is_empty() {
                self.patches.patches[patch].holes.push((vec![half], centre));
            } else {
                self.patches.patches[patch].halves.push(half);
            }
        }
        for joint in &rim.joints {
            self.open(rim, *joint, is_low)?;
        }
        Some((edges, seam))
    }

    /// Plan vertex of a rail at the end of a chain.
    fn joint_vertex(&self, chain: usize, rail: usize) -> usize {
        let to = self.grid.chains[chain].to;
        let count = self.grid.columns.len();
        let mut station = nearest(&self.grid.stations, to);
        if self.grid.closed && station == count {
            station = 0;
        }
        station * self.grid.rails.len() + rail
    }

    /// Takes the part of the line between two chains that lies within the hole out of both faces.
    fn open(&mut self, rim: &Rim, joint: Joint, is_low: bool) -> Option<()> {
        let tube = self.hole.tube;
        let rails = self.grid.rails.len();
        let half = half_height(&tube, joint.u);
        let vertex = self.joint_vertex(joint.chain, rim.rail);
        let (from, to) = (
            self.plan.level(tube.height - half),
            self.plan.level(tube.height + half),
        );
        for chain in [joint.chain, (joint.chain + 1) % self.grid.chains.len()] {
            let patch = *self
                .patches
                .upright
                .get(&(chain * rails + rim.rail, is_low))?;
            let halves = &mut self.patches.patches[patch].halves;
            for slab in from..to {
                let edge = self.plan.upright(vertex, slab);
                let found = halves.iter().position(|half| half.edge == edge)?;
                halves.remove(found);
            }
        }
        Some(())
    }

    /// Whether the wall's face is whole wherever the rim lies on a chain.
    fn covered(&self, rim: &Rim, chain: usize, is_low: bool) -> Option<()> {
        let tube = self.hole.tube;
        let y = self.grid.rails[rim.rail];
        let each = &self.grid.chains[chain];
        let curve = chain * self.grid.rails.len() + rim.rail;
        let middle = 0.5 * (each.from + each.to);
        let end = |u: f64| {
            let point = tube.point(u, tube.side(each.rail(y), y, u), 0.0);
            each.place(Point::new(point.x, point.y), middle).0
        };
        let joint_at = |before: usize| {
            let chains = self.grid.chains.len();
            rim.joints
                .iter()
                .any(|joint| (joint.chain + before) % chains == chain)
        };
        let from = if joint_at(1) {
            each.from
        } else {
            end(-tube.radius) - TOUCH_MM
        };
        let to = if joint_at(0) {
            each.to
        } else {
            end(tube.radius) + TOUCH_MM
        };
        let (low, high) = (
            tube.height - tube.radius - TOUCH_MM,
            tube.height + tube.radius + TOUCH_MM,
        );
        let whole = |edge: &PlanEdge| {
            let (metal, air) = match is_low {
                true => (edge.left, edge.right),
                false => (edge.right, edge.left),
            };
            self.plan.full(metal, low, high) && self.plan.empty(air, low, high)
        };
        let met: f64 = self.on_curve[curve]
            .iter()
            .map(|&index| &self.plan.edges[index])
            .filter(|edge| whole(edge))
            .map(|edge| (to.min(edge.at.1) - from.max(edge.at.0)).max(0.0))
            .sum();
        let inside = self.plan.levels.first()? < &low && &high < self.plan.levels.last()?;
        (inside && met > to - from - 1e-9).then_some(())
    }
}
