//! Checks of stored revisions: taken up from the database under a lease, kept alive by a heartbeat, and taken up again
//! by whoever is there when the lease of a killed server has run out.

use super::{Failure, Job, Ticket};
use crate::app::error::{AppError, AppResult};
use crate::app::{App, content, cutting, engine};
use crate::clock::{SECOND, now_micros};
use crate::store::findings::Key;
use crate::store::{self, checks, designs, events, revisions};
use battenboard_engine::design::Frame;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use uuid::Uuid;

/// How long a check is held without a sign of life.
const LEASE: Duration = Duration::from_secs(12);
/// How often a sign of life is given.
pub(super) const HEARTBEAT: Duration = Duration::from_secs(3);
/// How often the database is asked for checks that other servers left.
pub(super) const LOOK: Duration = Duration::from_secs(1);
/// A check that was taken up so often and never ended takes its server down: it is given up. Far more than kills by other
/// causes come to; before that it rests between attempts, so that a server that it takes down is up most of the time.
pub(super) const MOST_ATTEMPTS: i64 = 20;
/// How often an end that could not be written is tried again.
pub(super) const AGAIN: Duration = Duration::from_millis(500);

/// The key of a check.
fn key_of(check: &checks::Check) -> Key {
    Key {
        content_id: check.content_id.clone(),
        settings_id: check.settings_id.clone(),
        engine_fingerprint: check.engine_fingerprint.clone(),
    }
}

impl App {
    /// When a lease that is taken now ends.
    pub(in crate::app) fn lease_end(&self, now: i64) -> i64 {
        now + i64::try_from(LEASE.as_secs()).unwrap_or_default() * SECOND
    }

    /// Puts back at start what a server that was killed left running. Only where no other server can be at work: else
    /// a check is taken up when its lease has run out.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn put_back_left_checks(&self, alone: bool) -> AppResult<()> {
        if !alone || !checks::any_running(self.store.read()).await? {
            return Ok(());
        }
        let tx = self.store.write_tx().await?;
        let count = checks::release_all(&tx).await?;
        self.store.commit(tx).await?;
        tracing::info!(count, "checks that were left running are taken up again");
        Ok(())
    }

    /// Takes up checks until the server stops.
    pub async fn run_stored_checks(self: Arc<Self>) {
        let mut changed = self.checks_changed.subscribe();
        let mut last_served = Uuid::nil();
        // One more than can run, so that none stands idle between two; the rest is left to other servers.
        let places = Arc::new(Semaphore::new(self.checks.limits().places + 1));
        loop {
            match self.take_up(&mut last_served, &places).await {
                Ok(true) => continue,
                Ok(false) => {}
                Err(error) => tracing::warn!(%error, "stored checks cannot be looked at; trying again"),
            }
            tokio::select! {
                () = self.stopping.cancelled() => return,
                _ = tokio::time::sleep(LOOK) => {}
                _ = changed.changed() => {}
            }
        }
    }

    /// Takes up one check if there is one and a place for it; true if there may be more.
    async fn take_up(self: &Arc<Self>, last_served: &mut Uuid, places: &Arc<Semaphore>) -> AppResult<bool> {
        let Ok(place) = Arc::clone(places).try_acquire_owned() else { return Ok(false) };
        if self.stopping.is_cancelled() {
            return Ok(false);
        }
        let waiting = checks::accounts_waiting(self.store.read(), now_micros(), engine::fingerprint()).await?;
        let after = waiting.iter().copied().find(|account| *account > *last_served);
        let Some(account) = after.or_else(|| waiting.first().copied()) else { return Ok(false) };
        *last_served = account;
        let app = Arc::clone(self);
        let claimed = self.finish(async move { app.claim(account).await }).await?;
        let Some(check) = claimed else { return Ok(true) };
        if check.attempts > MOST_ATTEMPTS {
            let failure = Failure::Crashed(format!("taken up {} times and never ended", check.attempts - 1));
            self.end_check(&check, Err(&failure)).await?;
            return Ok(true);
        }
        match self.job_of(&check).await.and_then(|job| self.checks.submit(job)) {
            Ok(ticket) => self.follow(check, ticket, Some(place)),
            Err(AppError::TooMany { .. }) => {
                self.let_go(&check).await?;
                return Ok(false);
            }
            // The database, not the design: the lease runs out and somebody tries again.
            Err(AppError::Store(error)) => return Err(error.into()),
            Err(error) => self.end_check(&check, Err(&Failure::Unreadable(error.to_string()))).await?,
        }
        Ok(true)
    }

    async fn claim(&self, account: Uuid) -> AppResult<Option<checks::Check>> {
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        let until = self.lease_end(now);
        let check = checks::claim(&tx, account, self.server_id, now, until, engine::fingerprint()).await?;
        self.store.commit(tx).await?;
        Ok(check)
    }

    /// The job of a stored check: its body, read and validated again.
    async fn job_of(&self, check: &checks::Check) -> AppResult<Job> {
        let found = revisions::by_id(self.store.read(), check.revision_id).await?;
        let revision = found.ok_or_else(|| AppError::internal("its revision is gone"))?;
        let work = move || {
            let design = content::read(revision.body_format, &revision.body)?;
            Frame::new(&design)
                .map_err(|faults| AppError::Invalid { faults: faults.into_iter().map(Into::into).collect() })
        };
        let frame = tokio::task::spawn_blocking(work).await.map_err(AppError::internal)??;
        Ok(Job {
            account: check.account_id,
            key: Some(key_of(check)),
            frame,
            ask: engine::ASK_STORED,
            longest: Duration::from_secs(self.limits.check_s),
        })
    }

    /// Follows a check that runs here to its end, as a task of its own that shutdown waits for.
    pub(in crate::app) fn follow(
        self: &Arc<Self>,
        check: checks::Check,
        ticket: Ticket,
        place: Option<OwnedSemaphorePermit>,
    ) {
        let app = Arc::clone(self);
        self.tell_checks_changed();
        self.tasks.spawn(async move {
            Arc::clone(&app).follow_to_end(check, ticket).await;
            drop(place);
            app.tell_checks_changed();
        });
    }

    async fn follow_to_end(self: Arc<Self>, check: checks::Check, mut ticket: Ticket) {
        let outcome = loop {
            tokio::select! {
                outcome = ticket.outcome() => break outcome,
                () = tokio::time::sleep(HEARTBEAT) => self.beat(&check).await,
            }
        };
        loop {
            let ended = match outcome.as_ref() {
                Err(Failure::Stopped) => self.let_go(&check).await,
                other => self.end_check(&check, other.as_ref()).await,
            };
            match ended {
                Ok(()) => break,
                Err(error) if self.stopping.is_cancelled() => {
                    // Nothing is lost: the lease runs out, and the check is made again.
                    tracing::warn!(%error, check = %check.id, "the end of a check was not written");
                    break;
                }
                Err(error) => {
                    tracing::warn!(%error, check = %check.id, "the end of a check cannot be written; trying again");
                    tokio::time::sleep(AGAIN).await;
                }
            }
        }
    }

    /// Gives a sign of life. A lease that was lost is no harm: both compute the same.
    async fn beat(&self, check: &checks::Check) {
        let now = now_micros();
        let beat = async {
            let tx = self.store.write_tx().await?;
            let kept = checks::heartbeat(&tx, check.id, self.server_id, now, self.lease_end(now)).await?;
            self.store.commit(tx).await?;
            AppResult::Ok(kept)
        };
        match beat.await {
            Ok(true) => {}
            Ok(false) => tracing::info!(check = %check.id, "another server has taken up this check"),
            Err(error) => tracing::warn!(%error, check = %check.id, "no sign of life could be written"),
        }
    }

    /// Writes how a check ended, with its findings and its event, in one transaction.
    async fn end_check(
        self: &Arc<Self>,
        check: &checks::Check,
        outcome: Result<&battenboard_engine::findings::Findings, &Failure>,
    ) -> AppResult<()> {
        let key = key_of(check);
        let now = now_micros();
        let (row, failure) = match outcome {
            Ok(found) => (Some(engine::row(&key, found, now)?), None),
            Err(failure) => (None, Some(failure.to_string())),
        };
        if let Some(failure) = &failure {
            tracing::error!(%failure, check = %check.id, revision = %check.revision_id, "a check has failed");
        }
        let (app, revision_id) = (Arc::clone(self), check.revision_id);
        let verdict = outcome.ok().map(|found| found.verdict);
        let work = async move {
            let tx = app.store.write_tx().await?;
            let state = if row.is_some() { checks::DONE } else { checks::FAILED };
            if let Some(row) = row {
                store::findings::insert_if_new(&tx, row).await?;
            }
            checks::end(&tx, &key, state, failure.as_deref(), now).await?;
            if let Some(revision) = revisions::by_id(&tx, revision_id).await?
                && let Some(design) = designs::by_id(&tx, revision.design_id).await?
            {
                let news = events::News {
                    kind: "checked",
                    actor_id: None,
                    design_id: Some(design.id),
                    ordinal: Some(revision.ordinal),
                    subject_id: Some(revision.id),
                };
                events::append(&tx, design.group_id, news, now).await?;
                let fingerprint = &key.engine_fingerprint;
                cutting::tell_falls_short(&tx, design.group_id, &revision, verdict, fingerprint, now).await?;
            }
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await?;
        self.tell_checks_changed();
        Ok(())
    }

    /// Puts a check back in the queue.
    async fn let_go(&self, check: &checks::Check) -> AppResult<()> {
        let tx = self.store.write_tx().await?;
        checks::release(&tx, check.id, self.server_id).await?;
        Ok(self.store.commit(tx).await?)
    }
}
