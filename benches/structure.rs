//! Time of the structure of one design: a ring of twenty segments of three kinds.
//!
//! `cargo bench --bench structure`

use divan::{Bencher, black_box};
use fretwork::part::{
    Depth, Layout, Perforation, Pose, Rib, Section, Segment, SegmentKind, StripName, Wall,
};
use fretwork::structure::{Action, Carried, Frame, Loading, Metal, Model, PointMass, Support};

fn main() {
    divan::main();
}

const RADIUS: f64 = 46.0;

fn ring() -> Layout {
    let wall = |thickness_mm, height_mm| {
        Some(Wall {
            thickness_mm,
            height_mm,
        })
    };
    let section = Section {
        width_mm: 11.0,
        floor_mm: 1.5,
        outer_wall: wall(1.2, 7.0),
        inner_wall: wall(1.0, 6.0),
        ribs: vec![Rib {
            offset_mm: 1.5,
            thickness_mm: 0.8,
            height_mm: 4.0,
        }],
        slits: None,
    };
    let boss = Section {
        floor_mm: 5.0,
        ..section.clone()
    };
    let holes = vec![Perforation {
        strip: StripName::Floor,
        row: 0,
        diameter_mm: 3.2,
        pitch_mm: 4.5,
        depth: Depth::Through,
        rows: 1,
        row_gap_mm: 0.0,
        stagger: 0.0,
        offset_mm: -2.0,
    }];
    let total = std::f64::consts::TAU * RADIUS;
    let (boss_mm, plain_mm) = (9.0, 2.0);
    let drilled_mm = (total / 4.0 - boss_mm - 2.0 * plain_mm) / 2.0;
    let kind = |length_mm, section, perforations| SegmentKind {
        length_mm,
        curvature: 1.0 / RADIUS,
        section,
        perforations,
    };
    let kinds = vec![
        kind(boss_mm, 1, vec![]),
        kind(plain_mm, 0, vec![]),
        kind(drilled_mm, 0, holes),
    ];
    let order: Vec<usize> = (0..4).flat_map(|_| [0, 1, 2, 2, 1]).collect();
    let mut at = 0.0;
    let segments: Vec<Segment> = order
        .iter()
        .map(|&kind| {
            let segment = Segment { start_mm: at, kind };
            at += kinds[kind].length_mm;
            segment
        })
        .collect();
    Layout {
        closed: true,
        length_mm: at,
        nodes_mm: segments.iter().map(|segment| segment.start_mm).collect(),
        sections: vec![section, boss],
        kinds,
        segments,
        station_nodes: Vec::new(),
        holes: Vec::new(),
    }
}

fn loadings() -> Vec<Loading> {
    let action = |node, force| Action {
        node,
        frame: Frame::Path,
        force,
        moment: [0.0; 3],
        offset_mm: (0.0, 2.0),
    };
    let clamp = Support {
        node: 0,
        frame: Frame::Path,
        hold_move: [true; 3],
        hold_turn: [true; 3],
        hold_warp: true,
    };
    vec![
        Loading {
            supports: vec![],
            actions: vec![action(0, [0.0, 10.0, 0.0]), action(10, [0.0, 10.0, 0.0])],
            acceleration: [0.0; 3],
        },
        Loading {
            supports: vec![clamp.clone()],
            actions: vec![action(10, [0.0, 0.0, 5.0])],
            acceleration: [0.0; 3],
        },
        Loading {
            supports: vec![clamp],
            actions: vec![],
            acceleration: [0.0, 0.0, 392_266.0],
        },
    ]
}

fn metal() -> Metal {
    Metal {
        modulus_mpa: 68900.0,
        poisson: 0.33,
        density_t_mm3: 2.7e-9,
        yield_mpa: 276.0,
    }
}

fn carried() -> Carried {
    Carried {
        points: vec![PointMass {
            node: 10,
            mass_t: 5e-6,
            offset_mm: (0.0, 5.0),
        }],
        ..Carried::default()
    }
}

const START: Pose = Pose {
    x: RADIUS,
    y: 0.0,
    heading: std::f64::consts::FRAC_PI_2,
};

#[divan::bench]
fn sections_and_elements(bencher: Bencher) {
    let (layout, metal, carried) = (ring(), metal(), carried());
    bencher.bench_local(|| Model::new(black_box(&layout), START, &metal, &carried));
}

#[divan::bench]
fn three_load_cases_on_two_support_sets(bencher: Bencher) {
    let (layout, metal, carried, loadings) = (ring(), metal(), carried(), loadings());
    let model = Model::new(&layout, START, &metal, &carried).unwrap();
    bencher
        .with_inputs(|| model.clone())
        .bench_local_values(|mut model| {
            for loading in &loadings {
                black_box(model.solve(loading).unwrap());
            }
        });
}

#[divan::bench]
fn first_frequency_free(bencher: Bencher) {
    let (layout, metal, carried) = (ring(), metal(), carried());
    let mut model = Model::new(&layout, START, &metal, &carried).unwrap();
    bencher.bench_local(|| model.first_frequency_hz(black_box(&[])).unwrap());
}

#[divan::bench]
fn whole(bencher: Bencher) {
    let (layout, metal, carried, loadings) = (ring(), metal(), carried(), loadings());
    bencher.bench_local(|| {
        let mut model = Model::new(black_box(&layout), START, &metal, &carried).unwrap();
        for loading in &loadings {
            black_box(model.solve(loading).unwrap());
        }
        model.first_frequency_hz(&[]).unwrap()
    });
}
