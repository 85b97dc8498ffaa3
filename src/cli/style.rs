//! Few styles, used alike everywhere. Streams that are no terminal, and `NO_COLOR`, drop them.

pub use clap::builder::styling::Style;
use clap::builder::styling::{AnsiColor, Color};

/// Nothing special.
pub const PLAIN: Style = Style::new();
/// Headings.
pub const HEADING: Style = Style::new().bold();
/// What is there to be found, not to be read.
pub const DIM: Style = Style::new().dimmed();
/// A limit met, a change for the better.
pub const GOOD: Style = Style::new().fg_color(Some(Color::Ansi(AnsiColor::Green)));
/// A limit broken, an error.
pub const BAD: Style = Style::new()
    .fg_color(Some(Color::Ansi(AnsiColor::Red)))
    .bold();
/// What the reader must know.
pub const WARN: Style = Style::new().fg_color(Some(Color::Ansi(AnsiColor::Yellow)));
