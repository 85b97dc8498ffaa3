//! Fatigue: notch sensitivity and mean stress.

/// Notch sensitivity, 0 to 1: q = 1 / (1 + a / r).
///
/// `material_length` a in mm, of the metal (`FatigueData` picks it); `radius` r of the notch in mm.
///
/// Source: Peterson, Stress Concentration Factors, 1974 (from memory).
pub fn notch_sensitivity(material_length: f64, radius: f64) -> f64 {
    1.0 / (1.0 + material_length / radius)
}

/// Peterson's length of steel, in mm: 0.0254 (2070 / R_m)^1.8.
///
/// `ultimate` R_m in MPa, above about 550; softer steels take the value there.
///
/// Source: Peterson, Stress Concentration Factors, 1974 (from memory).
pub fn steel_notch_length_mm(ultimate: f64) -> f64 {
    0.0254 * (2070.0 / ultimate.max(550.0)).powf(1.8)
}

/// Peterson's length of heat-treated aluminium, in mm.
///
/// Source: Peterson, Stress Concentration Factors, 1974, 0.025 inch (from memory).
pub const ALUMINIUM_NOTCH_LENGTH_MM: f64 = 0.635;

/// What a fatigue strength sees of a local peak, in MPa: peak (1 + q (K - 1)) / K.
///
/// `peak` in MPa, `concentration` K of the notch, `sensitivity` q.
pub fn effective_peak_mpa(peak: f64, concentration: f64, sensitivity: f64) -> f64 {
    let k = concentration.max(1.0);
    peak * (1.0 + sensitivity * (k - 1.0)) / k
}

/// Factor by which a cycle of stress may grow before it reaches Goodman's line: 1 / (a/S + m/R_m).
///
/// A mean in compression counts as none. `amplitude` a and `mean` m in MPa, `strength` S the amplitude borne at
/// the stated cycles without a mean, `ultimate` R_m, in MPa.
///
/// Source: Goodman; Shigley, Mechanical Engineering Design (from memory).
pub fn goodman_safety(amplitude: f64, mean: f64, strength: f64, ultimate: f64) -> f64 {
    1.0 / (amplitude / strength + mean.max(0.0) / ultimate)
}

/// Amplitude and mean of a cycle, as shares of its greatest stress: ((1 - R)/2, (1 + R)/2).
///
/// `ratio` R, least over greatest stress: -1 fully reversed, 0 from zero to the peak. Which side of the frame is
/// pulled is not asked: the greatest stress counts as tension.
pub fn cycle_shares(ratio: f64) -> (f64, f64) {
    (0.5 * (1.0 - ratio), 0.5 * (1.0 + ratio))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_example() {
        // Peterson's a 0.635 mm, r 1.5, K 3: q 0.702576, K_f 2.40515. Amplitude 40, mean 60, strength 95,
        // ultimate 310: 1.62707. Shigley's formulas (from memory), worked.
        let q = notch_sensitivity(ALUMINIUM_NOTCH_LENGTH_MM, 1.5);
        assert!((q - 0.702576).abs() < 1e-6);
        assert!((effective_peak_mpa(3.0, 3.0, q) - 2.40515).abs() < 1e-5);
        assert!((goodman_safety(40.0, 60.0, 95.0, 310.0) - 1.62707).abs() < 1e-5);
        assert!((goodman_safety(40.0, -60.0, 95.0, 310.0) - 95.0 / 40.0).abs() < 1e-12);
    }

    #[test]
    fn cycles_and_steel() {
        assert_eq!(cycle_shares(-1.0), (1.0, 0.0));
        assert_eq!(cycle_shares(0.0), (0.5, 0.5));
        // Peterson's curves: a about 0.066 mm for steel of 1217 MPa... worked from the formula's inch form,
        // 0.001 (300 / ksi)^1.8 with 1034 MPa = 150 ksi: 0.003482 inch.
        assert!((steel_notch_length_mm(1034.2) - 0.003482 * 25.4).abs() < 3e-4);
    }
}
