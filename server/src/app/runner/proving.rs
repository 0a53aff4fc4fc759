//! Proof loads of stored revisions: all that wait for one revision are run at once, under a lease that a heartbeat keeps
//! alive, and are taken up again by whoever is there when the lease of a killed server has run out.

use super::stored::{AGAIN, HEARTBEAT, LOOK, MOST_ATTEMPTS};
use super::{Failure, ProofTicket};
use crate::app::error::{AppError, AppResult};
use crate::app::proofs::{follow_up, moved_to, outcome_word, place_on, read_load};
use crate::app::{App, content, engine};
use crate::clock::now_micros;
use crate::store::{designs, events, proofs, remarks, revisions};
use battenboard_engine::design::Frame;
use battenboard_engine::proof::{ProofLoad, ProofResult, Reason};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use uuid::Uuid;

/// Results of one revision that are run together.
struct Batch {
    revision_id: Uuid,
    /// By remark.
    rows: Vec<proofs::ProofResult>,
    /// Results that are known without the engine: what the remark was placed on is gone.
    known: BTreeMap<Uuid, ProofResult>,
    /// Rows that the engine is asked for, in its order.
    asked: Vec<Uuid>,
}

impl Batch {
    fn ids(&self) -> Vec<Uuid> {
        self.rows.iter().map(|row| row.id).collect()
    }

    /// The result of each row.
    fn results(mut self, outcome: &Result<Vec<ProofResult>, Failure>) -> Vec<(proofs::ProofResult, ProofResult)> {
        let failed = |failure: &Failure| match failure {
            Failure::TooLong => Reason::TooLong,
            Failure::TooLarge(_) => Reason::TooLarge,
            Failure::Stopped | Failure::Unreadable(_) | Failure::Crashed(_) => Reason::NotComputed,
        };
        match outcome {
            Ok(found) => self.known.extend(self.asked.iter().copied().zip(found.iter().cloned())),
            Err(failure) => {
                let result = ProofResult::cannot(failed(failure), None);
                self.known.extend(self.asked.iter().map(|id| (*id, result.clone())));
            }
        }
        let known = &mut self.known;
        let result = |row: proofs::ProofResult| {
            let result = known.remove(&row.id).unwrap_or_else(|| ProofResult::cannot(Reason::NotComputed, None));
            (row, result)
        };
        self.rows.into_iter().map(result).collect()
    }
}

impl App {
    /// Puts back at start what a server that was killed left running, and takes over what an older engine left waiting.
    /// Only where no other server can be at work.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn put_back_left_proofs(&self, alone: bool) -> AppResult<()> {
        if !alone || !proofs::any_unfinished(self.store.read()).await? {
            return Ok(());
        }
        let tx = self.store.write_tx().await?;
        let count = proofs::release_all(&tx, engine::fingerprint()).await?;
        self.store.commit(tx).await?;
        tracing::info!(count, "proof loads that were left running are taken up again");
        Ok(())
    }

    /// Runs proof loads until the server stops.
    pub async fn run_stored_proofs(self: Arc<Self>) {
        let mut changed = self.checks_changed.subscribe();
        let mut last_served = Uuid::nil();
        let places = Arc::new(Semaphore::new(self.checks.limits().places + 1));
        loop {
            match self.take_up_proofs(&mut last_served, &places).await {
                Ok(true) => continue,
                Ok(false) => {}
                Err(error) => tracing::warn!(%error, "proof loads cannot be looked at; trying again"),
            }
            tokio::select! {
                () = self.stopping.cancelled() => return,
                () = tokio::time::sleep(LOOK) => {}
                _ = changed.changed() => {}
            }
        }
    }

    /// Takes up the proof loads of one revision if there are any and a place for them; true if there may be more.
    async fn take_up_proofs(self: &Arc<Self>, last_served: &mut Uuid, places: &Arc<Semaphore>) -> AppResult<bool> {
        let Ok(place) = Arc::clone(places).try_acquire_owned() else { return Ok(false) };
        if self.stopping.is_cancelled() {
            return Ok(false);
        }
        let waiting = proofs::accounts_waiting(self.store.read(), now_micros(), engine::fingerprint()).await?;
        let after = waiting.iter().copied().find(|account| *account > *last_served);
        let Some(account) = after.or_else(|| waiting.first().copied()) else { return Ok(false) };
        *last_served = account;
        let app = Arc::clone(self);
        let rows = self.finish(async move { app.claim_proofs(account).await }).await?;
        let Some(first) = rows.first() else { return Ok(true) };
        let revision_id = first.revision_id;
        let worn = rows.iter().any(|row| row.attempts > MOST_ATTEMPTS);
        let asked = rows.iter().map(|row| row.id).collect();
        let mut batch = Batch { revision_id, rows, known: BTreeMap::new(), asked };
        if worn {
            let failure = Failure::Crashed("taken up again and again and never ended".to_owned());
            self.end_proofs(batch, &Err(failure)).await?;
            return Ok(true);
        }
        let ids = batch.ids();
        match self.proofs_of(account, &mut batch).await {
            Ok(None) => self.end_proofs(batch, &Ok(Vec::new())).await?,
            Ok(Some(ticket)) => self.follow_proofs(batch, ticket, place),
            Err(AppError::TooMany { .. }) => {
                self.let_go_of_proofs(&ids).await?;
                return Ok(false);
            }
            // The database, not the design: the lease runs out and somebody tries again.
            Err(AppError::Store(error)) => return Err(error.into()),
            Err(AppError::Invalid { .. }) => {
                self.end_proofs(batch, &Err(Failure::TooLarge("the frame is too large".into()))).await?;
            }
            Err(error) => self.end_proofs(batch, &Err(Failure::Unreadable(error.to_string()))).await?,
        }
        Ok(true)
    }

    async fn claim_proofs(&self, account: Uuid) -> AppResult<Vec<proofs::ProofResult>> {
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        let (holder, until) = (self.server_id, self.lease_end(now));
        let lease = proofs::Lease { holder, now, until, fingerprint: engine::fingerprint() };
        let rows = proofs::claim(&tx, account, lease).await?;
        self.store.commit(tx).await?;
        Ok(rows)
    }

    /// Puts a batch in the engine's queue, each load where its remark stands on this revision; `None` where nothing is
    /// left to be asked.
    async fn proofs_of(&self, account: Uuid, batch: &mut Batch) -> AppResult<Option<ProofTicket>> {
        let conn = self.store.read();
        let gone = |what: &str| AppError::internal(format!("the {what} of a proof load is gone"));
        let revision = revisions::by_id(conn, batch.revision_id).await?.ok_or_else(|| gone("revision"))?;
        let (mut loads, mut asked): (Vec<ProofLoad>, Vec<Uuid>) = (Vec::new(), Vec::new());
        for row in &batch.rows {
            let remark = remarks::by_id(conn, row.remark_id).await?.ok_or_else(|| gone("remark"))?;
            let load = proofs::load_of(conn, row.remark_id).await?.ok_or_else(|| gone("load"))?;
            let load = read_load(&load.body)?;
            match place_on(conn, &remark, row.ordinal).await? {
                Some(spot) => {
                    loads.push(moved_to(load, spot));
                    asked.push(row.id);
                }
                None => {
                    let reason = Reason::TargetGone { tag: load.target.tag().to_owned() };
                    batch.known.insert(row.id, ProofResult::cannot(reason, None));
                }
            }
        }
        batch.asked = asked;
        if loads.is_empty() {
            return Ok(None);
        }
        let work = move || {
            let design = content::read(revision.body_format, &revision.body)?;
            Frame::new(&design).map_err(|_| AppError::internal("a stored design is not sound any more"))
        };
        let frame = tokio::task::spawn_blocking(work).await.map_err(AppError::internal)??;
        let longest = Duration::from_secs(self.limits.check_s);
        Ok(Some(self.checks.prove(account, frame, loads, longest)?))
    }

    /// Follows proof loads that run here to their end, as a task of its own that shutdown waits for.
    fn follow_proofs(self: &Arc<Self>, batch: Batch, mut ticket: ProofTicket, place: OwnedSemaphorePermit) {
        let app = Arc::clone(self);
        self.tasks.spawn(async move {
            let ids = batch.ids();
            let outcome = loop {
                tokio::select! {
                    outcome = ticket.outcome() => break outcome,
                    () = tokio::time::sleep(HEARTBEAT) => app.beat_proofs(&ids).await,
                }
            };
            app.write_end_of_proofs(batch, &ids, outcome.as_ref()).await;
            drop(place);
            app.tell_checks_changed();
        });
    }

    async fn write_end_of_proofs(
        self: &Arc<Self>,
        batch: Batch,
        ids: &[Uuid],
        outcome: &Result<Vec<ProofResult>, Failure>,
    ) {
        let results = batch.revision_id;
        let ended = if matches!(outcome, Err(Failure::Stopped)) { None } else { Some(batch.results(outcome)) };
        loop {
            let done = match &ended {
                None => self.let_go_of_proofs(ids).await,
                Some(ended) => self.keep_proofs(results, ended.clone()).await,
            };
            match done {
                Ok(()) => return,
                Err(error) if self.stopping.is_cancelled() => {
                    // Nothing is lost: the lease runs out, and they are run again.
                    tracing::warn!(%error, "the end of proof loads was not written");
                    return;
                }
                Err(error) => {
                    tracing::warn!(%error, "the end of proof loads cannot be written; trying again");
                    tokio::time::sleep(AGAIN).await;
                }
            }
        }
    }

    /// Gives a sign of life. A lease that was lost is no harm: both compute the same.
    async fn beat_proofs(&self, ids: &[Uuid]) {
        let beat = async {
            let tx = self.store.write_tx().await?;
            let kept = proofs::heartbeat(&tx, ids, self.server_id, self.lease_end(now_micros())).await?;
            self.store.commit(tx).await?;
            AppResult::Ok(kept)
        };
        match beat.await {
            Ok(true) => {}
            Ok(false) => tracing::info!("another server has taken up these proof loads"),
            Err(error) => tracing::warn!(%error, "no sign of life could be written"),
        }
    }

    async fn end_proofs(self: &Arc<Self>, batch: Batch, outcome: &Result<Vec<ProofResult>, Failure>) -> AppResult<()> {
        if let Err(failure) = outcome {
            tracing::error!(%failure, revision = %batch.revision_id, "proof loads could not be run");
        }
        let revision_id = batch.revision_id;
        self.keep_proofs(revision_id, batch.results(outcome)).await
    }

    /// Writes results, what follows from them for their remarks, and the event, in one transaction.
    async fn keep_proofs(
        self: &Arc<Self>,
        revision_id: Uuid,
        results: Vec<(proofs::ProofResult, ProofResult)>,
    ) -> AppResult<()> {
        let app = Arc::clone(self);
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let mut any = false;
            // In the order of their remarks: two servers that end results lock them alike.
            for (row, result) in results {
                let ended = proofs::Ended {
                    id: row.id,
                    outcome: outcome_word(result.outcome),
                    sag_mm: result.sag.as_ref().map(|sag| sag.at_place_mm),
                    utilisation: result.utilisation(),
                    detail: serde_json::to_vec(&result).map_err(AppError::internal)?,
                };
                if proofs::end(&tx, ended, now).await? {
                    any = true;
                    follow_up(&tx, &row, &result, now).await?;
                }
            }
            if any
                && let Some(revision) = revisions::by_id(&tx, revision_id).await?
                && let Some(design) = designs::by_id(&tx, revision.design_id).await?
            {
                let news = events::News {
                    kind: "proved",
                    actor_id: None,
                    design_id: Some(design.id),
                    ordinal: Some(revision.ordinal),
                    subject_id: Some(revision.id),
                };
                events::append(&tx, design.group_id, news, now).await?;
            }
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await?;
        self.tell_checks_changed();
        Ok(())
    }

    /// Puts results back in the queue.
    async fn let_go_of_proofs(&self, ids: &[Uuid]) -> AppResult<()> {
        let tx = self.store.write_tx().await?;
        proofs::release(&tx, ids, self.server_id).await?;
        Ok(self.store.commit(tx).await?)
    }
}
