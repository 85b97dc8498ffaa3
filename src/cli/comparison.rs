//! Two runs compared, for a terminal and as JSON.

use std::io::{self, Write};

use serde_json::{Map, Value, json};

use super::number::{count, figure, short, unit};
use super::style;
use super::table::{Align, Cell, Table, paragraph, width};
use crate::run::{Comparison, Fate, Figure, Nearest, OldCandidate, RunFacts};

/// Prints what differs, what became of the earlier candidates, what moved and why.
pub fn print(out: &mut dyn Write, compared: &Comparison) -> io::Result<()> {
    let (before, after) = (&compared.before, &compared.after);
    let title = format!("{}: {} and {}", after.title, before.run, after.run);
    paragraph(out, &title, 0, style::HEADING)?;
    writeln!(out)?;
    conditions(out, compared)?;
    writeln!(out)?;
    fronts(out, compared)?;
    writeln!(out)?;
    fates(out, compared)?;
    moves(out, compared)?;
    for remark in &compared.remarks {
        paragraph(out, remark, 2, style::WARN)?;
    }
    Ok(())
}

fn conditions(out: &mut dyn Write, compared: &Comparison) -> io::Result<()> {
    let mut table = Table::new(&[
        ("WHAT DIFFERS", Align::Left),
        ("before", Align::Left),
        ("after", Align::Wrap),
    ]);
    for change in &compared.changes {
        if matches!(change.what.as_str(), "drills" | "end mills") {
            continue;
        }
        table.row([
            change.what.as_str().into(),
            change.from.as_str().into(),
            change.to.as_str().into(),
        ]);
    }
    for (what, from, to) in [
        ("drills", &compared.before.drills, &compared.after.drills),
        (
            "end mills",
            &compared.before.end_mills,
            &compared.after.end_mills,
        ),
    ] {
        if !compared.changes.iter().any(|change| change.what == what) {
            continue;
        }
        let (gone, come) = (lacking(from, to), lacking(to, from));
        match gone.is_empty() && come.is_empty() {
            true => table.row([what.into(), "".into(), "the same with other figures".into()]),
            false => {
                let words = [("gone", gone), ("added", come)];
                let words = words.into_iter().filter(|(_, sizes)| !sizes.is_empty());
                let words: Vec<String> = words
                    .map(|(way, sizes)| format!("{way}: {sizes}"))
                    .collect();
                table.row([what.into(), "".into(), words.join("; ").into()]);
            }
        }
    }
    if compared.changes.is_empty() {
        return paragraph(
            out,
            "Nothing differs between the two runs.",
            0,
            style::PLAIN,
        );
    }
    table.print(out, width())
}

/// Items of one list that another lacks.
fn lacking(all: &str, other: &str) -> String {
    let other: Vec<&str> = other.split(", ").collect();
    let lacks = |item: &&str| !item.is_empty() && !other.contains(item);
    let items: Vec<&str> = all.split(", ").filter(lacks).collect();
    items.join(", ")
}

fn fronts(out: &mut dyn Write, compared: &Comparison) -> io::Result<()> {
    let mut table = Table::new(&[
        ("FRONTS", Align::Left),
        ("", Align::Left),
        ("before", Align::Point),
        ("after", Align::Point),
    ]);
    let (before, after) = (&compared.before, &compared.after);
    let mut row = |name: &str, unit_of: &str, of: &dyn Fn(&RunFacts) -> String| {
        table.row([
            name.into(),
            Cell::styled(unit(unit_of), style::DIM),
            of(before).into(),
            of(after).into(),
        ]);
    };
    row("designs", "", &|run| count(run.designs));
    row("candidates", "", &|run| count(run.front.len()));
    row("share of the common box", "%", &|run| {
        format!("{:.1}", 100.0 * run.hypervolume_share)
    });
    for (at, goal) in compared.objectives.iter().enumerate() {
        let column = &compared.figures[goal.figure];
        let word = if goal.most { "greatest" } else { "least" };
        row(&format!("{word} {}", column.name), &column.unit, &|run| {
            let values = run.points.iter().map(|point| point[at]);
            figure(match goal.most {
                true => values.fold(f64::NAN, f64::max),
                false => values.fold(f64::NAN, f64::min),
            })
        });
    }
    table.print(out, width())
}

fn fates(out: &mut dyn Write, compared: &Comparison) -> io::Result<()> {
    let all = compared.candidates.len();
    let mut table = Table::new(&[
        ("EARLIER CANDIDATES", Align::Left),
        ("", Align::Right),
        ("under the later conditions", Align::Wrap),
    ]);
    let share = |part: usize| match all {
        0 => String::new(),
        all => format!("{:.1} %", 100.0 * part as f64 / all as f64),
    };
    let beaten = match compared.beaten_by_search() {
        0 => "fall off: a later candidate is better".into(),
        some => format!(
            "fall off: a later candidate is better; {} of them are beaten under the earlier conditions too, by designs \
             that only the later search came across",
            count(some)
        ),
    };
    for (fate, words) in [
        (
            Fate::Stays,
            "stay: no later candidate is better in every objective",
        ),
        (Fate::Beaten, beaten.as_str()),
        (Fate::Breaks, "fall off: a constraint is broken"),
        (Fate::NotMade, "can't be made any more"),
    ] {
        let found = compared.count(fate);
        table.row([share(found).into(), count(found).into(), words.into()]);
    }
    let overlooked = compared.overlooked();
    let newcomers = compared.newcomers.len();
    let words = match overlooked {
        0 => "new candidates".into(),
        some => format!(
            "new candidates; {} of them the earlier run would have kept, had its search come across them",
            count(some)
        ),
    };
    table.row(["".into(), count(newcomers).into(), words.into()]);
    let words = match (compared.baseline.fate, compared.baseline.why.as_str()) {
        (fate, "") => fate.words().to_string(),
        (fate, why) => format!("{}: {why}", fate.words()),
    };
    table.row(["baseline".into(), "".into(), words.into()]);
    table.print(out, width())
}

fn moves(out: &mut dyn Write, compared: &Comparison) -> io::Result<()> {
    let moved = compared.moved();
    if moved.is_empty() {
        writeln!(out)?;
        return paragraph(out, "No figure moved.", 0, style::PLAIN);
    }
    let counted = compared.moves.iter().map(|each| each.designs).max();
    let counted = counted.unwrap_or(0);
    let mut table = Table::new(&[
        ("WHAT MOVED", Align::Wrap),
        ("", Align::Left),
        ("median", Align::Right),
        ("change", Align::Right),
        ("10 %", Align::Right),
        ("90 %", Align::Right),
        ("baseline", Align::Right),
    ]);
    let base = &compared.baseline;
    for &at in &moved {
        let each = &compared.moves[at];
        table.cells(vec![
            name(&compared.figures[at]),
            of_unit(&compared.figures[at]),
            figure(each.before).into(),
            signed(each.change, each.before).into(),
            signed(each.spread.0, each.before).into(),
            signed(each.spread.1, each.before).into(),
            signed(base.after[at] - base.before[at], base.before[at]).into(),
        ]);
    }
    writeln!(out)?;
    table.print(out, width())?;
    let still = compared.figures.len() - moved.len();
    let text = format!(
        "Median of {} earlier candidates, its change under the later conditions, what a tenth of the changes lie below and \
         above, and the baseline's change. {still} other figures did not move.",
        count(counted)
    );
    paragraph(out, &text, 2, style::DIM)?;
    match compared.causes.as_slice() {
        [] => Ok(()),
        [one] => paragraph(
            out,
            &format!("All of it comes of the {one}."),
            2,
            style::PLAIN,
        ),
        _ => {
            why(out, compared, &moved, "WHY, MEDIAN", &|at| {
                let each = &compared.moves[at];
                (each.before, each.change, &each.shares)
            })?;
            why(out, compared, &moved, "WHY, BASELINE", &|at| {
                let change = base.after[at] - base.before[at];
                (base.before[at], change, &base.shares[at])
            })?;
            let text = "Shares of a change are averaged over every order in which the causes may come, so they add up \
                        in every design; medians of them need not.";
            paragraph(out, text, 2, style::DIM)
        }
    }
}

/// Size, change and shares of a figure.
type Split<'a> = dyn Fn(usize) -> (f64, f64, &'a Vec<f64>) + 'a;

fn why<'a>(
    out: &mut dyn Write,
    compared: &'a Comparison,
    moved: &[usize],
    head: &str,
    split: &Split<'a>,
) -> io::Result<()> {
    if moved.iter().all(|&at| !split(at).1.is_finite()) {
        return Ok(());
    }
    let mut columns = vec![
        (head, Align::Wrap),
        ("", Align::Left),
        ("change", Align::Point),
    ];
    columns.extend(
        compared
            .causes
            .iter()
            .map(|cause| (cause.as_str(), Align::Point)),
    );
    let mut table = Table::new(&columns);
    for &at in moved {
        let (size, change, shares) = split(at);
        let mut cells = vec![
            name(&compared.figures[at]),
            of_unit(&compared.figures[at]),
            signed(change, size).into(),
        ];
        cells.extend(shares.iter().map(|share| Cell::from(signed(*share, size))));
        table.cells(cells);
    }
    writeln!(out)?;
    table.print(out, width())
}

fn name(column: &Figure) -> Cell {
    Cell::from(column.name.as_str())
}

fn of_unit(column: &Figure) -> Cell {
    Cell::styled(unit(&column.unit), style::DIM)
}

/// A change with its sign, three digits: `+0.84`, `-12.4`, `-3.7e-4`; `0` where there is none to speak of beside the
/// figure's size.
fn signed(value: f64, size: f64) -> String {
    if !value.is_finite() {
        return "-".into();
    }
    if value.abs() <= ROUNDING * size.abs() {
        return "0".into();
    }
    if value.abs() < 1e-3 {
        return format!("{value:+.2e}");
    }
    let digits = 2 - value.abs().log10().floor() as i32;
    let scale = 10_f64.powi(digits);
    let text = short((value * scale).round() / scale);
    if value > 0.0 {
        format!("+{text}")
    } else {
        text
    }
}

/// Share of a figure below which a change is rounding.
const ROUNDING: f64 = 1e-9;

/// The comparison as one JSON object. What is infinite or unknown is `null`.
///
/// `before`, `after`: the runs (`run`, `tool`, `material`, `machine`, `drills`, `end_mills`, `designs`, `candidates`,
/// `hypervolume_share`); `changes`; `causes`; `counts` of fates; `figures`: unit, median before, change, spread and
/// shares by cause over the earlier candidates, and the baseline's; `candidates`: each earlier one with its variables,
/// fate, nearest later candidate, figures before and after, shares by cause; `newcomers`; `remarks`.
pub fn json(compared: &Comparison) -> Value {
    let figures = compared.figures.iter().enumerate().map(|(at, column)| {
        let (each, base) = (&compared.moves[at], &compared.baseline);
        let value = json!({
            "unit": column.unit,
            "median_before": each.before,
            "median_change": each.change,
            "change_10_percent": each.spread.0,
            "change_90_percent": each.spread.1,
            "median_shares": by_cause(compared, &each.shares),
            "candidates": each.designs,
            "baseline": {
                "before": base.before[at],
                "after": base.after[at],
                "shares": by_cause(compared, &base.shares[at]),
            },
        });
        (column.name.clone(), value)
    });
    json!({
        "before": run(&compared.before),
        "after": run(&compared.after),
        "changes": compared.changes,
        "causes": compared.causes,
        "counts": {
            "stay": compared.count(Fate::Stays),
            "beaten": compared.count(Fate::Beaten),
            "break_a_constraint": compared.count(Fate::Breaks),
            "cannot_be_made": compared.count(Fate::NotMade),
            "beaten_before_too": compared.beaten_by_search(),
            "new": compared.newcomers.len(),
            "new_but_overlooked_before": compared.overlooked(),
        },
        "figures": figures.collect::<Map<_, _>>(),
        "baseline": candidate(compared, &compared.baseline),
        "candidates": compared.candidates.iter().map(|each| candidate(compared, each)).collect::<Vec<_>>(),
        "newcomers": compared.newcomers.iter().map(|each| json!({
            "design": each.design,
            "variables": named(&compared.variables, &each.variables),
            "fate_before": each.fate_before.words(),
            "why": each.why,
            "nearest": each.nearest.map(nearest),
        })).collect::<Vec<_>>(),
        "remarks": compared.remarks,
    })
}

fn run(facts: &RunFacts) -> Value {
    json!({
        "run": facts.run,
        "title": facts.title,
        "tool": facts.tool,
        "material": facts.material,
        "machine": facts.machine,
        "drills": facts.drills,
        "end_mills": facts.end_mills,
        "designs": facts.designs,
        "candidates": facts.front.len(),
        "hypervolume_share": facts.hypervolume_share,
    })
}

fn candidate(compared: &Comparison, each: &OldCandidate) -> Value {
    let shares = compared
        .figures
        .iter()
        .zip(&each.shares)
        .map(|(column, shares)| (column.name.clone(), by_cause(compared, shares)));
    json!({
        "design": each.design,
        "variables": named(&compared.variables, &each.variables),
        "fate": each.fate.words(),
        "why": each.why,
        "beaten_before_too": each.by_search,
        "nearest": each.nearest.map(nearest),
        "before": named(&compared.figures, &each.before),
        "after": named(&compared.figures, &each.after),
        "shares": shares.collect::<Map<_, _>>(),
    })
}

fn nearest(nearest: Nearest) -> Value {
    json!({ "design": nearest.design, "distance": nearest.distance })
}

fn by_cause(compared: &Comparison, shares: &[f64]) -> Value {
    let pairs = compared.causes.iter().zip(shares);
    let pairs = pairs.map(|(cause, share)| (cause.clone(), json!(share)));
    Value::Object(pairs.collect())
}

fn named(columns: &[Figure], values: &[f64]) -> Value {
    let pairs = columns.iter().zip(values);
    let pairs = pairs.map(|(column, value)| (column.name.clone(), json!(value)));
    Value::Object(pairs.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_carry_their_sign() {
        for (value, text) in [
            (0.8412, "+0.841"),
            (-12.44, "-12.4"),
            (1234.0, "+1230"),
            (0.0, "0"),
            (-0.000_369_2, "-3.69e-4"),
            (1e-12, "0"),
            (f64::NAN, "-"),
        ] {
            assert_eq!(signed(value, 20.0), text);
        }
    }

    #[test]
    fn lists_say_what_they_lack() {
        assert_eq!(lacking("2 mm, 3 mm", "3 mm, 4 mm"), "2 mm");
        assert_eq!(lacking("", "3 mm"), "");
    }
}
