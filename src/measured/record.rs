//! One record of a part that was measured.

use std::fmt::Write as _;

use sha2::{Digest, Sha256};

use crate::ledger::{Date, Letter, Quantity, key, list, quoted};

/// Significant digits that readings are written with.
const DIGITS: usize = 12;

/// What was read of a part at one sitting.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Revision that the part was made to.
    pub revision: Letter,
    /// The part: its serial number.
    pub part: String,
    /// Day.
    pub date: Date,
    /// Who measured; may be empty.
    pub by: Vec<String>,
    /// With what.
    pub instrument: String,
    /// Step of the instrument's figures, if it was told.
    pub readability: Option<Quantity>,
    /// Remark; may be empty.
    pub note: String,
    /// What was read.
    pub taken: Taken,
}

/// What was read.
#[derive(Clone, Debug, PartialEq)]
pub enum Taken {
    /// The part on a balance.
    Weighing(Weighing),
    /// Times of the operations in the mill.
    Times(Times),
    /// Movements under a load case.
    Stiffness(Stiffness),
    /// Frequencies of the part tapped.
    Tap(Tap),
}

/// The part on a balance.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Weighing {
    /// Readings, the part turned in between.
    pub readings: Vec<Quantity>,
    /// Readings of the empty balance, before and after.
    pub zero: Vec<Quantity>,
    /// A check weight, and what the balance said of it.
    pub check: Option<(Quantity, Vec<Quantity>)>,
    /// Of the air, in °C.
    pub temperature: Option<f64>,
    /// Whether what the study's part carries was fitted.
    pub fitted: bool,
}

/// Times of the operations in the mill.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Times {
    /// Feed override, as a share: 1 as the program has it.
    pub feed_override: Option<f64>,
    /// Each with its name: that of an operation in the plan with its feature, or `cycle` for the whole.
    pub times: Vec<Quantity>,
}

/// Movements under a load case.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stiffness {
    /// Load case of the study.
    pub load_case: String,
    /// Loads, in the order of the way up.
    pub loads: Vec<Quantity>,
    /// Movements under them on the way up.
    pub up: Vec<Quantity>,
    /// Movements under the same loads on the way down, in the order of `loads`; may be empty.
    pub down: Vec<Quantity>,
    /// Stiffness of the rig without the part.
    pub rig: Option<Quantity>,
}

/// Frequencies of the part tapped.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tap {
    /// Load case whose supports held it; empty: hung free.
    pub held: String,
    /// Lowest first.
    pub frequencies: Vec<Quantity>,
    /// Whether what the study's part carries was fitted.
    pub fitted: bool,
}

impl Taken {
    /// Kind as files have it.
    pub fn kind(&self) -> &'static str {
        match self {
            Taken::Weighing(_) => "weighing",
            Taken::Times(_) => "cycle time",
            Taken::Stiffness(_) => "stiffness",
            Taken::Tap(_) => "tap test",
        }
    }
}

impl Record {
    /// The record as it is added to a file, with its seal.
    pub fn text(&self) -> String {
        self.written(Some(&self.seal()))
    }

    /// SHA-256 (FIPS 180-4) over the record as this program writes it, without the seal: finds what was changed by
    /// accident, is no signature.
    pub fn seal(&self) -> String {
        let digest = Sha256::digest(self.written(None).as_bytes());
        digest.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Format 1: what stands here is what seals of that format are over, so it must not change.
    fn written(&self, seal: Option<&str>) -> String {
        let mut out = String::from("[[record]]\n");
        let mut line = |name: &str, value: String| {
            let _ = writeln!(out, "{name} = {value}");
        };
        line("kind", quoted(self.taken.kind()));
        line("revision", quoted(self.revision.as_str()));
        line("part", quoted(&self.part));
        line("date", self.date.to_string());
        if !self.by.is_empty() {
            line("by", list(self.by.iter().map(String::as_str)));
        }
        line("instrument", quoted(&self.instrument));
        if let Some(step) = &self.readability {
            line("readability", one(step));
        }
        if !self.note.is_empty() {
            line("note", quoted(&self.note));
        }
        for (name, value) in self.taken.lines() {
            line(name, value);
        }
        if let Some(seal) = seal {
            line("seal", quoted(seal));
        }
        if let Taken::Times(Times { times, .. }) = &self.taken {
            let _ = writeln!(out, "\n[record.times]");
            for time in times {
                let _ = writeln!(out, "{} = {}", key(&time.name), one(time));
            }
        }
        out
    }
}

impl Taken {
    /// Keys and values of its kind; times stand in a table of their own.
    fn lines(&self) -> Vec<(&'static str, String)> {
        let mut all = Vec::new();
        let mut some = |name, values: &[Quantity]| {
            if !values.is_empty() {
                all.push((name, many(values)));
            }
        };
        match self {
            Taken::Weighing(weighing) => {
                some("readings", &weighing.readings);
                some("zero", &weighing.zero);
                if let Some((weight, readings)) = &weighing.check {
                    all.push(("check", one(weight)));
                    all.push(("check_readings", many(readings)));
                }
                if let Some(celsius) = weighing.temperature {
                    all.push(("temperature", quoted(&format!("{celsius} °C"))));
                }
                if weighing.fitted {
                    all.push(("fitted", "true".into()));
                }
            }
            Taken::Times(times) => {
                if let Some(share) = times.feed_override {
                    let percent = Quantity {
                        name: String::new(),
                        value: 100.0 * share,
                        unit: "%".into(),
                    };
                    all.push(("feed_override", one(&percent)));
                }
            }
            Taken::Stiffness(stiffness) => {
                some("loads", &stiffness.loads);
                some("up", &stiffness.up);
                some("down", &stiffness.down);
                all.insert(0, ("load_case", quoted(&stiffness.load_case)));
                if let Some(rig) = &stiffness.rig {
                    all.push(("rig", one(rig)));
                }
            }
            Taken::Tap(tap) => {
                some("frequencies", &tap.frequencies);
                if !tap.held.is_empty() {
                    all.insert(0, ("held", quoted(&tap.held)));
                }
                if tap.fitted {
                    all.push(("fitted", "true".into()));
                }
            }
        }
        all
    }
}

fn one(quantity: &Quantity) -> String {
    quoted(&quantity.text(DIGITS))
}

fn many(quantities: &[Quantity]) -> String {
    let texts: Vec<String> = quantities.iter().map(|each| each.text(DIGITS)).collect();
    list(texts.iter().map(String::as_str))
}
