//! Shards of a run by the program itself: gathered they are the run in one piece, to the byte.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;
use assert_cmd::cargo::cargo_bin;

/// A sampled study: the demo ring on the beam alone.
fn study(folder: &Path, plan: &str) -> PathBuf {
    let ring = include_str!("../studies/yaw-ring.toml");
    let (head, _) = ring.split_once("[explore]").unwrap();
    let path = folder.join("sampled.toml");
    let plan =
        format!("[explore]\nplan = \"{plan}\"\nevaluations = 9000\ntruth = \"beam\"\nproofs = 0\n");
    fs::write(&path, format!("{head}{plan}")).unwrap();
    path
}

fn fretwork(folder: &Path, words: &[&str]) -> Output {
    let mut command = Command::new(cargo_bin!("fretwork"));
    command.current_dir(folder).args(words).output().unwrap()
}

fn done(folder: &Path, words: &[&str]) -> String {
    let output = fretwork(folder, words);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{words:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

fn refused(folder: &Path, words: &[&str]) -> String {
    let output = fretwork(folder, words);
    assert_eq!(output.status.code(), Some(2), "{words:?}");
    String::from_utf8(output.stderr).unwrap()
}

/// Every file that holds no times.
fn contents(run: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<(String, Vec<u8>)> = ["front.csv", "trace.csv"]
        .map(|name| (name.to_string(), fs::read(run.join(name)).unwrap()))
        .into();
    for sub in ["designs", "plots"] {
        for entry in fs::read_dir(run.join(sub)).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            files.push((name, fs::read(path).unwrap()));
        }
    }
    files.sort();
    files
}

#[test]
fn gathered_shards_are_the_run_in_one_piece() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    study(folder, "sobol");
    done(folder, &["run", "sampled.toml"]);
    let whole = contents(&folder.join("results/sampled-001"));
    assert_eq!(
        whole
            .iter()
            .filter(|file| file.0.ends_with("parquet"))
            .count(),
        3
    );

    let shard = |number: &str| {
        done(
            folder,
            &[
                "run",
                "sampled.toml",
                "--shard",
                number,
                "--results",
                "shards",
                "--json",
            ],
        )
    };
    let said: serde_json::Value = serde_json::from_str(&shard("2/2")).unwrap();
    assert_eq!(
        (&said["shard"], &said["designs"]),
        (&2.into(), &4096.into())
    );
    let missing = refused(folder, &["gather", "shards/sampled-001"]);
    assert!(missing.contains("failed to find shard 1 of 2"), "{missing}");
    assert!(missing.contains("--shard 1/2"), "{missing}");
    assert!(
        refused(folder, &["review", "shards/sampled-001"]).contains("it is shard 2 of 2"),
        "a shard is no run"
    );
    let said: serde_json::Value = serde_json::from_str(&shard("1/2")).unwrap();
    assert_eq!(said["designs"], 4904);
    done(
        folder,
        &[
            "gather",
            "shards/sampled-001",
            "shards/sampled-002",
            "--results",
            "one",
        ],
    );
    assert_eq!(contents(&folder.join("one/sampled-001")), whole);

    let foreign = refused(folder, &["gather", "results/sampled-001"]);
    assert!(foreign.contains("it is no shard of a run"), "{foreign}");
    let other_seed = [
        "run",
        "sampled.toml",
        "--shard",
        "1/2",
        "--seed",
        "9",
        "--results",
        "other",
    ];
    done(folder, &other_seed);
    let mixed = refused(
        folder,
        &["gather", "shards/sampled-001", "other/sampled-001"],
    );
    assert!(mixed.contains("are others than those of"), "{mixed}");

    let part = folder.join("shards/sampled-001/designs/part-00001.parquet");
    let mut bytes = fs::read(&part).unwrap();
    bytes[1000] ^= 1;
    fs::write(&part, bytes).unwrap();
    let damaged = refused(
        folder,
        &["gather", "shards/sampled-001", "shards/sampled-002"],
    );
    assert!(
        damaged.contains("part-00001.parquet is missing or damaged"),
        "{damaged}"
    );
}

#[test]
fn a_search_has_no_shards() {
    let folder = tempfile::tempdir().unwrap();
    study(folder.path(), "search");
    let said = refused(folder.path(), &["run", "sampled.toml", "--shard", "1/2"]);
    assert!(
        said.contains("can't be dealt out to shards") && said.contains("sobol"),
        "{said}"
    );
    assert!(!folder.path().join("results").exists());
}

#[test]
fn a_run_ends_by_time_or_when_its_front_stalls() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let path = study(folder, "search");
    let long = ["run", "sampled.toml", "--evaluations", "9000000"];
    let output = fretwork(folder, &[&long[..], &["--minutes", "0.01"]].concat());
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("the time is up"), "{said}");
    assert!(folder.join("results/sampled-001/front.csv").exists());

    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text + "stall = 300\n").unwrap();
    let said = done(
        folder,
        &["run", "sampled.toml", "--evaluations", "60000", "--json"],
    );
    let said: serde_json::Value = serde_json::from_str(&said).unwrap();
    let designs = said["designs"].as_u64().unwrap();
    assert!((1_000..60_000).contains(&designs), "{said}");
    assert_eq!(said["complete"], true);
}
