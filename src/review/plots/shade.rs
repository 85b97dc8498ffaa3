//! A third objective as shade: dark is better, so that the best stand out, also printed in grey.

use std::fmt::Write as _;

use super::frame::{SMALL, WIDTH, sense};
use crate::drawing::lettering::{Weight, cut, width};
use crate::drawing::number;
use crate::drawing::text::{escaped, significant};
use crate::run::{Finished, Goal};

/// Shades from worst to best: lightness falls all the way, ochre to blue, which the colour-blind tell apart. The
/// lightest has a contrast of 3 to white (WCAG 2.2, 1.4.11).
pub(super) const SHADES: [&str; 7] = [
    "#b78a1f", "#8f8a3a", "#66854f", "#3f7a66", "#266779", "#1c4c70", "#14305a",
];

/// Which shade each value of an objective has.
pub(super) struct Scale<'a> {
    run: &'a Finished,
    goal: &'a Goal,
    low: f64,
    high: f64,
}

impl<'a> Scale<'a> {
    /// The scale of an objective over some designs; none where it does not vary among them.
    pub(super) fn over(run: &'a Finished, goal: &'a Goal, designs: &[usize]) -> Option<Scale<'a>> {
        let values = designs.iter().map(|&design| value(run, goal, design));
        let values = values.filter(|value| value.is_finite());
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        (high > low).then_some(Scale {
            run,
            goal,
            low,
            high,
        })
    }

    /// Number of the shade of a design, 0 the worst.
    pub(super) fn shade(&self, design: usize) -> usize {
        let share = (value(self.run, self.goal, design) - self.low) / (self.high - self.low);
        let good = if self.goal.most { share } else { 1.0 - share };
        let most = SHADES.len() as f64;
        // Not a number has the worst.
        (good * most).clamp(0.0, most - 1.0) as usize
    }

    /// The key, its right end at the plot's: name, unit and sense, least value, shades, greatest value.
    pub(super) fn key(&self) -> String {
        let goal = self.run.columns.get(self.goal.column);
        let name = goal.map_or("", |column| column.name.as_str());
        let unit = goal.map_or("", |column| column.unit.as_str());
        let (low, high) = (significant(self.low, 3), significant(self.high, 3));
        let right = WIDTH - 4.0;
        let long = |text: &str| SMALL * width(text, Weight::Regular);
        let (cell, height) = (3.4, 2.6);
        let bar_end = right - long(&high) - 1.2;
        let bar = bar_end - cell * SHADES.len() as f64;
        let named = match unit.is_empty() {
            true => name.to_string(),
            false => format!("{name} in {unit}"),
        };
        let words_end = bar - 1.2 - long(&low) - 2.4;
        let room = words_end - 0.42 * WIDTH;
        let mut words = format!("{named} ({})", sense(self.goal));
        if long(&words) > room {
            words = cut(&named, Weight::Regular, room / SMALL);
        }
        let mut body = String::new();
        let mut text = |x: f64, text: &str| {
            let _ = write!(
                body,
                "<text class='small end' x='{}' y='4.5'>{}</text>",
                number(x),
                escaped(text)
            );
        };
        text(words_end, &words);
        text(bar - 1.2, &low);
        text(right, &high);
        for index in 0..SHADES.len() {
            // The least value stands left: it is the best where less is better.
            let shade = match self.goal.most {
                true => index,
                false => SHADES.len() - 1 - index,
            };
            let _ = write!(
                body,
                "<path fill='{}' d='M{} {}h{cell}v{height}h-{cell}z'/>",
                SHADES[shade],
                number(bar + cell * index as f64),
                number(2.1)
            );
        }
        body
    }
}

fn value(run: &Finished, goal: &Goal, design: usize) -> f64 {
    let row = run.designs.row(design);
    row.get(goal.column).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of a colour (WCAG 2.2, definition of relative luminance).
    fn luminance(colour: &str) -> f64 {
        let part = |from: usize| {
            let c = f64::from(u8::from_str_radix(&colour[from..from + 2], 16).unwrap()) / 255.0;
            match c <= 0.04045 {
                true => c / 12.92,
                false => ((c + 0.055) / 1.055).powf(2.4),
            }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    }

    #[test]
    fn shades_grow_darker_and_all_show_on_white() {
        let all = SHADES.map(luminance);
        assert!(
            all.windows(2).all(|pair| pair[1] < 0.93 * pair[0]),
            "{all:?}"
        );
        let contrast = 1.05 / (all[0] + 0.05);
        assert!(contrast >= 3.0, "{contrast}");
    }
}
