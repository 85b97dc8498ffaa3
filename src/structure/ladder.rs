//! Slip across a line of holes under shear along the path: a ladder whose rungs are the ligaments.

use std::f64::consts::FRAC_PI_2;
use std::sync::OnceLock;

/// Length over which a chord bends freely beside a hole, over the diameter: between holes the rung's root holds it.
/// This value, rigid roots of the rungs and ENGAGED were picked by the in-plane stiffness of all drilled solid
/// members, so those members are no independent check of them.
const FREE: f64 = 0.8;
/// Chord width beyond the hole's edge, over the diameter: a round hole is wide at one place only.
const ROUND: f64 = 0.07;
/// Height of wall that bends with the chord, over the pitch: stress dies away from the floor within that.
/// Of little weight (0.15 to 0.6 change no ring by more than half a percent).
const ENGAGED: f64 = 0.3;

/// A strip of metal beside a line of holes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Chord {
    /// Width of the plate from the hole's edge to its own edge or the next hole.
    pub width: f64,
    /// Wall or rib in it: distance from the hole's edge, thickness, height above the plate.
    pub wall: Option<(f64, f64, f64)>,
}

/// Extra slip between the two sides of a line of holes per unit of shear flow, in mm²/N: what the holes add
/// to the shear of the solid plate.
///
/// Rungs: beams of the width between two circles, b(y) = p - sqrt(d² - 4y²), bent in double curvature and
/// sheared; chords: bent by the saw tooth of the rungs' end moments, over the free length c beside each hole, which
/// gives lever² c³ / (12 E I p). A wall in a chord stiffens it with as much of its height as a disturbance of the
/// length of a pitch reaches. Few or small holes leave the solid plate.
/// Blind holes: drilled and solid layer side by side.
///
/// `diameter`, `pitch`, `thickness` in mm, `share` drilled share of the thickness, `modulus`,
/// `shear_modulus` in MPa.
pub(super) fn slip(
    diameter: f64,
    pitch: f64,
    thickness: f64,
    share: f64,
    chords: [Chord; 2],
    (modulus, shear_modulus): (f64, f64),
) -> f64 {
    let ratio = (diameter / pitch).min(0.97);
    let (bending, shear) = rung(ratio);
    let solid = diameter / (shear_modulus * thickness);
    let rungs = bending * diameter / (modulus * thickness) + (shear - 1.0) * solid;
    let chord: f64 = chords
        .iter()
        .map(|chord| chord_slip(chord, diameter, pitch, thickness, modulus))
        .sum();
    let extra = (rungs + chord).max(0.0);
    1.0 / (share / (solid + extra) + (1.0 - share) / solid) - solid
}

fn chord_slip(chord: &Chord, diameter: f64, pitch: f64, thickness: f64, modulus: f64) -> f64 {
    let width = chord.width.max(0.02 * diameter) + ROUND * diameter;
    let area = width * thickness;
    let (mut total, mut first, mut second) = (area, 0.5 * area * width, area * width * width / 3.0);
    if let Some((place, wall, height)) = chord.wall {
        let part = wall * height.min(ENGAGED * pitch);
        let place = place + ROUND * diameter;
        total += part;
        first += part * place;
        second += part * (place * place + wall * wall / 12.0);
    }
    let neutral = first / total;
    let inertia = second - first * neutral;
    let lever = 0.5 * diameter - ROUND * diameter + neutral;
    let free = (FREE * diameter).min(pitch);
    free * free * free / pitch * lever * lever / (12.0 * modulus * inertia)
}

/// Slip of rungs with rigid roots per shear flow: bending in units of d / (E t), shear in units of d / (G t).
fn rung(ratio: f64) -> (f64, f64) {
    static TABLE: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    let table = TABLE.get_or_init(|| (0..=STEPS).map(|k| integrate(step(k))).collect());
    // The integrals grow like a power of 1 / (1 - d/p), so they are tabulated over its root.
    let place = (1.0 - (1.0 - ratio.max(0.0)).sqrt()) / (1.0 - 0.03_f64.sqrt()) * STEPS as f64;
    let index = (place as usize).min(STEPS - 1);
    let along = place - index as f64;
    let mix = |a: f64, b: f64| (a.ln() + along * (b.ln() - a.ln())).exp();
    let (low, high) = (table[index], table[index + 1]);
    (mix(low.0, high.0), mix(low.1, high.1))
}

const STEPS: usize = 64;

fn step(index: usize) -> f64 {
    let root = 1.0 - (1.0 - 0.03_f64.sqrt()) * index as f64 / STEPS as f64;
    1.0 - root * root
}

/// Midpoint rule over the angle on the hole's edge, y = d/2 sin(angle), which converges fast because the
/// integrand is smooth and vanishes at both ends.
fn integrate(ratio: f64) -> (f64, f64) {
    const POINTS: usize = 2000;
    let ratio = ratio.max(1e-3);
    let pitch = 1.0 / ratio;
    let (mut bending, mut shear) = (0.0, 0.0);
    for k in 0..POINTS {
        let angle = ((k as f64 + 0.5) / POINTS as f64 * 2.0 - 1.0) * FRAC_PI_2;
        let (sin, cos) = angle.sin_cos();
        let (y, step) = (0.5 * sin, 0.5 * cos * 2.0 * FRAC_PI_2 / POINTS as f64);
        let width = pitch - cos;
        bending += pitch * 12.0 * y * y / (width * width * width) * step;
        // 6/5 of a slender rung, 1 of a wide one.
        shear += pitch * (1.0 + 0.2 * ratio) / width * step;
    }
    (bending, shear)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn extra(diameter: f64, pitch: f64) -> f64 {
        let wall = |width: f64| Chord {
            width,
            wall: Some((width, 1.5, 6.0)),
        };
        let chords = [wall(4.0 - 0.5 * diameter), wall(4.0 - 0.5 * diameter)];
        slip(diameter, pitch, 1.8, 1.0, chords, (68_900.0, 25_900.0))
    }

    /// Holes further apart, or smaller, cost less; pinholes cost next to nothing (limits of the mechanics).
    #[test]
    fn few_or_small_holes_leave_the_solid_plate() {
        let solid = 8.0 / (25_900.0 * 1.8);
        for diameter in [0.2, 1.0, 3.0, 5.0] {
            let mut last = f64::INFINITY;
            for pitch in [6.0, 8.0, 12.0, 20.0, 40.0] {
                let now = extra(diameter, pitch);
                assert!(now > 0.0 && now < last, "{diameter} at {pitch}: {now}");
                last = now;
            }
        }
        assert!(extra(0.2, 10.0) < 2e-3 * solid);
        assert!(extra(3.0, 60.0) < 0.1 * solid);
    }
}
