//! Data flows one way: which room may use which, held against the `use crate::` lines and paths of the source.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Room, and the rooms it may name. `DEVELOPERS.md` prints the same table.
const MAY_USE: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("expression", &["units"]),
    ("catalogue", &["units"]),
    ("part", &["units", "catalogue"]),
    ("structure", &["units", "catalogue", "part"]),
    ("machining", &["units", "catalogue", "part"]),
    // The solid shares the beam's words for metal, loads and supports, none of its mechanics.
    ("solid", &["units", "catalogue", "part", "structure"]),
    (
        "evaluate",
        &[
            "units",
            "expression",
            "catalogue",
            "part",
            "structure",
            "solid",
            "machining",
        ],
    ),
    ("explore", &[]),
    // Its one filter of very many points.
    ("analyse", &["explore"]),
    (
        "study",
        &[
            "units",
            "expression",
            "catalogue",
            "part",
            "structure",
            "evaluate",
            "explore",
        ],
    ),
    ("drawing", &["units", "part", "machining", "evaluate"]),
    // Decisions and ledgers print their problems as a study does.
    ("ledger", &["units", "study"]),
    (
        "budget",
        &["units", "expression", "analyse", "study", "ledger"],
    ),
    (
        "measured",
        &["units", "analyse", "evaluate", "study", "ledger"],
    ),
    (
        "run",
        &[
            "units",
            "expression",
            "catalogue",
            "part",
            "structure",
            "solid",
            "machining",
            "evaluate",
            "explore",
            "analyse",
            "study",
        ],
    ),
    (
        "review",
        &[
            "units",
            "part",
            "machining",
            "evaluate",
            "drawing",
            "run",
            "analyse",
            "ledger",
            "budget",
            "measured",
        ],
    ),
    (
        "handoff",
        &[
            "units",
            "catalogue",
            "part",
            "machining",
            "evaluate",
            "drawing",
            "run",
        ],
    ),
    ("store", &["run", "ledger", "measured", "handoff"]),
];

/// Rooms that touch no file, clock, environment or terminal.
const PURE: &[&str] = &[
    "units",
    "expression",
    "catalogue",
    "part",
    "structure",
    "solid",
    "machining",
    "evaluate",
    "explore",
    "analyse",
    "study",
    "drawing",
    "ledger",
    "budget",
    "measured",
    "run",
    "review",
    "handoff",
];

fn sources(dir: &Path, room: Option<&str>, found: &mut BTreeMap<String, String>) {
    let mut entries: Vec<_> = fs::read_dir(dir)
        .expect("a readable source folder")
        .map(|entry| entry.expect("a readable entry").path())
        .collect();
    entries.sort();
    for path in entries {
        let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
        let room = room.unwrap_or(&stem).to_owned();
        if path.is_dir() {
            sources(&path, Some(&room), found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            let text = fs::read_to_string(&path).expect("readable source");
            // Tests under the code may look anywhere.
            let text = text.split("#[cfg(test)]").next().unwrap();
            found.entry(room).or_default().push_str(text);
        }
    }
}

fn rooms() -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    sources(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src"),
        None,
        &mut found,
    );
    found
}

/// Code without its comment lines.
fn code(text: &str) -> String {
    text.lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn rooms_use_only_the_rooms_below_them() {
    let rooms = rooms();
    for (room, allowed) in MAY_USE {
        let text = code(rooms.get(*room).unwrap_or_else(|| panic!("no room {room}")));
        for other in rooms.keys().filter(|other| other.as_str() != *room) {
            let named = text.contains(&format!("crate::{other}::"));
            assert!(
                !named || allowed.contains(&other.as_str()),
                "{room} uses {other}, which is not below it"
            );
        }
    }
    let listed: Vec<_> = MAY_USE.iter().map(|(room, _)| *room).collect();
    for room in rooms.keys() {
        assert!(
            listed.contains(&room.as_str()) || ["cli", "lib", "main"].contains(&room.as_str()),
            "room {room} is not in the table"
        );
    }
}

#[test]
fn the_core_touches_no_file_clock_or_terminal() {
    let rooms = rooms();
    for room in PURE {
        let text = code(&rooms[*room]);
        for forbidden in [
            "std::fs",
            "std::env",
            "std::time",
            "std::net",
            "println!",
            "print!(",
            "SystemTime",
            "Instant::",
            "File::",
        ] {
            assert!(!text.contains(forbidden), "{room} uses {forbidden}");
        }
    }
}
