//! From opinion to saw: the stamp "issued for cutting", what stands in its way, concessions, and what was built.

mod as_built;
mod concede;
mod issue;
mod obstacles;
mod recheck;
mod stamps;

pub use as_built::{AsBuiltView, MassOf, MeasuredMass, MeasuredSag, NewAsBuilt};
pub use concede::{ConcessionView, NewConcession};
pub use issue::NewIssue;
pub use obstacles::Obstacle;
pub(super) use recheck::tell_falls_short;
pub use stamps::{StampView, stamps_of};

use super::AppResult;
use super::designs::key_of;
use super::engine;
use crate::store::findings::Key;
use crate::store::{self, Connection, revisions};
use battenboard_engine::findings::{CheckKind, Findings};

/// The key of a revision's findings under this server's engine.
fn key_now(heading: &revisions::Heading) -> Key {
    Key { engine_fingerprint: engine::fingerprint().to_owned(), ..key_of(heading) }
}

/// The findings of a revision with the fingerprint of their engine: this server's engine, if it has looked at it, else the
/// one it was submitted under.
async fn findings_now<C: Connection>(conn: &C, heading: &revisions::Heading) -> AppResult<Option<(Findings, String)>> {
    for key in [key_now(heading), key_of(heading)] {
        if let Some(body) = store::findings::body(conn, &key).await? {
            return Ok(Some((engine::read(&body)?, key.engine_fingerprint)));
        }
    }
    Ok(None)
}

/// A check's word in the database: the same as in the stored findings.
fn check_word(kind: CheckKind) -> String {
    match serde_json::to_value(kind) {
        Ok(serde_json::Value::String(word)) => word,
        _ => format!("{kind:?}"),
    }
}

fn check_of_word(word: &str) -> Option<CheckKind> {
    serde_json::from_value(serde_json::Value::String(word.to_owned())).ok()
}
