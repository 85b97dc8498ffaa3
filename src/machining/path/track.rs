//! Ways in the plan: lines and arcs end to end, along the frame at an offset.

use super::Route;
use crate::machining::bands::{Band, Run, Span};
use crate::part::{Path, Pose};

/// A line or an arc (centre and turn) in the plan.
#[derive(Clone, Copy, Debug)]
struct Bit {
    from: [f64; 2],
    to: [f64; 2],
    arc: Option<([f64; 2], f64)>,
    length: f64,
}

/// Lines and arcs end to end; a closed one may be gone along for more than a turn.
#[derive(Clone, Debug, Default)]
pub(in crate::machining) struct Track {
    bits: Vec<Bit>,
    pub length: f64,
    pub closed: bool,
}

impl Track {
    pub(in crate::machining) fn end(&self) -> Option<[f64; 2]> {
        self.bits.last().map(|bit| bit.to)
    }

    pub(in crate::machining) fn line(&mut self, from: [f64; 2], to: [f64; 2]) {
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        self.push(Bit {
            from,
            to,
            arc: None,
            length,
        });
    }

    /// A line from where it ends.
    pub(in crate::machining) fn line_to(&mut self, to: [f64; 2]) {
        if let Some(from) = self.end() {
            self.line(from, to);
        }
    }

    /// An arc about a centre, from `from`.
    pub(in crate::machining) fn arc(&mut self, from: [f64; 2], centre: [f64; 2], turn: f64) {
        let radius = (from[0] - centre[0]).hypot(from[1] - centre[1]);
        self.push(Bit {
            from,
            to: turned(from, centre, turn),
            arc: Some((centre, turn)),
            length: radius * turn.abs(),
        });
    }

    pub(super) fn is_empty(&self) -> bool {
        self.bits.is_empty()
    }

    pub(in crate::machining) fn start(&self) -> [f64; 2] {
        self.bits[0].from
    }

    /// Adds the whole of this way to another, joined to it by a line.
    pub(super) fn copy(&self, to: &mut Track) {
        for bit in &self.bits {
            to.line_to(bit.from);
            to.push(*bit);
        }
    }

    /// The same, from its end to its start.
    pub(in crate::machining) fn copy_back(&self, to: &mut Track) {
        for bit in self.bits.iter().rev() {
            to.line_to(bit.to);
            to.push(Bit {
                from: bit.to,
                to: bit.from,
                arc: bit.arc.map(|(centre, turn)| (centre, -turn)),
                length: bit.length,
            });
        }
    }

    /// Adds one turn of this closed way, from a length along it.
    pub(super) fn copy_turn(&self, from: f64, to: &mut Track) {
        let (first, along) = self.place(from);
        let count = self.bits.len();
        for step in 0..=count {
            let bit = &self.bits[(first + step) % count];
            let low = if step == 0 { along } else { 0.0 };
            let high = if step == count { along } else { bit.length };
            if high - low <= 1e-9 {
                continue;
            }
            let share = |at: f64| at / bit.length;
            let point = |at: f64| match bit.arc {
                Some((centre, turn)) => turned(bit.from, centre, share(at) * turn),
                None => {
                    std::array::from_fn(|k| bit.from[k] + share(at) * (bit.to[k] - bit.from[k]))
                }
            };
            to.push(Bit {
                from: point(low),
                to: point(high),
                arc: bit
                    .arc
                    .map(|(centre, turn)| (centre, (share(high) - share(low)) * turn)),
                length: high - low,
            });
        }
    }

    fn push(&mut self, bit: Bit) {
        // A way of no length still has a place.
        if bit.length > 1e-9 || self.bits.is_empty() {
            self.length += bit.length;
            self.bits.push(bit);
        }
    }

    /// The way `y` mm left of a chain of runs that starts at a pose.
    pub(in crate::machining) fn follow(
        &mut self,
        mut pose: Pose,
        runs: impl Iterator<Item = Run>,
        y: f64,
    ) {
        for run in runs {
            let next = pose.advance(run.length, run.curvature);
            let (from, to) = (left(pose, y), left(next, y));
            if self.end().is_some() {
                self.line_to(from);
            }
            if run.curvature == 0.0 {
                self.line(from, to);
            } else if 1.0 - run.curvature * y > 0.0 {
                let centre = left(pose, 1.0 / run.curvature);
                self.arc(from, centre, run.curvature * run.length);
            } else if self.end().is_none() {
                self.line(from, from);
            }
            pose = next;
        }
    }

    /// The way of a tool's centre along a span at `y`, its ends shifted by `ends` mm.
    pub(super) fn along(path: &Path, band: &Band, span: &Span, ends: [f64; 2], y: f64) -> Track {
        let [before, behind] = band.gains(span, ends, y);
        let runs = band.runs_of(span);
        let start = path.pose(span.from).advance(-before, runs[0].curvature);
        let last = runs.len() - 1;
        let shifted = runs.iter().enumerate().map(|(at, run)| Run {
            length: run.length
                + if at == 0 { before } else { 0.0 }
                + if at == last { behind } else { 0.0 },
            ..*run
        });
        let mut track = Track {
            closed: band.ring,
            ..Track::default()
        };
        track.follow(start, shifted, y);
        track
    }

    /// Which bit a length along the way lies on, and how far along that bit.
    fn place(&self, at: f64) -> (usize, f64) {
        let mut left = if self.closed && self.length > 0.0 {
            at.rem_euclid(self.length)
        } else {
            at.clamp(0.0, self.length)
        };
        for (index, bit) in self.bits.iter().enumerate() {
            if left <= bit.length || index + 1 == self.bits.len() {
                return (index, left.min(bit.length));
            }
            left -= bit.length;
        }
        (0, 0.0)
    }

    /// The point at a length along the way.
    pub(in crate::machining) fn point(&self, at: f64) -> [f64; 2] {
        let (index, along) = self.place(at);
        let bit = &self.bits[index];
        if bit.length <= 0.0 {
            return bit.from;
        }
        let share = along / bit.length;
        match bit.arc {
            None => std::array::from_fn(|k| bit.from[k] + share * (bit.to[k] - bit.from[k])),
            Some((centre, turn)) => turned(bit.from, centre, share * turn),
        }
    }

    /// The unit vector to the left of the way at a length along it.
    pub(in crate::machining) fn left_of(&self, at: f64) -> [f64; 2] {
        let (index, _) = self.place(at);
        let bit = &self.bits[index];
        if bit.length <= 0.0 {
            return [0.0; 2];
        }
        match bit.arc {
            None => [
                -(bit.to[1] - bit.from[1]) / bit.length,
                (bit.to[0] - bit.from[0]) / bit.length,
            ],
            Some((centre, turn)) => {
                let point = self.point(at);
                let (dx, dy) = (centre[0] - point[0], centre[1] - point[1]);
                let size = dx.hypot(dy) * turn.signum();
                [dx / size, dy / size]
            }
        }
    }

    /// The length along a closed way whose point is nearest to a place, within a hundredth of the way.
    pub(super) fn nearest(&self, to: [f64; 3]) -> f64 {
        let apart = |at: f64| {
            let [x, y] = self.point(at);
            (x - to[0]).hypot(y - to[1])
        };
        let places = (0..100).map(|k| 0.01 * f64::from(k) * self.length);
        places
            .min_by(|a, b| apart(*a).total_cmp(&apart(*b)))
            .unwrap_or(0.0)
    }

    /// Goes at feed from one length along the way to another, by a line to the first, descending evenly to `z`.
    pub(in crate::machining) fn go(
        &self,
        route: &mut Route,
        from: f64,
        to: f64,
        z: f64,
        feed: f64,
    ) {
        let start = self.point(from);
        let high = route.at[2];
        route.line(start, high, feed);
        let total = (to - from).abs();
        if total <= 1e-9 {
            route.line(start, z, feed);
            return;
        }
        let mut at = from;
        while (to - at).abs() > 1e-9 {
            let (bit, next) = self.stretch(at, to);
            let share = ((next - from).abs() / total).min(1.0);
            let height = high + share * (z - high);
            let length = (next - at).abs();
            match bit.arc {
                Some((centre, turn)) if bit.length > 0.0 => {
                    let turn = turn * length / bit.length;
                    route.arc(centre, if to > from { turn } else { -turn }, height, feed);
                }
                _ => route.line(self.point_towards(next, to > from), height, feed),
            }
            at = next;
        }
    }

    /// The bit on which the way from `at` towards `to` goes on, and how far along the whole way it does.
    fn stretch(&self, at: f64, to: f64) -> (&Bit, f64) {
        let forward = to > at;
        let lap = if self.closed && self.length > 0.0 {
            // The turn in which the next little piece lies.
            ((at + if forward { 1e-9 } else { -1e-9 }) / self.length).floor() * self.length
        } else {
            0.0
        };
        let mut start = lap;
        let last = self.bits.len() - 1;
        for (index, bit) in self.bits.iter().enumerate() {
            let end = start + bit.length;
            if forward && (at < end - 1e-9 || index == last) {
                return (
                    bit,
                    if index == last && at >= end - 1e-9 {
                        to
                    } else {
                        to.min(end)
                    },
                );
            }
            if !forward && at <= end + 1e-9 && at > start + 1e-9 {
                return (bit, to.max(start));
            }
            start = end;
        }
        (&self.bits[0], to)
    }

    /// The point at a length that ends a bit, taken from the bit behind or ahead of it.
    fn point_towards(&self, at: f64, forward: bool) -> [f64; 2] {
        if self.closed && forward && self.length > 0.0 {
            let rest = at.rem_euclid(self.length);
            if rest < 1e-9 {
                return self.bits[self.bits.len() - 1].to;
            }
        }
        self.point(at)
    }
}

/// The point `y` mm left of a pose.
pub(in crate::machining) fn left(pose: Pose, y: f64) -> [f64; 2] {
    let (x, y) = pose.left(y);
    [x, y]
}

/// A point turned about a centre.
fn turned(point: [f64; 2], centre: [f64; 2], turn: f64) -> [f64; 2] {
    let (sin, cos) = turn.sin_cos();
    let (dx, dy) = (point[0] - centre[0], point[1] - centre[1]);
    [
        centre[0] + dx * cos - dy * sin,
        centre[1] + dx * sin + dy * cos,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of 10 mm gone around one and a half times, and back: lengths and places.
    #[test]
    fn a_closed_way_is_gone_along_for_more_than_a_turn() {
        let mut square = Track {
            closed: true,
            ..Track::default()
        };
        square.line([0.0, 0.0], [10.0, 0.0]);
        square.line_to([10.0, 10.0]);
        square.line_to([0.0, 10.0]);
        square.line_to([0.0, 0.0]);
        let mut route = Route::from([5.0, 0.0, 3.0]);
        square.go(&mut route, 5.0, 65.0, 0.0, 1.0);
        let length: f64 = route.moves.iter().map(super::super::Move::length_mm).sum();
        assert!((length - 60f64.hypot(3.0)).abs() < 1e-9, "{length}");
        assert_eq!(route.moves.len(), 7);
        let [x, y, z] = route.at;
        assert!((x - 5.0).abs() < 1e-9 && (y - 10.0).abs() < 1e-9 && z.abs() < 1e-9);
        square.go(&mut route, 65.0, 5.0, 0.0, 1.0);
        let back: f64 = route.moves[7..]
            .iter()
            .map(super::super::Move::length_mm)
            .sum();
        assert!((back - 60.0).abs() < 1e-9, "{back}");
        assert!((route.at[0] - 5.0).abs() < 1e-9 && route.at[1].abs() < 1e-9);
    }

    /// Half a ring 20 mm in radius, 5 mm inside and outside of it.
    #[test]
    fn offsets_of_an_arc_have_their_own_radius() {
        let pose = Pose {
            x: 20.0,
            y: 0.0,
            heading: std::f64::consts::FRAC_PI_2,
        };
        let half = Run {
            length: 20.0 * std::f64::consts::PI,
            curvature: 0.05,
        };
        for (y, radius) in [(5.0, 15.0), (-5.0, 25.0)] {
            let mut track = Track::default();
            track.follow(pose, [half].into_iter(), y);
            assert!((track.length - radius * std::f64::consts::PI).abs() < 1e-9);
            let [x, _] = track.point(track.length);
            assert!((x + radius).abs() < 1e-9);
            let [lx, ly] = track.left_of(0.0);
            assert!((lx + 1.0).abs() < 1e-9 && ly.abs() < 1e-9);
        }
    }
}
