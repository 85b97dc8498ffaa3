//! Two objectives against each other: what is feasible, the front, today's revision.

use std::fmt::Write as _;

use super::super::landmarks::landmarks;
use super::super::page::RevisionMark;
use super::frame::{Frame, LEFT, SMALL};
use super::shade::{SHADES, Scale};
use crate::drawing::lettering::{Weight, cut, width};
use crate::drawing::number;
use crate::drawing::text::{escaped, grouped};
use crate::run::{Finished, Goal};

/// Dominated designs drawn in a static plot, at most.
const MOST_DOTS: usize = 4_000;

/// Candidates from which on they are drawn smaller.
const CROWD: usize = 300;

/// Candidates that are named by their number.
const NAMED: usize = 4;

/// A plot of two objectives, front and baseline marked, ends and knee named; a third objective as shade.
pub(in super::super) fn front_plot(
    run: &Finished,
    x: &Goal,
    y: &Goal,
    revisions: &[RevisionMark],
) -> String {
    let place = |design: usize| {
        let row = run.designs.row(design);
        let at = (row.get(x.column).copied(), row.get(y.column).copied());
        match at {
            (Some(x), Some(y)) if x.is_finite() && y.is_finite() => Some((x, y)),
            _ => None,
        }
    };
    let feasible: Vec<usize> = (run.designs.held())
        .filter(|&design| run.designs.violation_of(design) == 0.0)
        .collect();
    let step = feasible.len().div_ceil(MOST_DOTS).max(1);
    let cloud: Vec<_> = feasible
        .iter()
        .step_by(step)
        .filter_map(|&d| place(d))
        .collect();
    let front: Vec<_> = run.front.iter().filter_map(|&d| place(d)).collect();
    let baseline = match run.designs.is_empty() {
        true => None,
        false => place(0),
    };
    let third = (run.goals.iter()).find(|goal| goal.column != x.column && goal.column != y.column);
    let scale = third.and_then(|goal| Scale::over(run, goal, &run.front));

    let shown = front.iter().chain(&baseline).copied();
    let mut frame = Frame::around(shown.chain(inner_part(&cloud)));
    frame.words(run, x, y, scale.is_some());
    frame.axes();
    let faint = dots(&frame, cloud.iter().copied(), 0.3);
    let _ = write!(frame.body, "<path class='cloud' d='{faint}'/>");
    // Many candidates: smaller dots without a rim, or the rims are all that is seen.
    let shrink = (CROWD as f64 / front.len().max(CROWD) as f64).sqrt();
    let radius = 0.95 * shrink.max(0.4);
    match &scale {
        None => {
            let crowded = front.len() > CROWD;
            let class = if crowded { "front crowd" } else { "front" };
            let strong = dots(&frame, front.iter().copied(), radius);
            let _ = write!(frame.body, "<path class='{class}' d='{strong}'/>");
        }
        Some(scale) => {
            for (index, colour) in SHADES.iter().enumerate() {
                let own = run.front.iter().filter(|&&d| scale.shade(d) == index);
                let own = dots(&frame, own.filter_map(|&d| place(d)), radius);
                if !own.is_empty() {
                    let _ = write!(frame.body, "<path fill='{colour}' d='{own}'/>");
                }
            }
            frame.body += &scale.key();
        }
    }
    let adopted: Vec<(&str, (f64, f64))> = (revisions.iter())
        .filter_map(|revision| {
            let value = |goal: &Goal| revision.values.get(goal.column).copied().flatten();
            let at = frame.paper((value(x)?, value(y)?))?;
            Some((revision.letter.as_str(), at))
        })
        .collect();
    let taken = adopted
        .iter()
        .map(|(_, (x, y))| [x - 2.0, y - 2.0, x + 2.0, y + 2.0]);
    let taken = taken.collect();
    name_some(&mut frame, run, &place, taken);
    for (letter, at) in &adopted {
        frame.body += &revision_mark(letter, *at);
    }
    if let Some((x, y)) = baseline.and_then(|point| frame.paper(point)) {
        let (x, y) = (number(x), number(y));
        let _ = write!(
            frame.body,
            "<path class='base' d='M{x} {y}m0-2l2 2-2 2-2-2z'/>"
        );
    }
    let counts = (front.len(), feasible.len(), step);
    let marked = (baseline.is_some(), !adopted.is_empty());
    frame.body += &legend(counts, marked, scale.is_some());
    frame.finish("Objectives of all feasible designs")
}

/// Rings about the ends of the front and its knee, each with its number, where there is room for it.
fn name_some(
    frame: &mut Frame,
    run: &Finished,
    place: &dyn Fn(usize) -> Option<(f64, f64)>,
    mut taken: Vec<[f64; 4]>,
) {
    for mark in landmarks(run, NAMED) {
        let Some((x, y)) = place(mark.design).and_then(|point| frame.paper(point)) else {
            continue;
        };
        let words = match mark.knee {
            true => format!("#{}, knee", mark.design),
            false => format!("#{}", mark.design),
        };
        let long = SMALL * width(&words, Weight::Regular);
        // Right, left, above, below: the first that stands clear of the others and of the frame.
        let places = [
            (x + 2.0, y + 0.9),
            (x - 2.0 - long, y + 0.9),
            (x - 0.5 * long, y - 2.2),
            (x - 0.5 * long, y + 4.0),
        ];
        let clear = |&&(left, base): &&(f64, f64)| {
            let own = [left, base - 2.2, left + long, base + 0.6];
            frame.holds(own) && !taken.iter().any(|other| overlap(own, *other))
        };
        let found = places.iter().find(clear).copied();
        let _ = write!(
            frame.body,
            "<circle fill='none' stroke='#1d2528' stroke-width='.3' cx='{}' cy='{}' r='1.5'/>",
            number(x),
            number(y)
        );
        if let Some((left, base)) = found {
            taken.push([left, base - 2.2, left + long, base + 0.6]);
            // A white rim keeps the number legible over dots.
            let _ = write!(
                frame.body,
                "<text class='small' x='{x}' y='{y}' stroke='#fff' stroke-width='.7' \
                 stroke-linejoin='round'>{words}</text><text class='small' x='{x}' y='{y}'>{words}</text>",
                x = number(left),
                y = number(base)
            );
        }
    }
}

/// A square with the letters of an adopted revision.
fn revision_mark(letter: &str, (x, y): (f64, f64)) -> String {
    format!(
        "<path fill='#fff' stroke='#a4481a' stroke-width='.35' d='M{} {}h3.4v3.4h-3.4z'/><text class='small middle' \
         x='{}' y='{}'>{}</text>",
        number(x - 1.7),
        number(y - 1.7),
        number(x),
        number(y + 0.95),
        escaped(&cut(letter, Weight::Regular, 1.3)),
    )
}

fn overlap(a: [f64; 4], b: [f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

fn dots(frame: &Frame, points: impl Iterator<Item = (f64, f64)>, radius: f64) -> String {
    let mut commands = String::new();
    for point in points {
        if let Some((x, y)) = frame.paper(point) {
            let _ = write!(
                commands,
                "M{} {}m-{r} 0a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0-{d} 0",
                number(x),
                number(y),
                r = number(radius),
                d = number(2.0 * radius)
            );
        }
    }
    commands
}

/// The cloud without its extreme 2 % on each side of each axis, so that a few far points don't squeeze the rest.
fn inner_part(cloud: &[(f64, f64)]) -> Vec<(f64, f64)> {
    if cloud.len() < 50 {
        return cloud.to_vec();
    }
    let mut xs: Vec<f64> = cloud.iter().map(|p| p.0).collect();
    let mut ys: Vec<f64> = cloud.iter().map(|p| p.1).collect();
    xs.sort_by(f64::total_cmp);
    ys.sort_by(f64::total_cmp);
    let cut = cloud.len() / 50;
    let last = cloud.len() - 1 - cut;
    vec![(xs[cut], ys[cut]), (xs[last], ys[last])]
}

fn legend(
    (front, feasible, step): (usize, usize, usize),
    (baseline, revisions): (bool, bool),
    shaded: bool,
) -> String {
    let thinned = match step > 1 {
        true => format!(", one in {step} drawn"),
        false => String::new(),
    };
    let sign = |markup: &str| markup.to_string();
    let dot = match shaded {
        true => format!("<circle fill='{}' cx='0' cy='0' r='.9'/>", SHADES[5]),
        false => sign("<circle class='front' cx='0' cy='0' r='.9'/>"),
    };
    let mut items = vec![(dot, format!("{} on the front", grouped(front)))];
    if baseline {
        let diamond = sign("<path class='base' d='M0-1.5l1.5 1.5-1.5 1.5-1.5-1.5z'/>");
        items.push((diamond, "baseline".into()));
    }
    if revisions {
        items.push((revision_mark("A", (-0.6, 0.0)), "adopted revision".into()));
    }
    let dot = sign("<circle class='cloud' cx='0' cy='0' r='.9'/>");
    items.push((dot, format!("{} feasible{thinned}", grouped(feasible))));
    let mut x = LEFT + 1.0;
    let mut body = String::new();
    for (sign, text) in items {
        let _ = write!(
            body,
            "<g transform='translate({} 9)'>{sign}<text class='small' x='2.2' y='.9'>{text}</text></g>",
            number(x)
        );
        x += 8.0 + SMALL * width(&text, Weight::Regular);
    }
    body
}
