//! Figures as they stand on paper.

use crate::drawing::text::decimals;

/// A result to four significant digits, zeros kept so that columns are of one fineness: `21.43`, `0.8400`, `1523`.
/// Whole numbers stay whole; `∞` and `–` stand for what is infinite or unknown.
pub(super) fn figure(value: f64) -> String {
    digits(value, 4)
}

/// A result to three significant digits.
pub(super) fn brief(value: f64) -> String {
    digits(value, 3)
}

fn digits(value: f64, count: i32) -> String {
    if value.is_nan() {
        return "–".into();
    }
    if value.is_infinite() {
        return if value > 0.0 { "∞" } else { "−∞" }.into();
    }
    if value.fract() == 0.0 && value.abs() < 1e7 {
        return signed(decimals(value, 0));
    }
    // Rounding first, so that 9.9996 has as many digits as 10.00.
    let scientific = format!("{value:.*e}", count as usize - 1);
    let power = scientific
        .split_once('e')
        .and_then(|(_, power)| power.parse::<i32>().ok());
    match power {
        Some(power) if (-4..7).contains(&power) => {
            signed(format!("{value:.*}", (count - 1 - power).max(0) as usize))
        }
        _ => signed(scientific),
    }
}

/// A given value, short: up to six significant digits without trailing zeros.
pub(super) fn given(value: f64) -> String {
    match value.is_finite() {
        true => signed(crate::drawing::text::significant(value, 6)),
        false => figure(value),
    }
}

/// A share in per cent, signed: `−11.1 %`.
pub(super) fn change(share: f64) -> String {
    if share.is_nan() {
        return "–".into();
    }
    if share.abs() > 1e6 {
        return if share > 0.0 { "+∞" } else { "−∞" }.into();
    }
    match format!("{:+.1} %", 100.0 * share) {
        text if text == "-0.0 %" => "+0.0 %".into(),
        text => signed(text),
    }
}

/// A time in minutes and seconds: `25 min 46 s`.
pub(super) fn time(seconds: f64) -> String {
    if !seconds.is_finite() || seconds < 0.0 {
        return "–".into();
    }
    match seconds.round() as u64 {
        whole @ 0..60 => format!("{whole} s"),
        whole => format!("{} min {:02} s", whole / 60, whole % 60),
    }
}

/// A unit with raised figures: `mm²` for `mm^2`.
pub(super) fn unit(symbol: &str) -> String {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let mut raised = false;
    let mut text = String::new();
    for letter in symbol.chars() {
        match letter.to_digit(10) {
            _ if letter == '^' => raised = true,
            Some(digit) if raised => text.push(RAISED[digit as usize]),
            _ => {
                raised = false;
                text.push(letter);
            }
        }
    }
    text
}

/// The minus sign in the place of the hyphen before a number.
fn signed(text: String) -> String {
    text.replacen('-', "−", 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_keep_their_digits() {
        assert_eq!(
            [21.4276, 0.84, 9.9996, 1523.4, -3.0].map(figure),
            ["21.43", "0.8400", "10.00", "1523", "−3"]
        );
        assert_eq!([f64::NAN, f64::INFINITY].map(figure), ["–", "∞"]);
        assert_eq!(
            [-0.1114, 0.003, -1e-9].map(change),
            ["−11.1 %", "+0.3 %", "+0.0 %"]
        );
        assert_eq!([17.2, 1546.0].map(time), ["17 s", "25 min 46 s"]);
        assert_eq!(unit("N/mm^2"), "N/mm²");
        assert_eq!(given(2.50), "2.5");
    }
}
