//! The page of a study's revisions: plots, a table behind each, every step in words.

use super::panel::{panel, words};
use crate::drawing::text::{escaped, grouped, raised, significant};
use crate::ledger::{Change, History, Measure, Step};
use crate::review::page::{STYLES, fill, hash};

const TEMPLATE: &str = include_str!("history.html");
const STYLE: &str = include_str!("history.css");

/// The page of a study's revisions: one HTML file that opens from the file system, makes no request and has no script.
///
/// `shown`: measures that are drawn (by index); the table has all. `tool`: program and version that make it.
pub fn history_page(history: &History, shown: &[usize], tool: &str) -> String {
    let style = STYLES.concat() + STYLE;
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{}'; img-src data:; base-uri 'none'; form-action 'none'",
        hash(&style)
    );
    let letters = |step: Option<&Step>| {
        step.map_or_else(String::new, |step| {
            format!("{}, {}", step.letter, step.date)
        })
    };
    let fields = [
        ("policy", policy.as_str()),
        ("style", &style),
        ("study", &escaped(&history.study)),
        ("counts", &counts(history)),
        ("first", &escaped(&letters(history.steps.first()))),
        ("last", &escaped(&letters(history.steps.last()))),
        ("tool", &escaped(tool)),
        ("plots", &plots(history, shown)),
        ("steps", &steps(history)),
        ("figures", &figures(history)),
    ];
    fill(TEMPLATE, &fields)
}

/// What became of the objectives from the first revision to the last, in one sentence.
fn counts(history: &History) -> String {
    let count = history.steps.len();
    let mut sentence = format!(
        "<b>{}</b> {}.",
        grouped(count),
        if count == 1 { "revision" } else { "revisions" }
    );
    if count < 2 {
        return sentence;
    }
    let told: Vec<String> = history
        .measures
        .iter()
        .filter(|measure| measure.sense.is_some())
        .filter_map(|measure| {
            let (first, last) = (
                measure.values.first().copied()??,
                measure.values.last().copied()??,
            );
            Some(format!(
                "<bdi>{}</bdi> from {} to {}",
                escaped(&measure.name),
                figure(first),
                with_unit(figure(last), &measure.unit)
            ))
        })
        .collect();
    if !told.is_empty() {
        sentence += &format!(" From the first to the last: {}.", told.join(", "));
    }
    sentence
}

fn plots(history: &History, shown: &[usize]) -> String {
    let figure = |at: &usize| {
        let measure = &history.measures[*at];
        format!(
            "<figure>{}<details><summary>{}: the same as a table</summary>{}</details></figure>",
            panel(history, measure),
            escaped(&measure.name),
            behind(history, measure)
        )
    };
    match shown.is_empty() {
        true => "<p>The revisions have no measure in common.</p>".into(),
        false => shown.iter().map(figure).collect(),
    }
}

/// The figures behind a plot.
fn behind(history: &History, measure: &Measure) -> String {
    let rows: String = history
        .steps
        .iter()
        .enumerate()
        .map(|(index, step)| {
            format!(
                "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td></tr>",
                escaped(step.letter.as_str()),
                measure.values[index].map_or_else(|| "–".into(), figure),
                change(measure, index)
            )
        })
        .collect();
    format!(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Table of {}\"><table class=\"figures\"><caption>{}</caption><thead><tr><th scope=\"col\">revision</th><th \
         scope=\"col\">value</th><th scope=\"col\">change</th></tr></thead><tbody>{rows}</tbody></table></div>",
        escaped(&measure.name),
        escaped(&words(measure))
    )
}

fn steps(history: &History) -> String {
    let rows: String = history
        .steps
        .iter()
        .enumerate()
        .map(|(index, step)| {
            let by = match step.by.as_slice() {
                [] => "–".into(),
                names => format!("<bdi>{}</bdi>", escaped(&names.join(", "))),
            };
            let broken = match step.violation > 0.0 {
                true => format!(
                    "<br><b>breaks a constraint by {} %</b>",
                    significant(100.0 * step.violation, 3)
                ),
                false => String::new(),
            };
            format!(
                "<tr><th scope=\"row\">{}</th><td class=\"words date\">{}</td><td class=\"words\"><bdi>{}</bdi>{broken}</td><td \
                 class=\"words\">{}</td><td class=\"words\">{by}</td><td class=\"words\"><bdi>{}</bdi>, design {}</td></tr>",
                escaped(step.letter.as_str()),
                step.date,
                escaped(&step.reason),
                changed(index, step),
                escaped(&step.source.0),
                step.source.1
            )
        })
        .collect();
    format!(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Table of revisions\"><table class=\"figures told-steps\">\
         <thead><tr><th scope=\"col\">revision</th><th scope=\"col\" class=\"words\">date</th><th scope=\"col\" class=\"words\">reason\
         </th><th scope=\"col\" class=\"words\">dimensions changed</th><th scope=\"col\" class=\"words\">by</th><th scope=\"col\" \
         class=\"words\">from</th></tr></thead><tbody>{rows}</tbody></table></div>"
    )
}

fn changed(index: usize, step: &Step) -> String {
    if step.changes.is_empty() {
        return if index == 0 { "–" } else { "none" }.into();
    }
    let item = |change: &Change| {
        let name = format!("<bdi>{}</bdi>", escaped(&change.name));
        let text = match (&change.from, &change.to) {
            (Some(from), Some(to)) => format!("{name} {} → {}", escaped(from), escaped(to)),
            (None, Some(to)) => format!("{name} new: {}", escaped(to)),
            (Some(from), None) => format!("{name} gone: was {}", escaped(from)),
            (None, None) => name,
        };
        format!("<li>{text}</li>")
    };
    let items: String = step.changes.iter().map(item).collect();
    format!("<ul class=\"changes\">{items}</ul>")
}

/// Every measure in every revision.
fn figures(history: &History) -> String {
    let heads: String = history
        .steps
        .iter()
        .map(|step| format!("<th scope=\"col\">{}</th>", escaped(step.letter.as_str())))
        .collect();
    let rows: String = history
        .measures
        .iter()
        .map(|measure| {
            let cell = |value: &Option<f64>| format!("<td>{}</td>", value.map_or_else(|| "–".into(), figure));
            let cells: String = measure.values.iter().map(cell).collect();
            let class = if measure.sense.is_some() { " class=\"goal\"" } else { "" };
            format!(
                "<tr{class}><th scope=\"row\"><bdi>{}</bdi></th><td class=\"unit\">{}</td>{cells}</tr>",
                escaped(&measure.name),
                escaped(&raised(&measure.unit))
            )
        })
        .collect();
    format!(
        "<div class=\"scroll all-figures\" tabindex=\"0\" role=\"region\" aria-label=\"Table of all figures\"><table \
         class=\"figures\"><thead><tr><th scope=\"col\">measure</th><th scope=\"col\" class=\"words\">unit</th>{heads}</tr></thead>\
         <tbody>{rows}</tbody></table></div>"
    )
}

fn figure(value: f64) -> String {
    match value.is_finite() {
        true => significant(value, 4).replace('-', "−"),
        false => "–".into(),
    }
}

fn with_unit(figure: String, unit: &str) -> String {
    match unit {
        "" => figure,
        unit => format!("{figure} {}", escaped(&raised(unit))),
    }
}

/// The difference from the revision before, in per cent where that has a meaning, and whether it is for the better.
fn change(measure: &Measure, step: usize) -> String {
    let Some((difference, share)) = measure.change(step) else {
        return "–".into();
    };
    let sign = if difference > 0.0 { "+" } else { "−" };
    let text = match share.is_finite() {
        _ if difference == 0.0 => return "=".into(),
        true => format!("{sign}{} %", significant(100.0 * share.abs(), 3)),
        false => format!("{sign}{}", significant(difference.abs(), 3)),
    };
    match measure.better(step) {
        Some(true) => format!("<span class=\"difference better\">{text} <i>better</i></span>"),
        Some(false) => format!("<span class=\"difference worse\">{text} <i>worse</i></span>"),
        None => text,
    }
}
