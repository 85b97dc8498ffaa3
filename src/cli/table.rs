//! Aligned tables for a terminal of a given width.

use std::io::{self, Write};
use std::sync::OnceLock;

use super::style::{self, Style};

/// Columns that everything is laid out for where there is no terminal, or a narrower one.
pub const WIDTH: usize = 80;
/// Columns that are used, at most: longer lines are hard to read.
const WIDEST: usize = 120;

/// Columns to lay out for: those of the terminal on stdout between 80 and 120, or 80 where it is none.
pub fn width() -> usize {
    static COLUMNS: OnceLock<usize> = OnceLock::new();
    // Tests are read against one width, wherever they run.
    if cfg!(test) {
        return WIDTH;
    }
    *COLUMNS.get_or_init(|| {
        let terminal = terminal_size::terminal_size_of(io::stdout());
        terminal.map_or(WIDTH, |(columns, _)| {
            usize::from(columns.0).clamp(WIDTH, WIDEST)
        })
    })
}

/// How the cells of a column stand under each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Begin alike.
    Left,
    /// End alike.
    Right,
    /// Decimal points under each other.
    Point,
    /// Begin alike, and go on below where the line is full. At most one column of a table.
    Wrap,
}

/// A cell.
#[derive(Clone, Debug)]
pub struct Cell {
    text: String,
    style: Style,
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Cell {
            text: clean(&text.into()),
            style: style::PLAIN,
        }
    }
}

impl Cell {
    /// A cell in a style.
    pub fn styled(text: impl Into<String>, style: Style) -> Self {
        Cell {
            style,
            ..Cell::from(text)
        }
    }
}

/// A line of a table, or several.
#[derive(Clone, Debug)]
enum Row {
    /// Cells, one a column.
    Cells(Vec<Cell>),
    /// A heading further down, after an empty line.
    Heading(String),
    /// Words on the row above, across all columns.
    Note(String, Style),
}

/// A table under a heading.
#[derive(Clone, Debug)]
pub struct Table {
    heads: Vec<String>,
    aligns: Vec<Align>,
    rows: Vec<Row>,
}

const INDENT: usize = 2;

impl Table {
    /// A table with these columns. The first head is the table's heading and stands out to the left.
    pub fn new(columns: &[(&str, Align)]) -> Self {
        Table {
            heads: columns.iter().map(|(head, _)| clean(head)).collect(),
            aligns: columns.iter().map(|(_, align)| *align).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row; cells left out are empty.
    pub fn row<const N: usize>(&mut self, cells: [Cell; N]) {
        self.cells(cells.into());
    }

    /// Adds a row of any number of cells.
    pub fn cells(&mut self, mut cells: Vec<Cell>) {
        cells.resize(self.heads.len(), Cell::from(""));
        self.rows.push(Row::Cells(cells));
    }

    /// Adds a heading for the rows that follow.
    pub fn heading(&mut self, text: &str) {
        self.rows.push(Row::Heading(clean(text)));
    }

    /// Adds words on the row above; nothing where there are none.
    pub fn note(&mut self, text: &str, style: Style) {
        if !text.is_empty() {
            self.rows.push(Row::Note(clean(text), style));
        }
    }

    /// Prints it, no line longer than `width` as long as the columns that can't wrap fit.
    pub fn print(&self, out: &mut dyn Write, width: usize) -> io::Result<()> {
        let texts = self.padded();
        let (widths, gap) = self.widths(&texts, width);
        self.print_heads(out, &widths, gap)?;
        for (row, texts) in self.rows.iter().zip(&texts) {
            match row {
                Row::Cells(cells) => self.print_row(out, cells, texts, &widths, gap)?,
                Row::Heading(text) => writeln!(out, "\n{0}{text}{0:#}", style::HEADING)?,
                Row::Note(text, style) => paragraph(out, text, 2 * INDENT, *style)?,
            }
        }
        Ok(())
    }

    /// Cells' texts, those of a `Point` column padded on the right so that points meet when ends do. Rows
    /// without cells have none.
    fn padded(&self) -> Vec<Vec<String>> {
        let text = |row: &Row| match row {
            Row::Cells(cells) => cells.iter().map(|cell| cell.text.clone()).collect(),
            _ => Vec::new(),
        };
        let mut texts: Vec<Vec<String>> = self.rows.iter().map(text).collect();
        for column in (0..self.aligns.len()).filter(|column| self.aligns[*column] == Align::Point) {
            let behind = |text: &str| tail(text).map(length);
            let cells = texts.iter().filter_map(|row| behind(row.get(column)?));
            let longest = cells.max().unwrap_or(0);
            for text in texts.iter_mut().filter_map(|row| row.get_mut(column)) {
                if let Some(behind) = behind(text) {
                    text.push_str(&" ".repeat(longest - behind));
                }
            }
        }
        texts
    }

    /// Width of every column, and of the gap between two.
    fn widths(&self, texts: &[Vec<String>], width: usize) -> (Vec<usize>, usize) {
        let longest = |column: usize| {
            let cells = texts
                .iter()
                .filter_map(|row| row.get(column))
                .map(|text| length(text));
            // The heading stands out by the indent.
            let head = length(&self.heads[column]);
            let head = if column == 0 {
                head.saturating_sub(INDENT)
            } else {
                head
            };
            cells.max().unwrap_or(0).max(head)
        };
        let mut widths: Vec<usize> = (0..self.aligns.len()).map(longest).collect();
        let total = |widths: &[usize], gap: usize| {
            INDENT + widths.iter().sum::<usize>() + gap * widths.len().saturating_sub(1)
        };
        let gap = if total(&widths, 2) > width + SLACK {
            1
        } else {
            2
        };
        if let Some(wraps) = self.aligns.iter().position(|align| *align == Align::Wrap) {
            let least = LEAST_WRAP.min(widths[wraps]);
            let over = total(&widths, gap).saturating_sub(width);
            widths[wraps] = widths[wraps].saturating_sub(over).max(least);
        }
        let gap = if total(&widths, gap) > width { 1 } else { gap };
        (widths, gap)
    }

    fn print_heads(&self, out: &mut dyn Write, widths: &[usize], gap: usize) -> io::Result<()> {
        let mut line = String::new();
        for (column, head) in self.heads.iter().enumerate() {
            let (align, room) = match column {
                0 => (Align::Left, widths[0] + INDENT),
                _ => (self.aligns[column], widths[column]),
            };
            line.push_str(&aligned(head, align, room));
            line.push_str(&" ".repeat(gap));
        }
        let line = line.trim_end();
        let head = self.heads.first().map_or("", |head| head.as_str());
        match line.strip_prefix(head) {
            Some(rest) if !line.is_empty() => {
                let (bold, dim) = (style::HEADING, style::DIM);
                writeln!(out, "{bold}{head}{bold:#}{dim}{rest}{dim:#}")
            }
            _ => Ok(()),
        }
    }

    fn print_row(
        &self,
        out: &mut dyn Write,
        row: &[Cell],
        texts: &[String],
        widths: &[usize],
        gap: usize,
    ) -> io::Result<()> {
        let wrapped: Vec<Vec<String>> = (0..row.len())
            .map(|column| match self.aligns[column] {
                Align::Wrap => wrap(&texts[column], widths[column]),
                _ => vec![texts[column].clone()],
            })
            .collect();
        let lines = wrapped.iter().map(Vec::len).max().unwrap_or(0);
        for line in 0..lines {
            let cell = |column: usize| wrapped[column].get(line).map_or("", String::as_str);
            // Nothing is printed after the last cell with text, so that no line ends in spaces.
            let last = (0..row.len())
                .rev()
                .find(|column| !cell(*column).trim_end().is_empty());
            let Some(last) = last else { continue };
            write!(out, "{:INDENT$}", "")?;
            for column in 0..=last {
                let text = aligned(cell(column), self.aligns[column], widths[column]);
                let text = if column == last {
                    text.trim_end()
                } else {
                    &text
                };
                let style = row[column].style;
                write!(out, "{style}{text}{style:#}")?;
                if column < last {
                    write!(out, "{:gap$}", "")?;
                }
            }
            writeln!(out)?;
        }
        Ok(())
    }
}

/// A column that wraps gets at least so wide, and gives way by so much before the gaps do.
const LEAST_WRAP: usize = 12;
const SLACK: usize = 24;

/// What follows the whole digits of a number, or `None` for other text: `.43` of `21.43`, ` %` of `12 %`.
fn tail(text: &str) -> Option<&str> {
    let unsigned = text.trim_start_matches(['+', '-']);
    let whole = unsigned.chars().take_while(char::is_ascii_digit).count();
    if whole > 0 {
        return Some(&unsigned[whole..]);
    }
    unsigned.strip_prefix('∞')
}

fn aligned(text: &str, align: Align, width: usize) -> String {
    let pad = " ".repeat(width.saturating_sub(length(text)));
    match align {
        Align::Left | Align::Wrap => format!("{text}{pad}"),
        Align::Right | Align::Point => format!("{pad}{text}"),
    }
}

fn length(text: &str) -> usize {
    text.chars().count()
}

/// Text in lines of at most `width`; a longer word is cut.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        loop {
            let line = lines.last_mut().expect("there is always a line");
            let used = length(line);
            let gap = usize::from(used > 0);
            if used + gap + word.len() <= width {
                line.push_str(&" ".repeat(gap));
                line.extend(word);
                break;
            }
            if used > 0 {
                lines.push(String::new());
            } else {
                line.extend(word.drain(..cut(&word, width)));
                lines.push(String::new());
            }
        }
    }
    lines
}

/// Where a word too long for a line is cut: behind its last dot, stroke or underline that fits, else anywhere.
fn cut(word: &[char], width: usize) -> usize {
    let mark = |letter: &char| matches!(letter, '.' | '/' | '_' | '-');
    word[..width]
        .iter()
        .rposition(mark)
        .map_or(width, |index| index + 1)
}

/// Text without what a terminal would obey: control characters become `·`.
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|letter| if letter.is_control() { '·' } else { letter })
        .collect()
}

/// Prints a text, wrapped and indented.
pub fn paragraph(out: &mut dyn Write, text: &str, indent: usize, style: Style) -> io::Result<()> {
    for line in text.lines() {
        for line in wrap(&clean(line), width() - indent) {
            writeln!(out, "{:indent$}{style}{line}{style:#}", "")?;
        }
    }
    Ok(())
}

/// Prints items, each behind a dash.
pub fn list(out: &mut dyn Write, heading: &str, items: &[String], style: Style) -> io::Result<()> {
    let bold = style::HEADING;
    writeln!(out, "{bold}{heading}{bold:#}")?;
    for item in items {
        for (index, line) in wrap(&clean(item), width() - 4).iter().enumerate() {
            let mark = if index == 0 { "- " } else { "  " };
            writeln!(out, "  {mark}{style}{line}{style:#}")?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(table: &Table, width: usize) -> String {
        let mut out = anstream::StripStream::new(Vec::new());
        table.print(&mut out, width).unwrap();
        String::from_utf8(out.into_inner()).unwrap()
    }

    #[test]
    fn points_stand_under_each_other() {
        let mut table = Table::new(&[
            ("MEASURES", Align::Left),
            ("", Align::Left),
            ("value", Align::Point),
        ]);
        table.row(["mass".into(), "g".into(), "21.43".into()]);
        table.row(["stiffness".into(), "N/mm".into(), "1523".into()]);
        table.row(["holes".into(), "".into(), "-3".into()]);
        table.row(["safety".into(), "".into(), "∞".into()]);
        table.row(["cost".into(), "".into(), "-".into()]);
        let expected = "\
MEASURES             value
  mass       g       21.43
  stiffness  N/mm  1523
  holes              -3
  safety              ∞
  cost                   -
";
        assert_eq!(printed(&table, 80), expected);
    }

    #[test]
    fn one_column_wraps_so_that_lines_fit() {
        let mut table = Table::new(&[
            ("CONSTRAINTS", Align::Left),
            ("", Align::Wrap),
            ("value", Align::Point),
            ("", Align::Left),
        ]);
        let long =
            "squeeze.stiffness / mass >= 4 N/mm/g and so on until the line is full, and then some";
        table.row([
            "stiff for its mass".into(),
            long.into(),
            "5.12".into(),
            "met".into(),
        ]);
        table.row([
            "light".into(),
            "mass <= 20 g".into(),
            "21.4".into(),
            "broken".into(),
        ]);
        let text = printed(&table, 80);
        assert!(text.lines().all(|line| length(line) <= 80), "{text}");
        assert!(
            text.lines().any(|line| length(line) == 80),
            "the line is used: {text}"
        );
        let words: Vec<&str> = text.split_whitespace().collect();
        for word in long.split_whitespace() {
            assert!(words.contains(&word), "{word} is lost");
        }
    }

    #[test]
    fn a_long_word_is_cut_and_nothing_is_lost() {
        let word = "x".repeat(30);
        assert_eq!(
            wrap(&word, 12),
            ["x".repeat(12), "x".repeat(12), "x".repeat(6)]
        );
        assert_eq!(wrap("squeeze.stiffness", 12), ["squeeze.", "stiffness"]);
        assert_eq!(wrap("", 12), [""]);
        assert_eq!(wrap("one two  three", 7), ["one two", "three"]);
    }

    #[test]
    fn what_a_terminal_would_obey_is_shown_as_a_dot() {
        let mut table = Table::new(&[("NAMES", Align::Left)]);
        table.row(["\u{1b}[2Jboo\u{7}\n".into()]);
        assert_eq!(printed(&table, 80), "NAMES\n  ·[2Jboo··\n");
    }

    #[test]
    fn no_line_ends_in_spaces() {
        let mut table = Table::new(&[("A", Align::Left), ("b", Align::Wrap), ("c", Align::Point)]);
        table.row(["long name".into(), "word ".repeat(30).into(), "1.5".into()]);
        table.row(["x".into(), "".into(), "1".into()]);
        table.row(["y".into()]);
        table.note("words on y", style::PLAIN);
        table.heading("B");
        for line in printed(&table, 60).lines() {
            assert_eq!(line, line.trim_end());
        }
    }
}
