//! What must hold for any frame, whatever its figures: the element is exact, symmetric, and floats freely.

mod structure_common;

use std::f64::consts::TAU;

use fretwork::part::{Layout, Pose, Section, SegmentKind};
use fretwork::structure::{Carried, LoadResponse, Model};
use proptest::prelude::*;
use structure_common::{
    ALUMINIUM, chain, channel, clamp, floor_row, force, loading, model, moment, near, of_kinds,
};

fn uneven() -> Section {
    channel(12.0, 1.5, (1.2, 8.0), (0.9, 6.0), Some((1.0, 0.8, 5.0)))
}

/// A clamped arc in `pieces` equal segments, its tip pulled and twisted every way at once.
fn arc(pieces: usize) -> LoadResponse {
    let holes = vec![floor_row(3.0, 5.0, 1, 0.0, -1.0)];
    let layout = chain(uneven(), holes, 1.0 / 40.0, 80.0, pieces, false);
    let tip = vec![
        force(pieces, [3.0, -2.0, 5.0]),
        moment(pieces, [40.0, -70.0, 90.0]),
    ];
    model(&layout).solve(&loading(vec![clamp(0)], tip)).unwrap()
}

#[test]
fn one_element_is_exact() {
    let one = arc(1);
    for pieces in [2, 8, 64] {
        let many = arc(pieces);
        near(many.work_n_mm, one.work_n_mm, 1e-8, "work");
        for freedom in 0..7 {
            let (got, want) = (
                many.displacements[pieces][freedom],
                one.displacements[1][freedom],
            );
            assert!(
                (got - want).abs() <= 1e-7 * want.abs().max(1e-6),
                "{freedom}: {got} {want}"
            );
        }
    }
}

/// Two sections with different centroids, a bend and a straight, closed by nothing.
fn mixed() -> Layout {
    let kinds = vec![
        SegmentKind {
            length_mm: 30.0,
            curvature: 1.0 / 35.0,
            section: 0,
            perforations: vec![floor_row(3.0, 5.0, 1, 0.0, -1.0)],
        },
        SegmentKind {
            length_mm: 10.0,
            curvature: 0.0,
            section: 1,
            perforations: vec![],
        },
    ];
    let boss = channel(12.0, 5.0, (1.2, 8.0), (0.9, 6.0), None);
    of_kinds(vec![uneven(), boss], kinds, &[0, 1, 0, 1, 1, 0], false)
}

/// Maxwell and Betti: the work of one load on the other's displacements is the same both ways.
#[test]
fn reciprocity() {
    let layout = mixed();
    let mut model = model(&layout);
    let a = force(3, [2.0, -1.0, 4.0]);
    let b = moment(6, [30.0, 20.0, -50.0]);
    let under_a = model
        .solve(&loading(vec![clamp(0)], vec![a.clone()]))
        .unwrap();
    let under_b = model
        .solve(&loading(vec![clamp(0)], vec![b.clone()]))
        .unwrap();
    let both = model.solve(&loading(vec![clamp(0)], vec![a, b])).unwrap();
    // Work of both = own works + twice the mutual work, either way: superposition of displacements says the same.
    for node in 0..layout.nodes_mm.len() {
        for freedom in 0..7 {
            let sum = under_a.displacements[node][freedom] + under_b.displacements[node][freedom];
            let got = both.displacements[node][freedom];
            assert!((got - sum).abs() <= 1e-9 * sum.abs().max(1e-9));
        }
    }
    let headings = heading_at(&layout, 6);
    let turn: [f64; 3] = [3, 4, 5].map(|k| under_a.displacements[6][k]);
    let moved: [f64; 3] = [0, 1, 2].map(|k| under_b.displacements[3][k]);
    let b_on_a = dot(in_plan([30.0, 20.0, -50.0], headings), turn);
    let a_on_b = dot(in_plan([2.0, -1.0, 4.0], heading_at(&layout, 3)), moved);
    near(b_on_a, a_on_b, 1e-8, "mutual work");
}

fn heading_at(layout: &Layout, node: usize) -> f64 {
    layout.segments[..node]
        .iter()
        .map(|segment| {
            let kind = &layout.kinds[segment.kind];
            kind.length_mm * kind.curvature
        })
        .sum()
}

fn in_plan([along, left, up]: [f64; 3], heading: f64) -> [f64; 3] {
    let (sin, cos) = heading.sin_cos();
    [along * cos - left * sin, along * sin + left * cos, up]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Reactions balance the load and the inertia.
#[test]
fn reactions_balance() {
    let layout = mixed();
    let mut case = loading(vec![clamp(0), clamp(6)], vec![force(3, [5.0, 0.0, 0.0])]);
    case.actions[0].frame = fretwork::structure::Frame::Plan;
    case.acceleration = [0.0, 0.0, 1e5];
    let mut model = model(&layout);
    let response = model.solve(&case).unwrap();
    let sum = |k: usize| response.reactions.iter().map(|r| r[k]).sum::<f64>();
    near(sum(0), -5.0, 1e-9, "along x");
    assert!(sum(1).abs() < 1e-9);
    let mass: f64 = layout
        .segments
        .iter()
        .map(|segment| {
            let p = model.section_properties(segment.kind).unwrap();
            p.mass_t_mm * layout.kinds[segment.kind].length_mm
        })
        .sum();
    near(sum(2), mass * 1e5, 1e-6, "inertia");
}

/// Turning the whole frame in the plan turns its displacements with it.
#[test]
fn rotation_of_the_plan() {
    let layout = mixed();
    let solve = |heading: f64| {
        let start = Pose {
            x: 3.0,
            y: -7.0,
            heading,
        };
        let mut model = Model::new(&layout, start, &ALUMINIUM, &Carried::default()).unwrap();
        model
            .solve(&loading(vec![clamp(0)], vec![force(6, [1.0, 2.0, 3.0])]))
            .unwrap()
    };
    let (flat, turned) = (solve(0.0), solve(1.1));
    near(turned.work_n_mm, flat.work_n_mm, 1e-10, "work");
    let moved: [f64; 3] = [0, 1, 2].map(|k| flat.displacements[6][k]);
    let expected = in_plan(moved, 1.1);
    for (k, want) in expected.iter().enumerate() {
        assert!((turned.displacements[6][k] - want).abs() < 1e-10 * want.abs().max(1e-3));
    }
}

/// A floating frame under balanced forces strains the same wherever it is cut, and no load at all moves nothing.
#[test]
fn floating_frame() {
    let ring = |pieces: usize| chain(uneven(), vec![], 1.0 / 40.0, TAU * 40.0, pieces, true);
    let squeeze = |pieces: usize| {
        let actions = vec![
            force(0, [0.0, 10.0, 0.0]),
            force(pieces / 2, [0.0, 10.0, 0.0]),
        ];
        model(&ring(pieces))
            .solve(&loading(Vec::new(), actions))
            .unwrap()
            .work_n_mm
    };
    near(squeeze(12), squeeze(4), 1e-8, "work");
    let unbalanced = loading(Vec::new(), vec![force(0, [0.0, 10.0, 0.0])]);
    assert!(model(&ring(4)).solve(&unbalanced).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// The root reaction of an accelerated ring is its mass times the acceleration, along any axes.
    #[test]
    fn inertia_follows_the_acceleration(x in -1e5..1e5_f64, y in -1e5..1e5_f64, z in -1e5..1e5_f64, radius in 20.0..80.0_f64) {
        let layout = chain(uneven(), vec![], 1.0 / radius, TAU * radius, 6, true);
        let mut case = loading(vec![clamp(0)], Vec::new());
        case.acceleration = [x, y, z];
        let mut model = model(&layout);
        let response = model.solve(&case).unwrap();
        let mass = model.section_properties(0).unwrap().mass_t_mm * TAU * radius;
        for (k, a) in [x, y, z].into_iter().enumerate() {
            prop_assert!((response.reactions[0][k] - mass * a).abs() < 1e-6 * mass * 1e5);
        }
    }
}
