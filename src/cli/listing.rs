//! A catalogue, printed.

use std::io::{self, Write};

use serde_json::{Map, Value};

use super::style;
use super::table::{WIDTH, clean, wrap};
use crate::catalogue::Table;

/// Prints a catalogue: an entry's name, then what is known of it, as much on a line as fits.
pub fn print(out: &mut dyn Write, listing: &Table) -> io::Result<()> {
    let (bold, dim) = (style::HEADING, style::DIM);
    for row in &listing.rows {
        let cells: Vec<String> = row.iter().map(|cell| clean(cell)).collect();
        let name = cells.first().map_or("", String::as_str);
        writeln!(out, "{bold}{name}{bold:#}")?;
        let known = listing
            .headers
            .iter()
            .zip(&cells)
            .skip(1)
            .filter(|(_, cell)| !is_empty(cell));
        let (long, brief): (Vec<_>, Vec<_>) =
            known.partition(|(header, cell)| header.len() + cell.len() > 48);
        let facts = brief
            .into_iter()
            .map(|(header, cell)| format!("{header} {cell}"));
        for line in packed(facts, WIDTH - 4) {
            writeln!(out, "    {line}")?;
        }
        for (header, cell) in long {
            for line in wrap(&format!("{header}: {cell}"), WIDTH - 4) {
                writeln!(out, "    {dim}{line}{dim:#}")?;
            }
        }
    }
    Ok(())
}

fn is_empty(cell: &str) -> bool {
    matches!(cell.trim(), "" | "-")
}

/// Items on as few lines as their order allows, none cut in two.
fn packed(items: impl Iterator<Item = String>, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for item in items {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 3 + item.chars().count() <= width => {
                line.push_str("   ");
                line.push_str(&item);
            }
            _ => lines.push(item),
        }
    }
    lines
}

/// A catalogue as a JSON list of objects; numbers are numbers, what is not known is `null`.
pub fn json(listing: &Table) -> Value {
    let entry = |row: &Vec<String>| {
        let fields = listing
            .headers
            .iter()
            .zip(row)
            .map(|(header, cell)| (header.clone(), value(cell)));
        Value::Object(fields.collect::<Map<_, _>>())
    };
    Value::Array(listing.rows.iter().map(entry).collect())
}

fn value(cell: &str) -> Value {
    if is_empty(cell) {
        return Value::Null;
    }
    match cell.parse::<f64>() {
        Ok(number) if number.is_finite() => Value::from(number),
        _ => Value::from(cell),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn listing() -> Table {
        let text = |cells: &[&str]| {
            cells
                .iter()
                .map(|cell| cell.to_string())
                .collect::<Vec<_>>()
        };
        Table {
            headers: text(&[
                "id",
                "form",
                "density kg/m³",
                "yield MPa",
                "fatigue MPa",
                "source",
            ]),
            rows: vec![
                text(&[
                    "al6061_t6511",
                    "extruded bar",
                    "2700",
                    "240",
                    "-",
                    &"a long source ".repeat(12),
                ]),
                text(&[
                    "spring_steel",
                    "strip",
                    "7850",
                    "1100",
                    "",
                    "common practice",
                ]),
            ],
        }
    }

    #[test]
    fn entries_fit_and_say_only_what_is_known() {
        let mut out = anstream::StripStream::new(Vec::new());
        print(&mut out, &listing()).unwrap();
        let text = String::from_utf8(out.into_inner()).unwrap();
        assert!(
            text.starts_with(
                "al6061_t6511\n    form extruded bar   density kg/m³ 2700   yield MPa 240\n"
            ),
            "{text}"
        );
        assert!(!text.contains("fatigue"));
        assert!(text.lines().all(|line| line.chars().count() <= 80));
    }

    #[test]
    fn json_has_numbers_and_nulls() {
        let json = json(&listing());
        assert_eq!(json[0]["density kg/m³"], 2700.0);
        assert_eq!(json[0]["fatigue MPa"], Value::Null);
        assert_eq!(json[1]["id"], "spring_steel");
    }
}
