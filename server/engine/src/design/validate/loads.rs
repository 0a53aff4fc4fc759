//! Loads and people: numbers, one kind of action a case, places that exist.

use crate::design::frame::FrameMember;
use crate::design::resolve::Tags;
use crate::design::surface::FrameDeck;
use crate::design::{Action, Design, LoadKind, Violation};
use std::collections::BTreeMap;

/// Largest force, moment or line value taken, N, N·mm, N/mm.
const VALUE_MAX: f64 = 1e15;

/// Checks numbers of loads and that a case has one kind of action.
pub fn cases(design: &Design, violations: &mut Vec<Violation>) {
    let mut actions: BTreeMap<&str, Action> = BTreeMap::new();
    for (i, load) in design.loads.iter().enumerate() {
        let first = *actions.entry(&load.case).or_insert(load.action);
        if first != load.action {
            let message = format!("case `{}` was another kind of action before", load.case);
            violations.push(Violation::new(format!("loads[{i}].action"), message).mend("use one case for one kind"));
        }
        let numbers: Vec<f64> = match &load.what {
            LoadKind::Point { at_mm, force_n, moment_n_mm, .. } => {
                [*at_mm].into_iter().chain(*force_n).chain(*moment_n_mm).collect()
            }
            LoadKind::Line { from_mm, to_mm, start_n_mm, end_n_mm, .. } => {
                [*from_mm, *to_mm].into_iter().chain(*start_n_mm).chain(*end_n_mm).collect()
            }
            LoadKind::Mass { at_mm, mass_kg, .. } => vec![*at_mm, *mass_kg],
            LoadKind::Area { pressure_n_mm2, .. } => vec![*pressure_n_mm2],
        };
        if let Some(bad) = numbers.iter().find(|v| v.is_nan() || v.abs() > VALUE_MAX) {
            violations
                .push(Violation::new(format!("loads[{i}]"), format!("{bad} is not a load that can be reckoned with")));
        }
        if let LoadKind::Mass { mass_kg, .. } = &load.what
            && *mass_kg < 0.0
        {
            violations.push(Violation::new(format!("loads[{i}].mass"), format!("a mass of {mass_kg} kg")));
        }
    }
}

/// Checks that places of loads are on their members.
pub fn places(design: &Design, members: &[FrameMember], tags: &Tags, violations: &mut Vec<Violation>) {
    for (i, load) in design.loads.iter().enumerate() {
        let (tag, places): (&str, Vec<(&str, f64)>) = match &load.what {
            LoadKind::Point { member, at_mm, .. } | LoadKind::Mass { member, at_mm, .. } => {
                (member, vec![("at", *at_mm)])
            }
            LoadKind::Line { member, from_mm, to_mm, .. } => (member, vec![("from", *from_mm), ("to", *to_mm)]),
            LoadKind::Area { .. } => continue,
        };
        let Some(index) = tags.member(tag) else { continue };
        let length = members[index].length_mm;
        for (name, at) in &places {
            if *at < -1e-6 || *at > length * (1.0 + 1e-9) + 1e-3 {
                let message = format!("{at} mm is not on `{tag}`, which is {length:.1} mm long");
                violations.push(Violation::new(format!("loads[{i}].{name}"), message));
            }
        }
        if let LoadKind::Line { from_mm, to_mm, .. } = &load.what
            && from_mm >= to_mm
        {
            let message = format!("the line load runs from {from_mm} mm to {to_mm} mm");
            violations.push(Violation::new(format!("loads[{i}].to"), message).mend("let it end behind its beginning"));
        }
    }
}

/// Checks that every person is on his deck.
pub fn people(design: &Design, decks: &[FrameDeck], violations: &mut Vec<Violation>) {
    for (i, entry) in design.people.iter().enumerate() {
        let Some(index) = design.decks.iter().position(|d| d.tag == entry.deck) else { continue };
        let deck = &decks[index];
        if entry.at_mm.is_empty() {
            violations.push(Violation::new(format!("people[{i}].at"), format!("`{}` has nobody in it", entry.name)));
        }
        for (k, at) in entry.at_mm.iter().enumerate() {
            if !deck.covers(*at) {
                let (x, y) = extent(deck);
                let message = format!("a person at ({}, {}) is not on deck `{}`", at[0], at[1], entry.deck);
                let mend =
                    format!("it reaches from x {:.0} to {:.0} and from y {:.0} to {:.0}", x[0], x[1], y[0], y[1]);
                violations.push(Violation::new(format!("people[{i}].at[{k}]"), message).mend(mend));
            }
        }
        if entry.at_mm.len() > 64 {
            violations.push(Violation::new(format!("people[{i}].at"), "more than 64 people on one deck"));
        }
    }
}

/// Refuses a frame under somebody who sits in it on the road: belts and what carries them are no matter of statics of
/// timber alone.
pub fn seats(design: &Design, decks: &[FrameDeck], violations: &mut Vec<Violation>) {
    for (i, seat) in design.vehicle.seats.iter().enumerate() {
        let over = decks.iter().zip(&design.decks).find(|(deck, _)| deck.covers([seat.x_mm, seat.y_mm]));
        let Some((_, deck)) = over else { continue };
        let message = format!(
            "the passenger's seat at ({}, {}) is on deck `{}`: nothing that seats or carries people while driving is \
             checked here; seats, belts and what holds them are for licensed people and local rules",
            seat.x_mm, seat.y_mm, deck.tag
        );
        let mend = "let nobody ride on the frame: take the seat out, or keep the deck clear of it";
        violations.push(Violation::new(format!("vehicle.seats[{i}]"), message).mend(mend));
    }
}

fn extent(deck: &FrameDeck) -> ([f64; 2], [f64; 2]) {
    if deck.along == 0 { (deck.along_mm, deck.across_mm) } else { (deck.across_mm, deck.along_mm) }
}
