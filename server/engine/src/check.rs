//! One design from frame to findings: the only entry the command, the server and the benches use.

mod assumed;
pub(crate) mod contact;
pub(crate) mod creep;
pub(crate) mod cuts;
mod evidence;
mod holds;
pub mod members;
pub mod mend;
mod results;
mod road;
pub mod stability;
pub(crate) mod states;

use crate::design::Frame;
pub use crate::error::CheckError;
use crate::findings::{Check, Equations, Fault, Findings, LimitState, SHAPE, Verdict};
use crate::rules::combine;
use crate::{fit, mass, rules, statics};
use assumed::Open;

/// What a caller wants beside the checks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ask {
    /// Displacements, reactions, end forces and extremes per case and combination.
    pub results: bool,
    /// The smallest stock that mends each member that falls short, each proved by a full run.
    pub mends: bool,
}

/// Checks a frame. `stop` is asked before each factorisation and each combination; true ends the run.
///
/// Same frame, same findings: to the last bit on one build and one CPU feature level.
///
/// # Errors
/// [`CheckError`] when stopped or too large. A frame that can move is no error but a fault within the findings.
pub fn check(frame: &Frame, ask: Ask, stop: &dyn Fn() -> bool) -> Result<Findings, CheckError> {
    let mut analysis = statics::analyse(frame, stop)?;
    let cases = road::cases(&analysis);
    let mut combined = combine::combinations(&cases, &frame.design().settings, greatest_creep(frame))?;
    without_creep(&analysis, &mut combined);
    road::add(frame, &cases, &mut combined)?;
    if analysis.creep(service_class(frame)) {
        creep::in_the_end(&analysis, greatest_creep(frame), &mut combined);
    }
    let study = stability::study(&analysis, &combined, stop)?;
    let mut checks = members::checks(&analysis, &combined, &study, stop)?;
    let bearing = contact::bearing(&analysis, &combined, stop)?;
    checks.extend(bearing.checks);
    let cut = cuts::checks(&analysis, &combined, &study, stop)?;
    checks.extend(cut.checks);
    let columns = study.columns_found(&combined);
    checks.extend(study.checks);
    let decks = rules::deck::checks(frame, service_class(frame))?;
    checks.extend(decks.checks);
    worst_first(&mut checks);
    let mut findings = Findings {
        shape: SHAPE,
        engine_version: crate::VERSION.into(),
        engine_fingerprint: crate::FINGERPRINT.into(),
        verdict: Verdict::NotChecked,
        faults: faults(&analysis, study.faults),
        not_checked: assumed::not_checked(
            &analysis,
            decks.not_checked,
            &Open { bearing: bearing.open, cuts: cut.open },
        ),
        weight: mass::weight_table(frame),
        assumptions: assumed::assumptions(&analysis, &checks, &columns, bearing.by_size),
        shares: evidence::shares(&analysis, &combined),
        combinations: evidence::combinations(&analysis, &combined),
        equations: Equations {
            unknowns: analysis.system.order() as u64,
            factor_nonzeros: analysis.system.shape.nonzeros(),
            condition: analysis.condition,
        },
        stability: study.stability,
        hold_downs: road::hold_downs(&analysis, &cases, stop)?,
        headroom: fit::headroom::headroom(frame),
        results: ask.results.then(|| results::results(&analysis, &combined)),
        checks,
    };
    findings.verdict = verdict(&findings);
    if ask.mends {
        mend::add(frame, &mut findings, stop)?;
    }
    Ok(findings)
}

/// Worst first; ties by tag and kind, so that the order never depends on how it was computed.
pub(crate) fn worst_first(checks: &mut Vec<Check>) {
    // Each figure is ranked once, not at every comparison.
    let mut ranked: Vec<(f64, Check)> = checks.drain(..).map(|check| (rank(check.utilisation), check)).collect();
    ranked.sort_by(|(a_rank, a), (b_rank, b)| {
        b_rank.total_cmp(a_rank).then_with(|| a.tag.cmp(&b.tag)).then_with(|| a.kind.cmp(&b.kind))
    });
    checks.extend(ranked.into_iter().map(|(_, check)| check));
}

/// A figure to eight digits: equal for what only rounding keeps apart.
fn rank(figure: f64) -> f64 {
    // Under it the digits of a double are gone.
    if figure.abs() < 1e-290 || !figure.is_finite() {
        return figure;
    }
    let unit = 10_f64.powi(figure.abs().log10().floor() as i32 - 7);
    (figure / unit).round() * unit
}

/// Faults keep parts from being computed, gaps among them.
fn faults(analysis: &statics::Analysis<'_>, nearly: Vec<Fault>) -> Vec<Fault> {
    let tag = |member: usize| analysis.frame.design().members[member].tag.clone();
    let gaps = analysis.frame.gaps.iter().map(|gap| Fault::Gap {
        on: tag(gap.on),
        member: tag(gap.member),
        gap_mm: gap.gap_mm,
    });
    gaps.chain(analysis.faults.iter().cloned()).chain(nearly).collect()
}

/// The worst check decides; where something falls short that is said, a fault comes before "holds".
fn verdict(findings: &Findings) -> Verdict {
    let worst = findings.checks.iter().map(|c| c.verdict).max().unwrap_or(Verdict::NotChecked);
    if findings.faults.is_empty() { worst } else { worst.max(Verdict::NotChecked) }
}

/// A movement forced on an anchor stays what it is: the timber's creep does not add to it.
pub(crate) fn without_creep(analysis: &statics::Analysis<'_>, combined: &mut [combine::Combined]) {
    for combination in combined.iter_mut().filter(|c| c.limit_state == LimitState::SagFinal) {
        for (case, factor) in &mut combination.terms {
            if analysis.cases[*case].settlement {
                *factor = 1.0;
            }
        }
    }
}

/// Service class of EN 1995-1-1 2.3.1.3 the design is checked in.
pub(crate) fn service_class(frame: &Frame) -> u8 {
    frame.design().settings.service_class.unwrap_or(members::SERVICE_CLASS)
}

/// Greatest creep factor of the members in the design's service class; where they differ [`creep::in_the_end`] follows.
pub(crate) fn greatest_creep(frame: &Frame) -> f64 {
    let class = service_class(frame);
    frame.members.iter().map(|m| statics::stiffness::creep(m, class)).fold(0.0, f64::max)
}
