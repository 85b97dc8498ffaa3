//! Holes of walls and ribs let into the upright faces.

use std::f64::consts::{FRAC_PI_2, TAU};

use super::BodyError;
use super::geometry::{Curve, Frame, Surface, Vec3};
use super::grid::{Grid, Point, left, nearest};
use super::patches::{Bend, Half, OtherFace, Patches};
use super::plan::{Line, Plan};
use super::tube::Tube;
use crate::part::{Depth, Hole, Layout, POINT_ANGLE_DEG, Part, StripName, drill_point_height_mm};

/// A rim that comes so near to where two surfaces join, in mm, touches the joint.
const TOUCH_MM: f64 = 1e-6;

/// Where a rim passes from one chain to the next.
#[derive(Clone, Copy, Debug)]
struct Joint {
    /// The chain that it leaves; the next follows.
    chain: usize,
    /// Distance from the hole's axis along the path, in mm.
    u: f64,
}

/// The rim of a hole on one side of its wall.
#[derive(Clone, Debug)]
struct Rim {
    /// Index in [`Grid::rails`].
    rail: usize,
    /// Joints that it runs over, along the path.
    joints: Vec<Joint>,
    /// First chain that it lies on.
    first: usize,
}

/// A hole of a wall or rib, placed.
#[derive(Clone, Debug)]
pub struct WallHole {
    hole: Hole,
    number: usize,
    station: f64,
    tube: Tube,
    /// Rim at low y, unless the hole ends within the wall.
    low: Option<Rim>,
    /// Rim at high y, likewise.
    high: Option<Rim>,
    /// Bottom (a of the circle, a of the drill point) of a blind hole.
    bottom: Option<(f64, f64)>,
    /// Angle of the seam.
    seam: f64,
}

/// Every hole of a wall or rib.
pub fn place(part: &Part, layout: &Layout, grid: &Grid) -> Result<Vec<WallHole>, BodyError> {
    let mut placed = Vec::new();
    for (index, row) in part.hole_rows.iter().enumerate() {
        if row.strip == StripName::Floor {
            continue;
        }
        let own = layout.holes.iter().filter(|hole| hole.row == index);
        for (number, hole) in own.enumerate() {
            placed.push(place_one(part, grid, hole, number)?);
        }
    }
    Ok(placed)
}

fn refused(part: &Part, hole: &Hole, number: usize, station_mm: f64) -> BodyError {
    BodyError::Hole {
        row: part.hole_rows[hole.row].name.clone(),
        hole: number + 1,
        station_mm,
    }
}

fn place_one(part: &Part, grid: &Grid, hole: &Hole, number: usize) -> Result<WallHole, BodyError> {
    let row = &part.hole_rows[hole.row];
    let station = grid.wrapped(hole.station_mm);
    let refuse = || refused(part, hole, number, station);
    let strip = grid.strips[0]
        .iter()
        .find(|strip| strip.name == row.strip)
        .ok_or_else(refuse)?;
    let chain = grid.columns[grid.column_at(station)].chain;
    let tube = Tube::new(
        grid.chains[chain].pose(station),
        hole.across_mm,
        0.5 * row.diameter_mm,
    );
    let rim =
        |y: f64| rim(grid, &tube, (chain, station), nearest(&grid.rails, y)).ok_or_else(refuse);
    let from_high = row.strip == StripName::InnerWall;
    let point = drill_point_height_mm(row.diameter_mm);
    let (low, high, bottom) = match row.depth {
        Depth::Through => (Some(rim(strip.y_low)?), Some(rim(strip.y_high)?), None),
        Depth::Blind(depth) if from_high => {
            let bottom = strip.y_high - depth;
            (
                None,
                Some(rim(strip.y_high)?),
                Some((bottom, bottom - point)),
            )
        }
        Depth::Blind(depth) => {
            let bottom = strip.y_low + depth;
            (
                Some(rim(strip.y_low)?),
                None,
                Some((bottom, bottom + point)),
            )
        }
    };
    if let Some((bottom, apex)) = bottom {
        let (near, far) = match from_high {
            true => (strip.y_high, strip.y_low),
            false => (strip.y_low, strip.y_high),
        };
        let sign = (far - near).signum();
        let whole = (0..=16).all(|step| {
            let share = f64::from(step) / 16.0;
            let cone = apex + (bottom - apex) * share;
            [-1.0, 1.0].into_iter().all(|side| {
                let u = side * share * tube.radius;
                let on = |y: f64| {
                    let shape = grid.chains[chain].rail(y);
                    tube.side(shape, y, u)
                };
                sign * (on(far) - cone) > TOUCH_MM && sign * (bottom - on(near)) > TOUCH_MM
            })
        });
        if !whole {
            return Err(BodyError::BreaksThrough {
                name: format!("row {}", row.name),
                station_mm: station,
            });
        }
    }
    let mut placed = WallHole {
        hole: *hole,
        number,
        station,
        tube,
        low,
        high,
        bottom,
        seam: 0.0,
    };
    placed.seam = placed.clear_seam();
    Ok(placed)
}

/// The rim on a rail: which joints of chains it runs over. `None` where it runs over an open end or just touches.
fn rim(grid: &Grid, tube: &Tube, (chain, station): (usize, f64), rail: usize) -> Option<Rim> {
    let count = grid.chains.len();
    let y = grid.rails[rail];
    let shape = grid.chains[chain].rail(y);
    if ![-tube.radius, tube.radius]
        .into_iter()
        .all(|u| tube.side(shape, y, u).is_finite())
    {
        return None;
    }
    let joint = |chain: usize| {
        let each = &grid.chains[chain];
        let at = left(each.pose(each.to), y);
        Joint {
            chain,
            u: (at - tube.centre).dot(&tube.along),
        }
    };
    let touches = |u: f64| (u.abs() - tube.radius).abs() < TOUCH_MM;
    let mut joints = Vec::new();
    let mut first = chain;
    // Backwards to the chain where the rim begins. Beyond a quarter turn the path comes back to the same `u`.
    let each = &grid.chains[chain];
    let mut turned = (station - each.from) * each.curvature.abs();
    while turned < FRAC_PI_2 {
        let before = match (first, grid.closed) {
            (0, false) => {
                let start = left(grid.chains[0].start, y);
                let u = (start - tube.centre).dot(&tube.along);
                if u > -tube.radius - TOUCH_MM {
                    return None;
                }
                break;
            }
            _ => (first + count - 1) % count,
        };
        let back = joint(before);
        if touches(back.u) || joints.len() > count {
            return None;
        }
        if back.u < -tube.radius || back.u > tube.radius {
            break;
        }
        joints.insert(0, back);
        first = before;
        let each = &grid.chains[before];
        turned += (each.to - each.from) * each.curvature.abs();
    }
    let mut last = chain;
    let mut turned = (each.to - station) * each.curvature.abs();
    while turned < FRAC_PI_2 {
        let next = joint(last);
        if last + 1 == count && !grid.closed && next.u < tube.radius + TOUCH_MM {
            return None;
        }
        if touches(next.u) || joints.len() > count {
            return None;
        }
        if next.u > tube.radius || next.u < -tube.radius {
            break;
        }
        joints.push(next);
        last = (last + 1) % count;
        let each = &grid.chains[last];
        turned += (each.to - each.from) * each.curvature.abs();
    }
    Some(Rim {
        rail,
        joints,
        first,
    })
}

/// Heights where rims run over joints.
pub fn levels(holes: &[WallHole]) -> Vec<f64> {
    holes
        .iter()
        .flat_map(|hole| {
            let tube = hole.tube;
            let joints = hole
                .low
                .iter()
                .chain(&hole.high)
                .flat_map(|rim| &rim.joints);
            joints.flat_map(move |joint| {
                let half = half_height(&tube, joint.u);
                [tube.height - half, tube.height + half]
            })
        })
        .collect()
}

/// Half the height of a tube at a distance from its axis.
fn half_height(tube: &Tube, u: f64) -> f64 {
    (tube.radius * tube.radius - u * u).max(0.0).sqrt()
}

/// A part of a rim on one chain.
struct Arc {
    chain: usize,
    from: Stop,
    to: Stop,
}

/// Where arcs of a rim begin and end.
#[derive(Clone, Copy)]
struct Stop {
    phi: f64,
    /// Index of the joint; `None` at the seam.
    joint: Option<usize>,
}

impl WallHole {
    /// An angle far from every joint: there the seam runs.
    fn clear_seam(&self) -> f64 {
        let mut angles: Vec<f64> = self
            .low
            .iter()
            .chain(&self.high)
            .flat_map(|rim| &rim.joints)
            .flat_map(|joint| {
                let phi = (joint.u / self.tube.radius).acos();
                [phi, TAU - phi]
            })
            .collect();
        angles.sort_by(f64::total_cmp);
        let count = angles.len();
        let gaps = (0..count).map(|index| {
            let to = angles[(index + 1) % count] + if index + 1 == count { TAU } else { 0.0 };
            (to - angles[index], 0.5 * (to + angles[index]))
        });
        let widest = gaps.max_by(|a, b| a.0.total_cmp(&b.0));
        widest.map_or(0.0, |widest| widest.1)
    }

    /// Arcs of a rim in order of the angle from the seam round to it.
    fn arcs(&self, rim: &Rim, chains: usize) -> Vec<Arc> {
        let mut stops: Vec<Stop> = Vec::new();
        for (index, joint) in rim.joints.iter().enumerate() {
            let phi = (joint.u / self.tube.radius).acos();
            stops.extend([phi, -phi].map(|phi| Stop {
                phi: self.seam + (phi - self.seam).rem_euclid(TAU),
                joint: Some(index),
            }));
        }
        stops.sort_by(|a, b| a.phi.total_cmp(&b.phi));
        stops.insert(
            0,
            Stop {
                phi: self.seam,
                joint: None,
            },
        );
        stops.push(Stop {
            phi: self.seam + TAU,
            joint: None,
        });
        let arc = |ends: &[Stop]| {
            let u = self.tube.radius * (0.5 * (ends[0].phi + ends[1].phi)).cos();
            let passed = rim.joints.iter().filter(|joint| joint.u < u).count();
            Arc {
                chain: (rim.first + passed) % chains,
                from: ends[0],
                to: ends[1],
            }
        };
        stops.windows(2).map(arc).collect()
    }
}

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
        let whole = |edge: &super::plan::PlanEdge| {
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
        debug_assert!(matches!(self.plan.curves[curve].line, Line::Rail { .. }));
        (inside && met > to - from - 1e-9).then_some(())
    }
}
