//! Figures as text, for people.

/// A result to four significant digits: `21.43`, `0.8400`, `1523`. Whole numbers stay whole; what is very great
/// or small is written with an exponent; `∞` and `-` stand for what is infinite or unknown.
pub fn figure(value: f64) -> String {
    special(value).unwrap_or_else(|| {
        if value.fract() == 0.0 && value.abs() < 1e7 {
            return format!("{}", value as i64);
        }
        significant(value, 4)
    })
}

/// A given value, short: up to six significant digits without trailing zeros: `2.5`, `3.175`, `40`.
pub fn short(value: f64) -> String {
    special(value).unwrap_or_else(|| trimmed(significant(value, 6)))
}

/// A given value where room is scarce: as [`short`], with up to four significant digits.
pub fn brief(value: f64) -> String {
    special(value).unwrap_or_else(|| trimmed(significant(value, 4)))
}

fn trimmed(text: String) -> String {
    match (text.contains('.'), text.contains('e')) {
        (true, false) => text.trim_end_matches('0').trim_end_matches('.').to_string(),
        _ => text,
    }
}

/// A share as a percentage with its sign: `-11.1 %`, `+0.3 %`.
pub fn signed_percent(share: f64) -> String {
    // A margin is bounded: what had no end arrives as a million times its limit.
    let share = if share.abs() < 1e6 {
        share
    } else {
        share * f64::INFINITY
    };
    special(share).unwrap_or_else(|| {
        let percent = format!("{:+.1} %", share * 100.0);
        if percent == "-0.0 %" {
            "+0.0 %".into()
        } else {
            percent
        }
    })
}

/// A unit with raised figures: `mm²` for `mm^2`.
pub fn unit(symbol: &str) -> String {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let mut text = String::new();
    let mut raised = false;
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

/// A count with its thousands apart: `24,000`.
pub fn count(value: usize) -> String {
    let digits = value.to_string();
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// A time: `0.42 s`, `17 s`, `4 min 05 s`, `2 h 10 min`.
pub fn duration(seconds: f64) -> String {
    if !seconds.is_finite() || seconds < 0.0 {
        return "-".into();
    }
    match seconds.round() as u64 {
        _ if seconds < 0.995 => format!("{seconds:.2} s"),
        _ if seconds < 9.95 => format!("{seconds:.1} s"),
        whole @ 0..60 => format!("{whole} s"),
        whole @ 60..3600 => format!("{} min {:02} s", whole / 60, whole % 60),
        whole => format!("{} h {:02} min", whole / 3600, whole / 60 % 60),
    }
}

fn special(value: f64) -> Option<String> {
    if value.is_nan() {
        return Some("-".into());
    }
    match value {
        f64::INFINITY => Some("∞".into()),
        f64::NEG_INFINITY => Some("-∞".into()),
        _ if value == 0.0 => Some("0".into()),
        _ => None,
    }
}

pub fn significant(value: f64, digits: i32) -> String {
    // Rounding first, so that 9.9996 has as many digits as 10.00.
    let scientific = format!("{value:.*e}", digits as usize - 1);
    let exponent = scientific
        .split_once('e')
        .and_then(|(_, power)| power.parse::<i32>().ok())
        .unwrap_or(0);
    if (-4..7).contains(&exponent) {
        format!("{value:.*}", (digits - 1 - exponent).max(0) as usize)
    } else {
        scientific
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_four_digits() {
        for (value, text) in [
            (21.4276, "21.43"),
            (0.84, "0.8400"),
            (9.9996, "10.00"),
            (99999.5, "100000"),
            (1523.4, "1523"),
            (3.0, "3"),
            (-12.0, "-12"),
            (-0.0, "0"),
            (0.00012346, "0.0001235"),
            (1.23456e-7, "1.235e-7"),
            (123456789.0, "1.235e8"),
            (f64::INFINITY, "∞"),
            (f64::NEG_INFINITY, "-∞"),
            (f64::NAN, "-"),
        ] {
            assert_eq!(figure(value), text, "{value:e}");
        }
    }

    #[test]
    fn given_values_are_short() {
        for (value, text) in [
            (2.5, "2.5"),
            (3.175, "3.175"),
            (40.0, "40"),
            (100.0, "100"),
            (0.1 + 0.2, "0.3"),
            (1e9, "1.00000e9"),
        ] {
            assert_eq!(short(value), text);
        }
    }

    #[test]
    fn brief_values_have_four_digits_at_most() {
        assert_eq!([0.801619, 2.0, 12.5].map(brief), ["0.8016", "2", "12.5"]);
    }

    #[test]
    fn units_have_raised_figures() {
        assert_eq!(
            ["mm^2", "N/mm", "mm^6", "g/mm^3"].map(unit),
            ["mm²", "N/mm", "mm⁶", "g/mm³"]
        );
    }

    #[test]
    fn shares_counts_and_times() {
        assert_eq!(signed_percent(-0.1114), "-11.1 %");
        assert_eq!(signed_percent(-1e-9), "+0.0 %");
        assert_eq!(signed_percent(1e6), "∞");
        assert_eq!(signed_percent(f64::NAN), "-");
        let counts = [0, 999, 1000, 24000, 1234567].map(count);
        assert_eq!(counts, ["0", "999", "1,000", "24,000", "1,234,567"]);
        let times = [0.424, 1.26, 17.2, 59.7, 245.0, 7800.0, f64::NAN].map(duration);
        assert_eq!(
            times,
            [
                "0.42 s",
                "1.3 s",
                "17 s",
                "1 min 00 s",
                "4 min 05 s",
                "2 h 10 min",
                "-"
            ]
        );
    }
}
