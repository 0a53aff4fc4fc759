//! A new engine looks again at every revision that is issued for cutting.

use crate::app::cutting::key_now;
use crate::app::{App, AppResult, engine};
use crate::clock::{new_id, now_micros};
use crate::store::{self, WriteTx, checks, cutting, events, findings, revisions};
use battenboard_engine::findings::Verdict;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Stamps looked at in one transaction.
const AT_ONCE: u64 = 100;

impl App {
    /// Queues a check by this engine for every revision whose stamp stands and that it has not looked at; gives how many.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn recheck_issued(&self) -> AppResult<usize> {
        let (mut after, mut queued) = (None, 0);
        loop {
            let stamps = cutting::standing_stamps(self.store.read(), after, AT_ONCE).await?;
            let Some(last) = stamps.last() else { break };
            after = Some(last.id);
            let now = now_micros();
            let tx = self.store.write_tx().await?;
            let mut seen = BTreeSet::new();
            for stamp in stamps.into_iter().filter(|stamp| stamp.engine_fingerprint != engine::fingerprint()) {
                if seen.insert(stamp.revision_id) && queue(&tx, &stamp, now).await? {
                    queued += 1;
                }
            }
            self.store.commit(tx).await?;
        }
        if queued > 0 {
            tracing::info!(queued, "revisions issued for cutting are checked again by this engine");
            self.tell_checks_changed();
        }
        Ok(queued)
    }
}

async fn queue(tx: &WriteTx, stamp: &cutting::Stamp, now: i64) -> AppResult<bool> {
    let Some(revision) = revisions::by_id(tx, stamp.revision_id).await? else { return Ok(false) };
    let key = key_now(&(&revision).into());
    if findings::body(tx, &key).await?.is_some() || checks::by_key(tx, &key).await?.is_some() {
        return Ok(false);
    }
    let check = checks::Check {
        id: new_id(),
        content_id: key.content_id,
        settings_id: key.settings_id,
        engine_fingerprint: key.engine_fingerprint,
        revision_id: revision.id,
        account_id: stamp.account_id,
        state: checks::QUEUED.to_owned(),
        attempts: 0,
        holder: None,
        leased_until: None,
        heartbeat_at: None,
        failure: None,
        created_at: now,
        ended_at: None,
    };
    checks::insert_if_new(tx, check).await?;
    Ok(true)
}

/// Tells the group where a revision that is issued for cutting falls short by an engine that came after its stamp. Writes to
/// the group's stream: to be called last in its transaction.
pub(in crate::app) async fn tell_falls_short(
    tx: &WriteTx,
    group_id: Uuid,
    revision: &revisions::Revision,
    verdict: Option<Verdict>,
    fingerprint: &str,
    now: i64,
) -> AppResult<()> {
    if verdict != Some(Verdict::FallsShort) {
        return Ok(());
    }
    let stamps = store::cutting::stamps(tx, revision.design_id, None, AT_ONCE).await?;
    let standing = stamps.iter().find(|stamp| stamp.taken_back_at.is_none());
    let Some(stamp) = standing.filter(|stamp| stamp.revision_id == revision.id) else { return Ok(()) };
    if stamp.engine_fingerprint == fingerprint {
        return Ok(());
    }
    let news = events::News {
        kind: "falls_short_now",
        actor_id: None,
        design_id: Some(revision.design_id),
        ordinal: Some(revision.ordinal),
        subject_id: Some(revision.id),
    };
    events::append(tx, group_id, news, now).await?;
    Ok(())
}
