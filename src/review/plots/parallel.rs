//! The front over all its axes: a line a candidate, crossing every objective and variable at its value.

use std::fmt::Write as _;

use super::super::landmarks::landmarks;
use super::frame::{HEIGHT, SMALL, WIDTH};
use super::shade::{SHADES, Scale};
use crate::drawing::lettering::{Weight, cut};
use crate::drawing::number;
use crate::drawing::text::{escaped, grouped, significant};
use crate::run::{Finished, Role};

/// Axes, at most.
const MOST_AXES: usize = 12;
/// Candidates drawn, at most; beyond it they are thinned evenly.
const MOST_LINES: usize = 300;

const LEFT: f64 = 11.0;
const RIGHT: f64 = 11.0;
const TOP: f64 = 21.0;
const BOTTOM: f64 = 7.0;

struct Axis<'a> {
    column: usize,
    name: &'a str,
    unit: &'a str,
    /// `Some(true)` for an objective of which more is better.
    most: Option<bool>,
    low: f64,
    high: f64,
}

/// Objectives, then variables, as upright axes side by side with a line a candidate, shaded by the first objective;
/// baseline and knee stand out. `None` without a front or with fewer than two axes that vary.
pub(in super::super) fn parallel_plot(run: &Finished) -> Option<String> {
    let step = run.front.len().div_ceil(MOST_LINES).max(1);
    let lines: Vec<usize> = run.front.iter().copied().step_by(step).collect();
    let baseline = (!run.designs.is_empty()).then_some(0);
    let axes = axes(run, lines.iter().copied().chain(baseline));
    if axes.len() < 2 || lines.is_empty() {
        return None;
    }
    let x = |index: usize| LEFT + (WIDTH - LEFT - RIGHT) * index as f64 / (axes.len() - 1) as f64;
    let y = |axis: &Axis, value: f64| {
        let share = (value - axis.low) / (axis.high - axis.low);
        HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)
    };
    let line = |design: usize| {
        let row = run.designs.row(design);
        let mut commands = String::new();
        let mut pen = 'M';
        for (index, axis) in axes.iter().enumerate() {
            let value = row[axis.column];
            if value.is_finite() {
                let _ = write!(
                    commands,
                    "{pen}{} {}",
                    number(x(index)),
                    number(y(axis, value))
                );
                pen = 'L';
            } else {
                pen = 'M';
            }
        }
        commands
    };
    let mut body = String::new();
    let scale = run
        .goals
        .first()
        .and_then(|goal| Scale::over(run, goal, &lines));
    // Single lines, so that they are darker where many run together; the best last.
    let opacity = (60.0 / lines.len() as f64).clamp(0.3, 0.9);
    for (index, colour) in SHADES.iter().enumerate() {
        let shade = |design: usize| match &scale {
            Some(scale) => scale.shade(design),
            None => SHADES.len() - 1,
        };
        let own: String = (lines.iter().filter(|&&design| shade(design) == index))
            .map(|&design| format!("<path d='{}'/>", line(design)))
            .collect();
        if !own.is_empty() {
            let _ = write!(
                body,
                "<g fill='none' stroke='{colour}' stroke-width='.25' stroke-opacity='{opacity:.2}'>{own}</g>"
            );
        }
    }
    for (index, axis) in axes.iter().enumerate() {
        body += &axis_drawn(axis, x(index), (x(1) - x(0)).min(30.0), index % 2 == 1);
    }
    let knee = landmarks(run, run.goals.len() + 1)
        .into_iter()
        .find(|mark| mark.knee);
    let mut key = vec![(
        "#266779",
        format!("{} on the front", grouped(run.front.len())),
    )];
    if let Some(knee) = knee {
        let commands = line(knee.design);
        let _ = write!(
            body,
            "<path class='wide' stroke-width='.6' d='{commands}'/>"
        );
        key.push(("#1d2528", format!("knee, #{}", knee.design)));
    }
    if let Some(baseline) = baseline {
        let _ = write!(
            body,
            "<path fill='none' stroke='#a4481a' stroke-width='.6' stroke-dasharray='2 .8' d='{}'/>",
            line(baseline)
        );
        key.push(("#a4481a", "baseline".into()));
    }
    body += &legend(&key, &axes[0]);
    Some(format!(
        "<svg class='plot' viewBox='0 0 {WIDTH} {HEIGHT}' width='{WIDTH}mm' height='{HEIGHT}mm' role='img' \
         aria-label='The front over objectives and variables'><path class='paper' d='M0 \
         0h{WIDTH}v{HEIGHT}H0z'/>{body}</svg>"
    ))
}

/// Objectives and variables that vary among some designs.
fn axes(run: &Finished, designs: impl Iterator<Item = usize>) -> Vec<Axis<'_>> {
    let designs: Vec<usize> = designs.collect();
    let goals = run.goals.iter().map(|goal| (goal.column, Some(goal.most)));
    let variables = (run.columns.iter().enumerate())
        .filter(|(_, column)| column.role == Role::Variable)
        .map(|(index, _)| (index, None))
        .filter(|(index, _)| !run.goals.iter().any(|goal| goal.column == *index));
    let axis = |(column, most): (usize, Option<bool>)| {
        let known = run.columns.get(column)?;
        let values = designs
            .iter()
            .map(|&design| run.designs.row(design)[column]);
        let values = values.filter(|value| value.is_finite());
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        (high > low).then_some(Axis {
            column,
            name: &known.name,
            unit: &known.unit,
            most,
            low,
            high,
        })
    };
    goals
        .chain(variables)
        .filter_map(axis)
        .take(MOST_AXES)
        .collect()
}

/// An axis with its ends, and its name above: every other one a line lower, so that longer names find room.
fn axis_drawn(axis: &Axis, x: f64, room: f64, lower: bool) -> String {
    let y = if lower { 16.0 } else { 12.6 };
    let letters = (1.9 * room - 1.0) / SMALL;
    let name = match axis.unit {
        "" => axis.name.to_string(),
        unit => format!("{} {unit}", axis.name),
    };
    // The outermost names must not leave the picture.
    let half = 0.5 * letters * SMALL;
    let half = half.min(x - 0.5).min(WIDTH - 0.5 - x).max(LEFT - 0.5);
    let name = cut(&name, Weight::Regular, 2.0 * half / SMALL);
    let arrow = match axis.most {
        Some(true) => " ↑",
        Some(false) => " ↓",
        None => "",
    };
    format!(
        "<path class='axis' d='M{x} {}V{}'/><text class='small middle' x='{x}' y='{}'>{}</text><text class='small middle' \
         x='{x}' y='{}'>{}{arrow}</text><text class='small middle' x='{x}' y='{}'>{}</text>",
        number(TOP),
        number(HEIGHT - BOTTOM),
        number(y),
        escaped(&name),
        number(TOP - 1.2),
        significant(axis.high, 4),
        number(HEIGHT - BOTTOM + 3.6),
        significant(axis.low, 4),
        x = number(x),
    )
}

fn legend(key: &[(&str, String)], first: &Axis) -> String {
    use crate::drawing::lettering::width;
    let mut body = String::new();
    let mut x = 1.0;
    for (colour, words) in key {
        let dashes = if *colour == "#a4481a" {
            " stroke-dasharray='2 .8'"
        } else {
            ""
        };
        let _ = write!(
            body,
            "<path fill='none' stroke='{colour}' stroke-width='.6'{dashes} d='M{} 3.6h6'/><text class='small' x='{}' \
             y='4.5'>{words}</text>",
            number(x),
            number(x + 7.5)
        );
        x += 13.0 + SMALL * width(words, Weight::Regular);
    }
    let words = format!("dark: good in {}; arrows: better", first.name);
    let words = cut(&words, Weight::Regular, (WIDTH - 2.0 - x) / SMALL);
    let _ = write!(
        body,
        "<text class='small end' x='{}' y='4.5'>{}</text>",
        number(WIDTH - 1.0),
        escaped(&words)
    );
    body
}
