//! What is said of the frame as a whole: how it sways and folds, what holds it down, what room is left over its decks.

use super::figures;
use battenboard_engine::findings::{Findings, Headroom, HoldDown, Room, Stability, StabilityLine};
use battenboard_engine::fit::headroom::{BENT_MM, LYING_MM, SITTING_MM};

/// The tag under which the frame as a whole is spoken of.
pub const TAG: &str = "design";

/// The combination under which the frame folds first; `None` where none folds it below twenty times its loads (what the engine tells).
pub fn first_to_fold(stability: &Stability) -> Option<&StabilityLine> {
    let factor = |line: &StabilityLine| line.buckling_factor.unwrap_or(f64::INFINITY);
    let worst = stability.lines.iter().min_by(|a, b| factor(a).total_cmp(&factor(b)));
    worst.filter(|line| line.buckling_factor.is_some())
}

/// `Sways 7.2 times a second; folds at 34 times its worst load (kneeling at the edge)`; `None` where neither was computed.
pub fn stability(stability: &Stability) -> Option<String> {
    let short = stability_short(stability)?;
    let load = first_to_fold(stability).map(|line| format!(" ({})", line.combination));
    Some(format!("{short}{}", load.unwrap_or_default()))
}

/// As [`stability`], without the name of the load.
pub fn stability_short(stability: &Stability) -> Option<String> {
    let mut parts = Vec::new();
    if let Some(hz) = stability.frequency_hz {
        parts.push(format!("sways {} times a second", figures::cut(hz)));
    }
    match first_to_fold(stability).and_then(|line| line.buckling_factor) {
        Some(factor) => parts.push(format!("folds at {} times its worst load", figures::cut(factor))),
        None if !stability.lines.is_empty() => parts.push("folds at over 20 times its loads".into()),
        None => {}
    }
    (!parts.is_empty()).then(|| super::words::sentence(&parts.join("; ")))
}

/// How many times softer one way is than the other before it is named.
const MUCH_SOFTER: f64 = 2.0;

/// What would stiffen the frame, without a full stop; it names the way in which it is much softer.
pub fn stiffen(stability: &Stability) -> String {
    let way = match stability.sway_stiffness_n_mm {
        Some([x, y]) if MUCH_SOFTER * x < y => " lengthways",
        Some([x, y]) if MUCH_SOFTER * y < x => " crossways",
        _ => "",
    };
    if way.is_empty() {
        "add a brace, a panel or a wall fixing against leaning over".into()
    } else {
        format!("add a brace, a panel or a wall fixing that holds it{way}")
    }
}

/// `P3/floor must not lift: fix it for 180 N (18 kg)`.
pub fn hold_down(item: &HoldDown) -> String {
    format!("{} must not lift: fix it for {}", item.anchor, figures::force(item.force_n))
}

/// Decks of one height together, the lowest first: their names and what is said of them.
pub fn rooms(findings: &Findings) -> Vec<(String, String)> {
    let mut items: Vec<&Headroom> = findings.headroom.iter().collect();
    items.sort_by(|a, b| a.clear_mm.total_cmp(&b.clear_mm));
    let mut rooms: Vec<(Vec<String>, String)> = Vec::new();
    for item in items {
        let text = headroom(item);
        match rooms.iter_mut().find(|(_, said)| *said == text) {
            Some((decks, _)) => decks.push(item.deck.clone()),
            None => rooms.push((vec![item.deck.clone()], text)),
        }
    }
    rooms.into_iter().map(|(decks, text)| (super::words::list(&decks, 4), text)).collect()
}

/// The height over one deck in a sentence that began with it, without a full stop.
pub fn headroom(item: &Headroom) -> String {
    let Headroom { deck: _, under, clear_mm, mattress_mm, enough_for, next_mm: _ } = item;
    let from = if *mattress_mm > 0.0 { "the mattress" } else { "the wood" };
    let ceiling = under.as_ref().map_or_else(|| "the ceiling".to_owned(), |deck| format!("deck {deck}"));
    // Whole millimetres, cut: what is just too low is never shown as enough.
    let clear = (clear_mm + 1e-6).floor();
    if clear <= 0.0 {
        return if *clear_mm < -0.5 {
            format!("nobody gets in: {from} reaches {} past {ceiling}", figures::length(-clear_mm))
        } else {
            format!("nobody gets in: {from} touches {ceiling}")
        };
    }
    let height = match under {
        Some(_) => format!("{} from {from} to {ceiling}", figures::length(clear)),
        None => format!("{} above {from}", figures::length(clear)),
    };
    let more = |limit: f64| figures::length(limit - clear);
    let enough = match enough_for {
        Room::Cramped => format!("too little to lie and turn over; {} more for that", more(LYING_MM)),
        Room::Lying => {
            format!("enough to lie; {} more to sit bent, {} to sit up", more(BENT_MM), more(SITTING_MM))
        }
        Room::Bent => format!("enough to sit bent; {} more to sit up", more(SITTING_MM)),
        Room::Sitting => "enough to sit up".into(),
    };
    format!("{height}: {enough}")
}

#[cfg(test)]
#[path = "whole_tests.rs"]
mod tests;
