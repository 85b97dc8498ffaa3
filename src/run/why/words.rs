//! Why a candidate is as it is, in words, for terminal and page.

use super::{Active, Changed, Exchange, Shift, Step, Why};
use crate::units::print_number;

/// A step that betters an objective: what is changed, what that gains, and what it breaks or costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Better {
    /// `floor 1.2 -> 1.1 mm`.
    pub change: String,
    /// `-1.3 g`.
    pub gain: String,
    /// `breaks strength by 2.1 %`, `costs squeeze.stiffness -12 N/mm`.
    pub verdict: String,
    /// Whether it costs nothing.
    pub beats: bool,
}

impl Why {
    /// What holds it, a line each.
    pub fn holds(&self) -> Vec<String> {
        let constraints = self.active.iter().map(active);
        let ends = self
            .ends
            .iter()
            .map(|end| format!("{} {}: at its {}", end.variable, end.value, end.end));
        let mut lines: Vec<String> = constraints.chain(ends).collect();
        if lines.is_empty() {
            lines.push("no constraint and no bound: a trade between objectives alone".into());
        }
        lines
    }

    /// Exchange rates, a line each.
    pub fn rates(&self) -> Vec<String> {
        self.exchange.iter().map(rate).collect()
    }

    /// Nearest neighbours: number of the design, and what is otherwise there.
    pub fn nearest(&self) -> Vec<(usize, String)> {
        let words = |changes: &[Changed]| -> String {
            let all: Vec<String> = changes.iter().map(Changed::words).collect();
            all.join(", ")
        };
        let each = self.neighbours.iter();
        each.map(|each| {
            (
                each.design,
                format!("{}: {}", words(&each.changes), shifts(&each.shifts)),
            )
        })
        .collect()
    }

    /// For each objective the single steps that better it.
    pub fn better(&self) -> Vec<(String, Vec<Better>)> {
        let solved = self.steps.iter().find(|step| !step.shifts.is_empty());
        let names = solved.map_or(&[][..], |step| &step.shifts);
        let of_goal = |goal: usize| {
            let steps = self.steps.iter().filter(|step| step.betters(goal));
            steps
                .map(|step| Better {
                    change: step.change.words(),
                    gain: shift(&step.shifts[goal]),
                    verdict: verdict(step, goal),
                    beats: step.beats,
                })
                .collect()
        };
        let names = names.iter().enumerate();
        names
            .map(|(goal, shift)| (shift.name.clone(), of_goal(goal)))
            .collect()
    }
}

impl Changed {
    /// `floor 1.2 -> 1.1 mm`.
    pub fn words(&self) -> String {
        let [from, to] = [self.from, self.to].map(print_number);
        let text = format!("{} {from} -> {to} {}", self.variable, self.unit);
        text.trim_end().to_string()
    }
}

fn active(each: &Active) -> String {
    let held = match each.held.len() {
        0 => String::new(),
        _ => format!("; broken by {}", each.held.join(", ")),
    };
    let (room, margin) = match each.margin < 0.0 {
        true => ("broken by", -each.margin),
        false => ("room", each.margin),
    };
    let [value, limit] = [each.value, each.limit].map(print_number);
    let value = format!("{value} {}", each.unit);
    format!(
        "{}: {} against {limit}, {room} {:.1} %{held}",
        each.name,
        value.trim_end(),
        100.0 * margin
    )
}

fn rate(rate: &Exchange) -> String {
    let per = format!("1 {}", rate.per_unit);
    let per = per.trim_end();
    let cost = rate.cost.abs();
    // The error to two digits, the rate to as many places.
    let places = match rate.error > 0.0 {
        true => (1 - rate.error.log10().floor() as i32).clamp(0, 8) as usize,
        false => 4,
    };
    let size = format!("{cost:.places$} ± {:.places$} {}", rate.error, rate.of_unit);
    let (of, per_name, size) = (&rate.of, &rate.per, size.trim_end());
    if cost <= 2.0 * rate.error {
        return format!("{per_name} better by {per}: no clear price in {of} ({size})");
    }
    match rate.cost > 0.0 {
        true => format!("{per_name} better by {per} costs {size} of {of}"),
        false => format!("{per_name} better by {per} betters {of} by {size} as well"),
    }
}

/// What a step that betters an objective breaks or costs.
fn verdict(step: &Step, goal: usize) -> String {
    if step.beats {
        return "costs nothing: the search has missed it".into();
    }
    if !step.broken.is_empty() {
        let broken = step.broken.iter().map(|broken| match broken.by {
            by if by < 0.0005 => format!("{} by less than 0.1 %", broken.name),
            by if by < 1.0 => format!("{} by {:.1} %", broken.name, 100.0 * by),
            _ => broken.name.clone(),
        });
        let all: Vec<String> = broken.collect();
        return format!("breaks {}", all.join(", "));
    }
    let worse = step.shifts.iter().enumerate();
    let worse: Vec<String> = worse
        .filter(|(index, each)| *index != goal && each.better == Some(false))
        .map(|(_, each)| format!("{} {}", each.name, shift(each)))
        .collect();
    format!("costs {}", worse.join(", "))
}

fn shifts(all: &[Shift]) -> String {
    let changed = all.iter().filter(|each| each.better.is_some());
    let words: Vec<String> = changed
        .map(|each| format!("{} {}", each.name, shift(each)))
        .collect();
    words.join(", ")
}

/// `-1.3 g`.
fn shift(each: &Shift) -> String {
    let sign = if each.by > 0.0 { "+" } else { "" };
    let text = format!("{sign}{} {}", print_number(each.by), each.unit);
    text.trim_end().to_string()
}
