//! What must hold of the findings of any frame.

use battenboard_engine::check::{Ask, CheckError, check};
use battenboard_engine::design::{Frame, Vector};
use battenboard_engine::findings::{Check, Findings, Unchecked, Verdict};
use battenboard_proto::convert;
use std::cell::Cell;
use std::collections::BTreeSet;

/// Largest frame that is checked here: the rest would only be slow.
const MEMBERS: usize = 60;
const JOINTS: usize = 200;
const CASES: usize = 12;
/// Frames up to this size are checked twice and asked for mends.
const SMALL: usize = 4;
/// The stop test ends a check that asks more often.
const ASKED: u32 = 2_000;
/// Loads and reactions of a sound frame differ by no more, of the largest force that takes part.
const BALANCE: f64 = 1e-6;
/// Condition up to which that is asked.
const SOUND: f64 = 1e9;

/// Checks a frame, unless it is too large, and what is said of it.
pub fn of_frame(frame: &Frame) {
    if !small_enough(frame) {
        return;
    }
    let small = frame.members.len() <= SMALL;
    let Some(findings) = checked(frame, small) else { return };
    numbers_are_finite(&findings);
    checks_are_consistent(frame, &findings);
    verdict_follows(&findings);
    if findings.faults.is_empty() && findings.equations.condition <= SOUND {
        loads_are_held(&findings);
    }
    let wire = convert::findings_from_wire(convert::findings_to_wire(&findings));
    assert_eq!(wire.as_ref(), Ok(&findings), "the wire loses something");
    if small {
        assert_eq!(checked(frame, true).as_ref(), Some(&findings), "a second run says something else");
    }
}

fn small_enough(frame: &Frame) -> bool {
    let design = frame.design();
    let given: BTreeSet<&str> = design.loads.iter().map(|load| load.case.as_str()).collect();
    let cases = 2 + given.len() + design.people.len() + design.stowage.len().min(4);
    frame.members.len() <= MEMBERS && design.joints.len() <= JOINTS && cases <= CASES
}

/// The findings; none where the check was stopped or refused.
fn checked(frame: &Frame, mends: bool) -> Option<Findings> {
    let asked = Cell::new(0);
    let stop = || {
        asked.set(asked.get() + 1);
        asked.get() > ASKED
    };
    match check(frame, Ask { results: true, mends }, &stop) {
        Ok(findings) => Some(findings),
        Err(error) => {
            assert!(error != CheckError::Stopped || asked.get() > ASKED, "stopped by nobody");
            None
        }
    }
}

/// JSON has no other numbers: one that is not finite becomes null, and does not come back as it was.
fn numbers_are_finite(findings: &Findings) {
    let text = serde_json::to_string(findings).expect("findings are plain data");
    match serde_json::from_str::<Findings>(&text) {
        Ok(again) => assert_eq!(&again, findings, "a number is not finite"),
        Err(error) => {
            let from = error.column().saturating_sub(200);
            panic!("{error}: ...{}", text.chars().skip(from).take(200).collect::<String>());
        }
    }
}

fn checks_are_consistent(frame: &Frame, findings: &Findings) {
    let design = frame.design();
    let known: BTreeSet<&str> = design
        .members
        .iter()
        .map(|member| member.tag.as_str())
        .chain(design.decks.iter().map(|deck| deck.tag.as_str()))
        .chain(frame.joints.iter().map(|joint| joint.tag.as_str()))
        .chain(frame.anchors.iter().map(|anchor| anchor.tag.as_str()))
        .chain(["design"])
        .collect();
    for check in &findings.checks {
        assert!(known.contains(check.tag.as_str()), "{check:?}");
        assert!(check.utilisation >= 0.0 && check.demand >= 0.0 && check.resistance >= 0.0, "{check:?}");
        assert_eq!(check.verdict, Verdict::of(check.utilisation), "{check:?}");
        if let Some(member) = frame.member(&check.tag) {
            let length = frame.members[member].length_mm;
            assert!(check.at_mm >= -1e-3 && check.at_mm <= length * (1.0 + 1e-9) + 1e-3, "{length} {check:?}");
        }
        if let Some(mend) = &check.mend {
            assert!(check.verdict == Verdict::FallsShort && mend.utilisation <= 1.0 + 1e-6, "{check:?}");
            assert!(design.stock.iter().any(|stock| stock.name == mend.from_stock), "{check:?}");
        }
    }
    // What only rounding keeps apart stands in the order of the tags.
    let in_order = |a: &Check, b: &Check| a.utilisation >= b.utilisation * (1.0 - 1e-6);
    assert!(findings.checks.is_sorted_by(in_order), "not the worst first");
    for left in &findings.not_checked {
        assert!(known.contains(left.tag.as_str()), "{left:?}");
    }
}

/// The worst check decides; nothing holds where something could not be computed.
fn verdict_follows(findings: &Findings) {
    let worst = findings.checks.iter().map(|check| check.verdict).max().unwrap_or(Verdict::NotChecked);
    assert!(findings.verdict >= worst, "{:?} {worst:?}", findings.verdict);
    if !findings.faults.is_empty() {
        assert!(findings.verdict >= Verdict::NotChecked, "{:?}", findings.faults);
    }
    if findings.verdict == Verdict::FallsShort {
        assert_eq!(worst, Verdict::FallsShort);
    }
}

/// In each combination the reactions hold the loads.
fn loads_are_held(findings: &Findings) {
    // Anchors of what is not told are not among the reactions: how large they are is not known then.
    let all_told = findings.not_checked.iter().all(|left| left.what != Unchecked::NotComputed);
    let states = findings.results.iter().flat_map(|results| &results.states).filter(|state| state.combined);
    for combination in &findings.combinations {
        let same = |name: &str| name == combination.name;
        let reactions = states.clone().filter(|state| same(&state.name)).flat_map(|state| &state.reactions);
        let largest = reactions
            .map(|one| length(one.force_n))
            .fold(length(combination.load_sum_n).max(f64::MIN_POSITIVE), f64::max);
        let left: Vector = std::array::from_fn(|k| combination.load_sum_n[k] + combination.reaction_sum_n[k]);
        assert!(
            !all_told || length(left) <= BALANCE * largest,
            "{left:?} of {largest} N is held by nobody: {combination:?}"
        );
        assert!((0.0..=BALANCE).contains(&combination.residual), "{combination:?}");
    }
}

fn length(vector: Vector) -> f64 {
    vector.iter().fold(0.0, |sum: f64, part| sum.hypot(*part))
}
