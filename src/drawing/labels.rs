//! Where words find room on a drawing.

use super::canvas::{Anchor, Canvas, Point};

/// A label's place: base point, anchor, way of its leader, and whether it stands off.
type Placed = (Point, Anchor, Vec<Point>, i32);

/// Room on paper that text takes.
#[derive(Clone, Copy)]
pub(crate) struct Room {
    pub(crate) low: Point,
    pub(crate) high: Point,
}

/// Clear space around text, in mm.
const CLEAR_MM: f64 = 0.5;

impl Room {
    pub(crate) fn of_text(class: &str, at: Point, anchor: Anchor, text: &str) -> Room {
        let size = text_size(class);
        let width = text_width(size, text);
        let left = match anchor {
            Anchor::Start => at.0,
            Anchor::Middle => at.0 - 0.5 * width,
            Anchor::End => at.0 - width,
        };
        Room {
            low: (left, at.1 - 0.8 * size),
            high: (left + width, at.1 + 0.25 * size),
        }
    }

    fn overlaps(&self, other: &Room) -> bool {
        let apart = |a: (f64, f64), b: (f64, f64), gap: f64| a.0 >= b.1 + gap || b.0 >= a.1 + gap;
        // Words side by side need more between them than words one above the other.
        let across = 3.0 * CLEAR_MM;
        !apart(
            (self.low.0, self.high.0),
            (other.low.0, other.high.0),
            across,
        ) && !apart(
            (self.low.1, self.high.1),
            (other.low.1, other.high.1),
            CLEAR_MM,
        )
    }

    fn holds(&self, (x, y): Point) -> bool {
        (self.low.0 - CLEAR_MM..=self.high.0 + CLEAR_MM).contains(&x)
            && (self.low.1 - CLEAR_MM..=self.high.1 + CLEAR_MM).contains(&y)
    }
}

fn text_size(class: &str) -> f64 {
    if class.contains("small") { 2.7 } else { 3.2 }
}

/// Width of text set in a plain sans serif of a size, a little on the wide side.
pub(crate) fn text_width(size: f64, text: &str) -> f64 {
    let share = |c: char| match c {
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | ' ' | 'I' | 'f' | 't' | '!' => 0.3,
        'r' | '(' | ')' | '-' | '/' | '°' => 0.42,
        'm' | 'w' | 'M' | 'W' | '—' | '@' => 0.95,
        c if c.is_ascii_uppercase() || "×±⌀∅".contains(c) => 0.74,
        c if c.is_ascii() => 0.57,
        _ => 0.95,
    };
    size * text.chars().map(share).sum::<f64>()
}

impl Canvas {
    /// Text, where no other stands there; whether it was set.
    pub(crate) fn text_if_free(
        &mut self,
        class: &str,
        at: Point,
        anchor: Anchor,
        text: &str,
    ) -> bool {
        let free = self.free(&Room::of_text(class, at, anchor, text));
        if free {
            self.text(class, at, anchor, text);
        }
        free
    }

    /// Points that labels keep off.
    pub(crate) fn keep_off(&mut self, points: impl IntoIterator<Item = Point>) {
        self.obstacles.extend(points);
    }

    /// Whether text may stand there.
    pub(crate) fn free(&self, room: &Room) -> bool {
        !self.texts.iter().any(|other| other.overlaps(room))
    }

    /// Words that belong to the point `from`, at the nearest free place that lies `toward` it as far as may be, with a
    /// leader where that is not close by.
    pub(crate) fn label(&mut self, class: &str, from: Point, toward: Point, gap: f64, text: &str) {
        let main = toward.1.atan2(toward.0);
        let mut fallback = None;
        for step in 0..9 {
            let reach = gap + 3.0 * f64::from(step);
            for turn in [0.0, 0.45, -0.45, 0.9, -0.9, 1.4, -1.4, 2.1, -2.1, 3.0] {
                let (sin, cos) = (main + turn).sin_cos();
                let tip = (from.0 + reach * cos, from.1 + reach * sin);
                let anchor = match cos {
                    c if c > 0.4 => Anchor::Start,
                    c if c < -0.4 => Anchor::End,
                    _ => Anchor::Middle,
                };
                let side = if cos > 0.4 {
                    0.6
                } else if cos < -0.4 {
                    -0.6
                } else {
                    0.0
                };
                let at = (tip.0 + side, tip.1 + 0.95 + 1.35 * sin);
                let room = Room::of_text(class, at, anchor, text);
                if !self.free(&room) {
                    continue;
                }
                let way = (0..=8).map(|k| {
                    let share = (gap + (reach - gap) * f64::from(k) / 8.0) / reach;
                    (
                        from.0 + (tip.0 - from.0) * share,
                        from.1 + (tip.1 - from.1) * share,
                    )
                });
                let way: Vec<Point> = way.collect();
                let crossing = way
                    .iter()
                    .any(|p| self.texts.iter().any(|other| other.holds(*p)));
                let covered = self.obstacles.iter().any(|point| room.holds(*point));
                if crossing || covered {
                    fallback.get_or_insert((at, anchor, way, step));
                    continue;
                }
                self.place_label(class, (at, anchor, way, step), text);
                return;
            }
        }
        if let Some(found) = fallback {
            self.place_label(class, found, text);
        }
    }

    fn place_label(&mut self, class: &str, (at, anchor, way, step): Placed, text: &str) {
        if step > 0 {
            self.line("thin", &[way[0], way[way.len() - 1]]);
        }
        self.keep_off(way);
        self.text(class, at, anchor, text);
    }
}
