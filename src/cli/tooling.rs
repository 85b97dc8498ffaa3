//! What one more tool would bring, printed.

use std::io::{self, Write};

use super::number::{count, figure, signed_percent, unit};
use super::style;
use super::table::{Align, Table, paragraph, width};
use crate::run::{Gain, Tooling};

/// Tool by tool, the most useful first.
pub fn print(out: &mut dyn Write, run: &str, brought: &Tooling) -> io::Result<()> {
    let title = format!("{run}: what one more tool in stock would bring");
    paragraph(out, &title, 0, style::HEADING)?;
    writeln!(out)?;
    let currency = &brought.currency;
    let mut table = Table::new(&[
        ("TOOL", Align::Left),
        (currency, Align::Point),
        ("front", Align::Point),
        ("use it", Align::Right),
        ("at best, all else kept", Align::Wrap),
    ]);
    for tool in brought.tools.iter().chain([&brought.scatter]) {
        let gains = tool.gains.iter().filter(|gain| gain.better > 0.0);
        let mut better: Vec<String> = gains.map(words).collect();
        if let Some(saves) = tool.saves {
            let paid = match (tool.price / saves).ceil() {
                parts if parts > 0.0 => format!(", paid off after {parts:.0}"),
                _ => String::new(),
            };
            better.push(format!("{saves:.2} {currency} a part{paid}"));
        }
        if better.is_empty() {
            better.push("nothing".into());
        }
        let price = match tool.price > 0.0 {
            true => format!("{:.2}", tool.price),
            false => String::new(),
        };
        table.row([
            format!("{} {}", tool.kind, tool.id).trim().into(),
            price.into(),
            signed_percent(tool.hypervolume_gain).into(),
            count(tool.candidates).into(),
            better.join("; ").into(),
        ]);
    }
    table.print(out, width())?;
    let note = format!(
        "front: growth of its share of the common box. A gain no greater than the last line's, which another seed \
         brings without any tool, is none. Each search evaluated {} designs.",
        count(brought.evaluations)
    );
    paragraph(out, &note, 2, style::DIM)
}

fn words(gain: &Gain) -> String {
    format!(
        "{} {} {} better ({:.1} %)",
        gain.name,
        figure(gain.better),
        unit(&gain.unit),
        100.0 * gain.share
    )
}
