//! The one clock of the server, and the ids that are made from it.

use std::time::{SystemTime, UNIX_EPOCH};
use uuid::Uuid;

/// Microseconds in a second.
pub const SECOND: i64 = 1_000_000;

/// UTC microseconds since 1970.
pub fn now_micros() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_micros()).unwrap_or(i64::MAX)
}

/// `2026-11-26 04:11 UTC`: an instant for the host to read.
pub fn said(micros: i64) -> String {
    let minutes = micros.div_euclid(60 * SECOND);
    let (day, minute) = (minutes.div_euclid(24 * 60), minutes.rem_euclid(24 * 60));
    let (year, month, day) = date(day);
    format!("{year:04}-{month:02}-{day:02} {:02}:{:02} UTC", minute / 60, minute % 60)
}

/// Year, month and day of a count of days since 1970-01-01. Years are counted from March, so that the leap day is the
/// last; 400 of them have 146,097 days, four 1,461, and five months from March or August on 153.
fn date(days: i64) -> (i64, i64, i64) {
    // 1970-01-01 is day 719,468 from 0000-03-01.
    let day = days + 719_468;
    let (era, day) = (day.div_euclid(146_097), day.rem_euclid(146_097));
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let day = day - (153 * month + 2) / 5 + 1;
    let (month, next) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    (era * 400 + year + next, month, day)
}

/// A new id, ordered by the time of its making.
pub fn new_id() -> Uuid {
    Uuid::now_v7()
}

#[cfg(test)]
mod tests {
    use super::{SECOND, said};

    #[test]
    fn instants_are_said_as_a_calendar_has_them() {
        // By `date -u -d @N`.
        for (second, words) in [
            (0, "1970-01-01 00:00 UTC"),
            (951_782_399, "2000-02-28 23:59 UTC"),
            (951_782_400, "2000-02-29 00:00 UTC"),
            (951_868_800, "2000-03-01 00:00 UTC"),
            (1_798_761_599, "2026-12-31 23:59 UTC"),
            (4_107_542_399, "2100-02-28 23:59 UTC"),
            (4_107_542_400, "2100-03-01 00:00 UTC"),
            (-1, "1969-12-31 23:59 UTC"),
        ] {
            assert_eq!(said(second * SECOND), words);
        }
    }
}
