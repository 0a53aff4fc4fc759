//! One design from frame to findings: the only entry the command, the server and the benches use.

mod results;
mod states;

use crate::design::Frame;
use crate::findings::{Equations, Findings, SHAPE, Verdict, WeightTable};
use crate::rules::combine::{self, Case};
use crate::statics;

/// What a caller wants beside the checks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ask {
    /// Displacements, reactions, end forces and extremes per case and combination.
    pub results: bool,
    /// The smallest stock that mends each member that falls short, each proved by a full run.
    pub mends: bool,
}

/// Why there are no findings.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CheckError {
    /// The stop test said so.
    #[error("the check was stopped")]
    Stopped,
    /// More combinations than the engine takes.
    #[error("{count} combinations of load cases, at most {limit} can be checked")]
    TooManyCombinations {
        /// How many there would be.
        count: u64,
        /// How many are taken.
        limit: u64,
    },
    /// The equations would take more memory than the caller allows.
    #[error("this frame needs about {needed_mb} MB to compute, at most {limit_mb} MB are allowed")]
    TooLarge {
        /// Predicted need.
        needed_mb: u64,
        /// Limit.
        limit_mb: u64,
    },
}

/// Checks a frame. `stop` is asked before each factorisation and each combination; true ends the run.
///
/// Same frame, same findings: to the last bit on one build and one CPU feature level.
///
/// # Errors
/// [`CheckError`] when stopped or too large. A frame that can move is no error but a fault within the findings.
pub fn check(frame: &Frame, ask: Ask, stop: &dyn Fn() -> bool) -> Result<Findings, CheckError> {
    let analysis = statics::analyse(frame, stop)?;
    let cases: Vec<Case> = analysis
        .cases
        .iter()
        .map(|c| Case { name: c.name.clone(), action: c.action, people: c.people })
        .collect();
    let combined = combine::combinations(&cases, &frame.design().settings, 0.8)?;
    let results = ask.results.then(|| results::results(&analysis, &combined));
    Ok(Findings {
        shape: SHAPE,
        engine_version: crate::VERSION.into(),
        engine_fingerprint: crate::FINGERPRINT.into(),
        verdict: Verdict::NotChecked,
        faults: analysis.faults.clone(),
        checks: Vec::new(),
        not_checked: Vec::new(),
        weight: WeightTable::default(),
        assumptions: Vec::new(),
        shares: Vec::new(),
        combinations: Vec::new(),
        equations: Equations {
            unknowns: analysis.unknowns,
            factor_nonzeros: analysis.factor_nonzeros,
            condition: analysis.condition,
        },
        results,
    })
}
