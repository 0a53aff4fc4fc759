//! News as one reads them: a line each, `10:42  okoro submitted curlew-platform C`, with the day where it changes.

use super::remarks_screen::plain;
use super::sheet::Sheet;
use crate::news::{Event, EventKind};

/// Shows events one after the other, and the day before the first of each.
#[derive(Clone, Debug)]
pub struct Lines {
    zone: jiff::tz::TimeZone,
    several_groups: bool,
    day: String,
}

impl Lines {
    /// In that zone; with the group's name on each line for who is in several.
    pub fn new(zone: jiff::tz::TimeZone, several_groups: bool) -> Self {
        Self { zone, several_groups, day: String::new() }
    }

    /// Appends an event.
    pub fn add(&mut self, sheet: &mut Sheet, event: &Event) {
        let (day, time) = self.when(event.at_us);
        if day != self.day {
            if !sheet.is_empty() {
                sheet.blank();
            }
            sheet.paragraph(&day);
            self.day = day;
        }
        let place = match (event.on_noticeboard, self.several_groups) {
            (true, _) => " (noticeboard)".to_owned(),
            (false, true) if event.kind != EventKind::GroupFounded => format!(" ({})", event.group),
            (false, _) => String::new(),
        };
        sheet.hanging(&format!("{time}  "), &format!("{}{place}", sentence(event)));
    }

    fn when(&self, at_us: i64) -> (String, String) {
        let Ok(instant) = jiff::Timestamp::from_microsecond(at_us) else {
            return ("at no time".into(), "--:--".into());
        };
        let zoned = instant.to_zoned_datetime(self.zone.clone());
        (zoned.strftime("%Y-%m-%d, times in %Z").to_string(), zoned.strftime("%H:%M").to_string())
    }
}

/// What happened, in one sentence without a full stop.
pub fn sentence(event: &Event) -> String {
    let Event { group, design, letter, account, remark_number: remark, .. } = event;
    let somebody = |name: &String| if name.is_empty() { "somebody".to_owned() } else { name.clone() };
    let who = somebody(&event.actor);
    let on = if letter.is_empty() { design.clone() } else { format!("{design}\u{a0}{letter}") };
    match event.kind {
        // The noticeboard names no design.
        EventKind::NoticeHung if design.is_empty() => format!("{who} hung a notice"),
        EventKind::NoticeEnded if design.is_empty() => "a notice has ended".to_owned(),
        EventKind::GroupFounded => format!("{who} founded {group}"),
        EventKind::CrewChanged if event.actor == *account => format!("the crew changed: {}", somebody(account)),
        EventKind::CrewChanged => format!("the crew changed: {}, by {who}", somebody(account)),
        EventKind::RevisionSubmitted => format!("{who} submitted {on}"),
        EventKind::Checked => format!("{on} is checked"),
        EventKind::RemarkMade => format!("{who} remarked on {on} (remark {remark})"),
        EventKind::RemarkAnswered => format!("{who} answered remark {remark} on {on}"),
        EventKind::RemarkCleared => format!("{who} cleared remark {remark} on {on}"),
        EventKind::RemarkRaisedAgain => format!("{who} raised remark {remark} on {on} again"),
        EventKind::RemarkSetAside => format!("{who} set aside remark {remark} on {on}"),
        EventKind::RemarkCarried => format!("{on} moved, renamed or cut up what remark {remark} is placed on"),
        // All of a revision run together, and are told together.
        EventKind::ProofLoadRan if *remark == 0 => format!("the proof loads on {on} were run"),
        EventKind::ProofLoadRan => format!("the proof load of remark {remark} ran on {on}"),
        EventKind::LookedAt => format!("{who} looked at members of {on}"),
        EventKind::Concluded => format!("{who} gave a disposition on {on}"),
        EventKind::IssuedForCutting => format!("{who} issued {on} for cutting"),
        EventKind::StampTakenBack => format!("{who} took back the cutting stamp of {on}"),
        EventKind::ConcessionGiven => format!("{who} gave a concession on {on}"),
        EventKind::AsBuiltRecorded => format!("{who} recorded {on} as built"),
        EventKind::VisibilityChanged => format!("{who} changed who may see {design}"),
        EventKind::NoticeHung => format!("{who} hung a notice for {on}"),
        EventKind::NoticeTakenUp => format!("{who} took up the notice for {on}"),
        EventKind::NoticeHandedBack => format!("{who} handed back the notice for {on}"),
        EventKind::NoticeEnded => format!("the notice for {on} has ended"),
        EventKind::TakingUpEnded => format!("{who} ended that {} looks at {on}", somebody(account)),
        EventKind::FallsShortNow => format!("{on} is issued for cutting, and by a newer reckoning falls short"),
        EventKind::SurveyRecorded => {
            format!("{who} recorded survey {} of {}", event.survey_number, plain(&event.vehicle))
        }
        EventKind::Unknown => "something happened that this version has no word for".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples::assert_screen;

    #[test]
    fn every_kind_has_its_line() {
        use EventKind::*;
        let kinds = [
            GroupFounded,
            CrewChanged,
            RevisionSubmitted,
            Checked,
            RemarkMade,
            RemarkAnswered,
            RemarkCleared,
            RemarkRaisedAgain,
            RemarkSetAside,
            RemarkCarried,
            ProofLoadRan,
            LookedAt,
            Concluded,
            IssuedForCutting,
            StampTakenBack,
            ConcessionGiven,
            AsBuiltRecorded,
            VisibilityChanged,
            NoticeHung,
            NoticeTakenUp,
            NoticeHandedBack,
            NoticeEnded,
            TakingUpEnded,
            FallsShortNow,
            SurveyRecorded,
            Unknown,
        ];
        let mut sheet = Sheet::new(80);
        let mut lines = Lines::new(jiff::tz::TimeZone::UTC, false);
        let mut event = Event {
            number: 1,
            on_noticeboard: false,
            kind: Unknown,
            group: "saltmarsh-wheels".into(),
            design: "curlew-platform".into(),
            letter: "C".into(),
            actor: "okoro".into(),
            account: "maarit".into(),
            remark_number: 7,
            at_us: 1_790_000_000_000_000,
            vehicle: "Curlew".into(),
            survey_number: 2,
        };
        for kind in kinds {
            event.kind = kind;
            event.at_us += 3_600_000_000;
            lines.add(&mut sheet, &event);
        }
        let mut lines = Lines::new(jiff::tz::TimeZone::UTC, true);
        for (on_noticeboard, actor) in [(false, ""), (true, "maarit")] {
            let mut event = Event { on_noticeboard, actor: actor.into(), kind: NoticeHung, ..event.clone() };
            // The noticeboard tells the letter, and not whose design it is.
            if on_noticeboard {
                event.design.clear();
            }
            lines.add(&mut sheet, &event);
        }
        assert_screen("news", &sheet);
    }
}
