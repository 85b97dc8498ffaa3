//! What a sheet says of making the part: cost, features with their grams, tolerances.

use std::io::{self, Write};

use super::number::{figure, short};
use super::style;
use super::table::{Align, Cell, Table, paragraph, width};
use crate::evaluate::{Sheet, ToleranceRow};
use crate::machining::{FeatureCost, Plan};

/// Everything of it; nothing where there is no plan.
pub fn print(out: &mut dyn Write, sheet: &Sheet) -> io::Result<()> {
    if sheet.plan.operations.is_empty() {
        return Ok(());
    }
    cost(out, &sheet.plan, &sheet.currency)?;
    features(out, &sheet.features, &sheet.currency)?;
    tolerances(out, &sheet.tolerances)
}

fn cost(out: &mut dyn Write, plan: &Plan, currency: &str) -> io::Result<()> {
    let cost = &plan.cost;
    let mut table = Table::new(&[
        ("COST OF ONE PART", Align::Wrap),
        (currency, Align::Point),
        ("share", Align::Point),
    ]);
    for (name, value) in [
        ("stock, less chips sold", cost.stock),
        ("machine", cost.machine),
        ("labour", cost.labour),
        ("wear of tools", cost.tools),
        ("set-up, over the batch", cost.setup),
    ] {
        let share = format!("{:.1} %", 100.0 * value / cost.total);
        table.row([name.into(), format!("{value:.2}").into(), share.into()]);
    }
    table.row([
        Cell::styled("together", style::HEADING),
        Cell::styled(format!("{:.2}", cost.total), style::HEADING),
    ]);
    writeln!(out)?;
    table.print(out, width())?;
    let billet = &plan.billet;
    let words = format!(
        "Billet {} x {} x {} mm, {} g; {:.1} % of it turns to chips and offcuts. Prices and rates: \
         the catalogue's.",
        short((10.0 * billet.x_mm).round() / 10.0),
        short((10.0 * billet.y_mm).round() / 10.0),
        short((100.0 * billet.z_mm).round() / 100.0),
        figure(billet.mass_g),
        100.0 * billet.chips
    );
    paragraph(out, &words, 2, style::DIM)
}

/// The cheapest gram first.
fn features(out: &mut dyn Write, features: &[FeatureCost], currency: &str) -> io::Result<()> {
    let each = format!("{currency}/g");
    let mut table = Table::new(&[
        ("FEATURES, CHEAPEST GRAM FIRST", Align::Wrap),
        ("time s", Align::Point),
        (currency, Align::Point),
        ("removes g", Align::Point),
        ("s/g", Align::Point),
        (&each, Align::Point),
    ]);
    let per_gram = |value: Option<f64>, digits: usize| {
        value.map_or_else(String::new, |value| format!("{value:.digits$}"))
    };
    for feature in features {
        table.row([
            feature.feature.as_str().into(),
            format!("{:.1}", feature.time_s).into(),
            format!("{:.2}", feature.cost).into(),
            per_gram(feature.s_per_g.map(|_| feature.removed_g), 3).into(),
            per_gram(feature.s_per_g, 1).into(),
            per_gram(feature.cost_per_g, 2).into(),
        ]);
    }
    writeln!(out)?;
    table.print(out, width())
}

fn tolerances(out: &mut dyn Write, rows: &[ToleranceRow]) -> io::Result<()> {
    let mut table = Table::new(&[
        ("TOLERANCES OF THE PROCESS", Align::Wrap),
        ("mm", Align::Point),
        ("± mm", Align::Point),
        ("by", Align::Left),
    ]);
    let mut bases: Vec<&str> = Vec::new();
    for row in rows {
        let known = bases.iter().position(|basis| *basis == row.basis);
        let number = known.unwrap_or_else(|| {
            bases.push(&row.basis);
            bases.len() - 1
        });
        let size = if row.size_mm > 0.0 {
            short(row.size_mm)
        } else {
            String::new()
        };
        table.row([
            row.name.as_str().into(),
            size.into(),
            format!("{:.3}", row.plus_minus_mm).into(),
            (number + 1).to_string().into(),
        ]);
    }
    writeln!(out)?;
    table.print(out, width())?;
    for (index, basis) in bases.iter().enumerate() {
        paragraph(out, &format!("{}: {basis}", index + 1), 2, style::DIM)?;
    }
    Ok(())
}
