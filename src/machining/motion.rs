//! Moves limited by speed and acceleration.

use std::f64::consts::PI;

/// Time in s from rest to rest over a distance: s/v + v/a where s ≥ v²/a, else 2 √(s/a).
///
/// `distance` s in mm, `speed` v in mm/s, `acceleration` a in mm/s² (may be infinite). Jerk is left out.
///
/// Source: elementary kinematics.
pub fn move_s(distance: f64, speed: f64, acceleration: f64) -> f64 {
    let top = speed.min((acceleration * distance).sqrt());
    if top > 0.0 {
        distance / top + top / acceleration
    } else {
        0.0
    }
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
    /// gap above the last depth, with a full retract to the start height after every peck.
    pub fn times_s(&self) -> (f64, f64) {
        let rapid = |distance| move_s(distance, self.rapid_mm_s, self.acceleration_mm_s2);
        let (mut feed_mm, mut rapid_s, mut last) = (0.0, 0.0, 0.0);
        for peck in 1..=self.pecks() {
            let depth = self.depth_mm.min(peck as f64 * self.peck_mm);
            if peck == 1 {
                feed_mm += self.start_mm + depth;
            } else {
                rapid_s += rapid(self.start_mm + last - self.gap_mm);
                feed_mm += depth - last + self.gap_mm;
            }
            rapid_s += rapid(self.start_mm + depth);
            last = depth;
        }
        (feed_mm / self.feed_mm_s, rapid_s)
    }

    /// Time of the whole cycle, in s.
    pub fn total_s(&self) -> f64 {
        let (cut, rapid) = self.times_s();
        cut + rapid
    }
}

/// Time in s for one turn on a helix of the given radius: the arc's acceleration limit included.
///
/// `radius` of the tool's centre in mm, `feed` in mm/s, `acceleration` in mm/s².
pub fn turn_s(radius: f64, feed: f64, acceleration: f64) -> f64 {
    let speed = feed.min(arc_speed_mm_s(radius, acceleration));
    if speed > 0.0 {
        2.0 * PI * radius / speed
    } else {
        0.0
    }
}
