//! What changed from one state to another, and what that did.

use super::columns::{Side, table};
use super::sheet::Sheet;
use super::{figures, words};
use crate::compare::{ChangeKind, Changes, FieldChange, ItemChange};
use battenboard_engine::findings::Verdict;
use serde::Serialize;

/// What a comparison says of the findings on both sides; `None` where one side is not checked yet.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Effect {
    /// Verdict before.
    pub verdict_before: Option<Verdict>,
    /// Verdict afterwards.
    pub verdict_after: Option<Verdict>,
    /// Total mass before, kg.
    pub mass_before_kg: Option<f64>,
    /// Total mass afterwards, kg.
    pub mass_after_kg: Option<f64>,
    /// Greatest utilisation by tag, before and afterwards.
    pub utilisations: Vec<Moved>,
    /// Final sag by tag, mm, before and afterwards.
    pub sags_mm: Vec<Moved>,
}

/// Tag, and a figure of it before and afterwards; `None`: not there, or not checked.
pub type Moved = (String, Option<f64>, Option<f64>);

/// The changes, items with the same change in one line.
pub fn changes(sheet: &mut Sheet, changes: &Changes) {
    const MOST: usize = 12;
    let mut lines: Vec<(&str, String)> = Vec::new();
    for (name, items) in &changes.items {
        for (tags, item) in alike(items) {
            lines.push((label(item.kind), format!("{name} {}{}", words::list(&tags, 4), fields(&item.fields))));
        }
    }
    for change in &changes.whole {
        lines.push(("changed  ", field(change)));
    }
    for (label, line) in lines.iter().take(MOST) {
        sheet.hanging(label, line);
    }
    if lines.len() > MOST {
        sheet.hanging("         ", &format!("and {} more changes (--json has them all)", lines.len() - MOST));
    }
}

/// Changes and their effect; without the effect where the server keeps its figures from whoever asks.
pub fn comparison(from: &str, to: &str, list: &Changes, effect: Option<&Effect>, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    if list.is_empty() {
        sheet.paragraph(&format!("Nothing changed from revision {from} to {to}."));
        return sheet;
    }
    let said = effect.map_or_else(|| "what changed, without figures.".to_owned(), effect_sentence);
    sheet.paragraph(&format!("From revision {from} to {to}: {said}"));
    sheet.blank();
    changes(&mut sheet, list);
    if let Some(effect) = effect {
        figures_moved(&mut sheet, ("worst of 1.00", from, to), &effect.utilisations, 0.005, figures::utilisation);
        figures_moved(&mut sheet, ("sag in the end", from, to), &effect.sags_mm, SAG_MOVED_MM, figures::sag);
    }
    sheet
}

/// Least change of a sag that is shown, mm: half of the last place that is shown of a small one.
const SAG_MOVED_MM: f64 = 0.05;

/// A table of the figures that are not what they were; nothing where none moved.
fn figures_moved(
    sheet: &mut Sheet,
    (what, from, to): (&str, &str, &str),
    list: &[Moved],
    least: f64,
    shown: fn(f64) -> String,
) {
    const MOST: usize = 8;
    let has_moved = |(_, before, after): &&Moved| match (before, after) {
        (Some(before), Some(after)) => (before - after).abs() >= least && shown(*before) != shown(*after),
        _ => true,
    };
    let row = |(tag, before, after): &Moved| {
        let figure = |value: &Option<f64>| value.map_or_else(|| "-".to_owned(), shown);
        vec![tag.clone(), figure(before), figure(after)]
    };
    let moved: Vec<Vec<String>> = list.iter().filter(has_moved).map(row).collect();
    if moved.is_empty() {
        return;
    }
    sheet.blank();
    table(sheet, &[(what, Side::Left), (from, Side::Right), (to, Side::Right)], &moved[..moved.len().min(MOST)]);
    if moved.len() > MOST {
        sheet.line(format!("and {} more", moved.len() - MOST));
    }
}

fn effect_sentence(effect: &Effect) -> String {
    let verdict = |verdict: Option<Verdict>| verdict.map_or("not checked yet", words::verdict_word);
    let (before, after) = (verdict(effect.verdict_before), verdict(effect.verdict_after));
    let mut text = if before == after { format!("{after} as before") } else { format!("{after}; before: {before}") };
    if let (Some(before), Some(after)) = (effect.mass_before_kg, effect.mass_after_kg) {
        text.push_str(&format!("; {}", figures::kilograms_more(after - before)));
    }
    format!("{text}.")
}

/// Items whose change is the same, together.
fn alike(items: &[ItemChange]) -> Vec<(Vec<String>, &ItemChange)> {
    let mut groups: Vec<(Vec<String>, &ItemChange)> = Vec::new();
    for item in items {
        match groups.iter_mut().find(|(_, first)| first.kind == item.kind && first.fields == item.fields) {
            Some((tags, _)) => tags.push(item.tag.clone()),
            None => groups.push((vec![item.tag.clone()], item)),
        }
    }
    groups
}

fn label(kind: ChangeKind) -> &'static str {
    match kind {
        ChangeKind::Added => "new      ",
        ChangeKind::Gone => "gone     ",
        ChangeKind::Changed => "changed  ",
    }
}

fn fields(fields: &[FieldChange]) -> String {
    if fields.is_empty() {
        return String::new();
    }
    format!(": {}", fields.iter().map(field).collect::<Vec<_>>().join("; "))
}

fn field(change: &FieldChange) -> String {
    // A text that the file would quote reads better without its quotes.
    let bare =
        |value: &str| value.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap_or(value).to_owned();
    let shown = |value: &str| if value.is_empty() { "nothing".to_owned() } else { bare(value) };
    format!("{} {} -> {}", change.field, shown(&change.before), shown(&change.after))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::compare::compare;
    use crate::output::samples::{self, assert_screen};

    #[test]
    fn bearers_of_another_stock() {
        let before = samples::design();
        let mut after = before.clone();
        after.members[2..5].iter_mut().for_each(|member| member.stock = "45x70".into());
        after.members.pop();
        let effect = Effect {
            verdict_before: Some(Verdict::FallsShort),
            verdict_after: Some(Verdict::Holds),
            mass_before_kg: Some(88.8),
            mass_after_kg: Some(90.1),
            utilisations: vec![
                ("RL".into(), Some(0.88), Some(0.88)),
                ("B2".into(), Some(1.61), Some(0.82)),
                ("P4".into(), Some(0.12), None),
            ],
            sags_mm: vec![
                ("RL".into(), Some(3.21), Some(3.23)),
                ("B2".into(), Some(9.4), Some(5.1)),
                ("D1".into(), Some(1.04), Some(1.16)),
            ],
        };
        assert_screen("compare", &comparison("A", "B", &compare(&before, &after), Some(&effect), 80));
    }
}
