//! A hole drilled across a wall, and its rim on the wall's faces.

use std::f64::consts::TAU;

use super::geometry::{Curve, Frame, Vec3};
use super::grid::{Point, Shape, left};
use super::spline::Spline;
use crate::part::Pose;

/// A spline keeps this near to the curve that it stands for, in mm.
const FIT_MM: f64 = 2e-9;

/// Most pieces of a spline round a whole rim.
const MOST_PIECES: usize = 640;

/// A cylinder across the path at a station. An angle `phi` goes round it from the direction of travel upwards; `u`
/// is the distance from its axis along the direction of travel, `a` the distance along its axis from the path.
#[derive(Clone, Copy, Debug)]
pub struct Tube {
    /// Point of the path.
    pub centre: Point,
    /// Direction of travel.
    pub along: Point,
    /// Direction of the axis: to the left of the path.
    pub across: Point,
    /// Height of the axis, in mm.
    pub height: f64,
    /// Radius, in mm.
    pub radius: f64,
}

/// The side of a wall in a tube's own coordinates: `a` as a function of `u`.
#[derive(Clone, Copy, Debug)]
enum Side {
    /// a = at + slope u.
    Straight { at: f64, slope: f64 },
    /// a = middle + side sqrt(radius² - (u - shift)²).
    Round {
        middle: f64,
        shift: f64,
        radius: f64,
        side: f64,
    },
}

impl Tube {
    /// The hole at a pose of the path.
    pub fn new(pose: Pose, height: f64, radius: f64) -> Tube {
        let centre = left(pose, 0.0);
        let across = left(pose, 1.0) - centre;
        Tube {
            centre,
            along: Point::new(across.y, -across.x),
            across,
            height,
            radius,
        }
    }

    /// Point at `u`, `a` and a height.
    pub fn point(&self, u: f64, a: f64, z: f64) -> Vec3 {
        let plan = self.centre + self.along * u + self.across * a;
        Vec3::new(plan.x, plan.y, z)
    }

    /// A circle round the tube at `a`, run as `phi` does.
    pub fn circle(&self, a: f64) -> Curve {
        Curve::Circle {
            frame: Frame::new(self.point(0.0, a, self.height), -self.axis()),
            radius: self.radius,
        }
    }

    /// Direction of the axis in space.
    pub fn axis(&self) -> Vec3 {
        Vec3::new(self.across.x, self.across.y, 0.0)
    }

    /// `a` of the side of a wall at `u`, nearest to a side at `y` on the axis. Not a number where there is none.
    pub fn side(&self, shape: Shape, y: f64, u: f64) -> f64 {
        self.own(shape, y).jet([u, 0.0, 0.0, 0.0])[0]
    }

    fn own(&self, shape: Shape, y: f64) -> Side {
        match shape {
            Shape::Line { point, direction } => {
                let from = point - self.centre;
                let (u, a) = (from.dot(&self.along), from.dot(&self.across));
                let slope = direction.dot(&self.across) / direction.dot(&self.along);
                // Noise of the last bits would make a plane's circle a spline.
                let slope = if slope.abs() < 1e-12 { 0.0 } else { slope };
                Side::Straight {
                    at: a - slope * u,
                    slope,
                }
            }
            Shape::Circle { centre, radius, .. } => {
                let from = centre - self.centre;
                let middle = from.dot(&self.across);
                Side::Round {
                    middle,
                    shift: from.dot(&self.along),
                    radius,
                    side: (y - middle).signum(),
                }
            }
        }
    }

    /// The rim on a side from one `phi` to a greater one.
    pub fn rim(&self, shape: Shape, y: f64, from: f64, to: f64) -> Curve {
        let side = self.own(shape, y);
        if let Side::Straight { at, slope: 0.0 } = side {
            return self.circle(at);
        }
        let jet = |phi: f64| self.jet(side, phi);
        let mut pieces = ((to - from) / TAU * 10.0).ceil().max(1.0) as usize;
        loop {
            let spline = Spline::through(jet, from, to, pieces);
            // Between the joints the error is greatest near the middle of a piece.
            let worst = (0..4 * pieces)
                .map(|step| {
                    let share = (step as f64 + 0.5) / (4 * pieces) as f64;
                    (spline.at(share).0 - jet(from + share * (to - from))[0]).norm()
                })
                .fold(0.0, f64::max);
            if !(worst > FIT_MM) || pieces > MOST_PIECES {
                return Curve::Spline(spline);
            }
            pieces = pieces * 3 / 2 + 1;
        }
    }

    /// Point of the rim at `phi` with three derivatives.
    fn jet(&self, side: Side, phi: f64) -> [Vec3; 4] {
        let (sin, cos) = phi.sin_cos();
        let r = self.radius;
        let u = [r * cos, -r * sin, -r * cos, r * sin];
        let z = [r * sin, r * cos, -r * sin, -r * cos];
        let a = side.jet(u);
        let mut jet = [Vec3::zeros(); 4];
        for order in 0..4 {
            let plan = self.along * u[order] + self.across * a[order];
            jet[order] = Vec3::new(plan.x, plan.y, z[order]);
        }
        jet[0] += Vec3::new(self.centre.x, self.centre.y, self.height);
        jet
    }
}

impl Side {
    /// `a` and its derivatives from those of `u`.
    fn jet(&self, u: [f64; 4]) -> [f64; 4] {
        match *self {
            Side::Straight { at, slope } => {
                [at + slope * u[0], slope * u[1], slope * u[2], slope * u[3]]
            }
            Side::Round {
                middle,
                shift,
                radius,
                side,
            } => {
                // g = sqrt(q) with q = radius² - x²: from g² = q by differentiation.
                let x = u[0] - shift;
                let g0 = (radius * radius - x * x).sqrt();
                let q1 = -2.0 * x * u[1];
                let q2 = -2.0 * (u[1] * u[1] + x * u[2]);
                let q3 = -2.0 * (3.0 * u[1] * u[2] + x * u[3]);
                let g1 = q1 / (2.0 * g0);
                let g2 = (q2 - 2.0 * g1 * g1) / (2.0 * g0);
                let g3 = (q3 - 6.0 * g1 * g2) / (2.0 * g0);
                [middle + side * g0, side * g1, side * g2, side * g3]
            }
        }
    }
}
