//! Studies that are at fault, one a code, beside the text that is printed for them.
//!
//! `messages/CODE.toml` (with `-` for `/`) is the study, `messages/CODE.txt` the text. With `RECORD_MESSAGES=1`
//! the texts are written anew; read the difference before keeping it.

use fretwork::study::{CODES, Context, Problem, Study, print, read};
use fretwork::units::{Dimension, Unit};
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

/// Measures as the evaluator names them, enough of them for these studies.
fn measures(loads: &[(String, bool)]) -> Vec<(String, Unit)> {
    let lengths = [
        "ligament",
        "edge",
        "boss_gap",
        "skin",
        "slot",
        "cutter_gap",
        "boss_spacing",
        "inner_radius",
        "bore_wall",
    ];
    let mut all: Vec<(String, Unit)> = lengths
        .iter()
        .map(|name| (name.to_string(), Unit::MM))
        .collect();
    for (name, unit) in [
        ("mass", Unit::GRAM),
        ("metal_mass", Unit::GRAM),
        ("volume", Unit::MM3),
        ("holes", Unit::NUMBER),
        ("wall_slenderness", Unit::NUMBER),
        ("frequency", Unit::HERTZ),
        ("cycle_time", Unit::SECOND),
    ] {
        all.push((name.to_string(), unit));
    }
    for (load, only_moments) in loads {
        let stiffness = if *only_moments {
            Unit::N_MM_PER_RAD
        } else {
            Unit::N_PER_MM
        };
        all.push((format!("{load}.stiffness"), stiffness));
        all.push((format!("{load}.displacement"), Unit::MM));
        all.push((format!("{load}.stress"), Unit::MPA));
        all.push((format!("{load}.safety"), Unit::NUMBER));
    }
    all
}

fn read_with_stand_in(text: &str) -> Result<Study, Vec<Problem>> {
    let names =
        |list: &[&str]| -> Vec<String> { list.iter().map(|name| name.to_string()).collect() };
    let drills: Vec<f64> = (10..=80)
        .map(|tenths| f64::from(tenths) / 10.0)
        .chain([3.175])
        .collect();
    read(
        text,
        &Context {
            materials: &names(&["al6061_t6511", "al7075_t651", "ss304"]),
            machines: &names(&["small_vmc", "router"]),
            drills_mm: &drills,
            end_mills_mm: &[1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0],
            measures: &measures,
        },
    )
}

fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(name)
}

fn expect_good(name: &str, text: &str) -> Study {
    read_with_stand_in(text)
        .unwrap_or_else(|problems| panic!("\n{}", print(&problems, text, name, false)))
}

fn load(name: &str) -> Study {
    expect_good(name, &fs::read_to_string(path(name)).expect(name))
}
#[test]
fn the_demo_studies_are_read() {
    let ring = load("studies/yaw-ring.toml");
    assert_eq!(ring.variables.len(), 8);
    let arm = load("studies/tilt-arm.toml");
    assert_eq!(arm.part.hole_rows.len(), 2);
    expect_good("starter", fretwork::study::starter());
}
