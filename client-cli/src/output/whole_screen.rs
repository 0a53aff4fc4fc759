//! `why design`: the frame as a whole. What sways and folds it, what must hold it down, what room is over its decks.

use super::columns::{Side, table};
use super::sheet::Sheet;
use super::{figures, whole, words};
use battenboard_engine::findings::{Check, Findings};

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
        sheet.paragraph(&format!("What happens: {}.", words::check_meaning(worst.kind)));
        sheet.hanging("Clause: ", &worst.clause);
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

fn folding(sheet: &mut Sheet, findings: &Findings) {
    let lines = &findings.stability.lines;
    if lines.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|line| {
            let how = match (line.buckling_factor, line.sways) {
                (None, _) => "-",
                (Some(_), true) => "leans over",
                (Some(_), false) => "pieces bow",
            };
            vec![
                line.buckling_factor.map_or_else(|| "never".into(), whole::fold_factor),
                how.to_owned(),
                if line.buckling_factor.is_some() { words::list(&line.members, 2) } else { String::new() },
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
    sheet.paragraph("Folds at: times its loads. Second order: forces reckoned on the frame as it leans and bows.");
}

/// A table of the anchors that must hold down.
pub fn holding_down(sheet: &mut Sheet, findings: &Findings) {
    let all = whole::hold_downs(findings);
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
