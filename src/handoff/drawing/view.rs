//! A view: what is drawn, with its name above it.

use super::ink::{Anchor, Board, Point};
use crate::drawing::lettering::Weight;
use crate::drawing::scale_words;

/// A view at its scale, about an origin of its own.
#[derive(Clone, Debug)]
pub(crate) struct View {
    pub(crate) board: Board,
}

impl View {
    /// Width and height on paper, in mm.
    pub(crate) fn size(&self) -> Point {
        let (low, high) = self.board.extent();
        (high.0 - low.0, high.1 - low.1)
    }
}

/// A view with its name and scale above it (ISO 128-3, ISO 5455).
pub(crate) fn titled(mut board: Board, name: &str, scale: f64) -> View {
    let (low, high) = board.extent();
    let words = format!("{name} ({})", scale_words(scale));
    let at = (0.5 * (low.0 + high.0), low.1 - 3.0);
    board.words(at, (1.0, 0.0), Anchor::Middle, 4.4, Weight::Regular, &words);
    View { board }
}
