//! One measure over the revisions as a small plot, and several of them as one picture.

use std::fmt::Write as _;

use crate::drawing::text::{escaped, raised, shortened, significant};
use crate::drawing::{number, standalone};
use crate::ledger::{History, Measure, Sense};
use crate::review::plots::{tick_words, ticks};

/// Size of a plot and of the frame in it, in mm.
const WIDTH: f64 = 92.0;
const HEIGHT: f64 = 54.0;
const LEFT: f64 = 14.0;
const RIGHT: f64 = 7.0;
const TOP: f64 = 11.0;
const BOTTOM: f64 = 8.0;

/// Revisions up to which every dot has its value beside it, and letters that stand along the axis.
const MOST_VALUES: usize = 5;
const MOST_LETTERS: usize = 16;

/// Plots abreast in a picture, and the gap between them in mm.
const ABREAST: usize = 2;
const GAP: f64 = 6.0;

/// The measures `shown` (by index) over the revisions as a complete SVG file.
pub fn history_plot(history: &History, shown: &[usize]) -> String {
    let rows = shown.len().div_ceil(ABREAST).max(1);
    let wide = WIDTH * ABREAST.min(shown.len().max(1)) as f64;
    let wide = wide + GAP * (ABREAST.min(shown.len().max(1)) - 1) as f64;
    let high = rows as f64 * (HEIGHT + GAP) - GAP;
    let mut body = String::new();
    for (place, at) in shown.iter().enumerate() {
        let x = (place % ABREAST) as f64 * (WIDTH + GAP);
        let y = (place / ABREAST) as f64 * (HEIGHT + GAP);
        let _ = write!(
            body,
            "<g transform='translate({} {})'>{}</g>",
            number(x),
            number(y),
            drawn(history, &history.measures[*at])
        );
    }
    let (wide, high) = (number(wide), number(high));
    standalone(&format!(
        "<svg viewBox='0 0 {wide} {high}' width='{wide}mm' height='{high}mm' role='img' aria-label='Measures of {} over its \
         revisions'><path class='paper' d='M0 0h{wide}v{high}H0z'/>{body}</svg>",
        escaped(&history.study)
    ))
}

/// One measure over the revisions, for a page.
pub(super) fn panel(history: &History, measure: &Measure) -> String {
    format!(
        "<svg class='plot' viewBox='0 0 {WIDTH} {HEIGHT}' width='{WIDTH}mm' height='{HEIGHT}mm' role='img' aria-label='{} over \
         the revisions'>{}</svg>",
        escaped(&measure.name),
        drawn(history, measure)
    )
}

/// What a measure is, with unit and sense: `mass in g, less is better`.
pub(super) fn words(measure: &Measure) -> String {
    let unit = match measure.unit.as_str() {
        "" => String::new(),
        unit => format!(" in {}", raised(unit)),
    };
    let sense = match measure.sense {
        Some(Sense::Least) => ", less is better",
        Some(Sense::Most) => ", more is better",
        None => "",
    };
    format!("{}{unit}{sense}", measure.name)
}

fn drawn(history: &History, measure: &Measure) -> String {
    let title = format!(
        "<text x='1' y='4.5'>{}</text>",
        escaped(&shortened(&words(measure), 52))
    );
    let known = measure
        .values
        .iter()
        .flatten()
        .filter(|value| value.is_finite());
    let low = known
        .clone()
        .fold(f64::INFINITY, |low, value| low.min(*value));
    let high = known.fold(f64::NEG_INFINITY, |high, value| high.max(*value));
    if low > high {
        return format!("{title}<text class='small' x='1' y='12'>no revision tells it</text>");
    }
    let room = match high - low {
        span if span > 1e-9 * high.abs() => 0.14 * span,
        _ if high == 0.0 => 1.0,
        _ => 0.1 * high.abs(),
    };
    // Below there is room for a value under its dot.
    let (low, high) = (low - 2.0 * room, high + room);
    let count = measure.values.len();
    let x = |step: usize| match count {
        1 => 0.5 * (LEFT + WIDTH - RIGHT),
        _ => LEFT + 5.0 + step as f64 * (WIDTH - LEFT - RIGHT - 8.0) / (count - 1) as f64,
    };
    let y = |value: f64| HEIGHT - BOTTOM - (value - low) / (high - low) * (HEIGHT - TOP - BOTTOM);
    let mut body = title;
    for tick in ticks(low, high, 5) {
        let at = y(tick);
        let _ = write!(
            body,
            "<path class='grid' d='M{} {}H{}'/><text class='small end' x='{}' y='{}'>{}</text>",
            number(LEFT),
            number(at),
            number(WIDTH - RIGHT),
            number(LEFT - 1.2),
            number(at + 0.9),
            tick_words(tick)
        );
    }
    let step = count.div_ceil(MOST_LETTERS).max(1);
    for (index, each) in history.steps.iter().enumerate() {
        if index % step == 0 || index + 1 == count {
            let _ = write!(
                body,
                "<text class='small middle' x='{}' y='{}'>{}</text>",
                number(x(index)),
                number(HEIGHT - 3.0),
                escaped(each.letter.as_str())
            );
        }
    }
    let _ = write!(
        body,
        "<path class='axis' d='M{l} {TOP}V{b}H{r}'/>",
        l = number(LEFT),
        b = number(HEIGHT - BOTTOM),
        r = number(WIDTH - RIGHT)
    );
    let points: Vec<Option<(f64, f64)>> = measure
        .values
        .iter()
        .enumerate()
        .map(|(index, value)| {
            value
                .filter(|value| value.is_finite())
                .map(|value| (x(index), y(value)))
        })
        .collect();
    // A revision that does not tell the measure leaves a gap.
    let (mut line, mut pen) = (String::new(), 'M');
    for point in &points {
        match point {
            Some((x, y)) => {
                let _ = write!(line, "{pen}{} {}", number(*x), number(*y));
                pen = 'L';
            }
            None => pen = 'M',
        }
    }
    let _ = write!(body, "<path class='front-line' d='{line}'/>");
    for (index, point) in points.iter().enumerate() {
        let Some((x, y)) = point else { continue };
        let class = if measure.better(index) == Some(false) {
            "dot worse"
        } else {
            "dot"
        };
        let _ = write!(
            body,
            "<circle class='{class}' cx='{}' cy='{}' r='1'/>",
            number(*x),
            number(*y)
        );
        if count <= MOST_VALUES || index == 0 || index + 1 == count {
            let value = measure.values[index].unwrap_or(f64::NAN);
            // Beside the line, which comes from below where the value rose.
            let rises = measure
                .change(index)
                .is_some_and(|(difference, _)| difference > 0.0);
            let falls_next = points
                .get(index + 1)
                .and_then(|next| *next)
                .is_some_and(|next| next.1 > *y);
            let above = rises
                || falls_next
                || index + 1 == count && !measure.change(index).is_some_and(|each| each.0 < 0.0);
            let _ = write!(
                body,
                "<text class='small middle' x='{}' y='{}'>{}</text>",
                number(*x),
                number(if above { y - 1.8 } else { y + 3.6 }),
                significant(value, 4)
            );
        }
    }
    body
}
