//! Predicted against measured, before and after a calibration, as small plots.

use std::fmt::Write as _;

use super::plots::{tick_words, ticks};
use crate::drawing::text::{escaped, raised, shortened};
use crate::drawing::{number, standalone};
use crate::measured::{Of, Outcome, Row};

/// Side of the square frame of a plot, and room around it, in mm.
const SIDE: f64 = 58.0;
const LEFT: f64 = 15.0;
const RIGHT: f64 = 6.0;
const TOP: f64 = 9.0;
const BOTTOM: f64 = 12.0;

/// Plots abreast, and the height of the key under them, in mm.
const ABREAST: usize = 2;
const KEY: f64 = 8.0;

/// Predicted against measured, a plot for each kind of figure, as a complete SVG file: hollow before calibration, filled
/// after it, squares for the part held back; on the line both are alike. Times of operations stand on logarithmic axes.
///
/// `rows` and the figures of `outcome` go together.
pub fn calibration_plot(study: &str, rows: &[Row], outcome: &Outcome) -> String {
    let mut kinds: Vec<(String, String)> = Vec::new();
    for row in rows {
        let kind = kind(row);
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    let (wide, high) = (LEFT + SIDE + RIGHT, TOP + SIDE + BOTTOM);
    let abreast = ABREAST.min(kinds.len().max(1));
    let total = kinds.len().div_ceil(ABREAST).max(1) as f64 * high;
    let mut body = String::new();
    for (place, (name, unit)) in kinds.iter().enumerate() {
        let points: Vec<Point> = rows
            .iter()
            .enumerate()
            .filter(|(_, row)| kind(row).0 == *name)
            .map(|(at, row)| Point {
                measured: row.measured,
                before: outcome.before[at],
                after: outcome.after[at],
                held_back: row.held_back,
            })
            .collect();
        let (x, y) = (
            (place % ABREAST) as f64 * wide,
            (place / ABREAST) as f64 * high,
        );
        let _ = write!(
            body,
            "<g transform='translate({} {})'>{}</g>",
            number(x),
            number(y),
            panel(name, unit, &points)
        );
    }
    body += &key(total);
    let (wide, high) = (number(abreast as f64 * wide), number(total + KEY));
    standalone(&format!(
        "<svg viewBox='0 0 {wide} {high}' width='{wide}mm' height='{high}mm' role='img' aria-label='Measured parts of {}: \\
         predicted against measured, before and after calibration'><path class='paper' d='M0 0h{wide}v{high}H0z'/>{body}</svg>",
        escaped(study)
    ))
}

/// Name of a plot, and its unit.
fn kind(row: &Row) -> (String, String) {
    let name = match &row.of {
        Of::Mass(_) => "mass".into(),
        Of::Time(name) if name == crate::measured::CYCLE => "cycle time".into(),
        Of::Time(_) => "times of operations".into(),
        Of::Stiffness(load) => format!("{load}.stiffness"),
        Of::Frequency(..) => "frequencies".into(),
    };
    (name, row.unit.clone())
}

/// A figure of a part.
struct Point {
    measured: f64,
    before: f64,
    after: f64,
    held_back: bool,
}

fn panel(name: &str, unit: &str, points: &[Point]) -> String {
    let all = points
        .iter()
        .flat_map(|point| [point.measured, point.before, point.after]);
    let least = all.clone().fold(f64::INFINITY, f64::min);
    let most = all.fold(f64::NEG_INFINITY, f64::max);
    let logarithmic = name == "times of operations" && most > 10.0 * least;
    let scale = |value: f64| if logarithmic { value.ln() } else { value };
    let room = match scale(most) - scale(least) {
        span if span > 0.0 => 0.08 * span,
        _ => 0.02 * scale(most).abs().max(1e-9),
    };
    let (low, high) = (scale(least) - room, scale(most) + room);
    let share = |value: f64| (scale(value) - low) / (high - low);
    let (x, y) = (
        |value: f64| LEFT + SIDE * share(value),
        |value: f64| TOP + SIDE * (1.0 - share(value)),
    );
    let unit = match unit {
        "" => String::new(),
        unit => format!(" in {}", raised(unit)),
    };
    let mut body = format!(
        "<text x='1' y='4.5'>{}</text>",
        escaped(&shortened(&format!("{name}{unit}: predicted"), 44))
    );
    let marks = match logarithmic {
        true => decades(least, most),
        false => ticks(low, high, 4),
    };
    for mark in marks {
        let _ = write!(
            body,
            "<path class='grid' d='M{x} {TOP}v{SIDE}M{LEFT} {y}h{SIDE}'/><text class='small middle' x='{x}' y='{below}'>{words}</text>\\
             <text class='small end' x='{beside}' y='{level}'>{words}</text>",
            x = number(x(mark)),
            y = number(y(mark)),
            below = number(TOP + SIDE + 4.0),
            beside = number(LEFT - 1.2),
            level = number(y(mark) + 0.9),
            words = tick_words(mark),
        );
    }
    let _ = write!(
        body,
        "<path class='axis' d='M{LEFT} {TOP}v{SIDE}h{SIDE}'/><path class='chain' d='M{LEFT} {b}L{r} {TOP}'/>\\
         <text class='middle' x='{m}' y='{w}'>measured</text>",
        b = number(TOP + SIDE),
        r = number(LEFT + SIDE),
        m = number(LEFT + 0.5 * SIDE),
        w = number(TOP + SIDE + 8.5),
    );
    // What was predicted after stands over what was before.
    for point in points {
        body += &mark(
            x(point.measured),
            y(point.before),
            point.held_back,
            "dot worse",
        );
    }
    for point in points {
        body += &mark(x(point.measured), y(point.after), point.held_back, "dot");
    }
    body
}

/// A circle, or a square for the part held back.
fn mark(x: f64, y: f64, held_back: bool, class: &str) -> String {
    match held_back {
        false => format!(
            "<circle class='{class}' cx='{}' cy='{}' r='1'/>",
            number(x),
            number(y)
        ),
        true => format!(
            "<path class='{class}' d='M{} {}h2.2v2.2h-2.2z'/>",
            number(x - 1.1),
            number(y - 1.1)
        ),
    }
}

/// 1, 2 and 5 times powers of ten between two values.
fn decades(least: f64, most: f64) -> Vec<f64> {
    let first = least.log10().floor() as i32;
    let last = most.log10().ceil() as i32;
    let all = (first..=last).flat_map(|power| [1.0, 2.0, 5.0].map(|lead| lead * 10f64.powi(power)));
    all.filter(|value| (least..=most).contains(value)).collect()
}

/// What the marks mean.
fn key(top: f64) -> String {
    let y = top + 2.0;
    let words = |x: f64, text: &str| {
        format!(
            "<text class='small' x='{}' y='{}'>{text}</text>",
            number(x),
            number(y + 0.9)
        )
    };
    [
        mark(5.0, y, false, "dot worse"),
        words(7.0, "before"),
        mark(22.0, y, false, "dot"),
        words(24.0, "after"),
        mark(37.0, y, true, "dot worse"),
        mark(41.0, y, true, "dot"),
        words(43.5, "part held back"),
    ]
    .concat()
}
