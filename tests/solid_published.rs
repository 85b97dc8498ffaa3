//! The solid against handbook formulas: cantilever, thin ring, hole in a strip.

use fretwork::part::{Depth, HoleRow, Layout, Part, Path, Piece, Section, StripName};
use fretwork::solid::{Density, Solid, SolidResponse, cut};
use fretwork::structure::{Action, Carried, Frame, Loading, Metal, Support};

const METAL: Metal = Metal {
    modulus_mpa: 68_900.0,
    poisson: 0.33,
    density_t_mm3: 2.7e-9,
    yield_mpa: 276.0,
};

fn bar(path: Path, width_mm: f64, floor_mm: f64) -> Part {
    Part {
        path,
        section: Section {
            width_mm,
            floor_mm,
            outer_wall: None,
            inner_wall: None,
            ribs: Vec::new(),
            slits: None,
        },
        bosses: Vec::new(),
        hole_rows: Vec::new(),
        carried: Vec::new(),
    }
}

fn line(length_mm: f64) -> Path {
    Path::chain(vec![Piece::Line { length_mm }], false).unwrap()
}

/// Answers to forces (station, components along the path's axes) at mid-height; the first station is clamped where
/// `held`.
fn solved(
    part: &Part,
    stations: &[f64],
    cases: &[&[(usize, [f64; 3])]],
    held: bool,
    density: Density,
) -> Vec<SolidResponse> {
    let layout = Layout::new(part, stations).unwrap();
    let nodes = &layout.station_nodes;
    let support = Support {
        node: nodes[0],
        frame: Frame::Path,
        hold_move: [true; 3],
        hold_turn: [true; 3],
        hold_warp: true,
    };
    let loadings: Vec<Loading> = cases
        .iter()
        .map(|forces| Loading {
            supports: if held {
                vec![support.clone()]
            } else {
                Vec::new()
            },
            actions: forces
                .iter()
                .map(|&(station, force)| Action {
                    node: nodes[station],
                    frame: Frame::Path,
                    force,
                    moment: [0.0; 3],
                    offset_mm: (0.0, 0.5 * part.section.floor_mm),
                })
                .collect(),
            acceleration: [0.0; 3],
        })
        .collect();
    let cut = cut(part, &layout, stations, density).unwrap();
    let carried = Carried::default();
    let solid = Solid::new(&cut, &part.path, nodes, &METAL, &carried, &loadings).unwrap();
    solid.solve(&loadings).unwrap()
}

fn within(found: f64, expected: f64, (low, high): (f64, f64), what: &str) {
    let error = 100.0 * (found / expected - 1.0);
    println!("{what}: {error:+.2} %");
    assert!(
        (low..=high).contains(&error),
        "{what}: {found} against {expected}, off by {error:+.2} %, band {low} to {high} %"
    );
}

#[test]
fn a_cantilever_bends_as_timoshenko_says() {
    // 6 x 4 x 120, shear factor 5/6: Timoshenko, Strength of materials (from memory). The clamp holds the section's
    // sideways contraction, which the beam's does not: 0.37 and 0.45 % stiffer on a fine mesh of other elements.
    let part = bar(line(120.0), 6.0, 4.0);
    let (e, g, area) = (68_900.0, 68_900.0 / 2.66, 24.0);
    let cases: [&[(usize, [f64; 3])]; 2] = [&[(1, [0.0, 1.0, 0.0])], &[(1, [0.0, 0.0, 1.0])]];
    let found = solved(&part, &[0.0, 120.0], &cases, true, Density::Fine);
    for (response, inertia) in found.iter().zip([4.0 * 216.0 / 12.0, 6.0 * 64.0 / 12.0]) {
        let beam = 120.0_f64.powi(3) / (3.0 * e * inertia) + 120.0 / (5.0 / 6.0 * g * area);
        within(
            1.0 / response.work_n_mm,
            1.0 / beam,
            (0.2, 0.9),
            "cantilever",
        );
    }
}

#[test]
fn a_thin_ring_is_squeezed_as_timoshenko_says() {
    // R 50, 2 x 2: (π/4 - 2/π) P R³ / (E I), with stretch and shear (π/4 each times P R over E A and G A 5/6) added:
    // Timoshenko, Strength of materials II, thin ring (from memory).
    use std::f64::consts::PI;
    let part = bar(Path::circle(50.0).unwrap(), 2.0, 2.0);
    let half = 0.5 * part.path.length_mm();
    let squeeze: &[(usize, [f64; 3])] = &[(0, [0.0, 1.0, 0.0]), (1, [0.0, 1.0, 0.0])];
    let found = solved(&part, &[0.0, half], &[squeeze], false, Density::Fine);
    let (e, g, r) = (68_900.0, 68_900.0 / 2.66, 50.0_f64);
    let bending = (0.25 * PI - 2.0 / PI) * r.powi(3) / (e * 16.0 / 12.0);
    let rest = 0.25 * PI * r * (1.0 / (e * 4.0) + 1.0 / (5.0 / 6.0 * g * 4.0));
    within(found[0].work_n_mm, bending + rest, (-0.5, 0.5), "thin ring");
}

#[test]
fn a_hole_in_a_strip_concentrates_stress_as_heywood_says() {
    // Kt on the net section 2 + (1 - d/w)³: Heywood 1952, fitted to Howland 1930 (both from memory).
    for share in [0.1, 0.2, 0.3, 0.5] {
        let width = 20.0;
        let mut part = bar(line(80.0), width, 1.0);
        part.hole_rows.push(HoleRow {
            name: "hole".into(),
            strip: StripName::Floor,
            diameter_mm: share * width,
            // One hole only; the pitch says how far its pattern of elements reaches.
            pitch_mm: 2.2 * share * width,
            depth: Depth::Through,
            rows: 1,
            row_gap_mm: 0.0,
            stagger: 0.0,
            offset_mm: 0.0,
            span_mm: Some((40.0 - 1.2 * share * width, 40.0 + 1.2 * share * width)),
            clearance_mm: 0.1,
        });
        let pull: &[(usize, [f64; 3])] = &[(1, [1.0, 0.0, 0.0])];
        let found = solved(&part, &[0.0, 80.0], &[pull], true, Density::Finest);
        let peaks = found[0].hole_peaks.iter().map(|peak| peak.equivalent_mpa);
        let peak = peaks.fold(0.0, f64::max);
        let nominal = 1.0 / (width * (1.0 - share));
        let expected = 2.0 + (1.0 - share).powi(3);
        within(
            peak / nominal,
            expected,
            (-4.0, 4.0),
            &format!("d/w {share}"),
        );
    }
}
