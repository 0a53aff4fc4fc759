//! Instants and ages as a person says them.

/// `2026-11-25 14:03 UTC`: in the zone of whoever reads, with its name.
pub fn instant(at_us: i64, zone: &jiff::tz::TimeZone) -> String {
    jiff::Timestamp::from_microsecond(at_us).map_or_else(
        |_| "at an unknown time".to_owned(),
        |instant| instant.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d\u{a0}%H:%M\u{a0}%Z").to_string(),
    )
}

/// `2026-11-25`: the day of an instant in that zone.
pub fn day(at_us: i64, zone: &jiff::tz::TimeZone) -> String {
    jiff::Timestamp::from_microsecond(at_us).map_or_else(
        |_| "an unknown day".to_owned(),
        |instant| instant.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d").to_string(),
    )
}

/// `3 hours ago`.
pub fn ago(at_us: i64, now: jiff::Timestamp) -> String {
    let seconds = now.as_microsecond().saturating_sub(at_us) / 1_000_000;
    let (count, unit) = match seconds {
        i64::MIN..60 => return "just now".to_owned(),
        60..3600 => (seconds / 60, "minute"),
        3600..86_400 => (seconds / 3600, "hour"),
        _ => (seconds / 86_400, "day"),
    };
    let plural = if count == 1 { "" } else { "s" };
    format!("{count}\u{a0}{unit}{plural} ago")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn ages_are_in_the_largest_whole_unit() {
        let now = jiff::Timestamp::from_second(1_000_000).unwrap();
        let age = |seconds: i64| ago(now.as_microsecond() - seconds * 1_000_000, now).replace('\u{a0}', " ");
        assert_eq!([59, 60, 7300, 86_400 * 3].map(age), ["just now", "1 minute ago", "2 hours ago", "3 days ago"]);
        assert_eq!(instant(0, &jiff::tz::TimeZone::UTC).replace('\u{a0}', " "), "1970-01-01 00:00 UTC");
    }
}
