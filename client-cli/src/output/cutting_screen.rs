//! The stamp of a revision with its warning, what stands in the way of one, concessions, and what was built.

use super::columns::{Side, table};
use super::remarks_screen::{plain, text};
use super::sheet::Sheet;
use super::{figures, times, words};
use crate::cutting::{AsBuilt, Concession, Obstacle, Stamp};
use jiff::tz::TimeZone;

/// What every print of a stamped revision says once a later engine finds that it falls short.
pub const FALLS_SHORT_NOW: &str = "was issued for cutting and falls short by a newer reckoning: do not cut it; if it is built, \
                                   keep people off it until someone has looked";

/// The stamp in a few words: `issued for cutting by ines`.
pub fn stamp_word(stamp: &Stamp) -> String {
    if stamp.taken_back_us.is_some() {
        return format!("issued for cutting by {}, taken back by {}", stamp.issued_by, stamp.taken_back_by);
    }
    let superseded = if stamp.superseded { ", superseded" } else { "" };
    format!("issued for cutting by {}{superseded}", stamp.issued_by)
}

/// The warning of a revision that is issued and falls short by now.
pub fn warning(stamp: &Stamp) -> Option<String> {
    stamp.falls_short_now.then(|| format!("STOP: {} {FALLS_SHORT_NOW}.", stamp.letter))
}

/// The stamp with all that was said of it.
pub fn stamp_lines(sheet: &mut Sheet, stamp: &Stamp, zone: &TimeZone) {
    let Stamp { letter, issued_by, issued_us, override_reason, overridden, .. } = stamp;
    let when = times::instant(*issued_us, zone);
    if let Some(warning) = warning(stamp) {
        sheet.paragraph(&warning);
    }
    let superseded = if stamp.superseded { "; superseded: another revision was issued since" } else { "" };
    sheet.paragraph(&format!("{letter}: issued for cutting by {issued_by}, {when}{superseded}."));
    if !override_reason.is_empty() {
        sheet.hanging("   over what stood in the way, because: ", &plain(override_reason));
        overridden.iter().for_each(|said| sheet.hanging("   - ", &plain(said)));
    }
    if let Some(at) = stamp.taken_back_us {
        let (by, when) = (&stamp.taken_back_by, times::instant(at, zone));
        sheet.hanging("   ", &format!("taken back by {by}, {when}: {}", plain(&stamp.take_back_reason)));
    }
}

/// What stands in the way of cutting a revision, each with what would mend it.
pub fn in_the_way(design: &str, letter: &str, list: &[Obstacle], width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    sheet.paragraph(&format!("{design} {letter} can't be issued for cutting yet. In the way:"));
    for obstacle in list {
        let mend = if obstacle.mend.is_empty() { String::new() } else { format!(" -> {}", obstacle.mend) };
        sheet.hanging("- ", &format!("{}{mend}", plain(&obstacle.said)));
    }
    let fixed = ["CHECK_NOT_DONE", "TO_BE_MEASURED"];
    if list.iter().all(|obstacle| !fixed.contains(&obstacle.kind.as_str())) {
        sheet.blank();
        sheet
            .paragraph("Someone may be hurt if it is built so. Only for what can hurt nobody a keeper may go over it:");
        sheet.hanging("  ", &format!("batten issue-for-cutting {letter} --over REASON"));
    }
    sheet
}

/// A finding that was accepted.
pub fn concession(sheet: &mut Sheet, concession: &Concession, zone: &TimeZone) {
    let Concession { letter, tag, check, utilisation, reason, account, at_us, lapsed } = concession;
    let figure = utilisation.map(|value| format!(" at {}", figures::utilisation(value))).unwrap_or_default();
    let when = times::instant(*at_us, zone);
    let name = words::check_name(*check);
    sheet.paragraph(&format!("{letter}, {tag}, {name}{figure}: accepted as it is by {account}, {when}"));
    text(sheet, "   ", reason);
    if *lapsed {
        sheet.hanging("   ", "No longer accepted: by a newer reckoning it is worse than what was accepted.");
    }
}

/// What was built, each measured figure beside the computed one.
pub fn as_built(sheet: &mut Sheet, built: &AsBuilt, zone: &TimeZone) {
    let AsBuilt { letter, account, at_us, note, masses, sags } = built;
    sheet.paragraph(&format!("Revision {letter} as built, recorded by {account}, {}", times::instant(*at_us, zone)));
    text(sheet, "   ", note);
    // Scales tell tenths.
    let weighed = |kilograms: f64| format!("{kilograms:.1}\u{a0}kg");
    let computed = |value: Option<String>| value.unwrap_or_else(|| "-".to_owned());
    let mut rows: Vec<Vec<String>> = Vec::new();
    for mass in masses {
        let by_sums = mass.computed_kg.map(weighed);
        rows.push(vec![weighed(mass.mass_kg), computed(by_sums), format!("mass of {}", plain(&mass.what))]);
    }
    for sag in sags {
        let at = figures::length(sag.at_mm);
        let what = format!("sag of {} at {at} under {}", sag.tag, figures::kilograms(sag.load_kg));
        rows.push(vec![figures::sag(sag.sag_mm), computed(sag.computed_mm.map(figures::sag)), what]);
    }
    if !rows.is_empty() {
        table(sheet, &[("measured", Side::Right), ("computed", Side::Right), ("of", Side::Left)], &rows);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::cutting::{MeasuredMass, MeasuredSag};
    use crate::output::samples::assert_screen;
    use battenboard_engine::findings::CheckKind;

    const NOW_US: i64 = 1_790_000_000_000_000;

    fn stamp() -> Stamp {
        Stamp {
            letter: "C".into(),
            issued_by: "ines".into(),
            issued_us: NOW_US,
            override_reason: String::new(),
            overridden: Vec::new(),
            taken_back_us: None,
            taken_back_by: String::new(),
            take_back_reason: String::new(),
            superseded: false,
            falls_short_now: false,
        }
    }

    #[test]
    fn stamps_say_what_became_of_them() {
        let mut sheet = Sheet::new(80);
        let over = Stamp {
            override_reason: "a trial piece".into(),
            overridden: vec!["snag 3 on B1 is not cleared".into()],
            falls_short_now: true,
            ..stamp()
        };
        let back = Stamp {
            taken_back_us: Some(NOW_US),
            taken_back_by: "okoro".into(),
            take_back_reason: "the wrong one".into(),
            ..stamp()
        };
        for stamp in [stamp(), Stamp { superseded: true, ..stamp() }, over.clone(), back.clone()] {
            stamp_lines(&mut sheet, &stamp, &TimeZone::UTC);
            sheet.blank();
        }
        assert_screen("stamps", &sheet);
        assert_eq!(warning(&stamp()), None);
        assert!(warning(&over).unwrap().contains("do not cut it"));
        assert_eq!(stamp_word(&back), "issued for cutting by ines, taken back by okoro");
    }

    #[test]
    fn what_stands_in_the_way_has_its_mend() {
        let obstacle = |kind: &str, said: &str, mend: &str| Obstacle {
            kind: kind.into(),
            subject: "B1".into(),
            said: said.into(),
            mend: mend.into(),
        };
        let list = [
            obstacle("FALLS_SHORT", "B1 falls short in bending: 130 %", "batten why B1"),
            obstacle("SNAG_OPEN", "snag 3 on B1 is not cleared", "mend it; its author has a look: batten clear 3"),
            obstacle("MORE", "and 7 more", ""),
        ];
        assert_screen("in_the_way", &in_the_way("curlew-platform", "C", &list, 80));
        let list = [obstacle("TO_BE_MEASURED", "B1: its length is still to be measured", "measure it")];
        assert!(!in_the_way("shelf", "C", &list, 80).to_string().contains("--over"));
    }

    #[test]
    fn measured_stands_beside_computed() {
        let mut sheet = Sheet::new(80);
        let built = AsBuilt {
            letter: "C".into(),
            account: "okoro".into(),
            at_us: NOW_US,
            note: "B3 is larch".into(),
            masses: vec![
                MeasuredMass { what: "the frame".into(), mass_kg: 31.5, computed_kg: Some(30.2) },
                MeasuredMass { what: "stock 45x70".into(), mass_kg: 9.4, computed_kg: None },
            ],
            sags: vec![MeasuredSag {
                tag: "B3".into(),
                at_mm: 600.0,
                load_kg: 100.0,
                sag_mm: 4.0,
                computed_mm: Some(3.6),
            }],
        };
        as_built(&mut sheet, &built, &TimeZone::UTC);
        sheet.blank();
        let accepted = Concession {
            letter: "C".into(),
            tag: "B3".into(),
            check: CheckKind::SagFinal,
            utilisation: Some(1.12),
            reason: "a shelf for hats".into(),
            account: "ines".into(),
            at_us: NOW_US,
            lapsed: true,
        };
        concession(&mut sheet, &accepted, &TimeZone::UTC);
        concession(&mut sheet, &Concession { utilisation: None, lapsed: false, ..accepted }, &TimeZone::UTC);
        assert_screen("as_built", &sheet);
    }
}
