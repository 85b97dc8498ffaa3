//! A mass budget, for a terminal and as JSON.

mod account;
mod fronts;
mod json;

use std::io::{self, Write};

pub use json::json;

use super::style;
use super::table::{list, paragraph};
use crate::budget::Report;

/// Prints a budget: its account, where the next gram is cheapest, the best choices over all parts.
pub fn print(out: &mut dyn Write, report: &Report) -> io::Result<()> {
    paragraph(
        out,
        &format!("{}: mass budget", report.budget.title),
        0,
        style::HEADING,
    )?;
    writeln!(out)?;
    account::print(out, report)?;
    if let Some(fronts) = &report.fronts {
        fronts::print(out, report, fronts)?;
    }
    if !report.remarks.is_empty() {
        writeln!(out)?;
        list(out, "MIND", &report.remarks, style::WARN)?;
    }
    Ok(())
}
