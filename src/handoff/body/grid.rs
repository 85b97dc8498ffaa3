//! The part in path coordinates: columns along the path, rails across it, and which of it is metal.

use std::f64::consts::TAU;

use nalgebra::Vector2;

use super::BodyError;
use crate::part::{Layout, Part, Pose, Strip};

/// Lengths nearer than this, in mm, are one.
pub const SAME_MM: f64 = 1e-7;

/// A point so near to a column's end, in mm, belongs to either.
const SLACK_MM: f64 = 1e-9;

/// A curve of more than this, in rad, is made of two surfaces.
const MOST_TURN: f64 = 1.5 * std::f64::consts::PI;

/// A point of the plan, in mm.
pub type Point = Vector2<f64>;

/// A length of the path of one curvature: each rail along it has one surface.
#[derive(Clone, Copy, Debug)]
pub struct Chain {
    /// Start along the path, in mm.
    pub from: f64,
    /// End along the path, in mm.
    pub to: f64,
    /// Pose at its start.
    pub start: Pose,
    /// Signed curvature, in 1/mm.
    pub curvature: f64,
}

impl Chain {
    /// Pose at a station.
    pub fn pose(&self, s: f64) -> Pose {
        self.start.advance(s - self.from, self.curvature)
    }

    /// The curve of a rail at `y`.
    pub fn rail(&self, y: f64) -> Shape {
        let (sin, cos) = self.start.heading.sin_cos();
        if self.curvature == 0.0 {
            return Shape::Line {
                point: left(self.start, y),
                direction: Point::new(cos, sin),
            };
        }
        Shape::Circle {
            centre: left(self.start, 1.0 / self.curvature),
            radius: (1.0 / self.curvature - y).abs(),
            ccw: self.curvature > 0.0,
        }
    }

    /// Path coordinates (s, y) of a point; s is the one nearest to `near` of those a turn apart.
    pub fn place(&self, point: Point, near: f64) -> (f64, f64) {
        if self.curvature == 0.0 {
            let (sin, cos) = self.start.heading.sin_cos();
            let from = point - Point::new(self.start.x, self.start.y);
            return (
                self.from + from.x * cos + from.y * sin,
                from.y * cos - from.x * sin,
            );
        }
        let radius = 1.0 / self.curvature;
        let centre = left(self.start, radius);
        let here = point - centre;
        let start = Point::new(self.start.x, self.start.y) - centre;
        let angle = (start.x * here.y - start.y * here.x).atan2(start.dot(&here));
        let turn = TAU * radius.abs();
        let s = self.from + angle * radius;
        let s = s + ((near - s) / turn).round() * turn;
        (s, radius - radius.signum() * here.norm())
    }
}

/// A curve in the plan.
#[derive(Clone, Copy, Debug)]
pub enum Shape {
    /// A line through a point.
    Line {
        /// On the line.
        point: Point,
        /// Direction of travel, of length 1.
        direction: Point,
    },
    /// A circle.
    Circle {
        /// Centre.
        centre: Point,
        /// Radius, in mm.
        radius: f64,
        /// Whether it is run counter-clockwise.
        ccw: bool,
    },
}

/// The point `y` to the left of a pose.
pub fn left(pose: Pose, y: f64) -> Point {
    let (x, y) = pose.left(y);
    Point::new(x, y)
}

/// A length of the path of one section.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// Index of its chain.
    pub chain: usize,
    /// Index in [`Layout::sections`].
    pub section: usize,
}

/// The part in path coordinates.
#[derive(Debug)]
pub struct Grid {
    /// Whether the path is closed.
    pub closed: bool,
    /// Length of the path, in mm.
    pub length: f64,
    /// Lengths of one curvature, in order.
    pub chains: Vec<Chain>,
    /// Where columns start, ascending, and where the last ends.
    pub stations: Vec<f64>,
    /// Between stations.
    pub columns: Vec<Column>,
    /// Every `y` at which a strip of any section ends, ascending.
    pub rails: Vec<f64>,
    /// Strips of every section.
    pub strips: Vec<Vec<Strip>>,
}

impl Grid {
    /// The grid of a part.
    pub fn of(part: &Part, layout: &Layout) -> Result<Grid, BodyError> {
        let strips: Vec<Vec<Strip>> = layout
            .sections
            .iter()
            .map(|section| section.strips())
            .collect();
        let rails = apart(
            strips
                .iter()
                .flatten()
                .flat_map(|strip| [strip.y_low, strip.y_high])
                .collect(),
        );
        let (stations, starts) = stations(part, layout);
        let middles: Vec<f64> = stations
            .windows(2)
            .map(|ends| 0.5 * (ends[0] + ends[1]))
            .collect();
        let mut chains: Vec<Chain> = Vec::new();
        let mut columns = Vec::with_capacity(middles.len());
        for (index, &middle) in middles.iter().enumerate() {
            let kind = &layout.kinds[layout.segments[segment_at(layout, middle)].kind];
            if starts[index] {
                chains.push(Chain {
                    from: stations[index],
                    to: stations[index],
                    start: part.path.pose(stations[index]),
                    curvature: kind.curvature,
                });
            }
            if let Some(chain) = chains.last_mut() {
                chain.to = stations[index + 1];
            }
            columns.push(Column {
                chain: chains.len() - 1,
                section: kind.section,
            });
        }
        // Stations where neither surface nor section changes are none.
        let mut kept = vec![stations[0]];
        let mut merged: Vec<Column> = Vec::with_capacity(columns.len());
        for (index, column) in columns.into_iter().enumerate() {
            let same = merged
                .last()
                .is_some_and(|last| last.chain == column.chain && last.section == column.section);
            if same {
                kept.pop();
            } else {
                merged.push(column);
            }
            kept.push(stations[index + 1]);
        }
        let (stations, columns) = (kept, merged);
        let grid = Grid {
            closed: layout.closed,
            length: layout.length_mm,
            chains,
            stations,
            columns,
            rails,
            strips,
        };
        grid.meets()?;
        Ok(grid)
    }

    /// Pieces must meet to well within the accuracy that a reader of solids asks for.
    fn meets(&self) -> Result<(), BodyError> {
        let count = self.chains.len();
        for (index, chain) in self.chains.iter().enumerate() {
            if index + 1 == count && !self.closed {
                break;
            }
            let (end, next) = (chain.pose(chain.to), self.chains[(index + 1) % count].start);
            let half = self.rails.iter().fold(0.0, |far: f64, y| far.max(y.abs()));
            let gap_mm = (left(end, half) - left(next, half))
                .norm()
                .max((left(end, -half) - left(next, -half)).norm());
            if gap_mm > SAME_MM {
                return Err(BodyError::Gap {
                    station_mm: chain.to,
                    gap_mm,
                });
            }
        }
        Ok(())
    }

    /// A station brought into the range of [`Grid::stations`] on a closed path.
    pub fn wrapped(&self, s: f64) -> f64 {
        if self.closed {
            self.stations[0] + (s - self.stations[0]).rem_euclid(self.length)
        } else {
            s
        }
    }

    /// Column at a station, the first or last beyond the ends of an open path.
    pub fn column_at(&self, s: f64) -> usize {
        let s = self.wrapped(s);
        let after = self.stations.partition_point(|&station| station <= s);
        after.clamp(1, self.columns.len()) - 1
    }

    /// Column and `y` of a point of the plan near a station.
    pub fn place(&self, point: Point, near: f64) -> Option<(usize, f64)> {
        let count = self.columns.len() as isize;
        let first = self.column_at(near) as isize;
        // From the nearest column outwards.
        for step in (0..=count).flat_map(|step| [step, -step]) {
            let index = if self.closed {
                (first + step).rem_euclid(count)
            } else {
                first + step
            };
            if !(0..count).contains(&index) {
                continue;
            }
            let column = index as usize;
            let (from, to) = (self.stations[column], self.stations[column + 1]);
            let chain = &self.chains[self.columns[column].chain];
            let (s, y) = chain.place(point, 0.5 * (from + to));
            if from - SLACK_MM <= s && s <= to + SLACK_MM {
                return Some((column, y));
            }
        }
        None
    }

    /// Index of the cell between two rails at a `y`, `None` beyond the outermost.
    pub fn between(&self, y: f64) -> Option<usize> {
        let after = self.rails.partition_point(|&rail| rail <= y);
        (1..self.rails.len()).contains(&after).then(|| after - 1)
    }

    /// Whether a section is metal at (y, z).
    pub fn metal(&self, section: usize, y: f64, z: f64) -> bool {
        self.strips[section]
            .iter()
            .any(|strip| strip.y_low < y && y < strip.y_high && strip.z_low < z && z < strip.z_high)
    }
}

/// Values in order, those nearer than [`SAME_MM`] once.
pub fn apart(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(f64::total_cmp);
    values.dedup_by(|later, earlier| *later - *earlier < SAME_MM);
    values
}

/// Index of the value of an ordered list nearest to one.
pub fn nearest(values: &[f64], value: f64) -> usize {
    let after = values.partition_point(|&each| each < value);
    let near = |index: &usize| (values[*index] - value).abs();
    let (low, high) = (after.saturating_sub(1), after.min(values.len() - 1));
    if near(&low) <= near(&high) { low } else { high }
}

/// Segment at a station.
fn segment_at(layout: &Layout, s: f64) -> usize {
    let s = if layout.closed {
        s.rem_euclid(layout.length_mm)
    } else {
        s
    };
    let after = layout.nodes_mm.partition_point(|&node| node <= s);
    match after {
        // Before the first node of a closed path its last segment still runs.
        0 => layout.segments.len() - 1,
        _ => (after - 1).min(layout.segments.len() - 1),
    }
}

/// Stations of all columns, and whether a chain starts at each column.
fn stations(part: &Part, layout: &Layout) -> (Vec<f64>, Vec<bool>) {
    let curvature = |segment: usize| layout.kinds[layout.segments[segment].kind].curvature;
    let count = layout.segments.len();
    let length = layout.length_mm;
    let changes = |segment: usize| {
        let before = (segment + count - 1) % count;
        (segment == 0 && !layout.closed) || curvature(before) != curvature(segment)
    };
    let first = (0..count).find(|&segment| changes(segment)).unwrap_or(0);
    let mut nodes: Vec<f64> = layout.segments[first..]
        .iter()
        .map(|segment| segment.start_mm)
        .chain(
            layout.segments[..first]
                .iter()
                .map(|segment| segment.start_mm + length),
        )
        .collect();
    // Where surfaces begin: at changes of curvature, and in the middle of what turns too far.
    let mut starts: Vec<f64> = (0..count)
        .map(|index| (first + index) % count)
        .zip(&nodes)
        .filter(|&(segment, _)| changes(segment))
        .map(|(_, &node)| node)
        .collect();
    let end = match layout.closed {
        true => nodes[0] + length,
        false => length,
    };
    if starts.is_empty() {
        let turned = clear_of_holes(part, layout);
        for node in &mut nodes {
            *node = turned + (*node - turned).rem_euclid(length);
        }
        starts = vec![turned, turned + 0.5 * length];
        nodes.extend(&starts);
    }
    let end = end.max(starts[0] + if layout.closed { length } else { 0.0 });
    let bounds: Vec<f64> = starts.iter().copied().chain([end]).collect();
    for ends in bounds.windows(2) {
        let (from, to) = (ends[0], ends[1]);
        let turn = (to - from) * part.path.curvature(0.5 * (from + to)).abs();
        if turn > MOST_TURN {
            starts.push(0.5 * (from + to));
            nodes.push(0.5 * (from + to));
        }
    }
    nodes.sort_by(f64::total_cmp);
    nodes.dedup_by(|later, earlier| *later - *earlier < 1e-6);
    if layout.closed && nodes.len() > 1 && nodes[0] + length - nodes[nodes.len() - 1] < 1e-6 {
        nodes.pop();
    }
    let begins = nodes
        .iter()
        .map(|node| starts.iter().any(|start| (start - node).abs() < 2e-6))
        .collect();
    nodes.push(match layout.closed {
        true => nodes[0] + length,
        false => length,
    });
    (nodes, begins)
}

/// A station of a ring that is, with the one across, as far from every hole as can be.
fn clear_of_holes(part: &Part, layout: &Layout) -> f64 {
    let half = 0.5 * layout.length_mm;
    let walls: Vec<f64> = layout
        .holes
        .iter()
        .filter(|hole| part.hole_rows[hole.row].strip != crate::part::StripName::Floor)
        .map(|hole| hole.station_mm)
        .collect();
    let start = layout.nodes_mm[0];
    let clear = |s: f64| {
        walls.iter().fold(half, |least: f64, hole| {
            let apart = (s - hole).rem_euclid(half);
            least.min(apart).min(half - apart)
        })
    };
    let tries = 720;
    let mut best = (start, clear(start));
    for step in 1..tries {
        let s = start + half * f64::from(step) / f64::from(tries);
        let room = clear(s);
        if room > best.1 + 1e-9 {
            best = (s, room);
        }
    }
    best.0
}
