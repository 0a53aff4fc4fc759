//! Where the second opinion of a revision stands: first what nobody looked at, then what is concluded.

use super::columns::{Side, table};
use super::remarks_screen::{plain, text};
use super::sheet::Sheet;
use super::{cutting_screen, figures, times, words};
use crate::cutting::Stamp;
use crate::review::{Conclusion, Disposition, Item, LookKind, OwnSums, Review};
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// Tags named of one kind, before the rest is only counted.
const MOST_TAGS: usize = 8;

/// The first page. `withheld`: what is said where the server keeps its figures from whoever asks.
pub fn review(
    design: &str,
    review: &Review,
    stamp: Option<&Stamp>,
    withheld: Option<&str>,
    zone: &TimeZone,
    width: usize,
) -> Sheet {
    let mut sheet = Sheet::new(width);
    nobody(&mut sheet, design, review);
    if let Some(stamp) = stamp {
        cutting_screen::stamp_lines(&mut sheet, stamp, zone);
    }
    if let Some(said) = withheld {
        sheet.paragraph(said);
    }
    sheet.blank();
    concluded(&mut sheet, review, zone);
    remarks(&mut sheet, review);
    looks(&mut sheet, review);
    own_figures(&mut sheet, review);
    for sums in &review.own_sums {
        sheet.hanging("Own sums: ", &sums_sentence(sums, zone));
    }
    sheet.blank();
    sheet.hanging("Next: ", &next_step(review));
    sheet
}

fn nobody(sheet: &mut Sheet, design: &str, review: &Review) {
    let letter = &review.letter;
    let all = review.nobody.len() + review.looked_at.len();
    if review.nobody.is_empty() {
        sheet.paragraph(&format!("{design} {letter}: somebody has looked at everything, {all} of {all}."));
        return;
    }
    let label = format!("{design} {letter}: nobody looked at {} of {all}: ", review.nobody.len());
    let mut parts = Vec::new();
    for kind in ["member", "joint", "anchor", "deck"] {
        let tags: Vec<String> =
            review.nobody.iter().filter(|item| item.kind == kind).map(|item| item.tag.clone()).collect();
        if !tags.is_empty() {
            let plural = if tags.len() == 1 { "" } else { "s" };
            parts.push(format!("{kind}{plural} {}", words::list(&tags, MOST_TAGS)));
        }
    }
    sheet.paragraph(&format!("{label}{}.", parts.join("; ")));
    before(sheet, &review.nobody);
}

/// What was looked at on an earlier revision, and not on this one.
fn before(sheet: &mut Sheet, items: &[Item]) {
    let mut by_letter: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for item in items {
        if let Some(letter) = &item.looked_before {
            by_letter.entry(letter).or_default().push(item.tag.clone());
        }
    }
    for (letter, tags) in by_letter {
        let were = if tags.len() == 1 { "was" } else { "were" };
        sheet.hanging("  ", &format!("Of these, {} {were} looked at on {letter}.", words::list(&tags, MOST_TAGS)));
    }
}

fn concluded(sheet: &mut Sheet, review: &Review, zone: &TimeZone) {
    if review.conclusions.is_empty() {
        sheet.paragraph("Nobody has concluded on it yet.");
    }
    for conclusion in &review.conclusions {
        one(sheet, conclusion, zone);
    }
}

fn one(sheet: &mut Sheet, conclusion: &Conclusion, zone: &TimeZone) {
    let Conclusion { account, at_us, disposition, note, members, from_outside, superseded } = conclusion;
    let outside = if *from_outside { ", who took up the notice" } else { "" };
    let when = times::instant(*at_us, zone);
    let before = if *superseded { "; has concluded again since" } else { "" };
    sheet.paragraph(&format!("{account}{outside}: {} ({when}{before})", plainly(*disposition)));
    text(sheet, "   ", note);
    for member in members {
        let note = if member.note.is_empty() { String::new() } else { format!(": {}", plain(&member.note)) };
        sheet.hanging("   ", &format!("{}: {}{note}", member.tag, plainly(member.disposition)));
    }
}

/// A disposition in its plain words.
pub fn plainly(disposition: Disposition) -> &'static str {
    match disposition {
        Disposition::CutIt => "cut it",
        Disposition::CutItWithChanges => "cut it with these changes",
        Disposition::ChangeAndSendAgain => "change it and send it again",
        Disposition::DoNotBuild => "don't build this",
    }
}

fn remarks(sheet: &mut Sheet, review: &Review) {
    let snags = match review.open_snags {
        0 => "No snag is open".to_owned(),
        1 => "One snag is not cleared".to_owned(),
        snags => format!("{snags} snags are not cleared"),
    };
    let others = match review.open_others {
        0 => String::new(),
        1 => "; one other remark is open".to_owned(),
        others => format!("; {others} other remarks are open"),
    };
    sheet.paragraph(&format!("{snags}{others}."));
}

/// Who looked at what, by how; the most searching first.
fn looks(sheet: &mut Sheet, review: &Review) {
    let mut by_how: BTreeMap<(LookKind, &str), Vec<String>> = BTreeMap::new();
    for item in &review.looked_at {
        for look in &item.looks {
            by_how.entry((look.kind, &look.account)).or_default().push(item.tag.clone());
        }
    }
    for ((kind, account), tags) in by_how {
        let how = match kind {
            LookKind::OwnSums => "made own sums of",
            LookKind::ServersSums => "went through the server's sums of",
            LookKind::LookedAtOnly => "only looked at",
        };
        sheet.hanging("", &format!("{account} {how} {}.", words::list(&tags, MOST_TAGS)));
    }
    for item in &review.looked_at {
        for look in item.looks.iter().filter(|look| !look.note.is_empty()) {
            text(sheet, &format!("   {} on {}: ", look.account, item.tag), &look.note);
        }
    }
}

fn own_figures(sheet: &mut Sheet, review: &Review) {
    let shown = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), figures::utilisation);
    let mut rows = Vec::new();
    for item in &review.looked_at {
        for look in item.looks.iter().filter(|look| look.own_utilisation.or(look.own_sag_mm).is_some()) {
            rows.push(vec![
                item.tag.clone(),
                shown(look.own_utilisation),
                shown(look.server_utilisation),
                look.own_sag_mm.map_or_else(|| "-".to_owned(), figures::sag),
                look.account.clone(),
            ]);
        }
    }
    if rows.is_empty() {
        return;
    }
    sheet.blank();
    let heads = [
        ("own figures", Side::Left),
        ("own of 1.00", Side::Right),
        ("server's", Side::Right),
        ("own sag", Side::Right),
        ("by", Side::Left),
    ];
    table(sheet, &heads, &rows);
    sheet.blank();
}

fn sums_sentence(sums: &OwnSums, zone: &TimeZone) -> String {
    let OwnSums { account, begun_us, ended_us, figures_in, reason } = sums;
    let begun = format!("{account} from {}", times::instant(*begun_us, zone));
    match (ended_us, figures_in) {
        (None, _) => format!("{begun} on; they go on"),
        (Some(end), true) => format!("{begun} to {}; own figures were in by then", times::instant(*end, zone)),
        (Some(end), false) => {
            format!("{begun} to {}; opened without own figures: {}", times::instant(*end, zone), plain(reason))
        }
    }
}

fn next_step(review: &Review) -> String {
    if review.open_snags > 0 {
        return "batten remarks --open shows what is not cleared".into();
    }
    if let Some(item) = review.nobody.first() {
        return format!("batten looked-at {} --how servers, or only, or own", words::typed(&item.tag));
    }
    if review.conclusions.is_empty() {
        return "batten conclude cut-it, or with-changes, change, do-not-build".into();
    }
    format!("batten issue-for-cutting {}, when it is the one to cut", review.letter)
}

#[cfg(test)]
#[path = "review_screen_tests.rs"]
mod tests;
