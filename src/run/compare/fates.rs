//! What becomes of a design of one run in the other: matched, beaten, broken, not to be made.

use super::data::{Fate, Nearest};
use crate::analyse;
use crate::evaluate::setup::{Range, Variable};
use crate::run::prepare::Prepared;

/// Share of a variable's range below which two values are the same.
const SAME: f64 = 1e-6;

/// Points of candidates, to find the nearest among.
pub(super) struct Crowd<'a> {
    /// Numbers of the candidates.
    pub designs: &'a [usize],
    /// Their variables in base units, in the earlier run's order.
    pub points: &'a [Vec<f64>],
    /// Span of each variable over both runs' ranges.
    pub spans: &'a [f64],
}

impl Crowd<'_> {
    /// The candidate nearest to a point; of equals the first.
    pub(super) fn nearest(&self, point: &[f64]) -> Option<Nearest> {
        let mut best: Option<Nearest> = None;
        for (design, other) in self.designs.iter().zip(self.points) {
            let distance = self.distance(point, other);
            if best.is_none_or(|best| distance < best.distance) {
                best = Some(Nearest {
                    design: *design,
                    distance,
                });
            }
        }
        best
    }

    fn distance(&self, a: &[f64], b: &[f64]) -> f64 {
        let shares = a.iter().zip(b).zip(self.spans);
        let square: f64 = shares
            .map(|((a, b), span)| ((a - b) / span).abs())
            .map(|share| if share <= SAME { 0.0 } else { share * share })
            .sum();
        (square / a.len().max(1) as f64).sqrt()
    }
}

/// Span of a variable over two ranges, never 0.
pub(super) fn span(a: &Variable, b: &Variable) -> f64 {
    let ends = |range: &Range| match range {
        Range::Continuous { low, high, .. } => (*low, *high),
        Range::Integer { low, high } => (*low as f64, *high as f64),
        Range::Choice(values) => values
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(*value), high.max(*value))
            }),
    };
    let (a, b) = (ends(&a.range), ends(&b.range));
    let span = a.1.max(b.1) - a.0.min(b.0);
    if span > 0.0 && span.is_finite() {
        span
    } else {
        a.0.abs().max(1e-9)
    }
}

/// Why a study can't have a design: the first variable that can't take its value. `point` in the study's own order.
pub(super) fn outside(prepared: &Prepared, point: &[f64]) -> Option<String> {
    let variables = prepared.study.variables.iter().zip(point);
    for (variable, &value) in variables {
        let close = |other: f64| (other - value).abs() <= 1e-9 * value.abs().max(1e-6);
        let why = match &variable.range {
            Range::Choice(values) if !values.iter().any(|each| close(*each)) => {
                "not among the choices"
            }
            Range::Continuous { low, .. } if value < *low && !close(*low) => "below its range",
            Range::Continuous { high, .. } if value > *high && !close(*high) => "above its range",
            Range::Integer { low, .. } if value < *low as f64 => "below its range",
            Range::Integer { high, .. } if value > *high as f64 => "above its range",
            _ => continue,
        };
        let value = variable.unit.print(value);
        return Some(format!("{} = {value} is {why}", variable.name));
    }
    None
}

/// What becomes of a design among the candidates of a run.
///
/// `goals`: its objectives, less is better; `violations`: as the run's study judges it; `front`: the candidates'
/// objectives, of which `designs` are the numbers.
pub(super) fn fate(
    prepared: &Prepared,
    goals: &[f64],
    violations: &[f64],
    front: &[Vec<f64>],
    designs: &[usize],
) -> (Fate, String) {
    let names = prepared.job.limits.iter().map(|limit| limit.name.as_str());
    let names = names.chain([
        "a geometric rule",
        "tools in stock",
        "the chance of meeting all",
    ]);
    let mut worst: Option<(f64, &str)> = None;
    for (violation, name) in violations.iter().zip(names) {
        let size = if violation.is_nan() {
            f64::INFINITY
        } else {
            *violation
        };
        if size > SLACK && worst.is_none_or(|(most, _)| size > most) {
            worst = Some((size, name));
        }
    }
    if let Some((size, name)) = worst {
        let limits = prepared.job.limits.len();
        let is_tool = violations[limits + 1] > SLACK;
        return match is_tool {
            true => (Fate::NotMade, "a tool is not in stock".into()),
            false if size < 1.0 => (Fate::Breaks, format!("{name} by {:.1} %", 100.0 * size)),
            false => (Fate::Breaks, name.into()),
        };
    }
    let better: Vec<usize> = (0..front.len())
        .filter(|&at| beats(&front[at], goals))
        .collect();
    match strongest(goals, front, &better) {
        Some(at) => (Fate::Beaten, format!("design {}", designs[at])),
        None => (Fate::Stays, String::new()),
    }
}

/// Whether some objectives are better than others by more than rounding.
pub(super) fn beats(other: &[f64], goals: &[f64]) -> bool {
    let slack = |goal: f64| SLACK * goal.abs();
    let no_worse = other.iter().zip(goals).all(|(o, g)| *o <= g + slack(*g));
    no_worse && other.iter().zip(goals).any(|(o, g)| *o < g - slack(*g))
}

/// Whether a design meets everything.
pub(super) fn is_feasible(violations: &[f64]) -> bool {
    violations.iter().all(|violation| *violation <= SLACK)
}

/// Differences smaller than this share are rounding.
const SLACK: f64 = 1e-9;

/// Of the rows that are better, the one that is most so, as a share of each objective, taken together.
fn strongest(goals: &[f64], front: &[Vec<f64>], better: &[usize]) -> Option<usize> {
    let gain = |at: usize| -> f64 {
        let pairs = front[at].iter().zip(goals);
        pairs.map(|(o, g)| (g - o) / g.abs().max(1e-300)).sum()
    };
    let mut best: Option<(f64, usize)> = None;
    for &at in better {
        if best.is_none_or(|(most, _)| gain(at) > most) {
            best = Some((gain(at), at));
        }
    }
    best.map(|(_, at)| at)
}

/// Share of the box around two fronts, a tenth wider on the bad side, that each beats. Objectives, less is better.
/// More than three objectives are judged on 100 spread candidates of each front.
pub(in crate::run) fn hypervolume_shares(fronts: [&[Vec<f64>]; 2]) -> [f64; 2] {
    let width = fronts
        .iter()
        .find_map(|front| front.first())
        .map_or(0, Vec::len);
    let all = || fronts.iter().flat_map(|front| front.iter());
    let low: Vec<f64> = (0..width)
        .map(|k| all().map(|row| row[k]).fold(f64::INFINITY, f64::min))
        .collect();
    let high: Vec<f64> = (0..width)
        .map(|k| all().map(|row| row[k]).fold(f64::NEG_INFINITY, f64::max))
        .collect();
    let reference = vec![WIDER; width];
    fronts.map(|front| {
        let kept = match width {
            0..=3 => (0..front.len()).collect(),
            _ => analyse::spread(front, 100),
        };
        let scaled: Vec<f64> = kept
            .iter()
            .flat_map(|&at| {
                let (low, high) = (&low, &high);
                front[at].iter().enumerate().map(move |(k, value)| {
                    let span = high[k] - low[k];
                    if span > 0.0 {
                        (value - low[k]) / span
                    } else {
                        0.0
                    }
                })
            })
            .collect();
        crate::explore::hypervolume(&scaled, &reference) / WIDER.powi(width as i32)
    })
}

/// The box around the fronts goes from 0 to 1 in each objective, what counts to here.
const WIDER: f64 = 1.1;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_front_s_share_of_the_common_box_by_hand() {
        // Box 0..1 by 0..1, counted to 1.1 by 1.1 = 1.21. (0, 1), (1, 0): 1.1 x 0.1 + 0.1 x 1.1 - 0.1 x 0.1 = 0.21;
        // (0.5, 0.5) alone: 0.6 x 0.6.
        let ends = [vec![0.0, 10.0], vec![1.0, 0.0]];
        let middle = [vec![0.5, 5.0]];
        let [a, b] = hypervolume_shares([&ends, &middle]);
        assert!((a - 0.21 / 1.21).abs() < 1e-12, "{a}");
        assert!((b - 0.36 / 1.21).abs() < 1e-12, "{b}");
        assert_eq!(hypervolume_shares([&[], &[]]), [0.0, 0.0]);
    }

    #[test]
    fn the_nearest_is_told_with_its_distance() {
        let crowd = Crowd {
            designs: &[7, 9],
            points: &[vec![1.0, 2.0], vec![1.0, 3.0 + 1e-12]],
            spans: &[10.0, 2.0],
        };
        let same = crowd.nearest(&[1.0, 3.0]).unwrap();
        assert_eq!((same.design, same.distance), (9, 0.0));
        // A quarter of the second variable's range, none of the first: sqrt(0.25² / 2).
        let near = crowd.nearest(&[1.0, 1.5]).unwrap();
        assert_eq!(near.design, 7);
        assert!((near.distance - (0.0625_f64 / 2.0).sqrt()).abs() < 1e-12);
    }
}
