//! Walks the tables of the file by their keys and notes every problem on the way.
//!
//! Whatever is at fault is noted and something harmless stands in for it, so that reading goes on; a study with
//! problems is never handed out.

use super::keys::{Key, Kind, Need, Table};
use super::names::Names;
use super::problem::{Problem, suggest};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its place.
pub(super) type Value<'t> = Spanned<DeValue<'t>>;

/// A key with its value.
#[derive(Clone)]
pub(super) struct Node<'t> {
    pub name: &'t str,
    /// Place of the key.
    pub span: Range<usize>,
    pub value: &'t Value<'t>,
}

/// The entries of a table, in the order of the file.
pub(super) struct Entries<'t> {
    pub table: &'static Table,
    pub nodes: Vec<Node<'t>>,
    /// Where to point for the table as a whole.
    pub span: Range<usize>,
}

impl<'t> Entries<'t> {
    pub fn node(&self, name: &str) -> Option<&Node<'t>> {
        self.nodes.iter().find(|node| node.name == name)
    }

    /// Place of a value, or of the table where the key is left out.
    pub fn place(&self, name: &str) -> Range<usize> {
        self.node(name)
            .map_or(self.span.clone(), |node| node.value.span())
    }
}

/// Reads a study and gathers its problems.
pub(super) struct Reader<'a> {
    pub text: &'a str,
    pub problems: Vec<Problem>,
    pub names: Names,
    /// Whether the path is a circle, where angles name places.
    pub on_circle: bool,
    /// Code of the money that the study counts in.
    pub currency: &'static str,
}

impl<'a> Reader<'a> {
    pub fn note(&mut self, problem: Problem) {
        // One mistake may be met on two ways, such as a section that several bosses take over.
        if !self.problems.contains(&problem) {
            self.problems.push(problem);
        }
    }

    /// Entries of a table whose keys are all known and complete; what is not is noted.
    pub fn entries<'t>(
        &mut self,
        table: &'static Table,
        found: &'t DeTable<'t>,
        span: Range<usize>,
    ) -> Entries<'t> {
        let nodes = in_order(found);
        let known: Vec<&str> = table.keys.iter().map(|key| key.name).collect();
        for node in &nodes {
            if table.key(node.name).is_none() {
                let title = format!("there is no key `{}` in {}", node.name, table.name);
                let problem = Problem::new(
                    "study/unknown-key",
                    title,
                    node.span.clone(),
                    "not known here",
                );
                self.note(problem.mend_if(suggest(node.name, &known)));
            }
        }
        let has = |name: &str| nodes.iter().any(|node| node.name == name);
        let missing = |key: &&Key| match key.need {
            Need::Required => !has(key.name),
            Need::Unless(other) => !has(key.name) && !has(other),
            Need::Optional | Need::Default(_) => false,
        };
        for key in table.keys.iter().filter(missing) {
            self.note_missing(table, key, &span);
        }
        Entries { table, nodes, span }
    }

    /// Notes that a table lacks a key.
    pub fn note_missing(&mut self, table: &Table, key: &Key, span: &Range<usize>) {
        let (code, title) = match (key.name, table.name) {
            ("objective", "study") => ("objective/none", "the study has no objective".into()),
            ("variables", "study") => {
                ("variables/none", "the study has no design variables".into())
            }
            _ => (
                "study/missing-key",
                format!("{} needs the key `{}`", table.name, key.name),
            ),
        };
        let label = format!("no `{}` here", key.name);
        let mend = match key.kind {
            Kind::Tables(_) => format!("add [[{}]]: {}", key.name, key.doc),
            Kind::Named(_) => format!("add [{}.NAME]: {}", key.name, key.doc),
            Kind::Table(_) | Kind::TableBy(..) | Kind::NamedValues(_) => {
                format!("add the table `{}`: {}", key.name, key.doc)
            }
            _ => format!("add `{} = ...`: {}", key.name, key.doc),
        };
        self.note(Problem::new(code, title, span.clone(), label).mend(mend));
    }

    /// Entries of the table behind a value; empty where it is none.
    pub fn table<'t>(&mut self, table: &'static Table, node: &Node<'t>) -> Entries<'t> {
        match node.value.get_ref() {
            DeValue::Table(found) => self.entries(table, found, self.heading(node)),
            _ => {
                self.wrong_type(node.name, "a table", node.value);
                self.nothing(table, node.value.span())
            }
        }
    }

    /// The table behind a node with nothing but its `shape`, to say what is wrong with that.
    pub fn shape_alone<'t>(&mut self, node: &Node<'t>) -> Entries<'t> {
        static SHAPE_ALONE: Table = Table {
            name: "part.path",
            doc: "",
            keys: &[super::keys::SHAPE],
        };
        let DeValue::Table(found) = node.value.get_ref() else {
            return self.table(&SHAPE_ALONE, node);
        };
        let mut nodes = in_order(found);
        nodes.retain(|inner| inner.name == "shape");
        let span = self.heading(node);
        if nodes.is_empty() {
            let problem = Problem::new(
                "study/missing-key",
                "part.path needs the key `shape`",
                span.clone(),
                "no `shape` here",
            );
            self.note(problem.mend("add `shape`: circle, stadium, rounded rectangle or chain"));
        }
        Entries {
            table: &SHAPE_ALONE,
            nodes,
            span,
        }
    }

    /// Entries of no table, for what is at fault or left out.
    pub fn nothing<'t>(&self, table: &'static Table, span: Range<usize>) -> Entries<'t> {
        let nodes = Vec::new();
        Entries { table, nodes, span }
    }

    /// Entries of the table behind a key that may be left out.
    pub fn optional_table<'t>(&mut self, entries: &Entries<'t>, name: &str) -> Option<Entries<'t>> {
        let node = entries.node(name)?.clone();
        let table = match &entries.table.key(name)?.kind {
            Kind::Table(table) | Kind::TableOr(table, _) => table,
            _ => return None,
        };
        Some(self.table(table, &node))
    }

    /// Entries of every table of a list; none where the key is left out.
    pub fn tables<'t>(&mut self, entries: &Entries<'t>, name: &str) -> Vec<Entries<'t>> {
        let Some(node) = entries.node(name).cloned() else {
            return Vec::new();
        };
        let Some(Kind::Tables(table)) = entries.table.key(name).map(|key| &key.kind) else {
            return Vec::new();
        };
        let DeValue::Array(items) = node.value.get_ref() else {
            self.wrong_type(name, "a list of tables", node.value);
            return Vec::new();
        };
        let mut all = Vec::new();
        for value in items.iter() {
            let span = node.span.clone();
            all.push(self.table(
                table,
                &Node {
                    name: node.name,
                    span,
                    value,
                },
            ));
        }
        all
    }

    /// Nodes of a table with names of the user's choice; none where the key is left out.
    pub fn named<'t>(&mut self, entries: &Entries<'t>, name: &str) -> Vec<Node<'t>> {
        let Some(node) = entries.node(name) else {
            return Vec::new();
        };
        match node.value.get_ref() {
            DeValue::Table(found) => in_order(found),
            _ => {
                self.wrong_type(name, "a table", node.value);
                Vec::new()
            }
        }
    }

    /// A text; empty where left out or at fault.
    pub fn text(&mut self, entries: &Entries, name: &str) -> String {
        let Some(node) = entries.node(name) else {
            return String::new();
        };
        match node.value.get_ref() {
            DeValue::String(text) => text.to_string(),
            _ => {
                self.wrong_type(name, "a text", node.value);
                String::new()
            }
        }
    }

    /// One of the words of a key; its default where left out.
    pub fn word(&mut self, entries: &Entries, name: &str) -> &'static str {
        let Some(key) = entries.table.key(name) else {
            return "";
        };
        let Kind::Words(words) = key.kind else {
            return "";
        };
        let fallback = match key.need {
            Need::Default(word) => word,
            _ => words[0],
        };
        let Some(node) = entries.node(name) else {
            return fallback;
        };
        let DeValue::String(text) = node.value.get_ref() else {
            self.wrong_type(name, "a word", node.value);
            return fallback;
        };
        match words.iter().find(|word| **word == text.as_ref()) {
            Some(word) => word,
            None => {
                self.unknown_word(name, text, words, node.value.span());
                fallback
            }
        }
    }

    pub fn unknown_word(&mut self, name: &str, found: &str, words: &[&str], span: Range<usize>) {
        let title = format!("`{name}` cannot be `{found}`");
        let problem = Problem::new("study/unknown-word", title, span, "none of its words");
        self.note(problem.mend_if(suggest(found, words)));
    }

    /// A whole number of a key; its default where left out.
    pub fn whole(&mut self, entries: &Entries, name: &str) -> i64 {
        let Some(key) = entries.table.key(name) else {
            return 0;
        };
        let Kind::Whole(least, most) = key.kind else {
            return 0;
        };
        let fallback = match key.need {
            Need::Default(text) => text.parse().unwrap_or(least),
            _ => least,
        };
        let Some(node) = entries.node(name) else {
            return fallback;
        };
        let number = match node.value.get_ref() {
            DeValue::Integer(integer) => {
                i64::from_str_radix(integer.as_str(), integer.radix()).ok()
            }
            _ => {
                self.wrong_type(name, "a whole number", node.value);
                return fallback;
            }
        };
        match number.filter(|number| (least..=most).contains(number)) {
            Some(number) => number,
            None => {
                let range = match (least, most) {
                    _ if least == most => format!("{least}"),
                    (_, i64::MAX) => format!("{least} or more"),
                    _ => format!("from {least} to {most}"),
                };
                let title = format!("`{name}` is out of range");
                let problem =
                    Problem::new("study/out-of-range", title, node.value.span(), "outside");
                self.note(problem.mend(format!("write {range}")));
                fallback
            }
        }
    }

    /// Yes or no; no where left out.
    pub fn flag(&mut self, entries: &Entries, name: &str) -> bool {
        match entries.node(name).map(|node| (node, node.value.get_ref())) {
            None => false,
            Some((_, DeValue::Boolean(flag))) => *flag,
            Some((node, _)) => {
                self.wrong_type(name, "`true` or `false`", node.value);
                false
            }
        }
    }

    pub fn wrong_type(&mut self, name: &str, wanted: &str, value: &Value) {
        let found = match value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "`true` or `false`",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let mend = match (wanted, value.get_ref()) {
            ("a text" | "a word", _) => "put it in quotes".to_string(),
            ("a list of tables", DeValue::Table(_)) => {
                "put its heading in double brackets: [[...]]".to_string()
            }
            ("a table", _) => "write { key = value, ... }, or a heading [...]".to_string(),
            (wanted, DeValue::String(_) | DeValue::Integer(_) | DeValue::Float(_))
                if wanted.starts_with("a list") =>
            {
                "put the entries in brackets, with commas between: [..., ...]".to_string()
            }
            _ => format!("write {wanted}"),
        };
        let title = format!("`{name}` must be {wanted}");
        let span = self.first_line(value.span());
        let problem = Problem::new("study/wrong-type", title, span, format!("this is {found}"));
        self.note(problem.mend(mend));
    }

    /// Where to point for a whole table: its heading, or the key before an inline table.
    fn heading(&self, node: &Node) -> Range<usize> {
        let span = node.value.span();
        let text = self.text.get(span.clone()).unwrap_or_default();
        if text.starts_with(['[', '{']) || node.span.is_empty() {
            self.first_line(span)
        } else {
            node.span.clone()
        }
    }

    /// The span up to the end of its first line.
    pub fn first_line(&self, span: Range<usize>) -> Range<usize> {
        let text = self.text.get(span.clone()).unwrap_or_default();
        let length = text.lines().next().map_or(0, str::len);
        span.start..span.start + length
    }
}

/// Keys and values in the order of the file.
pub(super) fn in_order<'t>(table: &'t DeTable<'t>) -> Vec<Node<'t>> {
    let mut nodes: Vec<Node> = table
        .iter()
        .map(|(key, value)| Node {
            name: key.get_ref(),
            span: key.span(),
            value,
        })
        .collect();
    nodes.sort_by_key(|node| node.span.start);
    nodes
}
