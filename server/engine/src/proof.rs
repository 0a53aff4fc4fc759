//! Proof loads: somebody's doubt as a load with a limit, asked of a frame.
//!
//! The load stands there with the frame's permanent loads and nothing else. Utilisation: strength combinations of
//! [`crate::rules::combine`] with the proof load as the one variable action, at the duration it states, judged by the
//! same checks as the findings. Sag: the characteristic combination (or the one with creep), absolute, at the place.
//! A load of the same size in the design's own `loads` gives the same figures. All proof loads of a frame share its one
//! factorisation; each is judged by itself, so that none depends on what else is asked.

mod load;
mod outcome;
mod place;
mod sag;

use crate::check::{CheckError, greatest_creep};
use crate::check::{contact, creep, cuts, members, service_class, stability, without_creep, worst_first};
use crate::design::Frame;
use crate::design::frame::FrameMaterial;
use crate::findings::{Check, CheckKind, LimitState, Verdict};
use crate::rules::combine::{Case, Combined, OnRoad, alone};
use crate::rules::deck::{self, DeckProof, OnPatch};
use crate::statics::load::{LoadCase, Role};
use crate::statics::solve::parts;
use crate::statics::system::SolvedCase;
use crate::statics::{self, Analysis};
pub use load::{
    FORCE_MAX_N, Lasts, MASS_MAX_KG, PATCH_MM, Press, ProofLoad, SAG_MAX_MM, STANDING_PATCH_MM, SagWhen, Target,
};
pub use outcome::{ProofOutcome, ProofResult, ProofSag, Reason};
use place::{On, Placed, place};

/// Most proof loads of one design.
pub const PROOF_LOADS_MAX: usize = 50;

/// Runs proof loads on a frame; one result a load, in their order. `stop` is asked as in [`crate::check`].
///
/// # Errors
/// [`CheckError`] when stopped or too large. A load that can't be run is no error but a result that says why.
pub fn prove(frame: &Frame, loads: &[ProofLoad], stop: &dyn Fn() -> bool) -> Result<Vec<ProofResult>, CheckError> {
    let placed: Vec<Result<Placed<'_>, Reason>> = loads.iter().map(|load| place(frame, load)).collect();
    let cases: Vec<&LoadCase> = placed.iter().flatten().map(|placed| &placed.case).collect();
    let mut bench = if cases.is_empty() { None } else { Some(Bench::new(frame, &cases, stop)?) };
    let mut next = 0;
    let mut results = Vec::with_capacity(loads.len());
    for placed in placed {
        results.push(match (placed, &mut bench) {
            (Ok(placed), Some(bench)) => {
                bench.lay_on(next);
                next += 1;
                bench.judge(&placed, stop)?
            }
            (Ok(placed), None) => ProofResult::cannot(Reason::NotComputed, Some(placed.point_mm)),
            (Err(reason), _) => ProofResult::cannot(reason, None),
        });
    }
    Ok(results)
}

/// A solved frame with its permanent loads, on which one proof load at a time is laid.
struct Bench<'a> {
    /// Permanent cases, then the one proof load; where parts creep differently the same once more, in the end.
    analysis: Analysis<'a>,
    /// Index of the proof load's case.
    slot: usize,
    /// The proof loads, solved: at the begin and, where parts creep differently, in the end.
    solved: Vec<(LoadCase, SolvedCase, Option<SolvedCase>)>,
    /// Part of each member.
    parts: Vec<usize>,
}

impl<'a> Bench<'a> {
    /// Solves the frame as the findings do, and on the same factor the proof loads.
    fn new(frame: &'a Frame, proofs: &[&LoadCase], stop: &dyn Fn() -> bool) -> Result<Self, CheckError> {
        let mut analysis = statics::analyse(frame, stop)?;
        let own = std::mem::take(&mut analysis.cases).into_iter().zip(std::mem::take(&mut analysis.solved));
        let lasting = |case: &LoadCase| {
            case.role == Role::Standing && case.action == crate::design::Action::Permanent && !case.people
        };
        (analysis.cases, analysis.solved) = own.filter(|(case, _)| lasting(case)).unzip();
        let slot = analysis.cases.len();
        let proofs: Vec<LoadCase> = proofs.iter().map(|case| (*case).clone()).collect();
        analysis.solved.extend(analysis.system.solve(frame, &proofs));
        analysis.cases.extend(proofs);
        let all = analysis.cases.len();
        analysis.creep(service_class(frame));
        // Taken apart again: behind the permanent cases there is room for one proof load at a time.
        let mut ends: Vec<SolvedCase> = analysis.solved.drain(all..).collect();
        let mut end_cases: Vec<LoadCase> = analysis.cases.drain(all..).collect();
        let mut proofs_at_end = ends.split_off(slot.min(ends.len())).into_iter();
        end_cases.truncate(slot);
        let cases = analysis.cases.drain(slot..);
        let solved =
            cases.zip(analysis.solved.drain(slot..)).map(|(case, solved)| (case, solved, proofs_at_end.next()));
        let solved: Vec<_> = solved.collect();
        let crept = analysis.crept.is_some();
        let room = || (LoadCase::of(Vec::new()), SolvedCase::default());
        let (case, empty) = room();
        analysis.cases.push(case);
        analysis.solved.push(empty);
        if crept {
            analysis.cases.extend(end_cases);
            analysis.solved.extend(ends);
            let (case, empty) = room();
            analysis.cases.push(case);
            analysis.solved.push(empty);
        }
        Ok(Self { analysis, slot, solved, parts: parts(frame) })
    }

    /// Lays a proof load on.
    fn lay_on(&mut self, index: usize) {
        let Some((case, solved, end)) = self.solved.get_mut(index) else { return };
        if let Some(end) = end.take() {
            let last = 2 * self.slot + 1;
            self.analysis.cases[last] = case.clone();
            self.analysis.solved[last] = end;
        }
        self.analysis.cases[self.slot] = case.clone();
        self.analysis.solved[self.slot] = std::mem::take(solved);
    }

    fn judge(&self, placed: &Placed<'_>, stop: &dyn Fn() -> bool) -> Result<ProofResult, CheckError> {
        if stop() {
            return Err(CheckError::Stopped);
        }
        let cannot = |reason: Reason| Ok(ProofResult::cannot(reason, Some(placed.point_mm)));
        if let Some(reason) = self.open(placed) {
            return cannot(reason);
        }
        let deck = match &placed.on {
            On::Member(..) => None,
            On::Deck(index, patch, force_n) => {
                let load = OnPatch {
                    patch: *patch,
                    force_n: *force_n,
                    action: placed.load.lasts.action(),
                    duration: placed.load.lasts.duration(),
                    sag: placed.load.sag.limit_state(),
                };
                let frame = self.analysis.frame;
                let Some(found) = deck::proof(frame, *index, &load, place::NAME, service_class(frame))? else {
                    return cannot(Reason::StiffnessUnknown { tag: placed.load.target.tag().to_owned() });
                };
                Some(found)
            }
        };
        let combined = self.combinations(placed.load)?;
        let (strength, sagging): (Vec<Combined>, Vec<Combined>) =
            combined.into_iter().partition(|c| c.limit_state == LimitState::Strength);
        let mut checks = self.checks(placed, &strength, stop)?;
        let not_judged = self.not_judged(placed, &checks, deck.as_ref());
        let deck_mm = deck.as_ref().map_or(0.0, |deck| deck.sag_mm);
        checks.extend(deck.into_iter().flat_map(|deck| deck.checks));
        worst_first(&mut checks);
        let wanted = placed.load.sag.limit_state();
        let terms = sagging.iter().find(|c| c.limit_state == wanted).map_or(&[][..], |c| &c.terms);
        let sag = sag::sag(&self.analysis, placed, terms, deck_mm);
        let governing = checks.into_iter().next();
        let own = placed.load.target.tag();
        if placed.load.most_utilisation.is_some() && not_judged.iter().any(|tag| tag == own) {
            return cannot(Reason::StrengthUnknown { tag: own.to_owned() });
        }
        let most = placed.load.most_utilisation.unwrap_or(1.0);
        let beyond = |share: f64| Verdict::of(share) == Verdict::FallsShort || share.is_nan();
        let short = governing.as_ref().is_some_and(|check| beyond(check.utilisation / most))
            || placed.load.most_sag_mm.is_some_and(|limit| beyond(sag.at_place_mm / limit));
        let outcome = if short { ProofOutcome::Failed } else { ProofOutcome::Passed };
        let (point_mm, sag) = (Some(placed.point_mm), Some(sag));
        Ok(ProofResult { outcome, reason: None, point_mm, sag, governing, not_judged })
    }

    /// What keeps the load from being run: it moves, or something that carries it does.
    fn open(&self, placed: &Placed<'_>) -> Option<Reason> {
        let frame = self.analysis.frame;
        let tag = |member: usize| frame.design().members[member].tag.clone();
        let own = placed.members();
        if let Some(member) = own.iter().find(|member| self.analysis.system.mesh.left_out[**member]) {
            return Some(Reason::TargetMoves { tag: tag(*member) });
        }
        if let Some(member) = self.analysis.spun_by(&self.analysis.solved[self.slot]) {
            return Some(Reason::TargetMoves { tag: tag(member) });
        }
        // Everything below it, joint by joint.
        let mut seen = vec![false; frame.members.len()];
        let mut open = own;
        while let Some(member) = open.pop() {
            if std::mem::replace(&mut seen[member], true) {
                continue;
            }
            if self.analysis.untold[member] {
                return Some(Reason::CarrierOpen { tag: tag(member) });
            }
            open.extend(frame.joints.iter().filter(|joint| joint.member == member).map(|joint| joint.on));
        }
        None
    }

    /// The combinations of the load that is laid on, with those of the end where parts creep differently.
    fn combinations(&self, load: &ProofLoad) -> Result<Vec<Combined>, CheckError> {
        let frame = self.analysis.frame;
        let case =
            |case: &LoadCase| Case { name: case.name.clone(), action: case.action, people: false, road: OnRoad::Away };
        let cases: Vec<Case> = self.analysis.cases[..=self.slot].iter().map(case).collect();
        let k_def = greatest_creep(frame);
        let mut combined = alone(&cases, self.slot, load.lasts.duration(), &frame.design().settings, k_def)?;
        without_creep(&self.analysis, &mut combined);
        if self.analysis.crept.is_some() {
            creep::in_the_end(&self.analysis, k_def, &mut combined);
        }
        Ok(combined)
    }

    /// Strength checks of everything that hangs together with the load, and of the frame's buckling.
    fn checks(
        &self,
        placed: &Placed<'_>,
        strength: &[Combined],
        stop: &dyn Fn() -> bool,
    ) -> Result<Vec<Check>, CheckError> {
        let analysis = &self.analysis;
        let study = stability::pressed(analysis, strength, stop)?;
        let mut checks = members::checks(analysis, strength, &study, stop)?;
        checks.extend(contact::bearing(analysis, strength, stop)?.checks);
        checks.extend(cuts::checks(analysis, strength, &study, stop)?.checks);
        checks.retain(|check| self.feels(placed, &check.tag));
        checks.extend(study.checks.into_iter().filter(|check| check.kind == CheckKind::FrameBuckling));
        Ok(checks)
    }

    /// True for a member of the part of the frame that the load stands on.
    fn feels(&self, placed: &Placed<'_>, tag: &str) -> bool {
        let member = self.analysis.frame.member(tag);
        member.is_some_and(|member| placed.members().iter().any(|own| self.parts[*own] == self.parts[member]))
    }

    /// Members and decks that feel the load and whose strength is not known.
    fn not_judged(&self, placed: &Placed<'_>, checks: &[Check], deck: Option<&DeckProof>) -> Vec<String> {
        let frame = self.analysis.frame;
        let known = |member: usize| match frame.members[member].material {
            FrameMaterial::Metal(_) => {
                let tag = &frame.design().members[member].tag;
                checks.iter().any(|check| check.tag == *tag)
            }
            FrameMaterial::Timber(_) | FrameMaterial::Panel(_) => members::resistance(frame, member).is_some(),
            FrameMaterial::Given => false,
        };
        let tags = (0..frame.members.len())
            .filter(|member| !known(*member))
            .map(|member| frame.design().members[member].tag.clone())
            .filter(|tag| self.feels(placed, tag));
        let deck = deck.filter(|deck| !deck.strength_known).map(|_| placed.load.target.tag().to_owned());
        tags.chain(deck).collect()
    }
}
