//! One slab in elements.

use std::collections::HashMap;

use super::density::Fineness;
use super::drill::{Axis, Drill};
use super::grid::Grid;
use super::lengths::{Lengths, least_metal, lengths};
use super::pattern::{Pattern, Rectangle};
use super::slab::HoleWall;
use super::spec::Spec;
use crate::part::drill_point_height_mm;

/// A slab's mesh in the path's coordinates as well, before it knows its neighbours.
#[derive(Clone, Debug, Default)]
pub(super) struct Mesh {
    /// Places (x, y, z).
    pub nodes: Vec<[f64; 3]>,
    /// The same as (s, y, z) along the path.
    pub places: Vec<[f64; 3]>,
    pub elements: Vec<[u32; 27]>,
    pub holes: Vec<HoleWall>,
    /// Quadrilaterals on the first and the last plane, node `j + 3 k`.
    pub ends: [Vec<[u32; 9]>; 2],
}

/// Why a slab can't be meshed.
pub(super) enum Fault {
    /// Metal left between holes, in mm.
    Touch(f64),
    /// Elements it would have.
    Many(usize),
}

/// Elements that a slab may have.
pub(super) const MOST_ELEMENTS: usize = 20_000;

/// Radial index of nodes between a filled hole's core and its circle; its core's rows follow.
const DISC: usize = 1_000;

/// Levels from here on are midway between two lines with others between them.
const BETWEEN: usize = 1_000_000;

/// Edges of strips farther from a bore's axis than this share of its radius meet its circle at too flat an angle:
/// the ray for them ends here.
pub(super) const GRAZING: f64 = 0.97;

/// Names a node: 0 and half-indices of the grid, or 1 + the hole and (ray, radial, level).
type Name = (usize, usize, usize, usize);

struct Builder<'a> {
    spec: &'a Spec,
    drills: &'a [Drill],
    grid: &'a Grid,
    rings: usize,
    lengths: Lengths,
    /// Half-indexed lines.
    s: Vec<f64>,
    y: Vec<f64>,
    z: Vec<f64>,
    patterns: Vec<Pattern>,
    names: HashMap<Name, u32>,
    places: Vec<[f64; 3]>,
    elements: Vec<[u32; 27]>,
}

pub(super) fn mesh(
    spec: &Spec,
    drills: &[Drill],
    grid: &Grid,
    fineness: &Fineness,
) -> Result<Mesh, Fault> {
    let lengths = lengths(spec, drills, fineness);
    let metal = least_metal(spec, &lengths);
    if !(metal > 0.0) {
        return Err(Fault::Touch(metal));
    }
    let elements = (lengths.lines.len() - 1) * (grid.y.len() - 1) * (grid.z.len() - 1);
    if elements > MOST_ELEMENTS {
        return Err(Fault::Many(elements));
    }
    let mut builder = Builder {
        spec,
        drills,
        grid,
        rings: fineness.rings,
        s: halved(&lengths.lines),
        y: halved(&grid.y),
        z: halved(&grid.z),
        patterns: Vec::new(),
        lengths,
        names: HashMap::new(),
        places: Vec::new(),
        elements: Vec::new(),
    };
    for hole in 0..spec.holes.len() {
        let pattern = builder.pattern(hole);
        builder.patterns.push(pattern);
    }
    builder.plain();
    let mut holes = Vec::new();
    for hole in 0..spec.holes.len() {
        holes.push(match drills[spec.holes[hole].drill].axis {
            Axis::Tool => builder.along_tool(hole),
            Axis::Across => builder.across(hole),
        });
    }
    Ok(builder.finish(holes))
}

/// The lines with their middles.
fn halved(lines: &[f64]) -> Vec<f64> {
    let mut halved = Vec::with_capacity(2 * lines.len());
    for pair in lines.windows(2) {
        halved.extend([pair[0], 0.5 * (pair[0] + pair[1])]);
    }
    halved.extend(lines.last());
    halved
}

impl Builder<'_> {
    /// First and last line of a hole's rectangle across: of y along the tool axis, of z across.
    fn band(&self, hole: usize) -> (usize, usize) {
        let drill = &self.drills[self.spec.holes[hole].drill];
        match drill.axis {
            Axis::Tool => self.grid.columns(drill.band),
            Axis::Across => self.grid.layers(drill.band),
        }
    }

    fn pattern(&self, hole: usize) -> Pattern {
        let spot = &self.spec.holes[hole];
        let drill = &self.drills[spot.drill];
        let lines = match drill.axis {
            Axis::Tool => &self.grid.y,
            Axis::Across => &self.grid.z,
        };
        let t = self.band(hole);
        let straight = match drill.axis {
            Axis::Tool => self.straight(hole, t),
            Axis::Across => Vec::new(),
        };
        Pattern::new(&Rectangle {
            share: spot.share,
            s: self.lengths.rectangles[hole],
            t,
            s_lines: &from(&self.lengths.lines, spot.at),
            t_lines: &from(lines, drill.centre),
            straight: &straight,
        })
    }

    /// Edges of strips that stand over a hole, with the angle at which they meet its circle.
    fn straight(&self, hole: usize, columns: (usize, usize)) -> Vec<(usize, f64)> {
        let spot = &self.spec.holes[hole];
        let drill = &self.drills[spot.drill];
        let edge = |line: usize| {
            (0..self.grid.z.len() - 1).any(|k| {
                self.grid.filled(self.spec.section, line - 1, k)
                    != self.grid.filled(self.spec.section, line, k)
            })
        };
        (columns.0 + 1..columns.1)
            .filter(|&line| edge(line))
            .map(|line| {
                let rise = (self.grid.y[line] - drill.centre) / drill.radius;
                let met = drill.centre + drill.radius * rise.clamp(-GRAZING, GRAZING);
                let mut angle = rise.clamp(-GRAZING, GRAZING).asin();
                for _ in 0..20 {
                    let (_, y) = self.circle(hole, angle);
                    angle += (met - y) / (drill.radius * angle.cos());
                }
                (line, angle)
            })
            .collect()
    }

    /// Point (s, y) of a circle along the tool axis at an angle.
    fn circle(&self, hole: usize, angle: f64) -> (f64, f64) {
        let spot = &self.spec.holes[hole];
        let drill = &self.drills[spot.drill];
        let (sin, cos) = angle.sin_cos();
        self.spec.bend.beside(
            spot.at,
            drill.centre,
            drill.radius * cos,
            drill.radius * sin,
        )
    }

    fn node(&mut self, name: Name, place: impl FnOnce(&Self) -> [f64; 3]) -> u32 {
        if let Some(&node) = self.names.get(&name) {
            return node;
        }
        let node = self.places.len() as u32;
        let mut place = place(self);
        let length = self.s[self.s.len() - 1];
        for end in [0.0, length] {
            if (place[0] - end).abs() < 1e-9 {
                place[0] = end;
            }
        }
        self.places.push(place);
        self.names.insert(name, node);
        node
    }

    fn grid_node(&mut self, i: usize, j: usize, k: usize) -> u32 {
        self.node((0, i, j, k), |mesh| [mesh.s[i], mesh.y[j], mesh.height(k)])
    }

    /// Level of an element's nodes between two lines: a half-index, or the name of a middle of its own.
    fn level(&self, (from, to): (usize, usize), c: usize) -> usize {
        match c {
            0 => 2 * from,
            1 if to > from + 1 => BETWEEN + 2 * from * 2 * self.grid.z.len() + 2 * to,
            1 => 2 * from + 1,
            _ => 2 * to,
        }
    }

    /// Height of a level.
    fn height(&self, k: usize) -> f64 {
        match k.checked_sub(BETWEEN) {
            None => self.z[k],
            Some(both) => {
                let lines = 2 * self.grid.z.len();
                0.5 * (self.z[both / lines] + self.z[both % lines])
            }
        }
    }

    /// Cells of the grid that no hole's rectangle takes.
    fn plain(&mut self) {
        let (grid, columns) = (self.grid, self.grid.y.len() - 1);
        let taken: Vec<[(usize, usize); 3]> = (0..self.spec.holes.len())
            .map(|hole| self.taken(hole))
            .collect();
        let within = |at: usize, range: (usize, usize)| range.0 <= at && at < range.1;
        for i in 0..self.lengths.lines.len() - 1 {
            for j in 0..columns {
                for &span in &grid.stacks[j] {
                    let k = span.0;
                    let drilled = taken
                        .iter()
                        .any(|box_| within(i, box_[0]) && within(j, box_[1]) && within(k, box_[2]));
                    if drilled || !self.grid.filled(self.spec.section, j, k) {
                        continue;
                    }
                    self.element(|mesh, a, b, c| {
                        mesh.grid_node(2 * i + a, 2 * j + b, mesh.level(span, c))
                    });
                }
            }
        }
    }

    /// Cells that a hole's pattern takes, along s, y and z.
    fn taken(&self, hole: usize) -> [(usize, usize); 3] {
        let drill = &self.drills[self.spec.holes[hole].drill];
        let s = self.lengths.rectangles[hole];
        match drill.axis {
            Axis::Tool => [s, self.band(hole), (0, self.grid.z.len() - 1)],
            Axis::Across => [s, self.grid.columns(drill.faces), self.band(hole)],
        }
    }

    fn element(&mut self, mut node: impl FnMut(&mut Self, usize, usize, usize) -> u32) {
        let mut element = [0; 27];
        for c in 0..3 {
            for b in 0..3 {
                for a in 0..3 {
                    element[a + 3 * b + 9 * c] = node(self, a, b, c);
                }
            }
        }
        self.elements.push(element);
    }

    /// Share of the way from circle to rectangle at a half-index: finer at the circle.
    fn share(&self, radial: usize) -> f64 {
        let line = |at: usize| (at as f64 / self.rings as f64).powf(1.2);
        if radial.is_multiple_of(2) {
            line(radial / 2)
        } else {
            0.5 * (line(radial / 2) + line(radial / 2 + 1))
        }
    }

    /// Pattern around a hole along the tool axis, through every layer that the section fills; below the bottom
    /// of a blind hole the disc is filled.
    fn along_tool(&mut self, hole: usize) -> HoleWall {
        let bottom = self.bottom(hole);
        let mut wall = Vec::new();
        for k in 0..self.grid.z.len() - 1 {
            for at in 0..self.patterns[hole].sectors.len() {
                let sector = self.patterns[hole].sectors[at];
                let stack = &self.grid.stacks[sector.cell];
                let Some(&span) = stack.iter().find(|span| span.0 == k) else {
                    continue;
                };
                if !self.grid.filled(self.spec.section, sector.cell, k) {
                    continue;
                }
                for ring in 0..self.rings {
                    self.element(|mesh, a, b, c| {
                        let level = mesh.level(span, c);
                        mesh.tool_node(hole, sector.rays[b], 2 * ring + a, level)
                    });
                    if ring == 0 && k >= bottom {
                        wall.extend(inner(self.elements.last()));
                    }
                }
            }
            if k < bottom {
                let first = self.elements.len();
                self.disc(hole, k);
                if k + 1 == bottom {
                    wall.extend(self.elements[first..].iter().flat_map(top));
                }
            }
        }
        self.wall(hole, wall)
    }

    /// First layer that a hole along the tool axis goes through.
    fn bottom(&self, hole: usize) -> usize {
        let drill = &self.drills[self.spec.holes[hole].drill];
        drill.bottom.map_or(0, |z| self.grid.layers((z, z)).0)
    }

    /// Elements inside the circle: along it, and a core.
    fn disc(&mut self, hole: usize, k: usize) {
        for at in 0..self.patterns[hole].sectors.len() {
            let sector = self.patterns[hole].sectors[at];
            if self.grid.filled(self.spec.section, sector.cell, k) {
                self.element(|mesh, a, b, c| mesh.disc_node(hole, sector.rays[b], a, 2 * k + c));
            }
        }
        let (s, t) = (self.lengths.rectangles[hole], self.band(hole));
        for j in t.0..t.1 {
            if !self.grid.filled(self.spec.section, j, k) {
                continue;
            }
            for i in s.0..s.1 {
                self.element(|mesh, a, b, c| {
                    mesh.core_node(hole, 2 * (i - s.0) + a, 2 * (j - t.0) + b, 2 * k + c)
                });
            }
        }
    }

    /// Node between the core (radial 0) and the circle (radial 2).
    fn disc_node(&mut self, hole: usize, ray: usize, radial: usize, k: usize) -> u32 {
        let ahead = self.patterns[hole].rays[ray];
        let (s, t) = (self.lengths.rectangles[hole], self.band(hole));
        let core = (ahead.grid.0 - 2 * s.0, ahead.grid.1 - 2 * t.0);
        match radial {
            0 => self.core_node(hole, core.0, core.1, k),
            1 => self.node((1 + hole, ray, DISC, k), |mesh| {
                let (u, v) = mesh.patterns[hole].core(core.0, core.1);
                let (sin, cos) = ahead.angle.sin_cos();
                mesh.in_disc(hole, 0.5 * (u + cos), 0.5 * (v + sin), k)
            }),
            _ => self.tool_node(hole, ray, 0, k),
        }
    }

    fn core_node(&mut self, hole: usize, a: usize, b: usize, k: usize) -> u32 {
        self.node((1 + hole, a, DISC + 1 + b, k), |mesh| {
            let (u, v) = mesh.patterns[hole].core(a, b);
            mesh.in_disc(hole, u, v, k)
        })
    }

    /// Place of a node inside the circle at (u, v) radii from the axis: under a drill point the levels follow it.
    fn in_disc(&self, hole: usize, u: f64, v: f64, k: usize) -> [f64; 3] {
        let spot = &self.spec.holes[hole];
        let drill = &self.drills[spot.drill];
        let (s, y) =
            self.spec
                .bend
                .beside(spot.at, drill.centre, drill.radius * u, drill.radius * v);
        let mut z = self.z[k];
        if let Some(bottom) = drill.bottom.filter(|_| drill.pointed) {
            let deep = (1.0 - u.hypot(v)) * drill_point_height_mm(2.0 * drill.radius);
            z *= 1.0 - deep / bottom;
        }
        [s, y, z]
    }

    fn tool_node(&mut self, hole: usize, ray: usize, radial: usize, k: usize) -> u32 {
        let ahead = self.patterns[hole].rays[ray];
        let (i, j) = ahead.grid;
        if radial == 2 * self.rings {
            return self.grid_node(i, j, k);
        }
        self.node((1 + hole, ray, radial, k), |mesh| {
            let (s, y) = mesh.circle(hole, ahead.angle);
            let share = mesh.share(radial);
            [
                s + share * (mesh.s[i] - s),
                y + share * (mesh.y[j] - y),
                mesh.height(k),
            ]
        })
    }

    /// Pattern around a hole through a wall or rib.
    fn across(&mut self, hole: usize) -> HoleWall {
        let columns = self
            .grid
            .columns(self.drills[self.spec.holes[hole].drill].faces);
        let mut wall = Vec::new();
        for j in columns.0..columns.1 {
            for at in 0..self.patterns[hole].sectors.len() {
                let sector = self.patterns[hole].sectors[at];
                for ring in 0..self.rings {
                    self.element(|mesh, a, b, c| {
                        mesh.across_node(hole, sector.rays[c], 2 * ring + a, 2 * j + b)
                    });
                    if ring == 0 {
                        wall.extend(inner(self.elements.last()));
                    }
                }
            }
        }
        self.wall(hole, wall)
    }

    fn across_node(&mut self, hole: usize, ray: usize, radial: usize, j: usize) -> u32 {
        let ahead = self.patterns[hole].rays[ray];
        let (i, k) = ahead.grid;
        if radial == 2 * self.rings {
            return self.grid_node(i, j, k);
        }
        self.node((1 + hole, ray, radial, j), |mesh| {
            let spot = &mesh.spec.holes[hole];
            let drill = &mesh.drills[spot.drill];
            let (sin, cos) = ahead.angle.sin_cos();
            let s = mesh.spec.bend.ahead(spot.at, mesh.y[j], drill.radius * cos);
            let z = drill.centre + drill.radius * sin;
            let share = mesh.share(radial);
            [
                s + share * (mesh.s[i] - s),
                mesh.y[j],
                z + share * (mesh.z[k] - z),
            ]
        })
    }

    fn wall(&self, hole: usize, mut nodes: Vec<u32>) -> HoleWall {
        let drill = &self.drills[self.spec.holes[hole].drill];
        nodes.sort_unstable();
        nodes.dedup();
        HoleWall {
            row: drill.row,
            line: drill.line,
            nodes,
        }
    }

    fn finish(self, holes: Vec<HoleWall>) -> Mesh {
        let length = self.s[self.s.len() - 1];
        let nodes = self
            .places
            .iter()
            .map(|&[s, y, z]| {
                let (x, y) = self.spec.bend.pose(s).left(y);
                [x, y, z]
            })
            .collect();
        let ends = [0.0, length].map(|end| quads(&self.elements, &self.places, end));
        Mesh {
            nodes,
            places: self.places,
            elements: self.elements,
            holes,
            ends,
        }
    }
}

/// Nodes of an element on the hole's wall: those with the first index 0.
fn inner(element: Option<&[u32; 27]>) -> impl Iterator<Item = u32> {
    element
        .into_iter()
        .flat_map(|element| (0..9).map(|at| element[3 * at]))
}

/// Nodes of an element's upper face.
fn top(element: &[u32; 27]) -> impl Iterator<Item = u32> {
    element[18..].iter().copied()
}

/// Lines measured from a place.
fn from(lines: &[f64], at: f64) -> Vec<f64> {
    lines.iter().map(|line| line - at).collect()
}

/// Faces of elements that lie in the plane `s = end`, j to the left, k upward.
fn quads(elements: &[[u32; 27]], places: &[[f64; 3]], end: f64) -> Vec<[u32; 9]> {
    const STEPS: [usize; 3] = [1, 3, 9];
    let mut quads = Vec::new();
    for element in elements {
        for axis in 0..3 {
            let (u, v) = (STEPS[(axis + 1) % 3], STEPS[(axis + 2) % 3]);
            for side in [0, 2 * STEPS[axis]] {
                let face: [u32; 9] =
                    std::array::from_fn(|at| element[side + u * (at % 3) + v * (at / 3)]);
                if face.iter().all(|&node| places[node as usize][0] == end) {
                    quads.push(upright(face, places));
                }
            }
        }
    }
    quads
}

/// The same face with its first direction to the left and its second upward.
fn upright(face: [u32; 9], places: &[[f64; 3]]) -> [u32; 9] {
    let along = |from: usize, to: usize| {
        let (a, b) = (places[face[from] as usize], places[face[to] as usize]);
        (b[1] - a[1], b[2] - a[2])
    };
    let (first, second) = (along(3, 5), along(1, 7));
    let swapped = first.0.abs() < second.0.abs();
    let (across, up) = if swapped {
        (second.0, first.1)
    } else {
        (first.0, second.1)
    };
    std::array::from_fn(|at| {
        let flip = |index: usize, direction: f64| if direction < 0.0 { 2 - index } else { index };
        let (j, k) = (flip(at % 3, across), flip(at / 3, up));
        if swapped {
            face[k + 3 * j]
        } else {
            face[j + 3 * k]
        }
    })
}
