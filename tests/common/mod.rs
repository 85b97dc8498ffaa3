//! A stand-in for catalogue and evaluator: names enough to check studies without them.

use fretwork::evaluate::measures::{Acting, LoadName};
use fretwork::study::{Context, Problem, Study, print, read};
use fretwork::units::{Unit, find_unit};

/// Measures as the evaluator names them.
fn measures(loads: &[LoadName]) -> Vec<(String, Unit)> {
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
        ("cost", find_unit("money").expect("in the table")),
    ] {
        all.push((name.to_string(), unit));
    }
    for LoadName {
        name: load, acting, ..
    } in loads
    {
        match acting {
            Acting::Forces | Acting::Opening => {
                all.push((format!("{load}.stiffness"), Unit::N_PER_MM))
            }
            Acting::Moments => all.push((format!("{load}.stiffness"), Unit::N_MM_PER_RAD)),
            Acting::Inertia => {}
        }
        all.push((format!("{load}.displacement"), Unit::MM));
        all.push((format!("{load}.stress"), Unit::MPA));
        all.push((format!("{load}.safety"), Unit::NUMBER));
    }
    all
}

/// The study of a text, checked against the stand-in.
pub fn read_with_stand_in(text: &str) -> Result<Study, Vec<Problem>> {
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
            machines: &names(&["small_vmc", "converted_knee_mill"]),
            drills_mm: &drills,
            end_mills_mm: &[1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0],
            measures: &measures,
        },
    )
}

/// The study of a text that must be good; `name` for the message where it is not.
#[allow(dead_code, reason = "not every test file reads good studies")]
pub fn expect_good(name: &str, text: &str) -> Study {
    read_with_stand_in(text)
        .unwrap_or_else(|problems| panic!("\n{}", print(&problems, text, name, false)))
}
