//! Everything the server asks of the engine, in one place.

use super::error::{AppError, AppResult};
use super::runner::Failure;
use crate::store::findings::{Key, Row};
use battenboard_engine::design::Frame;
use battenboard_engine::findings::{Findings, Verdict};
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
    })
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
