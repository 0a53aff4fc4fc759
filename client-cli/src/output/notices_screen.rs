//! The noticeboard as one reads it: each notice with its code, its age, the day it is wanted by, and who has it.

use super::remarks_screen::{plain, text};
use super::sheet::Sheet;
use super::{times, words};
use crate::notice::{Notice, NoticeState, Record, TakeUp, TakeUpEnd};
use jiff::Timestamp;
use jiff::tz::TimeZone;

/// All notices that hang, oldest first.
pub fn board(list: &[Notice], filtered: bool, now: Timestamp, zone: &TimeZone, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    match (list, filtered) {
        ([], false) => sheet.paragraph("No notice hangs."),
        ([], true) => sheet.paragraph("No notice hangs that is as you say."),
        ([_], _) => sheet.paragraph("One notice hangs."),
        (list, _) => sheet.paragraph(&format!("{} notices hang, the oldest first.", list.len())),
    }
    for notice in list {
        sheet.blank();
        one(&mut sheet, notice, now, zone);
    }
    if list.iter().any(|notice| !notice.mine && notice.takers < notice.most_takers) {
        sheet.blank();
        sheet.hanging("Next: ", "batten take-up CODE, to look at that one");
    }
    sheet
}

/// The notices of one group, whatever became of them, with who took them up.
pub fn ours(group: &str, list: &[Notice], now: Timestamp, zone: &TimeZone, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    if list.is_empty() {
        sheet.paragraph(&format!("{group} has hung no notice yet."));
        sheet.hanging("Next: ", "batten ask WORRY --kind KIND --by DAY hangs one");
        return sheet;
    }
    sheet.paragraph(&format!("Notices of {group}, the newest first"));
    for notice in list {
        sheet.blank();
        one(&mut sheet, notice, now, zone);
        if notice.take_ups.is_empty() {
            sheet.line("   nobody took it up");
        }
        for taken in &notice.take_ups {
            sheet.hanging("   ", &taken_up(taken, zone));
        }
    }
    sheet
}

/// One notice.
pub fn one(sheet: &mut Sheet, notice: &Notice, now: Timestamp, zone: &TimeZone) {
    let by = times::day(notice.ends_us, zone);
    let state = match notice.state {
        NoticeState::Hanging => format!("wanted by {by}"),
        NoticeState::RunOut => format!("its day, {by}, is over"),
        NoticeState::TakenDown => "taken down".to_owned(),
    };
    let mine = if notice.mine { ", you too" } else { "" };
    let have = if notice.takers == 1 { "has" } else { "have" };
    sheet.paragraph(&format!(
        "{}: hung {} by {}; {state}; {} of {} {have} it{mine}",
        notice.code,
        times::ago(notice.hung_us, now),
        notice.hung_by,
        notice.takers,
        notice.most_takers
    ));
    let skills = if notice.skills.is_empty() { String::new() } else { format!("; asks for {}", all(&notice.skills)) };
    sheet.hanging("   ", &format!("{}, {}{skills}", plain(&notice.frame_kind), plain(&notice.vehicle)));
    if let (Some(group), Some(design)) = (&notice.group, &notice.design) {
        sheet.hanging("   ", &format!("{design} ({group}), revision {}", notice.letter));
    }
    text(sheet, "   ", &notice.worry);
}

fn all(skills: &[String]) -> String {
    let skills: Vec<String> = skills.iter().map(|skill| plain(skill)).collect();
    words::list(&skills, skills.len())
}

fn taken_up(taken: &TakeUp, zone: &TimeZone) -> String {
    let begun = format!("{} took it up on {}", taken.account, times::day(taken.taken_us, zone));
    let when = taken.ended_us.map(|at| format!(" on {}", times::day(at, zone))).unwrap_or_default();
    match taken.end {
        None => format!("{begun}, and has it"),
        Some(TakeUpEnd::HandedBack) => format!("{begun}, handed it back{when}"),
        Some(TakeUpEnd::ByKeeper) => format!("{begun}; a keeper ended it{when}: {}", plain(&taken.reason)),
    }
}

/// What somebody has done as a reviewer for others, in plain words.
pub fn record(record: &Record, width: usize) -> Sheet {
    let count = |number: i32, one: &str, more: &str| match number {
        0 => format!("no {more}"),
        1 => format!("one {one}"),
        number => format!("{number} {more}"),
    };
    let mut sheet = Sheet::new(width);
    let Record { account, taken_up, concluded, snags, mended } = record;
    sheet.paragraph(&format!(
        "{account} has taken up {} of other build groups, and concluded on {} of theirs.",
        count(*taken_up, "notice", "notices"),
        count(*concluded, "design", "designs")
    ));
    let became = match (snags, mended) {
        (0, _) => String::new(),
        (1, 1) => "; a later revision mended it".to_owned(),
        (1, _) => "; it is not mended yet".to_owned(),
        (_, 0) => "; none of them is mended yet".to_owned(),
        (_, mended) => format!("; {mended} of them were mended in a later revision"),
    };
    sheet.paragraph(&format!("On these designs {account} raised {}{became}.", count(*snags, "snag", "snags")));
    sheet
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples::assert_screen;

    const DAY_US: i64 = 86_400_000_000;
    const NOW_US: i64 = 1_790_000_000_000_000;

    fn sample() -> Notice {
        Notice {
            code: "k7m2pq".into(),
            group: None,
            design: None,
            letter: "B".into(),
            worry: "The rails hang on the ribs with two bolts each.\nIs \u{1b}[31m45 wide enough for that?".into(),
            vehicle: "panel van".into(),
            frame_kind: "berth platform".into(),
            skills: vec!["joinery".into(), "body building".into()],
            hung_by: "okoro".into(),
            hung_us: NOW_US - 3 * DAY_US,
            ends_us: NOW_US + 10 * DAY_US,
            state: NoticeState::Hanging,
            most_takers: 3,
            takers: 2,
            mine: false,
            take_ups: Vec::new(),
        }
    }

    #[test]
    fn the_noticeboard() {
        let mut mine = sample();
        (mine.mine, mine.takers, mine.skills) = (true, 1, Vec::new());
        (mine.group, mine.design) = (Some("saltmarsh-wheels".into()), Some("curlew-platform".into()));
        let now = Timestamp::from_microsecond(NOW_US).unwrap();
        let sheet = board(&[sample(), mine], false, now, &TimeZone::UTC, 80);
        assert!(!sheet.to_string().contains('\u{1b}'));
        assert_screen("notices", &sheet);
        assert_eq!(board(&[], true, now, &TimeZone::UTC, 80).to_string(), "No notice hangs that is as you say.\n");
    }

    #[test]
    fn our_own_notices_say_who_took_them_up() {
        let taken = |account: &str, end, reason: &str| TakeUp {
            account: account.into(),
            taken_us: NOW_US - 2 * DAY_US,
            end,
            ended_us: end.map(|_| NOW_US - DAY_US),
            reason: reason.into(),
        };
        let mut first = sample();
        first.take_ups = vec![
            taken("maarit", None, ""),
            taken("tove", Some(TakeUpEnd::HandedBack), ""),
            taken("bo", Some(TakeUpEnd::ByKeeper), "the platform is built by now"),
        ];
        let second = Notice { state: NoticeState::RunOut, takers: 0, ..sample() };
        let third = Notice { state: NoticeState::TakenDown, takers: 0, ..sample() };
        let now = Timestamp::from_microsecond(NOW_US).unwrap();
        assert_screen("notices_ours", &ours("saltmarsh-wheels", &[first, second, third], now, &TimeZone::UTC, 80));
    }

    #[test]
    fn a_record_is_counts_in_words_and_no_score() {
        let shown = |taken_up, concluded, snags, mended| {
            record(&Record { account: "maarit".into(), taken_up, concluded, snags, mended }, 80).to_string()
        };
        assert_eq!(
            shown(2, 1, 5, 4),
            "maarit has taken up 2 notices of other build groups, and concluded on one design\nof theirs.\n\
             On these designs maarit raised 5 snags; 4 of them were mended in a later\nrevision.\n"
        );
        assert!(shown(0, 0, 0, 0).contains("no notices") && shown(0, 0, 0, 0).contains("raised no snags."));
        assert!(shown(1, 1, 1, 1).contains("raised one snag; a later revision mended it."));
    }
}
