//! The pattern of quadrilaterals around a hole, between its circle and a rectangle of the grid.
//!
//! The pattern lies in the plane (s, t): s along the path, t across the frame for holes along the tool axis,
//! upward for holes across it. Rays run from the circle to the grid's points on the rectangle.

use std::f64::consts::PI;

/// Which part of the hole lies in the slab.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Share {
    /// The half after its centre plane, which is the slab's first.
    Start,
    /// All.
    Whole,
    /// The half before its centre plane, which is the slab's last.
    End,
}

/// A ray from the circle to the rectangle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ray {
    /// Half-indices of the grid's point on the rectangle.
    pub grid: (usize, usize),
    /// Angle on the circle from the path's direction toward t, in rad.
    pub angle: f64,
}

/// A sector between three rays (ends and middle).
#[derive(Clone, Copy, Debug)]
pub(super) struct Sector {
    /// The rays, counter-clockwise.
    pub rays: [usize; 3],
    /// Cell of the grid across the path that the sector's outer side belongs to.
    pub cell: usize,
}

/// Rays and sectors of a hole.
#[derive(Clone, Debug)]
pub(super) struct Pattern {
    pub rays: Vec<Ray>,
    pub sectors: Vec<Sector>,
    /// Places of the core's nodes, half-indexed from the rectangle's first lines: row by row along the path.
    core: Vec<(f64, f64)>,
    /// Nodes of the core along the path.
    core_wide: usize,
}

/// Distance of the core's corners from the hole's axis, as a share of the radius.
const CORE: f64 = 0.6;
/// The same in the hole's centre plane, where two halves meet that know nothing of each other.
const CORE_SIDE: f64 = 0.48;

/// The rectangle in cells of the grid and the places of its lines from the hole's centre.
pub(super) struct Rectangle<'a> {
    pub share: Share,
    /// First and last line along the path.
    pub s: (usize, usize),
    /// First and last line across.
    pub t: (usize, usize),
    /// Places of all lines along the path, measured from the hole's centre.
    pub s_lines: &'a [f64],
    /// Places of all lines across, measured from the hole's centre.
    pub t_lines: &'a [f64],
    /// Lines across that must be met by a ray along the path: (line, angle of the circle there, 0 to a right
    /// angle either way).
    pub straight: &'a [(usize, f64)],
}

impl Pattern {
    pub fn new(rectangle: &Rectangle<'_>) -> Pattern {
        let (i0, i1) = rectangle.s;
        let (j0, j1) = rectangle.t;
        // Corners counter-clockwise from the start of the loop.
        let corners: Vec<(usize, usize)> = match rectangle.share {
            Share::Start => vec![(i0, j0), (i1, j0), (i1, j1), (i0, j1)],
            Share::Whole => vec![(i0, j0), (i1, j0), (i1, j1), (i0, j1), (i0, j0)],
            Share::End => vec![(i1, j1), (i0, j1), (i0, j0), (i1, j0)],
        };
        let mut grid = vec![(2 * corners[0].0, 2 * corners[0].1)];
        let mut cells = Vec::new();
        for pair in corners.windows(2) {
            let (mut i, mut j) = pair[0];
            while (i, j) != pair[1] {
                let (next_i, next_j) = (toward(i, pair[1].0), toward(j, pair[1].1));
                cells.push(if i == next_i {
                    j.min(next_j)
                } else if j == j0 {
                    j0
                } else {
                    j1 - 1
                });
                grid.push((i + next_i, j + next_j));
                grid.push((2 * next_i, 2 * next_j));
                (i, j) = (next_i, next_j);
            }
        }
        let angles = angles(rectangle, &corners, &grid);
        let core = core(rectangle, &corners, &grid, &angles);
        let whole = rectangle.share == Share::Whole;
        if whole {
            grid.pop();
        }
        let count = grid.len();
        Pattern {
            rays: grid
                .into_iter()
                .zip(angles)
                .map(|(grid, angle)| Ray { grid, angle })
                .collect(),
            sectors: cells
                .into_iter()
                .enumerate()
                .map(|(at, cell)| Sector {
                    rays: [2 * at, 2 * at + 1, (2 * at + 2) % count],
                    cell,
                })
                .collect(),
            core,
            core_wide: 2 * (i1 - i0) + 1,
        }
    }

    /// Place of a core's node from the hole's axis, in radii.
    pub fn core(&self, a: usize, b: usize) -> (f64, f64) {
        self.core[a + self.core_wide * b]
    }
}

/// Nodes of a grid that fills the hole's inside: its sides bulge between the corners, the inside follows them
/// (bilinearly blended interpolation, Coons 1967, from memory).
fn core(
    rectangle: &Rectangle<'_>,
    corners: &[(usize, usize)],
    grid: &[(usize, usize)],
    angles: &[f64],
) -> Vec<(f64, f64)> {
    let (wide, high) = (
        2 * (rectangle.s.1 - rectangle.s.0),
        2 * (rectangle.t.1 - rectangle.t.0),
    );
    let mut nodes = vec![(0.0, 0.0); (wide + 1) * (high + 1)];
    let index =
        |(i, j): (usize, usize)| (i - 2 * rectangle.s.0) + (wide + 1) * (j - 2 * rectangle.t.0);
    let mut from = 0;
    for pair in corners.windows(2) {
        let steps = pair[0].0.abs_diff(pair[1].0) + pair[0].1.abs_diff(pair[1].1);
        let to = from + 2 * steps;
        let end = |at: usize| {
            let split = rectangle.share != Share::Whole && (at == 0 || at == grid.len() - 1);
            (angles[at], if split { CORE_SIDE } else { CORE })
        };
        for at in from..=to {
            nodes[index(grid[at])] = bulge(end(from), end(to), angles[at]);
        }
        from = to;
    }
    if rectangle.share != Share::Whole {
        let i = if rectangle.share == Share::Start {
            0
        } else {
            wide
        };
        let (low, top) = (nodes[i].1, nodes[i + (wide + 1) * high].1);
        let (t0, t1) = (
            rectangle.t_lines[rectangle.t.0],
            rectangle.t_lines[rectangle.t.1],
        );
        for b in 1..high {
            let line = rectangle.t.0 + b / 2;
            let next = rectangle.t.0 + b.div_ceil(2);
            let t = 0.5 * (rectangle.t_lines[line] + rectangle.t_lines[next]);
            nodes[i + (wide + 1) * b] = (0.0, low + (top - low) * (t - t0) / (t1 - t0));
        }
    }
    blend(&mut nodes, wide, high);
    nodes
}

/// Point of the core's side between two ends (angle, radius) at an angle, in radii: between chord and arc.
fn bulge(first: (f64, f64), last: (f64, f64), angle: f64) -> (f64, f64) {
    let share = (angle - first.0) / (last.0 - first.0);
    let radius = (1.0 - share) * first.1 + share * last.1;
    let mix = |at: fn(f64) -> f64| {
        let chord = (1.0 - share) * first.1 * at(first.0) + share * last.1 * at(last.0);
        0.7 * chord + 0.3 * radius * at(angle)
    };
    (mix(f64::cos), mix(f64::sin))
}

/// Inner nodes from those of the sides.
fn blend(nodes: &mut [(f64, f64)], wide: usize, high: usize) {
    let at = |a: usize, b: usize| a + (wide + 1) * b;
    for b in 1..high {
        for a in 1..wide {
            let (x, y) = (a as f64 / wide as f64, b as f64 / high as f64);
            let mix = |pick: fn(&(f64, f64)) -> f64| {
                let node = |a: usize, b: usize| pick(&nodes[at(a, b)]);
                let sides = (1.0 - y) * node(a, 0)
                    + y * node(a, high)
                    + (1.0 - x) * node(0, b)
                    + x * node(wide, b);
                let corners = (1.0 - x) * (1.0 - y) * node(0, 0)
                    + x * (1.0 - y) * node(wide, 0)
                    + (1.0 - x) * y * node(0, high)
                    + x * y * node(wide, high);
                sides - corners
            };
            nodes[at(a, b)] = (mix(|node| node.0), mix(|node| node.1));
        }
    }
}

fn toward(from: usize, to: usize) -> usize {
    match from.cmp(&to) {
        std::cmp::Ordering::Less => from + 1,
        std::cmp::Ordering::Equal => from,
        std::cmp::Ordering::Greater => from - 1,
    }
}

/// Angles of the rays: halfway between that of the point on the rectangle as seen from the centre and an even
/// share of the side, in order; middles halfway between their neighbours.
fn angles(
    rectangle: &Rectangle<'_>,
    corners: &[(usize, usize)],
    grid: &[(usize, usize)],
) -> Vec<f64> {
    let place = |i: usize, j: usize| (rectangle.s_lines[i], rectangle.t_lines[j]);
    // Starts at -90 or +90 degrees for halves, so that the loop is unwrapped from there.
    let mut last = match rectangle.share {
        Share::Start => -0.5 * PI,
        Share::End => 0.5 * PI,
        Share::Whole => {
            let (s, t) = place(corners[0].0, corners[0].1);
            t.atan2(s)
        }
    };
    let mut polar = |i: usize, j: usize| {
        let (s, t) = place(i, j);
        let mut angle = t.atan2(s);
        while angle < last - PI {
            angle += 2.0 * PI;
        }
        while angle > last + PI {
            angle -= 2.0 * PI;
        }
        last = angle;
        angle
    };
    let ends: Vec<(usize, usize)> = grid.iter().step_by(2).map(|g| (g.0 / 2, g.1 / 2)).collect();
    let seen: Vec<f64> = ends.iter().map(|&(i, j)| polar(i, j)).collect();
    let mut even = seen.clone();
    let mut from = 0;
    for pair in corners.windows(2) {
        let to = from + pair[0].0.abs_diff(pair[1].0) + pair[0].1.abs_diff(pair[1].1);
        share_out(&mut even, &ends, &place, from, to);
        from = to;
    }
    let mut at: Vec<f64> = seen.iter().zip(&even).map(|(a, b)| 0.5 * (a + b)).collect();
    straighten(rectangle, &ends, &mut at);
    let mut angles = Vec::with_capacity(grid.len());
    for pair in at.windows(2) {
        angles.extend([pair[0], 0.5 * (pair[0] + pair[1])]);
    }
    angles.push(at[at.len() - 1]);
    angles
}

/// Angles between two corners in proportion to the length along the side.
fn share_out(
    even: &mut [f64],
    ends: &[(usize, usize)],
    place: &impl Fn(usize, usize) -> (f64, f64),
    from: usize,
    to: usize,
) {
    let start = place(ends[from].0, ends[from].1);
    let end = place(ends[to].0, ends[to].1);
    let length = (end.0 - start.0).abs() + (end.1 - start.1).abs();
    let (low, high) = (even[from], even[to]);
    for at in from + 1..to {
        let here = place(ends[at].0, ends[at].1);
        let gone = (here.0 - start.0).abs() + (here.1 - start.1).abs();
        even[at] = low + (high - low) * gone / length;
    }
}

/// Puts the rays that must run along the path at the circle's point of the same t, the others between.
fn straighten(rectangle: &Rectangle<'_>, ends: &[(usize, usize)], angles: &mut [f64]) {
    if rectangle.straight.is_empty() {
        return;
    }
    let before = angles.to_vec();
    let mut knots: Vec<(usize, f64)> = Vec::new();
    for (at, &(i, j)) in ends.iter().enumerate() {
        let front = i == rectangle.s.1 && rectangle.share != Share::End;
        let back = i == rectangle.s.0 && rectangle.share != Share::Start;
        let fixed = rectangle.straight.iter().find(|each| each.0 == j);
        let inner = j > rectangle.t.0 && j < rectangle.t.1;
        if let (Some(&(_, angle)), true) = (fixed, inner && (front || back)) {
            let angle = if front { angle } else { PI - angle };
            let turns = ((before[at] - angle) / (2.0 * PI)).round();
            knots.push((at, angle + 2.0 * PI * turns));
        }
    }
    let last = angles.len() - 1;
    let mut all = vec![(0, before[0])];
    all.extend(knots);
    all.push((last, before[last]));
    for pair in all.windows(2) {
        let ((from, a), (to, b)) = (pair[0], pair[1]);
        let span = before[to] - before[from];
        for at in from..=to {
            angles[at] = a + (b - a) * (before[at] - before[from]) / span;
        }
    }
}
