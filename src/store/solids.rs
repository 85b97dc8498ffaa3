//! Solids of a run as tables: the designs that its law was learnt from, and the proofs of candidates.

use super::tables::{number, table};
use crate::run::{Finished, Lesson, ModeRow, PeakRow, Proof, ProofRow, Proved, Stand};

/// File of the designs solved both ways.
pub const LESSONS: &str = "solids.csv";
/// File of the proofs.
pub const PROOFS: &str = "proofs.csv";

/// What is added where a design was solved in an earlier run.
const EARLIER: &str = ", in an earlier run";

/// Lessons, a row each: whether on a front, places on the axes, then for every figure beam, coarse and fine
/// solid.
pub fn lessons_csv(lessons: &[Lesson], axes: &[String], targets: &[String]) -> Vec<u8> {
    let mut header = vec!["on a front".to_string()];
    header.extend_from_slice(axes);
    for target in targets {
        header.extend(["beam", "coarse solid", "fine solid"].map(|by| format!("{target}, {by}")));
    }
    let rows = lessons.iter().map(|lesson| {
        let mut row = vec![if lesson.front { "yes" } else { "no" }.to_string()];
        if lesson.earlier {
            row[0] += EARLIER;
        }
        row.extend(lesson.x.iter().map(|value| number(*value)));
        for k in 0..targets.len() {
            row.push(number(lesson.beam[k]));
            row.push(number(lesson.solid[k]));
            row.push(
                lesson
                    .finer
                    .get(k)
                    .map_or_else(String::new, |value| number(*value)),
            );
        }
        row
    });
    table(header, rows)
}

/// Lessons back from their table, in a study of so many axes and figures; in words what is wrong with it.
pub fn read_lessons(bytes: &[u8], axes: usize, targets: usize) -> Result<Vec<Lesson>, String> {
    rows(bytes)?
        .iter()
        .map(|row| {
            if row.len() != 1 + axes + 3 * targets {
                return Err(format!("a row has {} cells", row.len()));
            }
            let of = |from: usize, step: usize, count: usize| -> Result<Vec<f64>, String> {
                (0..count).map(|k| value(&row[from + k * step])).collect()
            };
            let finer = of(1 + axes + 2, 3, targets)?;
            Ok(Lesson {
                front: row[0].starts_with("yes"),
                earlier: row[0].ends_with(EARLIER),
                x: of(1, 1, axes)?,
                beam: of(1 + axes, 3, targets)?,
                solid: of(1 + axes + 1, 3, targets)?,
                finer: if finer.iter().all(|each| each.is_nan()) {
                    Vec::new()
                } else {
                    finer
                },
            })
        })
        .collect()
}

const HEADER: [&str; 12] = [
    "design",
    "what",
    "name",
    "unit",
    "beam",
    "searched",
    "coarser",
    "finer",
    "solid",
    "open [%]",
    "place along the path [mm]",
    "words",
];

/// Proofs of a run's candidates and of its baseline, a row a figure.
pub fn proofs_csv(finished: &Finished) -> Vec<u8> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    if let Some(proof) = &finished.baseline.proof {
        add_proof("baseline", proof, &mut rows);
    }
    for (design, sheet) in &finished.sheets {
        if let Some(proof) = &sheet.proof {
            add_proof(&design.to_string(), proof, &mut rows);
        }
    }
    table(HEADER.map(String::from).to_vec(), rows.into_iter())
}

fn add_proof(design: &str, proof: &Proof, rows: &mut Vec<Vec<String>>) {
    let row = |what: &str, name: &str, unit: &str, numbers: [f64; 7], words: &str| {
        let mut row: Vec<String> = [design, what, name, unit].map(String::from).to_vec();
        row.extend(numbers.iter().map(|value| number(*value)));
        row.push(words.into());
        row
    };
    let none = f64::NAN;
    for each in &proof.rows {
        let numbers = [
            each.beam,
            each.searched,
            each.coarser,
            each.finer,
            each.solid,
            each.open_percent,
            none,
        ];
        rows.push(row("figure", &each.name, &each.unit, numbers, ""));
    }
    for peak in &proof.peaks {
        let [x, y, z] = peak.place_mm;
        let numbers = [
            x,
            y,
            peak.coarser_mpa,
            peak.finer_mpa,
            z,
            none,
            peak.station_mm,
        ];
        rows.push(row("hole peak", &peak.load, "MPa", numbers, &peak.hole));
    }
    for mode in &proof.modes {
        let numbers = [none, none, mode.frequency_hz, none, mode.share, none, none];
        rows.push(row("vibration", &mode.kind, "Hz", numbers, ""));
    }
    rows.push(row("meshes", "", "", [none; 7], &proof.meshes));
    for remark in &proof.remarks {
        rows.push(row("remark", "", "", [none; 7], remark));
    }
}

/// Proofs back from their table; in words what is wrong with it.
pub fn read_proofs(bytes: &[u8]) -> Result<(Vec<Proved>, Option<Stand>), String> {
    let mut proofs: Vec<(String, Proof)> = Vec::new();
    for row in rows(bytes)? {
        if row.len() != HEADER.len() {
            return Err(format!("a row has {} cells", row.len()));
        }
        if proofs.last().is_none_or(|(design, _)| *design != row[0]) {
            proofs.push((row[0].clone(), Proof::default()));
        }
        let Some((_, proof)) = proofs.last_mut() else {
            continue;
        };
        let n: Vec<f64> = row[4..11]
            .iter()
            .map(|cell| value(cell))
            .collect::<Result<_, _>>()?;
        match row[1].as_str() {
            "figure" => proof.rows.push(ProofRow {
                name: row[2].clone(),
                unit: row[3].clone(),
                beam: n[0],
                searched: n[1],
                coarser: n[2],
                finer: n[3],
                solid: n[4],
                open_percent: n[5],
            }),
            "hole peak" => proof.peaks.push(PeakRow {
                load: row[2].clone(),
                coarser_mpa: n[2],
                finer_mpa: n[3],
                place_mm: [n[0], n[1], n[4]],
                station_mm: n[6],
                hole: row[11].clone(),
            }),
            "vibration" => proof.modes.push(ModeRow {
                frequency_hz: n[2],
                kind: row[2].clone(),
                share: n[4],
            }),
            "meshes" => proof.meshes.clone_from(&row[11]),
            "remark" => proof.remarks.push(row[11].clone()),
            other => return Err(format!("it has a row of `{other}`")),
        }
    }
    let mut baseline = None;
    let mut of_designs = Vec::new();
    for (design, proof) in proofs {
        match design.as_str() {
            "baseline" => baseline = Some(Ok(proof)),
            number => {
                let number = number
                    .parse()
                    .map_err(|_| format!("there is no design `{number}`"))?;
                of_designs.push((number, Ok(proof)));
            }
        }
    }
    Ok((of_designs, baseline))
}

fn rows(bytes: &[u8]) -> Result<Vec<Vec<String>>, String> {
    csv::Reader::from_reader(bytes)
        .into_records()
        .map(|record| match record {
            Ok(record) => Ok(record.iter().map(String::from).collect()),
            Err(error) => Err(error.to_string()),
        })
        .collect()
}

fn value(cell: &str) -> Result<f64, String> {
    match cell {
        "" => Ok(f64::NAN),
        cell => cell.parse().map_err(|_| format!("`{cell}` is no number")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lessons_come_back_to_the_bit() {
        let lessons = vec![
            Lesson {
                x: vec![0.1 + 0.2, 3.0],
                beam: vec![1.0 / 3.0, 2.0],
                solid: vec![0.3, f64::NAN],
                finer: vec![0.29, 1.9],
                front: false,
                earlier: true,
            },
            Lesson {
                x: vec![1e-7, 4.0],
                beam: vec![5.0, 6.0],
                solid: vec![7.0, 8.0],
                finer: Vec::new(),
                front: true,
                earlier: false,
            },
        ];
        let names = |text: &str| vec![format!("{text} 1"), format!("{text} 2")];
        let bytes = lessons_csv(&lessons, &names("axis"), &names("figure"));
        let back = read_lessons(&bytes, 2, 2).unwrap();
        assert_eq!(format!("{back:?}"), format!("{lessons:?}"));
        assert!(read_lessons(&bytes, 3, 2).is_err());
    }
}
