//! `failures.csv`: designs about which the study's program gave no answer, and why.

use super::tables::table;
use crate::run::Failed;

/// Name of the table in its folder.
pub const FAILURES: &str = "failures.csv";

/// The table: a row a design, its number first.
pub fn failures_csv(failures: &[Failed]) -> Vec<u8> {
    let header = ["design", "reason"].map(String::from).to_vec();
    let row = |failed: &Failed| vec![failed.design.to_string(), failed.reason.clone()];
    table(header, failures.iter().map(row))
}

/// The designs of a table, in order; in words what is wrong with it.
pub fn read_failures(bytes: &[u8]) -> Result<Vec<Failed>, String> {
    let mut failures: Vec<Failed> = Vec::new();
    for row in csv::Reader::from_reader(bytes).records() {
        let row = row.map_err(|error| error.to_string())?;
        let (cell, reason) = match (row.get(0), row.get(1)) {
            (Some(cell), Some(reason)) => (cell, reason.to_string()),
            _ => return Err("a row has not two cells".into()),
        };
        let design = cell
            .parse()
            .map_err(|_| format!("`{cell}` is no number of a design"))?;
        if failures.last().is_some_and(|last| last.design >= design) {
            return Err(format!("design {design} is out of order"));
        }
        failures.push(Failed { design, reason });
    }
    Ok(failures)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reason_comes_back() {
        let failed = |design, reason: &str| Failed {
            design,
            reason: reason.into(),
        };
        let all = vec![
            failed(3, "it ended with status 1: \"mesh\", not closed"),
            failed(17, "it took longer than 2 s"),
        ];
        assert_eq!(read_failures(&failures_csv(&all)), Ok(all));
        for wrong in [
            "design,reason\nx,no\n",
            "design,reason\n4,a\n4,b\n",
            "design\n4\n",
        ] {
            assert!(read_failures(wrong.as_bytes()).is_err(), "{wrong}");
        }
    }
}
