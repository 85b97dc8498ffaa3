//! Texts and names as TOML writes them.

use std::fmt::Write as _;

/// A text as a basic string of TOML, on one line.
///
/// What can't be seen, and what turns the direction of the text behind it, stands as an escape, so that the file
/// shows what it holds. `page/decision.js` writes the same.
///
/// Source: TOML 1.0.0, String.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            hidden if is_hidden(hidden) => {
                let _ = write!(out, "\\u{:04X}", hidden as u32);
            }
            plain => out.push(plain),
        }
    }
    out.push('"');
    out
}

/// Whether a letter is unseen or turns what follows it; all such letters have at most four hexadecimal digits.
fn is_hidden(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// A key: bare where TOML allows it, else quoted.
pub(crate) fn key(name: &str) -> String {
    let bare = |letter: char| letter.is_ascii_alphanumeric() || letter == '_' || letter == '-';
    match !name.is_empty() && name.chars().all(bare) {
        true => name.into(),
        false => quoted(name),
    }
}

/// A list of texts.
pub(crate) fn list<'a>(texts: impl IntoIterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = texts.into_iter().map(quoted).collect();
    format!("[{}]", quoted.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use toml::de::{DeTable, DeValue};

    #[test]
    fn every_text_comes_back_from_an_independent_reader() {
        let mut hostile: Vec<String> = [
            "",
            "plain",
            "\"\"\"",
            "'''",
            "\\",
            "\\u0041",
            "a\nb\r\nc\td",
            "</script>",
            "# no comment",
            "] = [",
            "\u{202e}turned\u{202c}",
            "\u{0}\u{1}\u{1f}\u{7f}\u{85}\u{9f}",
            "\u{2028}\u{2029}",
            "\u{feff}",
            "😀 é ß 中",
        ]
        .map(String::from)
        .into();
        hostile.push("x".repeat(10_000));
        for text in &hostile {
            let line = format!("{} = {}", key(text), quoted(text));
            assert_eq!(line.lines().count(), 1, "{line:?}");
            let table = DeTable::parse(&line).unwrap_or_else(|error| panic!("{line:?}: {error}"));
            let (name, value) = table.get_ref().iter().next().unwrap();
            assert_eq!(name.get_ref().as_ref(), text);
            let DeValue::String(found) = value.get_ref() else {
                panic!("{line}")
            };
            assert_eq!(found.as_ref(), text);
        }
        assert!(!quoted("\u{202e}x").contains('\u{202e}'));
        assert_eq!(
            [key("floor"), key("tilt.stiffness"), key("")],
            ["floor", "\"tilt.stiffness\"", "\"\""]
        );
    }
}
