//! Everything the server asks of the engine, in one place.

use super::comparison::Effects;
use super::error::{AppError, AppResult};
use super::runner::Failure;
use crate::store::findings::{Key, Row};
use battenboard_engine::design::Frame;
use battenboard_engine::findings::{AxleLine, Findings, LoadState, Verdict};
use battenboard_engine::proof::{self, ProofLoad, ProofResult};
use battenboard_engine::{Ask, CheckError, check};
use sha2::{Digest, Sha256};

/// Body of the settings every design is checked under: the engine's defaults, which a design may override itself.
/// A group's own settings will be rows beside it.
pub const SETTINGS: &[u8] = b"settings 1\n{}";

/// What stored revisions are checked for: everything but the long lists of results.
pub const ASK_STORED: Ask = Ask { results: false, mends: true };

/// Id of [`SETTINGS`].
pub fn settings_id() -> Vec<u8> {
    Sha256::digest(SETTINGS).to_vec()
}

/// Human version of the engine.
pub fn version() -> &'static str {
    battenboard_engine::VERSION
}

/// Hash of the engine's sources and tables at build.
pub fn fingerprint() -> &'static str {
    battenboard_engine::FINGERPRINT
}

/// The key under which this engine's findings on a content are kept.
pub fn key(content_id: &[u8]) -> Key {
    Key { content_id: content_id.to_vec(), settings_id: settings_id(), engine_fingerprint: fingerprint().to_owned() }
}

/// Runs the engine.
///
/// # Errors
/// [`Failure`].
pub fn run(frame: &Frame, ask: Ask, stop: &dyn Fn() -> bool) -> Result<Findings, Failure> {
    check(frame, ask, stop).map_err(failure)
}

/// Runs proof loads.
///
/// # Errors
/// [`Failure`].
pub fn prove(frame: &Frame, loads: &[ProofLoad], stop: &dyn Fn() -> bool) -> Result<Vec<ProofResult>, Failure> {
    proof::prove(frame, loads, stop).map_err(failure)
}

fn failure(error: CheckError) -> Failure {
    match error {
        CheckError::Stopped => Failure::Stopped,
        CheckError::TooManyCombinations { .. } | CheckError::TooLarge { .. } | CheckError::TooCostly { .. } => {
            Failure::TooLarge(error.to_string())
        }
    }
}

/// Findings as they are stored under a key.
///
/// # Errors
/// [`AppError::Internal`] if they cannot be written as JSON (a number that is none).
pub fn row(key: &Key, findings: &Findings, now: i64) -> AppResult<Row> {
    let body = serde_json::to_vec(findings).map_err(AppError::internal)?;
    let (worst_utilisation, worst_tag) = worst(findings);
    let axles = axles(findings);
    let Key { content_id, settings_id, engine_fingerprint } = key.clone();
    Ok(Row {
        content_id,
        settings_id,
        engine_fingerprint,
        verdict: verdict_word(findings.verdict).to_owned(),
        total_mass_kg: findings.weight.total_kg,
        worst_utilisation,
        worst_tag,
        body,
        created_at: now,
        axle_state: axles.map(|axles| load_state_word(axles.state).to_owned()),
        front_axle_kg: axles.map(|axles| axles.front_kg),
        rear_axle_kg: axles.map(|axles| axles.rear_kg),
        front_limit_kg: axles.and_then(|axles| axles.front_limit_kg),
        rear_limit_kg: axles.and_then(|axles| axles.rear_limit_kg),
        effects: Some(Effects::of(findings).write()?),
    })
}

/// Axle loads in one load state, beside what the axles may carry; kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axles {
    /// What is aboard.
    pub state: LoadState,
    /// On the front axle.
    pub front_kg: f64,
    /// On the rear axle.
    pub rear_kg: f64,
    /// What the front axle may carry, where the vehicle's record says so.
    pub front_limit_kg: Option<f64>,
    /// What the rear axle may carry, where the vehicle's record says so.
    pub rear_limit_kg: Option<f64>,
}

impl Axles {
    fn of(line: &AxleLine) -> Self {
        // The findings say what is left; the sum is rounded so that 1850 stays 1850.
        let limit = |load: f64, left: Option<f64>| left.map(|left| ((load + left) * 1e6).round() / 1e6);
        Self {
            state: line.state,
            front_kg: line.front_kg,
            rear_kg: line.rear_kg,
            front_limit_kg: limit(line.front_kg, line.front_left_kg),
            rear_limit_kg: limit(line.rear_kg, line.rear_left_kg),
        }
    }
}

/// Axle loads in the state that governs: the one with least left to an axle's limit; where no limit is known, the one with
/// most aboard. `None` where the vehicle was not weighed.
pub fn axles(findings: &Findings) -> Option<Axles> {
    governing(&findings.weight.axles)
}

fn governing(lines: &[AxleLine]) -> Option<Axles> {
    let left = |line: &AxleLine| {
        let parts = [line.front_left_kg, line.rear_left_kg];
        parts.into_iter().flatten().fold(f64::INFINITY, f64::min)
    };
    let aboard = |line: &AxleLine| line.front_kg + line.rear_kg;
    let order = |a: &&AxleLine, b: &&AxleLine| left(a).total_cmp(&left(b)).then(aboard(b).total_cmp(&aboard(a)));
    lines.iter().min_by(order).map(Axles::of)
}

/// A load state's word in the database.
pub fn load_state_word(state: LoadState) -> &'static str {
    match state {
        LoadState::Empty => "empty",
        LoadState::Touring => "touring",
    }
}

/// The load state of a word in the database.
pub fn load_state_of_word(word: &str) -> Option<LoadState> {
    [LoadState::Empty, LoadState::Touring].into_iter().find(|state| load_state_word(*state) == word)
}

/// Greatest utilisation and its member or deck: checks stand worst first.
pub fn worst(findings: &Findings) -> (Option<f64>, String) {
    let worst = findings.checks.first();
    (worst.map(|check| check.utilisation), worst.map(|check| check.tag.clone()).unwrap_or_default())
}

/// The findings of a stored body.
///
/// # Errors
/// [`AppError::Internal`] for a body that this release cannot read.
pub fn read(body: &[u8]) -> AppResult<Findings> {
    serde_json::from_slice(body).map_err(|error| AppError::internal(format!("stored findings: {error}")))
}

/// A verdict's word in the database.
pub fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "holds",
        Verdict::Near => "near",
        Verdict::NotChecked => "not_checked",
        Verdict::FallsShort => "falls_short",
    }
}

/// The verdict of a word in the database.
pub fn verdict_of_word(word: &str) -> Option<Verdict> {
    let all = [Verdict::Holds, Verdict::Near, Verdict::NotChecked, Verdict::FallsShort];
    all.into_iter().find(|verdict| verdict_word(*verdict) == word)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(state: LoadState, loads_kg: [f64; 2], left_kg: [Option<f64>; 2]) -> AxleLine {
        AxleLine {
            state,
            front_kg: loads_kg[0],
            rear_kg: loads_kg[1],
            right_minus_left_kg: None,
            front_left_kg: left_kg[0],
            rear_left_kg: left_kg[1],
            payload_left_kg: None,
        }
    }

    /// The vehicle of `server/designfile/tests/whole.toml`: limits of 1850 and 2400 kg, invented.
    #[test]
    fn the_load_state_that_leaves_least_on_an_axle_governs() {
        use LoadState::{Empty, Touring};
        let governs = |lines: Vec<AxleLine>| governing(&lines);
        assert_eq!(governs(Vec::new()), None);
        // Gear behind the rear axle lightens the front one: without it the front axle has less left.
        let front = line(Empty, [1840.1, 1200.0], [Some(9.9), Some(1200.0)]);
        let rear = line(Touring, [1800.0, 1600.0], [Some(50.0), Some(800.0)]);
        let found = governs(vec![front.clone(), rear.clone()]);
        let wanted = Axles {
            state: Empty,
            front_kg: 1840.1,
            rear_kg: 1200.0,
            front_limit_kg: Some(1850.0),
            rear_limit_kg: Some(2400.0),
        };
        assert_eq!(found, Some(wanted));
        assert_eq!(governs(vec![rear, front]), Some(wanted), "whatever the order");
        // One limit is enough to decide; without any, the most aboard does.
        let lines = |left: Option<f64>| {
            vec![line(Empty, [1300.0, 1100.0], [left, None]), line(Touring, [1290.0, 1300.0], [None; 2])]
        };
        assert_eq!(
            governs(lines(Some(550.0))).map(|axles| (axles.state, axles.front_limit_kg)),
            Some((Empty, Some(1850.0)))
        );
        assert_eq!(governs(lines(None)).map(|axles| (axles.state, axles.front_limit_kg)), Some((Touring, None)));
        for state in [Empty, Touring] {
            assert_eq!(load_state_of_word(load_state_word(state)), Some(state));
        }
    }
}
