//! Where a member is held upright, so that it can't tip over sideways as it bends (EN 1995-1-1 6.3.3).
//!
//! A place holds it where grips of a joint or anchor hold both its roll about its own length and its movement in the
//! direction in which it is weak, in the joint's own axes, whichever of the two members it is. A grip in a direction
//! that leans more than about 6 degrees towards the wanted one must hold, too. What the other member of a joint gives
//! way is left out, but a member that hangs on this one alone holds nothing. Springs count where they are stiff enough:
//!
//! - sideways 40 E I/a³: four times the Euler load over the distance a to the next place, the bracing stiffness of
//!   9.2.5.2 (9.34) with k_s = 4;
//! - in roll 20 G J/a: a beam on such forks has at least 95 % of the critical moment on stiff ones (P).
//!
//! A sheet screwed to the members under it holds their upper edges sideways; slats tilt with the members and do not
//! (P: engine's model, sway). Then a member may only tip where its lower edge is pressed.

use crate::design::frame::FrameMember;
use crate::design::vector::{Triad, dot};
use crate::design::{DeckSurface, Frame, Grip, Vector};
use crate::rules::judge::Unheld;
use crate::rules::strength::lateral::Row;
use std::collections::BTreeSet;

/// A grip whose direction has less than this share of the wanted one has no say in it: sin 6°.
const ASIDE: f64 = 0.1;
/// Sideways spring over E I/a³.
const SIDEWAYS: f64 = 40.0;
/// Roll spring over G J/a.
const ROLL: f64 = 20.0;
/// A member's depth leans at most this much (cosine) for its upper edge to be one.
const UPRIGHT: f64 = 0.7;

/// Stiffness of a hold in one direction: 0 nothing, infinite without give.
type Stiffness = f64;

/// What one place of a member holds.
#[derive(Clone, Copy, Debug)]
struct Place {
    at_mm: f64,
    roll: Stiffness,
    sideways: Stiffness,
    /// Turn in the plane in which the member is weak.
    turn: Stiffness,
}

/// For each member the stretches over which it may tip sideways, in order along it; none where no place holds it.
pub fn unheld(frame: &Frame) -> Vec<Vec<Unheld>> {
    let sheets = sheets(frame);
    let places = places(frame).into_iter().zip(&frame.members);
    let held = places.map(|(mut places, member)| held(member, &mut places));
    held.zip(&frame.members).zip(&sheets).map(|((held, member), sheets)| stretches(member, &held, sheets)).collect()
}

/// Whether a section is strongest about local y, so that it is weak along y.
fn strong_y(member: &FrameMember) -> bool {
    member.section.iy_mm4 >= member.section.iz_mm4
}

/// What joints and anchors hold of each member, in no order.
fn places(frame: &Frame) -> Vec<Vec<Place>> {
    let mut tied: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); frame.members.len()];
    for joint in &frame.joints {
        tied[joint.member].insert(joint.on);
        tied[joint.on].insert(joint.member);
    }
    let vehicle = frame.members.len();
    for anchor in &frame.anchors {
        tied[anchor.member].insert(vehicle);
    }
    let mut places = vec![Vec::new(); frame.members.len()];
    let mut put = |member: usize, at_mm: f64, axes: &Triad, grips: &[Grip; 6]| {
        let own = &frame.members[member].axes;
        let (weak, strong) = if strong_y(&frame.members[member]) { (own[1], own[2]) } else { (own[2], own[1]) };
        let [x, y, z, about_x, about_y, about_z] = *grips;
        let (slides, turns) = ([x, y, z], [about_x, about_y, about_z]);
        places[member].push(Place {
            at_mm,
            roll: along(axes, &turns, own[0]),
            sideways: along(axes, &slides, weak),
            turn: along(axes, &turns, strong),
        });
    };
    for joint in &frame.joints {
        if tied[joint.on].len() > 1 {
            put(joint.member, joint.at_mm, &joint.axes, &joint.grips);
        }
        if tied[joint.member].len() > 1 {
            put(joint.on, joint.on_at_mm, &joint.axes, &joint.grips);
        }
    }
    for anchor in &frame.anchors {
        put(anchor.member, anchor.at_mm, &anchor.axes, &anchor.grips);
    }
    places
}

/// Stiffness of three grips in one direction: the gives of those that have a say add up.
fn along(axes: &Triad, grips: &[Grip; 3], direction: Vector) -> Stiffness {
    let mut give = 0.0;
    for (axis, grip) in axes.iter().zip(grips) {
        let share = dot(*axis, direction);
        if share.abs() < ASIDE {
            continue;
        }
        match grip {
            Grip::Free => return 0.0,
            Grip::Spring(stiffness) => give += share * share / stiffness,
            Grip::Rigid => {}
        }
    }
    1.0 / give
}

/// A place that holds a member upright; `true`: and clamps it sideways.
type Held = (f64, bool);

/// The places that hold a member, in order. What lies within one depth of each other, and a tenth
/// of the length, is one place (P).
fn held(member: &FrameMember, places: &mut [Place]) -> Vec<Held> {
    places.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
    let depth = member.section.depth_mm.into_iter().chain(member.section.width_mm).fold(0.0, f64::max);
    let near = depth.min(0.1 * member.length_mm);
    let mut joined: Vec<Place> = Vec::with_capacity(places.len());
    for place in places.iter() {
        match joined.last_mut() {
            Some(last) if place.at_mm - last.at_mm <= near => {
                last.roll += place.roll;
                last.sideways += place.sideways;
                last.turn += place.turn;
            }
            _ => joined.push(*place),
        }
    }
    joined.retain(|place| place.roll > 0.0 && place.sideways > 0.0);
    let weak = member.section.iy_mm4.min(member.section.iz_mm4) * member.e_n_mm2;
    let twist = member.section.j_mm4 * member.g_n_mm2;
    let mut held = Vec::with_capacity(joined.len());
    for (index, place) in joined.iter().enumerate() {
        let before = index.checked_sub(1).map(|i| place.at_mm - joined[i].at_mm);
        let after = joined.get(index + 1).map(|next| next.at_mm - place.at_mm);
        let distance = before.into_iter().chain(after).fold(member.length_mm, f64::min);
        if place.roll >= ROLL * twist / distance && place.sideways >= SIDEWAYS * weak / distance.powi(3) {
            held.push((place.at_mm, place.turn.is_infinite()));
        }
    }
    held
}

/// The stretches between, before and behind the places that hold a member; `sheets`: where its upper edge is held.
fn stretches(member: &FrameMember, held: &[Held], sheets: &[[f64; 2]]) -> Vec<Unheld> {
    let (Some(first), Some(last)) = (held.first(), held.last()) else { return Vec::new() };
    let overhang = |clamped: bool| if clamped { Row::Clamped } else { Row::Overhang };
    let least = 1e-6 * member.length_mm;
    let between = held.windows(2).map(|pair| (pair[0].0, pair[1].0, Row::Constant));
    // The sheet may stop short of a stretch's ends by the member's depth (P).
    let short = member.section.depth_mm.unwrap_or(0.0);
    let covered = |from: f64, to: f64| sheets.iter().any(|s| from >= s[0] - short && to <= s[1] + short);
    std::iter::once((0.0, first.0, overhang(first.1)))
        .chain(between)
        .chain(std::iter::once((last.0, member.length_mm, overhang(last.1))))
        .filter(|(from_mm, to_mm, _)| to_mm - from_mm > least)
        .map(|(from_mm, to_mm, row)| {
            // A moment about y that presses the upper edge is negative where z is up.
            let safe_sign = if covered(from_mm, to_mm) { -member.axes[2][2].signum() } else { 0.0 };
            Unheld { from_mm, to_mm, row, safe_sign }
        })
        .collect()
}

/// For each member where a sheet screwed to it holds its upper edge, mm from its start.
fn sheets(frame: &Frame) -> Vec<Vec<[f64; 2]>> {
    let mut sheets = vec![Vec::new(); frame.members.len()];
    for (deck, stated) in frame.decks.iter().zip(&frame.design().decks) {
        if !stated.screwed || !matches!(stated.surface, DeckSurface::Sheet { .. }) {
            continue;
        }
        for (index, _) in deck.lines.iter().flat_map(|line| &line.members) {
            let member = &frame.members[*index];
            if strong_y(member) && member.axes[2][2].abs() >= UPRIGHT {
                let along = member.axes[0][deck.along];
                let ends = deck.along_mm.map(|place| (place - member.from[deck.along]) / along);
                sheets[*index].push([ends[0].min(ends[1]), ends[0].max(ends[1])]);
            }
        }
    }
    sheets
}

#[cfg(test)]
mod tests;
