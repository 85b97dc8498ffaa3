//! Lines of the section's grid: one set for the whole part, so that faces meet node on node everywhere.

use super::density::Fineness;
use super::drill::{Axis, Drill, bore_band};
use crate::part::{Section, StripName};

/// Lines nearer than this, in mm, are one.
const SAME_LINE_MM: f64 = 1e-6;

/// Grid lines and which cells each section fills.
#[derive(Clone, Debug)]
pub(super) struct Grid {
    /// Lines across the frame, in mm, ascending.
    pub y: Vec<f64>,
    /// Lines along the tool axis, in mm, ascending.
    pub z: Vec<f64>,
    /// For each section, cell `j + columns k`.
    filled: Vec<Vec<bool>>,
    /// For each column the lines (from, to) along the tool axis that its elements go between: where walls stand
    /// free above every floor, they leave out the lines that only other walls need.
    pub stacks: Vec<Vec<(usize, usize)>>,
}

/// At least so many divisions between two lines.
#[derive(Clone, Copy, Debug)]
struct Request {
    from: f64,
    to: f64,
    count: usize,
}

impl Grid {
    /// The grid for `sections`, holes in the rows' bands; bores, each with its section, get their bands from it.
    pub fn new(
        sections: &[Section],
        rows: &[Drill],
        bores: &mut [(Section, &mut Drill)],
        fineness: &Fineness,
    ) -> Grid {
        let mut y = Vec::new();
        let mut z = vec![0.0];
        let mut across = Vec::new();
        let mut upward = Vec::new();
        for strip in sections.iter().flat_map(Section::strips) {
            y.extend([strip.y_low, strip.y_high]);
            z.extend([strip.z_low, strip.z_high]);
            if strip.name != StripName::Floor {
                let thickness = strip.y_high - strip.y_low;
                let fitting = (thickness / fineness.wall_mm - 1e-9).ceil() as usize;
                across.push(Request {
                    from: strip.y_low,
                    to: strip.y_high,
                    count: fineness.across_wall.max(fitting),
                });
            }
        }
        let thinnest = sections
            .iter()
            .map(|section| section.floor_mm)
            .fold(f64::INFINITY, f64::min);
        upward.push(Request {
            from: 0.0,
            to: thinnest,
            count: fineness.floor_layers,
        });
        for drill in rows {
            let (lines, requests) = match drill.axis {
                Axis::Tool => (&mut y, &mut across),
                Axis::Across => (&mut z, &mut upward),
            };
            lines.extend([drill.band.0, drill.band.1]);
            requests.push(Request {
                from: drill.band.0,
                to: drill.band.1,
                count: fineness.across_band,
            });
            z.extend(drill.bottom);
        }
        let mut fine = divided(&y, &across, fineness.width_mm);
        for (section, drill) in bores.iter_mut() {
            let edges: Vec<f64> = section
                .strips()
                .iter()
                .flat_map(|strip| [strip.y_low, strip.y_high])
                .collect();
            drill.band = bore_band(drill.radius, &edges, &fine);
            fine.extend([drill.band.0, drill.band.1]);
            across.push(Request {
                from: drill.band.0,
                to: drill.band.1,
                count: (3 * fineness.across_band).div_ceil(4),
            });
            fine = divided(&fine, &[*across.last().expect("pushed")], fineness.width_mm);
            z.extend(drill.bottom);
        }
        let y = fine;
        let z = divided(&z, &upward, fineness.height_mm);
        let filled = sections
            .iter()
            .map(|section| filled(section, &y, &z))
            .collect();
        let mut grid = Grid {
            y,
            z,
            filled,
            stacks: Vec::new(),
        };
        let floor = sections.iter().map(|section| section.floor_mm);
        let floor = line(&grid.z, floor.fold(0.0, f64::max));
        // Holes across a wall have their own lines there.
        let drilled: Vec<(f64, f64)> = rows
            .iter()
            .filter(|drill| drill.axis == Axis::Across)
            .map(|drill| drill.faces)
            .collect();
        grid.stacks = grid.stacks(floor, &drilled, fineness.height_mm);
        grid
    }

    /// Stacks of all columns; whole walls, from gap to gap, have the same.
    fn stacks(
        &self,
        floor: usize,
        drilled: &[(f64, f64)],
        greatest: f64,
    ) -> Vec<Vec<(usize, usize)>> {
        let (columns, layers) = (self.y.len() - 1, self.z.len() - 1);
        let any = |j: usize, k: usize| self.filled.iter().any(|cells| cells[j + columns * k]);
        let joined = |j: usize| (floor..layers).any(|k| any(j - 1, k) && any(j, k));
        let mut stacks = Vec::with_capacity(columns);
        let mut from = 0;
        while from < columns {
            let to = (from + 1..columns).find(|&j| !joined(j)).unwrap_or(columns);
            let holes = drilled
                .iter()
                .any(|faces| faces.0 < self.y[to] - 1e-9 && faces.1 > self.y[from] + 1e-9);
            let changes = |k: usize| {
                (from..to).any(|j| {
                    let cells = self.filled.iter();
                    cells
                        .clone()
                        .any(|c| c[j + columns * (k - 1)] != c[j + columns * k])
                })
            };
            let mut stack: Vec<(usize, usize)> = (0..floor).map(|k| (k, k + 1)).collect();
            let mut begin = floor;
            for k in floor + 1..=layers {
                let tall = k < layers && self.z[k + 1] - self.z[begin] > greatest + 1e-9;
                if k == layers || holes || changes(k) || tall {
                    stack.push((begin, k));
                    begin = k;
                }
            }
            stacks.extend(std::iter::repeat_n(stack, to - from));
            from = to;
        }
        stacks
    }

    /// Whether a section has metal in the cell (j, k).
    pub fn filled(&self, section: usize, j: usize, k: usize) -> bool {
        self.filled[section][j + (self.y.len() - 1) * k]
    }

    /// Cells (from, to) between two lines across the frame.
    pub fn columns(&self, range: (f64, f64)) -> (usize, usize) {
        (line(&self.y, range.0), line(&self.y, range.1))
    }

    /// Cells (from, to) between two lines along the tool axis.
    pub fn layers(&self, range: (f64, f64)) -> (usize, usize) {
        (line(&self.z, range.0), line(&self.z, range.1))
    }
}

fn filled(section: &Section, y: &[f64], z: &[f64]) -> Vec<bool> {
    let strips = section.strips();
    let mut cells = Vec::with_capacity((y.len() - 1) * (z.len() - 1));
    for up in z.windows(2) {
        let up = 0.5 * (up[0] + up[1]);
        for across in y.windows(2) {
            let across = 0.5 * (across[0] + across[1]);
            cells.push(strips.iter().any(|strip| {
                (strip.y_low..strip.y_high).contains(&across)
                    && (strip.z_low..strip.z_high).contains(&up)
            }));
        }
    }
    cells
}

/// The line nearest to a place.
pub(super) fn line(lines: &[f64], at: f64) -> usize {
    let mut best = 0;
    for (index, line) in lines.iter().enumerate() {
        if (line - at).abs() < (lines[best] - at).abs() {
            best = index;
        }
    }
    best
}

/// `hard` lines, sorted, and between them as many more, evenly, as the requests and the greatest distance ask.
fn divided(hard: &[f64], requests: &[Request], greatest: f64) -> Vec<f64> {
    let mut hard = hard.to_vec();
    hard.sort_by(f64::total_cmp);
    hard.dedup_by(|later, earlier| *later - *earlier < SAME_LINE_MM);
    let mut lines = vec![hard[0]];
    for pair in hard.windows(2) {
        let length = pair[1] - pair[0];
        let middle = 0.5 * (pair[0] + pair[1]);
        let mut count = (length / greatest - 1e-9).ceil().max(1.0) as usize;
        for request in requests {
            if request.from < middle && middle < request.to {
                let share = length / (request.to - request.from);
                // A third of a division is no reason for another.
                let wanted = (share * request.count as f64 - 0.34).ceil().max(1.0);
                count = count.max(wanted as usize);
            }
        }
        for step in 1..count {
            lines.push(pair[0] + length * step as f64 / count as f64);
        }
        lines.push(pair[1]);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_shared_out() {
        let request = Request {
            from: 1.0,
            to: 4.0,
            count: 4,
        };
        let lines = divided(&[0.0, 4.0, 1.0, 2.0, 1.0 + 1e-9], &[request], 10.0);
        assert_eq!(
            lines,
            [0.0, 1.0, 2.0, 2.0 + 2.0 / 3.0, 2.0 + 4.0 / 3.0, 4.0]
        );
        assert_eq!(divided(&[0.0, 3.0], &[], 1.5), [0.0, 1.5, 3.0]);
    }
}
