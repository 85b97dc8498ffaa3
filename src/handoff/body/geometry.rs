//! Curves and surfaces of a body.

use std::f64::consts::TAU;

use nalgebra::Vector3;

use super::Spline;

/// A point or a direction in space; points in mm.
pub type Vec3 = Vector3<f64>;

/// A place with a direction, and a direction across it from which angles count.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// The place, in mm.
    pub origin: Vec3,
    /// Direction, of length 1: normal of a plane or circle, axis of a cylinder or cone.
    pub axis: Vec3,
    /// Direction across the axis, of length 1.
    pub across: Vec3,
}

impl Frame {
    /// A frame whose `across` is chosen: along x, or along z where the axis lies in the plan.
    pub fn new(origin: Vec3, axis: Vec3) -> Frame {
        let across = if axis.z.abs() > 0.5 {
            Vec3::x()
        } else {
            Vec3::z()
        };
        Frame {
            origin,
            axis,
            across,
        }
    }

    /// The third direction, a quarter turn from `across` about the axis.
    pub fn third(&self) -> Vec3 {
        self.axis.cross(&self.across)
    }

    /// Cylinder coordinates of a point: angle in rad (-pi to pi), distance from the axis and along it in mm.
    pub fn polar(&self, point: &Vec3) -> (f64, f64, f64) {
        let from = point - self.origin;
        let (x, y) = (from.dot(&self.across), from.dot(&self.third()));
        (y.atan2(x), x.hypot(y), from.dot(&self.axis))
    }

    /// Direction away from the axis at an angle in rad.
    pub fn outward(&self, angle: f64) -> Vec3 {
        let (sin, cos) = angle.sin_cos();
        self.across * cos + self.third() * sin
    }
}

/// The curve of an edge.
#[derive(Clone, Debug, PartialEq)]
pub enum Curve {
    /// Straight from the edge's start to its end.
    Line,
    /// A circle about a frame's axis, counter-clockwise.
    Circle {
        /// Centre and axis.
        frame: Frame,
        /// Radius, in mm.
        radius: f64,
    },
    /// The rim of a hole in a curved wall.
    Spline(Spline),
}

impl Curve {
    /// Point and derivative at a share 0 to 1 of the way between an edge's ends.
    pub(super) fn along(&self, from: Vec3, to: Vec3, full: bool, share: f64) -> (Vec3, Vec3) {
        match self {
            Curve::Line => (from + (to - from) * share, to - from),
            Curve::Circle { frame, radius } => {
                let start = frame.polar(&from).0;
                let turn = arc(start, frame.polar(&to).0, full);
                let outward = frame.outward(start + share * turn);
                (
                    frame.origin + outward * *radius,
                    frame.axis.cross(&outward) * (radius * turn),
                )
            }
            Curve::Spline(spline) => spline.at(share),
        }
    }

    /// Angle in rad that an edge on a circle runs through; 0 for other curves.
    pub fn turn(&self, from: Vec3, to: Vec3, full: bool) -> f64 {
        match self {
            Curve::Circle { frame, .. } => arc(frame.polar(&from).0, frame.polar(&to).0, full),
            _ => 0.0,
        }
    }
}

/// Angle counter-clockwise from one to another, in rad, of (0, tau].
fn arc(from: f64, to: f64, full: bool) -> f64 {
    if full {
        return TAU;
    }
    let turn = (to - from).rem_euclid(TAU);
    if turn == 0.0 { TAU } else { turn }
}

/// The surface of a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Surface {
    /// A plane through the frame's origin, its axis the normal.
    Plane(Frame),
    /// A cylinder; its own normal points away from the axis.
    Cylinder {
        /// Axis.
        frame: Frame,
        /// Radius, in mm.
        radius: f64,
    },
    /// A cone; its own normal points away from the axis.
    Cone {
        /// A place on the axis, which points where the cone widens.
        frame: Frame,
        /// Radius at the frame's origin, in mm.
        radius: f64,
        /// Angle between axis and surface, in rad.
        half_angle: f64,
    },
}

impl Surface {
    /// Distance of a point from the surface, in mm.
    pub fn distance(&self, point: &Vec3) -> f64 {
        match self {
            Surface::Plane(frame) => (point - frame.origin).dot(&frame.axis).abs(),
            Surface::Cylinder { frame, radius } => (frame.polar(point).1 - radius).abs(),
            Surface::Cone {
                frame,
                radius,
                half_angle,
            } => {
                let (_, out, up) = frame.polar(point);
                ((out - radius) * half_angle.cos() - up * half_angle.sin()).abs()
            }
        }
    }
}
