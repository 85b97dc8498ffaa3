//! A budget's text to its items, or all its problems at once.

use std::collections::BTreeMap;
use std::ops::Range;

use super::CODES;
use super::amount::{amount, currency, growth};
use super::item::{BASES, Basis, Budget, Item, Kind, MEASURES, Measure, Places, Source};
use crate::ledger::fields::{Fields, Reader, parse};
use crate::study::{Problem, suggest};

/// Format number of budgets.
pub const BUDGET_FORMAT: usize = 1;

/// Items that a budget may have at most.
pub const MOST_ITEMS: usize = 10_000;

const TOP: [&str; 6] = ["format", "title", "notes", "currency", "limits", "item"];
const KEYS: [&str; 14] = [
    "name",
    "kind",
    "quantity",
    "basis",
    "growth",
    "mass",
    "cost",
    "cycle_time",
    "note",
    "study",
    "revision",
    "run",
    "mass_from",
    "keep",
];
/// Keys that only a part of this project has.
const OF_PART: [&str; 4] = ["revision", "run", "mass_from", "keep"];

/// The budget of a text.
///
/// # Errors
/// Every problem found, in the order of the text: marks of a merge or what is no TOML by themselves, else keys and values
/// at fault, names that come twice.
pub fn read_budget(text: &str) -> Result<Budget, Vec<Problem>> {
    read(text).map_err(|mut problems| {
        problems.sort_by_key(|problem| problem.spans[0].0.start);
        problems.into_iter().map(of_budget).collect()
    })
}

fn read(text: &str) -> Result<Budget, Vec<Problem>> {
    let document = parse(text, "budget")?;
    let mut reader = Reader::default();
    let top = reader.fields(document.get_ref(), 0..0, "a budget", &TOP);
    let format = reader.whole(&top, "format");
    if reader.problems.is_empty() && format != BUDGET_FORMAT {
        let title = format!("this budget is in format {format}, unknown here");
        let problem = Problem::new(
            "budget/format",
            title,
            top.place("format"),
            format!("this program reads format {BUDGET_FORMAT}"),
        );
        return Err(vec![problem.mend("use the newer fretwork")]);
    }
    let title = reader.text(&top, "title");
    let notes = reader.optional_text(&top, "notes");
    let currency = currency(&mut reader, &top);
    let mut budget = Budget {
        title,
        notes,
        currency,
        ..Budget::default()
    };
    let names = MEASURES.map(Measure::name);
    if let Some(limits) = reader.table(&top, "limits", "the limits", &names) {
        budget.limits = MEASURES.map(|measure| {
            let limit = amount(&mut reader, &limits, measure, &budget.currency)?;
            if limit > 0.0 {
                return Some(limit);
            }
            let title = format!("the limit of `{}` is not above 0", measure.name());
            let place = limits.place(measure.name());
            let problem = Problem::new("budget/out-of-range", title, place, "not above 0");
            reader.note(problem.mend("leave it out where there is no limit"));
            None
        });
    }
    let tables = reader.tables(&top, "item", "an item", &KEYS);
    if tables.is_empty() && reader.problems.is_empty() {
        let problem = Problem::new(
            "budget/missing-key",
            "the budget has no item",
            0..0,
            "no `[[item]]`",
        );
        reader.note(problem.mend("add one: [[item]] with name, basis and mass"));
    }
    if let Some(over) = tables.get(MOST_ITEMS) {
        let title = format!("there are {} items", tables.len());
        let place = first_line(text, &over.span);
        let problem = Problem::new("budget/out-of-range", title, place, "one too many");
        reader.note(problem.mend(format!(
            "a budget has up to {MOST_ITEMS}; count equal pieces by `quantity`"
        )));
    }
    for fields in tables.iter().take(MOST_ITEMS) {
        let head = first_line(text, &fields.span);
        let item = item(&mut reader, fields, head, &budget.currency);
        budget.items.push(item);
    }
    repeated(&mut reader, &budget.items);
    match reader.problems.is_empty() {
        true => Ok(budget),
        false => Err(reader.problems),
    }
}

fn item(reader: &mut Reader, fields: &Fields, head: Range<usize>, currency: &str) -> Item {
    let name = reader.text(fields, "name");
    if name.trim().is_empty() && fields.has("name") {
        let problem = Problem::new(
            "budget/out-of-range",
            "an item has no name",
            fields.place("name"),
            "empty",
        );
        reader.note(problem.mend("name it as the team calls it"));
    }
    let is_part = fields.has("study");
    let kind = kind(reader, fields, is_part);
    for key in OF_PART
        .into_iter()
        .filter(|key| !is_part && fields.has(key))
    {
        let title = format!("`{key}` belongs to a part of this project");
        let problem = Problem::new(
            "budget/either",
            title,
            fields.place(key),
            "no `study` beside it",
        );
        reader.note(problem.mend("add its study: study = \"yaw-ring.toml\"; or take this out"));
    }
    let each = MEASURES.map(|measure| amount(reader, fields, measure, currency));
    let basis = basis(reader, fields, is_part);
    if !is_part && !fields.has("mass") {
        let title = format!("nothing says what `{}` weighs", shown(&name));
        let problem = Problem::new("budget/missing-key", title, head.clone(), "no `mass` here");
        reader.note(problem.mend("write the mass of one piece: mass = \"12 g\""));
    }
    if is_part && fields.has("mass") && basis == Basis::Calculated {
        let title = "a part's calculated mass comes from its revision";
        let problem = Problem::new(
            "budget/either",
            title,
            fields.place("mass"),
            "a mass of its own",
        );
        reader.note(
            problem.mend("say that it was weighed: basis = \"weighed\"; or take the mass out"),
        );
    }
    if is_part && !fields.has("mass") && basis == Basis::Weighed {
        let title = format!("nothing says what `{}` weighs", shown(&name));
        let place = fields.place("basis");
        let problem = Problem::new(
            "budget/missing-key",
            title,
            place,
            "weighed, but no `mass` here",
        );
        reader.note(problem.mend("write what the balance said: mass = \"36.9 g\""));
    }
    let quantity = match fields.has("quantity") {
        true => reader.optional_whole(fields, "quantity"),
        false => Some(1),
    };
    if quantity == Some(0) || quantity.is_some_and(|quantity| quantity > 1_000_000) {
        let place = fields.place("quantity");
        let problem = Problem::new(
            "budget/out-of-range",
            "`quantity` is out of range",
            place,
            "outside",
        );
        reader.note(problem.mend("write a whole number from 1 to 1000000, or take the item out"));
    }
    let source = is_part.then(|| source(reader, fields));
    Item {
        kind,
        quantity: quantity.unwrap_or(1),
        basis,
        growth: growth(reader, fields),
        source,
        each,
        note: reader.optional_text(fields, "note"),
        places: Places {
            item: head,
            name: fields.place("name"),
            mass: fields.place("mass"),
            study: fields.place("study"),
            revision: fields.place("revision"),
            run: fields.place("run"),
            mass_from: fields.place("mass_from"),
            keep: fields.place("keep"),
        },
        name,
    }
}

fn source(reader: &mut Reader, fields: &Fields) -> Source {
    let some = |text: String| Some(text).filter(|text| !text.is_empty());
    let revision = reader.text(fields, "revision");
    if revision.is_empty() && fields.has("revision") {
        let place = fields.place("revision");
        let problem = Problem::new(
            "budget/no-such-revision",
            "no revision is named",
            place,
            "empty",
        );
        reader.note(problem.mend("write its letter, or \"baseline\""));
    }
    Source {
        study: reader.text(fields, "study"),
        revision: some(revision).filter(|revision| revision != "baseline"),
        run: some(reader.optional_text(fields, "run")),
        mass_from: some(reader.optional_text(fields, "mass_from")),
        keep: fields.has("keep").then(|| reader.texts(fields, "keep")),
    }
}

fn kind(reader: &mut Reader, fields: &Fields, is_part: bool) -> Kind {
    let usual = if is_part { Kind::Part } else { Kind::Bought };
    let word = reader.optional_text(fields, "kind");
    let kind = match word.as_str() {
        "" => usual,
        word => one_of(reader, fields, "kind", word, &Kind::WORDS).unwrap_or(usual),
    };
    if (kind == Kind::Part) != is_part && !word.is_empty() {
        let title = "only a part of this project has a study, and each has one";
        let label = format!(
            "`{kind}`, {} `study`",
            if is_part { "with" } else { "without" }
        );
        let problem = Problem::new("budget/either", title, fields.place("kind"), label);
        reader.note(
            problem.mend("leave `kind` out, or write `bought` or `fastener` without a study"),
        );
    }
    kind
}

fn basis(reader: &mut Reader, fields: &Fields, is_part: bool) -> Basis {
    if is_part && !fields.has("basis") {
        return Basis::Calculated;
    }
    let word = reader.text(fields, "basis");
    let words = BASES.map(|basis| (basis.word(), basis));
    match word.as_str() {
        "" if !fields.has("basis") => Basis::Estimated,
        word => one_of(reader, fields, "basis", word, &words).unwrap_or(Basis::Estimated),
    }
}

fn one_of<T: Copy>(
    reader: &mut Reader,
    fields: &Fields,
    key: &str,
    word: &str,
    known: &[(&str, T)],
) -> Option<T> {
    if let Some((_, found)) = known.iter().find(|(known, _)| *known == word) {
        return Some(*found);
    }
    let words: Vec<&str> = known.iter().map(|(word, _)| *word).collect();
    let title = format!("`{key}` is `{}`", shown(word));
    let place = fields.place(key);
    let problem = Problem::new(
        "budget/unknown-word",
        title,
        place,
        "none of the words for it",
    );
    reader.note(
        problem
            .mend(format!("write one of: {}", words.join(", ")))
            .mend_if(suggest(word, &words).filter(|text| text.starts_with("did"))),
    );
    None
}

fn repeated(reader: &mut Reader, items: &[Item]) {
    let mut seen: BTreeMap<&str, &Range<usize>> = BTreeMap::new();
    for item in items.iter().filter(|item| !item.name.is_empty()) {
        match seen.get(item.name.trim()) {
            None => {
                seen.insert(item.name.trim(), &item.places.name);
            }
            Some(first) => {
                let title = format!("there are two items `{}`", shown(&item.name));
                let place = item.places.name.clone();
                let problem = Problem::new("budget/repeated", title, place, "here again");
                reader.note(
                    problem
                        .with((*first).clone(), "first here")
                        .mend("give one of them another name, or count its pieces by `quantity`"),
                );
            }
        }
    }
}

/// A problem that the reader of ledgers noted, as one of a budget.
fn of_budget(mut problem: Problem) -> Problem {
    let fault = |code: &str| code.split_once('/').map(|(_, fault)| fault.to_string());
    let own = CODES
        .iter()
        .find(|(code, _)| fault(code) == fault(problem.code));
    if let (Some((code, _)), true) = (own, problem.code.starts_with("ledger/")) {
        problem.code = code;
        let mend = match *code {
            "budget/conflict" => {
                "keep of each line one version, and take out the other and the marks"
            }
            "budget/missing-key" => "add the line",
            "budget/not-toml" => "write key = \"text\", a line each",
            "budget/empty" => "begin with: format = 1",
            _ => return problem,
        };
        problem.mend = Some(mend.into());
    }
    problem
}

/// A text of the file as a message shows it: short, without what a terminal would obey.
pub(super) fn shown(text: &str) -> String {
    let plain = text.chars().take(60);
    plain
        .map(|letter| if letter.is_control() { '·' } else { letter })
        .collect()
}

/// The span up to the end of its first line.
fn first_line(text: &str, span: &Range<usize>) -> Range<usize> {
    let rest = text.get(span.start..).unwrap_or_default();
    span.start..span.start + rest.lines().next().map_or(0, str::len)
}
