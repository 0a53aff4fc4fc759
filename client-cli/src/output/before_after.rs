//! Two findings beside each other: for `try`, and for what a saved file changed.

use super::columns::{Side, table};
use super::sheet::Sheet;
use super::{check_screen, faults, figures, words};
use battenboard_engine::findings::{Check, Findings};

/// What another stock does to the members it was tried for, and to the whole.
pub fn tried(tags: &[String], stock: (&str, &str), before: &Findings, after: &Findings, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    let (from, to) = stock;
    sheet.paragraph(&format!("{to} instead of {from} for {}: {}", words::list(tags, 4), verdict_change(before, after)));
    sheet.blank();
    let mut rows = Vec::new();
    let worst_of = |findings: &Findings| worst(findings, tags).map_or_else(dash, |check| of(check, true));
    rows.push(vec![words::list(tags, 2), worst_of(before), worst_of(after)]);
    let sag_of = |findings: &Findings| {
        let sags = tags.iter().filter_map(|tag| check_screen::sag_of(findings, tag));
        sags.reduce(f64::max).map_or_else(dash, figures::sag)
    };
    rows.push(vec!["  its sag".into(), sag_of(before), sag_of(after)]);
    let whole = |findings: &Findings| findings.checks.first().map_or_else(dash, |check| of(check, false));
    rows.push(vec!["the whole".into(), whole(before), whole(after)]);
    let kilograms = |findings: &Findings| format!("{:.1} kg", findings.weight.frame_kg + findings.weight.fixings_kg);
    rows.push(vec!["weight".into(), kilograms(before), kilograms(after)]);
    rows.extend(rooms(before, after));
    table(&mut sheet, &[("worst of 1.00", Side::Left), ("before", Side::Left), ("after", Side::Left)], &rows);
    for fault in after.faults.iter().filter(|fault| !before.faults.contains(fault)) {
        let (what, mend) = faults::fault(fault);
        sheet.hanging("  *  ", &words::sentence(&what));
        sheet.hanging("     mend: ", &mend);
    }
    sheet
}

/// Clear heights over decks that are not what they were, mm.
fn rooms(before: &Findings, after: &Findings) -> Vec<Vec<String>> {
    let was = |deck: &str| before.headroom.iter().find(|item| item.deck == deck);
    let changed = after.headroom.iter().filter_map(|is| {
        let was = was(&is.deck)?;
        let row =
            || vec![format!("room over {}", is.deck), figures::length(was.clear_mm), figures::length(is.clear_mm)];
        ((is.clear_mm - was.clear_mm).abs() >= 0.5).then(row)
    });
    changed.collect()
}

fn verdict_change(before: &Findings, after: &Findings) -> String {
    let (was, is) = (words::verdict_word(before.verdict), words::verdict_word(after.verdict));
    if was == is { format!("the whole {is} as before.") } else { format!("the whole {is}; before, it was: {was}.") }
}

fn of(check: &Check, with_kind: bool) -> String {
    let what = if with_kind { words::check_name(check.kind).to_owned() } else { check.tag.clone() };
    format!("{} {what}", figures::utilisation(check.utilisation))
}

fn worst<'f>(findings: &'f Findings, tags: &[String]) -> Option<&'f Check> {
    findings.checks.iter().find(|check| tags.contains(&check.tag))
}

fn dash() -> String {
    "-".into()
}

/// What a saved file changed, the greatest change first; empty where nothing did.
pub fn changes(before: &Findings, after: &Findings, width: usize) -> Sheet {
    const MOST: usize = 6;
    let mut sheet = Sheet::new(width);
    let mut lines: Vec<(f64, String)> = Vec::new();
    for check in worst_by_tag(after) {
        match worst(before, std::slice::from_ref(&check.tag)) {
            None => lines.push((f64::MAX, format!("{} is new: {}", check.tag, of(check, true)))),
            Some(old) => {
                let moved = (check.utilisation - old.utilisation).abs();
                if moved >= 0.005 {
                    let (from, to) = (figures::utilisation(old.utilisation), figures::utilisation(check.utilisation));
                    lines.push((
                        moved,
                        format!("{}: {from} -> {to}, {}", check.tag, words::verdict_word(check.verdict)),
                    ));
                }
            }
        }
    }
    for old in worst_by_tag(before) {
        if worst(after, std::slice::from_ref(&old.tag)).is_none() {
            lines.push((f64::MAX, format!("{} is gone", old.tag)));
        }
    }
    lines.sort_by(|a, b| b.0.total_cmp(&a.0));
    let kilograms = after.weight.total_kg - before.weight.total_kg;
    if kilograms.abs() >= 0.05 {
        sheet.hanging("changed  ", &figures::kilograms_more(kilograms));
    }
    for (_, line) in lines.iter().take(MOST) {
        sheet.hanging("changed  ", line);
    }
    if lines.len() > MOST {
        sheet.hanging("changed  ", &format!("{} more", lines.len() - MOST));
    }
    sheet
}

fn worst_by_tag(findings: &Findings) -> Vec<&Check> {
    let mut found: Vec<&Check> = Vec::new();
    for check in &findings.checks {
        if !found.iter().any(|item| item.tag == check.tag) {
            found.push(check);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples::{self, assert_screen};

    #[test]
    fn before_and_after_another_stock() {
        let mut after = samples::holding();
        after.weight.frame_kg += 1.3;
        assert_screen("tried", &tried(&["B2".into()], ("38x63", "45x70"), &samples::short(), &after, 80));
    }

    #[test]
    fn a_deck_that_rises_takes_room() {
        let (mut before, mut after) = (samples::of_the_whole(vec![]), samples::of_the_whole(vec![]));
        assert_eq!(rooms(&before, &after), Vec::<Vec<String>>::new());
        after.headroom[0].clear_mm -= 25.0;
        let row = ["room over D1", "640\u{a0}mm", "615\u{a0}mm"].map(String::from).to_vec();
        assert_eq!(rooms(&before, &after), [row]);
        before.headroom.clear();
        assert_eq!(rooms(&before, &after), Vec::<Vec<String>>::new());
    }

    #[test]
    fn a_saved_file_says_what_changed() {
        assert_screen("changes", &changes(&samples::short(), &samples::holding(), 80));
        assert!(changes(&samples::short(), &samples::short(), 80).is_empty());
    }
}
