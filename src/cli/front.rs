//! The front as a small plot of letters, for a terminal.

use std::io::{self, Write};

use super::number::{brief, unit};
use super::style;
use super::table::{clean, width};
use crate::review::{landmarks, ticks};
use crate::run::{Finished, Goal};

/// Size of the plot, in letters: across (at 80 columns) and up.
const ACROSS: usize = 60;
const UP: usize = 15;
/// Letters of the figures at the upright axis.
const FIGURES: usize = 9;

/// Dots of a braille letter across and up; its first code, and the bit of each dot (Unicode, block 2800).
const DOTS: (usize, usize) = (2, 4);
const BRAILLE: u32 = 0x2800;
const BITS: [[u32; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];

/// What stands in a place of the plot.
#[derive(Clone, Copy, PartialEq)]
enum Mark {
    Baseline,
    Knee,
}

/// Prints the front over its first two objectives, baseline and knee marked; nothing without a front or with one
/// objective. `fine` draws with braille letters, else plain ones do.
pub fn print(out: &mut dyn Write, run: &Finished, fine: bool) -> io::Result<()> {
    let [x, y, rest @ ..] = &run.goals[..] else {
        return Ok(());
    };
    let front = places(run, x, y, &run.front);
    if front.is_empty() || run.designs.is_empty() {
        return Ok(());
    }
    let baseline = places(run, x, y, &[0]);
    let knee: Vec<usize> = (landmarks(run, run.goals.len() + 1).into_iter())
        .filter(|mark| mark.knee)
        .map(|mark| mark.design)
        .collect();
    let all = || front.iter().chain(&baseline).copied();
    let (across, up) = (ACROSS + width() - 80, UP);
    let plot = Plot {
        x: Axis::over(all().map(|point| point.0), across),
        y: Axis::over(all().map(|point| point.1), up),
    };
    let mut marks: Vec<(usize, usize, Mark)> = Vec::new();
    for point in &baseline {
        marks.push((plot.x.cell(point.0), plot.y.cell(point.1), Mark::Baseline));
    }
    for point in places(run, x, y, &knee) {
        marks.push((plot.x.cell(point.0), plot.y.cell(point.1), Mark::Knee));
    }
    let bold = style::HEADING;
    let heading = format!("FRONT  {} over {}", words(run, y), words(run, x));
    let heading: String = heading.chars().take(width()).collect();
    let (head, tail) = heading.split_at("FRONT".len());
    writeln!(out, "\n{bold}{head}{bold:#}{tail}")?;
    plot.print(out, &front, &marks, fine)?;
    legend(out, run, rest, &knee, fine)
}

/// Places of designs in the plane of two objectives; those that are not finite are left out.
fn places(run: &Finished, x: &Goal, y: &Goal, designs: &[usize]) -> Vec<(f64, f64)> {
    let place = |&design: &usize| {
        let row = run.designs.row(design);
        let at = (*row.get(x.column)?, *row.get(y.column)?);
        (at.0.is_finite() && at.1.is_finite()).then_some(at)
    };
    designs.iter().filter_map(place).collect()
}

/// `mass in g, less is better`.
fn words(run: &Finished, goal: &Goal) -> String {
    let column = run.columns.get(goal.column);
    let name = column.map_or("", |column| &column.name);
    let of = column.map_or("", |column| &column.unit);
    let name: String = clean(name).chars().take(24).collect();
    let arrow = if goal.most { "↑" } else { "↓" };
    match of {
        "" => format!("{name} {arrow}"),
        of => format!("{name} {arrow} in {}", clean(&unit(of))),
    }
}

/// An axis with its bounds and so many letters.
struct Axis {
    low: f64,
    high: f64,
    letters: usize,
}

impl Axis {
    fn over(values: impl Iterator<Item = f64>, letters: usize) -> Axis {
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        let room = match high > low {
            true => 0.02 * (high - low),
            false => 0.1 * low.abs().max(1.0),
        };
        Axis {
            low: low - room,
            high: high + room,
            letters,
        }
    }

    /// The step of `steps` that a value falls into.
    fn step(&self, value: f64, steps: usize) -> usize {
        let share = (value - self.low) / (self.high - self.low);
        ((share * steps as f64) as usize).min(steps - 1)
    }

    fn cell(&self, value: f64) -> usize {
        self.step(value, self.letters)
    }
}

struct Plot {
    x: Axis,
    y: Axis,
}

impl Plot {
    fn print(
        &self,
        out: &mut dyn Write,
        front: &[(f64, f64)],
        marks: &[(usize, usize, Mark)],
        fine: bool,
    ) -> io::Result<()> {
        let (across, up) = (self.x.letters, self.y.letters);
        let mut dots = vec![vec![0u32; across]; up];
        for &(x, y) in front {
            let column = self.x.step(x, DOTS.0 * across);
            let row = self.y.step(y, DOTS.1 * up);
            // Rows are counted from below, the dots of a letter from above.
            let bit = BITS[column % DOTS.0][DOTS.1 - 1 - row % DOTS.1];
            dots[row / DOTS.1][column / DOTS.0] |= bit;
        }
        let dim = style::DIM;
        let (wall, foot, tick) = match fine {
            true => ('┤', '─', '┴'),
            false => ('|', '-', '+'),
        };
        let figures: Vec<(usize, String)> = (ticks(self.y.low, self.y.high, 4).into_iter())
            .map(|value| (self.y.cell(value), brief(value)))
            .collect();
        for row in (0..up).rev() {
            let figure = figures.iter().find(|(cell, _)| *cell == row);
            let figure = figure.map_or("", |(_, figure)| figure.as_str());
            let side = match (fine, figure.is_empty()) {
                (true, true) => '│',
                _ => wall,
            };
            write!(out, "{dim}{figure:>FIGURES$} {side}{dim:#}")?;
            let mut line = String::new();
            for column in 0..across {
                let here = |(x, y, _): &&(usize, usize, Mark)| (*x, *y) == (column, row);
                line += &match marks.iter().find(here) {
                    Some((.., mark)) => marked(*mark, fine),
                    None => letter(dots[row][column], fine).to_string(),
                };
            }
            writeln!(out, "{}", line.trim_end())?;
        }
        let mut base: Vec<char> = vec![foot; across];
        let mut below: Vec<char> = vec![' '; across + FIGURES];
        let mut free = 0;
        for value in ticks(self.x.low, self.x.high, 5) {
            let (cell, figure) = (self.x.cell(value), brief(value));
            base[cell] = tick;
            let long = figure.chars().count();
            let from = cell.saturating_sub(long / 2);
            if from >= free && from + long <= below.len() {
                below.splice(from..from + long, figure.chars());
                free = from + long + 1;
            }
        }
        let corner = if fine { '└' } else { '+' };
        let base: String = base.into_iter().collect();
        let below: String = below.into_iter().collect();
        writeln!(out, "{dim}{:FIGURES$} {corner}{base}{dim:#}", "")?;
        writeln!(out, "{dim}{:FIGURES$}  {}{dim:#}", "", below.trim_end())
    }
}

/// A letter with these dots set.
fn letter(dots: u32, fine: bool) -> char {
    match (dots.count_ones(), fine) {
        (0, _) => ' ',
        (_, true) => char::from_u32(BRAILLE + dots).unwrap_or('.'),
        (1, false) => '.',
        (2 | 3, false) => ':',
        (_, false) => '*',
    }
}

fn marked(mark: Mark, fine: bool) -> String {
    let (letter, style) = match (mark, fine) {
        (Mark::Baseline, true) => ('◆', style::WARN),
        (Mark::Baseline, false) => ('B', style::WARN),
        (Mark::Knee, true) => ('○', style::HEADING),
        (Mark::Knee, false) => ('K', style::HEADING),
    };
    format!("{style}{letter}{style:#}")
}

fn legend(
    out: &mut dyn Write,
    run: &Finished,
    rest: &[Goal],
    knee: &[usize],
    fine: bool,
) -> io::Result<()> {
    let mut items = vec![format!("{} baseline", marked(Mark::Baseline, fine))];
    for design in knee {
        items.push(format!("{} knee, #{design}", marked(Mark::Knee, fine)));
    }
    if !rest.is_empty() {
        let names: Vec<String> = rest.iter().map(|goal| words(run, goal)).collect();
        items.push(format!("not shown: {}", names.join(", ")));
    }
    writeln!(out, "{:FIGURES$}  {}", "", items.join("   "))
}

/// Whether the terminal's letters are Unicode: what the locale says (POSIX, LC_ALL before LC_CTYPE before LANG).
pub fn fine() -> bool {
    let set = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(set);
    locale.map_or(cfg!(windows), |locale| {
        let locale = locale.to_ascii_lowercase();
        locale.contains("utf-8") || locale.contains("utf8")
    })
}

#[cfg(test)]
mod tests {
    use super::super::samples;
    use super::*;

    fn printed(run: &Finished, fine: bool) -> String {
        let mut out = anstream::StripStream::new(Vec::new());
        print(&mut out, run, fine).unwrap();
        String::from_utf8(out.into_inner()).unwrap()
    }

    #[test]
    fn the_front_fits_a_terminal_and_marks_the_baseline() {
        for (fine, baseline, knee) in [(true, '◆', '○'), (false, 'B', 'K')] {
            let text = printed(&samples::finished(), fine);
            assert!(
                text.lines().all(|line| line.chars().count() <= 80),
                "{text}"
            );
            // Once in the plot and once in its key.
            assert_eq!(text.matches(baseline).count(), 2, "{text}");
            assert!(text.matches(knee).count() >= 2, "{text}");
            assert!(text.lines().count() >= UP + 4, "{text}");
        }
        let plain = printed(&samples::finished(), false);
        let plot: Vec<&str> = plain.lines().skip(2).take(UP + 1).collect();
        assert!(plot.concat().is_ascii(), "{plain}");
    }

    #[test]
    fn dots_stand_where_the_values_are() {
        // Unicode block 2800: dot 7 is the lowest on the left (0x40), dot 4 the highest on the right (0x08).
        let axis = |letters| Axis {
            low: 0.0,
            high: 1.0,
            letters,
        };
        let plot = Plot {
            x: axis(2),
            y: axis(1),
        };
        let mut out = anstream::StripStream::new(Vec::new());
        plot.print(&mut out, &[(0.0, 0.0), (1.0, 1.0)], &[], true)
            .unwrap();
        let text = String::from_utf8(out.into_inner()).unwrap();
        assert!(text.lines().next().unwrap().ends_with("⡀⠈"), "{text}");
    }

    #[test]
    fn without_a_front_there_is_no_plot() {
        let mut run = samples::finished();
        run.front.clear();
        assert_eq!(printed(&run, true), "");
        let mut run = samples::finished();
        run.goals.truncate(1);
        assert_eq!(printed(&run, true), "");
    }
}
