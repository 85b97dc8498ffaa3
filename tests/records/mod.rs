//! Invented revisions and decisions for tests.

#![allow(dead_code, reason = "not every test file uses all of it")]

use fretwork::ledger::{Date, Letter, Problem, Quantity, Revision};

pub fn quantity(name: &str, value: f64, unit: &str) -> Quantity {
    Quantity {
        name: name.into(),
        value,
        unit: unit.into(),
    }
}

/// A revision of an invented ring.
pub fn revision(letter: &str, mass: f64) -> Revision {
    Revision {
        letter: Letter::read(letter).unwrap(),
        date: Date::new(2026, 3, 2).unwrap(),
        by: vec!["N. Author".into(), "M. \"Other\"".into()],
        reason: "lighter,\nstiff enough".into(),
        run: "ring-001".into(),
        design: 7,
        run_fingerprint: "aa11".into(),
        study_fingerprint: "bb22".into(),
        tool: "fretwork 0.1.0".into(),
        violation: 0.0,
        least: vec!["mass".into()],
        most: vec!["tilt.stiffness".into()],
        dimensions: vec![quantity("floor", 1.4, "mm"), quantity("slits", 2.0, "")],
        predicted: vec![
            quantity("mass", mass, "g"),
            quantity("tilt.stiffness", 240.5, "N/mm"),
            quantity("cost", 59.76902, "EUR"),
            quantity("chips", 0.9, ""),
        ],
    }
}

/// A decision on two designs of an invented run, 7 chosen.
pub fn decision_text() -> String {
    "# exported\nformat = 1\nkind = \"decision\"\nstudy = \"ring\"\nrun = \"ring-001\"\nrun_fingerprint = \"aa11\"\ndate = 2026-03-02\n\
     by = [\"N. Author\"]\nchosen = 7\nreason = \"light\"\n\n[[pick]]\ndesign = 7\nremark = \"seen by all\"\n[pick.dimensions]\nfloor = \"1.4 mm\"\n\
     hole = \"4 mm\"\n\n[[pick]]\ndesign = 0\n[pick.dimensions]\nfloor = \"1.8 mm\"\nhole = \"0.2 in\"\n"
        .into()
}

/// Line of a problem, from 1.
pub fn line_of(text: &str, problem: &Problem) -> usize {
    1 + text[..problem.spans[0].0.start].matches('\n').count()
}
