//! What a run says when it is over.

use std::io::{self, Write};
use std::path::Path;

use super::front;
use super::number::{brief, count, duration, figure, unit};
use super::scatter::percent;
use super::style;
use super::table::{Align, Cell, Table, list, paragraph, width};
use crate::analyse;
use crate::run::{Finished, Role, Scatter, Shard};
use crate::store::Manifest;

/// Candidates that stand beside the baseline.
const PICKS: usize = 5;

/// Prints how a run ended, where it lies, and a few candidates that stand for its front.
///
/// `also` names columns that stand beside the objectives, where there are such.
pub fn print(
    out: &mut dyn Write,
    run: &Finished,
    folder: &Path,
    seconds: f64,
    also: &[String],
) -> io::Result<()> {
    paragraph(out, &run.title, 0, style::HEADING)?;
    let designs = run.designs.len();
    let feasible = run.designs.feasible();
    let mut table = Table::new(&[("RUN", Align::Left), ("", Align::Right), ("", Align::Wrap)]);
    table.row([
        "designs".into(),
        count(designs).into(),
        run.ending.as_str().into(),
    ]);
    table.row([
        "feasible".into(),
        count(feasible).into(),
        share(feasible, designs).into(),
    ]);
    table.row([
        "front".into(),
        count(run.front.len()).into(),
        better(run).into(),
    ]);
    table.row([
        "time".into(),
        duration(seconds).into(),
        rate(designs, seconds).into(),
    ]);
    writeln!(out)?;
    table.print(out, width())?;
    law(out, run)?;
    if let Some(shortfall) = &run.shortfall {
        writeln!(out)?;
        let heading = "NO DESIGN MEETS EVERY CONSTRAINT";
        list(out, heading, &shortfall.lines(), style::PLAIN)?;
    }
    let judged = robust(run);
    if !judged.is_empty() {
        writeln!(out)?;
        list(out, "AS PARTS COME OUT", &judged, style::PLAIN)?;
    }
    front::print(out, run, front::fine())?;
    picks(out, run, also)?;
    let bold = style::HEADING;
    writeln!(out, "\n{bold}FILES{bold:#}")?;
    writeln!(out, "  folder  {}", folder.display())?;
    writeln!(out, "  page    {}", folder.join("review.html").display())
}

/// Prints how a shard ended and what comes next.
pub fn print_shard(
    out: &mut dyn Write,
    shard: Shard,
    manifest: &Manifest,
    folder: &Path,
) -> io::Result<()> {
    let Shard { number, of } = shard;
    let text = format!(
        "shard {number} of {of}: {} designs, {} of them feasible, in {} ({})",
        count(manifest.designs),
        count(manifest.feasible),
        duration(manifest.seconds),
        rate(manifest.designs, manifest.seconds)
    );
    paragraph(out, &text, 0, style::HEADING)?;
    writeln!(out, "  folder  {}", folder.display())?;
    writeln!(
        out,
        "  then    fretwork gather, with the folders of all {of} shards"
    )
}

/// How good the law is that the figures rest on.
fn law(out: &mut dyn Write, run: &Finished) -> io::Result<()> {
    if !run.law.is_empty() {
        let mut table = Table::new(&[
            ("SOLIDS", Align::Left),
            ("solid/beam", Align::Right),
            ("off, space", Align::Right),
            ("worst", Align::Right),
            ("off, front", Align::Right),
            ("worst", Align::Right),
        ]);
        let percent = |value: f64| match value.is_finite() {
            true => Cell::from(format!("{value:.2} %")),
            false => Cell::from(""),
        };
        for row in &run.law {
            table.row([
                row.name.as_str().into(),
                format!("{:.3}", row.ratio).into(),
                percent(row.space_percent.0),
                percent(row.space_percent.1),
                percent(row.front_percent.0),
                percent(row.front_percent.1),
            ]);
        }
        writeln!(out)?;
        table.print(out, width())?;
        let designs = run
            .law
            .first()
            .map_or((0, 0), |row| (row.space_designs, row.front_designs));
        let text = format!(
            "Figures are the beam's times a law learnt from solids. Off: root mean square on {} designs \
             of the space left out of its fit, and on {} of a front it had not seen.",
            designs.0, designs.1
        );
        paragraph(out, &text, 2, style::DIM)?;
    }
    for remark in &run.remarks {
        paragraph(out, remark, 2, style::WARN)?;
    }
    Ok(())
}

/// What many copies say of the chances and quantiles that the search took from few.
fn robust(run: &Finished) -> Vec<String> {
    let all: Vec<&Scatter> = run
        .told
        .iter()
        .filter_map(|told| told.scatter.as_ref())
        .collect();
    let Some(first) = all.first() else {
        return Vec::new();
    };
    let mut lines = Vec::new();
    if let Some(asked) = first.asked {
        let hold = all.iter().filter(|found| found.all.share >= asked).count();
        let least = all.iter().map(|found| found.all.share).fold(1.0, f64::min);
        lines.push(format!(
            "chance of meeting all, {} asked for: {} of {} candidates hold it over {} copies, the least sure has {}",
            percent(asked),
            count(hold),
            count(all.len()),
            count(first.samples),
            percent(least)
        ));
    }
    for (index, row) in first.figures.iter().enumerate() {
        let Some(asked) = row.asked else { continue };
        let off = all
            .iter()
            .filter_map(|found| found.figures.get(index)?.asked);
        let off = off.map(|each| ((each.searched - each.sampled) / each.sampled).abs());
        lines.push(format!(
            "{} for {}: what the search took from few copies is off by {:.2} % at most",
            row.name,
            percent(asked.share),
            100.0 * off.fold(0.0, f64::max)
        ));
    }
    lines
}

fn share(part: usize, all: usize) -> String {
    if all == 0 {
        String::new()
    } else {
        format!("{:.1} % of them", part as f64 / all as f64 * 100.0)
    }
}

fn rate(designs: usize, seconds: f64) -> String {
    if seconds > 0.0 {
        format!(
            "{} designs a second",
            count((designs as f64 / seconds) as usize)
        )
    } else {
        String::new()
    }
}

/// Objectives of a design, less is better.
fn objectives(run: &Finished, design: usize) -> Vec<f64> {
    let row = run.designs.row(design);
    run.goals
        .iter()
        .map(|goal| {
            if goal.most {
                -row[goal.column]
            } else {
                row[goal.column]
            }
        })
        .collect()
}

/// How many candidates beat today's revision in every objective.
fn better(run: &Finished) -> String {
    if run.designs.is_empty() || run.front.is_empty() {
        return "no design meets every constraint".into();
    }
    let rows: Vec<Vec<f64>> = run
        .front
        .iter()
        .map(|design| objectives(run, *design))
        .collect();
    match analyse::beats(&rows, &objectives(run, 0)).len() {
        0 => "none better than the baseline in all objectives".into(),
        1 => "1 better than the baseline in all objectives".into(),
        some => format!("{} better than the baseline in all objectives", count(some)),
    }
}

/// A table of a few candidates: a row an objective or variable, the baseline first.
fn picks(out: &mut dyn Write, run: &Finished, also: &[String]) -> io::Result<()> {
    if run.front.is_empty() || run.designs.is_empty() {
        return Ok(());
    }
    let rows: Vec<Vec<f64>> = run
        .front
        .iter()
        .map(|design| objectives(run, *design))
        .collect();
    let chosen: Vec<usize> = analyse::spread(&rows, PICKS)
        .into_iter()
        .map(|index| run.front[index])
        .collect();
    let names: Vec<String> = chosen.iter().map(|design| format!("#{design}")).collect();
    let mut columns = vec![
        ("CANDIDATES", Align::Wrap),
        ("", Align::Left),
        ("baseline", Align::Point),
    ];
    columns.extend(names.iter().map(|name| (name.as_str(), Align::Point)));
    let mut table = Table::new(&columns);
    let is_goal = |column: usize| run.goals.iter().any(|goal| goal.column == column);
    let mut shown: Vec<(usize, &str)> = run
        .goals
        .iter()
        .map(|goal| (goal.column, if goal.most { " ↑" } else { " ↓" }))
        .collect();
    let beside = run.columns.iter().enumerate();
    let beside = beside.filter(|(_, column)| also.contains(&column.name));
    shown.extend(
        beside
            .filter(|(index, _)| !is_goal(*index))
            .map(|(index, _)| (index, "")),
    );
    let variables = run
        .columns
        .iter()
        .enumerate()
        .filter(|(_, column)| column.role == Role::Variable);
    shown.extend(
        variables
            .filter(|(index, _)| !is_goal(*index))
            .map(|(index, _)| (index, "")),
    );
    for (index, arrow) in shown {
        let column = &run.columns[index];
        let text = if column.role == Role::Variable {
            brief
        } else {
            figure
        };
        let mut cells = vec![
            Cell::from(format!("{}{arrow}", column.name)),
            Cell::styled(unit(&column.unit), style::DIM),
            Cell::styled(text(run.designs.row(0)[index]), style::DIM),
        ];
        cells.extend(
            chosen
                .iter()
                .map(|design| Cell::from(text(run.designs.row(*design)[index]))),
        );
        table.cells(cells);
    }
    writeln!(out)?;
    table.print(out, width())
}

#[cfg(test)]
mod tests {
    use super::super::samples;
    use super::*;
    use crate::cli::table::WIDTH;
    use crate::run::{Killer, Shortfall, ToPass};

    fn printed(run: &Finished) -> String {
        let mut out = anstream::StripStream::new(Vec::new());
        print(&mut out, run, Path::new("results/yaw-ring-001"), 0.5, &[]).unwrap();
        String::from_utf8(out.into_inner()).unwrap()
    }

    #[test]
    fn a_run_says_what_came_of_it() {
        let text = printed(&samples::finished());
        assert!(
            text.lines().all(|line| line.chars().count() <= WIDTH),
            "{text}"
        );
        for words in [
            "all 8 evaluations used",
            "16 designs a second",
            "87.5 % of them",
            "2 better than the baseline in all objectives",
            "results/yaw-ring-001/review.html",
        ] {
            assert!(text.contains(words), "{words} is not in\n{text}");
        }
        // Least mass and greatest stiffness are among the five.
        let heads = text
            .lines()
            .find(|line| line.starts_with("CANDIDATES"))
            .unwrap();
        assert!(heads.contains("#1 ") && heads.contains("#6"), "{heads}");
        assert_eq!(heads.matches('#').count(), PICKS);
    }

    #[test]
    fn a_run_without_a_front_says_so() {
        let mut run = samples::finished();
        run.front.clear();
        assert!(printed(&run).contains("no design meets every constraint"));
        let to_pass = ToPass {
            name: "stiff".into(),
            text: "tilt.stiffness >= 900 N/mm".into(),
            limit: 900.0,
            needed: 667.4,
            unit: "N/mm".into(),
        };
        run.shortfall = Some(Shortfall {
            designs: 8,
            unmade: 1,
            otherwise: 1,
            asks: false,
            killers: vec![Killer {
                name: "stiff".into(),
                text: "tilt.stiffness >= 900 N/mm".into(),
                breaks: 6,
                alone: 4,
                nearest: Some((3, to_pass.clone())),
            }],
            nearest: 3,
            moves: vec![to_pass],
            obstacles: vec!["ligament 0.100 mm: between two holes".into()],
        });
        let text = printed(&run);
        assert!(
            text.lines().all(|line| line.chars().count() <= WIDTH),
            "{text}"
        );
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in [
            "stiff (tilt.stiffness >= 900 N/mm): broken by 6 designs (75 %), alone by 4; design 3 would pass with 667.4 \
             N/mm instead of 900",
            "1 of 8 designs can't be made or solved",
            "1 of 8 designs meet every constraint as drawn",
            "design 3 comes nearest; what stands in its way: stiff would have to move to 667.4 N/mm instead of 900; \
             ligament 0.100 mm",
        ] {
            assert!(flat.contains(words), "{words} is not in\n{flat}");
        }
    }
}
