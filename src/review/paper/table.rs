//! Tables on paper: columns as wide as they need, decimal points under each other, the head again on every page.

use super::flow::Flow;
use crate::drawing::leaf::{FINE, Hand, Ink, Leaf, TABLE};

/// How the cells of a column stand under each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Align {
    /// Begin alike; cut where there is no room.
    Left,
    /// Decimal points under each other.
    Point,
    /// Begin alike, and go on below where the line is full; takes the room that is left.
    Wrap,
    /// A bar of a fixed width in mm.
    Bar(f64),
}

/// A cell.
#[derive(Clone, Debug)]
pub(super) enum Cell {
    Text(String),
    Strong(String),
    Quiet(String),
    Warm(String),
    /// A bar from the left, as a share of the column.
    Bar(f64),
    /// A bar from the middle, to the right where positive: blue; to the left where negative: warm.
    Margin(f64),
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Cell {
        Cell::Text(text.into())
    }
}

impl Cell {
    fn text(&self) -> &str {
        match self {
            Cell::Text(text) | Cell::Strong(text) | Cell::Quiet(text) | Cell::Warm(text) => text,
            _ => "",
        }
    }

    fn hand(&self, letters: Hand) -> Hand {
        match self {
            Cell::Strong(_) => letters.bold(),
            Cell::Quiet(_) => letters.ink(Ink::Quiet),
            Cell::Warm(_) => letters.bold().ink(Ink::Warm),
            _ => letters,
        }
    }
}

/// A table.
pub(super) struct Table {
    columns: Vec<(String, Align)>,
    rows: Vec<Vec<Cell>>,
    /// Letters, and from line to line in mm.
    letters: Hand,
    line: f64,
}

/// From line to line as a multiple of the letters' size; around a row and between two columns, in mm.
const LINES: f64 = 1.35;
const ROW: f64 = 0.7;
const GAP: f64 = 2.6;
/// Lines of a cell, at most.
const MOST_LINES: usize = 6;
/// A column that gives way keeps so much, in mm.
const LEAST: f64 = 13.0;

impl Table {
    pub(super) fn new(columns: &[(&str, Align)]) -> Table {
        let own = |(head, align): &(&str, Align)| (head.to_string(), *align);
        Table {
            columns: columns.iter().map(own).collect(),
            rows: Vec::new(),
            letters: TABLE,
            line: LINES * TABLE.size,
        }
    }

    /// A table in small letters, for the many figures of a design.
    pub(super) fn small(columns: &[(&str, Align)]) -> Table {
        Table {
            letters: FINE,
            line: LINES * FINE.size,
            ..Table::new(columns)
        }
    }

    pub(super) fn row(&mut self, mut cells: Vec<Cell>) {
        cells.resize(self.columns.len(), Cell::from(""));
        self.rows.push(cells);
    }

    /// Lays it out into a flow, over as many columns and pages as it takes.
    pub(super) fn draw(&self, flow: &mut Flow) {
        let tails = self.tails();
        let widths = self.widths(&tails, flow.width());
        let heights: Vec<f64> = self
            .rows
            .iter()
            .map(|row| self.height(row, &widths))
            .collect();
        let head = self.head_height();
        for (index, row) in self.rows.iter().enumerate() {
            let with_head = index == 0 || flow.room() < heights[index];
            if with_head {
                // The head and two rows stay together.
                let ahead: f64 = heights[index..].iter().take(2).sum();
                flow.need(head + ahead);
                let (x, y) = flow.place();
                self.draw_head(flow.leaf(), (x, y), &widths);
                flow.down(head);
            }
            let (x, y) = flow.place();
            self.draw_row(flow.leaf(), row, (x, y), &widths, &tails);
            let line = y + heights[index];
            let right = x + widths.iter().sum::<f64>() + GAP * (widths.len() - 1) as f64;
            flow.leaf().line((x, line), (right, line), 0.1, Ink::Rule);
            flow.down(heights[index]);
        }
        flow.down(3.0);
    }

    /// Width of what stands behind the point, the widest of each column.
    fn tails(&self) -> Vec<f64> {
        let tail = |cell: &Cell| cell.hand(self.letters).width(split(cell.text()).1);
        let widest = |column: usize| {
            let cells = self.rows.iter().map(|row| tail(&row[column]));
            cells.fold(0.0, f64::max)
        };
        (0..self.columns.len()).map(widest).collect()
    }

    fn widths(&self, tails: &[f64], room: f64) -> Vec<f64> {
        let room = room - GAP * (self.columns.len() as f64 - 1.0);
        let natural = |column: usize| {
            let (head, align) = &self.columns[column];
            if let Align::Bar(width) = align {
                return *width;
            }
            let own = |row: &Vec<Cell>| match align {
                Align::Point => {
                    row[column]
                        .hand(self.letters)
                        .width(split(row[column].text()).0)
                        + tails[column]
                }
                _ => row[column].hand(self.letters).width(row[column].text()),
            };
            let cells = self.rows.iter().map(own).fold(0.0, f64::max);
            let hand = self.letters.bold();
            let head = head.split('\n').map(|line| hand.width(line));
            head.fold(cells, f64::max) + 0.05
        };
        let mut widths: Vec<f64> = (0..self.columns.len()).map(natural).collect();
        let over = |widths: &[f64]| widths.iter().sum::<f64>() - room;
        let wraps = self
            .columns
            .iter()
            .position(|(_, align)| *align == Align::Wrap);
        if let Some(wraps) = wraps {
            widths[wraps] = (widths[wraps] - over(&widths)).max(LEAST.min(widths[wraps]));
        }
        // What is too wide gives way, the widest column first.
        while over(&widths) > 0.01 {
            let gives = (0..widths.len()).max_by(|&a, &b| widths[a].total_cmp(&widths[b]));
            let Some(widest) = gives.filter(|&column| widths[column] > 4.0) else {
                break;
            };
            let second = (0..widths.len())
                .filter(|&c| c != widest)
                .map(|c| widths[c])
                .fold(4.0, f64::max);
            let step = (widths[widest] - second)
                .max(1.0)
                .min(over(&widths))
                .max(0.1);
            widths[widest] -= step;
        }
        widths
    }

    fn lines(&self, cell: &Cell, column: usize, widths: &[f64]) -> Vec<String> {
        match self.columns[column].1 {
            Align::Wrap => cell
                .hand(self.letters)
                .wrapped(cell.text(), widths[column], MOST_LINES),
            _ => vec![cell.hand(self.letters).cut(cell.text(), widths[column])],
        }
    }

    fn height(&self, row: &[Cell], widths: &[f64]) -> f64 {
        let lines = |(column, cell): (usize, &Cell)| self.lines(cell, column, widths).len();
        let most = row.iter().enumerate().map(lines).max().unwrap_or(1).max(1);
        self.line * most as f64 + ROW
    }

    fn head_lines(&self) -> usize {
        let lines = self
            .columns
            .iter()
            .map(|(head, _)| head.split('\n').count());
        lines.max().unwrap_or(1)
    }

    fn head_height(&self) -> f64 {
        match self.columns.iter().all(|(head, _)| head.is_empty()) {
            true => 0.0,
            false => self.line * self.head_lines() as f64 + 1.6 * ROW,
        }
    }

    fn draw_head(&self, leaf: &mut Leaf, (x, y): (f64, f64), widths: &[f64]) {
        let height = self.head_height();
        if height == 0.0 {
            return;
        }
        let whole = widths.iter().sum::<f64>() + GAP * (widths.len() - 1) as f64;
        leaf.block([x, y, whole, height - 0.4 * ROW], Ink::Pale);
        let mut left = x;
        let hand = self.letters.bold();
        for ((head, align), width) in self.columns.iter().zip(widths) {
            for (index, line) in head.split('\n').enumerate() {
                let line = hand.cut(line, *width);
                let base = y + self.line * (index as f64 + 1.0) - 0.1;
                match align {
                    Align::Point => leaf.text_to(left + width, base, &line, hand),
                    _ => leaf.text(left, base, &line, hand),
                }
            }
            left += width + GAP;
        }
    }

    fn draw_row(
        &self,
        leaf: &mut Leaf,
        row: &[Cell],
        (x, y): (f64, f64),
        widths: &[f64],
        tails: &[f64],
    ) {
        let mut left = x;
        let base = y + self.line - 0.2;
        let bar = 0.85 * self.letters.size;
        for (column, cell) in row.iter().enumerate() {
            let width = widths[column];
            match cell {
                Cell::Bar(share) => {
                    let share = if share.is_finite() {
                        share.clamp(0.0, 1.0)
                    } else {
                        0.0
                    };
                    leaf.block([left, base - bar + 0.2, share * width, bar], Ink::Blue);
                }
                Cell::Margin(share) => margin(leaf, [left, base - bar + 0.2, width, bar], *share),
                _ => {
                    let hand = cell.hand(self.letters);
                    for (index, line) in self.lines(cell, column, widths).iter().enumerate() {
                        let base = base + self.line * index as f64;
                        match self.columns[column].1 {
                            Align::Point => {
                                let (whole, _) = split(line);
                                let room = (width - tails[column]).max(0.0);
                                let at = left + (room - hand.width(whole)).max(0.0);
                                leaf.text(at, base, line, hand);
                            }
                            _ => leaf.text(left, base, line, hand),
                        }
                    }
                }
            }
            left += width + GAP;
        }
    }
}

/// A margin about the limit in the middle; half the width is a margin of 100 % and more.
fn margin(leaf: &mut Leaf, [x, y, width, height]: [f64; 4], share: f64) {
    let middle = x + 0.5 * width;
    let long = match share.is_nan() {
        true => 0.0,
        false => share.clamp(-1.0, 1.0) * 0.5 * width,
    };
    if long >= 0.0 {
        leaf.block([middle, y, long, height], Ink::Blue);
    } else {
        leaf.block([middle + long, y, -long, height], Ink::Warm);
    }
    leaf.line(
        (middle, y - 0.5),
        (middle, y + height + 0.5),
        0.25,
        Ink::Dark,
    );
}

/// A number cut before its point (or before what follows its whole digits): `21` and `.43`, `12` and ` %`. Other text
/// stands before the point.
fn split(text: &str) -> (&str, &str) {
    let signs = text.len()
        - text
            .trim_start_matches(['+', '−', '-', '<', ' ', '±'])
            .len();
    let whole = text[signs..]
        .chars()
        .take_while(|c| c.is_ascii_digit() || *c == '\u{202f}');
    let whole: usize = whole.map(char::len_utf8).sum();
    match whole {
        0 => (text, ""),
        _ => text.split_at(signs + whole),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_cut_before_their_point() {
        assert_eq!(split("21.43"), ("21", ".43"));
        assert_eq!(split("−11.1 %"), ("−11", ".1 %"));
        assert_eq!(split("12 %"), ("12", " %"));
        assert_eq!(split("1523"), ("1523", ""));
        assert_eq!(split("∞"), ("∞", ""));
        assert_eq!(split("frame"), ("frame", ""));
    }

    #[test]
    fn columns_never_leave_their_room() {
        let mut table = Table::new(&[
            ("name", Align::Left),
            ("words", Align::Wrap),
            ("value", Align::Point),
        ]);
        let long = "x".repeat(10_000);
        table.row(vec![long.as_str().into(), "a b c".into(), "21.43".into()]);
        table.row(vec!["mass".into(), long.as_str().into(), "1523".into()]);
        for room in [30.0, 60.0, 175.0] {
            let widths = table.widths(&table.tails(), room);
            assert!(
                widths.iter().sum::<f64>() + 2.0 * GAP <= room + 0.02,
                "{room}: {widths:?}"
            );
        }
    }
}
