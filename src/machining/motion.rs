//! Moves limited by speed and acceleration.

use std::f64::consts::PI;

/// Time in s from rest to rest over a distance: s/v + v/a where s ≥ v²/a, else 2 √(s/a).
///
/// `distance` s in mm, `speed` v in mm/s, `acceleration` a in mm/s² (may be infinite). Jerk is left out.
///
/// Source: elementary kinematics.
pub fn move_s(distance: f64, speed: f64, acceleration: f64) -> f64 {
    if distance <= 0.0 {
        0.0
    } else if acceleration * distance >= speed * speed {
        distance / speed + speed / acceleration
    } else {
        2.0 * (distance / acceleration).sqrt()
    }
}

/// Time in s over a distance from one speed to another: up to the highest speed that length and limit allow,
/// then down, p² = (u² + w²)/2 + a s.
///
/// `distance` s in mm; `from` u and `to` w in mm/s, each reachable from the other within s and at most `speed`;
/// `speed` in mm/s; `acceleration` a in mm/s² (may be infinite).
///
/// Source: elementary kinematics.
pub fn trapezoid_s(distance: f64, from: f64, to: f64, speed: f64, acceleration: f64) -> f64 {
    let highest = (0.5 * (from * from + to * to) + acceleration * distance).sqrt();
    let top = speed.min(highest);
    if top <= 0.0 {
        return 0.0;
    }
    let ramps = (2.0 * top * top - from * from - to * to) / (2.0 * acceleration);
    let even = if highest > speed {
        (distance - ramps).max(0.0) / top
    } else {
        0.0
    };
    (2.0 * top - from - to) / acceleration + even
}

/// Highest speed in mm/s through a corner whose rounding may leave it by `deviation`:
/// v² = a e / (1/cos(φ/2) - 1), the speed on the arc that touches both sides and stays e within the corner;
/// 0 where the tool turns by more than a right angle.
///
/// `turn` φ in rad (0: straight on), `acceleration` a in mm/s², `deviation` e in mm.
///
/// Source: elementary geometry; that controllers slow down so is common practice, no source.
pub fn corner_speed_mm_s(turn: f64, acceleration: f64, deviation: f64) -> f64 {
    if turn > 0.5 * PI + 1e-6 {
        return 0.0;
    }
    (acceleration * deviation / (1.0 / (0.5 * turn).cos() - 1.0)).sqrt()
}

/// Highest speed in mm/s on an arc: √(a r), so that the centripetal acceleration v²/r stays within a.
///
/// `radius` r in mm, infinite on a line; `acceleration` a in mm/s².
///
/// Source: elementary kinematics.
pub fn arc_speed_mm_s(radius: f64, acceleration: f64) -> f64 {
    (acceleration * radius).sqrt()
}

/// A drilling cycle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PeckCycle {
    /// Travel below the face, point and breakthrough included, in mm.
    pub depth_mm: f64,
    /// Depth drilled before each retract, in mm; the whole depth for a plain cycle.
    pub peck_mm: f64,
    /// Feed, in mm/s.
    pub feed_mm_s: f64,
    /// Rapid rate along the tool, in mm/s.
    pub rapid_mm_s: f64,
    /// Acceleration along the tool, in mm/s²; may be infinite.
    pub acceleration_mm_s2: f64,
    /// Distance above the last depth at which rapid turns to feed again, in mm.
    pub gap_mm: f64,
    /// Height above the face at which the cycle starts and to which it retracts, in mm.
    pub start_mm: f64,
}

/// Most pecks that are counted one by one; more are no machining any more.
const MOST_PECKS: usize = 200;

impl PeckCycle {
    /// Number of pecks.
    pub fn pecks(&self) -> usize {
        let pecks = (self.depth_mm / self.peck_mm - 1e-9).ceil();
        (pecks.max(1.0) as usize).min(MOST_PECKS)
    }

    /// Time in cut and time in rapid moves, in s: from the start height to the depth in pecks, each from the
    /// gap above the last depth, with a full retract to the start height after every peck; every move from rest to
    /// rest.
    pub fn times_s(&self) -> (f64, f64) {
        let rapid = |distance| move_s(distance, self.rapid_mm_s, self.acceleration_mm_s2);
        let feed = |distance| move_s(distance, self.feed_mm_s, self.acceleration_mm_s2);
        let (mut feed_s, mut rapid_s, mut last) = (0.0, 0.0, 0.0);
        for peck in 1..=self.pecks() {
            let depth = self.depth_mm.min(peck as f64 * self.peck_mm);
            if peck == 1 {
                feed_s += feed(self.start_mm + depth);
            } else {
                rapid_s += rapid(self.start_mm + last - self.gap_mm);
                feed_s += feed(depth - last + self.gap_mm);
            }
            rapid_s += rapid(self.start_mm + depth);
            last = depth;
        }
        (feed_s, rapid_s)
    }

    /// Length travelled at feed, in mm.
    pub fn feed_length_mm(&self) -> f64 {
        self.start_mm + self.depth_mm + (self.pecks() as f64 - 1.0) * self.gap_mm
    }

    /// Time of the whole cycle, in s.
    pub fn total_s(&self) -> f64 {
        let (cut, rapid) = self.times_s();
        cut + rapid
    }
}
