//! Study files that are read: what comes out, and that no text makes the reader panic.

mod common;

use common::{expect_good, read_with_stand_in};
use fretwork::evaluate::setup::{PathRecipe, PieceRecipe, Range, Relation, Station};
use fretwork::part::StripName;
use fretwork::structure::Frame;
use fretwork::study::{
    PlanKind, ValueFault, catalogue_file, describe, json_schema, key_reference, print, starter,
    variable_value,
};
use fretwork::units::Unit;
use proptest::prelude::*;
use std::fs;
use std::path::PathBuf;

fn file(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

const STUDIES: [&str; 2] = ["tests/data/study/ring.toml", "studies/tilt-arm.toml"];

/// Values of all slots at the baseline, with zeros for measures.
fn slots(study: &fretwork::study::Study) -> Vec<f64> {
    let mut slots: Vec<f64> = study
        .variables
        .iter()
        .map(|variable| variable.baseline)
        .collect();
    for derived in &study.derived {
        slots.push(derived.formula.value(&slots));
    }
    slots.resize(slots.len() + study.measures.len(), 0.0);
    slots
}

fn part(study: &fretwork::study::Study) -> &fretwork::evaluate::setup::PartRecipe {
    study.part.as_ref().expect("a part")
}

#[test]
fn the_yaw_ring_is_read_in_full() {
    let study = expect_good(STUDIES[0], &file(STUDIES[0]));
    let slots = slots(&study);
    assert!(matches!(&part(&study).path, PathRecipe::Circle(radius) if radius.value(&[]) == 46.0));
    let section = &part(&study).section;
    assert_eq!(section.width.value(&slots), 16.0);
    let inner = section.inner_wall.as_ref().expect("inner wall");
    assert_eq!(inner.height.value(&slots), 7.2);
    // -8 + 1.5 + 3 + 0.6: the rib's middle, 3 mm of slot off the outer wall.
    assert!((section.ribs[0].offset.value(&slots) - -2.9).abs() < 1e-12);
    let lug = &part(&study).bosses[0];
    assert_eq!(lug.at.len(), 4);
    assert!(
        matches!(&lug.at[1], Station::Angle(angle) if angle.value(&[]) == std::f64::consts::FRAC_PI_2)
    );
    assert_eq!(lug.section.floor.value(&slots), 5.0);
    assert_eq!(lug.section.width, section.width);
    assert!(
        matches!(&lug.bore, Some(bore) if bore.diameter.value(&[]) == 3.2 && bore.depth.is_none() && !bore.reamed)
    );
    let row = &part(&study).hole_rows[0];
    assert_eq!(
        (row.strip, row.rows.value(&[]), row.diameter.value(&slots)),
        (StripName::Floor, 1.0, 4.0)
    );
    assert!(part(&study).carried[0].at.is_empty());
    assert_eq!(part(&study).carried[0].mass.value(&[]) * 1e6, 6.0);
    let shock = &study.loads[2];
    assert!((shock.acceleration[2].value(&[]) - 40.0 * 9806.65).abs() < 1e-6);
    assert_eq!(
        (shock.supports[0].hold_move, shock.supports[0].hold_turn),
        ([true; 3], [false; 3])
    );
    assert_eq!(study.loads[0].actions[0].frame, Frame::Path);
    assert_eq!(study.loads[0].actions[1].force[1].value(&[]), 10.0);
    let web = &study.constraints[0];
    assert_eq!(
        (web.relation, web.limit.value(&[]), web.unit),
        (Relation::AtLeast, 0.8, Unit::MM)
    );
    assert_eq!(study.objectives[1].name, "squeeze.stiffness");
    assert!(study.objectives[1].most);
    assert_eq!(
        (study.plan.kind, study.plan.evaluations, study.seed),
        (PlanKind::Search, 24_000, 1)
    );
    assert_eq!(study.drills_mm.len(), 10);
}

#[test]
fn the_tilt_arm_is_read_in_full() {
    let study = expect_good(STUDIES[1], &file(STUDIES[1]));
    let slots = slots(&study);
    let PathRecipe::Chain { pieces, closed } = &part(&study).path else {
        panic!("no chain")
    };
    assert!(!closed);
    assert!(
        matches!(&pieces[1], PieceRecipe::Arc(_, turn) if turn.value(&[]) == std::f64::consts::FRAC_PI_2)
    );
    let Station::Length(end) = &part(&study).bosses[1].at[0] else {
        panic!("no length")
    };
    let arm = 64.0 + 38.0 * std::f64::consts::FRAC_PI_2;
    assert!((end.value(&slots) - (arm - 7.0)).abs() < 1e-12);
    // A wall's holes stand halfway up it where nothing is said: between floor (2 mm) and top (9 mm).
    let wall_row = &part(&study).hole_rows[1];
    assert_eq!(
        (wall_row.strip, wall_row.offset.value(&slots)),
        (StripName::OuterWall, 5.5)
    );
    // A pure moment gives a stiffness against rotation.
    let torque = study
        .measures
        .iter()
        .find(|(name, _)| name == "torque.stiffness")
        .expect("measure");
    assert_eq!(torque.1, Unit::N_MM_PER_RAD);
    assert_eq!(study.constraints[6].limit.value(&[]), 20_000.0);
}

#[test]
fn the_starter_is_read_and_shows_every_key_with_a_default() {
    let study = expect_good("starter", starter());
    assert!(matches!(study.variables[3].range, Range::Choice(ref drills) if drills.len() == 6));
    assert!(!study.derived[0].after);
    let words: Vec<&str> = starter()
        .split(|letter: char| !letter.is_alphanumeric() && letter != '_')
        .collect();
    for line in key_reference()
        .lines()
        .filter(|line| line.contains("| no; "))
    {
        let key = line
            .trim_start_matches("| `")
            .split('`')
            .next()
            .expect("key");
        assert!(words.contains(&key), "the starter does not show `{key}`");
    }
}

#[test]
fn the_schema_in_the_studies_folder_is_the_one_of_the_code() {
    let made = serde_json::to_string_pretty(&json_schema()).expect("schema") + "\n";
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("studies/study.schema.json");
    if std::env::var_os("RECORD_SCHEMA").is_some() {
        fs::write(&path, &made).expect("schema written");
    }
    assert_eq!(made, fs::read_to_string(&path).unwrap_or_default());
}

#[test]
fn derived_values_may_use_measures_and_are_put_after() {
    let text = file(STUDIES[0]).replace(
        "[load.squeeze]",
        "merit = \"squeeze.stiffness / mass\"\n\n[load.squeeze]",
    );
    let study = expect_good("with merit", &text);
    let merit = study.derived.last().expect("merit");
    assert!(merit.after);
    assert_eq!(merit.unit.dimension.0, [0, 0, -2, 0, 0]);
    let after_variables = study.variables.len() + study.derived.len();
    assert!(merit.formula.uses().all(|slot| slot >= after_variables));
}

#[test]
fn other_ways_to_write_the_same_are_read_alike() {
    let text = file(STUDIES[0]);
    let plain = expect_good("plain", &text);
    for (from, to) in [
        ("\n", "\r\n"),
        (
            "[variables.width]\nfrom = \"14 mm\"\nto = \"18 mm\"\nstep = \"0.5 mm\"",
            "[variables]\nwidth = { from = \"14 mm\", to = \"18 mm\", step = \"0.5 mm\" }",
        ),
        ("\"0.8 * wall_height\"", "\"\"\"\n  0.8 * wall_height\"\"\""),
        ("\"46 mm\"", "'46 mm'"),
        ("\"46 mm\"", "\"\\u0034\\u0036 mm\""),
    ] {
        let changed = text.replace(from, to);
        assert_ne!(changed, text);
        let study = expect_good(to, &changed);
        assert_eq!(study.part, plain.part, "{to}");
        assert_eq!(study.variables, plain.variables, "{to}");
    }
    expect_good("byte order mark", &format!("\u{feff}{text}"));
}

#[test]
fn a_study_is_described_in_words() {
    let words = describe(&expect_good(STUDIES[0], &file(STUDIES[0])));
    assert_eq!(
        words.variables[1].range,
        "1 mm to 2.5 mm in steps of 0.1 mm"
    );
    assert_eq!(words.variables[1].values, 16.0);
    assert_eq!(words.counts, [0, 7, 0, 1]);
    // 9 widths, 16 floors, 13 outer and inner walls, 11 heights, 9 ribs, 10 drills, 21 pitches.
    assert_eq!(
        words.designs,
        9.0 * 16.0 * 13.0 * 13.0 * 11.0 * 9.0 * 10.0 * 21.0
    );
    assert_eq!(
        words.space,
        "9 x 16 x 13 x 13 x 11 x 9 x 10 x 21 = 5.059e8 designs"
    );
    assert_eq!(words.plan, "search, 24000 designs");
    assert_eq!(
        words.objectives,
        ["least mass", "most squeeze.stiffness", "least cycle_time"]
    );
    assert_eq!(words.constraints[0], "web: ligament >= 0.8 mm");
    let starter = describe(&expect_good("starter", starter()));
    assert!(starter.designs.is_infinite());
    assert_eq!(
        starter.space,
        "16 x 6 x 21 combinations, with 2 dimensions of any value between their bounds"
    );
}

#[test]
fn values_given_on_the_command_line_are_checked() {
    let study = expect_good(STUDIES[0], &file(STUDIES[0]));
    let (floor, hole) = (&study.variables[1], &study.variables[6]);
    assert_eq!(variable_value(floor, "1.2 mm"), Ok(1.0 + 2.0 * 0.1));
    assert_eq!(variable_value(hole, "0.5 cm"), Ok(5.0));
    let fault = |text: &str| variable_value(floor, text).expect_err(text);
    assert!(matches!(fault("1.2"), ValueFault::Kind { .. }));
    assert!(matches!(fault("thick"), ValueFault::Unreadable(_)));
    assert_eq!(
        fault("3 mm").to_string(),
        "it can be 1 mm to 2.5 mm in steps of 0.1 mm; nearest is 2.5 mm"
    );
    assert!(matches!(fault("1.25 mm"), ValueFault::Outside { .. }));
}

#[test]
fn the_catalogue_file_is_known_before_the_study_is_checked() {
    assert_eq!(
        catalogue_file("catalogue = \"my-shop.toml\"\nwidth = "),
        Some("my-shop.toml".into())
    );
    assert_eq!(catalogue_file("title = \"\""), None);
}

/// A study with something cut out of it and something else put in.
fn mangle(text: &str, at: usize, length: usize, put: &str) -> String {
    let boundary = |mut at: usize| {
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = boundary(at % text.len());
    let end = boundary((start + length).min(text.len()));
    format!("{}{put}{}", &text[..start], &text[end..])
}

/// Reads and prints; panics are what is looked for. Spans must lie within the text.
fn read_and_print(text: &str) {
    if let Err(problems) = read_with_stand_in(text) {
        assert!(!problems.is_empty());
        for problem in &problems {
            for (span, _) in &problem.spans {
                assert!(text.get(span.clone()).is_some(), "{problem:?} in {text:?}");
            }
        }
        let _ = print(&problems, text, "study.toml", false);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,200}") {
        read_and_print(&text);
    }

    #[test]
    fn mangled_studies_are_read_or_refused(
        which in 0..3_usize,
        cuts in prop::collection::vec((any::<usize>(), 0..60_usize, prop::sample::select(vec![
            "", "\"", "'", "[", "]", "{}", "=", "nan", "-1", "0", "1e400", "\"1e9 mm\"", "[[part.boss]]\n", "true",
            "\n", "\"°\"", "[]", "\"-5 mm\"", "1979-05-27", "9223372036854775807", "\"floor ^ 99\"", "µ", ".",
        ])), 1..4),
    ) {
        let mut text = match which {
            2 => starter().to_string(),
            _ => file(STUDIES[which]),
        };
        for (at, length, put) in cuts {
            text = mangle(&text, at, length, put);
        }
        read_and_print(&text);
    }
}
