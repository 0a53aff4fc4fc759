//! Clear height over each deck where people lie or sit: from the mattress as it is lain on to whatever is above it.
//!
//! All limits here are common practice, no source: 500 mm let one lie and turn over, 720 mm sit bent, 900 mm sit up.
//! (Sitting height: half of all men reach over 904 mm from the seat to the crown, one in twenty over 958 mm; published
//! body measures, read. 900 mm is thus sitting as one sits on a bed, a little slumped.)

use crate::design::frame::FrameMember;
use crate::design::surface::{FrameDeck, MATTRESS_MM};
use crate::design::{Deck, Frame, Posture};
use crate::findings::{Headroom, Room};

/// Least clear height for lying and turning over, mm (common practice, no source).
pub const LYING_MM: f64 = 500.0;
/// Least clear height for sitting bent, a compromise, mm (common practice, no source).
pub const BENT_MM: f64 = 720.0;
/// Least clear height for sitting up, mm (common practice, no source).
pub const SITTING_MM: f64 = 900.0;
/// What is left of a mattress's thickness under a lying or sitting person (P).
pub const PRESSED_SHARE: f64 = 0.75;
/// Least overlap in plan, mm, for one deck to be over another.
const OVERLAP_MM: f64 = 1.0;

/// Clear height over each deck where people lie or sit, or that has bedding or a mattress, in the design's order. A knee
/// alone is a load, no use. A deck with neither the vehicle's ceiling (`vehicle.inside`) nor another deck above it is
/// left out: nobody knows its height.
pub fn headroom(frame: &Frame) -> Vec<Headroom> {
    let used = frame.design().decks.iter().zip(&frame.decks).filter(|(stated, _)| is_used(frame, stated));
    used.filter_map(|(stated, deck)| over(frame, stated, deck)).collect()
}

/// What a clear height (mm) is enough for, and how much more the next better use wants, mm. Rounded to 1e-6 mm first so
/// that machines never disagree in words.
pub fn room(clear_mm: f64) -> (Room, f64) {
    let clear_mm = (clear_mm * 1e6).round() / 1e6;
    if clear_mm >= SITTING_MM {
        (Room::Sitting, 0.0)
    } else if clear_mm >= BENT_MM {
        (Room::Bent, SITTING_MM - clear_mm)
    } else if clear_mm >= LYING_MM {
        (Room::Lying, BENT_MM - clear_mm)
    } else {
        (Room::Cramped, LYING_MM - clear_mm)
    }
}

fn is_used(frame: &Frame, deck: &Deck) -> bool {
    deck.bedding_kg > 0.0
        || deck.mattress_mm.is_some()
        || frame
            .design()
            .people
            .iter()
            .any(|people| people.deck == deck.tag && matches!(people.posture, Posture::Lying | Posture::Sitting))
}

/// Thickness of what lies on the deck, pressed together, mm; 0 on bare wood.
fn mattress_mm(deck: &Deck) -> f64 {
    let bought = match deck.mattress_mm {
        Some(stated) => stated,
        None if deck.bedding_kg > 0.0 => MATTRESS_MM,
        None => 0.0,
    };
    PRESSED_SHARE * bought
}

fn over(frame: &Frame, stated: &Deck, deck: &FrameDeck) -> Option<Headroom> {
    let top_mm = deck.top_mm + deck.thickness_mm;
    let ceiling = frame.design().vehicle.inside.as_ref().map(|inside| (inside.from[2].max(inside.to[2]), None));
    // A deck over this one, if only over a part of it, is the ceiling there.
    let others = frame.design().decks.iter().zip(&frame.decks);
    let decks = others.filter_map(|(other_stated, other)| {
        let underside = underside_mm(frame, other)?;
        let above = other_stated.tag != stated.tag && underside > top_mm && overlap(deck, other);
        above.then(|| (underside, Some(other_stated.tag.clone())))
    });
    let (height_mm, under) = ceiling.into_iter().chain(decks).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let mattress_mm = mattress_mm(stated);
    let clear_mm = height_mm - top_mm - mattress_mm;
    let (enough_for, next_mm) = room(clear_mm);
    Some(Headroom { deck: stated.tag.clone(), under, clear_mm, mattress_mm, enough_for, next_mm })
}

/// Height of the lowest face of the members under a deck; `None` for a deck on nothing, which the door refuses.
fn underside_mm(frame: &Frame, deck: &FrameDeck) -> Option<f64> {
    let members = deck.lines.iter().flat_map(|line| &line.members).map(|(member, _)| &frame.members[*member]);
    members.map(|member| member.from[2] - half_height_mm(member)).min_by(f64::total_cmp)
}

/// Half the upright size of a level member, however it is rolled; 0 where its outer sizes are not known.
fn half_height_mm(member: &FrameMember) -> f64 {
    let [_, y, z] = member.axes;
    let (width, depth) = (member.section.width_mm.unwrap_or(0.0), member.section.depth_mm.unwrap_or(0.0));
    0.5 * (width * y[2].abs() + depth * z[2].abs())
}

fn overlap(a: &FrameDeck, b: &FrameDeck) -> bool {
    (0..2).all(|axis| {
        let (a, b) = (extent(a, axis), extent(b, axis));
        a[1].min(b[1]) - a[0].max(b[0]) > OVERLAP_MM
    })
}

/// Least and greatest place of a deck along vehicle axis 0 or 1.
fn extent(deck: &FrameDeck, axis: usize) -> [f64; 2] {
    if axis == deck.along { deck.along_mm } else { deck.across_mm }
}

#[cfg(test)]
#[path = "headroom_tests.rs"]
mod tests;
