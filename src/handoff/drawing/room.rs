//! Room that words take on paper, at any slope.

use super::Point;

/// A rectangle at any slope: middle, half of length and height, and the unit vector along its length.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Room {
    pub(crate) middle: Point,
    pub(crate) half: Point,
    pub(crate) along: Point,
}

impl Room {
    /// An upright rectangle from its upper left and lower right corner.
    pub(crate) fn upright(low: Point, high: Point) -> Room {
        Room {
            middle: (0.5 * (low.0 + high.0), 0.5 * (low.1 + high.1)),
            half: (0.5 * (high.0 - low.0), 0.5 * (high.1 - low.1)),
            along: (1.0, 0.0),
        }
    }

    /// The same, so many mm larger on every side.
    pub(crate) fn grown(self, by: f64) -> Room {
        Room {
            half: (self.half.0 + by, self.half.1 + by),
            ..self
        }
    }

    pub(crate) fn moved(self, (dx, dy): Point) -> Room {
        Room {
            middle: (self.middle.0 + dx, self.middle.1 + dy),
            ..self
        }
    }

    fn axes(&self) -> [Point; 2] {
        [self.along, (-self.along.1, self.along.0)]
    }

    pub(crate) fn corners(&self) -> [Point; 4] {
        let [u, v] = self.axes();
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(a, b)| {
            let (a, b) = (a * self.half.0, b * self.half.1);
            (
                self.middle.0 + a * u.0 + b * v.0,
                self.middle.1 + a * u.1 + b * v.1,
            )
        })
    }

    /// Whether two rectangles share a point (separating axes).
    pub(crate) fn meets(&self, other: &Room) -> bool {
        let apart = (
            other.middle.0 - self.middle.0,
            other.middle.1 - self.middle.1,
        );
        let (own, theirs) = (self.axes(), other.axes());
        own.iter().chain(&theirs).all(|&axis| {
            let reach = |room: &Room| {
                let [u, v] = room.axes();
                room.half.0 * dot(u, axis).abs() + room.half.1 * dot(v, axis).abs()
            };
            dot(apart, axis).abs() < reach(self) + reach(other)
        })
    }

    /// Whether a straight line between two points passes through the rectangle.
    pub(crate) fn crossed(&self, from: Point, to: Point) -> bool {
        let [u, v] = self.axes();
        let local = |p: Point| {
            let d = (p.0 - self.middle.0, p.1 - self.middle.1);
            (dot(d, u), dot(d, v))
        };
        let (a, b) = (local(from), local(to));
        // The share of the line that lies between each pair of sides (Liang and Barsky 1984).
        let (mut first, mut last) = (0.0_f64, 1.0_f64);
        for (start, way, half) in [(a.0, b.0 - a.0, self.half.0), (a.1, b.1 - a.1, self.half.1)] {
            if way.abs() < 1e-12 {
                if start.abs() >= half {
                    return false;
                }
                continue;
            }
            let ends = [(-half - start) / way, (half - start) / way];
            first = first.max(ends[0].min(ends[1]));
            last = last.min(ends[0].max(ends[1]));
        }
        first < last
    }
}

pub(crate) fn dot(a: Point, b: Point) -> f64 {
    a.0 * b.0 + a.1 * b.1
}

/// Whether two straight lines cross between their ends.
pub(crate) fn lines_cross(a: (Point, Point), b: (Point, Point)) -> bool {
    let side =
        |(p, q): (Point, Point), r: Point| (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0);
    side(a, b.0) * side(a, b.1) < -1e-9 && side(b, a.0) * side(b, a.1) < -1e-9
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rectangles_and_lines_meet_where_they_do() {
        let flat = Room::upright((0.0, 0.0), (4.0, 2.0));
        assert!(flat.meets(&Room::upright((3.0, 1.0), (5.0, 3.0))));
        assert!(!flat.meets(&Room::upright((4.1, 0.0), (5.0, 2.0))));
        // A square on its corner: its box would meet, it does not.
        let half = 0.5_f64.sqrt();
        let tilted = Room {
            middle: (5.2, 3.2),
            half: (1.0, 1.0),
            along: (half, half),
        };
        assert!(!flat.meets(&tilted));
        assert!(flat.meets(&tilted.moved((-1.0, -1.0))));
        assert!(flat.crossed((-1.0, 1.0), (5.0, 1.0)));
        assert!(flat.crossed((1.0, 1.0), (1.5, 1.0)));
        assert!(!flat.crossed((-1.0, 2.5), (5.0, 2.1)));
        assert!(!flat.crossed((5.0, -1.0), (5.0, 3.0)));
        assert!(lines_cross(
            ((0.0, 0.0), (2.0, 2.0)),
            ((0.0, 2.0), (2.0, 0.0))
        ));
        assert!(!lines_cross(
            ((0.0, 0.0), (2.0, 2.0)),
            ((0.0, 2.0), (0.9, 1.1))
        ));
    }
}
