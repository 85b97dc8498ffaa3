//! Fatigue, screws and walls of the demo ring: keys of the study to figures of the sheet.

use fretwork::evaluate::Sheet;
use fretwork::run::{Overrides, Prepared, Source, design, prepare};
use fretwork::structure::clamp::{bearing_pressure_mpa, cone_diameter_mm};
use fretwork::structure::fatigue::{ALUMINIUM_NOTCH_LENGTH_MM, goodman_safety, notch_sensitivity};
use fretwork::structure::plate::{long_wall, plate_stiffness_n_mm};

const RING: &str = include_str!("../studies/yaw-ring.toml");
const BORE: &str = "bore = { diameter = \"3.2 mm\" }";

fn with(changes: &[(&str, &str)]) -> Result<Prepared, String> {
    let mut text = RING.to_string();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    let source = Source {
        file: "ring.toml".into(),
        study: "ring".into(),
        text,
        catalogue: None,
    };
    prepare(&source, Overrides::default()).map_err(|mistakes| format!("{mistakes:?}"))
}

fn sheet(changes: &[(&str, &str)]) -> Sheet {
    design(&with(changes).unwrap(), &[]).unwrap()
}

fn measure(sheet: &Sheet, name: &str) -> Option<f64> {
    let found = sheet.measures.iter().find(|measure| measure.name == name);
    found.map(|measure| measure.value)
}

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value / expected - 1.0).abs() <= tolerance,
        "{value} against {expected}"
    );
}

#[test]
fn fatigue_of_a_load_that_says_how_often_it_comes() {
    let plain = sheet(&[]);
    assert_eq!(measure(&plain, "tilt.fatigue_safety"), None);
    let safety = |fatigue: &str| {
        let sheet = sheet(&[(
            "[load.tilt]\n",
            &format!("[load.tilt]\nfatigue = {fatigue}\n"),
        )]);
        assert_eq!(measure(&sheet, "squeeze.fatigue_safety"), None);
        let row = sheet.loads.iter().find(|load| load.name == "tilt").unwrap();
        near(
            row.fatigue.as_ref().unwrap().safety,
            measure(&sheet, "tilt.fatigue_safety").unwrap(),
            1e-12,
        );
        measure(&sheet, "tilt.fatigue_safety").unwrap()
    };
    // 6061: 95 MPa at 5e8 cycles, 310 MPa ultimate. What the strength sees lies between the peak with the notch
    // sensitivity of a 4 mm hole and the full peak, and not below the nominal stress.
    let (nominal, peak) = (
        measure(&plain, "tilt.stress").unwrap(),
        measure(&plain, "tilt.peak").unwrap(),
    );
    assert!(peak > nominal);
    let sensitivity = notch_sensitivity(ALUMINIUM_NOTCH_LENGTH_MM, 2.0);
    let reversed = safety("{ cycles = 1e6 }");
    let seen = 95.0 / reversed;
    assert!(
        seen >= nominal.max(peak * sensitivity) - 1e-9 && seen < peak,
        "{seen}"
    );
    // Goodman: the same stress from zero to peak.
    near(
        safety("{ cycles = 5e8, ratio = 0 }"),
        goodman_safety(0.5 * seen, 0.5 * seen, 95.0, 310.0),
        1e-12,
    );
}

#[test]
fn fatigue_without_data_is_refused() {
    let refused = |material: &str, cycles: &str| {
        with(&[
            ("al6061_t6511", material),
            (
                "[load.tilt]\n",
                &format!("[load.tilt]\nfatigue = {{ cycles = {cycles} }}\n"),
            ),
        ])
        .unwrap_err()
    };
    let beyond = refused("al6061_t6511", "1e9");
    assert!(beyond.contains("known for 5e8 only"), "{beyond}");
    let missing = refused("al7050_t7451", "1e6");
    assert!(missing.contains("no `fatigue_mpa`"), "{missing}");
    for wrong in [
        "{ cycles = 0 }",
        "{ cycles = 1e6, ratio = 1 }",
        "{ ratio = 0 }",
    ] {
        let text = format!("[load.tilt]\nfatigue = {wrong}\n");
        assert!(with(&[("[load.tilt]\n", &text)]).is_err(), "{wrong}");
    }
}

#[test]
fn screws_press_and_clamp() {
    let none = sheet(&[]);
    assert!(none.screws.is_empty());
    assert_eq!(measure(&none, "bearing_pressure"), Some(0.0));
    assert_eq!(measure(&none, "cone_room"), Some(f64::INFINITY));
    let screwed = format!("{BORE}\nscrew = {{ clamp = \"1.2 kN\", head = \"5.5 mm\" }}");
    let ring = sheet(&[(BORE, &screwed)]);
    // Four lugs alike: one row. Lug 9 mm long, floor 5 mm; between rib (to y = -0.8 mm) and inner wall (5 mm).
    assert_eq!(ring.screws.len(), 1);
    near(
        measure(&ring, "bearing_pressure").unwrap(),
        bearing_pressure_mpa(1200.0, 5.5, 3.2),
        1e-9,
    );
    let cone = cone_diameter_mm(5.5, 5.0);
    near(cone, 5.5 + 10.0 / 3f64.sqrt(), 1e-12);
    near(measure(&ring, "cone_room").unwrap(), 9.0 - cone, 1e-9);
    near(measure(&ring, "head_room").unwrap(), 0.8 - 2.75, 1e-9);
    assert!(
        ring.remarks
            .iter()
            .any(|remark| remark.contains("does not fit"))
    );
    assert!(with(&[(BORE, "screw = { clamp = \"1 kN\", head = \"5 mm\" }")]).is_err());
}

#[test]
fn walls_give_to_cutter_and_fingertip() {
    let ring = sheet(&[]);
    // Walls run around the ring over the lugs, which are lower: no ends. The outer wall, 6.2 by 1.5 mm, against the rib
    // and the inner wall of less height: the softest is found.
    let soft = ring
        .walls
        .iter()
        .map(|wall| {
            let stiffness = plate_stiffness_n_mm(68900.0, 0.33, wall.thickness_mm);
            10.0 * long_wall(0.33) * wall.height_mm * wall.height_mm / stiffness
        })
        .fold(0.0, f64::max);
    near(measure(&ring, "wall_press").unwrap(), soft, 1e-9);
    near(ring.walls[0].press_mm, soft, 1e-9);
    // Twice the force, twice the way.
    let pressed = sheet(&[("[part.path]", "[part]\npress = \"20 N\"\n\n[part.path]")]);
    near(measure(&pressed, "wall_press").unwrap(), 2.0 * soft, 1e-9);
    // The cutter pushes every wall that a pocket touches.
    assert!(ring.walls.iter().all(|wall| wall.cut_force_n > 0.0));
    let most = ring
        .walls
        .iter()
        .map(|wall| wall.cut_mm)
        .fold(0.0, f64::max);
    near(measure(&ring, "wall_deflection").unwrap(), most, 1e-12);
    for wall in &ring.walls {
        near(wall.cut_mm / wall.press_mm, wall.cut_force_n / 10.0, 1e-9);
    }
}
