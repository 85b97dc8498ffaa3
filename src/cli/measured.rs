//! Records of made parts beside what was predicted, and gauges, for a terminal and as JSON.

use std::io::{self, Write};

use serde_json::{Value, json};

use super::number::{figure, signed_percent, unit};
use super::style::{self, Style};
use super::table::{Align, Cell, Table, WIDTH, list, paragraph};
use crate::measured::{Figure, Gauge, Record, Standing, Taken, Tried};

/// A record with its figures: each with what its revision's entry predicted and what the study as it stands says.
pub struct Sitting {
    /// The record.
    pub record: Record,
    /// Figure, entry, study.
    pub rows: Vec<(Figure, Option<f64>, Option<f64>)>,
    /// Variables of the study that the revision does not tell.
    pub missing: Vec<String>,
}

/// Share of a prediction beyond which a reading is more likely a slip of the pen.
const FAR: f64 = 0.3;

/// Prints records beside what was predicted of them.
pub fn print(out: &mut dyn Write, title: &str, sittings: &[Sitting]) -> io::Result<()> {
    paragraph(out, title, 0, style::HEADING)?;
    for sitting in sittings {
        let record = &sitting.record;
        let by = match record.by.as_slice() {
            [] => String::new(),
            names => format!(" by {}", names.join(", ")),
        };
        writeln!(out)?;
        let head = format!("{} {}", record.part, record.taken.kind());
        let mut table = Table::new(&[
            (head.as_str(), Align::Left),
            ("", Align::Left),
            ("measured", Align::Point),
            ("±", Align::Point),
            ("n", Align::Right),
            ("predicted", Align::Point),
            ("off", Align::Point),
        ]);
        for (read, told, today) in &sitting.rows {
            let predicted = told.or(*today);
            let error = read
                .error
                .map_or("-".into(), |error| super::number::brief(rounded(error, 2)));
            table.row([
                read.of.words().into(),
                unit(&read.unit).into(),
                figure(read.value).into(),
                Cell::styled(error, style::DIM),
                read.count.to_string().into(),
                predicted.map_or("-".into(), figure).into(),
                off(read.value, predicted),
            ]);
        }
        table.print(out, WIDTH)?;
        let words = format!(
            "revision {}, {}{by}, with {}",
            record.revision, record.date, record.instrument
        );
        paragraph(out, &words, 2, style::DIM)?;
        let mut remarks: Vec<String> = sitting
            .rows
            .iter()
            .flat_map(|(read, ..)| read.remarks.clone())
            .collect();
        if !sitting.missing.is_empty() {
            remarks.push(format!(
                "the revision does not tell {}: today's revision stands in for the prediction",
                sitting.missing.join(", ")
            ));
        }
        let far = sitting.rows.iter().any(|(read, told, today)| {
            let predicted = told.or(*today);
            predicted.is_some_and(|predicted| (read.value / predicted - 1.0).abs() > FAR)
        });
        if far && !matches!(record.taken, Taken::Times(_)) {
            remarks.push("far from what was predicted: see unit, revision and part".into());
        }
        if !record.note.is_empty() {
            remarks.push(record.note.clone());
        }
        for remark in remarks {
            paragraph(out, &remark, 2, style::PLAIN)?;
        }
    }
    let times = sittings
        .iter()
        .any(|sitting| matches!(sitting.record.taken, Taken::Times(_) | Taken::Tap(_)));
    writeln!(out)?;
    let mut words = String::from(
        "± is one standard error; predicted is what the revision's entry in the ledger says",
    );
    if times {
        words += ", of operations and frequencies what the study as it stands says by the beam";
    }
    paragraph(out, &words, 0, style::DIM)
}

/// So many significant digits.
fn rounded(value: f64, digits: usize) -> f64 {
    format!("{value:.*e}", digits - 1).parse().unwrap_or(value)
}

fn off(value: f64, predicted: Option<f64>) -> Cell {
    match predicted.map(|predicted| value / predicted - 1.0) {
        Some(share) if share.is_finite() => signed_percent(share).into(),
        _ => "".into(),
    }
}

/// Records as a list.
pub fn json(sittings: &[Sitting]) -> Value {
    let one = |sitting: &Sitting| {
        let figures = sitting.rows.iter().map(|(read, told, today)| {
            json!({
                "of": read.of.words(),
                "value": read.value,
                "error": read.error,
                "unit": read.unit,
                "readings": read.count,
                "predicted": told,
                "predicted_today": today,
                "remarks": read.remarks,
            })
        });
        json!({
            "kind": sitting.record.taken.kind(),
            "revision": sitting.record.revision.as_str(),
            "part": sitting.record.part,
            "date": sitting.record.date.to_string(),
            "by": sitting.record.by,
            "instrument": sitting.record.instrument,
            "figures": figures.collect::<Vec<_>>(),
        })
    };
    sittings.iter().map(one).collect()
}

/// Prints how much of a scatter is the gauge's.
pub fn gauge(
    out: &mut dyn Write,
    measure: &str,
    tried: &Tried,
    gauge: &Gauge,
    width: Option<f64>,
) -> io::Result<()> {
    let (parts, people, trials) = gauge.size;
    let plural = |count: usize, one: &str, many: &str| {
        format!("{count} {}", if count == 1 { one } else { many })
    };
    let title = format!(
        "Repeatability of {measure}: {}, {}, {} each, with {}",
        plural(parts, "part", "parts"),
        plural(people, "person", "people"),
        plural(trials, "trial", "trials"),
        tried.instruments.join(", ")
    );
    paragraph(out, &title, 0, style::HEADING)?;
    writeln!(out)?;
    let mut heads = vec![
        ("SCATTER", Align::Left),
        ("", Align::Left),
        ("1 s.d.", Align::Point),
        ("of total", Align::Point),
    ];
    if width.is_some() {
        heads.push(("of tolerance", Align::Point));
    }
    let mut table = Table::new(&heads);
    let rows = [
        ("repeatability (EV)", gauge.repeatability),
        ("reproducibility (AV)", gauge.reproducibility),
        ("gauge, both (GRR)", gauge.gauge),
        ("part to part (PV)", gauge.parts),
        ("total (TV)", gauge.total),
    ];
    let percent = |share: f64| format!("{} %", figure(100.0 * share));
    for (name, deviation) in rows {
        let mut cells: Vec<Cell> = vec![
            name.into(),
            unit(&tried.unit).into(),
            figure(deviation).into(),
            percent(deviation / gauge.total).into(),
        ];
        if let Some(width) = width {
            cells.push(percent(6.0 * deviation / width).into());
        }
        table.cells(cells);
    }
    table.print(out, WIDTH)?;
    writeln!(out)?;
    let (share, of) = match width {
        Some(width) => (gauge.of_tolerance(width), "tolerance"),
        None => (gauge.of_total(), "total scatter"),
    };
    let standing = Standing::of(share);
    let tone: Style = match standing {
        Standing::Good => style::GOOD,
        Standing::Fair => style::WARN,
        Standing::Poor => style::BAD,
    };
    paragraph(
        out,
        &format!(
            "the gauge takes {} of the {of}: {}",
            percent(share),
            standing.words()
        ),
        0,
        tone,
    )?;
    let mut remarks = vec![format!(
        "kinds of parts that it tells apart: {} (five or more are wanted)",
        figure(gauge.kinds())
    )];
    if people == 1 {
        remarks.push("one person: what differs from person to person is not known".into());
    }
    if tried.revisions.len() > 1 {
        remarks.push(format!(
            "parts of revisions {} differ by design: what scatters from part to part is not the shop's (--revision LETTER)",
            tried.revisions.join(", ")
        ));
    }
    if parts * people < 5 {
        remarks.push("fewer than five ranges: these figures are rough".into());
    }
    for (part, person) in &gauge.out_of_hand {
        remarks.push(format!(
            "the trials of part {} by {} range further than those of one gauge do: find out why, measure it again",
            tried.parts[*part], tried.people[*person]
        ));
    }
    remarks.push("average and range; 6 s.d. over the tolerance; good under 10 %, poor over 30 % (Measurement Systems Analysis manual)".into());
    list(out, "NOTES", &remarks, style::PLAIN)
}

/// The same as an object.
pub fn gauge_json(tried: &Tried, gauge: &Gauge, width: Option<f64>) -> Value {
    json!({
        "parts": tried.parts,
        "people": tried.people,
        "trials": gauge.size.2,
        "unit": tried.unit,
        "repeatability": gauge.repeatability,
        "reproducibility": gauge.reproducibility,
        "gauge": gauge.gauge,
        "part_to_part": gauge.parts,
        "total": gauge.total,
        "of_total": gauge.of_total(),
        "of_tolerance": width.map(|width| gauge.of_tolerance(width)),
        "kinds": gauge.kinds(),
    })
}
