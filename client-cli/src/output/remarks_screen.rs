//! Remarks as a builder reads them: open ones first, each with its place, its author and what became of it.

use super::sheet::Sheet;
use super::{figures, proof_screen, standings, times, words};
use crate::remark::{Remark, RemarkAct, RemarkKind, RemarkState};

/// All remarks of a design; those that wait for someone come first.
pub fn remarks(design: &str, list: &[Remark], zone: &jiff::tz::TimeZone, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    sheet.paragraph(&format!("{design}: {}", count(list)));
    let mut sorted: Vec<&Remark> = list.iter().collect();
    sorted.sort_by_key(|remark| (order(remark.state), remark.number));
    for remark in sorted {
        sheet.blank();
        one(&mut sheet, remark, zone);
    }
    sheet
}

/// One remark with its entries.
pub fn one(sheet: &mut Sheet, remark: &Remark, zone: &jiff::tz::TimeZone) {
    let at = remark.at_mm.map(|mm| format!(", {} from its marked end", figures::length(mm))).unwrap_or_default();
    let place = remark.tag.as_deref().unwrap_or("the whole");
    let from = if remark.from_outside { ", who took up the notice" } else { "" };
    let author = format!("{}{from}", remark.author);
    sheet.paragraph(&format!(
        "{}. {} on {place}{at}, {} ({}, revision {}, {})",
        remark.number,
        words::sentence(kind(remark.kind)),
        state(remark.state),
        author,
        remark.letter,
        times::instant(remark.at_us, zone)
    ));
    if let Some(said) = standings::sentence(remark) {
        sheet.hanging("   ", &said);
    }
    text(sheet, "   ", &remark.text);
    if let Some(proof) = &remark.proof {
        proof_screen::row(sheet, proof);
    }
    for entry in &remark.entries {
        let act = match entry.act {
            RemarkAct::Answer => "answered",
            RemarkAct::Clear => "cleared",
            RemarkAct::RaiseAgain => "raised again",
            RemarkAct::SetAside => "set aside",
            RemarkAct::Proved => "cleared, proved",
            RemarkAct::FellShortAgain => "open again",
        };
        // What the server did by itself is nobody's word.
        let label = match entry.act {
            RemarkAct::Proved | RemarkAct::FellShortAgain => format!("   {act}: "),
            RemarkAct::Answer | RemarkAct::Clear | RemarkAct::RaiseAgain | RemarkAct::SetAside => {
                format!("   {act} by {}: ", entry.author)
            }
        };
        if entry.text.is_empty() {
            sheet.line(label.trim_end().trim_end_matches(':').to_owned());
        } else {
            text(sheet, &label, &entry.text);
        }
    }
}

/// What somebody wrote: its lines kept, nothing in it taken for anything but text.
pub fn text(sheet: &mut Sheet, label: &str, said: &str) {
    let mut label = label.to_owned();
    for line in said.lines() {
        sheet.hanging(&label, &plain(line));
        label = " ".repeat(label.chars().count().min(6));
    }
}

/// What somebody wrote, without letters that could move the cursor.
pub fn plain(said: &str) -> String {
    said.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// `3 remarks: 1 open, 1 answered, 1 cleared`.
pub fn count(list: &[Remark]) -> String {
    let of = |state| list.iter().filter(|remark| remark.state == state).count();
    let parts: Vec<String> = [RemarkState::Open, RemarkState::Answered, RemarkState::Cleared, RemarkState::SetAside]
        .into_iter()
        .filter(|one| of(*one) > 0)
        .map(|one| format!("{} {}", of(one), state(one)))
        .collect();
    match list.len() {
        0 => "no remarks".into(),
        1 => format!("1 remark: {}", parts.join(", ")),
        all => format!("{all} remarks: {}", parts.join(", ")),
    }
}

fn order(state: RemarkState) -> u8 {
    match state {
        RemarkState::Open => 0,
        RemarkState::Answered => 1,
        RemarkState::Cleared => 2,
        RemarkState::SetAside => 3,
    }
}

fn kind(kind: RemarkKind) -> &'static str {
    match kind {
        RemarkKind::Snag => "snag",
        RemarkKind::Advice => "advice",
        RemarkKind::Question => "question",
        RemarkKind::WellMade => "well made",
    }
}

fn state(state: RemarkState) -> &'static str {
    match state {
        RemarkState::Open => "open",
        RemarkState::Answered => "answered",
        RemarkState::Cleared => "cleared",
        RemarkState::SetAside => "set aside",
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples::assert_screen;
    use crate::remark::RemarkEntry;

    #[test]
    fn open_remarks_come_first_and_control_letters_are_harmless() {
        let remark = |number: i64, state, text: &str| Remark {
            number,
            letter: "B".into(),
            tag: (number != 3).then(|| "M4".into()),
            at_mm: (number == 2).then_some(292.0),
            kind: if number == 3 { RemarkKind::WellMade } else { RemarkKind::Snag },
            text: text.into(),
            author: "okoro".into(),
            at_us: 1_790_000_000_000_000,
            state,
            entries: Vec::new(),
            from_outside: false,
            standing: None,
            proof: None,
        };
        let mut answered = remark(
            1,
            RemarkState::Answered,
            "One batten under the knee spans the whole aisle; take 45x45 or put another between.",
        );
        answered.entries.push(RemarkEntry {
            author: "ines".into(),
            at_us: 1_790_000_000_000_000,
            act: RemarkAct::Answer,
            text: "45x45 from revision B on".into(),
        });
        let list = [
            remark(3, RemarkState::Cleared, "Neat trestles"),
            remark(2, RemarkState::Open, "Red \u{1b}[31mnot"),
            answered,
        ];
        assert_screen("remarks", &remarks("curlew-platform", &list, &jiff::tz::TimeZone::UTC, 80));
    }
}
