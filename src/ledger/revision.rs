//! One entry of a ledger.

use std::fmt::Write as _;

use sha2::{Digest, Sha256};

use super::date::Date;
use super::letter::Letter;
use super::quantity::{Quantity, number};
use super::text::{key, list, quoted};

/// Significant digits of dimensions and of predicted figures in a ledger.
const DIGITS: (usize, usize) = (12, 7);

/// A candidate that was adopted as a revision.
#[derive(Clone, Debug, PartialEq)]
pub struct Revision {
    /// Its letter.
    pub letter: Letter,
    /// Day of the decision.
    pub date: Date,
    /// Who decided; may be empty.
    pub by: Vec<String>,
    /// Why.
    pub reason: String,
    /// Name of the run folder.
    pub run: String,
    /// Number of the design in the run.
    pub design: usize,
    /// What the designs of the run follow from, in one number, as its manifest has it.
    pub run_fingerprint: String,
    /// SHA-256 of the study as the run read it.
    pub study_fingerprint: String,
    /// Program and version that predicted the figures.
    pub tool: String,
    /// Greatest relative violation of a constraint; 0 where all were met.
    pub violation: f64,
    /// Objectives that were to be least, by name.
    pub least: Vec<String>,
    /// Objectives that were to be most, by name.
    pub most: Vec<String>,
    /// Its dimensions.
    pub dimensions: Vec<Quantity>,
    /// What the run predicted of it.
    pub predicted: Vec<Quantity>,
}

impl Revision {
    /// The entry as it is added to a ledger, with its seal.
    pub fn text(&self) -> String {
        self.written(Some(&self.seal()))
    }

    /// SHA-256 (FIPS 180-4) over the entry as this program writes it, without the seal. Comments, empty lines and line
    /// ends of the file are not in it. It finds what was changed by accident; it is no signature.
    pub fn seal(&self) -> String {
        let digest = Sha256::digest(self.written(None).as_bytes());
        digest.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Format 1: what stands here is what seals of that format are over, so it must not change.
    fn written(&self, seal: Option<&str>) -> String {
        let mut out = String::from("[[revision]]\n");
        let mut line = |name: &str, value: String| {
            let _ = writeln!(out, "{name} = {value}");
        };
        line("letter", quoted(self.letter.as_str()));
        line("date", self.date.to_string());
        if !self.by.is_empty() {
            line("by", list(self.by.iter().map(String::as_str)));
        }
        line("reason", quoted(&self.reason));
        line("run", quoted(&self.run));
        line("design", self.design.to_string());
        line("run_fingerprint", quoted(&self.run_fingerprint));
        line("study_fingerprint", quoted(&self.study_fingerprint));
        line("tool", quoted(&self.tool));
        if self.violation > 0.0 {
            line("violation", float(self.violation));
        }
        for (name, goals) in [("least", &self.least), ("most", &self.most)] {
            if !goals.is_empty() {
                line(name, list(goals.iter().map(String::as_str)));
            }
        }
        if let Some(seal) = seal {
            line("seal", quoted(seal));
        }
        let tables = [
            ("dimensions", &self.dimensions, DIGITS.0),
            ("predicted", &self.predicted, DIGITS.1),
        ];
        for (name, quantities, digits) in tables {
            let _ = writeln!(out, "\n[revision.{name}]");
            for quantity in quantities {
                let _ = writeln!(
                    out,
                    "{} = {}",
                    key(&quantity.name),
                    quoted(&quantity.text(digits))
                );
            }
        }
        out
    }
}

/// A number as TOML writes those that need not be whole.
fn float(value: f64) -> String {
    let text = number(value, 4);
    match text.contains(['.', 'e']) {
        true => text,
        false => text + ".0",
    }
}
