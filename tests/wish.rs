//! Wishes by the program itself: what is found is nearer to the wish than any candidate it started from.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use assert_cmd::cargo::cargo_bin;

fn fretwork(folder: &Path, words: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::new(cargo_bin!("fretwork"));
    let output = command.current_dir(folder).args(words).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        output.status.code(),
        text(output.stdout),
        text(output.stderr),
    )
}

/// Mass, tilt stiffness and cycle time of the candidates in a `front.csv`.
fn front(run: &Path) -> Vec<[f64; 3]> {
    let mut table = csv::Reader::from_path(run.join("front.csv")).unwrap();
    let header = table.headers().unwrap().clone();
    let places = ["mass [g]", "tilt.stiffness [N/mm]", "cycle_time [s]"]
        .map(|name| header.iter().position(|cell| cell == name).unwrap());
    let rows = table.records().map(|row| {
        let row = row.unwrap();
        places.map(|place| row[place].parse().unwrap())
    });
    rows.collect()
}

#[test]
fn a_wish_is_come_nearer_to_than_by_any_candidate() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let ring = include_str!("../studies/yaw-ring.toml");
    let (head, _) = ring.split_once("[explore]").unwrap();
    let plan = "[explore]\nevaluations = 1500\ntruth = \"beam\"\nproofs = 0\n";
    fs::write(folder.join("ring.toml"), format!("{head}{plan}")).unwrap();
    let (code, _, said) = fretwork(folder, &["run", "ring.toml"]);
    assert_eq!(code, Some(0), "{said}");
    let before = front(&folder.join("results/ring-001"));

    let limits = ["tilt.stiffness >= 260 N/mm", "cycle_time <= 25 min"];
    let words = ["wish", "results/ring-001", "--least", "mass", "--with"];
    let words = [&words[..], &[limits[0], "--with", limits[1]]].concat();
    let (code, shown, said) = fretwork(folder, &words);
    assert_eq!(code, Some(0), "{said}");
    let beside = shown.lines().find(|line| line.contains("tilt.stiffness  "));
    assert!(beside.is_some_and(|line| line.contains("N/mm")), "{shown}");
    let found = front(&folder.join("results/ring-002"));
    assert_eq!(found.len(), 1);
    let [mass, stiffness, time] = found[0];
    assert!(stiffness >= 260.0 && time <= 1500.0);
    let meet = before
        .iter()
        .filter(|row| row[1] >= 260.0 && row[2] <= 1500.0);
    let lightest = meet.map(|row| row[0]).fold(f64::INFINITY, f64::min);
    assert!(mass < lightest, "{mass} g, {lightest} g before");

    let wish = ["wish", "results/ring-001", "--want", "mass=34 g"];
    let wish = [&wish[..], &["--want", "tilt.stiffness=300 N/mm"]].concat();
    let (code, _, said) = fretwork(folder, &wish);
    assert_eq!(code, Some(0), "{said}");
    let found = front(&folder.join("results/ring-003"));
    let span = |k: usize| {
        let figures = before.iter().map(|row| row[k]);
        let high = figures.clone().fold(f64::NEG_INFINITY, f64::max);
        high - figures.fold(f64::INFINITY, f64::min)
    };
    let distance = |row: &[f64; 3]| {
        let shortfalls = [(row[0] - 34.0) / span(0), (300.0 - row[1]) / span(1)];
        shortfalls[0].max(shortfalls[1]) + 0.01 * (shortfalls[0] + shortfalls[1])
    };
    let least = before.iter().map(distance).fold(f64::INFINITY, f64::min);
    assert!(distance(&found[0]) <= least, "{found:?}");

    for (wrong, said) in [
        ("mas=34 g", "`mas` is no objective of the run"),
        ("frequency=1300 Hz", "bound it instead"),
        ("mass=34 N", "mass is in g"),
    ] {
        let (code, _, told) = fretwork(folder, &["wish", "results/ring-001", "--want", wrong]);
        assert_eq!(code, Some(2));
        assert!(told.contains(said), "{told}");
    }
    let (code, _, told) = fretwork(folder, &["wish", "results/ring-001"]);
    assert_eq!(code, Some(2));
    assert!(told.contains("nothing is wished for"), "{told}");
}
