//! Decisions: read to line and column, matched with the run at hand. The page that writes them is checked by
//! `tests/browser/decision.mjs`.

mod records;

use fretwork::ledger::{Decision, Found, Identity, MatchFault, find_picks, read_decision};
use records::{decision_text, line_of, quantity};

fn read() -> Decision {
    read_decision(&decision_text()).unwrap()
}

/// An invented run of the study: (number, floor in mm, hole in mm).
fn matched(
    decision: &Decision,
    fingerprint: &str,
    designs: &[(usize, f64, f64)],
) -> Result<Vec<Found>, Vec<MatchFault>> {
    let dimensions = [
        ("floor".to_string(), "mm".to_string()),
        ("hole".to_string(), "mm".to_string()),
    ];
    let designs: Vec<(usize, Vec<f64>)> = designs
        .iter()
        .map(|(number, floor, hole)| (*number, vec![*floor, *hole]))
        .collect();
    find_picks(
        decision,
        &Identity {
            study: "ring",
            fingerprint,
            dimensions: &dimensions,
            designs: &designs,
            count: 1 + designs.last().map_or(0, |last| last.0),
        },
    )
}

const RUN: [(usize, f64, f64); 4] = [(0, 1.8, 5.08), (3, 1.0, 2.0), (7, 1.4, 4.0), (9, 2.4, 6.0)];

#[test]
fn a_decision_is_read() {
    let decision = read();
    assert_eq!(
        (decision.study.as_str(), decision.run.as_str()),
        ("ring", "ring-001")
    );
    assert_eq!(
        (decision.chosen, decision.reason.as_str()),
        (Some(7), "light")
    );
    assert_eq!(
        (decision.by.as_slice(), decision.date.to_string().as_str()),
        (&["N. Author".to_string()][..], "2026-03-02")
    );
    let [first, second] = &decision.picks[..] else {
        panic!()
    };
    assert_eq!(
        (
            first.design,
            first.remark.as_str(),
            first.line,
            first.column
        ),
        (7, "seen by all", 13, 10)
    );
    assert_eq!(
        first.dimensions,
        [quantity("floor", 1.4, "mm"), quantity("hole", 4.0, "mm")]
    );
    assert_eq!((second.design, second.remark.as_str()), (0, ""));
}

#[test]
fn every_fault_has_its_line() {
    for (from, to, code, line) in [
        ("format = 1", "format = 2", "ledger/format", 2),
        (
            "kind = \"decision\"",
            "kind = \"shopping\"",
            "ledger/other-kind",
            3,
        ),
        ("study = \"ring\"", "study = 3", "ledger/wrong-type", 4),
        ("study = \"ring\"\n", "", "ledger/missing-key", 1),
        (
            "date = 2026-03-02",
            "date = 2026-03-02T10:00:00",
            "ledger/wrong-type",
            7,
        ),
        (
            "by = [\"N. Author\"]",
            "by = \"N. Author\"",
            "ledger/wrong-type",
            8,
        ),
        ("by = [\"N. Author\"]", "by = [3]", "ledger/wrong-type", 8),
        ("chosen = 7", "chosen = 5", "ledger/no-such-pick", 9),
        ("chosen = 7", "chosen = 7.5", "ledger/wrong-type", 9),
        ("reason", "raeson", "ledger/unknown-key", 10),
        ("design = 7", "design = -1", "ledger/out-of-range", 13),
        (
            "design = 7",
            "design = 99999999999999999999",
            "ledger/out-of-range",
            13,
        ),
        ("design = 0", "design = 7", "ledger/repeated", 20),
        ("\"1.4 mm\"", "\"1.4 parsec\"", "ledger/quantity", 16),
        ("\"1.4 mm\"", "1.4", "ledger/wrong-type", 16),
        (
            "remark = \"seen by all\"",
            "remark = \"seen by all",
            "ledger/not-toml",
            14,
        ),
    ] {
        let text = decision_text().replacen(from, to, 1);
        let found = read_decision(&text).expect_err(to);
        let told = found
            .iter()
            .any(|problem| problem.code == code && line_of(&text, problem) == line);
        assert!(told, "{from} -> {to}: {found:#?}");
    }
}

/// The `0.2 in` of a pick is the 5.08 mm of the run (1 in = 25.4 mm, SI brochure table 8).
#[test]
fn the_run_that_was_decided_on_is_matched_by_number() {
    let found = matched(&read(), "aa11", &RUN).unwrap();
    assert_eq!(found, [Found { was: 7, is: 7 }, Found { was: 0, is: 0 }]);
    let faults = matched(&read(), "aa11", &RUN[..2]).unwrap_err();
    assert_eq!(
        faults,
        [MatchFault::NoSuchDesign {
            design: 7,
            at: (13, 10),
            count: 4
        }]
    );
    // A number edited by hand.
    let text = decision_text()
        .replace("design = 7", "design = 9")
        .replace("chosen = 7", "chosen = 9");
    let faults = matched(&read_decision(&text).unwrap(), "aa11", &RUN).unwrap_err();
    assert!(
        faults[0]
            .to_string()
            .contains("`floor` is 2.4 mm, picked was 1.4 mm"),
        "{}",
        faults[0]
    );
}

#[test]
fn another_run_is_matched_by_dimensions() {
    let others = [
        (0, 1.8, 5.08),
        (2, 1.0, 2.0),
        (11, 1.400_000_1, 4.0),
        (12, 2.4, 6.0),
    ];
    let found = matched(&read(), "cc33", &others).unwrap();
    assert_eq!(found, [Found { was: 7, is: 11 }, Found { was: 0, is: 0 }]);
    // One step of the floor aside: that is another design.
    let near = [
        (0, 1.8, 5.08),
        (2, 1.0, 2.0),
        (11, 1.5, 4.0),
        (12, 2.4, 6.0),
    ];
    let faults = matched(&read(), "cc33", &near).unwrap_err();
    assert_eq!(faults.len(), 1);
    let words = faults[0].to_string();
    assert!(
        words.contains("nearest is design 11, where `floor` is 1.5 mm, picked was 1.4 mm"),
        "{words}"
    );
    // A dimension that the pick does not tell is no match.
    let text = decision_text().replace("hole = \"4 mm\"\n", "");
    let faults = matched(&read_decision(&text).unwrap(), "cc33", &others).unwrap_err();
    assert!(
        faults[0].to_string().contains("does not tell `hole`"),
        "{}",
        faults[0]
    );
    assert!(matched(&read(), "cc33", &[]).is_err());
}

#[test]
fn another_study_is_refused() {
    let text = decision_text().replace("study = \"ring\"", "study = \"arm\"");
    let faults = matched(&read_decision(&text).unwrap(), "aa11", &RUN).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert!(
        faults[0]
            .to_string()
            .contains("about the study arm, the run is one of ring")
    );
    assert_eq!(faults[0].at(), None);
}
