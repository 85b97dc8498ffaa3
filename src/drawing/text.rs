//! Text that is safe where it is put, and numbers as people read them.

use std::fmt::Write as _;

/// Text for an HTML or SVG element or a quoted attribute: `&`, `<`, `>` and both quotes replaced, and the
/// control characters that neither format may hold left out, as are those that turn the direction of what
/// follows (a name could make the figures behind it read backwards; scripts written from the right need none).
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(c),
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {}
            c if c.is_control() || c == '\u{fffe}' || c == '\u{ffff}' => {}
            c => out.push(c),
        }
    }
    out
}

/// At most so many characters of a name, an ellipsis in place of the rest.
pub fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.into();
    }
    text.chars().take(most - 1).chain(['…']).collect()
}

/// JSON that may stand inside a `<script>` element: `<`, `>`, `&`, U+2028 and U+2029 as escapes. They occur
/// in JSON only inside strings, so the meaning stays.
pub fn island(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        match c {
            '<' | '>' | '&' | '\u{2028}' | '\u{2029}' => {
                let _ = write!(out, "\\u{:04x}", c as u32);
            }
            c => out.push(c),
        }
    }
    out
}

/// Base64 (RFC 4648, section 4, with padding).
pub fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let word = group.iter().enumerate().fold(0u32, |word, (i, &byte)| {
            word | u32::from(byte) << (16 - 8 * i)
        });
        for i in 0..4 {
            if i <= group.len() {
                out.push(LETTERS[(word >> (18 - 6 * i) & 63) as usize] as char);
            } else {
                out.push('=');
            }
        }
    }
    out
}

/// A number with so many decimals at most, without trailing zeros; `-` where it is not finite.
pub fn decimals(value: f64, most: usize) -> String {
    if !value.is_finite() {
        return "-".into();
    }
    let mut text = format!("{value:.most$}");
    if text.contains('.') {
        let kept = text.trim_end_matches('0').trim_end_matches('.').len();
        text.truncate(kept);
    }
    if text == "-0" { "0".into() } else { text }
}

/// A number with so many significant digits, without trailing zeros; `-` where it is not finite.
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return decimals(value, 0);
    }
    let exponent = value.abs().log10().floor() as i64;
    decimals(value, (digits as i64 - 1 - exponent).clamp(0, 12) as usize)
}

/// A unit with raised figures: `mm²` for `mm^2`.
pub fn raised(unit: &str) -> String {
    let mut out = String::with_capacity(unit.len());
    let mut up = false;
    for c in unit.chars() {
        match c.to_digit(10).filter(|_| up) {
            _ if c == '^' => up = true,
            Some(digit) => {
                out.push(['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'][digit as usize])
            }
            None => {
                up = up && c == '-';
                out.push(if up { '⁻' } else { c });
            }
        }
    }
    out
}

/// A whole number with its thousands set apart by a narrow space: `20 000`.
pub fn grouped(value: usize) -> String {
    let digits = value.to_string();
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) && digits.len() > 4 {
            out.push('\u{202f}');
        }
        out.push(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_gives_the_test_vectors_of_rfc_4648() {
        // RFC 4648, section 10.
        let vectors = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (plain, coded) in vectors {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn an_island_keeps_its_meaning_and_cannot_end_early() {
        let hostile = "</script><!-- <script> & \u{2028}\u{2029}";
        let json = island(&serde_json::to_string(hostile).unwrap());
        assert!(!json.contains(['<', '>', '&', '\u{2028}', '\u{2029}']));
        assert_eq!(serde_json::from_str::<String>(&json).unwrap(), hostile);
    }

    #[test]
    fn words_cannot_turn_what_follows_them() {
        assert_eq!(escaped("a\u{202e}b<\u{0}c"), "ab&lt;c");
        assert_eq!(shortened("abcdef", 4), "abc…");
        assert_eq!(shortened("abcd", 4), "abcd");
    }

    #[test]
    fn powers_are_raised() {
        let units = ["mm^2", "N/mm", "N mm/rad", "mm^-1 kg^12"].map(raised);
        assert_eq!(units, ["mm²", "N/mm", "N mm/rad", "mm⁻¹ kg¹²"]);
    }

    #[test]
    fn numbers_read_as_people_write_them() {
        assert_eq!(decimals(3.200, 2), "3.2");
        assert_eq!(decimals(-0.0001, 2), "0");
        assert_eq!(decimals(f64::INFINITY, 2), "-");
        assert_eq!(significant(0.012345, 3), "0.0123");
        assert_eq!(significant(68900.0, 3), "68900");
        assert_eq!(grouped(20_000), "20\u{202f}000");
        assert_eq!(grouped(999), "999");
        assert_eq!(grouped(1234567), "1\u{202f}234\u{202f}567");
    }
}
