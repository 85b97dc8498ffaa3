//! Solid answers: both demo studies at two densities, without and with their first vibration, and one plain member
//! of the reference data. On one thread, as a search runs it.

use std::fs;
use std::path::Path;

use fretwork::part::{Layout, Part, Section, Wall};
use fretwork::run::{Overrides, Prepared, Source, prepare};
use fretwork::solid::{Density, Solid, cut};
use fretwork::structure::{Action, Carried, Frame, Loading, Metal, Support};

fn main() {
    divan::main();
}

fn prepared(study: &str) -> Prepared {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("studies")
        .join(format!("{study}.toml"));
    let source = Source {
        file: file.display().to_string(),
        study: study.into(),
        text: fs::read_to_string(&file).expect("the study is there"),
        catalogue: None,
    };
    prepare(&source, Overrides::default()).expect("the study is right")
}

const CASES: [(&str, Density); 4] = [
    ("yaw-ring", Density::Coarse),
    ("yaw-ring", Density::Fine),
    ("tilt-arm", Density::Coarse),
    ("tilt-arm", Density::Fine),
];

fn baseline(bencher: divan::Bencher, (study, density): (&str, Density), vibrations: usize) {
    let prepared = prepared(study);
    let baseline = prepared.evaluator.baseline();
    bencher.bench(|| {
        prepared
            .evaluator
            .solid(divan::black_box(&baseline), density, vibrations)
            .expect("the baseline has a solid")
    });
}

#[divan::bench(args = CASES, sample_count = 10)]
fn loads(bencher: divan::Bencher, case: (&str, Density)) {
    baseline(bencher, case, 0);
}

#[divan::bench(args = CASES, sample_count = 10)]
fn loads_and_first_vibration(bencher: divan::Bencher, case: (&str, Density)) {
    baseline(bencher, case, 1);
}

#[divan::bench(args = CASES, sample_count = 10)]
fn loads_and_ten_vibrations(bencher: divan::Bencher, case: (&str, Density)) {
    baseline(bencher, case, 10);
}

/// Bar S03 of `tests/data/solid/members.csv`: a channel 120 mm long, clamped and pulled upward.
#[divan::bench(args = [Density::Coarse, Density::Fine], sample_count = 10)]
fn plain_bar(bencher: divan::Bencher, density: Density) {
    let wall = Some(Wall {
        thickness_mm: 1.2,
        height_mm: 8.0,
    });
    let line = fretwork::part::Piece::Line { length_mm: 120.0 };
    let part = Part {
        path: fretwork::part::Path::chain(vec![line], false).expect("a line is a path"),
        section: Section {
            width_mm: 12.0,
            floor_mm: 1.5,
            outer_wall: wall,
            inner_wall: wall,
            ribs: Vec::new(),
            slits: None,
        },
        bosses: Vec::new(),
        hole_rows: Vec::new(),
        carried: Vec::new(),
    };
    let stations = [0.0, 120.0];
    let layout = Layout::new(&part, &stations).expect("the bar can be laid out");
    let nodes = &layout.station_nodes;
    let metal = Metal {
        modulus_mpa: 68_900.0,
        poisson: 0.33,
        density_t_mm3: 2.7e-9,
        yield_mpa: 240.0,
    };
    let loading = Loading {
        supports: vec![Support {
            node: nodes[0],
            frame: Frame::Path,
            hold_move: [true; 3],
            hold_turn: [true; 3],
            hold_warp: true,
        }],
        actions: vec![Action {
            node: nodes[1],
            frame: Frame::Path,
            force: [0.0, 0.0, 1.0],
            moment: [0.0; 3],
            offset_mm: (0.0, 0.0),
        }],
        acceleration: [0.0; 3],
    };
    let loadings = [loading];
    let carried = Carried::default();
    bencher.bench(|| {
        let cut = cut(&part, &layout, &stations, density).expect("the bar can be meshed");
        let solid = Solid::new(&cut, &part.path, nodes, &metal, &carried, &loadings);
        solid
            .and_then(|solid| solid.solve(&loadings))
            .expect("the bar can be solved")
    });
}
