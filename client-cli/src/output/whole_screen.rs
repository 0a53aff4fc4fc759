//! `why design`: the frame as a whole. What sways and folds it, what must hold it down, what room is over its decks.

use super::columns::{Side, table};
use super::sheet::Sheet;
use super::{figures, whole, words};
use battenboard_engine::findings::{Check, Findings, StabilityLine, Verdict};

/// The paragraphs and tables about the whole, after its checks.
pub fn whole_frame(sheet: &mut Sheet, findings: &Findings) {
    head(sheet, findings);
    pushed(sheet, findings);
    folding(sheet, findings);
    holding_down(sheet, findings);
    rooms(sheet, findings);
}

fn head(sheet: &mut Sheet, findings: &Findings) {
    let worst: Option<&Check> = findings.checks.iter().find(|check| check.tag == whole::TAG);
    if let Some(worst) = worst {
        sheet.paragraph(&format!(
            "The frame as a whole. {} {}.",
            words::verdict(worst.verdict),
            words::sentence(&words::check_says(worst))
        ));
        sheet.paragraph(&format!("What happens: {}.", words::check_meaning(worst)));
        sheet.hanging("Clause: ", &worst.clause);
        if worst.verdict == Verdict::FallsShort {
            sheet.hanging("Mend: ", &format!("{}.", whole::stiffen(&findings.stability)));
        }
    } else {
        sheet.paragraph("The frame as a whole.");
    }
    if let Some(text) = whole::stability(&findings.stability) {
        sheet.paragraph(&format!("{text}."));
    }
}

/// How stiff it is against a push at its highest place.
fn pushed(sheet: &mut Sheet, findings: &Findings) {
    if let Some([x, y]) = findings.stability.sway_stiffness_n_mm {
        sheet.paragraph(&format!(
            "To push its top over by 1\u{a0}mm takes {} lengthways (plane x-z) and {} crossways (plane y-z).",
            figures::force(x),
            figures::force(y)
        ));
    }
}

/// Most combinations in the table of folding.
const MOST_LINES: usize = 4;

fn factor(line: &StabilityLine) -> f64 {
    line.buckling_factor.unwrap_or(f64::INFINITY)
}

fn folding(sheet: &mut Sheet, findings: &Findings) {
    let lines = &findings.stability.lines;
    // Those over 20 have no figure, and the sentence above says so.
    let mut worst: Vec<&StabilityLine> = lines.iter().filter(|line| line.buckling_factor.is_some()).collect();
    if worst.is_empty() {
        return;
    }
    // The sort is stable: equal ones stay in the order of the combinations.
    worst.sort_by(|a, b| factor(a).total_cmp(&factor(b)));
    let rows: Vec<Vec<String>> = worst
        .into_iter()
        .take(MOST_LINES)
        .map(|line| {
            let how = if line.sways { "leans over" } else { "pieces bow" };
            vec![
                figures::cut(factor(line)),
                how.to_owned(),
                if line.members.is_empty() { "-".into() } else { words::list(&line.members, 2) },
                if line.second_order { "yes".into() } else { "no".into() },
                line.combination.clone(),
            ]
        })
        .collect();
    sheet.blank();
    let heads = [
        ("folds at", Side::Right),
        ("how", Side::Left),
        ("who most", Side::Left),
        ("second order", Side::Left),
        ("under", Side::Left),
    ];
    table(sheet, &heads, &rows);
    let more =
        if lines.len() > rows.len() { " All other loads fold it later, or at over 20 times (--json)." } else { "" };
    sheet.paragraph(&format!(
        "Folds at: times its loads. Second order: forces reckoned on the frame as it leans and bows.{more}"
    ));
}

/// A table of the anchors that must hold down.
pub fn holding_down(sheet: &mut Sheet, findings: &Findings) {
    let all = &findings.hold_downs;
    if all.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|item| vec![item.anchor.clone(), figures::force(item.force_n), item.combination.clone()])
        .collect();
    sheet.blank();
    let heads = [("must hold down", Side::Left), ("with", Side::Right), ("under", Side::Left)];
    table(sheet, &heads, &rows);
}

/// One line a height.
pub fn rooms(sheet: &mut Sheet, findings: &Findings) {
    let rooms = whole::rooms(findings);
    if !rooms.is_empty() {
        sheet.blank();
    }
    for (decks, text) in rooms {
        sheet.hanging(&format!("Over {decks}: "), &format!("{text}."));
    }
}
