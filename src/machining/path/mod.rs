//! The whole way of a tool, move by move: lines, arcs and helices in plan coordinates.

mod expand;
mod holes;
mod track;

pub(super) use expand::expand;
pub(super) use holes::drilled;
pub(super) use track::{Track, left};

/// How a move is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Motion {
    /// As fast as the machine can, clear of metal.
    Rapid,
    /// At a feed.
    Feed,
    /// Not at all: the machine settles, or the part is turned.
    Wait,
}

/// An arc in the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Centre (x, y), in mm.
    pub centre_mm: [f64; 2],
    /// Turn about it in rad, counter-clockwise positive; more than a full turn on a helix.
    pub turn: f64,
}

/// One move of the tool's tip: a line, or an arc in the plan with a steady descent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Rapid, at feed, or none.
    pub motion: Motion,
    /// Start (x, y, z), in mm: plan coordinates, z from the underside of the part (from the face that lies down,
    /// where it is turned over).
    pub from_mm: [f64; 3],
    /// End (x, y, z), in mm.
    pub to_mm: [f64; 3],
    /// The arc; `None` for a line.
    pub arc: Option<Arc>,
    /// Highest speed that the motion allows on it, bends included, in mm/s; 0 for a wait.
    pub most_mm_s: f64,
    /// Acceleration along it that the machine allows, in mm/s².
    pub acceleration_mm_s2: f64,
    /// Speed at its start, in mm/s.
    pub enter_mm_s: f64,
    /// Speed at its end, in mm/s.
    pub leave_mm_s: f64,
    /// Time that it takes, in s.
    pub time_s: f64,
}

impl Move {
    /// Length, in mm.
    pub fn length_mm(&self) -> f64 {
        let (flat, down) = self.extents();
        flat.hypot(down)
    }

    /// Lengths in the plan and along z, in mm; the latter is negative downward.
    pub(super) fn extents(&self) -> (f64, f64) {
        let [dx, dy, dz] = std::array::from_fn(|at| self.to_mm[at] - self.from_mm[at]);
        let flat = match self.arc {
            None => dx.hypot(dy),
            Some(arc) => arc.turn.abs() * self.radius_mm(),
        };
        (flat, dz)
    }

    /// Radius in the plan in mm; infinite for a line.
    pub fn radius_mm(&self) -> f64 {
        self.arc.map_or(f64::INFINITY, |arc| {
            (self.from_mm[0] - arc.centre_mm[0]).hypot(self.from_mm[1] - arc.centre_mm[1])
        })
    }

    /// Place (x, y, z) in mm at a share of its length, from 0 to 1.
    pub fn point_mm(&self, share: f64) -> [f64; 3] {
        let [x, y, z] = std::array::from_fn(|at| {
            self.from_mm[at] + share * (self.to_mm[at] - self.from_mm[at])
        });
        match self.arc {
            None => [x, y, z],
            Some(arc) => {
                let [cx, cy] = arc.centre_mm;
                let (sin, cos) = (share * arc.turn).sin_cos();
                let (dx, dy) = (self.from_mm[0] - cx, self.from_mm[1] - cy);
                [cx + dx * cos - dy * sin, cy + dx * sin + dy * cos, z]
            }
        }
    }

    /// Direction at its start and at its end: unit vectors.
    pub(super) fn directions(&self) -> [[f64; 3]; 2] {
        let (flat, down) = self.extents();
        let length = flat.hypot(down);
        if length <= 0.0 {
            return [[0.0; 3]; 2];
        }
        let Some(arc) = self.arc else {
            let way: [f64; 3] =
                std::array::from_fn(|at| (self.to_mm[at] - self.from_mm[at]) / length);
            return [way, way];
        };
        let (radius, sign) = (self.radius_mm(), arc.turn.signum());
        let tangent = |at: [f64; 3]| {
            let (dx, dy) = (at[0] - arc.centre_mm[0], at[1] - arc.centre_mm[1]);
            let flat = sign * flat / (length * radius);
            [-dy * flat, dx * flat, down / length]
        };
        [tangent(self.from_mm), tangent(self.point_mm(1.0))]
    }
}

/// Moves as they are gathered: each begins where the one before it ended.
#[derive(Clone, Debug)]
pub(super) struct Route {
    pub at: [f64; 3],
    pub moves: Vec<Move>,
}

impl Route {
    pub(super) fn from(at: [f64; 3]) -> Route {
        Route {
            at,
            moves: Vec::new(),
        }
    }

    fn push(&mut self, motion: Motion, to: [f64; 3], arc: Option<Arc>, feed: f64) {
        let step = Move {
            motion,
            from_mm: self.at,
            to_mm: to,
            arc,
            most_mm_s: feed,
            acceleration_mm_s2: 0.0,
            enter_mm_s: 0.0,
            leave_mm_s: 0.0,
            time_s: 0.0,
        };
        if step.length_mm() > 1e-9 {
            self.moves.push(step);
            self.at = to;
        }
    }

    /// Rapid to a place in the plan.
    pub(super) fn over(&mut self, [x, y]: [f64; 2]) {
        self.push(Motion::Rapid, [x, y, self.at[2]], None, f64::INFINITY);
    }

    /// Rapid to a height.
    pub(super) fn rise(&mut self, z: f64) {
        let [x, y, _] = self.at;
        self.push(Motion::Rapid, [x, y, z], None, f64::INFINITY);
    }

    /// At feed to a height.
    pub(super) fn plunge(&mut self, z: f64, feed: f64) {
        let [x, y, _] = self.at;
        self.push(Motion::Feed, [x, y, z], None, feed);
    }

    /// At feed in a line to a place in the plan and a height.
    pub(super) fn line(&mut self, [x, y]: [f64; 2], z: f64, feed: f64) {
        self.push(Motion::Feed, [x, y, z], None, feed);
    }

    /// At feed about a centre, to a height.
    pub(super) fn arc(&mut self, centre: [f64; 2], turn: f64, z: f64, feed: f64) {
        let (dx, dy) = (self.at[0] - centre[0], self.at[1] - centre[1]);
        let (sin, cos) = turn.sin_cos();
        let to = [
            centre[0] + dx * cos - dy * sin,
            centre[1] + dx * sin + dy * cos,
            z,
        ];
        let arc = Arc {
            centre_mm: centre,
            turn,
        };
        self.push(Motion::Feed, to, Some(arc), feed);
    }

    /// Stands still.
    pub(super) fn wait(&mut self, time_s: f64) {
        if time_s > 0.0 {
            self.moves.push(Move {
                motion: Motion::Wait,
                from_mm: self.at,
                to_mm: self.at,
                arc: None,
                most_mm_s: 0.0,
                acceleration_mm_s2: 0.0,
                enter_mm_s: 0.0,
                leave_mm_s: 0.0,
                time_s,
            });
        }
    }
}
