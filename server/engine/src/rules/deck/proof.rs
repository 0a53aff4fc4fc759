//! What a deck says to one load on a patch of it, beside its own weight: for proof loads.

use super::loads::{self, DeckCase, solid};
use super::{Strength, Strip, keep_worst, strip, strips, surface};
use crate::design::{Action, Frame};
use crate::error::CheckError;
use crate::findings::{Check, CheckKind, LimitState};
use crate::rules::combine::{Case, Combined, OnRoad, alone};
use crate::statics::patch::Patch;
use crate::tables::factors::{Duration, k_def};

/// A load on a patch of a deck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnPatch {
    /// The patch, on the deck.
    pub patch: Patch,
    /// Downward force, N.
    pub force_n: f64,
    /// Kind of action, for what of it lasts.
    pub action: Action,
    /// How long it stays.
    pub duration: Duration,
    /// Sag at once or in the end.
    pub sag: LimitState,
}

/// What a deck says to it.
#[derive(Clone, Debug, PartialEq)]
pub struct DeckProof {
    /// Its governing bending and shear; none where its strength is not known.
    pub checks: Vec<Check>,
    /// False where its strength is not known.
    pub strength_known: bool,
    /// Greatest sag of the strip under the patch, to the members it lies on, mm.
    pub sag_mm: f64,
}

/// Tries a deck of a frame, by its index. `None` where not even its stiffness is known.
///
/// # Errors
/// [`CheckError::TooManyCombinations`].
pub fn proof(
    frame: &Frame,
    index: usize,
    load: &OnPatch,
    name: &str,
    service_class: u8,
) -> Result<Option<DeckProof>, CheckError> {
    let design = frame.design();
    let (Some(deck), Some(stated)) = (frame.decks.get(index), design.decks.get(index)) else { return Ok(None) };
    let Some(surface) = surface(design, stated) else { return Ok(None) };
    let mut cases = loads::cases(frame, deck, stated);
    cases.retain(|case| case.case.action == Action::Permanent);
    let own = cases.len();
    let mut case = DeckCase::new(name, load.action, false, OnRoad::Away);
    case.patches.push((solid(load.patch), load.force_n));
    cases.push(case);
    let names: Vec<Case> = cases.iter().map(|c| c.case.clone()).collect();
    let mut combined = alone(&names, own, load.duration, &design.settings, k_def(surface.product, service_class))?;
    combined.retain(|c| c.limit_state == LimitState::Strength || c.limit_state == load.sag);
    let mine: Vec<&Combined> = combined.iter().collect();
    let mut found =
        DeckProof { checks: Vec::new(), strength_known: !matches!(surface.strength, Strength::Unknown), sag_mm: 0.0 };
    for (owner, patch, range) in strips(deck, &surface, &cases) {
        if owner != Some(own) {
            continue;
        }
        for reach in strip::reaches(deck).into_iter().filter(|reach| cases[own].touches(reach, range)) {
            let strip = Strip::new(deck, stated, &surface, patch, range, reach);
            for check in strip.checks(&cases, &mine, service_class) {
                match check.kind {
                    CheckKind::DeckSag => found.sag_mm = found.sag_mm.max(check.demand),
                    _ => keep_worst(&mut found.checks, check),
                }
            }
        }
    }
    found.checks.sort_by_key(|check| check.kind);
    Ok(Some(found))
}
