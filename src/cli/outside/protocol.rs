//! What a program of the user's is asked and how it answers: JSON (RFC 8259), format 1.
//!
//! ```text
//! asked:    {"format":1,"variables":{"hole":2.8},"derived":{},"measures":{"mass":21.4},"units":{"hole":"mm","mass":"g"}}
//! answers:  {"measures":{"wear":12.5}}      or      {"failed":"the mesh did not close"}
//! ```
//!
//! Numbers are in the units of the study; `units` names those that are no plain numbers. What is not known is
//! `null`. A program that stays and answers line by line also gets an `id`, and gives it back.

use serde_json::{Map, Value, json};

use crate::evaluate::{Quantity, Question};

/// Number of the protocol. Raised when a program of today could not answer any more.
pub const FORMAT: u64 = 1;

/// Most letters of a reason that are kept.
const LONGEST: usize = 300;

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// The program says so itself: it would say it again.
    Said(String),
    /// Something went wrong: another attempt may help.
    Broke(String),
}

impl Fault {
    pub(super) fn broke(why: impl Into<String>) -> Fault {
        Fault::Broke(why.into())
    }
}

/// The question as one line, its end included.
pub fn question(question: &Question, id: Option<u64>) -> String {
    let values = |list: &[Quantity]| -> Map<String, Value> {
        let entry = |one: &Quantity| (one.name.to_string(), json!(one.value));
        list.iter().map(entry).collect()
    };
    let all = [&question.variables, &question.derived, &question.measures];
    let units: Map<String, Value> = all
        .into_iter()
        .flatten()
        .filter(|one| !one.unit.symbol.is_empty())
        .map(|one| (one.name.to_string(), json!(one.unit.symbol.as_str())))
        .collect();
    let mut object = Map::new();
    object.insert("format".into(), json!(FORMAT));
    if let Some(id) = id {
        object.insert("id".into(), json!(id));
    }
    object.insert("variables".into(), values(&question.variables).into());
    object.insert("derived".into(), values(&question.derived).into());
    object.insert("measures".into(), values(&question.measures).into());
    object.insert("units".into(), units.into());
    format!("{}\n", Value::Object(object))
}

/// The values of the measures of these names in an answer; `id` is that of the question, where it had one.
///
/// # Errors
/// That the program failed, or what is wrong with its answer.
pub fn answer(text: &[u8], names: &[String], id: Option<u64>) -> Result<Vec<f64>, Fault> {
    let object = object(text, id.is_some())?;
    if let Some(id) = id {
        match object.get("id") {
            Some(found) if found.as_u64() == Some(id) => {}
            Some(_) => {
                return Err(Fault::broke("its answer is to another question (`id`)"));
            }
            None => return Err(Fault::broke("its answer lacks the `id` of the question")),
        }
    }
    match (object.get("failed"), object.get("measures")) {
        (Some(Value::String(why)), None) => Err(Fault::Said(format!("it says: {}", short(why)))),
        (Some(_), None) => Err(Fault::broke("its `failed` is not a text")),
        (Some(_), Some(_)) => Err(Fault::broke("its answer has both `measures` and `failed`")),
        (None, Some(Value::Object(found))) => measures(found, names),
        (None, Some(_)) => Err(Fault::broke("its `measures` are not an object")),
        (None, None) => Err(Fault::broke(
            "its answer has neither `measures` nor `failed`",
        )),
    }
}

/// The JSON object of an output. What is said of one that is none must not depend on the `id`, which follows from the
/// order in which threads come to ask.
fn object(text: &[u8], stays: bool) -> Result<Map<String, Value>, Fault> {
    let shown = String::from_utf8_lossy(text);
    let shown = shown.trim();
    if shown.is_empty() {
        return Err(Fault::broke("it gives no output"));
    }
    let start = match stays && shown.starts_with('{') {
        true => String::new(),
        false => format!(": {}", begun(shown)),
    };
    match serde_json::from_str(shown) {
        Ok(Value::Object(object)) => Ok(object),
        Ok(_) => Err(Fault::broke(format!(
            "its output is not a JSON object{start}"
        ))),
        Err(error) => {
            let words = ["NaN", "Infinity", "nan", "inf"];
            let error = error.to_string();
            let why = match words.iter().find(|word| shown.contains(*word)) {
                Some(word) => format!("JSON has no `{word}`"),
                None if stays => error.split(" at line").next().unwrap_or_default().into(),
                None => error,
            };
            Err(Fault::broke(format!(
                "its output is not one JSON object ({why}){start}"
            )))
        }
    }
}

fn measures(found: &Map<String, Value>, names: &[String]) -> Result<Vec<f64>, Fault> {
    if let Some(other) = found.keys().find(|key| !names.contains(key)) {
        return Err(Fault::broke(format!(
            "it gives `{}`, which the study does not declare",
            short(other)
        )));
    }
    let value = |name: &String| match found.get(name) {
        None => Err(Fault::broke(format!("it gives no `{name}`"))),
        // A number beyond the range of a double is no JSON to the reader, so what is here is finite.
        Some(value) => value.as_f64().ok_or_else(|| {
            Fault::broke(format!(
                "its `{name}` is not a number: {}",
                short(&value.to_string())
            ))
        }),
    };
    names.iter().map(value).collect()
}

/// The first words of an output, in quotes.
fn begun(text: &str) -> String {
    let first = text.lines().next().unwrap_or_default();
    let start: String = first.chars().take(60).collect();
    let more = if start.len() < text.len() { " ..." } else { "" };
    format!("`{}{more}`", printable(&start))
}

/// A text in one line of bearable length.
pub(super) fn short(text: &str) -> String {
    let line = printable(text.trim());
    match line.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{} ...", &line[..end]),
        None => line,
    }
}

/// A text that changes no terminal and no table: control characters become spaces.
fn printable(text: &str) -> String {
    text.chars()
        .map(|letter| if letter.is_control() { ' ' } else { letter })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Unit;

    fn names() -> Vec<String> {
        vec!["wear".into(), "force".into()]
    }

    fn fault(text: &str) -> String {
        match answer(text.as_bytes(), &names(), None) {
            Err(Fault::Broke(why)) => why,
            other => panic!("{text}: {other:?}"),
        }
    }

    #[test]
    fn a_question_carries_names_units_and_every_bit() {
        let quantity = |name, unit, value| Quantity { name, unit, value };
        let asked = Question {
            variables: vec![
                quantity("hole", Unit::MM, 0.1 + 0.2),
                quantity("count", Unit::NUMBER, 3.0),
            ],
            derived: Vec::new(),
            measures: vec![quantity("cone_room", Unit::MM, f64::INFINITY)],
        };
        let line = question(&asked, Some(7));
        assert!(line.ends_with("}\n") && line.matches('\n').count() == 1);
        let read: Value = serde_json::from_str(&line).unwrap();
        assert_eq!(read["variables"]["hole"].as_f64(), Some(0.1 + 0.2));
        assert_eq!((&read["format"], &read["id"]), (&json!(1), &json!(7)));
        assert_eq!(read["measures"]["cone_room"], Value::Null);
        assert_eq!(read["units"], json!({ "hole": "mm", "cone_room": "mm" }));
    }

    #[test]
    fn an_answer_is_read_in_the_order_of_the_study() {
        let text = br#" {"note": "fine", "measures": {"force": -2, "wear": 1e-3}} "#;
        assert_eq!(answer(text, &names(), None), Ok(vec![1e-3, -2.0]));
        let text = br#"{"id": 4, "failed": "no\nroot"}"#;
        let said = Err(Fault::Said("it says: no root".into()));
        assert_eq!(answer(text, &names(), Some(4)), said);
    }

    #[test]
    fn what_is_wrong_with_an_answer_is_said() {
        for (text, words) in [
            ("", "no output"),
            ("Loading ...\n{}", "`Loading ... ...`"),
            ("[1, 2]", "not a JSON object"),
            ("{}", "neither `measures` nor `failed`"),
            (r#"{"measures": 3}"#, "not an object"),
            (r#"{"failed": true}"#, "not a text"),
            (r#"{"failed": "x", "measures": {}}"#, "both"),
            (r#"{"measures": {"wear": 1}}"#, "no `force`"),
            (r#"{"measures": {"wear": 1, "farce": 2}}"#, "`farce`"),
            (
                r#"{"measures": {"wear": "1", "force": 2}}"#,
                "`wear` is not a number",
            ),
            (
                r#"{"measures": {"wear": null, "force": 2}}"#,
                "`wear` is not a number",
            ),
            (r#"{"measures": {"wear": NaN, "force": 2}}"#, "no `NaN`"),
            (
                r#"{"measures": {"wear": -Infinity, "force": 2}}"#,
                "no `Infinity`",
            ),
            (
                r#"{"measures": {"wear": 1e999, "force": 2}}"#,
                "out of range",
            ),
            (r#"{"measures": {"wear": 1, "force": 2}} {}"#, "trailing"),
            (r#"{"measures": {"wear": 1, "force":"#, "EOF"),
        ] {
            assert!(fault(text).contains(words), "{text}: {}", fault(text));
        }
        let why = |text: &[u8], id| match answer(text, &names(), Some(id)) {
            Err(Fault::Broke(why)) => why,
            other => panic!("{other:?}"),
        };
        let wrong = why(br#"{"id": 3, "measures": {}}"#, 4);
        assert_eq!(wrong, "its answer is to another question (`id`)");
        // Who asked when must not be seen in a reason.
        let cut = |id| why(format!("{{\"id\": {id}, \"measures\": {{").as_bytes(), id);
        assert_eq!(cut(7), cut(12_345));
    }

    #[test]
    fn a_reason_is_one_line_without_control_characters() {
        let long = format!("\u{1b}[31m{}", "x".repeat(2000));
        assert!(short(&long).len() < 320 && !short(&long).contains('\u{1b}'));
    }
}
