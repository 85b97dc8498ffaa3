//! Cutting data: speeds, feeds, chip thickness, force, power. Formulas only; nothing of parts.

use std::f64::consts::PI;

/// Spindle speed in rev/min: n = 1000 vc / (π D).
///
/// `cutting_speed` vc in m/min, `diameter` D in mm.
///
/// Source: Kalpakjian & Schmid, Manufacturing Engineering and Technology, milling.
pub fn spindle_speed_rpm(cutting_speed: f64, diameter: f64) -> f64 {
    1000.0 * cutting_speed / (PI * diameter)
}

/// Table feed in mm/min: vf = n z fz. For a drill z = 1 and fz is the feed a turn.
///
/// `speed` n in rev/min, `teeth` z, `chip_load` fz in mm a tooth.
///
/// Source: Kalpakjian & Schmid, milling.
pub fn feed_mm_min(speed: f64, teeth: f64, chip_load: f64) -> f64 {
    speed * teeth * chip_load
}

/// Volume milled in mm³/min: Q = ap ae vf.
///
/// `depth` ap and `width` ae in mm, `feed` vf in mm/min.
///
/// Source: Kalpakjian & Schmid, milling.
pub fn milling_removal_mm3_min(depth: f64, width: f64, feed: f64) -> f64 {
    depth * width * feed
}

/// Volume drilled in mm³/min: Q = π D² f n / 4.
///
/// `diameter` D in mm, `feed_per_turn` f in mm, `speed` n in rev/min.
///
/// Source: Groover, Fundamentals of Modern Manufacturing, drilling.
pub fn drilling_removal_mm3_min(diameter: f64, feed_per_turn: f64, speed: f64) -> f64 {
    0.25 * PI * diameter * diameter * feed_per_turn * speed
}

/// Travel in mm that a drill's point adds: A = (D/2) tan(90° - θ/2).
///
/// `diameter` D in mm, `point_angle` θ in degrees.
///
/// Source: Groover, drilling.
pub fn point_allowance_mm(diameter: f64, point_angle: f64) -> f64 {
    0.5 * diameter * (90.0 - 0.5 * point_angle).to_radians().tan()
}

/// Approach in mm of a cutter at its side: A = √(ae (D - ae)).
///
/// `width` ae in mm, between 0 and D; `diameter` D in mm.
///
/// Source: Groover, peripheral milling.
pub fn side_approach_mm(width: f64, diameter: f64) -> f64 {
    (width * (diameter - width)).max(0.0).sqrt()
}

/// Approach in mm of a face mill centred on a face: A = D/2 - √(D² - w²)/2.
///
/// `width` w of the face in mm, at most D; `diameter` D in mm.
///
/// Source: common derivation of the process-planning texts.
pub fn face_approach_mm(width: f64, diameter: f64) -> f64 {
    0.5 * (diameter - (diameter * diameter - width * width).max(0.0).sqrt())
}

/// Angle in rad over which a tooth is in cut: cos φ = 1 - 2 ae/D.
///
/// `width` ae in mm, `diameter` D in mm.
pub fn engagement_angle(width: f64, diameter: f64) -> f64 {
    (1.0 - 2.0 * width / diameter).clamp(-1.0, 1.0).acos()
}

/// Mean chip thickness in mm over the arc in cut: hm = 2 fz ae / (D φ).
///
/// `chip_load` fz in mm a tooth, `width` ae and `diameter` D in mm, ae positive.
///
/// Source: machining textbooks (from memory).
pub fn mean_chip_mm(chip_load: f64, width: f64, diameter: f64) -> f64 {
    2.0 * chip_load * width / (diameter * engagement_angle(width, diameter))
}

/// Largest chip thickness in mm: fz sin φ below half engagement, else fz.
///
/// `chip_load` fz in mm a tooth, `width` ae and `diameter` D in mm.
///
/// Source: machining textbooks (from memory).
pub fn largest_chip_mm(chip_load: f64, width: f64, diameter: f64) -> f64 {
    chip_load / thinning_factor(width, diameter)
}

/// Chip load in mm a tooth that restores a largest chip of `chip` mm: radial chip thinning,
/// fz = h / (2 √(ae/D (1 - ae/D))) below half engagement, else h.
///
/// `width` ae and `diameter` D in mm, ae positive.
///
/// Source: machining textbooks (from memory).
pub fn thinned_chip_load_mm(chip: f64, width: f64, diameter: f64) -> f64 {
    chip * thinning_factor(width, diameter)
}

fn thinning_factor(width: f64, diameter: f64) -> f64 {
    let share = width / diameter;
    if share < 0.5 {
        0.5 / (share * (1.0 - share)).sqrt()
    } else {
        1.0
    }
}

/// Specific cutting force in MPa: kc = kc1.1 h^-mc.
///
/// `unit_force` kc1.1 in MPa, `exponent` mc, `chip` h in mm.
///
/// Source: Kienzle, Die Bestimmung von Kräften und Leistungen an spanenden Werkzeugen, 1952 (from memory).
pub fn specific_force_mpa(unit_force: f64, exponent: f64, chip: f64) -> f64 {
    unit_force * chip.powf(-exponent)
}

/// Cutting power in kW: Pc = Q kc / 6e7. A cutting energy in W s/mm³ is 1000 MPa.
///
/// `removal` Q in mm³/min, `specific_force` kc in MPa.
///
/// Source: Kalpakjian & Schmid, milling.
pub fn cutting_power_kw(removal: f64, specific_force: f64) -> f64 {
    removal * specific_force / 6e7
}

/// Spindle torque in N m: M = 9549 Pc / n, with 30000/π in full.
///
/// `power` Pc in kW, `speed` n in rev/min.
pub fn torque_n_m(power: f64, speed: f64) -> f64 {
    30_000.0 / PI * power / speed
}

/// Torque of a drill with two lips in N m: M = kc f D² / 8000.
///
/// `specific_force` kc in MPa at the chip (f/2) sin(θ/2), `feed_per_turn` f and `diameter` D in mm.
///
/// Source: machining textbooks, Kienzle form (from memory).
pub fn drill_torque_n_m(specific_force: f64, feed_per_turn: f64, diameter: f64) -> f64 {
    specific_force * feed_per_turn * diameter * diameter / 8000.0
}

/// Force on one tooth in N at an angle from the start of a full slot: F = kc ap fz sin φ.
///
/// `specific_force` kc in MPa, `depth` ap and `chip_load` fz in mm, `angle` φ in rad.
pub fn tooth_force_n(specific_force: f64, depth: f64, chip_load: f64, angle: f64) -> f64 {
    specific_force * depth * chip_load * angle.sin()
}

/// Deflection of an end mill's tip in mm: F L³ / (3 E I), I = π d⁴/64.
///
/// `force` F in N, `length` L out of the holder in mm, `diameter` d in mm (0.8 D where it is fluted),
/// `modulus` E in MPa.
pub fn tool_deflection_mm(force: f64, length: f64, diameter: f64, modulus: f64) -> f64 {
    let second_moment = PI * diameter.powi(4) / 64.0;
    force * length.powi(3) / (3.0 * modulus * second_moment)
}

/// Height of the marks in mm that the teeth leave on a side-milled face: H = f² / (4 D N² Z²).
///
/// `feed` f in mm/min, `diameter` D in mm, `speed` N in rev/min, `teeth` Z. Teeth that run out mark it once a turn: take
/// one tooth for that.
///
/// Source: Ghosh & Mallik, Manufacturing Science, ch. 4.
pub fn feed_mark_height_mm(feed: f64, diameter: f64, speed: f64, teeth: f64) -> f64 {
    let each = feed / (speed * teeth);
    each * each / (4.0 * diameter)
}

/// Deflection in mm per N of a wall's free edge under a force on a point of it: 0.1665 H²/D, D = E t³ / (12 (1 - ν²)).
///
/// For walls long against their height, clamped at their foot; ν near 0.3. `height` H and `thickness` t in mm, `modulus`
/// E in MPa, `poisson` ν.
///
/// Source: Jaramillo, Deflections and moments due to a concentrated load on a cantilever plate of infinite length, 1950
/// (from memory).
pub fn wall_edge_give_mm_n(height: f64, thickness: f64, modulus: f64, poisson: f64) -> f64 {
    let stiffness = modulus * thickness.powi(3) / (12.0 * (1.0 - poisson * poisson));
    0.1665 * height * height / stiffness
}
