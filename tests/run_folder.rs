//! Run folders: what is written comes back to the bit, a stopped or killed run ends in the same files, and a
//! damaged folder is an error that names the file.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use fretwork::evaluate::Sheet;
use fretwork::machining::Plan;
use fretwork::run::{Batch, Column, Designs, Finished, Goal, Job, Known, Limit, Milestone, Role};
use fretwork::store::{self, BLOCK, Folder, Status, StoreError};

const WIDTH: usize = 3;
const SEARCH_WIDTH: usize = 2;

fn frozen() -> Job {
    let column = |name: &str, unit: &str, role| Column {
        name: name.to_string(),
        unit: unit.to_string(),
        role,
    };
    Job {
        study: "yaw-ring".into(),
        title: "Yaw ring".into(),
        study_text: "title = \"Yaw ring\"\n".into(),
        catalogue_text: "# as used\n".into(),
        seed: 7,
        evaluations: 10_000,
        columns: vec![
            column("hole", "mm", Role::Variable),
            column("mass", "g", Role::Measure),
            column("squeeze.stiffness", "N/mm", Role::Measure),
        ],
        search_width: SEARCH_WIDTH,
        goals: vec![
            Goal {
                column: 1,
                most: false,
            },
            Goal {
                column: 2,
                most: true,
            },
        ],
        limits: vec![Limit {
            name: "light".into(),
            text: "mass <= 20 g".into(),
        }],
        axes: vec![],
        targets: vec![],
        program: vec![],
        origin: None,
        shard: None,
    }
}

/// Numbers that differ in every bit, with some that are not finite.
fn made_up(count: usize) -> Known {
    let mut known = Known::default();
    for design in 0..count {
        let x = design as f64;
        known.designs.values.extend([
            (x * 0.7).sin(),
            x.sqrt() / 3.0,
            if design % 97 == 0 {
                f64::INFINITY
            } else {
                x.exp2()
            },
        ]);
        known
            .designs
            .violation
            .push(if design % 3 == 0 { 0.0 } else { x / 1000.0 });
        known.search.extend([x / 7.0, (x * 0.3).cos()]);
    }
    known
}

/// Hands designs `from..to` to the folder, a few at a time.
fn feed(
    folder: &mut Folder,
    all: &Known,
    from: usize,
    to: usize,
    at_a_time: usize,
) -> Result<(), StoreError> {
    let mut start = from;
    while start < to {
        let end = (start + at_a_time).min(to);
        folder.add(&Batch {
            first: start,
            values: &all.designs.values[start * WIDTH..end * WIDTH],
            violation: &all.designs.violation[start..end],
            search: &all.search[start * SEARCH_WIDTH..end * SEARCH_WIDTH],
            front: 1,
            failures: &[],
        })?;
        start = end;
    }
    Ok(())
}

fn finished(all: &Known, count: usize) -> Finished {
    let frozen = frozen();
    let nothing = Sheet {
        variables: vec![],
        derived: vec![],
        measures: vec![],
        objectives: vec![],
        constraints: vec![],
        sections: vec![],
        loads: vec![],
        modes: vec![],
        walls: vec![],
        screws: vec![],
        plan: Plan {
            cycle_s: 100.0,
            ..Plan::empty()
        },
        features: vec![],
        tolerances: vec![],
        currency: "EUR".into(),
        mass: vec![],
        rules: vec![],
        remarks: vec![],
        proof: None,
        calibration: None,
        part: None,
        layout: None,
    };
    Finished {
        study: frozen.study,
        title: frozen.title,
        notes: String::new(),
        columns: frozen.columns,
        goals: frozen.goals,
        limits: frozen.limits,
        designs: Designs {
            values: all.designs.values[..count * WIDTH].to_vec(),
            violation: all.designs.violation[..count].to_vec(),
            thinned: None,
        },
        front: vec![6, 3, 9],
        baseline: nothing,
        sheets: vec![],
        trace: vec![
            Milestone {
                designs: 100,
                feasible: 34,
                front: 2,
                hypervolume: 0.1 + 0.2,
            },
            Milestone {
                designs: count,
                feasible: count / 3,
                front: 3,
                hypervolume: 2.0 / 3.0,
            },
        ],
        ending: "all evaluations used".into(),
        law: vec![],
        remarks: vec![],
        asks: false,
        failures: Vec::new(),
        told: vec![],
        shortfall: None,
    }
}

fn plots() -> Vec<(String, String)> {
    vec![("front-mass-stiffness".into(), "<svg/>".into())]
}

/// A whole run in one sitting.
fn whole_run(results: &Path, count: usize, at_a_time: usize) -> PathBuf {
    let all = made_up(count);
    let mut folder = Folder::create(results, &frozen()).unwrap();
    feed(&mut folder, &all, 0, count, at_a_time).unwrap();
    let path = folder.path().to_path_buf();
    folder
        .close(&finished(&all, count), &plots(), "<!doctype html>", true)
        .unwrap();
    path
}

/// Contents of every file of a run but the manifest, which holds times.
fn contents(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.file_name().unwrap() != store::MANIFEST {
                found.insert(
                    path.strip_prefix(folder).unwrap().to_path_buf(),
                    fs::read(&path).unwrap(),
                );
            }
        }
    }
    found
}

fn bits(values: &[f64]) -> Vec<u64> {
    values.iter().map(|value| value.to_bits()).collect()
}

#[test]
fn what_is_written_comes_back_to_the_bit() {
    let results = tempfile::tempdir().unwrap();
    let count = 2 * BLOCK + 123;
    let path = whole_run(results.path(), count, 250);
    assert_eq!(path, results.path().join("yaw-ring-001"));
    let stored = store::open(&path).unwrap();
    let all = made_up(count);
    assert_eq!(bits(&stored.designs.values), bits(&all.designs.values));
    assert_eq!(stored.designs.violation, all.designs.violation);
    assert_eq!(stored.front, [6, 3, 9]);
    assert_eq!(stored.trace, finished(&all, count).trace);
    assert_eq!(stored.columns, frozen().columns);
    assert_eq!(stored.goals, frozen().goals);
    assert_eq!(stored.limits, frozen().limits);
    assert_eq!(stored.study_text, frozen().study_text);
    assert_eq!(stored.catalogue_text, frozen().catalogue_text);
    let manifest = stored.manifest;
    assert_eq!(manifest.status, Status::Finished);
    assert_eq!(
        (manifest.designs, manifest.feasible, manifest.front),
        (count, count.div_ceil(3), 3)
    );
    assert_eq!((manifest.seed, manifest.evaluations), (7, 10_000));
    let files: Vec<_> = contents(&path)
        .into_keys()
        .map(|path| path.display().to_string())
        .collect();
    let expected = [
        "catalogue.toml",
        "designs/part-00000.parquet",
        "designs/part-00001.parquet",
        "designs/part-00002.parquet",
        "front.csv",
        "plots/front-mass-stiffness.svg",
        "review.html",
        "study.toml",
        "trace.csv",
    ];
    assert_eq!(files, expected);
    assert!(
        manifest.files.keys().eq(expected),
        "the manifest lists every file"
    );
}

#[test]
fn the_front_has_units_in_its_header() {
    let results = tempfile::tempdir().unwrap();
    let path = whole_run(results.path(), 10, 10);
    let text = fs::read_to_string(path.join("front.csv")).unwrap();
    let mut lines = text.lines();
    assert_eq!(
        lines.next(),
        Some("design,hole [mm],mass [g],squeeze.stiffness [N/mm]")
    );
    let first: Vec<f64> = lines
        .next()
        .unwrap()
        .split(',')
        .map(|cell| cell.parse().unwrap())
        .collect();
    assert_eq!(first[0], 6.0);
    assert_eq!(bits(&first[1..]), bits(made_up(10).designs.row(6)));
}

#[test]
fn folders_are_numbered_and_never_written_over() {
    let results = tempfile::tempdir().unwrap();
    fs::create_dir(results.path().join("yaw-ring-007")).unwrap();
    fs::write(results.path().join("yaw-ring-008"), "a file of mine").unwrap();
    fs::create_dir(results.path().join("yaw-ring-old-900")).unwrap();
    let path = whole_run(results.path(), 10, 5);
    assert_eq!(path.file_name().unwrap(), "yaw-ring-009");
    assert_eq!(
        whole_run(results.path(), 10, 5).file_name().unwrap(),
        "yaw-ring-010"
    );
    assert_eq!(
        fs::read_to_string(results.path().join("yaw-ring-008")).unwrap(),
        "a file of mine"
    );
    assert_eq!(
        fs::read_dir(results.path().join("yaw-ring-007"))
            .unwrap()
            .count(),
        0
    );
}

#[test]
fn batches_don_t_show_in_the_files() {
    let results = tempfile::tempdir().unwrap();
    let count = BLOCK + 50;
    let one = contents(&whole_run(results.path(), count, 1));
    assert_eq!(one, contents(&whole_run(results.path(), count, 333)));
    assert_eq!(one, contents(&whole_run(results.path(), count, count)));
}

#[test]
fn a_stopped_run_goes_on_to_the_same_files() {
    let results = tempfile::tempdir().unwrap();
    let count = 2 * BLOCK + 50;
    let all = made_up(count);
    let whole = contents(&whole_run(results.path(), count, 100));
    for stop in [0, 10, BLOCK, BLOCK + 10, count] {
        let mut folder = Folder::create(results.path(), &frozen()).unwrap();
        feed(&mut folder, &all, 0, stop, 100).unwrap();
        let mut cut = finished(&all, stop);
        cut.front = vec![];
        folder.close(&cut, &plots(), "stopped", false).unwrap();

        let resumed = Folder::resume(results.path(), &frozen())
            .unwrap()
            .expect("a folder to go on with");
        assert_eq!(
            bits(&resumed.parts.all().designs.values),
            bits(&all.designs.values[..stop * WIDTH])
        );
        assert_eq!(
            bits(&resumed.parts.all().search),
            bits(&all.search[..stop * SEARCH_WIDTH])
        );
        let mut folder = resumed.folder;
        feed(&mut folder, &all, 0, count, 77).unwrap();
        let path = folder.path().to_path_buf();
        let manifest = folder
            .close(&finished(&all, count), &plots(), "<!doctype html>", true)
            .unwrap();
        assert_eq!(
            (manifest.designs, manifest.feasible),
            (count, count.div_ceil(3))
        );
        assert_eq!(contents(&path), whole, "stopped after {stop}");
        assert!(
            Folder::resume(results.path(), &frozen()).unwrap().is_none(),
            "nothing is left to go on with"
        );
    }
}

#[test]
fn a_killed_run_goes_on_from_its_whole_parts() {
    let results = tempfile::tempdir().unwrap();
    let all = made_up(3 * BLOCK);
    let whole = contents(&whole_run(results.path(), 3 * BLOCK, 500));
    let mut folder = Folder::create(results.path(), &frozen()).unwrap();
    feed(&mut folder, &all, 0, 2 * BLOCK + 300, 500).unwrap();
    let path = folder.path().to_path_buf();
    drop(folder); // as the system would
    fs::write(path.join("designs/.fretwork-half.tmp"), "half a part").unwrap();
    fs::write(path.join("designs/note.tmp"), "mine").unwrap();

    let resumed = Folder::resume(results.path(), &frozen())
        .unwrap()
        .expect("a folder to go on with");
    assert_eq!(resumed.parts.designs(), 2 * BLOCK);
    assert!(resumed.remarks.is_empty());
    let mut folder = resumed.folder;
    feed(&mut folder, &all, 0, 3 * BLOCK, 500).unwrap();
    folder
        .close(
            &finished(&all, 3 * BLOCK),
            &plots(),
            "<!doctype html>",
            true,
        )
        .unwrap();
    let mut found = contents(&path);
    assert_eq!(
        found.remove(Path::new("designs/note.tmp")).unwrap(),
        b"mine",
        "files of others stay"
    );
    assert_eq!(found, whole);
}

#[test]
fn only_the_very_same_run_goes_on() {
    let results = tempfile::tempdir().unwrap();
    let folder = Folder::create(results.path(), &frozen()).unwrap();
    assert!(
        Folder::resume(results.path(), &frozen()).unwrap().is_none(),
        "it is being written right now"
    );
    drop(folder);
    let others = [
        Job {
            study_text: "title = \"Yaw ring \"\n".into(),
            ..frozen()
        },
        Job {
            catalogue_text: "# another drill\n".into(),
            ..frozen()
        },
        Job {
            seed: 8,
            ..frozen()
        },
        Job {
            evaluations: 9_999,
            ..frozen()
        },
        Job {
            study: "tilt-arm".into(),
            ..frozen()
        },
        Job {
            search_width: 1,
            ..frozen()
        },
    ];
    for other in others {
        assert!(
            Folder::resume(results.path(), &other).unwrap().is_none(),
            "{other:?}"
        );
    }
    assert!(Folder::resume(results.path(), &frozen()).unwrap().is_some());
}

#[test]
fn damaged_parts_are_evaluated_again_and_mended() {
    let results = tempfile::tempdir().unwrap();
    let count = 3 * BLOCK;
    let all = made_up(count);
    let whole = contents(&whole_run(results.path(), count, 500));
    let mut folder = Folder::create(results.path(), &frozen()).unwrap();
    feed(&mut folder, &all, 0, count, 500).unwrap();
    let path = folder.path().to_path_buf();
    drop(folder);
    let part = path.join("designs/part-00001.parquet");
    let bytes = fs::read(&part).unwrap();
    fs::write(&part, &bytes[..bytes.len() / 2]).unwrap();

    let resumed = Folder::resume(results.path(), &frozen()).unwrap().unwrap();
    assert_eq!(resumed.parts.designs(), BLOCK);
    assert_eq!(resumed.remarks.len(), 1);
    assert!(
        resumed.remarks[0].contains("part-00001.parquet"),
        "{:?}",
        resumed.remarks
    );
    let mut folder = resumed.folder;
    feed(&mut folder, &all, 0, count, 500).unwrap();
    folder
        .close(&finished(&all, count), &plots(), "<!doctype html>", true)
        .unwrap();
    assert_eq!(contents(&path), whole);
}

#[test]
fn a_replay_that_differs_is_refused() {
    let results = tempfile::tempdir().unwrap();
    let mut all = made_up(BLOCK);
    let mut folder = Folder::create(results.path(), &frozen()).unwrap();
    feed(&mut folder, &all, 0, BLOCK, 500).unwrap();
    drop(folder);
    let mut folder = Folder::resume(results.path(), &frozen())
        .unwrap()
        .unwrap()
        .folder;
    all.designs.values[16] += 1e-15;
    match feed(&mut folder, &all, 0, BLOCK, 500) {
        Err(StoreError::Clash { path }) => assert!(path.ends_with("part-00000.parquet")),
        other => panic!("{other:?}"),
    }
}

/// Opens a run after something was done to it.
fn open_after(harm: impl Fn(&Path)) -> StoreError {
    let results = tempfile::tempdir().unwrap();
    let path = whole_run(results.path(), BLOCK + 9, 500);
    harm(&path);
    store::open(&path).expect_err("a damaged run")
}

#[test]
fn a_damaged_folder_is_an_error_that_names_the_file() {
    let part = "designs/part-00000.parquet";
    let cut = |name: &'static str| {
        move |path: &Path| {
            let bytes = fs::read(path.join(name)).unwrap();
            fs::write(path.join(name), &bytes[..bytes.len() - 1]).unwrap();
        }
    };
    let flip = |path: &Path| {
        let mut bytes = fs::read(path.join(part)).unwrap();
        bytes[40] ^= 1;
        fs::write(path.join(part), bytes).unwrap();
    };
    let remove = |name: &'static str| move |path: &Path| fs::remove_file(path.join(name)).unwrap();
    let manifest = |text: &'static str| {
        move |path: &Path| fs::write(path.join(store::MANIFEST), text).unwrap()
    };

    assert!(
        matches!(open_after(cut(part)), StoreError::Changed { path, .. } if path.ends_with(part))
    );
    assert!(matches!(open_after(flip), StoreError::Changed { path, .. } if path.ends_with(part)));
    assert!(
        matches!(open_after(cut("front.csv")), StoreError::Changed { path, .. } if path.ends_with("front.csv"))
    );
    assert!(
        matches!(open_after(remove(part)), StoreError::Missing { path } if path.ends_with(part))
    );
    assert!(
        matches!(open_after(remove("study.toml")), StoreError::Missing { path } if path.ends_with("study.toml"))
    );
    assert!(matches!(
        open_after(remove(store::MANIFEST)),
        StoreError::NoManifest { .. }
    ));
    assert!(matches!(
        open_after(manifest("{\"format\": 2}")),
        StoreError::UnknownFormat { found: 2, .. }
    ));
    assert!(matches!(
        open_after(manifest("{\"format\": 1,")),
        StoreError::BadManifest { .. }
    ));
    assert!(matches!(
        open_after(manifest("")),
        StoreError::BadManifest { .. }
    ));
}

#[test]
fn a_manifest_that_contradicts_itself_is_refused() {
    for (from, to) in [
        ("\"role\": \"variable\"", "\"role\": \"variabel\""),
        ("\"sense\": \"most\"", "\"sense\": \"best\""),
        ("\"column\": 2", "\"column\": 99"),
    ] {
        let error = open_after(|path| {
            let manifest = path.join(store::MANIFEST);
            let text = fs::read_to_string(&manifest).unwrap();
            assert!(text.contains(from));
            fs::write(&manifest, text.replace(from, to)).unwrap();
        });
        assert!(
            matches!(error, StoreError::BadManifest { .. }),
            "{from}: {error:?}"
        );
        assert!(!error.mend().is_empty());
    }
    // Another name for a column: the part files don't agree.
    let error = open_after(|path| {
        let manifest = path.join(store::MANIFEST);
        let text = fs::read_to_string(&manifest)
            .unwrap()
            .replace("\"name\": \"mass\"", "\"name\": \"weight\"");
        fs::write(&manifest, text).unwrap();
    });
    assert!(matches!(error, StoreError::BadPart { .. }), "{error:?}");
}

#[test]
fn a_folder_that_is_none_is_an_error() {
    let results = tempfile::tempdir().unwrap();
    let error = store::open(&results.path().join("nothing")).unwrap_err();
    assert!(matches!(error, StoreError::NoManifest { .. }) && !error.is_disk());
    let file = results.path().join("file");
    fs::write(&file, "x").unwrap();
    assert!(matches!(
        store::open(&file).unwrap_err(),
        StoreError::NoManifest { .. }
    ));
}

#[test]
fn results_that_can_t_be_written_are_an_error_of_the_disk() {
    let folder = tempfile::tempdir().unwrap();
    let taken = folder.path().join("results");
    fs::write(&taken, "a file where the folder should be").unwrap();
    let error = Folder::create(&taken, &frozen()).unwrap_err();
    assert!(
        error.is_disk() && error.to_string().contains("results"),
        "{error}"
    );
    assert_eq!(
        fs::read_to_string(&taken).unwrap(),
        "a file where the folder should be"
    );
}

#[test]
fn the_page_can_be_made_anew() {
    let results = tempfile::tempdir().unwrap();
    let path = whole_run(results.path(), 10, 10);
    store::replace_page(&path, "<!doctype html><p>better").unwrap();
    let manifest = store::open(&path).unwrap().manifest;
    assert_eq!(manifest.files["review.html"].bytes, 24);
    assert_eq!(
        fs::read_to_string(path.join("review.html")).unwrap(),
        "<!doctype html><p>better"
    );
}
