//! The plan of a part: lines between regions that are metal over different heights.

use std::collections::BTreeMap;

use super::grid::{Grid, Point, Shape, apart, left, nearest};

/// What a line of the plan is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Line {
    /// A rail: constant `y` over one chain.
    Rail {
        /// Index of the chain.
        chain: usize,
        /// Index in [`Grid::rails`].
        rail: usize,
    },
    /// Across the path, at a station.
    Station,
    /// The circle of a drilled hole, counter-clockwise.
    Circle,
}

/// A curve of the plan that edges lie on.
#[derive(Clone, Copy, Debug)]
pub struct PlanCurve {
    /// What it is.
    pub line: Line,
    /// Its geometry.
    pub shape: Shape,
    /// A circle's drill point.
    pub bottom: Option<Bottom>,
}

/// A piece of a curve of the plan between two vertices, seen along the curve.
#[derive(Clone, Copy, Debug)]
pub struct PlanEdge {
    /// Index of the curve.
    pub curve: usize,
    /// Index of the vertex where it starts.
    pub from: usize,
    /// Index of the vertex where it ends.
    pub to: usize,
    /// Parameter at its start and end: station of a rail, `y` of a station, angle of a circle in rad.
    pub at: (f64, f64),
    /// Profile on its left: index in [`Plan::profiles`].
    pub left: usize,
    /// Profile on its right.
    pub right: usize,
}

/// The bottom of a blind hole.
#[derive(Clone, Copy, Debug)]
pub struct Bottom {
    /// Level of the circle.
    pub level: usize,
    /// Height of the drill point, in mm.
    pub apex: f64,
}

/// The plan. Only edges between different profiles are kept.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Points, in mm.
    pub vertices: Vec<Point>,
    /// Curves: rails of every chain, stations, circles.
    pub curves: Vec<PlanCurve>,
    /// Edges.
    pub edges: Vec<PlanEdge>,
    /// Heights at which anything begins or ends, ascending, in mm.
    pub levels: Vec<f64>,
    /// Which of the slabs between levels are metal.
    pub profiles: Vec<Vec<bool>>,
    known: BTreeMap<Vec<bool>, usize>,
    cells: Vec<Vec<usize>>,
}

impl Plan {
    /// The plan of the undrilled part, with levels for what is to be drilled.
    pub fn of(grid: &Grid, drilled: Vec<f64>, walls: Vec<f64>) -> Plan {
        let levels = apart(
            grid.strips
                .iter()
                .flatten()
                .flat_map(|strip| [strip.z_low, strip.z_high])
                .chain(drilled)
                .chain(walls)
                .collect(),
        );
        let mut plan = Plan {
            vertices: Vec::new(),
            curves: Vec::new(),
            edges: Vec::new(),
            levels,
            profiles: Vec::new(),
            known: BTreeMap::new(),
            cells: Vec::new(),
        };
        plan.fill(grid);
        plan.points(grid);
        plan.rails(grid);
        plan.stations(grid);
        plan
    }

    /// Index of a profile.
    fn profile(&mut self, slabs: Vec<bool>) -> usize {
        let next = self.profiles.len();
        let index = *self.known.entry(slabs.clone()).or_insert(next);
        if index == next {
            self.profiles.push(slabs);
        }
        index
    }

    /// Profile of every cell of every section; profile 0 is air.
    fn fill(&mut self, grid: &Grid) {
        let slabs: Vec<f64> = self
            .levels
            .windows(2)
            .map(|ends| 0.5 * (ends[0] + ends[1]))
            .collect();
        self.profile(vec![false; slabs.len()]);
        for section in 0..grid.strips.len() {
            let row = grid
                .rails
                .windows(2)
                .map(|ends| {
                    let y = 0.5 * (ends[0] + ends[1]);
                    let metal = slabs.iter().map(|&z| grid.metal(section, y, z)).collect();
                    self.profile(metal)
                })
                .collect();
            self.cells.push(row);
        }
    }

    /// Profile of a cell: a column and the gap between two rails (`None`: beyond them).
    pub fn cell(&self, grid: &Grid, column: usize, gap: Option<usize>) -> usize {
        gap.map_or(0, |gap| self.cells[grid.columns[column].section][gap])
    }

    /// Vertex `station * rails + rail`.
    fn points(&mut self, grid: &Grid) {
        let count = grid.stations.len() - usize::from(grid.closed);
        for index in 0..count {
            // At the last station of an open path the chain before it ends.
            let column = index.min(grid.columns.len() - 1);
            let pose = grid.chains[grid.columns[column].chain].pose(grid.stations[index]);
            self.vertices
                .extend(grid.rails.iter().map(|&y| left(pose, y)));
        }
    }

    fn rails(&mut self, grid: &Grid) {
        let rails = grid.rails.len();
        for (chain, each) in grid.chains.iter().enumerate() {
            for (rail, &y) in grid.rails.iter().enumerate() {
                self.curves.push(PlanCurve {
                    line: Line::Rail { chain, rail },
                    shape: each.rail(y),
                    bottom: None,
                });
            }
        }
        let turn = self.vertices.len() / rails;
        for (index, column) in grid.columns.iter().enumerate() {
            for rail in 0..rails {
                let edge = PlanEdge {
                    curve: column.chain * rails + rail,
                    from: index * rails + rail,
                    to: (index + 1) % turn * rails + rail,
                    at: (grid.stations[index], grid.stations[index + 1]),
                    left: self.cell(grid, index, (rail + 1 < rails).then_some(rail)),
                    right: self.cell(grid, index, rail.checked_sub(1)),
                };
                self.keep(edge);
            }
        }
    }

    fn stations(&mut self, grid: &Grid) {
        let rails = grid.rails.len();
        let columns = grid.columns.len();
        for index in 0..self.vertices.len() / rails {
            let (low, high) = (
                self.vertices[index * rails],
                self.vertices[index * rails + rails - 1],
            );
            let direction = (high - low).normalize();
            self.curves.push(PlanCurve {
                line: Line::Station,
                shape: Shape::Line {
                    // The point of the path itself, so that the parameter is `y`.
                    point: low - direction * grid.rails[0],
                    direction,
                },
                bottom: None,
            });
            for gap in 0..rails - 1 {
                // Seen towards the left of the path, the column before lies on the left.
                let before = match (index, grid.closed) {
                    (0, false) => 0,
                    _ => self.cell(grid, (index + columns - 1) % columns, Some(gap)),
                };
                let after = match index < columns {
                    true => self.cell(grid, index, Some(gap)),
                    false => 0,
                };
                let edge = PlanEdge {
                    curve: self.curves.len() - 1,
                    from: index * rails + gap,
                    to: index * rails + gap + 1,
                    at: (grid.rails[gap], grid.rails[gap + 1]),
                    left: before,
                    right: after,
                };
                self.keep(edge);
            }
        }
    }

    /// An edge between different profiles is kept.
    pub fn keep(&mut self, edge: PlanEdge) {
        if edge.left != edge.right {
            self.edges.push(edge);
        }
    }

    /// A profile with everything above a level taken out.
    pub fn cut_above(&mut self, profile: usize, level: usize) -> usize {
        let mut slabs = self.profiles[profile].clone();
        for slab in &mut slabs[level..] {
            *slab = false;
        }
        self.profile(slabs)
    }

    /// Level nearest to a height.
    pub fn level(&self, z: f64) -> usize {
        nearest(&self.levels, z)
    }

    /// Whether a profile is metal over the whole of a range of heights.
    pub fn full(&self, profile: usize, from: f64, to: f64) -> bool {
        self.profiles[profile]
            .iter()
            .zip(self.levels.windows(2))
            .all(|(&metal, ends)| metal || ends[1] <= from + 1e-9 || ends[0] >= to - 1e-9)
    }

    /// Whether a profile has no metal in a range of heights.
    pub fn empty(&self, profile: usize, from: f64, to: f64) -> bool {
        self.profiles[profile]
            .iter()
            .zip(self.levels.windows(2))
            .all(|(&metal, ends)| !metal || ends[1] <= from + 1e-9 || ends[0] >= to - 1e-9)
    }

    /// Whether a profile has no metal above a height.
    pub fn clear_above(&self, profile: usize, z: f64) -> bool {
        self.profiles[profile]
            .iter()
            .zip(&self.levels)
            .all(|(&metal, &low)| !metal || low < z - 1e-9)
    }

    /// Index of a level edge: a plan edge at a level.
    pub fn flat(&self, edge: usize, level: usize) -> usize {
        edge * self.levels.len() + level
    }

    /// Index of an upright edge: a plan vertex over a slab.
    pub fn upright(&self, vertex: usize, slab: usize) -> usize {
        (self.edges.len() + vertex) * self.levels.len() + slab
    }

    /// Index of the first edge that is neither.
    pub fn other_edges(&self) -> usize {
        (self.edges.len() + self.vertices.len()) * self.levels.len()
    }

    /// Index of a corner: a plan vertex at a level.
    pub fn corner(&self, vertex: usize, level: usize) -> usize {
        vertex * self.levels.len() + level
    }

    /// Index of the first corner that is none of these.
    pub fn other_corners(&self) -> usize {
        self.vertices.len() * self.levels.len()
    }
}
