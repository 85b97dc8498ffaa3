//! A screw on a boss: pressure under its head and the cone of metal that it clamps.

use std::f64::consts::PI;

/// Half angle of the clamped cone, in degrees.
///
/// Source: Shigley, Mechanical Engineering Design, joints: 30 degrees (from memory); VDI 2230 gives 25 to 33 by
/// geometry (from memory).
pub const CONE_HALF_ANGLE_DEG: f64 = 30.0;

/// Pressure under a screw's head, in MPa: F / (π/4 (D² - d²)); infinite where the head falls through the hole.
///
/// `clamp` force F in N, `head` bearing diameter D and `hole` d in mm.
pub fn bearing_pressure_mpa(clamp: f64, head: f64, hole: f64) -> f64 {
    let area = 0.25 * PI * (head * head - hole * hole);
    if area > 0.0 {
        clamp / area
    } else {
        f64::INFINITY
    }
}

/// Diameter of the loaded metal at the far side of a clamped plate, in mm: D + 2 t tan 30°.
///
/// `head` D and `thickness` t in mm.
pub fn cone_diameter_mm(head: f64, thickness: f64) -> f64 {
    head + 2.0 * thickness * CONE_HALF_ANGLE_DEG.to_radians().tan()
}

/// Stiffness of the clamped cone, in N/mm:
/// π E d tan α / ln[((2 t tan α + D - d)(D + d)) / ((2 t tan α + D + d)(D - d))].
///
/// `modulus` E in MPa, `hole` d, `head` D and `thickness` t in mm, d below D.
///
/// Source: Shigley, Mechanical Engineering Design, stiffness of members (from memory).
pub fn cone_stiffness_n_mm(modulus: f64, hole: f64, head: f64, thickness: f64) -> f64 {
    let tan = CONE_HALF_ANGLE_DEG.to_radians().tan();
    let grown = 2.0 * thickness * tan;
    let ratio = ((grown + head - hole) * (head + hole)) / ((grown + head + hole) * (head - hole));
    PI * modulus * hole * tan / ratio.ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_cone() {
        // d 3, D 5.5, t 4, E 68900: 612133 N/mm and 10.1188 mm at the far side. Shigley (from memory), worked.
        assert!((cone_stiffness_n_mm(68900.0, 3.0, 5.5, 4.0) / 612133.0 - 1.0).abs() < 1e-5);
        assert!((cone_diameter_mm(5.5, 4.0) - 10.1188).abs() < 1e-4);
        // 1000 N on the ring between 5 and 3 mm: 1000 / (4 pi).
        assert!((bearing_pressure_mpa(1000.0, 5.0, 3.0) - 79.5775).abs() < 1e-4);
        assert_eq!(bearing_pressure_mpa(1000.0, 3.0, 3.0), f64::INFINITY);
    }
}
