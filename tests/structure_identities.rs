//! What must hold for any frame: refinement, reciprocity, equilibrium, invariance; and the typed errors.

mod structure_common;

use fretwork::part::{Layout, Pose, SegmentKind};
use fretwork::structure::{
    Action, Carried, Frame, LoadResponse, Loading, Model, PointMass, StructureError, Support,
};
use structure_common::*;

/// A bent bar of two sections, one of them drilled, unsymmetric, on both curvatures.
fn bent(split: usize) -> Layout {
    let sections = vec![
        channel(11.0, 1.5, (1.4, 7.0), (1.0, 5.5), Some((0.5, 0.9, 4.0))),
        channel(10.0, 4.0, (2.0, 7.0), (0.0, 0.0), None),
    ];
    let kind = |length: f64, curvature: f64, section: usize, drilled: bool| SegmentKind {
        length_mm: length / split as f64,
        curvature,
        section,
        perforations: if drilled {
            vec![floor_row(3.0, 4.5, 1, 0.0, -2.6)]
        } else {
            vec![]
        },
    };
    let kinds = vec![
        kind(40.0, 0.02, 0, true),
        kind(12.0, 0.02, 1, false),
        kind(30.0, 0.0, 0, true),
        kind(25.0, -0.03, 0, false),
    ];
    let order: Vec<usize> = [0, 1, 2, 3]
        .into_iter()
        .flat_map(|kind| std::iter::repeat_n(kind, split))
        .collect();
    of_kinds(sections, kinds, &order, false)
}

fn end_loads(node: usize) -> Vec<Action> {
    vec![Action {
        node,
        frame: Frame::Path,
        force: [3.0, 5.0, -7.0],
        moment: [40.0, -30.0, 20.0],
        offset_mm: (1.0, 2.5),
    }]
}

fn respond(layout: &Layout, start: Pose, loads: &Loading) -> LoadResponse {
    Model::new(layout, start, &ALUMINIUM, &Carried::default())
        .unwrap()
        .solve(loads)
        .unwrap()
}

#[test]
fn one_element_equals_the_same_length_in_8_and_64() {
    let expected = respond(&bent(1), ORIGIN, &loading(vec![clamp(0)], end_loads(4)));
    for split in [8, 64] {
        let loads = loading(vec![clamp(0)], end_loads(4 * split));
        let fine = respond(&bent(split), ORIGIN, &loads);
        let (a, b) = (expected.displacements[4], fine.displacements[4 * split]);
        // Against the greatest of displacements, rotations, and the warping itself.
        let most =
            |range: std::ops::Range<usize>| a[range].iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        for k in 0..7 {
            let scale = most([0..3, 3..6, 6..7][(k / 3).min(2)].clone());
            let error = (b[k] - a[k]).abs() / scale;
            assert!(
                error < 1e-8,
                "{split} pieces, degree of freedom {k}: {error:e}"
            );
        }
        near(fine.work_n_mm, expected.work_n_mm, 1e-8, "work");
    }
}

#[test]
fn a_ring_does_not_depend_on_its_segments() {
    let ring = |segments: usize| {
        let section = channel(12.4, 2.0, (1.6, 6.0), (1.3, 5.0), None);
        let holes = vec![floor_row(3.6, 4.65, 1, 0.0, 0.0)];
        chain(
            section,
            holes,
            1.0 / 47.4,
            std::f64::consts::TAU * 47.4,
            segments,
            true,
        )
    };
    let squeeze = |segments: usize| {
        let opposite = vec![
            force(0, [0.0, 1.0, 0.0]),
            force(segments / 2, [0.0, 1.0, 0.0]),
        ];
        let mut model = model(&ring(segments));
        let work = model.solve(&loading(vec![], opposite)).unwrap().work_n_mm;
        (work, model.first_frequency_hz(&[]).unwrap())
    };
    let (coarse, fine) = (squeeze(2), squeeze(40));
    near(coarse.0, fine.0, 1e-8, "squeeze");
    near(coarse.1, fine.1, 1.5e-3, "frequency");
}

#[test]
fn reciprocity_and_equilibrium() {
    // Maxwell 1864: the work of one load on another's displacements is the same both ways.
    let layout = bent(1);
    let supports = vec![clamp(0)];
    let at = |node: usize, force_n: [f64; 3]| {
        respond(
            &layout,
            ORIGIN,
            &loading(supports.clone(), vec![force_in_plan(node, force_n)]),
        )
    };
    let (a, b) = (at(2, [1.0, 0.0, 0.0]), at(4, [0.0, 0.0, 1.0]));
    near(
        a.displacements[4][2],
        b.displacements[2][0],
        1e-9,
        "reciprocity",
    );
    let loads = loading(
        vec![clamp(0), prop(4)],
        vec![
            force_in_plan(2, [3.0, -2.0, 5.0]),
            force_in_plan(3, [0.0, 4.0, -1.0]),
        ],
    );
    let response = respond(&layout, ORIGIN, &loads);
    for (axis, applied) in [(0, 3.0), (1, 2.0), (2, 4.0)] {
        let held: f64 = response.reactions.iter().map(|r| r[axis]).sum();
        assert!(
            (held + applied).abs() < 1e-8,
            "axis {axis}: {held} against {applied}"
        );
    }
    assert!(response.displacements[4][2].abs() < 1e-15);
    assert_eq!(
        response.reactions[1][0], 0.0,
        "a prop does not hold sideways"
    );
}

fn force_in_plan(node: usize, force_n: [f64; 3]) -> Action {
    Action {
        frame: Frame::Plan,
        ..force(node, force_n)
    }
}

/// Holds only the tool axis and, in the plan, x.
fn prop(node: usize) -> Support {
    Support {
        node,
        frame: Frame::Plan,
        hold_move: [false, false, true],
        hold_turn: [false; 3],
        hold_warp: false,
    }
}

#[test]
fn turning_the_plan_turns_the_answer() {
    let angle = 0.7_f64;
    let (sin, cos) = angle.sin_cos();
    let slide = || Support {
        node: 4,
        frame: Frame::Path,
        hold_move: [false, true, false],
        hold_turn: [false; 3],
        hold_warp: false,
    };
    let start = Pose {
        x: 12.0,
        y: -7.0,
        heading: angle,
    };
    let straight = loading(
        vec![clamp(0), slide()],
        vec![force_in_plan(3, [2.0, 1.0, 3.0])],
    );
    let turned = loading(
        vec![clamp(0), slide()],
        vec![force_in_plan(3, [2.0 * cos - sin, 2.0 * sin + cos, 3.0])],
    );
    let a = respond(&bent(1), ORIGIN, &straight);
    let b = respond(&bent(1), start, &turned);
    near(b.work_n_mm, a.work_n_mm, 1e-9, "work");
    let (u, v) = (a.displacements[3], b.displacements[3]);
    near(v[0], u[0] * cos - u[1] * sin, 1e-8, "x");
    near(v[2], u[2], 1e-9, "z");
    near(
        b.strips[0].equivalent_mpa,
        a.strips[0].equivalent_mpa,
        1e-9,
        "stress",
    );
}

#[test]
fn a_support_in_plan_axes_equals_the_same_in_path_axes() {
    // Straight bar at 30 degrees: holding plan x and y is holding along and across.
    let layout = chain(bar(3.0, 2.0), vec![], 0.0, 50.0, 3, false);
    let start = Pose {
        heading: 0.52,
        ..ORIGIN
    };
    let held = |frame, hold_move| Support {
        node: 3,
        frame,
        hold_move,
        hold_turn: [false; 3],
        hold_warp: false,
    };
    let mut works = Vec::new();
    for support in [
        held(Frame::Path, [true, true, false]),
        held(Frame::Plan, [true, true, false]),
    ] {
        let loads = loading(vec![clamp(0), support], vec![force(1, [1.0, 2.0, 0.5])]);
        works.push(respond(&layout, start, &loads).work_n_mm);
    }
    near(works[1], works[0], 1e-12, "both axes");
    // A roller in plan x: the reaction has only that component and the node moves only across it.
    let loads = loading(
        vec![clamp(0), held(Frame::Plan, [true, false, false])],
        vec![force(1, [1.0, 2.0, 0.5])],
    );
    let response = respond(&layout, start, &loads);
    assert!(response.displacements[3][0].abs() < 1e-12);
    assert!(response.displacements[3][1].abs() > 1e-6);
    assert!(response.reactions[1][0].abs() > 1e-3);
    assert!(response.reactions[1][1].abs() < 1e-12);
}

#[test]
fn carried_masses_load_and_slow_the_frame() {
    let layout = chain(bar(3.0, 2.0), vec![], 0.0, 60.0, 2, false);
    let carried = Carried {
        points: vec![PointMass {
            node: 2,
            mass_t: 2e-5,
            offset_mm: (0.0, 4.0),
        }],
        ..Carried::default()
    };
    let mut model = Model::new(&layout, ORIGIN, &ALUMINIUM, &carried).unwrap();
    let loads = Loading {
        supports: vec![clamp(0)],
        actions: vec![],
        acceleration: [0.0, 1000.0, 0.0],
    };
    let response = model.solve(&loads).unwrap();
    let own = 2.7e-9 * 6.0 * 60.0;
    near(
        response.reactions[0][1],
        (own + 2e-5) * 1000.0,
        1e-9,
        "weight",
    );
    // Torque of the offset mass and of the bar, whose middle is 1 mm up.
    near(
        response.reactions[0][3],
        -(own * 1.0 + 2e-5 * 4.0) * 1000.0,
        1e-9,
        "torque",
    );
    // Tip mass M on a light cantilever: f = sqrt(3 E I/(L³ (M + 33/140 m)))/(2 pi), Rayleigh (from memory).
    let light = Carried {
        points: vec![PointMass {
            node: 2,
            mass_t: 2e-5,
            offset_mm: (0.0, 1.0),
        }],
        ..Carried::default()
    };
    let mut model = Model::new(&layout, ORIGIN, &ALUMINIUM, &light).unwrap();
    let stiffness = 3.0 * 68900.0 * 2.0 / 60.0_f64.powi(3);
    let expected = (stiffness / (2e-5 + 33.0 / 140.0 * own)).sqrt() / std::f64::consts::TAU;
    near(
        model.first_frequency_hz(&[clamp(0)]).unwrap(),
        expected,
        2e-3,
        "tip mass",
    );
}

#[test]
fn floating_frame_answers_do_not_depend_on_where_it_was_held() {
    let section = || channel(12.0, 1.5, (1.2, 6.0), (1.2, 6.0), None);
    let ring = chain(
        section(),
        vec![],
        0.025,
        std::f64::consts::TAU * 40.0,
        8,
        true,
    );
    let pair = |first: usize| {
        let actions = vec![
            force(first, [0.0, 1.0, 0.0]),
            force((first + 4) % 8, [0.0, 1.0, 0.0]),
        ];
        respond(&ring, ORIGIN, &loading(vec![], actions))
    };
    let (a, b) = (pair(0), pair(3));
    near(b.work_n_mm, a.work_n_mm, 1e-9, "work");
    near(
        b.greatest_displacement_mm,
        a.greatest_displacement_mm,
        1e-8,
        "greatest",
    );
    let mean: f64 = a.displacements.iter().map(|d| d[0]).sum();
    assert!(
        mean.abs() < 1e-9 * a.greatest_displacement_mm,
        "mean motion {mean}"
    );
}

#[test]
fn what_is_free_or_out_of_balance_is_said() {
    let layout = chain(bar(3.0, 2.0), vec![], 0.0, 60.0, 2, false);
    let mut model = model(&layout);
    // Both ends held across and up, but nothing along the bar.
    let hold = |node| Support {
        node,
        frame: Frame::Path,
        hold_move: [false, true, true],
        hold_turn: [true, false, false],
        hold_warp: false,
    };
    let free = model.solve(&loading(vec![hold(0), hold(2)], end_loads(1)));
    match free {
        Err(StructureError::FreeToMove { slide, turn }) => {
            assert!((slide[0].abs() - 1.0).abs() < 1e-6, "{slide:?}");
            assert_eq!(turn, [0.0; 3]);
        }
        other => panic!("{other:?}"),
    }
    let lone = model.solve(&loading(vec![], vec![force(1, [0.0, 2.0, 0.0])]));
    match lone {
        Err(StructureError::Unbalanced { force, .. }) => {
            assert!((force[1] - 2.0).abs() < 1e-12);
        }
        other => panic!("{other:?}"),
    }
    assert!(matches!(
        model.solve(&loading(vec![clamp(7)], vec![])),
        Err(StructureError::NoNode { node: 7, nodes: 3 })
    ));
    assert!(matches!(
        model.solve(&loading(
            vec![clamp(0)],
            vec![force(1, [f64::NAN, 0.0, 0.0])]
        )),
        Err(StructureError::Size { .. })
    ));
    let tight = chain(bar(30.0, 2.0), vec![], 0.1, 20.0, 1, false);
    assert!(matches!(
        Model::new(&tight, ORIGIN, &ALUMINIUM, &Carried::default()),
        Err(StructureError::Tight { .. })
    ));
}

#[test]
fn a_field_goes_through_the_nodes() {
    let layout = bent(1);
    let mut model = model(&layout);
    let load = loading(vec![clamp(0)], end_loads(4));
    let response = model.solve(&load).unwrap();
    let places = model.field(&load, &response).places;
    assert!(places.len() > 20);
    let last = &places[places.len() - 1];
    assert_eq!((places[0].moved_mm, places[0].turned), ([0.0; 3], [0.0; 3]));
    for k in 0..3 {
        assert!((last.moved_mm[k] - response.displacements[4][k]).abs() < 1e-12);
        assert!((last.turned[k] - response.displacements[4][3 + k]).abs() < 1e-12);
    }
    // The path's last heading: 0.8 + 0.24 - 0.75 rad; its length is what the points span.
    let length: f64 = places
        .windows(2)
        .map(|p| (p[1].at_mm[0] - p[0].at_mm[0]).hypot(p[1].at_mm[1] - p[0].at_mm[1]))
        .sum();
    near(length, 107.0, 2e-3, "length");
}

mod any_frame {
    use super::*;
    use fretwork::part::{Depth, Perforation, StripName};
    use proptest::prelude::*;

    proptest! {
        /// Whatever the sizes, a frame gives finite figures or says what is wrong.
        #[test]
        fn gives_finite_figures_or_an_error(
            width in 2.0..30.0_f64,
            floor in 0.2..12.0_f64,
            outer in (0.0..5.0_f64, 0.1..30.0_f64),
            inner in (0.0..5.0_f64, 0.1..30.0_f64),
            rib in (-15.0..15.0_f64, 0.1..4.0_f64, 0.1..20.0_f64),
            holes in (0.1..20.0_f64, 0.1..30.0_f64, 1_usize..4, 0.1..10.0_f64, -15.0..15.0_f64),
            depth in 0.05..10.0_f64,
            strip in 0_usize..4,
            curvature in -0.06..0.06_f64,
            length in 3.0..600.0_f64,
        ) {
            let section = channel(width, floor, outer, inner, Some(rib));
            let strips = [StripName::Floor, StripName::OuterWall, StripName::InnerWall, StripName::Rib(0)];
            let mut row = floor_row(holes.0, holes.1, holes.2, holes.3, holes.4);
            row.strip = strips[strip];
            let blind = Perforation { depth: Depth::Blind(depth), ..row };
            for perforations in [vec![], vec![row], vec![blind]] {
                let layout = chain(section.clone(), perforations, curvature, length, 2, false);
                let built = Model::new(&layout, ORIGIN, &ALUMINIUM, &Carried::default());
                let Ok(mut model) = built else { continue };
                let loads = loading(vec![clamp(0)], end_loads(2));
                if let Ok(response) = model.solve(&loads) {
                    prop_assert!(response.work_n_mm.is_finite() && response.work_n_mm > 0.0);
                    prop_assert!(response.strips.iter().all(|s| s.equivalent_mpa.is_finite()));
                    prop_assert!(response.displacements.iter().flatten().all(|d| d.is_finite()));
                } else {
                    prop_assert!(false, "a clamped frame must be solved");
                }
                let frequency = model.first_frequency_hz(&[clamp(0)]);
                prop_assert!(frequency.is_ok_and(|f| f > 0.0 && f.is_finite()));
                let free = model.first_frequency_hz(&[]);
                prop_assert!(free.is_ok_and(|f| f > 0.0 && f.is_finite()));
            }
        }
    }
}
