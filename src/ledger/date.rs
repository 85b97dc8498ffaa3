//! A day of the calendar.

use std::fmt;
use std::str::FromStr;

/// A day of the Gregorian calendar, written as ISO 8601 has it: `2026-11-26`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

impl Date {
    /// A day that the calendar has; `None` for any other.
    pub fn new(year: u16, month: u8, day: u8) -> Option<Date> {
        let leap =
            year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let days = match month {
            2 if leap => 29,
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            1..=12 => 31,
            _ => 0,
        };
        let known = year <= 9999 && (1..=days).contains(&day);
        known.then_some(Date { year, month, day })
    }
}

impl FromStr for Date {
    type Err = &'static str;

    fn from_str(text: &str) -> Result<Date, Self::Err> {
        let part = |range, separated: &[usize]| {
            let digits: &str = text.get(range)?;
            let plain = digits.bytes().all(|byte| byte.is_ascii_digit());
            let marks = separated
                .iter()
                .all(|at| text.as_bytes().get(*at) == Some(&b'-'));
            if plain && marks {
                digits.parse::<u16>().ok()
            } else {
                None
            }
        };
        let found = (text.len() == 10)
            .then(|| Some((part(0..4, &[4])?, part(5..7, &[4])?, part(8..10, &[7])?)))
            .flatten();
        found
            .and_then(|(year, month, day)| Date::new(year, month as u8, day as u8))
            .ok_or("a date is a day of the calendar, written as 2026-11-26")
    }
}

impl fmt::Display for Date {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Leap years as ISO 8601 has them: 2000 is one, 1900 is none.
    #[test]
    fn only_days_of_the_calendar_are_dates() {
        for text in [
            "2026-11-26",
            "2000-02-29",
            "2024-02-29",
            "0001-01-01",
            "9999-12-31",
        ] {
            assert_eq!(
                text.parse::<Date>().map(|date| date.to_string()),
                Ok(text.into())
            );
        }
        for text in [
            "",
            "2026",
            "2026-13-01",
            "2026-00-01",
            "2026-02-30",
            "1900-02-29",
            "2026-11-31",
            "26-11-2026",
            "2026/11/26",
            "2026-11-26T00:00:00Z",
            "+026-11-26",
            "2026-1-026",
            "2026-11-2é",
        ] {
            assert!(text.parse::<Date>().is_err(), "{text}");
        }
    }
}
