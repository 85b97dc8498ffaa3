//! Walks the tables of a file and notes every problem on the way; something harmless stands in for what is at fault.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::date::Date;
use super::quantity::Quantity;
use crate::study::{Problem, suggest};

type Value<'t> = Spanned<DeValue<'t>>;

/// Entries of a table, in the order of the file.
pub(crate) struct Fields<'t> {
    nodes: Vec<Node<'t>>,
    /// Where to point for the table as a whole.
    pub span: Range<usize>,
}

struct Node<'t> {
    name: &'t str,
    span: Range<usize>,
    value: &'t Value<'t>,
}

/// A text and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Placed {
    pub text: String,
    pub span: Range<usize>,
}

/// Gathers problems.
#[derive(Default)]
pub(crate) struct Reader {
    pub problems: Vec<Problem>,
}

/// The tables of a text.
///
/// # Errors
/// Marks of a merge, each with its place; else what is no TOML; a text with nothing in it.
pub(crate) fn parse<'t>(text: &'t str, what: &str) -> Result<Spanned<DeTable<'t>>, Vec<Problem>> {
    let conflicts = conflicts(text);
    if !conflicts.is_empty() {
        return Err(conflicts);
    }
    let blank = |line: &str| line.trim().is_empty() || line.trim_start().starts_with('#');
    if text.trim_start_matches('\u{feff}').lines().all(blank) {
        let problem = Problem::new(
            "ledger/empty",
            format!("the {what} is empty"),
            0..0,
            "nothing here",
        );
        return Err(vec![problem.mend("put the file back from a copy")]);
    }
    let (document, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        return Ok(document);
    }
    let problem = |error: &toml::de::Error| {
        let title = format!("this is no TOML: {}", error.message().trim());
        let span = error.span().unwrap_or(0..text.len().min(1));
        Problem::new("ledger/not-toml", title, span, "here").mend("put the line back as it was")
    };
    Err(errors.iter().map(problem).collect())
}

/// Lines that begin as version control marks two versions that it could not merge.
fn conflicts(text: &str) -> Vec<Problem> {
    const MARKS: [(&str, &str); 4] = [
        ("<<<<<<<", "one version begins here"),
        ("|||||||", "what both come from begins here"),
        ("=======", "the other version begins here"),
        (">>>>>>>", "the other version ends here"),
    ];
    let (mut found, mut at) = (Vec::new(), 0);
    for line in text.split_inclusive('\n') {
        let words = line.trim_end();
        let mark = MARKS.iter().find(|(mark, _)| {
            let rest = words.strip_prefix(mark);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
        });
        if let Some((_, label)) = mark {
            let title = "two versions of this file were merged, and both changed it here";
            found.push(Problem::new("ledger/conflict", title, at..at + words.len(), *label).mend(
                "keep all revisions of one version, take out the other's and the marks, and adopt the other's designs again",
            ));
        }
        at += line.len();
    }
    found
}

impl Reader {
    pub fn note(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Entries of a table; keys that are not among the known ones are noted.
    pub fn fields<'t>(
        &mut self,
        table: &'t DeTable<'t>,
        span: Range<usize>,
        what: &str,
        known: &[&str],
    ) -> Fields<'t> {
        let fields = Fields {
            nodes: in_order(table),
            span,
        };
        for node in fields
            .nodes
            .iter()
            .filter(|node| !known.contains(&node.name))
        {
            let title = format!("there is no key `{}` in {what}", shown(node.name));
            let problem = Problem::new(
                "ledger/unknown-key",
                title,
                node.span.clone(),
                "not known here",
            );
            self.note(problem.mend_if(suggest(node.name, known)).mend_if(None));
        }
        fields
    }

    /// Entries of the table `[name]`; `None` where there is none.
    pub fn table<'t>(
        &mut self,
        fields: &Fields<'t>,
        name: &str,
        what: &str,
        known: &[&str],
    ) -> Option<Fields<'t>> {
        let node = fields.node(name)?;
        let DeValue::Table(table) = node.value.get_ref() else {
            self.wrong_type(node, "a table");
            return None;
        };
        Some(self.fields(table, node.span.clone(), what, known))
    }

    /// Entries of every table of a list `[[name]]`; none where there is none.
    pub fn tables<'t>(
        &mut self,
        fields: &Fields<'t>,
        name: &str,
        what: &str,
        known: &[&str],
    ) -> Vec<Fields<'t>> {
        let Some(node) = fields.node(name) else {
            return Vec::new();
        };
        let DeValue::Array(items) = node.value.get_ref() else {
            self.wrong_type(node, "a list of tables");
            return Vec::new();
        };
        let mut all = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::Table(table) => all.push(self.fields(table, item.span(), what, known)),
                _ => self.wrong_type(node, "a list of tables"),
            }
        }
        all
    }

    /// A text that must be there.
    pub fn text(&mut self, fields: &Fields, name: &str) -> String {
        match self.needed(fields, name) {
            true => self.optional_text(fields, name),
            false => String::new(),
        }
    }

    /// A text; empty where it is left out.
    pub fn optional_text(&mut self, fields: &Fields, name: &str) -> String {
        match fields.node(name).map(|node| (node, node.value.get_ref())) {
            None => String::new(),
            Some((_, DeValue::String(text))) => text.to_string(),
            Some((node, _)) => {
                self.wrong_type(node, "a text");
                String::new()
            }
        }
    }

    /// A list of texts; empty where it is left out.
    pub fn texts(&mut self, fields: &Fields, name: &str) -> Vec<String> {
        let Some(node) = fields.node(name) else {
            return Vec::new();
        };
        let DeValue::Array(items) = node.value.get_ref() else {
            self.wrong_type(node, "a list of texts");
            return Vec::new();
        };
        let mut all = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::String(text) => all.push(text.to_string()),
                _ => {
                    self.wrong_type(node, "a list of texts");
                    return Vec::new();
                }
            }
        }
        all
    }

    /// A text with its place; `None` where it is left out or at fault.
    pub fn placed(&mut self, fields: &Fields, name: &str) -> Option<Placed> {
        let node = fields.node(name)?;
        let text = self.optional_text(fields, name);
        let span = node.value.span();
        (!text.is_empty()).then_some(Placed { text, span })
    }

    /// A list of texts with their places; empty where it is left out. A single text counts as a list of one.
    pub fn placed_list(&mut self, fields: &Fields, name: &str) -> Vec<Placed> {
        let place = |text: &str, span| Placed {
            text: text.into(),
            span,
        };
        let Some(node) = fields.node(name) else {
            return Vec::new();
        };
        match node.value.get_ref() {
            DeValue::String(text) => return vec![place(text, node.value.span())],
            DeValue::Array(items) => {
                let texts = items.iter().map(|item| match item.get_ref() {
                    DeValue::String(text) => Some(place(text, item.span())),
                    _ => None,
                });
                if let Some(all) = texts.collect() {
                    return all;
                }
            }
            _ => {}
        }
        self.wrong_type(node, "a list of texts");
        Vec::new()
    }

    /// Named texts of a table with their places; none where it is left out.
    pub fn placed_table(&mut self, fields: &Fields, name: &str) -> Vec<(String, Placed)> {
        let Some(node) = fields.node(name) else {
            return Vec::new();
        };
        let DeValue::Table(table) = node.value.get_ref() else {
            self.wrong_type(node, "a table of quantities");
            return Vec::new();
        };
        let mut all = Vec::new();
        for inner in in_order(table) {
            match inner.value.get_ref() {
                DeValue::String(text) => all.push((
                    inner.name.to_string(),
                    Placed {
                        text: text.to_string(),
                        span: inner.value.span(),
                    },
                )),
                _ => self.wrong_type(&inner, "a quantity in quotes, as in \"1.4 mm\""),
            }
        }
        all
    }

    /// `true` or `false`; `false` where it is left out.
    pub fn flag(&mut self, fields: &Fields, name: &str) -> bool {
        match fields.node(name).map(|node| (node, node.value.get_ref())) {
            None => false,
            Some((_, DeValue::Boolean(flag))) => *flag,
            Some((node, _)) => {
                self.wrong_type(node, "`true` or `false`");
                false
            }
        }
    }

    /// A day that must be there.
    pub fn date(&mut self, fields: &Fields, name: &str) -> Option<Date> {
        self.needed(fields, name);
        let node = fields.node(name)?;
        let day = match node.value.get_ref() {
            DeValue::Datetime(found) if found.time.is_none() && found.offset.is_none() => found
                .date
                .and_then(|date| Date::new(date.year, date.month, date.day)),
            _ => None,
        };
        if day.is_none() {
            self.wrong_type(node, "a date");
        }
        day
    }

    /// A whole number from 0 on; `None` where it is left out or at fault.
    pub fn optional_whole(&mut self, fields: &Fields, name: &str) -> Option<usize> {
        let node = fields.node(name)?;
        let DeValue::Integer(integer) = node.value.get_ref() else {
            self.wrong_type(node, "a whole number");
            return None;
        };
        let number = usize::from_str_radix(integer.as_str(), integer.radix()).ok();
        if number.is_none() {
            let title = format!("`{name}` is out of range");
            let problem = Problem::new("ledger/out-of-range", title, node.value.span(), "outside");
            self.note(problem.mend("write a whole number from 0 on"));
        }
        number
    }

    /// A whole number that must be there.
    pub fn whole(&mut self, fields: &Fields, name: &str) -> usize {
        match self.needed(fields, name) {
            true => self.optional_whole(fields, name).unwrap_or(0),
            false => 0,
        }
    }

    /// A number from 0 on; 0 where it is left out.
    pub fn optional_number(&mut self, fields: &Fields, name: &str) -> f64 {
        let Some(node) = fields.node(name) else {
            return 0.0;
        };
        let number: Option<f64> = match node.value.get_ref() {
            DeValue::Float(float) => float.as_str().parse().ok(),
            DeValue::Integer(integer) => integer.as_str().parse().ok(),
            _ => None,
        };
        match number.filter(|number| number.is_finite() && *number >= 0.0) {
            Some(number) => number,
            None => {
                self.wrong_type(node, "a number from 0 on");
                0.0
            }
        }
    }

    /// Named quantities of a table: `floor = "1.4 mm"`; none where it is left out.
    pub fn quantities(&mut self, fields: &Fields, name: &str) -> Vec<Quantity> {
        let placed = self.placed_table(fields, name);
        let read = |(name, place): &(String, Placed)| self.quantity(name, place);
        placed.iter().filter_map(read).collect()
    }

    /// The quantity of a text; noted where it is none.
    pub fn quantity(&mut self, name: &str, place: &Placed) -> Option<Quantity> {
        match Quantity::read(name, &place.text) {
            Ok(quantity) => Some(quantity),
            Err(why) => {
                let what = if name.is_empty() { &place.text } else { name };
                let title = format!("`{}` is no quantity: {why}", shown(what));
                let problem =
                    Problem::new("ledger/quantity", title, place.span.clone(), "read here");
                let mend = "write a number and its unit: \"1.4 mm\", \"240 N/mm\", \"3\"";
                self.note(problem.mend(mend));
                None
            }
        }
    }

    /// Whether a key is there; notes where it is not.
    fn needed(&mut self, fields: &Fields, name: &str) -> bool {
        let there = fields.node(name).is_some();
        if !there {
            let title = format!("the key `{name}` is missing");
            let label = format!("no `{name}` here");
            let problem = Problem::new("ledger/missing-key", title, fields.span.clone(), label);
            self.note(problem.mend("put the line back as it was"));
        }
        there
    }

    fn wrong_type(&mut self, node: &Node, wanted: &str) {
        let found = match node.value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "`true` or `false`",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let mend = match wanted {
            "a date" => "write the day without quotes: 2026-11-26".into(),
            "a text" => "put it in quotes".into(),
            "a list of texts" => "write texts in brackets: [\"one\", \"two\"]".into(),
            _ => format!("write {wanted}"),
        };
        let title = format!("`{}` must be {wanted}", shown(node.name));
        let problem = Problem::new(
            "ledger/wrong-type",
            title,
            node.value.span(),
            format!("this is {found}"),
        );
        self.note(problem.mend(mend));
    }
}

impl<'t> Fields<'t> {
    fn node(&self, name: &str) -> Option<&Node<'t>> {
        self.nodes.iter().find(|node| node.name == name)
    }

    /// Names of the keys, in the order of the file.
    pub fn names(&self) -> impl Iterator<Item = &'t str> + '_ {
        self.nodes.iter().map(|node| node.name)
    }

    /// Whether a key is there.
    pub fn has(&self, name: &str) -> bool {
        self.node(name).is_some()
    }

    /// Place of a value; of the whole table where it is left out.
    pub fn place(&self, name: &str) -> Range<usize> {
        self.node(name)
            .map_or(self.span.clone(), |node| node.value.span())
    }
}

fn in_order<'t>(table: &'t DeTable<'t>) -> Vec<Node<'t>> {
    let node = |(key, value): (&'t Spanned<_>, &'t Value<'t>)| {
        let key: &'t Spanned<std::borrow::Cow<'t, str>> = key;
        Node {
            name: key.get_ref(),
            span: key.span(),
            value,
        }
    };
    let mut nodes: Vec<Node> = table.iter().map(node).collect();
    nodes.sort_by_key(|node| node.span.start);
    nodes
}

/// A name as messages show it: short, without what a terminal would obey.
pub(crate) fn shown(name: &str) -> String {
    let plain = name
        .chars()
        .take(60)
        .map(|letter| if letter.is_control() { '·' } else { letter });
    plain.collect()
}
