//! The solid that is handed off: exact, whole, and the same in the files.

#[path = "handoff_solid_support/parts.rs"]
mod parts;
#[path = "handoff_solid_support/mod.rs"]
mod reader;
mod studies_support;

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::fmt::Write as _;
use std::fs;
use std::io::Cursor;
use std::path::Path as File;
use std::time::{Duration, Instant};

use fretwork::handoff::body::{Body, BodyError, Curve, Fault, Surface};
use fretwork::handoff::mesh::{CHORD_MM, Mesh, MeshError};
use fretwork::handoff::step::{Label, step};
use fretwork::handoff::three_mf::three_mf;
use fretwork::part::{Depth, Layout, Part, Path, Piece, RuleKind, StripName, Volume};
use fretwork::run::Overrides;
use parts::{arm, blind, bore, boss, channel, features, flat, part, ring, row};
use studies_support::{prepared, random_designs};

const LABEL: Label = Label {
    name: "yaw ring Ø80",
    description: "invented; today's",
    date: "2026-11-26T12:00:00",
};

fn layout(part: &Part) -> Layout {
    Layout::new(part, &[]).expect("a layout")
}

fn body(part: &Part) -> Result<Body, BodyError> {
    Body::of(part, &layout(part))
}

fn close(what: &str, got: f64, want: f64, relative: f64) {
    assert!(
        (got / want - 1.0).abs() <= relative,
        "{what}: {got} is not {want} ({:.1e})",
        got / want - 1.0
    );
}

/// Holes of a part by diameter in nm: hole rows, bores, counterbores.
fn holes(part: &Part) -> BTreeMap<i64, usize> {
    let mut holes = BTreeMap::new();
    let mut add = |diameter: f64| *holes.entry((diameter * 1e6).round() as i64).or_insert(0) += 1;
    for hole in &layout(part).holes {
        add(part.hole_rows[hole.row].diameter_mm);
    }
    for bore in part.bosses.iter().filter_map(|boss| boss.bore) {
        add(bore.diameter_mm);
        if let Some(wide) = bore.counterbore {
            add(wide.diameter_mm);
        }
    }
    holes
}

/// Holes through a part: its path's own where it is closed, drilled ones, slits.
fn through(part: &Part) -> usize {
    let layout = layout(part);
    let drilled = layout
        .holes
        .iter()
        .filter(|hole| part.hole_rows[hole.row].depth == Depth::Through);
    let bored = part
        .bosses
        .iter()
        .filter_map(|boss| boss.bore)
        .filter(|bore| bore.depth_mm.is_none());
    let slits = part
        .bosses
        .iter()
        .filter_map(|boss| boss.section.slits)
        .map(|slits| slits.count);
    usize::from(layout.closed) + drilled.count() + bored.count() + slits.sum::<usize>()
}

/// Tubes of a solid by diameter in nm: faces that go all round a cylinder, air within.
fn tubes(body: &Body) -> BTreeMap<i64, usize> {
    let mut tubes = BTreeMap::new();
    for face in &body.faces {
        let Surface::Cylinder { radius, .. } = face.surface else {
            continue;
        };
        // A face all round uses its seam both ways.
        let seam = face.loops[0].iter().any(|a| {
            let other =
                |b: &fretwork::handoff::body::Use| b.edge == a.edge && b.forward != a.forward;
            face.loops[0].iter().any(other)
        });
        if seam {
            assert!(!face.same_sense, "a tube looks inwards");
            *tubes.entry((2e6 * radius).round() as i64).or_insert(0) += 1;
        }
    }
    tubes
}

/// Everything that must be true of a part's solid: its own check, the evaluator's volume, holes; the same from the
/// file's text; and, with a number given, the holes through it.
fn check(what: &str, part: &Part, through: Option<usize>) -> Body {
    let layout = layout(part);
    let body = Body::of(part, &layout).unwrap_or_else(|error| panic!("{what}: {error}"));
    let topology = body
        .check()
        .unwrap_or_else(|fault| panic!("{what}: {fault}"));
    if let Some(through) = through {
        assert_eq!(topology.genus, through, "{what}");
    }
    let want = Volume::of(part, &layout).metal_mm3;
    close(what, body.volume_mm3(), want, 1e-6);
    assert_eq!(tubes(&body), holes(part), "{what}");
    let text = step(&body, &LABEL);
    assert_eq!(
        text,
        step(&Body::of(part, &layout).unwrap(), &LABEL),
        "{what}"
    );
    let again = reader::body(&text);
    assert_eq!(again.check(), Ok(topology), "{what}");
    close(what, again.volume_mm3(), want, 1e-6);
    assert_eq!(tubes(&again), holes(part), "{what}");
    body
}

/// A ring of rectangular section: 2 pi R w t, less n holes of pi d²/4 t (textbook).
#[test]
fn a_flat_ring_with_holes() {
    let mut part = part(Path::circle(30.0).unwrap(), flat(12.0, 3.0));
    part.hole_rows = vec![row(StripName::Floor, 5.0, 8.0, 0.0)];
    let n = (2.0 * PI * 30.0 / 8.0).floor();
    let body = check("flat ring", &part, Some(1 + n as usize));
    let want = 2.0 * PI * 30.0 * 12.0 * 3.0 - n * PI * 25.0 / 4.0 * 3.0;
    close("flat ring", body.volume_mm3(), want, 1e-13);
    // Area: both rings, both rims, tubes (textbook).
    let want = 2.0 * (2.0 * PI * 30.0 * 12.0 - n * PI * 25.0 / 4.0)
        + 2.0 * PI * (36.0 + 24.0) * 3.0
        + n * PI * 5.0 * 3.0;
    close("flat ring's area", body.area_mm2(), want, 1e-13);
    // Top, bottom, two halves of either rim, tubes.
    assert_eq!(body.faces.len(), 6 + n as usize);
    let (low, high) = body.bounds();
    for (got, want) in low
        .iter()
        .chain(high.iter())
        .zip([-36.0, -36.0, 0.0, 36.0, 36.0, 3.0])
    {
        assert!((got - want).abs() < 1e-9, "{got} {want}");
    }
}

/// A bar with one blind hole of 4 mm, 3 deep: cylinder and a cone of 2/tan 59° (textbook).
#[test]
fn a_blind_hole_ends_in_a_cone() {
    let path = Path::chain(vec![Piece::Line { length_mm: 20.0 }], false).unwrap();
    let mut part = part(path, flat(10.0, 6.0));
    part.hole_rows = vec![blind(row(StripName::Floor, 4.0, 50.0, 0.0), 3.0)];
    let body = check("bar", &part, Some(0));
    let point = 2.0 / 59_f64.to_radians().tan();
    let want = 20.0 * 10.0 * 6.0 - PI * 4.0 * (3.0 + point / 3.0);
    close("bar", body.volume_mm3(), want, 1e-13);
    let cone = body.faces.iter().find_map(|face| match face.surface {
        Surface::Cone { half_angle, .. } => Some(half_angle),
        _ => None,
    });
    close("point", 2.0 * cone.unwrap().to_degrees(), 118.0, 1e-15);
}

#[test]
fn every_feature_is_whole_and_exact() {
    for (what, part) in features() {
        check(what, &part, Some(through(&part)));
    }
}

/// Rims of holes in curved walls lie on both surfaces to 2e-9 mm, where a point of the rim is
/// (r cos, R - sqrt(R² - r² cos²), r sin) (own computation).
#[test]
fn rims_in_curved_walls_are_near_the_true_curve() {
    let mut part = ring();
    part.hole_rows = vec![row(StripName::OuterWall, 4.0, 9.0, 4.9)];
    let body = body(&part).unwrap();
    let mut seen = 0;
    for (index, edge) in body.edges.iter().enumerate() {
        if !matches!(edge.curve, Curve::Spline(_)) {
            continue;
        }
        seen += 1;
        for step in 0..=997 {
            let (point, _) = body.along(index, f64::from(step) / 997.0);
            // On the wall's inner or outer face.
            let from_middle = point.xy().norm();
            let off = (from_middle - 46.5).abs().min((from_middle - 45.0).abs());
            assert!(off < 3e-9, "{off:.1e}");
            let off = body.faces.iter().filter_map(|face| match face.surface {
                Surface::Cylinder { radius: 2.0, .. } => Some(face.surface.distance(&point)),
                _ => None,
            });
            let off = off.fold(f64::INFINITY, f64::min);
            assert!(off < 3e-9, "{off:.1e}");
        }
    }
    assert_eq!(seen, 2 * layout(&part).holes.len());
}

/// A hole over the joint of a straight and a round wall: volume by a sum over strips of the tube, each as long as the
/// wall is thick there (own integral, midpoint rule).
#[test]
fn a_hole_over_a_joint_takes_both_walls() {
    let (radius, y_low, y_high, r) = (20.0, -6.5, -5.0, 1.5);
    let path = Path::chain(
        vec![
            Piece::Line { length_mm: 30.0 },
            Piece::Arc {
                radius_mm: radius,
                angle: 1.5,
            },
        ],
        false,
    )
    .unwrap();
    let mut part = part(path, channel());
    part.hole_rows = vec![row(StripName::OuterWall, 2.0 * r, 500.0, 4.9)];
    // The hole's axis 0.4 mm before the joint: the joint's line lies within the hole on both faces.
    part.hole_rows[0].span_mm = Some((20.0, 39.2));
    let hole = layout(&part).holes[0];
    assert!((hole.station_mm - 29.6).abs() < 1e-9);
    let solid = {
        let mut whole = part.clone();
        whole.hole_rows.clear();
        body(&whole).unwrap().volume_mm3()
    };
    let drilled = body(&part).unwrap();
    assert!(drilled.check().is_ok());
    // A face at y: straight up to the joint at u = 0.4, then round about (0.4, radius).
    let face = |y: f64, u: f64| match u > 0.4 {
        true => radius - ((radius - y).powi(2) - (u - 0.4).powi(2)).sqrt(),
        false => y,
    };
    let steps = 200_000;
    let sum: f64 = (0..steps)
        .map(|k| {
            let t = PI * (f64::from(k) + 0.5) / f64::from(steps);
            let u = r * t.cos();
            (face(y_high, u) - face(y_low, u)) * 2.0 * (r * t.sin()).powi(2)
        })
        .sum();
    let want = sum * PI / f64::from(steps);
    close("hole", solid - drilled.volume_mm3(), want, 1e-8);
    // Its rims are in two arcs each, and yet it is one tube.
    assert_eq!(tubes(&drilled), holes(&part));
}

/// A rim that just touches the line where a straight wall turns round: neither on one surface nor on both.
#[test]
fn a_hole_beside_a_joint_is_made() {
    let mut part = arm();
    part.hole_rows = vec![row(StripName::OuterWall, 3.0, 500.0, 4.9)];
    part.hole_rows[0].span_mm = Some((20.0, 41.0));
    assert_eq!(layout(&part).holes[0].station_mm, 30.5);
    check("beside the joint", &part, Some(1));
}

/// Parts of designs spread over a study's space by a fixed sequence; only those that keep the rules.
fn random_parts(study: &str, count: usize) -> Vec<Part> {
    let evaluator = prepared(study, Overrides::default()).evaluator;
    let mut designs = vec![evaluator.baseline()];
    designs.extend(random_designs(&evaluator, 20_261_127, 80 * count, count));
    let part = |design: &Vec<f64>| evaluator.sheet(design).part.unwrap();
    let parts: Vec<Part> = designs.iter().map(part).collect();
    assert!(parts.len() > count, "{study}: {} parts", parts.len());
    parts
}

/// Demo parts and random designs, and every feature; each with its file and the figures wanted of it beside it, for
/// `tests/geometry/check.sh`.
#[test]
fn demo_parts_and_random_designs() {
    let folder = File::new(env!("CARGO_TARGET_TMPDIR")).join("handoff");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let mut parts: Vec<(String, Part)> = features()
        .into_iter()
        .map(|(what, part)| (what.to_string(), part))
        .collect();
    for study in ["yaw-ring", "tilt-arm", "isolator-blade"] {
        let random = random_parts(study, 10).into_iter().enumerate();
        parts.extend(random.map(|(index, part)| (format!("{study}-{index}"), part)));
    }
    for (what, part) in parts {
        let body = check(&what, &part, Some(through(&part)));
        let mut wanted = String::new();
        let volume = Volume::of(&part, &layout(&part)).metal_mm3;
        let (low, high) = body.bounds();
        let _ = writeln!(wanted, "volume {volume}");
        let _ = writeln!(wanted, "low {} {} {}", low.x, low.y, low.z);
        let _ = writeln!(wanted, "high {} {} {}", high.x, high.y, high.z);
        for (diameter, count) in holes(&part) {
            let _ = writeln!(wanted, "holes {} {count}", diameter as f64 * 1e-6);
        }
        fs::write(folder.join(format!("{what}.step")), step(&body, &LABEL)).unwrap();
        fs::write(folder.join(format!("{what}.expect")), wanted).unwrap();
    }
}

/// A ring of 80 holes, floor and curved wall, in a small part of the five seconds that are asked for.
#[test]
fn a_ring_of_eighty_holes_is_quick() {
    let mut part = ring();
    part.hole_rows = vec![
        row(StripName::Floor, 2.0, 2.0 * PI * 40.0 / 40.5, 2.1),
        row(StripName::OuterWall, 2.0, 2.0 * PI * 40.0 / 40.5, 4.9),
    ];
    let layout = layout(&part);
    assert_eq!(layout.holes.len(), 80);
    let start = Instant::now();
    let body = Body::of(&part, &layout).unwrap();
    let bytes = step(&body, &LABEL).len();
    let took = start.elapsed();
    assert!(bytes > 10_000);
    assert!(took < Duration::from_secs(5), "{took:?}");
}

/// What must be refused, and with which words.
#[test]
fn what_cannot_be_made_is_refused_with_the_mend() {
    let refused = |what: &str, part: &Part| match body(part) {
        Err(error) => {
            let words = error.to_string();
            assert!(words.contains("; "), "no mend: {words}");
            error
        }
        Ok(_) => panic!("{what} was made"),
    };
    // A hole wider than the clear floor breaks a rule.
    let mut wide = ring();
    wide.hole_rows = vec![row(StripName::Floor, 9.0, 12.0, 2.1)];
    assert!(matches!(
        refused("wide", &wide),
        BodyError::Rule {
            kind: RuleKind::Edge,
            ..
        }
    ));
    // A wall hole that the curvature carries into the boss beside it: asin(4/43.5) on the inner face is more than
    // its share of the path.
    let mut over = part(Path::circle(10.0).unwrap(), channel());
    over.section.ribs.clear();
    let thick = fretwork::part::Section {
        inner_wall: parts::wall(3.0, 6.4),
        ..over.section.clone()
    };
    over.bosses = vec![boss(0.0, 6.0, thick, None)];
    over.hole_rows = vec![row(StripName::InnerWall, 3.0, 500.0, 4.1)];
    over.hole_rows[0].span_mm = Some((3.0, 7.0));
    over.hole_rows[0].clearance_mm = 0.1;
    assert!(
        matches!(&refused("over", &over), BodyError::Hole { hole: 1, .. }),
        "{}",
        refused("over", &over)
    );
    // A blind bore under a low floor, whose boss is high elsewhere: the drill point comes out below.
    let mut deep = ring();
    deep.section.ribs.clear();
    deep.bosses = vec![boss(0.0, 9.0, deep.section.clone(), Some(bore(3.0)))];
    deep.bosses[0].bore.as_mut().unwrap().depth_mm = Some(1.5);
    assert!(matches!(
        refused("deep", &deep),
        BodyError::BreaksThrough { .. }
    ));
    // A bore between two ribs: the step away from the one that it touches, 0.0005 mm, touches the other.
    let mut touching = part(
        Path::chain(vec![Piece::Line { length_mm: 60.0 }], false).unwrap(),
        channel(),
    );
    let rib = fretwork::part::Rib {
        offset_mm: 2.2005,
        ..touching.section.ribs[0]
    };
    touching.section.ribs[0].offset_mm = -2.2;
    touching.section.ribs.push(rib);
    touching.bosses = vec![boss(30.0, 9.0, touching.section.clone(), Some(bore(3.2)))];
    assert!(matches!(
        refused("touching", &touching),
        BodyError::Touches { .. }
    ));
    // Walls higher than a floor of no thickness: nothing joins them.
    let mut apart = ring();
    apart.section.ribs.clear();
    apart.section.floor_mm = 0.0;
    assert_eq!(refused("apart", &apart), BodyError::Apart { pieces: 2 });
    // A path that comes back over itself.
    let path = Path::chain(
        vec![
            Piece::Arc {
                radius_mm: 30.0,
                angle: 5.9,
            },
            Piece::Line { length_mm: 20.0 },
        ],
        false,
    );
    assert!(matches!(
        refused("crossing", &part(path.unwrap(), channel())),
        BodyError::Contact { .. }
    ));
    // Bosses of nothing but the far half, end to end with metal on the near half: they meet along a line only.
    let mut corner = part(
        Path::chain(vec![Piece::Line { length_mm: 30.0 }], false).unwrap(),
        fretwork::part::Section {
            outer_wall: parts::wall(5.0, 4.0),
            ..flat(10.0, 0.0)
        },
    );
    corner.bosses = vec![boss(
        25.0,
        10.0,
        fretwork::part::Section {
            inner_wall: parts::wall(5.0, 4.0),
            ..flat(10.0, 0.0)
        },
        None,
    )];
    assert!(
        matches!(refused("corner", &corner), BodyError::Contact { .. }),
        "{}",
        refused("corner", &corner)
    );
}

/// The check of a body finds what is spoilt in a file: readers mend much of it in silence.
#[test]
fn a_spoilt_file_is_found_out() {
    let mut part = ring();
    part.hole_rows = vec![row(StripName::Floor, 4.0, 8.0, 2.1)];
    let good = body(&part).unwrap();
    let text = step(&good, &LABEL);
    let whole = good.volume_mm3();
    // A tube turned inside out.
    let tube = text
        .lines()
        .find(|line| line.contains("ADVANCED_FACE") && line.contains(".F."));
    let tube = tube.expect("a face that looks inwards");
    let turned = reader::body(&text.replace(tube, &tube.replace(",.F.)", ",.T.)")));
    assert!(matches!(turned.check(), Err(Fault::Sense { .. })));
    assert!((turned.volume_mm3() / whole - 1.0).abs() > 1e-6);
    // An edge run the wrong way.
    let edge = text
        .lines()
        .find(|line| line.contains("ORIENTED_EDGE"))
        .unwrap();
    let (start, end) = edge.rsplit_once(',').unwrap();
    let other = if end.starts_with(".T.") {
        ".F.);"
    } else {
        ".T.);"
    };
    let run = reader::body(&text.replace(edge, &format!("{start},{other}")));
    assert!(matches!(run.check(), Err(Fault::Uses { .. })));
    // A circle of another radius.
    let circle = text
        .lines()
        .find(|line| line.contains("CIRCLE") && line.ends_with(",2.);"))
        .expect("a hole's circle");
    let larger = reader::body(&text.replace(circle, &circle.replace(",2.);", ",2.01);")));
    assert!(matches!(larger.check(), Err(Fault::Off { .. })));
    // A face left out.
    let mut open = good.clone();
    open.faces.pop();
    assert!(matches!(open.check(), Err(Fault::Uses { .. })));
    // Two bodies in one shell.
    let mut two = good.clone();
    let (vertices, edges) = (two.vertices.len(), two.edges.len());
    let far = fretwork::handoff::body::Vec3::new(0.0, 0.0, 500.0);
    two.vertices.extend(good.vertices.iter().map(|at| at + far));
    for edge in &good.edges {
        let mut edge = edge.clone();
        edge.from += vertices;
        edge.to += vertices;
        match &mut edge.curve {
            Curve::Circle { frame, .. } => frame.origin += far,
            Curve::Line | Curve::Spline(_) => {}
        }
        two.edges.push(edge);
    }
    for face in &good.faces {
        let mut face = face.clone();
        match &mut face.surface {
            Surface::Plane(frame)
            | Surface::Cylinder { frame, .. }
            | Surface::Cone { frame, .. } => frame.origin += far,
        }
        for each in face.loops.iter_mut().flatten() {
            each.edge += edges;
        }
        two.faces.push(face);
    }
    assert_eq!(two.check(), Err(Fault::Pieces { count: 2 }));
}

/// Strings and header of the file: what ISO 10303-21 asks for.
#[test]
fn the_file_has_its_head() {
    let text = step(&body(&ring()).unwrap(), &LABEL);
    assert!(text.starts_with("ISO-10303-21;\nHEADER;\n"));
    assert!(text.ends_with("ENDSEC;\nEND-ISO-10303-21;\n"));
    assert!(text.is_ascii());
    assert!(text.contains("'yaw ring \\X2\\00D8\\X0\\80'"));
    assert!(text.contains("'invented; today''s'"));
    assert!(text.contains("'2026-11-26T12:00:00',(''),('')"));
    assert!(text.contains("SI_UNIT(.MILLI.,.METRE.)"));
    let entities = reader::read(&text);
    // Every reference leads somewhere, complex entities aside.
    let complex = text.lines().filter(|line| line.contains("=(")).count();
    let last = *entities.keys().last().unwrap();
    assert_eq!(entities.len() + complex, last, "numbers without a gap");
}

fn mesh(body: &Body, chord: f64) -> Mesh {
    Mesh::of(body, chord).unwrap_or_else(|error| panic!("{error}"))
}

/// Watertight; no volume lost or gained beyond the chord error over the whole surface; a finer mesh is nearer.
#[test]
fn meshes_are_watertight_and_near() {
    for (what, part) in features() {
        let body = body(&part).unwrap();
        let whole = body.volume_mm3();
        let mut off = Vec::new();
        for chord in [0.1, CHORD_MM] {
            let mesh = mesh(&body, chord);
            assert!(mesh.watertight(), "{what} {chord}");
            let lost = (mesh.volume_mm3() - whole).abs();
            assert!(lost <= chord * body.area_mm2(), "{what} {chord}: {lost}");
            off.push(lost);
        }
        // The error of chords falls with the chord error itself; tubes and outsides may cancel at one of them.
        assert!(
            off[1] < 0.5 * off[0] || off[1] < 1e-3 * whole,
            "{what}: {off:?}"
        );
        assert_eq!(mesh(&body, 0.1), mesh(&body, 0.1), "{what}");
    }
}

/// Middles of triangles and of their sides are as near to the surface of a face as stated.
#[test]
fn triangles_keep_their_chord_error() {
    for (what, part) in features() {
        let body = body(&part).unwrap();
        let chord = 0.05;
        let mesh = mesh(&body, chord);
        for &[a, b, c] in mesh.triangles.iter().step_by(7) {
            let [a, b, c] = [a, b, c].map(|at| mesh.points[at]);
            let places = [
                (a + b + c) / 3.0,
                (a + b) / 2.0,
                (b + c) / 2.0,
                (c + a) / 2.0,
            ];
            for place in places {
                // Corners of a triangle lie on the face's surface, so few faces come in question.
                let own = body.faces.iter().filter(|face| {
                    [a, b, c]
                        .iter()
                        .all(|corner| face.surface.distance(corner) < 1e-6)
                });
                let near = own.map(|face| face.surface.distance(&place));
                let near = near.fold(f64::INFINITY, f64::min);
                assert!(near <= chord, "{what}: {near}");
            }
        }
    }
}

/// Two hundred triangles of a plain bar's corners: a box needs twelve, and they give its volume to the last bit.
#[test]
fn a_box_has_twelve_triangles() {
    let path = Path::chain(vec![Piece::Line { length_mm: 20.0 }], false).unwrap();
    let mesh = mesh(&body(&part(path, flat(10.0, 3.0))).unwrap(), CHORD_MM);
    assert_eq!((mesh.points.len(), mesh.triangles.len()), (8, 12));
    close("box", mesh.volume_mm3(), 600.0, 1e-14);
}

#[test]
fn a_chord_error_out_of_range_is_refused() {
    let body = body(&ring()).unwrap();
    for chord_mm in [0.0, -1.0, f64::INFINITY, 5.0] {
        assert_eq!(
            Mesh::of(&body, chord_mm),
            Err(MeshError::Chord { chord_mm })
        );
    }
    assert!(matches!(
        Mesh::of(&body, f64::NAN),
        Err(MeshError::Chord { .. })
    ));
    // Metal of 0.04 mm beside holes: chords of 1 mm would cross, and are made finer.
    let mut thin = part(Path::circle(30.0).unwrap(), flat(12.0, 3.0));
    thin.hole_rows = vec![row(StripName::Floor, 11.96, 14.0, 0.0)];
    let thin = self::body(&thin).unwrap();
    let coarse = mesh(&thin, 1.0);
    assert!(coarse.watertight() && coarse.chord_mm == 1.0);
    let lost = (coarse.volume_mm3() / thin.volume_mm3() - 1.0).abs();
    assert!(lost < 0.05, "{lost}");
}

/// An independent reader of 3MF finds the mesh as it was, millimetres, title and chord error, and nothing against the
/// core specification.
#[test]
fn a_reader_of_3mf_finds_the_mesh() {
    let (_, part) = features().swap_remove(2);
    let body = body(&part).unwrap();
    let mesh = mesh(&body, CHORD_MM);
    let bytes = three_mf(&mesh, &LABEL).unwrap();
    assert_eq!(bytes, three_mf(&mesh, &LABEL).unwrap());
    let model = lib3mf::Model::from_reader(Cursor::new(&bytes)).expect("readable");
    assert_eq!(model.unit, "millimeter");
    let meta = |name: &str| {
        let found = model.metadata.iter().find(|each| each.name == name);
        found.expect(name).value.clone()
    };
    assert_eq!(meta("Title"), LABEL.name);
    assert_eq!(
        meta("Description"),
        "invented; today's Chord error 0.01 mm."
    );
    assert_eq!(model.resources.objects.len(), 1);
    let read = model.resources.objects[0].mesh.as_ref().expect("a mesh");
    let triangles: Vec<[usize; 3]> = read
        .triangles
        .iter()
        .map(|each| [each.v1, each.v2, each.v3])
        .collect();
    assert_eq!(triangles, mesh.triangles);
    let again = Mesh {
        points: read
            .vertices
            .iter()
            .map(|at| fretwork::handoff::body::Vec3::new(at.x, at.y, at.z))
            .collect(),
        triangles,
        chord_mm: CHORD_MM,
    };
    assert!(again.watertight());
    close("3MF", again.volume_mm3(), mesh.volume_mm3(), 1e-9);
    // Names of the entries, and no time in them.
    let mut package = zip::ZipArchive::new(Cursor::new(&bytes)).unwrap();
    let names: Vec<String> = package
        .file_names()
        .map(|name| name.expect("a name").into_owned())
        .collect();
    assert_eq!(
        names,
        ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
    );
    let time = package.by_index(0).unwrap().last_modified().unwrap();
    assert_eq!((time.year(), time.month(), time.day()), (1980, 1, 1));
}

/// Markup in a name stays text (XML 1.0, 2.4).
#[test]
fn names_are_escaped_in_the_3mf() {
    let label = Label {
        name: "ring <&> \"Ø\"\u{1}\n2",
        ..LABEL
    };
    let mesh = mesh(&body(&ring()).unwrap(), 0.5);
    let bytes = three_mf(&mesh, &label).unwrap();
    let mut package = zip::ZipArchive::new(Cursor::new(&bytes)).unwrap();
    let mut model = String::new();
    std::io::Read::read_to_string(
        &mut package.by_name("3D/3dmodel.model").unwrap(),
        &mut model,
    )
    .unwrap();
    let name = "ring &lt;&amp;&gt; &quot;Ø&quot; 2";
    assert!(model.contains(&format!("<metadata name=\"Title\">{name}</metadata>")));
    assert!(model.contains(&format!("type=\"model\" name=\"{name}\">")));
}

/// A part whose holes are many: time grows with them, not with their square.
#[test]
fn thousands_of_holes_are_no_trouble() {
    let mut part = part(Path::circle(2000.0).unwrap(), flat(30.0, 4.0));
    part.hole_rows = vec![fretwork::part::HoleRow {
        rows: 4,
        row_gap_mm: 6.0,
        depth: Depth::Blind(1.0),
        ..row(StripName::Floor, 3.0, 5.0, 0.0)
    }];
    let layout = layout(&part);
    assert!(layout.holes.len() > 10_000, "{}", layout.holes.len());
    let start = Instant::now();
    let body = Body::of(&part, &layout).unwrap();
    close(
        "many",
        body.volume_mm3(),
        Volume::of(&part, &layout).metal_mm3,
        1e-9,
    );
    assert!(start.elapsed() < Duration::from_secs(20));
}

#[test]
fn the_arm_is_made_as_it_stands() {
    // A bend to the right: outer wall within, inner wall without.
    let body = check("arm", &arm(), Some(0));
    assert!(body.faces.iter().any(|face| matches!(
        face.surface,
        Surface::Cylinder { radius, .. } if (radius - 31.5).abs() < 1e-9
    )));
}

/// Nodes at loads and supports leave no trace in the solid.
#[test]
fn loads_leave_no_trace_in_the_solid() {
    let (_, part) = features().swap_remove(9);
    let with_nodes = Layout::new(&part, &[1.0, 7.7, 33.3, 70.0]).unwrap();
    assert!(with_nodes.segments.len() > layout(&part).segments.len());
    assert_eq!(Body::of(&part, &with_nodes), body(&part));
}
