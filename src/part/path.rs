//! Path: a planar chain of straight lines and circular arcs, tangent-continuous, closed or open.

use std::f64::consts::{PI, TAU};
use std::fmt;

/// One piece of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Piece {
    /// Straight, of a length in mm.
    Line {
        /// Length, in mm; positive.
        length_mm: f64,
    },
    /// Circular, of a radius in mm, turning by an angle in rad.
    Arc {
        /// Radius of the path, in mm; positive.
        radius_mm: f64,
        /// Turn, in rad: positive to the left, negative to the right.
        angle: f64,
    },
}

impl Piece {
    /// Length along the path, in mm.
    pub fn length_mm(&self) -> f64 {
        match *self {
            Piece::Line { length_mm } => length_mm,
            Piece::Arc { radius_mm, angle } => radius_mm * angle.abs(),
        }
    }

    /// Signed curvature in 1/mm, positive where the path turns left.
    pub fn curvature(&self) -> f64 {
        match *self {
            Piece::Line { .. } => 0.0,
            Piece::Arc { radius_mm, angle } => angle.signum() / radius_mm,
        }
    }

    /// Turn of the heading over the piece, in rad.
    fn turn(&self) -> f64 {
        match *self {
            Piece::Line { .. } => 0.0,
            Piece::Arc { angle, .. } => angle,
        }
    }
}

/// Place and direction on the path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// x in the plan, in mm.
    pub x: f64,
    /// y in the plan, in mm.
    pub y: f64,
    /// Direction of travel from the plan's x axis, in rad, counter-clockwise.
    pub heading: f64,
}

impl Pose {
    /// The pose after travelling `length` mm with constant `curvature` (1/mm).
    pub fn advance(self, length: f64, curvature: f64) -> Pose {
        let turn = curvature * length;
        let (along, across) = if turn.abs() < 1e-12 {
            (length, 0.0)
        } else {
            (turn.sin() / curvature, (1.0 - turn.cos()) / curvature)
        };
        let (sin, cos) = self.heading.sin_cos();
        Pose {
            x: self.x + along * cos - across * sin,
            y: self.y + along * sin + across * cos,
            heading: self.heading + turn,
        }
    }

    /// The point `offset` mm to the left of the path.
    pub fn left(self, offset: f64) -> (f64, f64) {
        let (sin, cos) = self.heading.sin_cos();
        (self.x - offset * sin, self.y + offset * cos)
    }
}

/// Centreline of the frame. Closed paths run counter-clockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    pieces: Vec<Piece>,
    closed: bool,
    start: Pose,
}

/// Why a path cannot be.
#[derive(Clone, Debug, PartialEq)]
pub enum PathError {
    /// The chain has no piece.
    Empty,
    /// A length or radius is not a positive, finite number, or a turn is zero or more than a full turn.
    Size {
        /// Which piece, from 0.
        piece: usize,
        /// The value, in mm or rad.
        value: f64,
    },
    /// A closed chain does not come back to its start.
    Open {
        /// Distance between end and start, in mm.
        gap_mm: f64,
        /// Difference in direction, in rad, less a full turn.
        turn: f64,
    },
}

impl fmt::Display for PathError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PathError::Empty => write!(f, "the path has no piece"),
            PathError::Size { piece, value } => write!(
                f,
                "piece {} of the path has the size {value}, which must be positive, finite and at most a full turn",
                piece + 1
            ),
            PathError::Open { gap_mm, turn } => write!(
                f,
                "the closed path misses its start by {gap_mm:.4} mm and {:.4} deg",
                turn.to_degrees()
            ),
        }
    }
}

impl std::error::Error for PathError {}

impl Path {
    /// A circle of the given radius in mm, starting at the plan's x axis.
    ///
    /// # Errors
    /// [`PathError::Size`] where the radius is not positive and finite.
    pub fn circle(radius: f64) -> Result<Path, PathError> {
        let arc = Piece::Arc {
            radius_mm: radius,
            angle: TAU,
        };
        Path::build(
            vec![arc],
            true,
            Pose {
                x: radius,
                y: 0.0,
                heading: 0.5 * PI,
            },
        )
    }

    /// A stadium: two straight sides of `length` mm joined by half circles of `radius` mm. It starts in the
    /// middle of the right-hand half circle.
    ///
    /// # Errors
    /// [`PathError::Size`].
    pub fn stadium(length: f64, radius: f64) -> Result<Path, PathError> {
        let quarter = Piece::Arc {
            radius_mm: radius,
            angle: 0.5 * PI,
        };
        let half = Piece::Arc {
            radius_mm: radius,
            angle: PI,
        };
        let side = Piece::Line { length_mm: length };
        Path::build(
            vec![quarter, side, half, side, quarter],
            true,
            Pose {
                x: 0.5 * length + radius,
                y: 0.0,
                heading: 0.5 * PI,
            },
        )
    }

    /// A rounded rectangle, `length` by `width` mm over the path, corners of `radius` mm. It starts in the
    /// middle of the right-hand side.
    ///
    /// # Errors
    /// [`PathError::Size`], also where a side is not longer than two radii (its straight piece is the
    /// offending one).
    pub fn rounded_rectangle(length: f64, width: f64, radius: f64) -> Result<Path, PathError> {
        let corner = Piece::Arc {
            radius_mm: radius,
            angle: 0.5 * PI,
        };
        let long = Piece::Line {
            length_mm: length - 2.0 * radius,
        };
        let short = width - 2.0 * radius;
        let half_short = Piece::Line {
            length_mm: 0.5 * short,
        };
        Path::build(
            vec![
                half_short,
                corner,
                long,
                corner,
                Piece::Line { length_mm: short },
                corner,
                long,
                corner,
                half_short,
            ],
            true,
            Pose {
                x: 0.5 * length,
                y: 0.0,
                heading: 0.5 * PI,
            },
        )
    }

    /// A free chain of lines and arcs, starting at the origin along x.
    ///
    /// # Errors
    /// [`PathError`]: no piece, a bad size, or `closed` and the chain does not close (counter-clockwise, one
    /// full turn, within 1e-6 of its length).
    pub fn chain(pieces: Vec<Piece>, closed: bool) -> Result<Path, PathError> {
        Path::build(
            pieces,
            closed,
            Pose {
                x: 0.0,
                y: 0.0,
                heading: 0.0,
            },
        )
    }

    fn build(pieces: Vec<Piece>, closed: bool, start: Pose) -> Result<Path, PathError> {
        if pieces.is_empty() {
            return Err(PathError::Empty);
        }
        for (piece, each) in pieces.iter().enumerate() {
            let bad = match *each {
                Piece::Line { length_mm } => {
                    (!(length_mm > 0.0 && length_mm.is_finite())).then_some(length_mm)
                }
                Piece::Arc { radius_mm, angle } => {
                    if !(radius_mm > 0.0 && radius_mm.is_finite()) {
                        Some(radius_mm)
                    } else if angle == 0.0 || !(angle.abs() <= TAU + 1e-12) {
                        Some(angle)
                    } else {
                        None
                    }
                }
            };
            if let Some(value) = bad {
                return Err(PathError::Size { piece, value });
            }
        }
        let path = Path {
            pieces,
            closed,
            start,
        };
        if closed {
            let end = path.pieces.iter().fold(start, |pose, piece| {
                pose.advance(piece.length_mm(), piece.curvature())
            });
            let gap_mm = (end.x - start.x).hypot(end.y - start.y);
            let turn = path.pieces.iter().map(Piece::turn).sum::<f64>() - TAU;
            if gap_mm > 1e-6 * path.length_mm() || turn.abs() > 1e-6 {
                return Err(PathError::Open { gap_mm, turn });
            }
        }
        Ok(path)
    }

    /// The pieces in order.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// Whether the path comes back to its start.
    pub fn closed(&self) -> bool {
        self.closed
    }

    /// Where the path starts.
    pub fn start(&self) -> Pose {
        self.start
    }

    /// Length of the path, in mm.
    pub fn length_mm(&self) -> f64 {
        self.pieces.iter().map(Piece::length_mm).sum()
    }

    /// Place and direction at a station in mm; beyond the ends the last piece goes on (open), or the station
    /// wraps (closed).
    pub fn pose(&self, station: f64) -> Pose {
        let mut left = if self.closed {
            around(station, self.length_mm())
        } else {
            station
        };
        let mut pose = self.start;
        for (index, piece) in self.pieces.iter().enumerate() {
            let length = piece.length_mm();
            if left <= length || index + 1 == self.pieces.len() {
                return pose.advance(left, piece.curvature());
            }
            pose = pose.advance(length, piece.curvature());
            left -= length;
        }
        pose
    }

    /// Signed curvature at a station, in 1/mm; at a joint that of the piece that follows.
    pub fn curvature(&self, station: f64) -> f64 {
        let mut left = if self.closed {
            around(station, self.length_mm())
        } else {
            station
        };
        for (index, piece) in self.pieces.iter().enumerate() {
            let length = piece.length_mm();
            if left < length || index + 1 == self.pieces.len() {
                return piece.curvature();
            }
            left -= length;
        }
        0.0
    }
}

/// A station of a closed path brought into one turn: the remainder, which within a turn of it takes no division.
pub(super) fn around(station: f64, length: f64) -> f64 {
    if 0.0 <= station && station < length {
        station
    } else if -length < station && station < 0.0 {
        station + length
    } else {
        station.rem_euclid(length)
    }
}
