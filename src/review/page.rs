//! The review page: template, style, script and data put into one file.

use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use super::columns::{Rows, columns_json, plain};
use super::driver_section;
use super::pack::packed;
use super::plots::trace_plot;
use super::sheets::{drawings, sheet_json};
use super::told::told_json;
use crate::drawing::text::{base64, escaped, grouped};
use crate::evaluate::Sheet;
use crate::ledger::{Decision, Pick};
use crate::run::{Finished, Role, Screening};

/// What the page says of its making, given by the caller: nothing here reads a clock or a folder.
#[derive(Clone, Debug, PartialEq)]
pub struct PageFacts {
    /// Version of the tool: `0.1.0`.
    pub tool_version: String,
    /// Name of the run folder.
    pub run_name: String,
    /// Date (and time) of the run, as it should be printed.
    pub date: String,
    /// Which dimension drives what, where it was looked into.
    pub drivers: Option<Screening>,
    /// What the designs follow from, in one number, as the manifest has it.
    pub fingerprint: String,
    /// Revisions adopted before, the oldest first.
    pub revisions: Vec<RevisionMark>,
    /// What was decided on an earlier page, its picks by their numbers in this run.
    pub decision: Option<Decision>,
}

/// A revision of the part, as the page marks it among the designs.
#[derive(Clone, Debug, PartialEq)]
pub struct RevisionMark {
    /// Its letters: `C`.
    pub letter: String,
    /// When it was adopted.
    pub date: String,
    /// Why.
    pub reason: String,
    /// Run that it was picked from.
    pub run: String,
    /// Its design in the run shown, where it is one of it.
    pub design: Option<usize>,
    /// Its figures in the order of the run's columns, in their units; none where unknown.
    pub values: Vec<Option<f64>>,
}

/// Bytes of a page at most, with a little room for title, notes and names.
const MOST_BYTES: usize = 4_850_000;

const TEMPLATE: &str = include_str!("page/page.html");

/// What every page of a part says at its end.
const CAUTIONS: &str = include_str!("page/cautions.html");

/// What the page of a study without a part says in its place.
const CAUTIONS_OUTSIDE: &str =
    "    <li>The figures are those of the study's own program: they are as good as it is.</li>";

/// The style sheets, in order.
pub(super) const STYLES: &[&str] = &[
    include_str!("page/page.css"),
    include_str!("page/front.css"),
    include_str!("page/drawings.css"),
    include_str!("page/sheet.css"),
    include_str!("page/decision.css"),
    include_str!("page/print.css"),
];

/// The script, in order: each file uses what stands before it.
const SCRIPTS: &[&str] = &[
    include_str!("page/library/plot.js"),
    include_str!("page/library/space.js"),
    include_str!("page/library/record.js"),
    include_str!("page/words.js"),
    include_str!("page/units.js"),
    include_str!("page/data.js"),
    include_str!("page/field.js"),
    include_str!("page/drawing.js"),
    include_str!("page/state.js"),
    include_str!("page/plot.js"),
    include_str!("page/map.js"),
    include_str!("page/scatter.js"),
    include_str!("page/parallel.js"),
    include_str!("page/limits.js"),
    include_str!("page/table.js"),
    include_str!("page/sheet/tables.js"),
    include_str!("page/sheet/parts.js"),
    include_str!("page/sheet/body.js"),
    include_str!("page/sheet/space_view.js"),
    include_str!("page/sheet/beside.js"),
    include_str!("page/sheet/sheet.js"),
    include_str!("page/told.js"),
    include_str!("page/decision.js"),
    include_str!("page/main.js"),
];

/// The review page of a run: one HTML file that opens from the file system and makes no request.
///
/// At most [`super::MOST_DESIGNS`] designs are on it; where there are more, dominated ones are thinned evenly
/// and the page says so. Where the sheets of `run.sheets` would make it larger than 5 MB they too are thinned
/// evenly; a candidate without one still shows its dimensions and measures.
pub fn page(run: &Finished, facts: &PageFacts) -> String {
    let style = STYLES.concat();
    let script = format!("(async()=>{{\"use strict\";\n{}}})();\n", SCRIPTS.concat());
    let policy = format!(
        "default-src 'none'; script-src 'sha256-{}'; style-src 'sha256-{}'; img-src data: blob:; \
         base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'; trusted-types drawing",
        hash(&script),
        hash(&style)
    );
    let rows = Rows::of(run);
    let data = packed(&data_json(run, facts, &rows));
    let drivers = driver_section::section(facts.drivers.as_ref());
    let taken = data.len() + style.len() + script.len() + drivers.len();
    let (sheets, drawings) = kept_sheets(run, MOST_BYTES.saturating_sub(taken));
    let notes = if run.notes.trim().is_empty() {
        String::new()
    } else {
        format!(
            "<p class=\"notes\"><bdi>{}</bdi></p>",
            escaped(run.notes.trim())
        )
    };
    let fields = [
        ("policy", policy.as_str()),
        ("style", &style),
        ("script", &script),
        ("title", &escaped(shown_title(run))),
        ("study", &escaped(&run.study)),
        ("run", &escaped(&facts.run_name)),
        ("date", &escaped(&facts.date)),
        ("tool", &escaped(&facts.tool_version)),
        ("notes", &notes),
        ("counts", &counts(run)),
        ("asked", &asked(run)),
        ("drivers", &drivers),
        ("ending", &escaped(&run.ending)),
        ("trace", &trace(run)),
        ("trust", &trust(run)),
        (
            "cautions",
            if has_part(run) {
                CAUTIONS
            } else {
                CAUTIONS_OUTSIDE
            },
        ),
        ("data", &data),
        ("sheets", &sheets),
        ("drawings", &drawings),
    ];
    fill(TEMPLATE, &fields)
}

/// The packed sheets and the packed drawings that fit into `room` bytes: the baseline's, and as many others as
/// there is room for, spread evenly over `run.sheets`.
fn kept_sheets(run: &Finished, room: usize) -> (String, String) {
    let all: Vec<&(usize, Sheet)> = run
        .sheets
        .iter()
        .filter(|(design, _)| *design != 0)
        .collect();
    let mut kept = all.len();
    loop {
        let picks = (0..kept).map(|k| all[k * all.len() / kept]);
        let packed = pack_sheets(run, &picks.collect::<Vec<_>>());
        let bytes = packed.0.len() + packed.1.len();
        if bytes <= room || kept == 0 {
            return packed;
        }
        kept = (kept * room / bytes * 98 / 100).min(kept - 1);
    }
}

fn pack_sheets(run: &Finished, kept: &[&(usize, Sheet)]) -> (String, String) {
    let baseline = (0, &run.baseline);
    let shown = || {
        [baseline]
            .into_iter()
            .chain(kept.iter().map(|(design, sheet)| (*design, sheet)))
    };
    let drawn: Map<String, Value> = shown()
        .map(|(design, sheet)| (design.to_string(), drawings(design, sheet)))
        .collect();
    let sheets: Vec<Value> = shown()
        .map(|(design, sheet)| sheet_json(design, sheet))
        .collect();
    let told: Vec<Value> = run
        .told
        .iter()
        .filter(|told| shown().any(|(design, _)| design == told.design))
        .map(told_json)
        .collect();
    let sheets = json!({ "sheets": sheets, "told": told });
    (packed(&sheets), packed(&Value::Object(drawn)))
}

pub(super) fn shown_title(run: &Finished) -> &str {
    if run.title.trim().is_empty() {
        &run.study
    } else {
        run.title.trim()
    }
}

/// SHA-256 as content policies write it.
pub(super) fn hash(text: &str) -> String {
    base64(&Sha256::digest(text.as_bytes()))
}

/// The template with every `{{name}}` replaced once; what is put in is not looked at again.
pub(super) fn fill(template: &str, fields: &[(&str, &str)]) -> String {
    let mut out = String::new();
    let mut rest = template;
    while let Some((before, after)) = rest.split_once("{{") {
        out += before;
        let Some((name, tail)) = after.split_once("}}") else {
            out += "{{";
            rest = after;
            continue;
        };
        let field = fields.iter().find(|(known, _)| *known == name);
        out += field.map_or("", |(_, text)| text);
        rest = tail;
    }
    out + rest
}

/// What every review of a run says at its end, a caution a line, without markup.
pub(super) fn cautions_of(run: &Finished) -> Vec<String> {
    let html = match has_part(run) {
        true => CAUTIONS,
        false => CAUTIONS_OUTSIDE,
    };
    html.lines()
        .map(|line| {
            let parts = line.trim().split('<');
            let words: String = parts
                .map(|part| part.split_once('>').map_or(part, |(_, text)| text))
                .collect();
            words
                .replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&amp;", "&")
        })
        .filter(|line| !line.is_empty())
        .collect()
}

/// Whether there is a part to draw. Without one, all measures are a program's.
fn has_part(run: &Finished) -> bool {
    run.baseline.part.is_some() || !run.asks
}

fn feasible(run: &Finished) -> usize {
    run.designs.feasible()
}

/// The run in one sentence.
fn counts(run: &Finished) -> String {
    let front = match run.front.len() {
        0 => "none on the front".to_string(),
        count => format!("<b>{}</b> on the front", grouped(count)),
    };
    let baseline = match run.designs.violation.first() {
        Some(0.0) => "Today's revision meets every constraint.",
        Some(_) => "Today's revision breaks a constraint.",
        None => "",
    };
    let sentence = format!(
        "<b>{}</b> designs evaluated, <b>{}</b> meet every constraint, {front}. {baseline}",
        grouped(run.designs.len()),
        grouped(feasible(run))
    );
    if run.front.is_empty() && !run.designs.is_empty() {
        let lines = run.shortfall.iter().flat_map(|shortfall| shortfall.lines());
        let lines: String = lines
            .map(|line| format!("<br><bdi>{}</bdi>", escaped(&line)))
            .collect();
        return sentence
            + "</p><p class=\"warning\"><b>No design meets every constraint.</b> The list shows \
               the designs that break their constraints least."
            + &lines;
    }
    sentence
}

/// Objectives and constraints as the study gave them.
fn asked(run: &Finished) -> String {
    let name = |column: usize| {
        let name = run.columns.get(column).map_or("?", |c| c.name.as_str());
        format!("<bdi>{}</bdi>", escaped(name))
    };
    let goals: Vec<String> = run
        .goals
        .iter()
        .map(|goal| {
            let sense = if goal.most { "most" } else { "least" };
            format!("<li>{sense} {}</li>", name(goal.column))
        })
        .collect();
    let limits: Vec<String> = run
        .limits
        .iter()
        .map(|limit| {
            format!(
                "<li><bdi>{}</bdi>: <bdi class=\"formula\">{}</bdi></li>",
                escaped(&limit.name),
                escaped(&limit.text)
            )
        })
        .collect();
    let list = |items: Vec<String>, none: &str| {
        if items.is_empty() {
            format!("<p>{none}</p>")
        } else {
            format!("<ul>{}</ul>", items.concat())
        }
    };
    format!(
        "<div><h3>Objectives</h3>{}</div><div><h3>Constraints</h3>{}</div>",
        list(goals, "None."),
        list(limits, "None.")
    )
}

/// Convergence: the plot, and the same figures as a table.
fn trace(run: &Finished) -> String {
    if run.trace.len() < 2 {
        return "<p>The run has too few milestones to plot.</p>".into();
    }
    let step = run.trace.len().div_ceil(14).max(1);
    let last = run.trace.len() - 1;
    let rows: String = run
        .trace
        .iter()
        .enumerate()
        .filter(|(index, _)| index % step == 0 || *index == last)
        .map(|(_, m)| {
            format!(
                "<tr><td>{}</td><td>{}</td><td>{}</td><td>{:.4}</td></tr>",
                grouped(m.designs),
                grouped(m.feasible),
                grouped(m.front),
                m.hypervolume
            )
        })
        .collect();
    format!(
        "<figure>{}</figure><details><summary>The same as a table</summary><div class=\"scroll\"><table \
         class=\"figures\"><thead><tr><th scope=\"col\">designs</th><th scope=\"col\">feasible</th><th \
         scope=\"col\">on the front</th><th scope=\"col\">hypervolume</th></tr></thead><tbody>{rows}</tbody>\
         </table></div></details>",
        trace_plot(&run.trace)
    )
}

/// How good the law is that the figures rest on, and what else the reader must know of them.
fn trust(run: &Finished) -> String {
    let mut html = String::new();
    if !run.law.is_empty() {
        let percent = |value: f64| match value.is_finite() {
            true => format!("{value:.2}"),
            false => "–".into(),
        };
        let rows: String = run
            .law
            .iter()
            .map(|row| {
                format!(
                    "<tr><th scope=\"row\"><bdi>{}</bdi></th><td>{:.3}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
                    escaped(&row.name),
                    row.ratio,
                    percent(row.space_percent.0),
                    percent(row.space_percent.1),
                    percent(row.front_percent.0),
                    percent(row.front_percent.1)
                )
            })
            .collect();
        let counts = run
            .law
            .first()
            .map_or((0, 0), |row| (row.space_designs, row.front_designs));
        html = format!(
            "<h3>What the figures rest on</h3><p>Stiffness, displacement, peaks at holes and frequency are the beam's \
             times a law learnt from solids. It was tried on {} designs of the space that were left out of its fit, and on {} \
             of a front that it had not seen.</p><div class=\"scroll\"><table class=\"figures\"><thead><tr><th \
             scope=\"col\">figure</th><th scope=\"col\">solid / beam, median</th><th scope=\"col\">off in the \
             space, rms %</th><th scope=\"col\">worst %</th><th scope=\"col\">off on the front, rms %</th><th \
             scope=\"col\">worst %</th></tr></thead><tbody>{rows}</tbody></table></div>",
            counts.0, counts.1
        );
    }
    for remark in &run.remarks {
        html.push_str(&format!("<p class=\"remark\">{}</p>", escaped(remark)));
    }
    html
}

fn data_json(run: &Finished, facts: &PageFacts, rows: &Rows) -> Value {
    let columns: Vec<Value> = run
        .columns
        .iter()
        .map(|column| json!([column.name, column.unit, role_word(column.role)]))
        .collect();
    let goals: Vec<Value> = run
        .goals
        .iter()
        .map(|goal| json!([goal.column, goal.most]))
        .collect();
    let trace: Vec<Value> = run
        .trace
        .iter()
        .map(|m| json!([m.designs, m.feasible, m.front, plain(m.hypervolume)]))
        .collect();
    let revisions: Vec<Value> = facts.revisions.iter().map(revision_json).collect();
    json!({
        "study": run.study,
        "title": shown_title(run),
        "run": facts.run_name,
        "date": facts.date,
        "tool": facts.tool_version,
        "columns": columns,
        "goals": goals,
        "total": run.designs.len(),
        "feasible": feasible(run),
        "hasFront": !run.front.is_empty(),
        "hasPart": has_part(run),
        "asks": run.asks,
        "leftOut": rows.left_out,
        "candidates": rows.candidates,
        "rows": columns_json(run, rows),
        "trace": trace,
        "revisions": revisions,
        "fingerprint": facts.fingerprint,
        "decision": facts.decision.as_ref().map(decision_json),
    })
}

fn decision_json(decision: &Decision) -> Value {
    let pick = |pick: &Pick| {
        let dimensions = pick
            .dimensions
            .iter()
            .map(|quantity| (quantity.name.clone(), json!(quantity.text(12))));
        json!({
            "design": pick.design,
            "remark": pick.remark,
            "dimensions": dimensions.collect::<Map<String, Value>>(),
        })
    };
    json!({
        "chosen": decision.chosen, "reason": decision.reason, "by": decision.by, "date": decision.date.to_string(),
        "picks": decision.picks.iter().map(pick).collect::<Vec<_>>(),
    })
}

fn revision_json(mark: &RevisionMark) -> Value {
    let values: Vec<Value> = mark
        .values
        .iter()
        .map(|value| value.map_or(Value::Null, plain))
        .collect();
    json!({
        "letter": mark.letter, "date": mark.date, "reason": mark.reason, "run": mark.run,
        "design": mark.design, "values": values,
    })
}

fn role_word(role: Role) -> &'static str {
    match role {
        Role::Variable => "variable",
        Role::Derived => "derived",
        Role::Measure => "measure",
        Role::Objective => "objective",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_filled_in_is_not_filled_again() {
        let fields = [("a", "{{b}}"), ("b", "no")];
        assert_eq!(fill("x{{a}}y{{c}}z", &fields), "x{{b}}yz");
    }

    #[test]
    fn the_hash_is_that_of_the_policy_standard() {
        // SHA-256 of "abc", FIPS 180-4 example: ba7816bf 8f01cfea 414140de 5dae2223 b00361a3 96177a9c b410ff61 f20015ad.
        assert_eq!(hash("abc"), "ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
    }
}
