#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;
use crate::output::samples::{self, assert_screen};

#[test]
fn a_bearer_is_explained_from_the_knee_to_the_floor() {
    let (design, findings) = samples::with_results();
    assert_screen("why_bearer", &why(&design, &findings, "B2", 80));
}

#[test]
fn an_anchor_says_its_force_and_its_share() {
    let (design, findings) = samples::with_results();
    assert_screen("why_anchor", &why(&design, &findings, "P1/floor", 80));
}

#[test]
fn the_frame_as_a_whole_is_explained() {
    let mut sway = samples::check(whole::TAG, "", CheckKind::Frequency, 0.0, 0.42);
    (sway.demand, sway.resistance, sway.combination) = (3.0, 7.2, String::new());
    let findings = samples::of_the_whole(vec![sway]);
    assert_screen("why_design", &why(&samples::design(), &findings, "design", 80));
}

#[test]
fn a_deck_says_its_room_and_an_anchor_what_it_holds_down() {
    let findings = samples::of_the_whole(vec![samples::check("D1", "deck", CheckKind::DeckBending, 0.0, 0.4)]);
    let deck = why(&samples::design(), &findings, "D1", 80).to_string();
    let said = "Room: 640 mm above the mattress: enough to lie; 80 mm more to sit bent, 260 mm\n      to sit up; the mattress is 75 mm thick when lain on.";
    assert!(deck.contains(said), "{deck}");
    let anchor = why(&samples::with_results().0, &findings, "P1/floor", 80).to_string();
    assert!(anchor.contains("P1/floor must not lift: fix it for 45 N (4.6 kg)"), "{anchor}");
}
