//! The key of a load case: scale of the colours, what is seen and how, what supports hold, axes.

use super::canvas::{Anchor, Canvas, pair};
use super::labels::text_width;
use super::symbols::{self, View};
use crate::drawing::text::{decimals, grouped, significant};
use crate::evaluate::LoadRow;

/// Steps of the colour scale; each has a class `s0` to `s4` and a colour `--stress0` to `--stress4`.
pub(crate) const STEPS: usize = 5;

/// Width of a colour's step: the least round number of which five reach a stress; 0 where there is none.
pub(crate) fn nice_step(greatest: f64) -> f64 {
    if !(greatest > 0.0 && greatest.is_finite()) {
        return 0.0;
    }
    let least = greatest / STEPS as f64;
    let power = 10f64.powf(least.log10().floor());
    let leads = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];
    let fits = leads
        .into_iter()
        .find(|lead| lead * power >= least * (1.0 - 1e-9));
    fits.unwrap_or(10.0) * power
}

/// What the supports hold, every kind once.
pub(crate) fn kinds(load: &LoadRow) -> Vec<String> {
    let mut kinds: Vec<String> = Vec::new();
    for held in &load.supports {
        let words = symbols::held_words(held);
        if !kinds.contains(&words) {
            kinds.push(words);
        }
    }
    kinds
}

/// The scale of the colours.
pub(crate) fn legend(canvas: &mut Canvas, step: f64) {
    if step <= 0.0 {
        return;
    }
    let ((left, _), (_, bottom)) = canvas.extent();
    let (y, width, height) = (bottom + 4.0, 9.0, 2.4);
    for index in 0..STEPS {
        let x = left + width * index as f64;
        canvas.grow((x + width, y + height));
        let box_commands = format!("M{}h{width}v{height}h-{width}z", pair((x, y)));
        canvas.path(&format!("swatch t{index}"), &box_commands);
    }
    for index in 0..=STEPS {
        let x = left + width * index as f64;
        let words = decimals(step * index as f64, 3);
        let anchor = if index == 0 {
            Anchor::Start
        } else {
            Anchor::Middle
        };
        canvas.text("small", (x, y + height + 3.0), anchor, &words);
    }
    let x = left + width * STEPS as f64 + 5.0;
    canvas.text("small", (x, y + height - 0.2), Anchor::Start, "MPa nominal");
}

/// What is seen and how, what supports hold, the axes. `magnified`: movements, `turned`: turns, 0 where none are shown.
pub(crate) fn captions(
    canvas: &mut Canvas,
    load: &LoadRow,
    view: View,
    (magnified, turned): (f64, f64),
) {
    let ((left, _), (_, bottom)) = canvas.extent();
    let times = |value: f64| match value {
        value if value >= 1.0 => grouped(value.round() as usize),
        value => significant(value, 1),
    };
    let mut lines = vec![if turned > 0.0 {
        format!("turns about the path × {}, {}", times(turned), view.words())
    } else if magnified > 0.0 {
        format!("movement × {}, {}", times(magnified), view.words())
    } else {
        view.words().to_string()
    }];
    let kinds = kinds(load);
    for (index, words) in kinds.iter().enumerate() {
        let number = if kinds.len() > 1 {
            format!("{}  ", index + 1)
        } else {
            String::new()
        };
        lines.push(format!("{number}held: {words}"));
    }
    if kinds.is_empty() {
        lines.push("no support: the frame floats".into());
    }
    for (index, line) in lines.iter().enumerate() {
        let y = bottom + 5.0 + 4.0 * index as f64;
        canvas.text("small", (left, y), Anchor::Start, line);
    }
    let longest = lines
        .iter()
        .map(|line| text_width(2.7, line))
        .fold(54.0, f64::max);
    let up = if view == View::Plan { 1.0 } else { 3.4 };
    symbols::axes(canvas, view, (left + longest + 8.0, bottom + up + 7.0));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_of_the_scale_are_round_and_reach_the_greatest_stress() {
        for (greatest, step) in [
            (31.8, 8.0),
            (50.0, 10.0),
            (0.62, 0.15),
            (121.0, 25.0),
            (0.0, 0.0),
        ] {
            assert!((nice_step(greatest) - step).abs() < 1e-12, "{greatest}");
            assert!(5.0 * nice_step(greatest) >= greatest * (1.0 - 1e-9));
        }
    }
}
