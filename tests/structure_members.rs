//! The beam against solid finite elements of drilled and undrilled members: data/solid/members*.csv.

mod structure_common;

use fretwork::structure::outside_validated_range;
use structure_common::*;

const MEMBERS: &str = include_str!("data/solid/members.csv");
const UNDRILLED: &str = include_str!("data/solid/members_undrilled.csv");

/// Errors in percent, (case, drilled, measure, error), of every stiffness and first free frequency known.
fn errors() -> Vec<(String, bool, &'static str, f64)> {
    let members = Table::read(MEMBERS);
    let undrilled = Table::read(UNDRILLED);
    let mut errors = Vec::new();
    for row in &members.rows {
        let holed = members.get(row, "n_rows").unwrap_or(0.0) > 0.0;
        for drilled in [true, false] {
            if drilled && !holed {
                continue;
            }
            let plain = undrilled.rows.iter().find(|plain| plain[0] == row[0]);
            for (column, value) in member_stiffness(&members, row, drilled) {
                let expected = if holed && !drilled {
                    plain.and_then(|plain| undrilled.get(plain, column))
                } else {
                    members.get(row, column)
                };
                if let Some(expected) = expected {
                    errors.push((
                        row[0].clone(),
                        drilled,
                        column,
                        100.0 * (value / expected - 1.0),
                    ));
                }
            }
        }
    }
    errors
}

/// Checks that all errors of a kind lie within a band in percent.
///
/// The bands are what is achieved, with a little room: they hold the model where it is. They are no estimate of
/// the error on a new section, because the ladder's constants were picked with all drilled members in view, and
/// the share of the lean with all curved ones but R13.
fn check(what: &str, low: f64, high: f64, pick: impl Fn(&str, bool, &str) -> bool) {
    let errors = errors();
    let mut compared = 0;
    for (case, drilled, measure, error) in &errors {
        if pick(case, *drilled, measure) {
            compared += 1;
            println!("{case} drilled {drilled} {measure} {error:+.1} %");
            assert!(
                (low..=high).contains(error),
                "{what}: {case} drilled {drilled} {measure} off by {error:.2} %, band {low} to {high} %"
            );
        }
    }
    assert!(compared > 0, "{what}: nothing compared");
}

fn straight(case: &str) -> bool {
    case.starts_with('S')
}

fn in_plane(measure: &str) -> bool {
    ["k_y_N_per_mm", "k_squeeze_N_per_mm"].contains(&measure)
}

// The solid values themselves are 0.1 to 1 % too stiff. R13 (tall walls, thin floor, small radius) is apart.

#[test]
fn undrilled_bars() {
    check("undrilled bars", -2.0, 0.5, |case, drilled, measure| {
        straight(case) && !drilled && measure != "f1_Hz"
    });
}

#[test]
fn drilled_bars() {
    check("drilled bars", -2.9, 1.5, |case, drilled, measure| {
        straight(case) && drilled && measure != "f1_Hz"
    });
}

#[test]
fn undrilled_rings_in_plane() {
    check(
        "undrilled rings in plane",
        -4.6,
        1.2,
        |case, drilled, measure| {
            case.starts_with('R') && case != "R13" && !drilled && in_plane(measure)
        },
    );
}

#[test]
fn undrilled_rings_out_of_plane_and_along() {
    check("undrilled rings", -6.3, 1.5, |case, drilled, measure| {
        let kind = measure == "k_z_N_per_mm" || measure == "k_tan_N_per_mm";
        case.starts_with('R') && case != "R13" && !drilled && kind
    });
}

#[test]
fn drilled_rings() {
    check("drilled rings", -7.3, 7.0, |case, drilled, measure| {
        case.starts_with('R') && case != "R13" && drilled && measure != "f1_Hz"
    });
}

#[test]
fn arcs() {
    check("arcs", -7.7, 6.3, |case, _, measure| {
        case.starts_with('A') && measure != "f1_Hz"
    });
}

#[test]
fn first_free_frequencies() {
    // The solid's frequencies are from a coarser mesh, 0.3 to 1 % high.
    check("frequency", -2.3, 4.8, |case, _, measure| {
        case != "R13" && measure == "f1_Hz"
    });
}

#[test]
fn the_ring_with_tall_thin_walls_is_off_and_marked() {
    // No beam of a section that keeps its shape holds here; the lean of the walls brings it from 60 % to 23 %.
    check("R13", -1.0, 23.5, |case, _, measure| {
        case == "R13" && measure != "f1_Hz"
    });
    let tall = channel(10.0, 1.08, (1.57, 9.4), (0.94, 9.4), None);
    let reason = outside_validated_range(&tall, 1.0 / 34.9).expect("out of range");
    assert!(reason.distortion > 3.0 * reason.limit);
    let stout = channel(12.7, 1.94, (1.95, 8.9), (1.47, 8.0), Some((0.24, 0.9, 4.6)));
    assert_eq!(outside_validated_range(&stout, 1.0 / 37.0), None);
    assert_eq!(
        outside_validated_range(&tall, 0.0),
        None,
        "a straight bar does not lean"
    );
}
