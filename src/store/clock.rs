//! Date and time of day as the manifest writes them.

use std::time::{SystemTime, UNIX_EPOCH};

/// Now, in UTC, in the form of RFC 3339: `2026-11-25T14:09:26Z`.
pub fn now() -> String {
    let seconds = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.as_secs());
    timestamp(seconds)
}

/// A count of seconds since 1970-01-01 in the form of RFC 3339, in UTC.
fn timestamp(seconds: u64) -> String {
    let (year, month, day) = date(seconds / 86_400);
    let (hour, minute, second) = (seconds / 3600 % 24, seconds / 60 % 60, seconds % 60);
    format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}Z")
}

/// Year, month and day of a count of days since 1970-01-01, in the Gregorian calendar.
///
/// Years are counted from March, so that the leap day comes last and month lengths follow a straight line:
/// day of month m (March = 0) starts (153 m + 2) / 5 days into the year.
fn date(days: u64) -> (u64, u64, u64) {
    // 719468 days lie between 0000-03-01 and 1970-01-01; an era is 400 years of 146097 days.
    let since_march_0 = days + 719_468;
    let (era, day_of_era) = (since_march_0 / 146_097, since_march_0 % 146_097);
    let year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march_month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * march_month + 2) / 5 + 1;
    let month = if march_month < 10 {
        march_month + 3
    } else {
        march_month - 9
    };
    let year = era * 400 + year_of_era + u64::from(month <= 2);
    (year, month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Unix times as the POSIX formula for "seconds since the Epoch" gives them (IEEE 1003.1, 4.16).
    #[test]
    fn known_moments() {
        assert_eq!(timestamp(0), "1970-01-01T00:00:00Z");
        assert_eq!(timestamp(951_782_400), "2000-02-29T00:00:00Z");
        assert_eq!(timestamp(951_868_800), "2000-03-01T00:00:00Z");
        assert_eq!(timestamp(1_000_000_000), "2001-09-09T01:46:40Z");
        assert_eq!(timestamp(2_147_483_647), "2038-01-19T03:14:07Z");
    }

    /// The Gregorian calendar repeats after 400 years of 146097 days.
    #[test]
    fn every_day_of_four_hundred_years_follows_its_yesterday() {
        let lengths = |year: u64| {
            let every = |years: u64| year.is_multiple_of(years);
            let leap = every(4) && (!every(100) || every(400));
            [
                31,
                if leap { 29 } else { 28 },
                31,
                30,
                31,
                30,
                31,
                31,
                30,
                31,
                30,
                31,
            ]
        };
        let (mut year, mut month, mut day) = (1970, 1, 1);
        for days in 0..146_097 {
            assert_eq!(date(days), (year, month, day));
            day += 1;
            if day > lengths(year)[month as usize - 1] {
                (day, month) = (1, month + 1);
            }
            if month > 12 {
                (month, year) = (1, year + 1);
            }
        }
    }
}
