//! The page of a budget: what it weighs, where the next gram is cheapest, the best choices over all parts.

use super::fronts::fronts;
use crate::budget::{BASES, Line, MEASURES, Measure, Report, plain};
use crate::drawing::number;
use crate::drawing::text::{escaped, raised, significant};
use crate::review::page::{STYLES, fill, hash};

const TEMPLATE: &str = include_str!("budget.html");
const STYLE: &str = include_str!("budget.css");

/// The page of a budget: one HTML file that opens from the file system, makes no request and has no script.
///
/// `tool`: program and version that make it.
pub fn budget_page(report: &Report, tool: &str) -> String {
    let style = STYLES.concat() + STYLE;
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{}'; img-src data:; base-uri 'none'; form-action 'none'",
        hash(&style)
    );
    let account = &report.account;
    let margin = account.margin(Measure::Mass).map_or_else(
        || "–".into(),
        |(left, share)| {
            over(
                left < 0.0,
                &format!("{} g, {} %", figure(left), percent(share)),
            )
        },
    );
    let limit =
        account.limits[0].map_or_else(|| "none".into(), |limit| format!("{} g", figure(limit)));
    let fields = [
        ("policy", policy.as_str()),
        ("style", &style),
        ("title", &escaped(&report.budget.title)),
        ("notes", &escaped(&report.budget.notes)),
        ("counts", &counts(report)),
        ("expected", &format!("{} g", figure(account.totals[0]))),
        ("limit", &limit),
        ("margin", &margin),
        ("tool", &escaped(tool)),
        ("basis", &basis(report)),
        ("items", &items(report)),
        ("totals", &totals(report)),
        (
            "fronts",
            &report
                .fronts
                .as_ref()
                .map_or_else(String::new, |each| fronts(report, each)),
        ),
        ("remarks", &remarks(report)),
    ];
    fill(TEMPLATE, &fields)
}

/// A figure with four significant digits and a proper minus.
pub(super) fn figure(value: f64) -> String {
    match value.is_finite() {
        true => significant(value, 4).replace('-', "−"),
        false => "–".into(),
    }
}

/// A difference with its sign.
pub(super) fn signed(value: f64) -> String {
    match value > 0.0 {
        true => format!("+{}", figure(value)),
        false => figure(value),
    }
}

fn percent(share: f64) -> String {
    figure((1000.0 * share).round() / 10.0)
}

/// Words that stand out where a limit is passed.
fn over(passed: bool, words: &str) -> String {
    match passed {
        true => format!("<span class=\"over\">{words}</span>"),
        false => words.into(),
    }
}

fn counts(report: &Report) -> String {
    let account = &report.account;
    let pieces: usize = account.lines.iter().map(|line| line.quantity).sum();
    let told: Vec<String> = BASES
        .iter()
        .zip(account.shares())
        .filter(|(_, share)| *share > 0.0)
        .map(|(basis, share)| format!("{} % {basis}", percent(share)))
        .collect();
    format!(
        "<b>{}</b> items, {pieces} pieces: {} g without allowance, of it {}.",
        account.lines.len(),
        figure(account.estimate),
        told.join(", ")
    )
}

fn basis(report: &Report) -> String {
    let bands: Vec<String> = BASES
        .iter()
        .map(|basis| {
            let (low, high) = basis.band();
            format!("{basis} {} to {} %", percent(low), percent(high))
        })
        .collect();
    let all_own = report.account.lines.iter().all(|line| line.own_growth);
    let usual = match all_own {
        true => String::new(),
        false => format!(
            " Growth in brackets is the middle of what is usual for the basis: {} (after the manner of ANSI/AIAA S-120).",
            bands.join(", ")
        ),
    };
    format!(
        "<span class=\"key\"><svg width='22' height='9' aria-hidden='true'><rect class='known' y='1' width='22' \
         height='8'/></svg> known, <svg width='22' height='9' aria-hidden='true'><rect class='grown' x='.5' y='1.5' \
         width='21' height='7'/></svg> allowance for growth.</span>{usual}"
    )
}

/// Width of the longest bar, in pixels.
const BAR: f64 = 150.0;

fn items(report: &Report) -> String {
    let account = &report.account;
    let most = account
        .lines
        .iter()
        .filter_map(|line| line.totals[0])
        .fold(0.0, f64::max);
    let scale = if most > 0.0 { BAR / most } else { 0.0 };
    let rows = report.budget.items.iter().zip(&account.lines).map(|(item, line)| {
        let revision = line.revision.as_ref().map_or_else(String::new, |revision| {
            format!(", {}", escaped(revision))
        });
        let note = match item.note.is_empty() {
            true => String::new(),
            false => format!("<br><small><bdi>{}</bdi></small>", escaped(&item.note)),
        };
        let cell = |measure: Measure| {
            line.totals[measure as usize].map_or_else(|| "–".into(), figure)
        };
        let growth = percent(line.growth);
        let growth = if line.own_growth { growth } else { format!("({growth})") };
        format!(
            "<tr><th scope=\"row\" class=\"name\"><bdi>{}</bdi>{revision}{note}</th><td>{}</td><td class=\"words\">{}</td><td>{}</td>\
             <td>{growth}</td><td>{}</td><td class=\"bar-cell\">{}</td><td>{}</td><td>{}</td></tr>",
            escaped(&line.name),
            line.quantity,
            line.basis,
            figure(line.estimate),
            cell(Measure::Mass),
            bar(line, scale),
            cell(Measure::Cost),
            cell(Measure::CycleTime),
        )
    });
    let rows: String = rows.collect();
    let all = if account.estimate > 0.0 {
        account.growth() / account.estimate
    } else {
        0.0
    };
    let currency = escaped(&raised(&report.budget.currency));
    format!(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Table of items\"><table class=\"figures weigh\"><thead><tr>\
         <th scope=\"col\">item</th><th scope=\"col\">pieces</th><th scope=\"col\" class=\"words\">basis</th><th scope=\"col\">estimate \
         <span class=\"unit\">g</span></th><th scope=\"col\">growth <span class=\"unit\">%</span></th><th scope=\"col\">expected \
         <span class=\"unit\">g</span></th><td></td><th scope=\"col\">cost <span class=\"unit\">{currency}</span></th><th \
         scope=\"col\">time <span class=\"unit\">s</span></th></tr></thead><tbody>{rows}</tbody><tfoot><tr><th scope=\"row\">all</th>\
         <td></td><td></td><td>{}</td><td>{}</td><td>{}</td><td></td><td>{}</td><td>{}</td></tr></tfoot></table></div>",
        figure(account.estimate),
        percent(all),
        figure(account.totals[0]),
        figure(account.totals[1]),
        figure(account.totals[2]),
    )
}

/// What an item weighs as a bar: known, and allowance.
fn bar(line: &Line, scale: f64) -> String {
    let (known, all) = (scale * line.estimate, scale * line.totals[0].unwrap_or(0.0));
    let grown = (all - known).max(0.0);
    let outline = match grown >= 1.5 {
        true => format!(
            "<rect class='grown' x='{}' y='1.5' width='{}' height='7'/>",
            number(known + 0.5),
            number(grown - 1.0)
        ),
        false => String::new(),
    };
    format!(
        "<svg width='{BAR}' height='9' aria-hidden='true'><rect class='known' y='1' width='{}' height='8'/>{outline}</svg>",
        number(known.max(0.5))
    )
}

fn totals(report: &Report) -> String {
    let account = &report.account;
    if account.limits.iter().all(Option::is_none) {
        return String::new();
    }
    let row = |measure: Measure| {
        let (left, share) = account.margin(measure)?;
        let unit = measure.unit(&report.budget.currency);
        Some(format!(
            "<tr><th scope=\"row\">{}</th><td class=\"unit\">{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            plain(measure),
            escaped(&raised(unit)),
            figure(account.totals[measure as usize]),
            account.limits[measure as usize].map_or_else(String::new, figure),
            over(left < 0.0, &figure(left)),
            over(left < 0.0, &format!("{} %", percent(share))),
        ))
    };
    let rows: String = MEASURES.into_iter().filter_map(row).collect();
    format!(
        "<table class=\"figures totals-table\"><caption>Limits</caption><thead><tr><th scope=\"col\">total</th><th scope=\"col\" \
         class=\"words\">unit</th><th scope=\"col\">today</th><th scope=\"col\">limit</th><th scope=\"col\" colspan=\"2\">margin</th>\
         </tr></thead><tbody>{rows}</tbody></table>"
    )
}

fn remarks(report: &Report) -> String {
    if report.remarks.is_empty() {
        return String::new();
    }
    let items: String = report
        .remarks
        .iter()
        .map(|remark| format!("<li><bdi>{}</bdi></li>", escaped(remark)))
        .collect();
    format!(
        "<section class=\"panel\" aria-labelledby=\"h-mind\"><h2 id=\"h-mind\">What to mind</h2><ul class=\"remarks\">{items}</ul>\
         </section>"
    )
}
