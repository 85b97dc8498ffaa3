//! Meshes of `solid`: sound elements, conforming, the part's own volume.

mod solid_mesh_common;
mod structure_common;
mod studies_support;

use fretwork::part::{Bore, Depth, HoleRow, Part, Path, Piece, Section, StripName};
use fretwork::run::{Overrides, design};
use fretwork::solid::{Density, MeshError};
use solid_mesh_common::*;
use structure_common::{Table, bar, channel};

const ALL: [Density; 3] = [Density::Coarse, Density::Fine, Density::Finest];

const MEMBERS: &str = include_str!("data/solid/members.csv");

fn volume_holds(error: f64, density: Density, what: &str) {
    let allowed = match density {
        Density::Coarse => 5e-4,
        Density::Fine => 1e-4,
        Density::Finest => 3e-5,
    };
    assert!(error.abs() < allowed, "{what}: volume off by {error:.2e}");
}

#[test]
fn all_members() {
    let table = Table::read(MEMBERS);
    for row in &table.rows {
        let (part, stations) = member(&table, row);
        for density in ALL {
            let what = format!("{} {density:?}", row[0]);
            let (cut, error) = check(&part, &stations, density, &what);
            println!("{what}: {} volume {error:.1e}", size(&cut));
            volume_holds(error, density, &what);
            assert_eq!(cut.slabs.len(), 1, "{what}");
            // The table's own volume, rounded to its digits.
            let volume: f64 = cut
                .links
                .iter()
                .map(|l| slab_volume(&cut.slabs[l.slab]))
                .sum();
            let expected = table.get(row, "volume_mm3").unwrap();
            assert!(
                (volume / expected - 1.0).abs() < 1e-3,
                "{what}: {volume} {expected}"
            );
        }
    }
}

#[test]
fn demo_studies() {
    for study in ["yaw-ring", "tilt-arm"] {
        let prepared = studies_support::prepared(study, Overrides::default());
        let sheet = design(&prepared, &[]).unwrap();
        let (part, layout) = (sheet.part.unwrap(), sheet.layout.unwrap());
        let stations: Vec<f64> = layout
            .station_nodes
            .iter()
            .map(|&node| layout.nodes_mm[node])
            .collect();
        for density in ALL {
            let what = format!("{study} {density:?}");
            let (cut, error) = check(&part, &stations, density, &what);
            println!(
                "{what}: {} volume {error:.1e} {:?}",
                size(&cut),
                cut.remarks
            );
            volume_holds(error, density, &what);
        }
    }
}

/// Every density of a part passes, its volume too.
fn check_all(part: &Part, stations: &[f64], what: &str) {
    for density in ALL {
        let what = format!("{what} {density:?}");
        let (cut, error) = check(part, stations, density, &what);
        println!(
            "{what}: {} volume {error:.1e} {:?}",
            size(&cut),
            cut.remarks
        );
        volume_holds(error, density, &what);
    }
}

fn two_rows(diameter: f64, pitch: f64, gap: f64, stagger: f64) -> HoleRow {
    HoleRow {
        rows: 2,
        row_gap_mm: gap,
        stagger,
        ..row(StripName::Floor, diameter, pitch, 0.0)
    }
}

fn wide() -> Section {
    channel(16.0, 1.5, (1.2, 8.0), (1.2, 6.0), None)
}

#[test]
fn staggered_rows() {
    for stagger in [0.5, 0.3, -0.5] {
        let rows = vec![two_rows(3.0, 5.0, 5.0, stagger)];
        check_all(
            &frame(bar_path(60.0), wide(), rows),
            &[0.0, 60.0],
            &format!("staggered {stagger}"),
        );
    }
    let ring = frame(
        Path::circle(40.0).unwrap(),
        wide(),
        vec![two_rows(4.0, 80.0 * std::f64::consts::PI / 42.0, 5.0, 0.5)],
    );
    check_all(&ring, &[0.0, 125.0], "staggered ring");
    let (cut, _) = check(&ring, &[], Density::Coarse, "staggered ring");
    assert_eq!(cut.slabs.len(), 1, "from hole to hole, turned about");
    // Three rows, the middle one shifted.
    let rows = HoleRow {
        rows: 3,
        row_gap_mm: 4.2,
        ..two_rows(3.0, 6.0, 0.0, 0.5)
    };
    check_all(
        &frame(bar_path(50.0), wide(), vec![rows]),
        &[0.0],
        "three rows",
    );
}

#[test]
fn blind_holes() {
    let floor = |depth| HoleRow {
        depth: Depth::Blind(depth),
        ..row(StripName::Floor, 4.0, 7.0, 0.5)
    };
    let thick = |floor_mm| channel(12.0, floor_mm, (1.2, 8.0), (1.2, 8.0), None);
    for (path, name) in [
        (bar_path(50.0), "bar"),
        (Path::circle(40.0).unwrap(), "ring"),
    ] {
        // Cones of 1.2 mm under 2 mm of full diameter.
        let part = frame(path.clone(), thick(4.0), vec![floor(2.0)]);
        check_all(&part, &[0.0], &format!("blind {name}"));
        let (cut, _) = check(&part, &[0.0], Density::Coarse, name);
        assert!(cut.remarks[0].contains("with their drill point"));
        assert!(cut.slabs.iter().all(|slab| slab.holes.iter().all(|hole| {
            hole.nodes
                .iter()
                .any(|&node| slab.nodes[node as usize][2] < 1.0)
        })));
    }
    // No metal for the point.
    let part = frame(bar_path(50.0), thick(2.0), vec![floor(1.2)]);
    let (cut, error) = check(&part, &[0.0], Density::Fine, "flat");
    assert!(cut.remarks[0].contains("flat"), "{:?}", cut.remarks);
    assert!(error > 1e-3);
    let part = frame(bar_path(50.0), thick(2.0), vec![floor(2.0)]);
    assert!(matches!(
        meshed(&part, &[0.0], Density::Fine),
        Err(MeshError::NoSkin { .. })
    ));
}

#[test]
fn holes_in_walls() {
    let wall = |strip, pitch| row(strip, 3.0, pitch, 4.8);
    let arc = |angle: f64| {
        Path::chain(
            vec![Piece::Arc {
                radius_mm: 30.0,
                angle,
            }],
            false,
        )
        .unwrap()
    };
    for (path, name) in [
        (bar_path(60.0), "bar"),
        (arc(1.8), "left arc"),
        (arc(-1.8), "right arc"),
        (Path::circle(30.0).unwrap(), "ring"),
    ] {
        let alone = frame(path.clone(), wide(), vec![wall(StripName::OuterWall, 6.0)]);
        check_all(&alone, &[0.0], &format!("outer wall of a {name}"));
        let inner = row(StripName::InnerWall, 2.0, 6.0, 3.7);
        let three = vec![
            wall(StripName::OuterWall, 6.0),
            inner,
            row(StripName::Floor, 4.0, 6.0, 1.0),
        ];
        check_all(
            &frame(path.clone(), wide(), three),
            &[0.0],
            &format!("walls of a {name}"),
        );
        let unequal = vec![
            wall(StripName::OuterWall, 5.5),
            row(StripName::Floor, 4.0, 7.0, 1.0),
        ];
        check_all(
            &frame(path, wide(), unequal),
            &[0.0],
            &format!("unequal, {name}"),
        );
    }
    let blind = HoleRow {
        depth: Depth::Blind(0.5),
        ..wall(StripName::OuterWall, 6.0)
    };
    assert!(matches!(
        meshed(
            &frame(bar_path(60.0), wide(), vec![blind]),
            &[],
            Density::Fine
        ),
        Err(MeshError::BlindInWall { .. })
    ));
}

/// A line, a left and a right arc: curvature changes in the middle of holes and between them.
#[test]
fn bent_paths() {
    for side in [20.0, 21.3, 22.7, 24.1, 25.9] {
        let arc = |angle: f64| Piece::Arc {
            radius_mm: 25.0,
            angle,
        };
        let pieces = vec![
            Piece::Line { length_mm: side },
            arc(1.1),
            arc(-0.9),
            Piece::Line { length_mm: 15.0 },
        ];
        let path = Path::chain(pieces, false).unwrap();
        let rows = vec![row(StripName::Floor, 4.0, 6.0, 1.0)];
        check_all(
            &frame(path.clone(), usual(), rows),
            &[0.0, path.length_mm()],
            &format!("bent {side}"),
        );
        let rows = vec![row(StripName::OuterWall, 3.0, 5.0, 4.8)];
        check_all(
            &frame(path.clone(), wide(), rows),
            &[0.0, path.length_mm()],
            &format!("bent, wall, {side}"),
        );
    }
    let stadium = Path::stadium(30.0, 20.0).unwrap();
    let rows = vec![row(StripName::Floor, 4.0, 6.0, 0.0)];
    check_all(&frame(stadium, usual(), rows), &[0.0, 60.0], "stadium");
}

#[test]
fn bosses_and_bores() {
    let bore = |diameter_mm, depth_mm| {
        Some(Bore {
            diameter_mm,
            depth_mm,
            reamed: false,
            counterbore: None,
        })
    };
    let floor = |floor_mm, section: &Section| Section {
        floor_mm,
        ..section.clone()
    };
    let ribbed = channel(13.0, 1.8, (1.5, 8.0), (1.5, 6.4), Some((-1.4, 1.2, 5.6)));
    let ring = |section: &Section, boss_section: Section, bore, offset: f64| Part {
        bosses: [0.0, 0.25, 0.5, 0.75]
            .iter()
            .map(|turn| {
                let at = turn * 40.0 * std::f64::consts::TAU;
                boss(at, 9.0, boss_section.clone(), bore)
            })
            .collect(),
        ..frame(
            Path::circle(40.0).unwrap(),
            section.clone(),
            vec![row(StripName::Floor, 4.0, 8.0, offset)],
        )
    };
    let lugs = ring(&ribbed, floor(5.0, &ribbed), bore(3.2, None), 2.1);
    check_all(&lugs, &[0.0, 31.4159], "lugs under a rib");
    let (cut, _) = check(&lugs, &[0.0], Density::Coarse, "lugs");
    assert_eq!(cut.slabs.len(), 3, "half a lug, half a pitch, plain");
    // A solid, wider boss with a blind bore.
    let block = bar(15.0, 6.0);
    check_all(
        &ring(&usual(), block.clone(), bore(4.0, Some(3.0)), 0.0),
        &[],
        "blind bore",
    );
    check_all(
        &ring(&usual(), block, None, 0.5),
        &[3.0, 5.0],
        "wide bosses",
    );
    // Bosses flush with both ends.
    let arm = Part {
        bosses: vec![
            boss(5.0, 10.0, floor(4.0, &wide()), bore(3.2, None)),
            boss(55.0, 10.0, floor(4.0, &wide()), bore(3.2, None)),
        ],
        ..frame(bar_path(60.0), wide(), vec![two_rows(3.0, 5.0, 5.0, 0.0)])
    };
    check_all(&arm, &[5.0, 55.0], "arm");
}

#[test]
fn stations_anywhere() {
    let part = frame(
        Path::circle(40.0).unwrap(),
        usual(),
        vec![row(StripName::Floor, 4.0, 6.0, 0.0)],
    );
    let pitch = part.path.length_mm() / 41.0;
    let (cut, _) = check(&part, &[], Density::Coarse, "no station");
    assert_eq!(
        (cut.slabs.len(), cut.faces.len(), cut.links.len()),
        (1, 2, 82)
    );
    // In a ligament, in a hole, at its centre, before the start.
    for at in [
        0.02,
        0.3,
        0.7,
        0.9,
        2.0,
        0.5 * pitch,
        0.52 * pitch,
        -3.2,
        100.0,
    ] {
        let what = format!("station {at}");
        let (cut, error) = check(&part, &[at], Density::Fine, &what);
        volume_holds(error, Density::Fine, &what);
        assert!(cut.slabs.len() <= 3, "{what}: {} slabs", cut.slabs.len());
    }
    let (cut, _) = check(&part, &[0.3], Density::Coarse, "in a ligament");
    assert_eq!(cut.seats[0].shares[0].1, 1.0);
    let (cut, _) = check(&part, &[2.0], Density::Coarse, "in a hole");
    assert!(cut.seats[0].shares[0].1 < 1.0);
}

/// Nodes of a hole's wall lie on its circle.
#[test]
fn hole_walls_are_round() {
    let part = frame(
        Path::circle(40.0).unwrap(),
        usual(),
        vec![row(StripName::Floor, 4.0, 6.0, 0.5)],
    );
    for density in ALL {
        let (cut, _) = check(&part, &[], density, "ring");
        let slab = &cut.slabs[0];
        let centre = if slab.holes.len() == 1 && slab.nodes[slab.start[0] as usize][0] == 0.0 {
            // Whichever plane the hole's centre lies in.
            [(0.0, 0.5), {
                let (sin, cos) = slab.turn.sin_cos();
                (slab.reach_mm.0 - 0.5 * sin, slab.reach_mm.1 + 0.5 * cos)
            }]
        } else {
            panic!("one half hole")
        };
        let off = |centre: (f64, f64)| {
            slab.holes[0]
                .nodes
                .iter()
                .map(|&node| {
                    let [x, y, _] = slab.nodes[node as usize];
                    ((x - centre.0).hypot(y - centre.1) - 2.0).abs()
                })
                .fold(0.0, f64::max)
        };
        assert!(off(centre[0]).min(off(centre[1])) < 1e-9);
    }
}

#[test]
fn what_cannot_be_meshed_is_named() {
    let refused = |part: &Part, expected: &str| {
        let error = meshed(part, &[], Density::Coarse).unwrap_err();
        let text = error.to_string();
        assert!(text.contains(expected), "{text}");
        assert!(text.ends_with("(the beam's answer stands)"));
        error
    };
    let on_bar = |section: Section, rows| frame(bar_path(60.0), section, rows);
    let touching = on_bar(usual(), vec![row(StripName::Floor, 5.0, 5.0, 0.0)]);
    let error = refused(&touching, "relief at s = ");
    assert!(matches!(error, MeshError::HolesTouch { metal_mm, .. } if metal_mm.abs() < 1e-9));
    let edge = on_bar(usual(), vec![row(StripName::Floor, 5.0, 7.0, 2.0)]);
    refused(&edge, "relief: -0.700 mm of metal to an edge");
    let close = on_bar(wide(), vec![two_rows(4.0, 5.0, 3.6, 0.5)]);
    refused(&close, "rows reach between one another");
    let arc = Piece::Arc {
        radius_mm: 4.0,
        angle: 2.0,
    };
    let tight = frame(Path::chain(vec![arc], false).unwrap(), usual(), Vec::new());
    refused(&tight, "radius 4.00 mm: the section reaches 5.00 mm");
}

/// Designs spread over the demo studies' own spaces that break no geometric rule, the same ones each time (additive
/// recurrence on square roots of primes). Where holes of floor and wall, or a hole and a change of section, leave no
/// plane between them, the mesher refuses by name and the beam's answer stands: that must stay rare.
#[test]
fn designs_of_the_demo_studies() {
    let (mut meshed_designs, mut refused) = (0, Vec::new());
    for study in ["yaw-ring", "tilt-arm"] {
        let prepared = studies_support::prepared(study, Overrides::default());
        for number in 1..=40 {
            let set = spread_design(study, number);
            let sheet = design(&prepared, &set).unwrap();
            if !sheet.rules.iter().all(|rule| rule.value_mm > 0.1) {
                continue;
            }
            let (part, layout) = (sheet.part.unwrap(), sheet.layout.unwrap());
            let nodes = layout.station_nodes.iter();
            let stations: Vec<f64> = nodes.map(|&node| layout.nodes_mm[node]).collect();
            match meshed(&part, &stations, Density::Coarse) {
                Ok(_) => meshed_designs += 1,
                Err(MeshError::HoleCutsJoint { .. } | MeshError::HolesTouch { .. }) => {
                    refused.push(set);
                    continue;
                }
                Err(other) => panic!("{study} {set:?}: {other}"),
            }
            for density in [Density::Coarse, Density::Fine] {
                let what = format!("{study} {set:?} {density:?}");
                let (cut, error) = check(&part, &stations, density, &what);
                if cut.remarks.is_empty() {
                    volume_holds(error, density, &what);
                } else {
                    // The rib's edge grazes the bores, which is said.
                    assert!(error.abs() < 5e-4, "{what}: {error:.2e} {:?}", cut.remarks);
                }
            }
        }
    }
    assert!(meshed_designs >= 30, "{meshed_designs} designs");
    assert!(
        20 * refused.len() <= meshed_designs,
        "{meshed_designs} designs, refused {refused:?}"
    );
}

/// Values of a design of a study's space, on its steps.
fn spread_design(study: &str, number: usize) -> Vec<(String, String)> {
    let names: &[(&str, f64, f64)] = match study {
        "yaw-ring" => &[
            ("floor", 0.8, 2.4),
            ("outer_wall", 0.6, 2.0),
            ("inner_wall", 0.6, 2.0),
            ("wall_height", 5.0, 10.0),
            ("rib", 0.6, 1.6),
            ("hole", 2.0, 6.0),
            ("pitch", 3.0, 12.0),
        ],
        _ => &[
            ("width", 10.0, 16.0),
            ("floor", 1.0, 3.0),
            ("wall", 0.8, 2.5),
            ("wall_height", 6.0, 12.0),
            ("hole", 2.0, 5.0),
            ("pitch", 4.0, 16.0),
            ("wall_hole", 2.0, 4.0),
            ("wall_pitch", 4.0, 16.0),
        ],
    };
    let primes = [2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0_f64];
    let value = |(&(name, from, to), prime): (&(&str, f64, f64), f64)| {
        let share = (number as f64 * prime.sqrt()).fract();
        let coarse = ["pitch", "hole", "width", "wall_height"];
        let step = match coarse.iter().any(|part| name.contains(part)) {
            true => 0.5,
            false => 0.1,
        };
        let value = from + step * ((to - from) * share / step).round();
        (name.to_string(), format!("{value:.2} mm"))
    };
    names.iter().zip(primes).map(value).collect()
}
