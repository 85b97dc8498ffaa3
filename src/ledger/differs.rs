//! What differs between two texts of TOML, key by key.

use toml_edit::{Document, Item, Value};

/// A key whose value differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// Path of the key: `part.section.width`, `variables.hole.choices`.
    pub key: String,
    /// Value before, as written; `None` where there was none.
    pub before: Option<String>,
    /// Value after, as written; `None` where there is none.
    pub after: Option<String>,
}

/// What differs between two texts, in the order of the first; comments and layout aside. `None` where one is no TOML.
pub fn differences(before: &str, after: &str) -> Option<Vec<Difference>> {
    let (before, after) = (flat(before)?, flat(after)?);
    let find = |of: &[(String, String)], key: &str| {
        let found = of.iter().find(|(known, _)| known == key);
        found.map(|(_, value)| value.clone())
    };
    let mut all = Vec::new();
    for (key, value) in &before {
        let now = find(&after, key);
        if now.as_ref() != Some(value) {
            all.push(Difference {
                key: key.clone(),
                before: Some(value.clone()),
                after: now,
            });
        }
    }
    for (key, value) in &after {
        if find(&before, key).is_none() {
            all.push(Difference {
                key: key.clone(),
                before: None,
                after: Some(value.clone()),
            });
        }
    }
    Some(all)
}

/// Every value of a text with its path, in order; entries of lists of tables are counted from 1.
fn flat(text: &str) -> Option<Vec<(String, String)>> {
    let document = Document::parse(text).ok()?;
    let mut all = Vec::new();
    for (key, item) in document.iter() {
        of_item(key, item, &mut all);
    }
    Some(all)
}

fn of_item(path: &str, item: &Item, all: &mut Vec<(String, String)>) {
    match item {
        Item::None => {}
        Item::Value(value) => of_value(path, value, all),
        Item::Table(table) => {
            for (key, item) in table.iter() {
                of_item(&format!("{path}.{key}"), item, all);
            }
        }
        Item::ArrayOfTables(tables) => {
            for (index, table) in tables.iter().enumerate() {
                for (key, item) in table.iter() {
                    of_item(&format!("{path}[{}].{key}", index + 1), item, all);
                }
            }
        }
    }
}

fn of_value(path: &str, value: &Value, all: &mut Vec<(String, String)>) {
    match value {
        Value::InlineTable(table) => {
            for (key, value) in table.iter() {
                of_value(&format!("{path}.{key}"), value, all);
            }
        }
        Value::Array(array) => {
            let items: Vec<String> = array.iter().map(plain).collect();
            all.push((path.into(), format!("[{}]", items.join(", "))));
        }
        value => all.push((path.into(), plain(value))),
    }
}

/// A value without the spaces and comments around it, and however it is quoted.
fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => format!("\"{}\"", text.value()),
        Value::Array(array) => {
            let items: Vec<String> = array.iter().map(plain).collect();
            format!("[{}]", items.join(", "))
        }
        Value::InlineTable(table) => {
            let mut items: Vec<String> = table
                .iter()
                .map(|(key, value)| format!("{key} = {}", plain(value)))
                .collect();
            items.sort();
            format!("{{ {} }}", items.join(", "))
        }
        value => {
            let mut value = value.clone();
            value.decor_mut().clear();
            value.to_string()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layout_is_no_difference() {
        let before = "a = 1\n[part]\nwidth = \"13 mm\" # wide\nforces = [ { at = \"0 deg\", force = [1,2] } ]\n";
        let after = "# new\na   = 1\npart.width = '13 mm'\npart.forces = [\n  { force = [1, 2], at = \"0 deg\" },\n]\n";
        assert_eq!(differences(before, after), Some(Vec::new()));
        assert_eq!(differences(before, before), Some(Vec::new()));
        assert_eq!(differences("a = ", before), None);
    }

    #[test]
    fn what_differs_is_told_by_its_path() {
        let before = "title = \"x\"\n[[objective]]\nleast = \"mass\"\n[variables.hole]\nchoices = [\"2 mm\"]\n";
        let after = "[[objective]]\nleast = \"cost\"\n[[objective]]\nmost = \"f\"\n[variables.hole]\nchoices = [\"2 mm\", \"3 mm\"]\n";
        let found = differences(before, after).unwrap();
        let told: Vec<(&str, Option<&str>, Option<&str>)> = found
            .iter()
            .map(|each| {
                (
                    each.key.as_str(),
                    each.before.as_deref(),
                    each.after.as_deref(),
                )
            })
            .collect();
        assert_eq!(
            told,
            [
                ("title", Some("\"x\""), None),
                ("objective[1].least", Some("\"mass\""), Some("\"cost\"")),
                (
                    "variables.hole.choices",
                    Some("[\"2 mm\"]"),
                    Some("[\"2 mm\", \"3 mm\"]")
                ),
                ("objective[2].most", None, Some("\"f\"")),
            ]
        );
    }
}
