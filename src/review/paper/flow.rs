//! Where the next thing goes: columns and pages that fill one after another.

use crate::drawing::leaf::{BODY, Hand, Ink, Leaf, Picture, SMALL};
use crate::drawing::lettering::Weight;
use crate::drawing::write::Bookmark;

/// Margins in mm: the left one leaves room for binding (ISO 5457 has 20 mm).
pub(super) const LEFT: f64 = 20.0;
pub(super) const RIGHT: f64 = 12.0;
const TOP: f64 = 21.0;
const BOTTOM: f64 = 14.0;
/// Height of a heading.
const HEADING: f64 = 6.0;
/// Between two columns.
const GUTTER: f64 = 7.0;

/// Pages being filled.
pub(super) struct Flow {
    pub(super) size: (f64, f64),
    leaves: Vec<Leaf>,
    pub(super) bookmarks: Vec<Bookmark>,
    /// What the heads of the pages say, from which page on.
    heads: Vec<(usize, String)>,
    /// Drawing sheets: page, and where its number stands.
    sheets: Vec<(usize, (f64, f64))>,
    columns: usize,
    column: usize,
    /// Where the columns begin and how far the lowest of those before reaches.
    top: f64,
    lowest: f64,
    y: f64,
}

impl Flow {
    pub(super) fn new(size: (f64, f64)) -> Flow {
        Flow {
            size,
            leaves: Vec::new(),
            bookmarks: Vec::new(),
            heads: Vec::new(),
            sheets: Vec::new(),
            columns: 1,
            column: 0,
            top: TOP,
            lowest: TOP,
            y: TOP,
        }
    }

    /// A new page for a part of the review, with its words at the head of this and the following pages.
    pub(super) fn part(&mut self, words: &str) {
        self.heads.push((self.leaves.len(), words.to_string()));
        self.page();
    }

    /// A page of its own kind: nothing is put at its head, its number stands at `number`, and what follows begins on the
    /// next.
    pub(super) fn sheet(&mut self, leaf: Leaf, number: (f64, f64)) {
        self.heads.push((self.leaves.len(), String::new()));
        self.sheets.push((self.leaves.len(), number));
        self.leaves.push(leaf);
        self.y = self.size.1;
    }

    /// Number of the page being filled, from 0.
    pub(super) fn number(&self) -> usize {
        self.leaves.len().saturating_sub(1)
    }

    /// An entry of the outline for where we are.
    pub(super) fn bookmark(&mut self, depth: usize, words: &str) {
        let entry = Bookmark {
            depth,
            words: Hand::new(1.0).cut(words, 60.0),
            leaf: self.number(),
            y: (self.y - 8.0).max(0.0),
        };
        self.bookmarks.push(entry);
    }

    fn page(&mut self) {
        self.leaves.push(Leaf::default());
        self.column = 0;
        (self.top, self.lowest, self.y) = (TOP, TOP, TOP);
    }

    /// So many columns side by side from here on.
    pub(super) fn columns(&mut self, count: usize) {
        let from = self.lowest.max(self.y);
        (self.columns, self.column) = (count, 0);
        (self.top, self.lowest, self.y) = (from, from, from);
    }

    /// Goes on at the top of the next column.
    pub(super) fn next_column(&mut self) {
        self.lowest = self.lowest.max(self.y);
        if self.column + 1 < self.columns {
            self.column += 1;
            self.y = self.top;
        }
    }

    pub(super) fn width(&self) -> f64 {
        let whole = self.size.0 - LEFT - RIGHT;
        (whole - GUTTER * (self.columns as f64 - 1.0)) / self.columns as f64
    }

    /// Upper left corner of what comes next.
    pub(super) fn place(&self) -> (f64, f64) {
        let x = LEFT + self.column as f64 * (self.width() + GUTTER);
        (x, self.y)
    }

    /// Room below, in mm.
    pub(super) fn room(&self) -> f64 {
        self.size.1 - BOTTOM - self.y
    }

    /// Goes on to the next column or page where there is less room than this.
    pub(super) fn need(&mut self, height: f64) {
        if self.room() >= height || (self.column == 0 && self.y <= TOP) {
            return;
        }
        self.lowest = self.lowest.max(self.y);
        if self.column + 1 < self.columns && self.size.1 - BOTTOM - self.top >= height.min(40.0) {
            self.column += 1;
            self.y = self.top;
            // A column that begins too low for what comes.
            if self.room() < height && self.top > TOP {
                self.page();
            }
        } else {
            self.page();
        }
    }

    pub(super) fn down(&mut self, by: f64) {
        self.y += by;
        self.lowest = self.lowest.max(self.y);
    }

    pub(super) fn leaf(&mut self) -> &mut Leaf {
        if self.leaves.is_empty() {
            self.page();
        }
        let last = self.leaves.len() - 1;
        &mut self.leaves[last]
    }

    /// A heading that keeps with what follows it.
    pub(super) fn heading(&mut self, words: &str) {
        self.need(HEADING + 14.0);
        let hand = BODY.bold();
        let (x, y) = self.place();
        let words = hand.cut(words, self.width());
        self.leaf().text(x, y + 4.0, &words, hand);
        self.down(HEADING);
    }

    /// A paragraph of at most so many lines.
    pub(super) fn paragraph(&mut self, text: &str, hand: Hand, most: usize) {
        let line = 1.42 * hand.size;
        for words in hand.wrapped(text, self.width(), most) {
            self.need(line);
            let (x, y) = self.place();
            self.leaf().text(x, y + hand.size, &words, hand);
            self.down(line);
        }
        self.down(0.5 * hand.size);
    }

    /// Items, each behind a dash.
    pub(super) fn list(&mut self, items: &[String], hand: Hand, most: usize) {
        let line = 1.42 * hand.size;
        for item in items {
            let lines = hand.wrapped(item, self.width() - 3.0, most);
            self.need(line * lines.len().min(3) as f64);
            for (index, words) in lines.iter().enumerate() {
                self.need(line);
                let (x, y) = self.place();
                if index == 0 {
                    self.leaf().text(x, y + hand.size, "–", hand);
                }
                self.leaf().text(x + 3.0, y + hand.size, words, hand);
                self.down(line);
            }
            self.down(0.25 * hand.size);
        }
        self.down(0.5 * hand.size);
    }

    /// A plot under a heading (none where empty), at most as wide as the column and `most` times its own size.
    pub(super) fn plot(&mut self, heading: &str, svg: &str, most: f64) {
        let Some(picture) = Picture::of(svg) else {
            return;
        };
        let (width, height) = picture.size_mm();
        let page = self.size.1 - TOP - BOTTOM - HEADING;
        let scale = (self.width() / width).min(page / height).min(most);
        self.need(scale * height + if heading.is_empty() { 0.0 } else { HEADING });
        if !heading.is_empty() {
            self.heading(heading);
        }
        let at = self.place();
        self.leaf().drawing(at, picture, scale);
        self.down(scale * height + 3.0);
    }

    /// The pages with their heads: `title` on the left, what the part is on the right, and page x of y.
    pub(super) fn finish(mut self, title: &str) -> (Vec<Leaf>, Vec<Bookmark>) {
        let count = self.leaves.len();
        let (left, right) = (LEFT, self.size.0 - RIGHT);
        let quiet = SMALL.ink(Ink::Quiet);
        for (leaf, (x, y)) in &self.sheets {
            let number = format!("{} / {count}", leaf + 1);
            self.leaves[*leaf].text(*x, *y, &number, BODY);
        }
        for (index, leaf) in self.leaves.iter_mut().enumerate() {
            let head = self.heads.iter().rev().find(|(from, _)| *from <= index);
            let words = head.map_or("", |(_, words)| words.as_str());
            if words.is_empty() {
                continue;
            }
            let strong = Hand {
                weight: Weight::Bold,
                ..quiet
            };
            let number = format!("page {} of {count}", index + 1);
            leaf.text_to(right, 12.0, &number, quiet);
            let words = strong.cut(words, 0.4 * (right - left));
            leaf.text(left, 12.0, &words, strong);
            let used = strong.width(&words) + 5.0;
            let room = right - left - used - quiet.width(&number) - 5.0;
            leaf.text(left + used, 12.0, &quiet.cut(title, room), quiet);
            leaf.line((left, 14.0), (right, 14.0), 0.18, Ink::Quiet);
        }
        (self.leaves, self.bookmarks)
    }
}
