//! Places in a slab: from the path's coordinates (s, y) to the plan and back.

use crate::part::{Path, Pose};

/// A stretch of path, its own start at the origin along x.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Bend {
    /// (length in mm, curvature in 1/mm), in order.
    pub pieces: Vec<(f64, f64)>,
}

impl Bend {
    /// The path from `from` to `to` mm; on a closed path they may pass its ends.
    pub fn of(path: &Path, from: f64, to: f64) -> Bend {
        let length = path.length_mm();
        let turns: &[f64] = if path.closed() {
            &[-1.0, 0.0, 1.0, 2.0]
        } else {
            &[0.0]
        };
        let mut pieces: Vec<(f64, f64)> = Vec::new();
        for turn in turns {
            let mut at = turn * length;
            for piece in path.pieces() {
                let end = at + piece.length_mm();
                let share = end.min(to) - at.max(from);
                if share > 1e-7 {
                    let curvature = piece.curvature();
                    match pieces.last_mut() {
                        Some(last) if last.1 == curvature => last.0 += share,
                        _ => pieces.push((share, curvature)),
                    }
                }
                at = end;
            }
        }
        Bend { pieces }
    }

    pub fn reversed(&self) -> Bend {
        Bend {
            pieces: self.pieces.iter().rev().copied().collect(),
        }
    }

    /// Pose at `s` mm; the last piece goes on beyond the end, the first before the start.
    pub fn pose(&self, s: f64) -> Pose {
        let mut pose = Pose {
            x: 0.0,
            y: 0.0,
            heading: 0.0,
        };
        let mut left = s;
        let last = self.pieces.len() - 1;
        for (index, &(length, curvature)) in self.pieces.iter().enumerate() {
            if left <= length || index == last {
                return pose.advance(left, curvature);
            }
            pose = pose.advance(length, curvature);
            left -= length;
        }
        pose
    }

    /// Greatest curvature without its sign, in 1/mm.
    pub fn tightest(&self) -> f64 {
        self.pieces
            .iter()
            .map(|piece| piece.1.abs())
            .fold(0.0, f64::max)
    }

    /// Coordinates (s, y) of the point at `along` and `left` mm from the point `y` beside the path at `s`,
    /// measured in the axes there.
    pub fn beside(&self, s: f64, y: f64, along: f64, left: f64) -> (f64, f64) {
        let pose = self.pose(s);
        let (sin, cos) = pose.heading.sin_cos();
        let (x0, y0) = pose.left(y + left);
        let point = (x0 + along * cos, y0 + along * sin);
        let mut at = s + along;
        for _ in 0..30 {
            let pose = self.pose(at);
            let (sin, cos) = pose.heading.sin_cos();
            let (dx, dy) = (point.0 - pose.x, point.1 - pose.y);
            let ahead = dx * cos + dy * sin;
            let off = dy * cos - dx * sin;
            let stretch = (1.0 - self.curvature(at) * off).max(0.05);
            at += ahead / stretch;
            if ahead.abs() < 1e-13 {
                break;
            }
        }
        let pose = self.pose(at);
        let (sin, cos) = pose.heading.sin_cos();
        (at, (point.1 - pose.y) * cos - (point.0 - pose.x) * sin)
    }

    /// Station of the point on the surface `y` beside the path that lies `along` mm ahead of the point beside
    /// the path at `s`, measured along the path's direction there.
    pub fn ahead(&self, s: f64, y: f64, along: f64) -> f64 {
        let start = self.pose(s);
        let (sin, cos) = start.heading.sin_cos();
        let mut at = s + along;
        for _ in 0..30 {
            let pose = self.pose(at);
            let (x, left) = pose.left(y);
            let gone = (x - start.x) * cos + (left - start.y) * sin;
            let miss = along - gone;
            let slope = (1.0 - self.curvature(at) * y) * (pose.heading - start.heading).cos();
            at += miss / slope.max(0.05);
            if miss.abs() < 1e-13 {
                break;
            }
        }
        at
    }

    fn curvature(&self, s: f64) -> f64 {
        let mut left = s;
        for &(length, curvature) in &self.pieces {
            if left <= length {
                return curvature;
            }
            left -= length;
        }
        self.pieces[self.pieces.len() - 1].1
    }
}
