//! Tables of a run for spreadsheets (CSV, RFC 4180).

use crate::run::{Finished, Milestone};

/// The front: a row a candidate, its number first, units in the header (`mass [g]`). Numbers are written so
/// that they read back to the bit; what is not finite is left empty.
pub fn front_csv(finished: &Finished) -> Vec<u8> {
    let mut header = vec!["design".to_string()];
    header.extend(
        finished
            .columns
            .iter()
            .map(|column| match column.unit.as_str() {
                "" => column.name.clone(),
                unit => format!("{} [{unit}]", column.name),
            }),
    );
    let rows = finished.front.iter().map(|design| {
        let mut row = vec![design.to_string()];
        row.extend(
            finished
                .designs
                .row(*design)
                .iter()
                .map(|value| number(*value)),
        );
        row
    });
    table(header, rows)
}

/// How the search went: a row a milestone.
pub fn trace_csv(trace: &[Milestone]) -> Vec<u8> {
    let header = ["designs", "feasible", "front", "hypervolume"]
        .map(String::from)
        .to_vec();
    let rows = trace.iter().map(|milestone| {
        vec![
            milestone.designs.to_string(),
            milestone.feasible.to_string(),
            milestone.front.to_string(),
            number(milestone.hypervolume),
        ]
    });
    table(header, rows)
}

pub(super) fn number(value: f64) -> String {
    if value.is_finite() {
        value.to_string()
    } else {
        String::new()
    }
}

pub(super) fn table(header: Vec<String>, rows: impl Iterator<Item = Vec<String>>) -> Vec<u8> {
    let mut out = csv::Writer::from_writer(Vec::new());
    // Writing into memory can't fail, and every row has the header's length.
    let _ = out.write_record(header);
    for row in rows {
        let _ = out.write_record(row);
    }
    out.into_inner().unwrap_or_default()
}

/// Numbers of the candidates in a `front.csv`; in words what is wrong with it.
pub fn read_front(bytes: &[u8], designs: usize) -> Result<Vec<usize>, String> {
    let mut front = Vec::new();
    for row in csv::Reader::from_reader(bytes).records() {
        let row = row.map_err(|error| error.to_string())?;
        let cell = row.get(0).unwrap_or_default();
        match cell.parse::<usize>() {
            Ok(design) if design < designs => front.push(design),
            _ => return Err(format!("`{cell}` is none of the {designs} designs")),
        }
    }
    Ok(front)
}

/// The milestones of a `trace.csv`; in words what is wrong with it.
pub fn read_trace(bytes: &[u8]) -> Result<Vec<Milestone>, String> {
    let mut trace = Vec::new();
    for row in csv::Reader::from_reader(bytes).records() {
        let row = row.map_err(|error| error.to_string())?;
        let cell = |index: usize| row.get(index).unwrap_or_default();
        let count = |index: usize| {
            cell(index)
                .parse::<usize>()
                .map_err(|_| format!("`{}` is no count", cell(index)))
        };
        trace.push(Milestone {
            designs: count(0)?,
            feasible: count(1)?,
            front: count(2)?,
            hypervolume: cell(3).parse().unwrap_or(f64::NAN),
        });
    }
    Ok(trace)
}
