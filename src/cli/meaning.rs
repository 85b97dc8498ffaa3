//! What a study means, printed.

use std::io::{self, Write};

use super::number::{count, duration};
use super::style;
use super::table::{Align, Cell, Table, list, paragraph, width};
use crate::run::{Job, Meaning};

/// Prints what a study means; `seconds` is the estimated time of its run on `threads` threads.
pub fn print(
    out: &mut dyn Write,
    job: &Job,
    meaning: &Meaning,
    seconds: f64,
    threads: usize,
) -> io::Result<()> {
    paragraph(out, &job.title, 0, style::HEADING)?;
    writeln!(out)?;
    section(out, "PART", &meaning.part)?;
    let mut table = Table::new(&[
        ("VARIABLES", Align::Left),
        ("may be", Align::Wrap),
        ("values", Align::Right),
        ("baseline", Align::Right),
    ]);
    for variable in &meaning.variables {
        let values = variable
            .values
            .map_or("any".into(), |values| count(values as usize));
        table.row([
            variable.name.as_str().into(),
            variable.range.as_str().into(),
            Cell::styled(values, style::DIM),
            variable.baseline.as_str().into(),
        ]);
    }
    table.print(out, width())?;
    writeln!(out)?;
    section(out, "LOAD CASES", &meaning.loads)?;
    section(out, "PROGRAM", &meaning.program)?;
    section(out, "CONSTRAINTS", &meaning.constraints)?;
    section(out, "OBJECTIVES", &meaning.objectives)?;
    let mut table = Table::new(&[("RUN", Align::Left), ("", Align::Wrap)]);
    table.row(["space".into(), size(meaning).into()]);
    if meaning.freedoms > 0 {
        table.row([
            "model".into(),
            format!("{} degrees of freedom", count(meaning.freedoms)).into(),
        ]);
    }
    table.row([
        "plan".into(),
        format!("{}, seed {}", meaning.plan, job.seed).into(),
    ]);
    table.row([
        "time".into(),
        format!(
            "{}, {}the search itself and the page aside",
            time(seconds, threads),
            match meaning.program.is_empty() {
                true => "",
                false => "the program's own time, ",
            }
        )
        .into(),
    ]);
    table.print(out, width())?;
    if !meaning.remarks.is_empty() {
        writeln!(out)?;
        list(out, "REMARKS", &meaning.remarks, style::WARN)?;
    }
    Ok(())
}

fn section(out: &mut dyn Write, heading: &str, lines: &[String]) -> io::Result<()> {
    if lines.is_empty() {
        return Ok(());
    }
    let mut table = Table::new(&[(heading, Align::Wrap)]);
    for line in lines {
        table.row([line.as_str().into()]);
    }
    table.print(out, width())?;
    writeln!(out)
}

fn size(meaning: &Meaning) -> String {
    let variables = match meaning.variables.len() {
        1 => "1 variable".to_string(),
        some => format!("{some} variables"),
    };
    match meaning.designs {
        Some(designs) => format!("{variables}, {} designs", count(designs as usize)),
        None => format!("{variables}, more designs than can be counted"),
    }
}

fn time(seconds: f64, threads: usize) -> String {
    let threads = if threads == 1 {
        "1 thread".to_string()
    } else {
        format!("{threads} threads")
    };
    format!("about {} on {threads}", duration(seconds))
}
