//! Fields along the path and shapes of natural vibrations, against published closed forms.

mod structure_common;

use std::f64::consts::TAU;

use fretwork::structure::{Loading, ModeKind, ModeShape};
use structure_common::*;

/// A strip of 6 x 1 mm, slender in both planes.
const LENGTH_MM: f64 = 160.0;

fn cantilever() -> Vec<ModeShape> {
    let layout = chain(bar(6.0, 1.0), vec![], 0.0, LENGTH_MM, 1, false);
    model(&layout).modes(&[clamp(0)], 6).expect("held")
}

fn of_kind(modes: &[ModeShape], kind: ModeKind) -> Vec<&ModeShape> {
    modes.iter().filter(|mode| mode.kind == kind).collect()
}

/// Clamped-free bar: lambda 1.87510407, 4.69409113, 7.85475744, 10.99554073 (Blevins, Formulas for Natural Frequency
/// and Mode Shape, 1979, table 8-1). 0.4 %: shear and rotary inertia of the fourth lower it by
/// about half (n pi)² (r/L)² (1 + E/(kG)), 3e-3 at r/L = 0.0018 in the stiff plane, far less in the soft one.
#[test]
fn clamped_free_bar_has_its_frequencies_in_both_planes() {
    let modes = cantilever();
    let (e, rho) = (ALUMINIUM.modulus_mpa, ALUMINIUM.density_t_mm3);
    let hz = |lambda: f64, depth: f64| {
        let speed = (e / rho).sqrt() * depth / 12f64.sqrt();
        lambda * lambda * speed / (TAU * LENGTH_MM * LENGTH_MM)
    };
    let out = of_kind(&modes, ModeKind::OutOfPlane);
    for (mode, lambda) in out
        .iter()
        .zip([1.875_104_07, 4.694_091_13, 7.854_757_44, 10.995_540_73])
    {
        near(mode.frequency_hz, hz(lambda, 1.0), 4e-3, "out of plane");
        assert!(mode.share > 0.99);
    }
    let across = of_kind(&modes, ModeKind::InPlane);
    near(
        across[0].frequency_hz,
        hz(1.875_104_07, 6.0),
        4e-3,
        "in plane",
    );
    assert!(out.len() >= 3 && out.len() + across.len() == 6);
    assert!(
        modes
            .windows(2)
            .all(|pair| pair[0].frequency_hz <= pair[1].frequency_hz)
    );
}

/// Its shapes: cosh - cos - sigma (sinh - sin), sigma = (cosh + cos) / (sinh + sin) of lambda; the second has a node
/// at 0.7834 L (Blevins 1979, table 8-1; Young and Felgar 1949: 0.783; both from memory).
#[test]
fn clamped_free_bar_has_its_shapes() {
    let modes = cantilever();
    let out = of_kind(&modes, ModeKind::OutOfPlane);
    for (mode, lambda) in out
        .iter()
        .zip([1.875_104_07_f64, 4.694_091_13, 7.854_757_44])
    {
        let sigma = (lambda.cosh() + lambda.cos()) / (lambda.sinh() + lambda.sin());
        let shape = |x: f64| {
            let a = lambda * x / LENGTH_MM;
            0.5 * (a.cosh() - a.cos() - sigma * (a.sinh() - a.sin()))
        };
        let tip = mode.places[mode.places.len() - 1].1[2];
        // The corner that moves by 1 turns with the tip.
        near(tip.abs(), 1.0, 1e-3, "tip");
        for (station, moved) in &mode.places {
            let expected = shape(*station) / shape(LENGTH_MM) * tip;
            assert!(
                (moved[2] - expected).abs() < 4e-3,
                "{station}: {} {expected}",
                moved[2]
            );
            // Along x the slope of w is minus the turn about y.
            let slope =
                (shape(station + 1e-3) - shape(station - 1e-3)) / 2e-3 / shape(LENGTH_MM) * tip;
            assert!(
                (moved[4] + slope).abs() < 1e-2 * lambda / LENGTH_MM,
                "{station}"
            );
        }
    }
    let second = &out[1].places;
    let node = second
        .windows(2)
        .skip(3)
        .find(|pair| pair[0].1[2] * pair[1].1[2] < 0.0)
        .unwrap();
    let (a, b) = (&node[0], &node[1]);
    let at = a.0 + (b.0 - a.0) * a.1[2] / (a.1[2] - b.1[2]);
    near(at / LENGTH_MM, 0.7834, 1e-3, "node of the second mode");
}

/// Free thin ring in its plane: modes in pairs of n = 2, 3 waves, f = n (n² - 1) / (2 pi R²) sqrt(E I / (m (n² + 1))),
/// radial movement cos n a beside a tangential one of 1/n of it: no stretch of the middle line (Love, Treatise on the
/// Mathematical Theory of Elasticity, 4th ed. 1927, art. 293; Blevins 1979, table 9-1). 0.5 %: R/h 60.
#[test]
fn free_ring_ovals_without_stretch() {
    let (radius, width, height) = (60.0_f64, 1.0_f64, 12.0_f64);
    let layout = chain(
        bar(width, height),
        vec![],
        1.0 / radius,
        TAU * radius,
        4,
        true,
    );
    let modes = model(&layout).modes(&[], 6).expect("free");
    let plane = of_kind(&modes, ModeKind::InPlane);
    let speed = (ALUMINIUM.modulus_mpa / ALUMINIUM.density_t_mm3).sqrt() * width / 12f64.sqrt();
    assert!(plane.len() >= 4, "{modes:?}");
    for (k, mode) in plane[..4].iter().enumerate() {
        let n = if k < 2 { 2.0_f64 } else { 3.0 };
        let hz = n * (n * n - 1.0) / (TAU * radius * radius) * speed / (n * n + 1.0).sqrt();
        near(mode.frequency_hz, hz, 5e-3, "frequency");
        // Radial and tangential movement, split into waves; the path starts at (0, 0) along x, its centre at (0, R).
        let (mut radial, mut tangent) = ([0.0; 2], [0.0; 2]);
        let count = mode.places.len() - 1;
        for (station, moved) in &mode.places[..count] {
            let a = station / radius;
            let (sin, cos) = a.sin_cos();
            let (out, on) = (
                moved[0] * sin - moved[1] * cos,
                moved[0] * cos + moved[1] * sin,
            );
            let (s, c) = (n * a).sin_cos();
            let weight = 2.0 / count as f64;
            radial = [radial[0] + weight * out * c, radial[1] + weight * out * s];
            tangent = [tangent[0] + weight * on * c, tangent[1] + weight * on * s];
        }
        let size = radial[0].hypot(radial[1]);
        assert!((size - 1.0).abs() < 2e-2, "{size}");
        // w = A cos na + B sin na gives u = -(A sin na - B cos na) / n.
        assert!(
            (tangent[0] - radial[1] / n).abs() < 1e-2,
            "{radial:?} {tangent:?}"
        );
        assert!(
            (tangent[1] + radial[0] / n).abs() < 1e-2,
            "{radial:?} {tangent:?}"
        );
    }
    // Both of a pair, square to each other.
    let dot = |a: &ModeShape, b: &ModeShape| -> f64 {
        let places = a.places.iter().zip(&b.places);
        let sum: f64 = places
            .map(|(a, b)| (0..3).map(|k| a.1[k] * b.1[k]).sum::<f64>())
            .sum();
        sum / a.places.len() as f64
    };
    assert!(dot(plane[0], plane[1]).abs() < 1e-2 && dot(plane[0], plane[0]) > 0.3);
}

/// The first of them is the frequency that the search goes by.
#[test]
fn the_first_mode_has_the_first_frequency() {
    let layout = chain(
        channel(11.0, 1.5, (1.4, 7.0), (1.0, 5.0), None),
        vec![],
        0.02,
        180.0,
        3,
        false,
    );
    for supports in [vec![], vec![clamp(0)], vec![clamp(0), clamp(3)]] {
        let mut model = model(&layout);
        let first = model.first_frequency_hz(&supports).unwrap();
        let modes = model.modes(&supports, 6).unwrap();
        // 0.1 %: the search's frame is cut into nine pieces only.
        near(modes[0].frequency_hz, first, 1e-3, "first");
        assert_eq!(modes.len(), 6);
    }
}

/// Clamped bar of 6 x 2 mm under a tip force of 3 N upward: deflection F x² (3 L - x) / (6 E I), stress 6 F (L - x) / (b h²)
/// (Timoshenko, Strength of Materials I, cantilever, with his shear term, factor 5/6; from memory). Under its own weight at 1000 gn: q x² (6 L² - 4 L x + x²) /
/// (24 E I) between the nodes too.
#[test]
fn fields_are_those_of_the_slender_cantilever() {
    let (length, width, height) = (80.0_f64, 6.0_f64, 2.0_f64);
    let layout = chain(bar(width, height), vec![], 0.0, length, 1, false);
    let bend = ALUMINIUM.modulus_mpa * width * height.powi(3) / 12.0;
    let shear = ALUMINIUM.shear_modulus_mpa() * width * height * 5.0 / 6.0;
    let mut model = model(&layout);
    let load = loading(vec![clamp(0)], vec![force(1, [0.0, 0.0, 3.0])]);
    let response = model.solve(&load).unwrap();
    let field = model.field(&load, &response);
    assert_eq!(field.strips, ["floor"]);
    assert!((60..=120).contains(&field.places.len()));
    for place in &field.places {
        let x = place.station_mm;
        let moved = 3.0 * x * x * (3.0 * length - x) / (6.0 * bend) + 3.0 * x / shear;
        let slope = 3.0 * x * (2.0 * length - x) / (2.0 * bend);
        assert!(
            (place.moved_mm[2] - moved).abs() < 1e-3 * moved + 1e-9,
            "{x}"
        );
        assert!((place.turned[1] + slope).abs() < 1e-2 * slope + 1e-9, "{x}");
        let stress = 6.0 * 3.0 * (length - x) / (width * height * height);
        // The shear of the load, 3/2 F / (b h), is all there is at the tip.
        assert!(
            (place.greatest_mpa() - stress).abs() < 1e-2 * stress + 0.7,
            "{x}: {stress}"
        );
    }
    near(
        field.places[0].greatest_mpa(),
        response.strips[0].equivalent_mpa,
        1e-9,
        "greatest",
    );
    let load = Loading {
        actions: vec![],
        acceleration: [0.0, 0.0, 9.80665e6],
        ..load
    };
    let response = model.solve(&load).unwrap();
    let q = ALUMINIUM.density_t_mm3 * width * height * 9.80665e6;
    for place in &model.field(&load, &response).places {
        let x = place.station_mm;
        let moved = q * x * x * (6.0 * length * length - 4.0 * length * x + x * x) / (24.0 * bend)
            + q * x * (length - 0.5 * x) / shear;
        assert!(
            (place.moved_mm[2] + moved).abs() < 1e-3 * moved + 1e-9,
            "{x}: {moved}"
        );
        let stress = 3.0 * q * (length - x).powi(2) / (width * height * height);
        assert!(
            (place.greatest_mpa() - stress).abs() < 1e-2 * stress + 0.7,
            "{x}: {stress}"
        );
    }
}
