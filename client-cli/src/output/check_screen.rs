//! The first screen of `check`: the answer in one sentence, the worst three, the weight, what was assumed.

use super::sheet::Sheet;
use super::{faults, figures, places, whole, words};
use battenboard_engine::design::Design;
use battenboard_engine::findings::{
    Assumption, AssumptionCode, Check, CheckKind, Fault, Findings, LoadState, Stability, Unchecked, Verdict,
};

/// Most lines of the first screen: 24 rows less the shell's own line.
pub const MOST_LINES: usize = 23;

/// How full the screen is written.
#[derive(Clone, Copy)]
struct Fill {
    /// Empty lines between its parts.
    gaps: bool,
    /// The lines about the whole, which `why design` says too.
    whole: Whole,
    /// How many of the worst.
    worst: usize,
}

/// How much is said of the whole.
#[derive(Clone, Copy)]
enum Whole {
    /// Sway with its load, hold-downs, the lowest heights.
    Full,
    /// A line each.
    Short,
    /// Where it is said.
    Elsewhere,
}

/// From all of it to the least; the first that fits is taken.
const FILLS: [Fill; 6] = [
    Fill { gaps: true, whole: Whole::Full, worst: 3 },
    Fill { gaps: false, whole: Whole::Full, worst: 3 },
    Fill { gaps: false, whole: Whole::Short, worst: 3 },
    Fill { gaps: false, whole: Whole::Elsewhere, worst: 3 },
    Fill { gaps: false, whole: Whole::Elsewhere, worst: 2 },
    Fill { gaps: false, whole: Whole::Elsewhere, worst: 1 },
];

/// The first screen, at most [`MOST_LINES`] lines where the design's own words allow it.
pub fn first_screen(design: &Design, findings: &Findings, width: usize) -> Sheet {
    first_screen_with(design, findings, width, None)
}

/// The same with a line before the last, such as what the server said.
pub fn first_screen_with(design: &Design, findings: &Findings, width: usize, also: Option<&str>) -> Sheet {
    let mut sheet = Sheet::new(width);
    for fill in FILLS {
        sheet = build(design, findings, width, fill, also);
        if sheet.len() <= MOST_LINES {
            break;
        }
    }
    sheet
}

fn build(design: &Design, findings: &Findings, width: usize, fill: Fill, also: Option<&str>) -> Sheet {
    let mut sheet = Sheet::new(width);
    let gap = |sheet: &mut Sheet| {
        if fill.gaps {
            sheet.blank();
        }
    };
    sheet.paragraph(&verdict_sentence(design, findings));
    if let Some(beside) = beside_what_holds(findings) {
        sheet.paragraph(beside);
    }
    gap(&mut sheet);
    let faults = findings.faults.len().min(fill.worst);
    for fault in findings.faults.iter().take(fill.worst) {
        let (what, mend) = faults::fault(fault);
        sheet.hanging("  *  ", &words::sentence(&what));
        sheet.hanging("     mend: ", &mend);
    }
    if findings.faults.len() > fill.worst {
        sheet.hanging("     ", &format!("and {} more like these (--table)", findings.faults.len() - fill.worst));
    }
    for (index, item) in worst_rows(findings, fill.worst - faults).iter().enumerate() {
        worst_item(&mut sheet, design, index + 1, item, findings);
    }
    gap(&mut sheet);
    sheet.paragraph(&weight_sentence(findings));
    of_the_whole(&mut sheet, findings, fill.whole);
    let (open, assumptions): (Vec<&Assumption>, Vec<&Assumption>) =
        findings.assumptions.iter().partition(|item| item.code == AssumptionCode::ToBeMeasured);
    if !open.is_empty() {
        sheet.hanging("To be measured: ", &to_be_measured(&open));
    }
    if !assumptions.is_empty() {
        sheet.hanging("Assumed: ", &assumed(&assumptions));
    }
    if let Some(line) = not_checked_line(findings) {
        sheet.hanging("Not checked: ", &line);
    }
    sheet.paragraph(words::SAFETY);
    if let Some(also) = also {
        sheet.paragraph(also);
    }
    sheet.hanging("Next: ", &next_command(findings));
    sheet
}

/// Where the lines about the whole stand when the first screen has no place for them.
const WHOLE_ELSEWHERE: &str = "How it sways, what holds it down, room over the decks: batten why design.";

/// Sway, hold-downs and room.
fn of_the_whole(sheet: &mut Sheet, findings: &Findings, whole: Whole) {
    let Findings { stability, hold_downs, headroom, .. } = findings;
    let (sways, most_rooms) = match whole {
        Whole::Full => (whole::stability(stability), MOST_ROOMS),
        Whole::Short => (whole::stability_short(stability), 1),
        Whole::Elsewhere => {
            if whole::stability(stability).is_some() || !hold_downs.is_empty() || !headroom.is_empty() {
                sheet.paragraph(WHOLE_ELSEWHERE);
            }
            return;
        }
    };
    if let Some(text) = sways {
        sheet.paragraph(&format!("{text}."));
    }
    let held = &findings.hold_downs;
    if let Some(first) = held.first() {
        let rest = held.len() - 1;
        let more = if rest > 0 { format!(", {rest} more (batten why design)") } else { String::new() };
        sheet.paragraph(&format!("{}{more}.", whole::hold_down(first)));
    }
    for (decks, text) in whole::rooms(findings).into_iter().take(most_rooms) {
        sheet.hanging(&format!("Over {decks}: "), &format!("{text}."));
    }
}

/// Most heights on the first screen, the lowest first.
const MOST_ROOMS: usize = 2;

/// The verdict of a frame that falls short, with what not to do.
const FALLS_SHORT: &str = "Falls short: do not cut or load it like this.";

/// What a reader who stops at "Holds" must have read.
fn beside_what_holds(findings: &Findings) -> Option<&'static str> {
    let holds = matches!(findings.verdict, Verdict::Holds | Verdict::Near) && findings.faults.is_empty();
    let unchecked =
        findings.not_checked.iter().any(|item| matches!(item.what, Unchecked::JointFixings | Unchecked::AnchorFixings));
    (holds && unchecked).then_some("The timber, that is: screws and fixings are not checked, and must hold it too.")
}

/// The one sentence of the verdict, e.g. `Holds. Tightest is bearer B3: ... 31 kg.`
pub fn verdict_sentence(design: &Design, findings: &Findings) -> String {
    if let Some(fault) = findings.faults.first() {
        let count = findings.faults.len();
        let more = if count > 1 { format!(" One of {count} faults.") } else { String::new() };
        let moves = matches!(fault, Fault::Mechanism { .. } | Fault::NearMechanism { .. } | Fault::Disconnected { .. });
        let lead = match (moves, findings.checks.is_empty()) {
            (true, _) => "Do not use it like this.",
            (false, true) => "Can't be computed.",
            (false, false) => "Part of it can't be computed.",
        };
        return format!("{lead} {}.{more}", words::sentence(&faults::fault(fault).0));
    }
    let Some(worst) = findings.checks.first() else {
        return format!("Not checked: nothing in this file can be judged. {}.", figures::kilograms(frame_kg(findings)));
    };
    let short = findings.verdict == Verdict::FallsShort;
    let word = if short { FALLS_SHORT } else { words::verdict(findings.verdict) };
    let lead = if short { "Worst" } else { "Tightest" };
    format!(
        "{word} {lead} is {}: {}. {}.",
        places::named(design, &worst.tag),
        worst_clause(design, findings, worst),
        figures::kilograms(frame_kg(findings))
    )
}

/// Strength or sag of the worst, whichever governs, and the other one beside it.
fn worst_clause(design: &Design, findings: &Findings, worst: &Check) -> String {
    if words::is_of_the_whole(worst.kind) {
        let says = words::check_says(worst);
        return match (worst.combination.as_str(), worst.kind) {
            ("", _) => format!("it {says}"),
            // Its masses are no load case.
            (all, CheckKind::Frequency) => format!("with {all} it {says}"),
            (combination, _) => format!("{} it {says}", under(combination)),
        };
    }
    if words::is_sag(worst.kind) {
        let also = strength_of(findings, &worst.tag).map(|check| format!("; {}", words::check_says(&check)));
        return format!("{} it {}{}", under(&worst.combination), words::check_says(worst), also.unwrap_or_default());
    }
    let place = places::along(design, &worst.tag, words::felt(worst, &findings.checks).at_mm);
    let sag = sag_of(findings, &worst.tag).map(|mm| format!("; it sags {}", figures::sag(mm)));
    let share = figures::share_of_capacity(worst.utilisation);
    let sag = sag.unwrap_or_default();
    // A name with commas would run into the sentence.
    if worst.combination.contains(',') {
        format!("{share} {place}, under {}{sag}", worst.combination)
    } else {
        format!("{} takes {share} {place}{sag}", worst.combination)
    }
}

/// The worst check of strength, as it is felt.
fn strength_of(findings: &Findings, tag: &str) -> Option<Check> {
    let worst = findings.checks.iter().find(|check| check.tag == tag && !words::is_sag(check.kind))?;
    Some(words::felt(worst, &findings.checks))
}

fn under(combination: &str) -> String {
    format!("under {combination}")
}

/// The sag at once of a member or deck under its worst combination, mm.
pub fn sag_of(findings: &Findings, tag: &str) -> Option<f64> {
    let of = |kind| findings.checks.iter().find(move |check| check.tag == tag && check.kind == kind);
    of(CheckKind::SagInstant).or_else(|| of(CheckKind::DeckSag)).map(|check| check.demand)
}

fn frame_kg(findings: &Findings) -> f64 {
    findings.weight.frame_kg + findings.weight.fixings_kg
}

/// A check and the other tags of its row that are of the same verdict.
struct RowWorst<'f> {
    check: &'f Check,
    alike: Vec<String>,
}

/// The worst check of each row of members (`B1` to `B7` are one row), worst first.
fn worst_rows(findings: &Findings, most: usize) -> Vec<RowWorst<'_>> {
    let mut rows: Vec<RowWorst<'_>> = Vec::new();
    for check in &findings.checks {
        let same = rows.iter().position(|row| {
            places::row(&row.check.tag) == places::row(&check.tag) && row.check.member_kind == check.member_kind
        });
        match same {
            None if rows.len() < most => rows.push(RowWorst { check, alike: Vec::new() }),
            None => {}
            Some(index) => {
                let row = &mut rows[index];
                let short = check.verdict == Verdict::FallsShort && check.tag != row.check.tag;
                if short && !row.alike.contains(&check.tag) {
                    row.alike.push(check.tag.clone());
                }
            }
        }
    }
    rows
}

fn worst_item(sheet: &mut Sheet, design: &Design, number: usize, item: &RowWorst<'_>, findings: &Findings) {
    let check = &words::felt(item.check, &findings.checks);
    let stability = &findings.stability;
    let name = words::sentence(&places::named(design, &check.tag));
    let nowhere = words::is_sag(check.kind) || words::is_of_the_whole(check.kind) || check.kind == CheckKind::Column;
    let place = if nowhere { String::new() } else { format!(" {}", places::along(design, &check.tag, check.at_mm)) };
    sheet.hanging(&format!("  {number}  "), &format!("{name}{place}: {}", words::check_says(check)));
    let mut why = check.combination.clone();
    if !item.alike.is_empty() {
        why.push_str(&format!(" (short too: {})", words::list(&item.alike, 6)));
    }
    if !why.is_empty() {
        sheet.hanging("     why:  ", &why);
    }
    match (&check.mend, check.verdict) {
        (Some(mend), _) => sheet.hanging("     mend: ", &words::mend(mend)),
        (None, Verdict::FallsShort) => sheet.hanging("     mend: ", &no_mend(check, stability)),
        (None, _) => {}
    }
}

fn no_mend(check: &Check, stability: &Stability) -> String {
    match check.kind {
        CheckKind::DeckBending | CheckKind::DeckShear | CheckKind::DeckSag => {
            "a thicker deck, narrower gaps, or one more member under it".into()
        }
        kind if words::is_of_the_whole(kind) => whole::stiffen(stability),
        CheckKind::Column => "hold it at half its height, or take a thicker piece".into(),
        _ => "no timber of this file is enough alone: shorten the span or add a member beside it".into(),
    }
}

fn weight_sentence(findings: &Findings) -> String {
    let weight = &findings.weight;
    let mut text = format!("Weighs {} with its screws", figures::kilograms(frame_kg(findings)));
    if weight.bedding_kg + weight.stowage_kg > 0.0 {
        text.push_str(&format!(", {} with bedding and gear", figures::kilograms(weight.total_kg)));
    }
    let touring = weight.axles.iter().find(|line| line.state == LoadState::Touring).or(weight.axles.first());
    match touring.and_then(|line| line.payload_left_kg.map(|left| (line, left))) {
        Some((line, left)) => {
            text.push_str(&format!("; {}", payload(left)));
            for (name, axle_left) in [("front", line.front_left_kg), ("rear", line.rear_left_kg)] {
                if let Some(over) = axle_left.filter(|left| *left < 0.0) {
                    text.push_str(&format!("; the {name} axle is {} over", figures::kilograms(-over)));
                }
            }
        }
        None if !weight.missing.is_empty() => {
            text.push_str(&format!(
                "; payload unknown: the file lacks {}",
                words::list(&words::fields(&weight.missing), 2)
            ));
        }
        None => {}
    }
    format!("{text}.")
}

fn payload(left_kg: f64) -> String {
    if left_kg < 0.0 {
        format!("{} over the permissible mass with gear and passengers", figures::kilograms(-left_kg))
    } else {
        format!("{} of payload left with gear and passengers", figures::kilograms(left_kg))
    }
}

/// The three assumptions that matter most, and how many more there are.
fn assumed(assumptions: &[&Assumption]) -> String {
    let shown: Vec<String> = assumptions.iter().take(3).map(|item| words::assumption(item)).collect();
    let rest = assumptions.len() - shown.len();
    let more = if rest > 0 { format!(", {rest} more (--table)") } else { String::new() };
    format!("{}{more}.", shown.join(", "))
}

/// Longest thing to be measured on the first screen, characters; the table has it in full.
const LONGEST_OPEN: usize = 60;

/// The first two things that are still to be measured, and how many more there are.
fn to_be_measured(open: &[&Assumption]) -> String {
    let shown: Vec<String> =
        open.iter().take(2).map(|item| shortened(&words::to_be_measured(&item.about), LONGEST_OPEN)).collect();
    let rest = open.len() - shown.len();
    let more = if rest > 0 { format!("; {rest} more (--table)") } else { String::new() };
    format!("{}{more}.", shown.join("; "))
}

/// A text with its end left out where it is longer than so many characters.
fn shortened(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((end, _)) => format!("{} ...", text[..end].trim_end()),
        None => text.to_owned(),
    }
}

/// What is not checked, each thing once, in one line.
fn not_checked_line(findings: &Findings) -> Option<String> {
    let mut kinds: Vec<_> = findings.not_checked.iter().map(|item| item.what).collect();
    kinds.sort_unstable();
    let mut names: Vec<&str> = kinds.into_iter().map(words::unchecked).collect();
    names.dedup();
    if names.is_empty() { None } else { Some(format!("{}.", names.join(", "))) }
}

fn next_command(findings: &Findings) -> String {
    match (findings.faults.first(), findings.checks.first()) {
        (Some(_), _) => "mend the first fault in the file, then batten check".into(),
        (None, Some(worst)) => format!("batten why {}", words::typed(&worst.tag)),
        (None, None) => "put people or loads into the file, then batten check".into(),
    }
}

#[cfg(test)]
#[path = "check_screen_tests.rs"]
mod tests;
