//! A catalogue, printed.

use std::io::{self, Write};

use serde_json::{Map, Value};

use super::style;
use super::table;
use super::table::{Align, Cell, Table, clean, paragraph, width, wrap};
use crate::catalogue::Table as Listing;

/// Column whose texts go below a table, each once.
const SOURCE: &str = "source";

/// Prints a catalogue: as a table where its columns fit, else entry by entry.
pub fn print(out: &mut dyn Write, listing: &Listing) -> io::Result<()> {
    if fits(listing) {
        print_table(out, listing)
    } else {
        print_entries(out, listing)
    }
}

/// Least width of the column that wraps, and width of the number of a source.
const LEAST_WRAP: usize = 16;
const MARK: usize = 6;

/// Widest cell of a column.
fn longest(listing: &Listing, column: usize) -> usize {
    let cells = listing.rows.iter().filter_map(|row| row.get(column));
    let cells = cells.chain(listing.headers.get(column));
    cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
}

/// The column of words that is widest, the names aside: it may wrap.
fn wordiest(listing: &Listing) -> Option<usize> {
    let words = (1..listing.headers.len())
        .filter(|column| listing.headers[*column] != SOURCE && !is_numeric(listing, *column));
    words.max_by_key(|column| longest(listing, *column))
}

fn is_numeric(listing: &Listing, column: usize) -> bool {
    let mut cells = listing.rows.iter().filter_map(|row| row.get(column));
    cells.all(|cell| is_empty(cell) || cell.parse::<f64>().is_ok())
}

/// Whether all columns fit side by side.
fn fits(listing: &Listing) -> bool {
    let wraps = wordiest(listing);
    let width = |column: usize| match longest(listing, column) {
        _ if listing.headers[column] == SOURCE => MARK,
        long if Some(column) == wraps => long.min(LEAST_WRAP),
        long => long,
    };
    (0..listing.headers.len())
        .map(|column| width(column) + 2)
        .sum::<usize>()
        <= table::width()
}

/// A row an entry; sources are numbered and stand below.
fn print_table(out: &mut dyn Write, listing: &Listing) -> io::Result<()> {
    let wraps = wordiest(listing);
    let align = |column: usize| match is_numeric(listing, column) {
        true => Align::Point,
        false if Some(column) == wraps => Align::Wrap,
        false => Align::Left,
    };
    let columns: Vec<(&str, Align)> = listing
        .headers
        .iter()
        .enumerate()
        .map(|(column, header)| (header.as_str(), align(column)))
        .collect();
    let mut table = Table::new(&columns);
    let mut sources: Vec<&str> = Vec::new();
    for row in &listing.rows {
        let cells = row.iter().zip(&listing.headers).map(|(cell, header)| {
            if header != SOURCE || is_empty(cell) {
                return Cell::from(cell.as_str());
            }
            let known = sources.iter().position(|source| source == cell);
            let number = known.unwrap_or_else(|| {
                sources.push(cell);
                sources.len() - 1
            });
            Cell::styled(format!("[{}]", number + 1), style::DIM)
        });
        table.cells(cells.collect());
    }
    table.print(out, width())?;
    for (index, source) in sources.iter().enumerate() {
        paragraph(out, &format!("[{}] {source}", index + 1), 2, style::DIM)?;
    }
    Ok(())
}

/// An entry's name, then what is known of it, as much on a line as fits.
fn print_entries(out: &mut dyn Write, listing: &Listing) -> io::Result<()> {
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
        for line in packed(facts, width() - 4) {
            writeln!(out, "    {line}")?;
        }
        for (header, cell) in long {
            for line in wrap(&format!("{header}: {cell}"), width() - 4) {
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
pub fn json(listing: &Listing) -> Value {
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

    fn listing() -> Listing {
        let text = |cells: &[&str]| {
            cells
                .iter()
                .map(|cell| cell.to_string())
                .collect::<Vec<_>>()
        };
        Listing {
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
        print_entries(&mut out, &listing()).unwrap();
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
    fn a_table_says_each_source_once() {
        let mut listing = listing();
        listing.rows.push(listing.rows[1].clone());
        assert!(fits(&listing));
        let mut out = anstream::StripStream::new(Vec::new());
        print(&mut out, &listing).unwrap();
        let text = String::from_utf8(out.into_inner()).unwrap();
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
        assert_eq!(text.matches("common practice").count(), 1, "{text}");
        assert_eq!(text.matches("[2]").count(), 3, "{text}");
    }

    #[test]
    fn json_has_numbers_and_nulls() {
        let json = json(&listing());
        assert_eq!(json[0]["density kg/m³"], 2700.0);
        assert_eq!(json[0]["fatigue MPa"], Value::Null);
        assert_eq!(json[1]["id"], "spring_steel");
    }
}
