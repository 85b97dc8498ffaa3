//! Plots as SVG: the objectives in pairs, and how the search went.

use std::fmt::Write as _;

use super::drawing::{number, standalone};
use super::text::{escaped, grouped, significant};
use crate::run::{Finished, Goal, Milestone};

/// Dominated designs drawn in a static plot, at most.
const MOST_DOTS: usize = 4_000;

/// Candidates from which on they are drawn smaller.
const CROWD: usize = 300;

/// Size of a plot and of the frame in it, in mm.
const WIDTH: f64 = 150.0;
const HEIGHT: f64 = 96.0;
pub(super) const LEFT: f64 = 17.0;
const RIGHT: f64 = 4.0;
const TOP: f64 = 13.0;
const BOTTOM: f64 = 14.0;

/// Static plots of a run as (file stem, complete SVG file): every pair of objectives with front and baseline,
/// and the hypervolume over the evaluations. Values that are not finite are left out.
pub fn plots(run: &Finished) -> Vec<(String, String)> {
    let mut plots = Vec::new();
    for first in 0..run.goals.len() {
        for second in first + 1..run.goals.len() {
            let (x, y) = (&run.goals[first], &run.goals[second]);
            let stem = format!("front-{}-{}", file_word(run, x), file_word(run, y));
            plots.push((stem, standalone(&pair_plot(run, x, y))));
        }
    }
    if run.trace.len() > 1 {
        plots.push(("hypervolume".into(), standalone(&trace_plot(&run.trace))));
    }
    plots
}

fn file_word(run: &Finished, goal: &Goal) -> String {
    let column = run.columns.get(goal.column);
    let name = column.map_or("", |column| &column.name);
    word_of_file(name, &format!("objective-{}", goal.column))
}

/// A name as a piece of a file name: letters and digits, the rest as single hyphens; another word where none is left.
pub(super) fn word_of_file(name: &str, otherwise: &str) -> String {
    let mut word = String::new();
    for c in name.chars().take(40) {
        if c.is_ascii_alphanumeric() {
            word.push(c.to_ascii_lowercase());
        } else if !word.ends_with('-') && !word.is_empty() {
            word.push('-');
        }
    }
    let word = word.trim_end_matches('-');
    if word.is_empty() {
        otherwise.into()
    } else {
        word.into()
    }
}

fn pair_plot(run: &Finished, x: &Goal, y: &Goal) -> String {
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
    let baseline = if run.designs.is_empty() {
        None
    } else {
        place(0)
    };

    let shown = front.iter().chain(&baseline).copied();
    let mut frame = Frame::around(shown.chain(inner_part(&cloud)));
    frame.words(run, x, y);
    frame.axes();
    let dots = |points: &[(f64, f64)], radius: f64| {
        let mut commands = String::new();
        for &point in points {
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
    };
    let faint = format!("<path class='cloud' d='{}'/>", dots(&cloud, 0.3));
    // Many candidates: smaller dots without a rim, or the rims are all that is seen.
    let crowded = front.len() > CROWD;
    let shrink = (CROWD as f64 / front.len().max(CROWD) as f64).sqrt();
    let class = if crowded { "front crowd" } else { "front" };
    let dots_of_front = dots(&front, 0.95 * shrink.max(0.4));
    let strong = format!("<path class='{class}' d='{dots_of_front}'/>");
    frame.body += &(faint + &strong);
    if let Some((x, y)) = baseline.and_then(|point| frame.paper(point)) {
        let (x, y) = (number(x), number(y));
        let _ = write!(
            frame.body,
            "<path class='base' d='M{x} {y}m0-2l2 2-2 2-2-2z'/>"
        );
    }
    frame.legend(front.len(), feasible.len(), step, baseline.is_some());
    frame.finish("Objectives of all feasible designs")
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

/// Hypervolume and share of feasible designs over the evaluations.
pub(super) fn trace_plot(trace: &[Milestone]) -> String {
    let hypervolume: Vec<_> = trace
        .iter()
        .filter(|m| m.hypervolume.is_finite())
        .map(|m| (m.designs as f64, m.hypervolume))
        .collect();
    let zero = hypervolume.last().map(|&(x, _)| (x, 0.0));
    let origin = (0.0, 0.0);
    let mut frame = Frame::around(hypervolume.iter().copied().chain([origin]).chain(zero));
    frame.x_words = "designs evaluated".into();
    frame.y_words = "hypervolume of the front (share of the final box)".into();
    frame.axes();
    let mut commands = String::new();
    let step = hypervolume.len().div_ceil(400).max(1);
    let last = hypervolume.len().saturating_sub(1);
    for (index, &point) in hypervolume.iter().enumerate() {
        if index % step != 0 && index != last {
            continue;
        }
        if let Some((x, y)) = frame.paper(point) {
            commands.push(if commands.is_empty() { 'M' } else { 'L' });
            let _ = write!(commands, "{} {}", number(x), number(y));
        }
    }
    let _ = write!(frame.body, "<path class='front-line' d='{commands}'/>");
    frame.finish("Hypervolume of the front over the designs evaluated")
}

/// A plot being drawn.
pub(super) struct Frame {
    low: (f64, f64),
    high: (f64, f64),
    pub(super) x_words: String,
    pub(super) y_words: String,
    pub(super) body: String,
}

impl Frame {
    pub(super) fn around(points: impl IntoIterator<Item = (f64, f64)>) -> Frame {
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

    fn words(&mut self, run: &Finished, x: &Goal, y: &Goal) {
        let words = |goal: &Goal| {
            let Some(column) = run.columns.get(goal.column) else {
                return String::new();
            };
            let unit = if column.unit.is_empty() {
                String::new()
            } else {
                format!(" in {}", column.unit)
            };
            let sense = if goal.most { "more" } else { "less" };
            format!("{}{unit} ({sense} is better)", column.name)
        };
        self.x_words = words(x);
        self.y_words = words(y);
    }

    /// Paper place of a point; `None` outside the frame.
    pub(super) fn paper(&self, (x, y): (f64, f64)) -> Option<(f64, f64)> {
        let u = (x - self.low.0) / (self.high.0 - self.low.0);
        let v = (y - self.low.1) / (self.high.1 - self.low.1);
        let inside = (0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v);
        let at = (
            LEFT + u * (WIDTH - LEFT - RIGHT),
            HEIGHT - BOTTOM - v * (HEIGHT - TOP - BOTTOM),
        );
        inside.then_some(at)
    }

    /// The plot's bounds and their places on paper, for a script: `low high left right` across, then up.
    pub(super) fn spans(&self) -> (String, String) {
        (
            format!("{} {} {} {}", self.low.0, self.high.0, LEFT, WIDTH - RIGHT),
            format!("{} {} {} {}", self.low.1, self.high.1, HEIGHT - BOTTOM, TOP),
        )
    }

    pub(super) fn axes(&mut self) {
        for tick in ticks(self.low.0, self.high.0) {
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
        for tick in ticks(self.low.1, self.high.1) {
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

    fn legend(&mut self, front: usize, feasible: usize, step: usize, baseline: bool) {
        let thinned = if step > 1 {
            format!(", one in {step} drawn")
        } else {
            String::new()
        };
        let dot = |class: &str| format!("<circle class='{class}' cx='0' cy='0' r='.9'/>");
        let mut items = vec![(dot("front"), format!("{} on the front", grouped(front)))];
        if baseline {
            let sign = "<path class='base' d='M0-1.5l1.5 1.5-1.5 1.5-1.5-1.5z'/>";
            items.push((sign.into(), "baseline".into()));
        }
        items.push((
            dot("cloud"),
            format!("{} feasible{thinned}", grouped(feasible)),
        ));
        let mut x = LEFT + 1.0;
        for (sign, text) in items {
            let _ = write!(
                self.body,
                "<g transform='translate({} 9)'>{sign}<text class='small' x='2.2' y='.9'>{text}</text></g>",
                number(x)
            );
            x += 8.0 + 0.52 * 2.7 * text.chars().count() as f64;
        }
    }

    pub(super) fn finish(self, label: &str) -> String {
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

/// Round values between two bounds, five or so.
pub(super) fn ticks(low: f64, high: f64) -> Vec<f64> {
    let rough = (high - low) / 5.0;
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

pub(super) fn tick_words(value: f64) -> String {
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
        assert_eq!(ticks(0.0, 10.0), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(ticks(17.3, 19.1), [17.5, 18.0, 18.5, 19.0]);
        assert!(ticks(1.0, 1.0).is_empty());
        assert!(ticks(f64::NAN, 1.0).is_empty());
    }
}
