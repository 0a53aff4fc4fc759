//! A proof load on a frame: the place it stands on there, and its forces on members.

use super::load::{Press, ProofLoad, STANDING_PATCH_MM, Target};
use super::outcome::Reason;
use crate::design::vector::{norm, scale, to_local};
use crate::design::{Frame, Vector};
use crate::statics::load::{LoadCase, Loads, MemberLoad, weight_n};
use crate::statics::patch::{Patch, down, spread};

/// Name of the case of a proof load.
pub(super) const NAME: &str = "proof load";

/// A proof load that has found its place.
pub(super) struct Placed<'a> {
    pub(super) load: &'a ProofLoad,
    /// Where it stands in the vehicle, mm.
    pub(super) point_mm: Vector,
    pub(super) on: On,
    /// Unit vector of the force.
    pub(super) direction: Vector,
    pub(super) case: LoadCase,
}

/// What it stands on.
pub(super) enum On {
    /// Index of a member and the place along it.
    Member(usize, f64),
    /// Index of a deck, the patch on it, and the downward force, N.
    Deck(usize, Patch, f64),
}

/// Finds the place of a proof load.
///
/// # Errors
/// Why it is not there.
pub(super) fn place<'a>(frame: &Frame, load: &'a ProofLoad) -> Result<Placed<'a>, Reason> {
    let force = match load.press {
        Press::Mass(mass_kg) => down(weight_n(mass_kg)),
        Press::Force(force) => force,
    };
    let magnitude = norm(force);
    let direction = if magnitude > 0.0 { scale(force, 1.0 / magnitude) } else { down(1.0) };
    let mut loads = Loads::new();
    let (point_mm, on) = match &load.target {
        Target::Member { tag, at_mm } => {
            let member = frame.member(tag).ok_or_else(|| Reason::TargetGone { tag: tag.clone() })?;
            let placed = &frame.members[member];
            // A thousandth of grace: lengths are rounded on their way through screens.
            if !(*at_mm >= -1e-3 && *at_mm <= placed.length_mm * (1.0 + 1e-9) + 1e-3) {
                return Err(Reason::BeyondEnd { tag: tag.clone(), length_mm: placed.length_mm });
            }
            let at = at_mm.clamp(0.0, placed.length_mm);
            loads.push((member, MemberLoad::Point { at, force: to_local(&placed.axes, force), moment: [0.0; 3] }));
            (placed.point(at), On::Member(member, at))
        }
        Target::Deck { tag, at_mm, patch_mm } => {
            let index = frame.design().decks.iter().position(|deck| deck.tag == *tag);
            let found = index.and_then(|index| Some((index, frame.decks.get(index)?)));
            let (index, deck) = found.ok_or_else(|| Reason::TargetGone { tag: tag.clone() })?;
            if !deck.covers(*at_mm) {
                return Err(Reason::OffDeck { tag: tag.clone() });
            }
            let size = patch_mm.unwrap_or(STANDING_PATCH_MM);
            let around = |axis: usize| [at_mm[axis] - 0.5 * size[axis], at_mm[axis] + 0.5 * size[axis]];
            let patch = Patch { across: around(deck.across()), along: around(deck.along) }.moved_onto(deck);
            spread(frame, deck, patch, force, &mut loads);
            let [x, y] = *at_mm;
            ([x, y, deck.top_mm + deck.thickness_mm], On::Deck(index, patch, magnitude))
        }
    };
    loads.sort_by_key(|load| load.0);
    let case = LoadCase { name: NAME.into(), action: load.lasts.action(), ..LoadCase::of(loads) };
    Ok(Placed { load, point_mm, on, direction, case })
}

impl Placed<'_> {
    /// Members that the load lies on, in order.
    pub(super) fn members(&self) -> Vec<usize> {
        let mut members: Vec<usize> = self.case.loads.iter().map(|load| load.0).collect();
        members.dedup();
        members
    }
}
