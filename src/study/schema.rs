//! JSON Schema and key reference, made from the keys.

use super::keys::{Key, Kind, Need, Quantity, STUDY, Sign, Table};
use crate::units::{Dimension, Unit};
use serde_json::{Map, Value, json};

/// The study file as a JSON Schema (draft 2020-12), for completion and checks in editors.
pub fn json_schema() -> Value {
    let mut schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "fretwork study",
    });
    if let (Value::Object(all), Value::Object(root)) = (&mut schema, table_schema(&STUDY)) {
        all.extend(root);
    }
    schema
}

fn table_schema(table: &Table) -> Value {
    let mut properties = Map::new();
    for key in table.keys {
        properties.insert(key.name.to_string(), key_schema(key));
    }
    let required: Vec<&str> = table
        .keys
        .iter()
        .filter(|key| key.need == Need::Required)
        .map(|key| key.name)
        .collect();
    let either: Vec<(&str, &str)> = table
        .keys
        .iter()
        .filter_map(|key| match key.need {
            Need::Unless(other) => Some((key.name, other)),
            _ => None,
        })
        .collect();
    let mut schema = json!({
        "type": "object",
        "description": table.doc,
        "properties": properties,
        "additionalProperties": false,
    });
    if !required.is_empty() {
        schema["required"] = json!(required);
    }
    if let Some((_, other)) = either.first() {
        let names: Vec<&str> = either.iter().map(|(name, _)| *name).collect();
        schema["anyOf"] = json!([{ "required": names }, { "required": [other] }]);
    }
    schema
}

fn key_schema(key: &Key) -> Value {
    let mut schema = kind_schema(&key.kind);
    let doc = match kind_words(&key.kind) {
        words if words.is_empty() => key.doc.to_string(),
        words => format!("{} ({words})", key.doc),
    };
    schema["description"] = json!(doc);
    if let Need::Default(text) = key.need {
        schema["default"] = default_value(&key.kind, text);
    }
    schema
}

fn default_value(kind: &Kind, text: &str) -> Value {
    match kind {
        Kind::Whole(..) | Kind::Flag | Kind::Vector(..) => {
            text.parse().unwrap_or_else(|_| json!(text))
        }
        Kind::Formula(quantity) if quantity.dimension == Dimension::NUMBER => {
            text.parse().unwrap_or_else(|_| json!(text))
        }
        _ => json!(text),
    }
}

fn kind_schema(kind: &Kind) -> Value {
    let value = || json!({ "type": ["string", "number"] });
    let list = |items: Value| json!({ "type": "array", "items": items });
    match kind {
        Kind::Text => json!({ "type": "string" }),
        Kind::Words(words) => json!({ "enum": words }),
        Kind::Whole(least, most) if least == most => json!({ "const": least }),
        Kind::Whole(least, i64::MAX) => json!({ "type": "integer", "minimum": least }),
        Kind::Whole(least, most) => json!({ "type": "integer", "minimum": least, "maximum": most }),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Formula(_) | Kind::FormulaOr(..) | Kind::Fixed | Kind::Expression | Kind::Place => {
            value()
        }
        Kind::Vector(_, count) => {
            json!({ "type": "array", "items": value(), "minItems": count, "maxItems": count })
        }
        Kind::Lengths => list(value()),
        Kind::Texts => json!({ "type": "array", "items": { "type": "string" }, "minItems": 1 }),
        Kind::UnitName => json!({ "type": "string" }),
        Kind::Choices => json!({ "oneOf": [{ "enum": ["drills", "end_mills"] }, list(value())] }),
        Kind::Comparison => json!({ "type": "string", "pattern": "[<>≤≥]" }),
        Kind::Places | Kind::PlacesOr(_) => json!({ "oneOf": [value(), list(value())] }),
        Kind::Strip => {
            json!({ "type": "string", "pattern": "^(floor|outer wall|inner wall|rib( [1-9][0-9]*)?)$" })
        }
        Kind::Holds => {
            json!({ "oneOf": [{ "const": "all" }, list(json!({ "enum": super::keys::HOLDS }))] })
        }
        Kind::Table(table) => table_schema(table),
        Kind::TableOr(table, word) => json!({ "oneOf": [table_schema(table), { "const": word }] }),
        Kind::TableBy(key, tables) => {
            let each = |(word, table): &(&str, &Table)| {
                let mut schema = table_schema(table);
                schema["properties"][*key] = json!({ "const": word });
                schema
            };
            json!({ "oneOf": tables.iter().map(each).collect::<Vec<_>>() })
        }
        Kind::Tables(table) => list(table_schema(table)),
        Kind::Named(table) => {
            json!({ "type": "object", "additionalProperties": table_schema(table) })
        }
        Kind::NamedValues(kind) => {
            json!({ "type": "object", "additionalProperties": kind_schema(kind) })
        }
    }
}

/// What may stand behind a key, in words; empty for what needs none.
fn kind_words(kind: &Kind) -> String {
    match kind {
        Kind::Formula(quantity) => quantity_words(quantity),
        Kind::FormulaOr(quantity, word) => format!("{}, or `{word}`", quantity_words(quantity)),
        Kind::Vector(quantity, count) => {
            format!("list of {count}, each {}", quantity_words(quantity))
        }
        Kind::Words(words) => words
            .iter()
            .map(|word| format!("`{word}`"))
            .collect::<Vec<_>>()
            .join(", "),
        Kind::Whole(..) => "whole number".into(),
        Kind::Flag => "`true` or `false`".into(),
        Kind::Fixed => "fixed quantity such as `\"1.5 mm\"`, or a number".into(),
        Kind::Lengths => "list of lengths".into(),
        Kind::Texts => "list of texts".into(),
        Kind::UnitName => "unit, or `1` for plain numbers".into(),
        Kind::Choices => "list of fixed quantities, `drills` or `end_mills`".into(),
        Kind::Expression => "expression over variables, derived values and measures".into(),
        Kind::Comparison => "two expressions with `<=` or `>=`".into(),
        Kind::Place => PLACE.into(),
        Kind::Places => format!("{PLACE}; one or a list"),
        Kind::PlacesOr(word) => format!("{PLACE}; one, a list, or `{word}`"),
        Kind::TableOr(_, word) => format!("table, or `{word}`"),
        Kind::NamedValues(kind) => kind_words(kind),
        Kind::Text
        | Kind::Strip
        | Kind::Holds
        | Kind::Table(_)
        | Kind::TableBy(..)
        | Kind::Tables(_)
        | Kind::Named(_) => String::new(),
    }
}

const PLACE: &str = "place on the path: length from its start, angle on a circle, or share 0 to 1";

fn quantity_words(quantity: &Quantity) -> String {
    let sign = match quantity.sign {
        Sign::Positive => ", above zero",
        Sign::NotNegative => ", not negative",
        Sign::Any => "",
    };
    match Unit::base(quantity.dimension).symbol.as_str() {
        "" => format!("number{sign}"),
        _ => format!("{}{sign}", quantity.dimension),
    }
}

/// All keys as a page of Markdown, a table each.
pub fn key_reference() -> String {
    let mut page = String::new();
    let mut done = Vec::new();
    add_table(&STUDY, &mut page, &mut done);
    page
}

fn add_table(table: &'static Table, page: &mut String, done: &mut Vec<&'static str>) {
    if done.contains(&table.name) {
        return;
    }
    done.push(table.name);
    page.push_str(&format!(
        "### {}\n\n{}\n\n| key | needed | meaning |\n|---|---|---|\n",
        table.name, table.doc
    ));
    for key in table.keys {
        let need = match key.need {
            Need::Required => "yes".to_string(),
            Need::Unless(other) => format!("yes, without `{other}`"),
            Need::Optional => "no".to_string(),
            Need::Default("") => "no; empty".to_string(),
            Need::Default(value) => format!("no; `{value}`"),
        };
        let words = match kind_words(&key.kind) {
            words if words.is_empty() => String::new(),
            words => format!(" ({words})"),
        };
        page.push_str(&format!(
            "| `{}` | {need} | {}{words} |\n",
            key.name, key.doc
        ));
    }
    page.push('\n');
    for key in table.keys {
        match &key.kind {
            Kind::Table(inner)
            | Kind::TableOr(inner, _)
            | Kind::Tables(inner)
            | Kind::Named(inner) => {
                add_table(inner, page, done);
            }
            Kind::TableBy(_, inner) => inner
                .iter()
                .for_each(|(_, inner)| add_table(inner, page, done)),
            _ => {}
        }
    }
}
