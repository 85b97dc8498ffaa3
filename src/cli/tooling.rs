//! What one more tool would bring, printed.

use std::io::{self, Write};

use super::number::{count, figure, signed_percent, unit};
use super::style;
use super::table::{Align, Table, WIDTH, paragraph};
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
    for tool in &brought.tools {
        let mut better: Vec<String> = tool
            .gains
            .iter()
            .filter(|gain| gain.better > 0.0)
            .map(words)
            .collect();
        if let Some(saves) = tool.saves {
            let parts = (tool.price / saves).ceil();
            better.push(format!(
                "{saves:.2} {currency} a part, paid off after {parts:.0}"
            ));
        }
        table.row([
            format!("{} {}", tool.kind, tool.id).into(),
            format!("{:.2}", tool.price).into(),
            signed_percent(tool.hypervolume_gain).into(),
            count(tool.candidates).into(),
            match better.is_empty() {
                true => "nothing".into(),
                false => better.join("; ").into(),
            },
        ]);
    }
    table.print(out, WIDTH)?;
    let note = format!(
        "front: growth of its share of the common box; less than {:.1} %, by which two searches with different seeds \
         differ, is no gain. Each search evaluated {} designs.",
        100.0 * brought.scatter,
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
