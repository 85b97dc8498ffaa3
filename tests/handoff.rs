//! The hand-off of a design: the files as whoever draws and cuts the part finds them, and what stands in the way.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;

/// A small ring with a blind row, a boss with a reamed and counterbored bore, and a run of it that takes a moment.
const RING: &str = r#"format = 1
title = "Ring <of> *tests*"
material = "al6061_t6511"
machine = "small_vmc"
seed = 1

[tools]
drills = ["2 mm", "3 mm", "4 mm"]
end_mills = ["3 mm", "6 mm"]

[part.path]
shape = "circle"
radius = "40 mm"

[part.section]
width = "12 mm"
floor = "floor"
outer_wall = { thickness = "1.5 mm", height = "8 mm" }

[[part.boss]]
name = "lug"
at = ["0 deg", "180 deg"]
length = "12 mm"
section = { floor = "6 mm" }
bore = { diameter = "3 mm", reamed = true, counterbore = { diameter = "6 mm", depth = "2 mm" } }

[[part.hole_row]]
name = "relief"
strip = "floor"
diameter = "hole"
pitch = "12 mm"
depth = "1.2 mm"

[variables.floor]
from = "2.5 mm"
to = "4 mm"
step = "0.1 mm"

[variables.hole]
choices = "drills"

[baseline]
floor = "3 mm"
hole = "3 mm"

[load.squeeze]
forces = [
  { at = "90 deg", axes = "path", force = ["0 N", "10 N", "0 N"] },
  { at = "270 deg", axes = "path", force = ["0 N", "10 N", "0 N"] },
]

[[objective]]
least = "mass"

[[objective]]
most = "squeeze.stiffness"

[explore]
truth = "beam"
proofs = 0
evaluations = 60
"#;

struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    /// A folder with the study and a run of it.
    fn new() -> Place {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("ring.toml"), RING).unwrap();
        let place = Place { folder };
        let run = place.call(&["run", "ring.toml", "--json"]);
        assert!(run.status.success(), "{}", said(&run));
        place
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn call(&self, words: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_fretwork"))
            .args(words)
            .current_dir(self.folder.path())
            .env("COLUMNS", "80")
            .output()
            .unwrap()
    }

    fn hand_off(&self, words: &[&str]) -> Output {
        self.call(&[&["handoff", "results/ring-001"], words].concat())
    }

    /// What is in a folder, without our temporary files' names being allowed for.
    fn list(&self, name: &str) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.path(name))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

fn said(output: &Output) -> String {
    let both = [output.stdout.as_slice(), &output.stderr].concat();
    String::from_utf8(both).unwrap()
}

/// Lines of a table by the names in its head.
fn table(file: &Path) -> Vec<Vec<(String, String)>> {
    let mut reader = csv::Reader::from_path(file).unwrap();
    let head: Vec<String> = reader
        .headers()
        .unwrap()
        .iter()
        .map(str::to_string)
        .collect();
    let rows = reader.records().map(|row| {
        let row = row.unwrap();
        head.iter()
            .cloned()
            .zip(row.iter().map(str::to_string))
            .collect()
    });
    rows.collect()
}

fn cell<'a>(row: &'a [(String, String)], name: &str) -> &'a str {
    let found = row.iter().find(|(head, _)| head == name);
    &found.unwrap_or_else(|| panic!("a column {name}")).1
}

fn value(row: &[(String, String)], name: &str) -> f64 {
    cell(row, name)
        .parse()
        .unwrap_or_else(|_| panic!("a number in {name}"))
}

#[test]
fn the_tables_hold_the_part() {
    let place = Place::new();
    let done = place.hand_off(&["--pick", "0", "--to", "out", "--date", "2026-02-03"]);
    assert!(done.status.success(), "{}", said(&done));

    let holes = table(&place.path("out/ring-0-holes.csv"));
    let numbers: Vec<f64> = holes.iter().map(|row| value(row, "number")).collect();
    let counted: Vec<f64> = (1..=holes.len()).map(|number| number as f64).collect();
    assert_eq!(numbers, counted);
    let (bores, row): (Vec<_>, Vec<_>) = holes
        .iter()
        .partition(|row| cell(row, "of").starts_with("bore"));
    assert_eq!(bores.len(), 2);
    for bore in &bores {
        assert_eq!((cell(bore, "fit"), cell(bore, "through")), ("H7", "yes"));
        let wide = (
            value(bore, "counterbore_diameter_mm"),
            value(bore, "counterbore_depth_mm"),
        );
        assert_eq!(wide, (6.0, 2.0));
        assert!(
            cell(bore, "tool").contains("drill"),
            "{}",
            cell(bore, "tool")
        );
    }
    for hole in &row {
        // Blind, from the floor's top face; on the path, so 40 mm from the middle.
        assert_eq!(
            (value(hole, "diameter_mm"), value(hole, "depth_mm")),
            (3.0, 1.2)
        );
        assert_eq!((cell(hole, "through"), value(hole, "z_mm")), ("no", 3.0));
        let (x, y) = (value(hole, "x_mm"), value(hole, "y_mm"));
        assert!((x.hypot(y) - 40.0).abs() < 1e-3);
        let angle = y.atan2(x).to_degrees().rem_euclid(360.0);
        assert!((value(hole, "angle_deg") - angle).abs() < 1e-2);
        // A 118 degree point (ISO 5419, from memory): 1.5 / tan 59 degrees.
        assert!((value(hole, "point_mm") - 0.9013).abs() < 1e-4);
        assert_eq!(cell(hole, "tool"), "drill 3 mm, HSS");
    }

    let parameters = table(&place.path("out/ring-0-parameters.csv"));
    let of = |name: &str| {
        parameters
            .iter()
            .find(|row| cell(row, "name") == name)
            .unwrap()
    };
    assert_eq!(
        (cell(of("floor"), "value"), cell(of("floor"), "unit")),
        ("3", "mm")
    );
    assert_eq!(cell(of("mass"), "kind"), "measure");

    let operations = table(&place.path("out/ring-0-operations.csv"));
    let on_machine = operations
        .iter()
        .filter(|row| cell(row, "setup") != "bench");
    let sum: f64 = on_machine.map(|row| value(row, "total_s")).sum();
    assert!((sum - value(of("cycle_time"), "value")).abs() < 0.01 * operations.len() as f64);

    let text = fs::read_to_string(place.path("out/README.md")).unwrap();
    assert!(text.starts_with("# Ring \\<of\\> \\*tests\\*\n"), "{text}");
    for words in [
        "2026-02-03",
        "not a release for manufacture",
        "not adopted",
        "6061-T6511",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    assert!(
        !text.contains("worked out for the first of these volumes"),
        "{text}"
    );
    let volumes = text.split_once("as drawn: ").unwrap().1;
    let (metal, solid) = volumes.split_once(" mm^3; of the solid: ").unwrap();
    let solid = solid.split_once(' ').unwrap().0;
    let [metal, solid] = [metal, solid].map(|text| text.parse::<f64>().unwrap());
    assert!((solid / metal - 1.0).abs() < 1e-6, "{metal} {solid}");
    let starts = |name: &str, with: &[u8]| {
        let bytes = fs::read(place.path("out").join(name)).unwrap();
        assert!(bytes.starts_with(with), "{name}");
    };
    starts("ring-0.step", b"ISO-10303-21;");
    starts("ring-0.3mf", b"PK\x03\x04");
    starts("ring-0-drawing.pdf", b"%PDF-");
    starts("ring-0-drawing-1.svg", b"<svg ");
    assert!(
        said(&done).lines().all(|line| line.chars().count() <= 80),
        "{}",
        said(&done)
    );
    for name in place.list("out") {
        assert!(
            text.contains(&format!("`{name}`")) || name == "README.md",
            "{name}"
        );
    }
}

#[test]
fn the_same_design_gives_the_same_bytes_and_a_revision_its_letter() {
    let place = Place::new();
    for folder in ["one", "two"] {
        let words = ["--pick", "0", "--date", "2026-02-03", "--to", folder];
        assert!(place.hand_off(&words).status.success());
    }
    assert_eq!(place.list("one"), place.list("two"));
    for name in place.list("one") {
        let read = |folder: &str| fs::read(place.path(folder).join(&name)).unwrap();
        assert!(read("one") == read("two"), "{name}");
    }
    let adopted = place.call(&[
        "adopt",
        "results/ring-001",
        "--pick",
        "0",
        "--reason",
        "as drawn",
        "--by",
        "N. Author",
    ]);
    assert!(adopted.status.success(), "{}", said(&adopted));
    let done = place.hand_off(&["--pick", "0"]);
    assert!(said(&done).contains("revision A"), "{}", said(&done));
    let text = fs::read_to_string(place.path("results/ring-001/handoff-0/README.md")).unwrap();
    assert!(text.contains("Revision: A, adopted by N. Author"), "{text}");
    // Of a study, without a run.
    let done = place.call(&[
        "handoff",
        "ring.toml",
        "--set",
        "floor=3.5 mm",
        "--to",
        "changed",
    ]);
    assert!(done.status.success(), "{}", said(&done));
    let parameters = table(&place.path("changed/ring-parameters.csv"));
    assert_eq!(cell(&parameters[0], "value"), "3.5");
}

#[test]
fn what_stands_in_the_way_is_said_and_nothing_is_lost() {
    let place = Place::new();
    let refused = |words: &[&str], code: i32, wanted: &[&str]| {
        let output = place.hand_off(words);
        let text = said(&output);
        assert_eq!(output.status.code(), Some(code), "{text}");
        for want in wanted {
            assert!(text.contains(want), "{want}: {text}");
        }
    };
    refused(&[], 2, &["--pick ID"]);
    let nowhere = place.call(&["handoff", "nowhere", "--pick", "0"]);
    assert!(
        said(&nowhere).contains("no run or study nowhere"),
        "{}",
        said(&nowhere)
    );
    refused(&["--pick", "99999"], 2, &["no design 99999", "0 to"]);
    refused(
        &["--pick", "0", "--set", "floor=3 mm"],
        2,
        &["not in a run"],
    );
    refused(
        &["--pick", "0", "--chord", "3 N"],
        2,
        &["write a length with its unit"],
    );
    refused(
        &["--pick", "0", "--chord", "30 mm"],
        2,
        &["chord error of 30 mm", "choose one from"],
    );
    refused(&["--pick", "0", "--paper", "a0"], 2, &["a3", "tabloid"]);

    // A folder that has something in it.
    fs::create_dir(place.path("mine")).unwrap();
    fs::write(place.path("mine/notes.txt"), "mine").unwrap();
    refused(
        &["--pick", "0", "--to", "mine"],
        2,
        &["is there already", "--to FOLDER"],
    );
    assert_eq!(place.list("mine"), ["notes.txt"]);
    // One that is empty is taken.
    fs::create_dir(place.path("empty")).unwrap();
    assert!(
        place
            .hand_off(&["--pick", "0", "--to", "empty"])
            .status
            .success()
    );
    // A file where a folder should be.
    refused(
        &["--pick", "0", "--to", "mine/notes.txt/out"],
        1,
        &["failed to", "--to FOLDER"],
    );
    assert_eq!(
        fs::read_to_string(place.path("mine/notes.txt")).unwrap(),
        "mine"
    );

    // The study has changed since.
    let now = RING.replace("width = \"12 mm\"", "width = \"13 mm\"");
    fs::write(place.path("ring.toml"), now).unwrap();
    refused(
        &["--pick", "0", "--to", "late"],
        2,
        &[
            "has changed since the run",
            "width: \"12 mm\" is now \"13 mm\"",
            "--despite-changes",
        ],
    );
    assert!(!place.path("late").exists());
    assert!(
        place
            .hand_off(&["--pick", "0", "--to", "late", "--despite-changes"])
            .status
            .success()
    );
}

/// A disk that refuses in the middle: nothing is left behind, not even half a folder. (A limit on the size of files
/// stands in for a full disk.)
#[cfg(unix)]
#[test]
fn a_disk_that_refuses_leaves_nothing_behind() {
    let place = Place::new();
    let before = place.list(".");
    let call = format!(
        "trap '' XFSZ; ulimit -f 2; exec '{}' handoff results/ring-001 --pick 0 --to out",
        env!("CARGO_BIN_EXE_fretwork")
    );
    let output = Command::new("bash")
        .args(["-c", &call])
        .current_dir(place.folder.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    assert!(
        said(&output).contains("failed to write out/"),
        "{}",
        said(&output)
    );
    assert_eq!(place.list("."), before);
}
