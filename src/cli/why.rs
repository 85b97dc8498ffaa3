//! Why a candidate is as it is, printed.

use std::io::{self, Write};

use super::style;
use super::table::{Align, Cell, Table, list, paragraph, width};
use crate::run::Why;

/// What holds a candidate, exchange rates, neighbours, and every step that would better an objective.
pub fn print(out: &mut dyn Write, title: &str, why: &Why) -> io::Result<()> {
    paragraph(out, title, 0, style::HEADING)?;
    if !why.on_front {
        let text =
            "Not on the front: it breaks a constraint, or others are better in every objective.";
        paragraph(out, text, 2, style::WARN)?;
    }
    writeln!(out)?;
    list(out, "WHAT HOLDS IT", &why.holds(), style::PLAIN)?;
    let rates = why.rates();
    if !rates.is_empty() {
        writeln!(out)?;
        list(out, "EXCHANGE RATES ALONG THE FRONT", &rates, style::PLAIN)?;
    }
    if !why.neighbours.is_empty() {
        let mut table = Table::new(&[("NEAREST ON THE FRONT", Align::Left), ("", Align::Wrap)]);
        for (design, words) in why.nearest() {
            table.row([format!("#{design}").into(), words.into()]);
        }
        writeln!(out)?;
        table.print(out, width())?;
    }
    for (objective, steps) in why.better() {
        let heading = format!("BETTER IN {}?", objective.to_uppercase());
        writeln!(out)?;
        if steps.is_empty() {
            let none = ["no single step of a dimension betters it".to_string()];
            list(out, &heading, &none, style::PLAIN)?;
            continue;
        }
        let mut table = Table::new(&[
            (&heading, Align::Left),
            ("", Align::Left),
            ("", Align::Wrap),
        ]);
        for step in steps {
            let verdict = match step.beats {
                true => Cell::styled(step.verdict, style::WARN),
                false => step.verdict.into(),
            };
            table.row([step.change.into(), step.gain.into(), verdict]);
        }
        table.print(out, width())?;
    }
    Ok(())
}
