//! Proof loads and their results. On the wire the target of a proof load is the place of its remark.

use super::{onwire::OnWire, path::Path};
use crate::v1::{self, proof_load};
use battenboard_engine::design::Violation;
use battenboard_engine::findings::Check;
use battenboard_engine::proof::{
    Lasts, Press, ProofLoad, ProofOutcome, ProofResult, ProofSag, Reason, STANDING_PATCH_MM, SagWhen, Target,
};

fn fault(path: &str, message: &str, mend: &str) -> Violation {
    Violation::new(path, message).mend(mend)
}

/// The proof load that a wire message says, standing where its remark is placed.
///
/// # Errors
/// All faults of form, by field paths of CreateRemarkRequest. What its numbers say is for
/// [`ProofLoad::faults`].
pub fn proof_load_from_wire(load: v1::ProofLoad, place: &v1::Place) -> Result<ProofLoad, Vec<Violation>> {
    let v1::ProofLoad { press, point, patch_x_mm, patch_y_mm, most_sag_mm, most_utilisation, sag, duration } = load;
    let mut faults = Vec::new();
    let press = match press {
        Some(proof_load::Press::MassKg(mass_kg)) => Some(Press::Mass(mass_kg)),
        Some(proof_load::Press::Force(force)) => Some(Press::Force(force.into())),
        None => {
            faults.push(fault("proof_load.press", "says no load", "say a mass or a force"));
            None
        }
    };
    let target = target(place, point, [patch_x_mm, patch_y_mm], &mut faults);
    let sag = match v1::ProofSag::try_from(sag) {
        Ok(v1::ProofSag::Unspecified | v1::ProofSag::Instant) => Some(SagWhen::AtOnce),
        Ok(v1::ProofSag::Final) => Some(SagWhen::Final),
        Err(_) => None,
    };
    let lasts = match v1::ProofDuration::try_from(duration) {
        Ok(v1::ProofDuration::Unspecified | v1::ProofDuration::Short) => Some(Lasts::Short),
        Ok(v1::ProofDuration::Long) => Some(Lasts::Long),
        Ok(v1::ProofDuration::Medium) => Some(Lasts::Medium),
        Ok(v1::ProofDuration::Instantaneous) => Some(Lasts::Instantaneous),
        Err(_) => None,
    };
    for (known, path) in [(sag.is_some(), "proof_load.sag"), (lasts.is_some(), "proof_load.duration")] {
        if !known {
            faults.push(Violation::new(path, "is no value that this program knows"));
        }
    }
    match (target, press, sag, lasts, faults.is_empty()) {
        (Some(target), Some(press), Some(sag), Some(lasts), true) => {
            Ok(ProofLoad { target, press, most_sag_mm, most_utilisation, sag, lasts })
        }
        _ => Err(faults),
    }
}

fn target(
    place: &v1::Place,
    point: Option<v1::PlanPoint>,
    patch: [Option<f64>; 2],
    faults: &mut Vec<Violation>,
) -> Option<Target> {
    let tag = place.tag.clone();
    match v1::PlaceKind::try_from(place.kind) {
        Ok(v1::PlaceKind::Member) => {
            if point.is_some() || patch.iter().any(Option::is_some) {
                let message = "a point and a patch are for decks";
                faults.push(fault("proof_load.point", message, "on a member say the distance: place.at_mm"));
            }
            let Some(at_mm) = place.at_mm else {
                let message = "a proof load on a member needs its place along it";
                faults.push(fault("place.at_mm", message, "the distance from its marked end, mm"));
                return None;
            };
            Some(Target::Member { tag, at_mm })
        }
        Ok(v1::PlaceKind::Deck) => {
            let Some(point) = point else {
                let message = "a proof load on a deck needs its point";
                faults.push(fault("proof_load.point", message, "x and y in the vehicle, mm"));
                return None;
            };
            let patch_mm = match patch {
                [None, None] => None,
                [x, y] => Some([x.unwrap_or(STANDING_PATCH_MM[0]), y.unwrap_or(STANDING_PATCH_MM[1])]),
            };
            Some(Target::Deck { tag, at_mm: point.into(), patch_mm })
        }
        Ok(v1::PlaceKind::Unspecified | v1::PlaceKind::Joint | v1::PlaceKind::Anchor | v1::PlaceKind::Whole)
        | Err(_) => {
            let message = "a proof load stands on a member or a deck";
            faults.push(fault("place.kind", message, "place the remark on one of them"));
            None
        }
    }
}

/// The wire form of a proof load; its tag and distance are those of its remark's place.
#[must_use]
pub fn proof_load_to_wire(load: &ProofLoad) -> v1::ProofLoad {
    let ProofLoad { target, press, most_sag_mm, most_utilisation, sag, lasts } = load;
    let (point, patch) = match target {
        Target::Member { tag: _, at_mm: _ } => (None, None),
        Target::Deck { tag: _, at_mm, patch_mm } => (Some((*at_mm).into()), *patch_mm),
    };
    let press = match press {
        Press::Mass(mass_kg) => proof_load::Press::MassKg(*mass_kg),
        Press::Force(force) => proof_load::Press::Force((*force).into()),
    };
    let sag = match sag {
        SagWhen::AtOnce => v1::ProofSag::Instant,
        SagWhen::Final => v1::ProofSag::Final,
    };
    let duration = match lasts {
        Lasts::Long => v1::ProofDuration::Long,
        Lasts::Medium => v1::ProofDuration::Medium,
        Lasts::Short => v1::ProofDuration::Short,
        Lasts::Instantaneous => v1::ProofDuration::Instantaneous,
    };
    v1::ProofLoad {
        press: Some(press),
        point,
        patch_x_mm: patch.map(|[x, _]| x),
        patch_y_mm: patch.map(|[_, y]| y),
        most_sag_mm: *most_sag_mm,
        most_utilisation: *most_utilisation,
        sag: sag.into(),
        duration: duration.into(),
    }
}

/// The wire form of a result that is done; letter, engine and time are for the server to say.
#[must_use]
pub fn proof_result_to_wire(result: &ProofResult) -> v1::ProofResult {
    let ProofResult { outcome, reason, point_mm, sag, governing, not_judged } = result;
    let outcome = match outcome {
        ProofOutcome::Passed => v1::ProofOutcome::Passed,
        ProofOutcome::Failed => v1::ProofOutcome::Failed,
        ProofOutcome::CannotBeRun => v1::ProofOutcome::CannotBeRun,
    };
    let (obstacle, obstacle_tag, obstacle_length_mm) = reason.as_ref().map(obstacle).unwrap_or_default();
    v1::ProofResult {
        letter: String::new(),
        state: v1::ProofState::Done.into(),
        outcome: outcome.into(),
        obstacle: obstacle.into(),
        obstacle_tag,
        obstacle_length_mm,
        point: point_mm.map(Into::into),
        sag_mm: sag.as_ref().map(|sag| sag.at_place_mm),
        greatest_sag_mm: sag.as_ref().map(|sag| sag.greatest_mm),
        greatest_sag_tag: sag.as_ref().map(|sag| sag.greatest_tag.clone()).unwrap_or_default(),
        greatest_sag_at_mm: sag.as_ref().map(|sag| sag.greatest_at_mm),
        governing: governing.as_ref().map(OnWire::to_wire),
        not_judged: not_judged.clone(),
        engine_fingerprint: String::new(),
        end_time: None,
    }
}

fn obstacle(reason: &Reason) -> (v1::ProofObstacle, String, Option<f64>) {
    use v1::ProofObstacle as O;
    match reason {
        Reason::TargetGone { tag } => (O::TargetGone, tag.clone(), None),
        Reason::BeyondEnd { tag, length_mm } => (O::BeyondEnd, tag.clone(), Some(*length_mm)),
        Reason::OffDeck { tag } => (O::OffDeck, tag.clone(), None),
        Reason::TargetMoves { tag } => (O::TargetMoves, tag.clone(), None),
        Reason::CarrierOpen { tag } => (O::CarrierOpen, tag.clone(), None),
        Reason::StrengthUnknown { tag } => (O::StrengthUnknown, tag.clone(), None),
        Reason::StiffnessUnknown { tag } => (O::StiffnessUnknown, tag.clone(), None),
        Reason::TooLarge => (O::TooLarge, String::new(), None),
        Reason::TooLong => (O::TooLong, String::new(), None),
        Reason::NotComputed => (O::NotComputed, String::new(), None),
    }
}

/// The result that a wire message says; `None` where it is not done yet.
///
/// # Errors
/// An enum value that is not known, a check without its parts.
pub fn proof_result_from_wire(wire: v1::ProofResult) -> Result<Option<ProofResult>, Vec<Violation>> {
    let v1::ProofResult {
        letter: _,
        state: _,
        outcome,
        obstacle,
        obstacle_tag: tag,
        obstacle_length_mm,
        point,
        sag_mm,
        greatest_sag_mm,
        greatest_sag_tag,
        greatest_sag_at_mm,
        governing,
        not_judged,
        engine_fingerprint: _,
        end_time: _,
    } = wire;
    let unknown = |field: &str| vec![Violation::new(field, "is no value that this program knows")];
    let outcome = match v1::ProofOutcome::try_from(outcome) {
        Ok(v1::ProofOutcome::Unspecified) => return Ok(None),
        Ok(v1::ProofOutcome::Passed) => ProofOutcome::Passed,
        Ok(v1::ProofOutcome::Failed) => ProofOutcome::Failed,
        Ok(v1::ProofOutcome::CannotBeRun) => ProofOutcome::CannotBeRun,
        Err(_) => return Err(unknown("outcome")),
    };
    use v1::ProofObstacle as O;
    let reason = match O::try_from(obstacle).map_err(|_| unknown("obstacle"))? {
        O::Unspecified => None,
        O::TargetGone => Some(Reason::TargetGone { tag }),
        O::BeyondEnd => Some(Reason::BeyondEnd { tag, length_mm: obstacle_length_mm.unwrap_or_default() }),
        O::OffDeck => Some(Reason::OffDeck { tag }),
        O::TargetMoves => Some(Reason::TargetMoves { tag }),
        O::CarrierOpen => Some(Reason::CarrierOpen { tag }),
        O::StrengthUnknown => Some(Reason::StrengthUnknown { tag }),
        O::StiffnessUnknown => Some(Reason::StiffnessUnknown { tag }),
        O::TooLarge => Some(Reason::TooLarge),
        O::TooLong => Some(Reason::TooLong),
        O::NotComputed => Some(Reason::NotComputed),
    };
    let sag = sag_mm.map(|at_place_mm| ProofSag {
        at_place_mm,
        greatest_mm: greatest_sag_mm.unwrap_or(at_place_mm),
        greatest_tag: greatest_sag_tag,
        greatest_at_mm: greatest_sag_at_mm.unwrap_or_default(),
    });
    let mut faults = Vec::new();
    let governing = governing.and_then(|check| Check::from_wire(check, &Path::ROOT.field("governing"), &mut faults));
    if faults.is_empty() {
        let point_mm = point.map(Into::into);
        Ok(Some(ProofResult { outcome, reason, point_mm, sag, governing, not_judged }))
    } else {
        Err(faults)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    fn place(target: &Target) -> v1::Place {
        match target {
            Target::Member { tag, at_mm } => {
                v1::Place { kind: v1::PlaceKind::Member.into(), tag: tag.clone(), at_mm: Some(*at_mm) }
            }
            Target::Deck { tag, .. } => v1::Place { kind: v1::PlaceKind::Deck.into(), tag: tag.clone(), at_mm: None },
        }
    }

    #[test]
    fn loads_go_there_and_back() {
        let member = Target::Member { tag: "F2".into(), at_mm: 600.0 };
        let deck = Target::Deck { tag: "D1".into(), at_mm: [1.0, 2.0], patch_mm: Some([80.0, 90.0]) };
        let bare = Target::Deck { tag: "D1".into(), at_mm: [1.0, 2.0], patch_mm: None };
        for target in [member, deck, bare] {
            for lasts in [Lasts::Long, Lasts::Medium, Lasts::Short, Lasts::Instantaneous] {
                for (press, sag) in
                    [(Press::Mass(100.0), SagWhen::AtOnce), (Press::Force([1.0, 2.0, -3.0]), SagWhen::Final)]
                {
                    let (most_sag_mm, most_utilisation) = (Some(5.0), None);
                    let load = ProofLoad { target: target.clone(), press, most_sag_mm, most_utilisation, sag, lasts };
                    let back = proof_load_from_wire(proof_load_to_wire(&load), &place(&target)).unwrap();
                    assert_eq!(back, load);
                }
            }
        }
    }

    #[test]
    fn loads_without_form_name_their_fields() {
        let paths = |load: v1::ProofLoad, place: v1::Place| {
            let faults = proof_load_from_wire(load, &place).unwrap_err();
            faults.into_iter().map(|fault| fault.path).collect::<Vec<_>>()
        };
        let of = |kind: v1::PlaceKind| v1::Place { kind: kind.into(), tag: "X".into(), at_mm: None };
        let bare = v1::ProofLoad::default;
        assert_eq!(paths(bare(), of(v1::PlaceKind::Member)), ["proof_load.press", "place.at_mm"]);
        assert_eq!(paths(bare(), of(v1::PlaceKind::Deck)), ["proof_load.press", "proof_load.point"]);
        assert_eq!(paths(bare(), of(v1::PlaceKind::Joint)), ["proof_load.press", "place.kind"]);
        let press = Some(proof_load::Press::MassKg(1.0));
        let odd = v1::ProofLoad { press, sag: 99, duration: 99, ..bare() };
        let at = v1::Place { at_mm: Some(1.0), ..of(v1::PlaceKind::Member) };
        assert_eq!(paths(odd, at), ["proof_load.sag", "proof_load.duration"]);
    }

    #[test]
    fn results_go_there_and_back() {
        let tag = || "F2".to_owned();
        let sag = ProofSag { at_place_mm: 3.0, greatest_mm: 4.0, greatest_tag: tag(), greatest_at_mm: 9.0 };
        let passed = ProofResult {
            outcome: ProofOutcome::Passed,
            reason: None,
            point_mm: Some([1.0, 2.0, 3.0]),
            sag: Some(sag),
            governing: None,
            not_judged: vec![tag()],
        };
        let reasons = [
            Reason::TargetGone { tag: tag() },
            Reason::BeyondEnd { tag: tag(), length_mm: 5.0 },
            Reason::OffDeck { tag: tag() },
            Reason::TargetMoves { tag: tag() },
            Reason::CarrierOpen { tag: tag() },
            Reason::StrengthUnknown { tag: tag() },
            Reason::StiffnessUnknown { tag: tag() },
            Reason::TooLarge,
            Reason::TooLong,
            Reason::NotComputed,
        ];
        let cannot = reasons.into_iter().map(|reason| ProofResult::cannot(reason, None));
        let failed = ProofResult { outcome: ProofOutcome::Failed, ..passed.clone() };
        for result in cannot.chain([passed, failed]) {
            assert_eq!(proof_result_from_wire(proof_result_to_wire(&result)).unwrap(), Some(result));
        }
        assert_eq!(proof_result_from_wire(v1::ProofResult::default()).unwrap(), None);
    }
}
