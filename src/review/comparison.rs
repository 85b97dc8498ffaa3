//! The page of two runs compared: both fronts, what became of the earlier candidates, what moved and why.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::columns::plain;
use super::page::{STYLES, fill, hash};
use super::plots::{Frame, LEFT};
use crate::analyse;
use crate::drawing::number;
use crate::drawing::text::{escaped, grouped, island};
use crate::run::{Comparison, Fate, OldCandidate, RunFacts};

const TEMPLATE: &str = include_str!("comparison/comparison.html");
const STYLE: &str = include_str!("comparison/comparison.css");
const SCRIPTS: [&str; 3] = [
    include_str!("page/words.js"),
    include_str!("page/units.js"),
    include_str!("comparison/comparison.js"),
];

/// Earlier candidates and new ones on the page at most; beyond it a spread selection.
const MOST_LISTED: usize = 300;

/// Candidates of a front in a plot at most.
const MOST_DOTS: usize = 1_500;

/// The page of two runs compared: one HTML file that opens from the file system and makes no request.
///
/// `tool`: program and version that make it. At most 300 earlier and 300 new candidates are listed; the page says
/// where there are more.
pub fn comparison_page(compared: &Comparison, tool: &str) -> String {
    let style = STYLES.concat() + STYLE;
    let script = format!("(()=>{{\"use strict\";\n{}}})();\n", SCRIPTS.concat());
    let policy = format!(
        "default-src 'none'; script-src 'sha256-{}'; style-src 'sha256-{}'; img-src data:; \
         base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'",
        hash(&script),
        hash(&style)
    );
    let (before, after) = (&compared.before, &compared.after);
    let title = match after.title.trim() {
        "" => after.run.as_str(),
        title => title,
    };
    let fields = [
        ("policy", policy.as_str()),
        ("style", &style),
        ("script", &script),
        ("title", &escaped(title)),
        ("before", &escaped(&before.run)),
        ("after", &escaped(&after.run)),
        ("tool", &escaped(tool)),
        ("counts", &counts(compared)),
        ("changes", &changes(compared)),
        ("fronts", &fronts(compared)),
        ("plots", &plots(compared)),
        ("moves", &moves(compared)),
        ("remarks", &remarks(compared)),
        ("data", &island(&data(compared).to_string())),
    ];
    fill(TEMPLATE, &fields)
}

/// The comparison in two sentences.
fn counts(compared: &Comparison) -> String {
    let all = compared.candidates.len();
    let count = |fate| grouped(compared.count(fate));
    let baseline = match compared.baseline.fate {
        Fate::Stays => "no later candidate beats it in every objective",
        Fate::Beaten => "later candidates beat it in every objective",
        Fate::Breaks => "it breaks a constraint",
        Fate::NotMade => "it can't be made any more",
    };
    format!(
        "Of <b>{}</b> earlier candidates <b>{}</b> stay on the front under the later conditions, {} are beaten ({} of them \
         under the earlier conditions too, by designs that only the later search came across), {} break a constraint, {} can't be made any more; \
         <b>{}</b> candidates are new. Today's revision: {baseline}.",
        grouped(all),
        count(Fate::Stays),
        count(Fate::Beaten),
        grouped(compared.beaten_by_search()),
        count(Fate::Breaks),
        count(Fate::NotMade),
        grouped(compared.newcomers.len()),
    )
}

fn changes(compared: &Comparison) -> String {
    if compared.changes.is_empty() {
        return "<p>Nothing differs between the two runs.</p>".into();
    }
    let rows: String = compared
        .changes
        .iter()
        .map(|change| {
            format!(
                "<tr><th scope=\"row\">{}</th><td class=\"words\"><bdi>{}</bdi></td><td class=\"words\"><bdi>{}</bdi></td></tr>",
                escaped(&change.what),
                escaped(&change.from),
                escaped(&change.to)
            )
        })
        .collect();
    format!(
        "<div class=\"scroll\"><table class=\"figures texts\"><thead><tr><th scope=\"col\">what</th><th scope=\"col\" \
         class=\"words\">before</th><th scope=\"col\" class=\"words\">after</th></tr></thead><tbody>{rows}</tbody></table></div>"
    )
}

fn fronts(compared: &Comparison) -> String {
    let row = |head: &str, of: &dyn Fn(&RunFacts) -> String| {
        format!(
            "<tr><th scope=\"row\">{head}</th><td>{}</td><td>{}</td></tr>",
            of(&compared.before),
            of(&compared.after)
        )
    };
    let mut rows = row("designs evaluated", &|run| grouped(run.designs));
    rows += &row("candidates", &|run| grouped(run.front.len()));
    rows += &row("share of the common box, %", &|run| {
        format!("{:.1}", 100.0 * run.hypervolume_share)
    });
    format!(
        "<div class=\"scroll\"><table class=\"figures\"><thead><tr><th scope=\"col\"></th><th scope=\"col\">before</th><th \
         scope=\"col\">after</th></tr></thead><tbody>{rows}</tbody></table></div>"
    )
}

/// Every pair of objectives with both fronts, and the baseline where it was and where it goes.
fn plots(compared: &Comparison) -> String {
    let count = compared.objectives.len();
    let mut html = String::new();
    for first in 0..count {
        for second in first + 1..count {
            html += &format!("<figure>{}</figure>", plot(compared, first, second));
        }
    }
    match html.is_empty() {
        true => "<p>With one objective in common there is no front to draw.</p>".into(),
        false => html,
    }
}

fn plot(compared: &Comparison, first: usize, second: usize) -> String {
    let points = |run: &RunFacts| -> Vec<(f64, f64)> {
        let step = run.points.len().div_ceil(MOST_DOTS).max(1);
        let pair = |point: &Vec<f64>| (point[first], point[second]);
        let finite = |&(x, y): &(f64, f64)| x.is_finite() && y.is_finite();
        run.points
            .iter()
            .step_by(step)
            .map(pair)
            .filter(finite)
            .collect()
    };
    let (old, new) = (points(&compared.before), points(&compared.after));
    let of = |figures: &[f64]| {
        let at = |goal: usize| figures[compared.objectives[goal].figure];
        Some((at(first), at(second))).filter(|(x, y)| x.is_finite() && y.is_finite())
    };
    let (was, goes) = (of(&compared.baseline.before), of(&compared.baseline.after));
    let mut frame = Frame::around(old.iter().chain(&new).chain(&was).chain(&goes).copied());
    let words = |goal: usize| {
        let objective = &compared.objectives[goal];
        let column = &compared.figures[objective.figure];
        let unit = match column.unit.as_str() {
            "" => String::new(),
            unit => format!(" in {unit}"),
        };
        let sense = if objective.most { "more" } else { "less" };
        format!("{}{unit} ({sense} is better)", column.name)
    };
    frame.x_words = words(first);
    frame.y_words = words(second);
    frame.axes();
    let signs = |points: &[(f64, f64)], sign: &dyn Fn(f64, f64) -> String| -> String {
        let places = points.iter().filter_map(|point| frame.paper(*point));
        places.map(|(x, y)| sign(x, y)).collect()
    };
    let before = format!("<path class='was' d='{}'/>", signs(&old, &ring));
    let after = format!("<path class='is' d='{}'/>", signs(&new, &triangle));
    let mut baseline = String::new();
    if let Some((x, y)) = was.and_then(|point| frame.paper(point)) {
        let _ = write!(baseline, "<path class='was-base' d='{}'/>", diamond(x, y));
    }
    if let Some((x, y)) = goes.and_then(|point| frame.paper(point)) {
        let _ = write!(baseline, "<path class='is-base' d='{}'/>", diamond(x, y));
    }
    frame.body += &(before + &after + &baseline);
    frame.body += &legend(compared);
    let (span_x, span_y) = frame.spans();
    let svg = frame.finish("Both fronts");
    // The script finds its place by these.
    let data = format!(
        "<svg data-x='{}' data-y='{}' data-span-x='{span_x}' data-span-y='{span_y}'",
        compared.objectives[first].figure, compared.objectives[second].figure
    );
    svg.replacen("<svg", &data, 1)
}

fn ring(x: f64, y: f64) -> String {
    let (x, y) = (number(x), number(y));
    format!("M{x} {y}m-.9 0a.9 .9 0 1 0 1.8 0a.9 .9 0 1 0-1.8 0")
}

fn triangle(x: f64, y: f64) -> String {
    let (x, y) = (number(x), number(y));
    format!("M{x} {y}m0-1l.9 1.6h-1.8z")
}

fn diamond(x: f64, y: f64) -> String {
    let (x, y) = (number(x), number(y));
    format!("M{x} {y}m0-2l2 2-2 2-2-2z")
}

fn legend(compared: &Comparison) -> String {
    let drawn = |run: &RunFacts| match run.points.len().div_ceil(MOST_DOTS) {
        0 | 1 => String::new(),
        step => format!(", one in {step} drawn"),
    };
    let mut items = vec![
        (
            "was",
            ring(0.0, 0.0),
            format!("before{}", drawn(&compared.before)),
        ),
        (
            "is",
            triangle(0.0, 0.0),
            format!("after{}", drawn(&compared.after)),
        ),
        ("was-base", diamond(0.0, 0.0), "baseline before".into()),
    ];
    if compared.baseline.fate != Fate::NotMade {
        items.push(("is-base", diamond(0.0, 0.0), "baseline after".into()));
    }
    let mut html = String::new();
    let mut x = LEFT + 2.0;
    for (class, sign, text) in items {
        let _ = write!(
            html,
            "<g transform='translate({} 9)'><path class='{class}' d='{sign}'/><text class='small' x='3' y='.9'>{text}</text></g>",
            number(x)
        );
        x += 9.0 + 0.52 * 2.7 * text.chars().count() as f64;
    }
    html
}

fn moves(compared: &Comparison) -> String {
    let moved = compared.moved();
    if moved.is_empty() {
        return "<p>No figure moved.</p>".into();
    }
    let causes: String = compared
        .causes
        .iter()
        .map(|cause| format!("<th scope=\"col\">{}</th>", escaped(cause)))
        .collect();
    let cells = |shares: &[f64], size: f64| -> String {
        let cell = |share: &f64| format!("<td>{}</td>", signed(*share, size));
        shares.iter().map(cell).collect()
    };
    let table = |caption: &str, head: &str, row: &dyn Fn(usize) -> String| {
        let rows: String = moved
            .iter()
            .map(|&at| {
                let column = &compared.figures[at];
                let goal = compared.objectives.iter().any(|goal| goal.figure == at);
                let class = if goal { " class=\"goal\"" } else { "" };
                format!(
                    "<tr{class}><th scope=\"row\"><bdi>{}</bdi></th><td class=\"unit\">{}</td>{}</tr>",
                    escaped(&column.name),
                    escaped(&column.unit),
                    row(at)
                )
            })
            .collect();
        format!(
            "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{caption}\"><table class=\"figures\"><caption>{caption}\
             </caption><thead><tr><th scope=\"col\">figure</th><th scope=\"col\" class=\"words\">unit</th>{head}{causes}</tr></thead>\
             <tbody>{rows}</tbody></table></div>"
        )
    };
    let counted = compared.moves.iter().map(|each| each.designs).max();
    let caption = format!(
        "Median of {} earlier candidates under the later conditions",
        grouped(counted.unwrap_or(0))
    );
    let head = "<th scope=\"col\">before</th><th scope=\"col\">change</th><th scope=\"col\">a tenth below</th><th scope=\"col\">\
                a tenth above</th>";
    let mut html = table(&caption, head, &|at| {
        let each = &compared.moves[at];
        format!(
            "<td>{}</td><td>{}</td><td>{}</td><td>{}</td>{}",
            figure(each.before),
            signed(each.change, each.before),
            signed(each.spread.0, each.before),
            signed(each.spread.1, each.before),
            cells(&each.shares, each.before)
        )
    });
    let base = &compared.baseline;
    let head =
        "<th scope=\"col\">before</th><th scope=\"col\">after</th><th scope=\"col\">change</th>";
    html += &table("Today's revision of the earlier run", head, &|at| {
        format!(
            "<td>{}</td><td>{}</td><td>{}</td>{}",
            figure(base.before[at]),
            figure(base.after[at]),
            signed(base.after[at] - base.before[at], base.before[at]),
            cells(&base.shares[at], base.before[at])
        )
    });
    html
}

fn figure(value: f64) -> String {
    crate::drawing::text::significant(value, 4)
}

/// A change with its sign, a true minus; three digits; `0` where it is rounding beside the figure's size.
fn signed(value: f64, size: f64) -> String {
    if !value.is_finite() {
        return "–".into();
    }
    let text = crate::drawing::text::significant(value.abs(), 3);
    match value {
        value if value.abs() <= 1e-9 * size.abs() => "0".into(),
        value if value > 0.0 => format!("+{text}"),
        _ => format!("−{text}"),
    }
}

fn remarks(compared: &Comparison) -> String {
    let items: String = compared
        .remarks
        .iter()
        .map(|remark| format!("<li><bdi>{}</bdi></li>", escaped(remark)))
        .collect();
    match items.is_empty() {
        true => String::new(),
        false => format!("<ul class=\"remarks\">{items}</ul>"),
    }
}

/// What the script lists: candidates with their figures, new ones.
fn data(compared: &Comparison) -> Value {
    let moved = compared.moved();
    let column = |column: &crate::run::Figure| json!({ "name": column.name, "unit": column.unit });
    let goals: Vec<Vec<f64>> = compared
        .candidates
        .iter()
        .map(|each| {
            let goals = compared.objectives.iter();
            goals
                .map(|goal| {
                    let value = each.before[goal.figure];
                    if goal.most { -value } else { value }
                })
                .collect()
        })
        .collect();
    let listed = analyse::spread(&goals, MOST_LISTED);
    let step = compared.newcomers.len().div_ceil(MOST_LISTED).max(1);
    // What moved, and whatever the plots are drawn over.
    let mut kept = moved;
    for goal in &compared.objectives {
        if !kept.contains(&goal.figure) {
            kept.push(goal.figure);
        }
    }
    let candidate = |each: &OldCandidate| {
        let numbers = |of: &[f64]| -> Vec<Value> { kept.iter().map(|&at| plain(of[at])).collect() };
        let shares = |&at: &usize| -> Vec<Value> {
            each.shares[at].iter().map(|share| plain(*share)).collect()
        };
        json!({
            "design": each.design,
            "variables": each.variables.iter().map(|value| plain(*value)).collect::<Vec<_>>(),
            "fate": each.fate.words(),
            "why": each.why,
            "nearest": each.nearest.map(|near| json!([near.design, plain(near.distance)])),
            "before": numbers(&each.before),
            "after": numbers(&each.after),
            "shares": kept.iter().map(shares).collect::<Vec<_>>(),
        })
    };
    json!({
        "causes": compared.causes,
        "variables": compared.variables.iter().map(column).collect::<Vec<_>>(),
        "figures": kept.iter().map(|&at| column(&compared.figures[at])).collect::<Vec<_>>(),
        "places": kept,
        "objectives": compared.objectives.iter().map(|goal| json!({
            "figure": kept.iter().position(|at| *at == goal.figure),
            "most": goal.most,
        })).collect::<Vec<_>>(),
        "baseline": candidate(&compared.baseline),
        "candidates": listed
            .iter().map(|&at| candidate(&compared.candidates[at])).collect::<Vec<_>>(),
        "of": compared.candidates.len(),
        "newcomers": compared.newcomers.iter().step_by(step).map(|each| json!({
            "design": each.design,
            "variables": each.variables.iter().map(|value| plain(*value)).collect::<Vec<_>>(),
            "fate": each.fate_before.words(),
            "why": each.why,
            "nearest": each.nearest.map(|near| json!([near.design, plain(near.distance)])),
        })).collect::<Vec<_>>(),
        "new_of": compared.newcomers.len(),
    })
}
