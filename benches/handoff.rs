//! What a hand-off is made of: solid and STEP, mesh and 3MF, drawing; and fronts combined for a mass budget. On one
//! thread.

use std::fs;
use std::path::Path;

use fretwork::analyse::combine;
use fretwork::evaluate::Sheet;
use fretwork::handoff::body::Body;
use fretwork::handoff::mesh::{CHORD_MM, Mesh};
use fretwork::handoff::step::{Label, step};
use fretwork::handoff::three_mf::three_mf;
use fretwork::handoff::{Facts, Paper, Projection, Wants, files};
use fretwork::run::{Overrides, Source, prepare};

fn main() {
    divan::main();
}

const LABEL: Label = Label {
    name: "part",
    description: "",
    date: "2026-11-26T00:00:00",
};

/// Sheet of a demo study with some of its text changed.
fn sheet(study: &str, change: (&str, &str)) -> Sheet {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("studies")
        .join(format!("{study}.toml"));
    let text = fs::read_to_string(&file).expect("the study is there");
    let source = Source {
        file: file.display().to_string(),
        study: study.into(),
        text: text.replace(change.0, change.1),
        catalogue: None,
    };
    let prepared = prepare(&source, Overrides::default()).expect("the study is right");
    prepared.evaluator.sheet(&prepared.evaluator.baseline())
}

/// The demo ring with smaller holes and pitch: 68 in its floor, 72 with the bores of its lugs.
fn ring() -> Sheet {
    let sheet = sheet(
        "yaw-ring",
        (
            "hole = \"4 mm\"\npitch = \"8 mm\"",
            "hole = \"2 mm\"\npitch = \"3 mm\"",
        ),
    );
    let holes = sheet.layout.as_ref().map_or(0, |layout| layout.holes.len());
    assert!(holes >= 60, "{holes} holes");
    sheet
}

#[divan::bench(sample_count = 20)]
fn solid_and_step_of_the_ring(bencher: divan::Bencher) {
    let sheet = ring();
    let (part, layout) = (sheet.part.as_ref().unwrap(), sheet.layout.as_ref().unwrap());
    bencher.bench(|| step(&Body::of(part, layout).expect("a solid"), &LABEL).len());
}

#[divan::bench(sample_count = 20)]
fn mesh_and_3mf_of_the_ring(bencher: divan::Bencher) {
    let sheet = ring();
    let body =
        Body::of(sheet.part.as_ref().unwrap(), sheet.layout.as_ref().unwrap()).expect("a solid");
    bencher.bench(|| {
        let mesh = Mesh::of(&body, CHORD_MM).expect("a mesh");
        three_mf(&mesh, &LABEL).expect("a file").len()
    });
}

#[divan::bench(args = ["yaw-ring", "tilt-arm", "isolator-blade"], sample_count = 10)]
fn all_files(bencher: divan::Bencher, study: &str) {
    let sheet = sheet(study, ("", ""));
    let facts = Facts {
        study,
        title: study,
        run: "",
        design: None,
        revision: "",
        by: &[],
        fingerprints: ["", ""],
        tool: "fretwork",
        date: "2026-11-26",
        material: "",
        machine: "",
        sheet: &sheet,
    };
    let wants = Wants {
        chord_mm: CHORD_MM,
        projection: Projection::First,
        paper: Paper::A3,
    };
    bencher.bench(|| files(&facts, &wants).expect("files").len());
}

/// Three convex fronts of so many points each, in two measures.
#[divan::bench(args = [300, 1000], sample_count = 5)]
fn fronts_combined(bencher: divan::Bencher, points: usize) {
    let front = |bend: f64| -> Vec<f64> {
        let point = |k: usize| {
            let t = k as f64 / points as f64;
            [10.0 + t, 20.0 + bend * (1.0 - t) * (1.0 - t)]
        };
        (0..points).flat_map(point).collect()
    };
    let fronts = [front(1.0), front(1.7), front(2.9)];
    bencher.bench(|| combine(&fronts, 2, &[]).map(|found| found.len()));
}
