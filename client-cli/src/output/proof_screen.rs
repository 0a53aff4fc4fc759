//! A proof load and what became of it, in words.

use super::sheet::Sheet;
use super::{figures, words};
use crate::remark::{Proof, ProofRow};
use battenboard_engine::proof::{Lasts, Press, ProofLoad, ProofOutcome, ProofResult, Reason, SagWhen, Target};

/// The load and its result, as the whole answer.
pub fn answer(sheet: &mut Sheet, load: &ProofLoad, result: &ProofResult) {
    sheet.paragraph(&format!("{}.", words::sentence(&stated(load))));
    sheet.paragraph(&format!("{}.", says(load, result)));
    more(sheet, load, result);
    sheet.paragraph(RECKONED);
}

/// The load of a remark and the row of its results.
pub fn row(sheet: &mut Sheet, proof: &Proof) {
    sheet.hanging("   ", &format!("proof load: {}", stated(&proof.load)));
    let Some(last) = proof.results.last() else { return };
    if let Some(result) = &last.result {
        sheet.hanging("   ", &format!("{}: {}", last.letter, says(&proof.load, result)));
    }
    if proof.results.len() > 1 || last.result.is_none() {
        let each: Vec<String> = proof.results.iter().map(of_revision).collect();
        sheet.hanging("   ", &each.join(", "));
    }
}

/// `100 kg on F2, 600 mm from its marked end; at most 5 mm sag`.
pub fn stated(load: &ProofLoad) -> String {
    let press = match load.press {
        Press::Mass(mass_kg) => figures::kilograms(mass_kg),
        Press::Force(force) => format!("{} {}", newtons(force), way(force)),
    };
    let on = match &load.target {
        Target::Member { tag, at_mm } => format!("on {tag}, {} from its marked end", figures::length(*at_mm)),
        Target::Deck { tag, at_mm: [x, y], .. } => {
            format!("on {tag} at x {}, y {}", figures::length(*x), figures::length(*y))
        }
    };
    let stays = match load.lasts {
        Lasts::Long => ", for months",
        Lasts::Medium => ", for weeks",
        Lasts::Short => "",
        Lasts::Instantaneous => ", for moments",
    };
    let sag = load.most_sag_mm.map(|most| format!("at most {} {}", figures::sag(most), sag_word(load.sag)));
    let used = load.most_utilisation.map(|most| format!("at most {}", figures::share_of_capacity(most)));
    let limits: Vec<String> = sag.into_iter().chain(used).collect();
    format!("{press} {on}{stays}; {}", limits.join(", "))
}

fn sag_word(sag: SagWhen) -> &'static str {
    match sag {
        SagWhen::AtOnce => "sag",
        SagWhen::Final => "sag in the end",
    }
}

fn newtons(force: [f64; 3]) -> String {
    figures::force(force.iter().map(|part| part * part).sum::<f64>().sqrt())
}

/// Where a force points, by its greatest part.
fn way([x, y, z]: [f64; 3]) -> &'static str {
    if z.abs() >= x.abs().max(y.abs()) {
        if z < 0.0 { "down" } else { "up" }
    } else if x.abs() >= y.abs() {
        if x < 0.0 { "to the front" } else { "to the rear" }
    } else if y < 0.0 {
        "to the left"
    } else {
        "to the right"
    }
}

/// `Passes: sags 3.1 mm of 5 mm allowed; 62 % of what it can carry (EN 1995-1-1 6.1.6)`.
pub fn says(load: &ProofLoad, result: &ProofResult) -> String {
    let begin = match result.outcome {
        ProofOutcome::Passed => "Passes",
        ProofOutcome::Failed => "Fails",
        ProofOutcome::CannotBeRun => {
            let why = result.reason.as_ref().map_or_else(String::new, |reason| format!(": {}", because(reason)));
            return format!("Cannot be run{why}");
        }
    };
    let last = if load.sag == SagWhen::Final { " in the end" } else { "" };
    let sag = result.sag.as_ref().map(|sag| match load.most_sag_mm {
        Some(most) => {
            let (found, allowed) = figures::to_limit(sag.at_place_mm, most);
            format!("sags{last} {found} of {allowed} allowed")
        }
        None => format!("sags{last} {}", figures::sag(sag.at_place_mm)),
    });
    let used = result.governing.as_ref().map(|check| {
        let clause = check.clause.split(" (").next().unwrap_or_default();
        let whose = if check.tag == load.target.tag() { String::new() } else { format!("{} at ", name(&check.tag)) };
        let allowed = load.most_utilisation.filter(|most| *most < 1.0);
        let allowed = allowed.map(|most| format!(", {} allowed", figures::share(most))).unwrap_or_default();
        format!("{whose}{} ({clause}){allowed}", figures::share_of_capacity(check.utilisation))
    });
    let figures: Vec<String> = sag.into_iter().chain(used).collect();
    format!("{begin}: {}", figures.join("; "))
}

/// A proof load is a weight elsewhere in the trade.
const RECKONED: &str = "Reckoned only: nobody stood on it. Never try it out on a frame that fell short.";

/// What the answer leaves open.
fn more(sheet: &mut Sheet, load: &ProofLoad, result: &ProofResult) {
    if let Some(sag) = &result.sag
        && sag.greatest_mm > sag.at_place_mm * 1.05
        && sag.greatest_tag == load.target.tag()
    {
        let (most, at) = (figures::sag(sag.greatest_mm), figures::length(sag.greatest_at_mm));
        sheet.paragraph(&format!("It sags most at {at}: {most}."));
    }
    if !result.not_judged.is_empty() {
        let tags = words::list(&result.not_judged, 6);
        sheet.paragraph(&format!("Not judged, as its strength is not known: {tags}."));
    }
}

/// How a check's tag is called.
fn name(tag: &str) -> &str {
    if tag == "design" { "the frame" } else { tag }
}

/// Why it cannot be run.
fn because(reason: &Reason) -> String {
    match reason {
        Reason::TargetGone { tag } => format!("{tag} is gone"),
        Reason::BeyondEnd { tag, length_mm } => format!("{tag} is only {} long", figures::length(*length_mm)),
        Reason::OffDeck { tag } => format!("the point is not on {tag}"),
        Reason::TargetMoves { tag } => format!("{tag} moves freely"),
        Reason::CarrierOpen { tag } => format!("{tag}, which carries it, cannot be computed"),
        Reason::StrengthUnknown { tag } => format!("the strength of {tag} is not known"),
        Reason::StiffnessUnknown { tag } => format!("the stiffness of {tag} is not known"),
        Reason::TooLarge => "the frame is too large for it".into(),
        Reason::TooLong => "it took too long".into(),
        Reason::NotComputed => "it could not be computed".into(),
    }
}

/// `A 6.2 mm fails`, `C cannot be run: F2 is gone`, `D waits for its turn`.
fn of_revision(row: &ProofRow) -> String {
    let letter = &row.letter;
    let Some(result) = &row.result else { return format!("{letter} waits for its turn") };
    let figure = result.sag.as_ref().map(|sag| figures::sag(sag.at_place_mm));
    match result.outcome {
        ProofOutcome::Passed => format!("{letter} {} passes", figure.unwrap_or_default()),
        ProofOutcome::Failed => format!("{letter} {} fails", figure.unwrap_or_default()),
        ProofOutcome::CannotBeRun => {
            let why = result.reason.as_ref().map_or_else(String::new, |reason| format!(": {}", because(reason)));
            format!("{letter} cannot be run{why}")
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples::assert_screen;
    use battenboard_engine::proof::ProofSag;

    fn load() -> ProofLoad {
        ProofLoad {
            target: Target::Member { tag: "F2".into(), at_mm: 600.0 },
            press: Press::Mass(100.0),
            most_sag_mm: Some(5.0),
            most_utilisation: None,
            sag: SagWhen::AtOnce,
            lasts: Lasts::Short,
        }
    }

    fn sagging(mm: f64) -> ProofResult {
        let sag = ProofSag { at_place_mm: mm, greatest_mm: mm * 1.2, greatest_tag: "F2".into(), greatest_at_mm: 640.0 };
        ProofResult {
            outcome: if mm > 5.0 { ProofOutcome::Failed } else { ProofOutcome::Passed },
            reason: None,
            point_mm: None,
            sag: Some(sag),
            governing: None,
            not_judged: vec!["F2".into()],
        }
    }

    #[test]
    fn the_row_of_results_reads_as_a_sentence() {
        let gone = ProofResult::cannot(Reason::TargetGone { tag: "F2".into() }, None);
        let row_of = |letter: &str, result| ProofRow { letter: letter.into(), result };
        let results = vec![
            row_of("A", Some(sagging(6.2))),
            row_of("B", Some(sagging(4.1))),
            row_of("C", Some(gone)),
            row_of("D", None),
        ];
        let mut sheet = Sheet::new(80);
        row(&mut sheet, &Proof { load: load(), results: results.clone() });
        sheet.blank();
        row(&mut sheet, &Proof { load: load(), results: results[..1].to_vec() });
        sheet.blank();
        answer(&mut sheet, &load(), &sagging(4.1));
        assert_screen("proof_load", &sheet);
    }
}
