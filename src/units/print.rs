//! Quantities as text.

use super::Unit;

impl Unit {
    /// A value in base units, printed in this unit with its symbol: `3.2 mm`; four significant digits.
    pub fn print(&self, value: f64) -> String {
        let number = print_number(value / self.size);
        match self.symbol.as_str() {
            "" => number,
            "%" | "°" => format!("{number}{}", self.symbol),
            symbol => format!("{number} {symbol}"),
        }
    }
}

/// A number with four significant digits, whole numbers up to a million in full, no zeros at the end;
/// `inf` and `nan` for what is not finite.
pub fn print_number(value: f64) -> String {
    if value.is_nan() {
        return "nan".into();
    }
    if value.is_infinite() {
        return if value > 0.0 { "inf" } else { "-inf" }.into();
    }
    let size = value.abs();
    if size == 0.0 {
        return "0".into();
    }
    if !(1e-4..1e7).contains(&size) {
        return trim(format!("{value:.3e}"));
    }
    let digits_before = size.log10().floor() as i32 + 1;
    let decimals = usize::try_from((4 - digits_before).max(0)).unwrap_or(0);
    let text = trim(format!("{value:.decimals$}"));
    if text == "-0" { "0".into() } else { text }
}

/// Without zeros at the end of its fraction.
fn trim(text: String) -> String {
    let (number, exponent) = match text.find('e') {
        Some(at) => text.split_at(at),
        None => (text.as_str(), ""),
    };
    if !number.contains('.') {
        return text;
    }
    format!(
        "{}{exponent}",
        number.trim_end_matches('0').trim_end_matches('.')
    )
}
