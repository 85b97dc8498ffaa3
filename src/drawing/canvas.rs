//! Lines, text and dimensions on paper, gathered as SVG text.

use std::fmt::Write as _;

use super::labels::{Room, text_width};
use crate::drawing::text::escaped;

/// A point on paper in mm: x to the right, y **down**.
pub(crate) type Point = (f64, f64);

/// A coordinate with two decimals, as short as SVG allows.
pub(crate) fn number(value: f64) -> String {
    let text = crate::drawing::text::decimals(value, 2);
    match text.strip_prefix("0.") {
        Some(rest) => format!(".{rest}"),
        None => match text.strip_prefix("-0.") {
            Some(rest) => format!("-.{rest}"),
            None if text == "-" => "0".into(),
            None => text,
        },
    }
}

/// Two coordinates with no more between them than SVG needs.
pub(crate) fn pair((x, y): Point) -> String {
    let (x, y) = (number(x), number(y));
    if y.starts_with('-') {
        x + &y
    } else {
        x + " " + &y
    }
}

/// Where text stands about its point.
#[derive(Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn class(self) -> &'static str {
        match self {
            Anchor::Start => "",
            Anchor::Middle => " middle",
            Anchor::End => " end",
        }
    }
}

/// Paper that grows with what is drawn on it.
pub(crate) struct Canvas {
    body: String,
    /// Path being gathered: neighbours of one class become one element.
    open: (String, String),
    low: Point,
    high: Point,
    /// Where text stands.
    pub(crate) texts: Vec<Room>,
    /// Points that labels keep off.
    pub(crate) obstacles: Vec<Point>,
}

impl Canvas {
    pub(crate) fn new() -> Canvas {
        Canvas {
            body: String::new(),
            open: Default::default(),
            low: (f64::INFINITY, f64::INFINITY),
            high: (f64::NEG_INFINITY, f64::NEG_INFINITY),
            texts: Vec::new(),
            obstacles: Vec::new(),
        }
    }

    /// Makes room for a point.
    pub(crate) fn grow(&mut self, (x, y): Point) {
        if x.is_finite() && y.is_finite() {
            self.low = (self.low.0.min(x), self.low.1.min(y));
            self.high = (self.high.0.max(x), self.high.1.max(y));
        }
    }

    /// Upper left and lower right corner of what was drawn so far.
    pub(crate) fn extent(&self) -> (Point, Point) {
        if self.low.0 <= self.high.0 {
            (self.low, self.high)
        } else {
            ((0.0, 0.0), (1.0, 1.0))
        }
    }

    /// Markup as it is; the caller grows the paper.
    pub(crate) fn raw(&mut self, markup: &str) {
        self.close();
        self.body.push_str(markup);
    }

    /// Writes the path being gathered.
    fn close(&mut self) {
        let (class, commands) = std::mem::take(&mut self.open);
        if !commands.is_empty() {
            let _ = write!(self.body, "<path class='{class}' d='{commands}'/>");
        }
    }

    /// A path from its commands; the caller grows the paper.
    pub(crate) fn path(&mut self, class: &str, commands: &str) {
        if self.open.0 != class {
            self.close();
            self.open.0 = class.into();
        }
        self.open.1.push_str(commands);
    }

    /// A chain of straight lines.
    pub(crate) fn line(&mut self, class: &str, points: &[Point]) {
        let mut commands = String::new();
        for (i, &point) in points.iter().enumerate() {
            self.grow(point);
            commands.push(if i == 0 { 'M' } else { 'L' });
            commands.push_str(&pair(point));
        }
        self.path(class, &commands);
    }

    pub(crate) fn circle(&mut self, class: &str, centre: Point, radius: f64) {
        self.grow((centre.0 - radius, centre.1 - radius));
        self.grow((centre.0 + radius, centre.1 + radius));
        self.close();
        let _ = write!(
            self.body,
            "<circle class='{class}' cx='{}' cy='{}' r='{}'/>",
            number(centre.0),
            number(centre.1),
            number(radius)
        );
    }

    /// Text with its base line through `at`; the paper grows by an estimate of its width.
    pub(crate) fn text(&mut self, class: &str, at: Point, anchor: Anchor, text: &str) {
        let room = Room::of_text(class, at, anchor, text);
        self.grow(room.low);
        self.grow(room.high);
        self.texts.push(room);
        self.close();
        let _ = write!(
            self.body,
            "<text class='{}' x='{}' y='{}'>{}</text>",
            format!("{class}{}", anchor.class()).trim(),
            number(at.0),
            number(at.1),
            escaped(text)
        );
    }

    /// An arrow head with its tip at `tip`, pointing along `(dx, dy)`.
    pub(crate) fn head(&mut self, class: &str, tip: Point, (dx, dy): Point, length: f64) {
        let norm = dx.hypot(dy).max(1e-9);
        let (ux, uy) = (dx / norm * length, dy / norm * length);
        let half = 0.19;
        let left = (tip.0 - ux - half * uy, tip.1 - uy + half * ux);
        let right = (tip.0 - ux + half * uy, tip.1 - uy - half * ux);
        let commands = format!("M{}L{}L{}z", pair(tip), pair(left), pair(right));
        self.path(class, &commands);
    }

    /// A horizontal dimension between two points, its line at height `y` or, where other text stands there, farther
    /// from the part; `text` above the line, or to its right where the gap is too small.
    pub(crate) fn dimension_across(&mut self, from: Point, to: Point, y: f64, text: &str) {
        self.dimension_beside(from, to, y, text, 1.0);
    }

    /// The same, with the text of a small gap on the `side` given: 1 to the right, -1 to the left.
    pub(crate) fn dimension_beside(
        &mut self,
        from: Point,
        to: Point,
        y: f64,
        text: &str,
        side: f64,
    ) {
        let (from, to) = if from.0 <= to.0 {
            (from, to)
        } else {
            (to, from)
        };
        let gap = to.0 - from.0;
        let inside = gap >= text_width(3.2, text) + 1.0 && gap >= 5.2;
        let (x, anchor) = if inside {
            (0.5 * (from.0 + to.0), Anchor::Middle)
        } else if side > 0.0 {
            (to.0 + 4.0, Anchor::Start)
        } else {
            (from.0 - 4.0, Anchor::End)
        };
        let away = if y < from.1.min(to.1) { -2.0 } else { 2.0 };
        let mut y = y;
        while !self.free(&Room::of_text("", (x, y - 0.9), anchor, text)) {
            y += away;
        }
        let beyond = |p: Point| (p.0, y + 1.2 * (y - p.1).signum());
        let clear = |p: Point| (p.0, p.1 + 0.8 * (y - p.1).signum());
        self.line("thin", &[clear(from), beyond(from)]);
        self.line("thin", &[clear(to), beyond(to)]);
        if inside {
            self.line("thin", &[(from.0, y), (to.0, y)]);
            self.head("tip", (from.0, y), (-1.0, 0.0), 2.2);
            self.head("tip", (to.0, y), (1.0, 0.0), 2.2);
        } else {
            let width = text_width(3.2, text);
            let (left, right) = if side > 0.0 {
                (4.0, 4.5 + width)
            } else {
                (4.5 + width, 4.0)
            };
            self.line("thin", &[(from.0 - left, y), (to.0 + right, y)]);
            self.head("tip", (from.0, y), (1.0, 0.0), 2.2);
            self.head("tip", (to.0, y), (-1.0, 0.0), 2.2);
        }
        self.keep_off((0..=40).map(|k| (from.0 + gap * f64::from(k) / 40.0, y)));
        self.text("", (x, y - 0.9), anchor, text);
    }

    /// A vertical dimension between two points, its line at `x`; `text` beside the line, on the side away from
    /// the part.
    pub(crate) fn dimension_up(&mut self, from: Point, to: Point, x: f64, text: &str) {
        let (low, high) = if from.1 >= to.1 {
            (from, to)
        } else {
            (to, from)
        };
        let side = if x >= 0.5 * (from.0 + to.0) {
            1.0
        } else {
            -1.0
        };
        let anchor = if side > 0.0 {
            Anchor::Start
        } else {
            Anchor::End
        };
        let inside = low.1 - high.1 > 6.0;
        let base = if inside {
            0.5 * (low.1 + high.1) + 1.1
        } else {
            low.1 + 4.4
        };
        let mut x = x;
        while !self.free(&Room::of_text("", (x + side, base), anchor, text)) {
            x += 2.0 * side;
        }
        for p in [low, high] {
            let away = (x - p.0).signum();
            self.line("thin", &[(p.0 + 0.8 * away, p.1), (x + 1.2 * side, p.1)]);
        }
        if inside {
            self.line("thin", &[(x, low.1), (x, high.1)]);
            self.head("tip", (x, low.1), (0.0, 1.0), 2.2);
            self.head("tip", (x, high.1), (0.0, -1.0), 2.2);
        } else {
            self.line("thin", &[(x, low.1 + 4.0), (x, high.1 - 4.0)]);
            self.head("tip", (x, low.1), (0.0, -1.0), 2.2);
            self.head("tip", (x, high.1), (0.0, 1.0), 2.2);
        }
        let height = low.1 - high.1;
        self.keep_off((0..=40).map(|k| (x, high.1 + height * f64::from(k) / 40.0)));
        self.text("", (x + side, base), anchor, text);
    }

    /// The drawing, with a margin of `margin` mm, as an SVG element named `label` for readers.
    ///
    /// `data` are more attributes of the element.
    pub(crate) fn finish_with(
        mut self,
        class: &str,
        label: &str,
        margin: f64,
        data: &str,
    ) -> String {
        self.close();
        let (low, high) = self.extent();
        let (width, height) = (high.0 - low.0 + 2.0 * margin, high.1 - low.1 + 2.0 * margin);
        format!(
            "<svg class='{class}' viewBox='{} {} {w} {h}' width='{w}mm' height='{h}mm' role='img' \
             aria-label='{}'{data}>{}</svg>",
            number(low.0 - margin),
            number(low.1 - margin),
            escaped(label),
            self.body,
            w = number(width),
            h = number(height),
        )
    }

    /// The drawing, with a margin of `margin` mm, as an SVG element named `label` for readers.
    pub(crate) fn finish(self, class: &str, label: &str, margin: f64) -> String {
        self.finish_with(class, label, margin, "")
    }
}
