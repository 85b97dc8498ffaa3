//! A plot being drawn: axes with round ticks, words, and the way from values to paper.

use std::fmt::Write as _;

use crate::drawing::lettering::{Weight, cut, width};
use crate::drawing::number;
use crate::drawing::text::{escaped, grouped, significant};
use crate::run::{Finished, Goal};

/// Size of a plot and of the frame in it, in mm.
pub(super) const WIDTH: f64 = 150.0;
pub(super) const HEIGHT: f64 = 96.0;
pub(in super::super) const LEFT: f64 = 17.0;
pub(super) const RIGHT: f64 = 4.0;
pub(super) const TOP: f64 = 13.0;
pub(super) const BOTTOM: f64 = 14.0;

/// Sizes of letters, in mm: of words, and of figures at the axes.
pub(super) const LETTERS: f64 = 3.2;
pub(in super::super) const SMALL: f64 = 2.7;

/// A plot being drawn.
pub(in super::super) struct Frame {
    low: (f64, f64),
    high: (f64, f64),
    pub(in super::super) x_words: String,
    pub(in super::super) y_words: String,
    pub(in super::super) body: String,
}

impl Frame {
    pub(in super::super) fn around(points: impl IntoIterator<Item = (f64, f64)>) -> Frame {
        let mut low = (f64::INFINITY, f64::INFINITY);
        let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for (x, y) in points {
            low = (low.0.min(x), low.1.min(y));
            high = (high.0.max(x), high.1.max(y));
        }
        if low.0 > high.0 {
            (low, high) = ((0.0, 0.0), (1.0, 1.0));
        }
        let widen = |low: f64, high: f64| {
            let span = high - low;
            let room = if span > 0.0 {
                0.04 * span
            } else {
                0.1 * low.abs().max(1.0)
            };
            (if low == 0.0 { 0.0 } else { low - room }, high + room)
        };
        let (x, y) = (widen(low.0, high.0), widen(low.1, high.1));
        Frame {
            low: (x.0, y.0),
            high: (x.1, y.1),
            x_words: String::new(),
            y_words: String::new(),
            body: String::new(),
        }
    }

    /// Names the axes after two objectives; `beside`: whether the words of the upright axis share their line with a key.
    pub(super) fn words(&mut self, run: &Finished, x: &Goal, y: &Goal, beside: bool) {
        let words = |goal: &Goal, room: f64| {
            let Some(column) = run.columns.get(goal.column) else {
                return String::new();
            };
            let unit = match column.unit.is_empty() {
                true => String::new(),
                false => format!(" in {}", column.unit),
            };
            // The name gives way, unit and sense stay.
            let rest = format!("{unit} ({})", sense(goal));
            let room = room / LETTERS - width(&rest, Weight::Regular);
            cut(&column.name, Weight::Regular, room) + &rest
        };
        self.x_words = words(x, WIDTH - LEFT - RIGHT);
        self.y_words = words(y, if beside { 0.42 * WIDTH } else { WIDTH - 2.0 });
    }

    /// Whether a box (left, top, right, bottom) on paper lies within the axes.
    pub(in super::super) fn holds(&self, [left, top, right, bottom]: [f64; 4]) -> bool {
        left >= LEFT + 0.5
            && top >= TOP
            && right <= WIDTH - RIGHT
            && bottom <= HEIGHT - BOTTOM - 0.5
    }

    /// Paper place of a point; `None` outside the frame.
    pub(in super::super) fn paper(&self, (x, y): (f64, f64)) -> Option<(f64, f64)> {
        let u = (x - self.low.0) / (self.high.0 - self.low.0);
        let v = (y - self.low.1) / (self.high.1 - self.low.1);
        let inside = (0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v);
        let at = (
            LEFT + u * (WIDTH - LEFT - RIGHT),
            HEIGHT - BOTTOM - v * (HEIGHT - TOP - BOTTOM),
        );
        inside.then_some(at)
    }

    /// Where a value of the axis across stands on paper, and from where to where the frame reaches there; `None` outside.
    pub(in super::super) fn upright(&self, x: f64) -> Option<(f64, f64, f64)> {
        let (x, _) = self.paper((x, self.low.1))?;
        Some((x, TOP, HEIGHT - BOTTOM))
    }

    /// The plot's bounds and their places on paper, for a script: `low high left right` across, then up.
    pub(in super::super) fn spans(&self) -> (String, String) {
        (
            format!("{} {} {} {}", self.low.0, self.high.0, LEFT, WIDTH - RIGHT),
            format!("{} {} {} {}", self.low.1, self.high.1, HEIGHT - BOTTOM, TOP),
        )
    }

    pub(in super::super) fn axes(&mut self) {
        for tick in ticks(self.low.0, self.high.0, 5) {
            if let Some((x, y)) = self.paper((tick, self.low.1)) {
                let x = number(x);
                let up = number(HEIGHT - TOP - BOTTOM);
                let _ = write!(
                    self.body,
                    "<path class='grid' d='M{x} {}v-{up}'/><text class='small middle' x='{x}' y='{}'>{}</text>",
                    number(y),
                    number(y + 4.0),
                    tick_words(tick)
                );
            }
        }
        for tick in ticks(self.low.1, self.high.1, 5) {
            if let Some((x, y)) = self.paper((self.low.0, tick)) {
                let _ = write!(
                    self.body,
                    "<path class='grid' d='M{} {}h{}'/><text class='small end' x='{}' y='{}'>{}</text>",
                    number(x),
                    number(y),
                    number(WIDTH - LEFT - RIGHT),
                    number(x - 1.5),
                    number(y + 0.9),
                    tick_words(tick)
                );
            }
        }
        let _ = write!(
            self.body,
            "<path class='axis' d='M{l} {TOP}V{b}H{r}'/><text class='middle' x='{m}' y='{x}'>{}</text>\
             <text x='1' y='4.5'>{}</text>",
            escaped(&self.x_words),
            escaped(&self.y_words),
            l = number(LEFT),
            b = number(HEIGHT - BOTTOM),
            r = number(WIDTH - RIGHT),
            m = number(0.5 * (LEFT + WIDTH - RIGHT)),
            x = number(HEIGHT - 3.5),
        );
    }

    pub(in super::super) fn finish(self, label: &str) -> String {
        format!(
            "<svg class='plot' viewBox='0 0 {WIDTH} {HEIGHT}' width='{WIDTH}mm' height='{HEIGHT}mm' role='img' \
             aria-label='{}: {} against {}'><path class='paper' d='M0 0h{WIDTH}v{HEIGHT}H0z'/>{}</svg>",
            escaped(label),
            escaped(&self.y_words),
            escaped(&self.x_words),
            self.body
        )
    }
}

/// What is better in an objective, in words.
pub(super) fn sense(goal: &Goal) -> &'static str {
    match goal.most {
        true => "more is better",
        false => "less is better",
    }
}

/// Round values between two bounds, `count` or so: 1, 2 or 5 times a power of ten apart.
pub fn ticks(low: f64, high: f64, count: usize) -> Vec<f64> {
    let rough = (high - low) / count.max(1) as f64;
    if !(rough > 0.0 && rough.is_finite()) {
        return vec![];
    }
    let power = 10f64.powf(rough.log10().floor());
    let lead = rough / power;
    let step = power
        * if lead > 5.0 {
            10.0
        } else if lead > 2.0 {
            5.0
        } else if lead > 1.0 {
            2.0
        } else {
            1.0
        };
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    (first..=last.min(first + 20))
        .map(|k| k as f64 * step)
        .collect()
}

pub(in super::super) fn tick_words(value: f64) -> String {
    if value.abs() >= 10_000.0 && value.abs() < 1e9 && value.fract() == 0.0 {
        let sign = if value < 0.0 { "-" } else { "" };
        return format!("{sign}{}", grouped(value.abs() as usize));
    }
    significant(value, 6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        assert_eq!(ticks(0.0, 10.0, 5), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(ticks(17.3, 19.1, 5), [17.5, 18.0, 18.5, 19.0]);
        assert!(ticks(1.0, 1.0, 5).is_empty());
        assert!(ticks(f64::NAN, 1.0, 5).is_empty());
    }
}
