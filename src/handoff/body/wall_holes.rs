//! Holes of walls and ribs, placed: where their rims lie and which joints of surfaces they run over.

use std::f64::consts::{FRAC_PI_2, TAU};

use super::BodyError;
use super::grid::{Grid, left, nearest};
use super::tube::Tube;
use crate::part::{Depth, Hole, Layout, Part, StripName, drill_point_height_mm};

/// A rim that comes so near to where two surfaces join, in mm, touches the joint.
pub const TOUCH_MM: f64 = 1e-6;

/// Where a rim passes from one chain to the next.
#[derive(Clone, Copy, Debug)]
pub struct Joint {
    /// The chain that it leaves; the next follows.
    pub chain: usize,
    /// Distance from the hole's axis along the path, in mm.
    pub u: f64,
}

/// The rim of a hole on one side of its wall.
#[derive(Clone, Debug)]
pub struct Rim {
    /// Index in [`Grid::rails`].
    pub rail: usize,
    /// Joints that it runs over, along the path.
    pub joints: Vec<Joint>,
    /// First chain that it lies on.
    pub first: usize,
}

/// A hole of a wall or rib, placed.
#[derive(Clone, Debug)]
pub struct WallHole {
    /// The hole.
    pub hole: Hole,
    /// Its number in its row, from 0.
    pub number: usize,
    /// Its station, within the stations of the grid.
    pub station: f64,
    /// Its tube.
    pub tube: Tube,
    /// Rim at low y, unless the hole ends within the wall.
    pub low: Option<Rim>,
    /// Rim at high y, likewise.
    pub high: Option<Rim>,
    /// Bottom (a of the circle, a of the drill point) of a blind hole.
    pub bottom: Option<(f64, f64)>,
    /// Angle of the seam.
    pub seam: f64,
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

pub fn refused(part: &Part, hole: &Hole, number: usize, station_mm: f64) -> BodyError {
    BodyError::Hole {
        row: part.hole_rows[hole.row].name.clone(),
        hole: number + 1,
        station_mm,
    }
}

/// A hole whose rim just touches the joint of two surfaces is moved by so much along the path, in mm: a hundredth of
/// what any drill can place.
const STEP_MM: f64 = 5e-4;

fn place_one(part: &Part, grid: &Grid, hole: &Hole, number: usize) -> Result<WallHole, BodyError> {
    let mut first = None;
    for step in [0.0, STEP_MM, -STEP_MM] {
        match place_at(part, grid, hole, number, hole.station_mm + step) {
            Err(error @ BodyError::Hole { .. }) => first = first.or(Some(error)),
            done => return done,
        }
    }
    Err(first.unwrap_or(BodyError::Nothing))
}

fn place_at(
    part: &Part,
    grid: &Grid,
    hole: &Hole,
    number: usize,
    station: f64,
) -> Result<WallHole, BodyError> {
    let row = &part.hole_rows[hole.row];
    let station = grid.wrapped(station);
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
    let (low, high) = (rim(strip.y_low)?, rim(strip.y_high)?);
    let point = drill_point_height_mm(row.diameter_mm);
    let (low, high, bottom) = match row.depth {
        Depth::Through => (Some(low), Some(high), None),
        Depth::Blind(depth) => {
            let from_high = row.strip == StripName::InnerWall;
            let (near, far, onwards) = match from_high {
                true => (&high, &low, -1.0),
                false => (&low, &high, 1.0),
            };
            let bottom = grid.rails[near.rail] + onwards * depth;
            let apex = bottom + onwards * point;
            if !within(grid, &tube, (near, far), (bottom, apex)) {
                return Err(BodyError::BreaksThrough {
                    name: format!("row {}", row.name),
                    station_mm: station,
                });
            }
            match from_high {
                true => (None, Some(high), Some((bottom, apex))),
                false => (Some(low), None, Some((bottom, apex))),
            }
        }
    };
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

/// Whether the bottom of a blind hole, from its circle to its drill point, lies within the wall.
fn within(grid: &Grid, tube: &Tube, (near, far): (&Rim, &Rim), (bottom, apex): (f64, f64)) -> bool {
    let onwards = (apex - bottom).signum();
    let side = |rim: &Rim, u: f64| {
        let passed = rim.joints.iter().filter(|joint| joint.u < u).count();
        let chain = (rim.first + passed) % grid.chains.len();
        let y = grid.rails[rim.rail];
        tube.side(grid.chains[chain].rail(y), y, u)
    };
    (-16..=16).all(|step| {
        let share = f64::from(step) / 16.0;
        let u = share * tube.radius;
        let cone = apex + (bottom - apex) * share.abs();
        onwards * (side(far, u) - cone) > TOUCH_MM && onwards * (bottom - side(near, u)) > TOUCH_MM
    })
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
pub fn half_height(tube: &Tube, u: f64) -> f64 {
    (tube.radius * tube.radius - u * u).max(0.0).sqrt()
}

/// A part of a rim on one chain.
pub struct Arc {
    /// The chain.
    pub chain: usize,
    /// Where it begins.
    pub from: Stop,
    /// Where it ends.
    pub to: Stop,
}

/// Where arcs of a rim begin and end.
#[derive(Clone, Copy)]
pub struct Stop {
    /// Angle round the tube.
    pub phi: f64,
    /// Index of the joint; `None` at the seam.
    pub joint: Option<usize>,
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
    pub fn arcs(&self, rim: &Rim, chains: usize) -> Vec<Arc> {
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
