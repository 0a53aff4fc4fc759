//! Giving a letter and keeping the revision, with its findings if they came in time.

use super::{Prepared, Submission, Submitted};
use crate::app::access::{self, Visibility};
use crate::app::designs::{CheckState, RevisionView, SummaryView, key_of, view_of};
use crate::app::drawn_after::{self, Source};
use crate::app::letters::{letter, ordinal};
use crate::app::names::text_faults;
use crate::app::remarks::Ahead;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::runner::{Failure, Job, Outcome, Ticket};
use crate::app::vehicles as app_vehicles;
use crate::app::{App, AppError, AppResult, NOTE_BYTES, content, engine, findings, groups, proofs};
use crate::auth::Caller;
use crate::clock::{new_id, now_micros};
use crate::store::findings::Key;
use crate::store::{self, WriteTx, checks, designs, events, revisions, vehicles};
use battenboard_engine::findings::Findings;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use std::time::Duration;
use uuid::Uuid;

/// What is kept of an answer.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Kept {
    design_id: Uuid,
    ordinal: i64,
    unchanged: bool,
}

/// What is known of the findings when the transaction begins.
enum Known {
    /// Under this key they are stored already.
    Stored,
    /// They were just computed.
    Found(Outcome),
    /// They are on their way.
    Coming,
}

/// A revision that was just kept.
struct Fresh {
    /// True where the server's figures are kept from its author.
    withheld: bool,
    group: String,
    design: String,
    heading: revisions::Heading,
    survey: Option<vehicles::Standing>,
}

/// Everything the transaction needs.
struct Draft {
    caller: Caller,
    group: String,
    design: String,
    note: String,
    worked_from: String,
    drawn_after: Option<Source>,
    prepared: Prepared,
    key: Key,
    known: Known,
    request: RequestId,
}

impl App {
    /// Keeps a new revision and has it checked. Once it has come in it is finished, even if its caller goes away.
    ///
    /// # Errors
    /// Faults of the frame; [`AppError::NotLatest`]; rights; a full queue.
    pub async fn submit_revision(
        self: &Arc<Self>,
        caller: &Caller,
        submission: Submission,
        request: RequestId,
    ) -> AppResult<Submitted> {
        let mut faults = text_faults("note", &submission.note, NOTE_BYTES, false);
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let place = Arc::clone(&self.submits).try_acquire_owned().map_err(|_| AppError::TooMany {
            what: "too many submits are in progress",
            retry_after: Duration::from_secs(1),
        })?;
        let (app, caller) = (Arc::clone(self), caller.clone());
        let work = async move {
            // Held by the task and not by the call: a submit whose caller has gone still counts.
            let _place = place;
            app.submit(&caller, submission, request).await
        };
        self.finish(work).await
    }

    async fn submit(
        self: &Arc<Self>,
        caller: &Caller,
        submission: Submission,
        request: RequestId,
    ) -> AppResult<Submitted> {
        let Submission { group, design, sent, note, worked_from, drawn_after } = submission;
        // Cheap refusals first: rights, a repeat, a letter that is not the latest.
        let group_row = match groups::enter(self.store.read(), caller, &group).await {
            Ok((row, _)) => row,
            Err(hidden @ AppError::NotFound { .. }) => {
                return Err(access::refusal_of_others(self.store.read(), caller, &group, &design, hidden).await);
            }
            Err(error) => return Err(error),
        };
        if let Some(kept) = request.find::<Kept, _>(self.store.read()).await? {
            return self.submitted(caller, kept).await;
        }
        let drawn_after = match &drawn_after {
            Some(wanted) => Some(drawn_after::named(self.store.read(), caller, wanted).await?),
            None => None,
        };
        let prepared = self.prepare(sent, Some(design.clone())).await?;
        self.refuse_stale(group_row.id, &design, &worked_from, drawn_after, &prepared).await?;
        let key = engine::key(&prepared.content.id);
        let (known, ticket) = self.findings_in_time(caller, &key, &prepared).await?;
        let caller = caller.clone();
        let draft = Draft { caller, group, design, note, worked_from, drawn_after, prepared, key, known, request };
        // Most of it before the lock, which others wait for.
        let ahead = self.carry_ahead(group_row.id, &draft.design, draft.prepared.frame.design()).await?;
        let (kept, fresh) = match self.keep(&draft, ticket, ahead).await {
            Err(error) if is_repeat(&error) => (draft.request.find(self.store.read()).await?.ok_or(error)?, None),
            other => other?,
        };
        match fresh.and_then(|fresh| fresh_answer(&draft, fresh)) {
            Some(answer) => Ok(answer),
            None => self.submitted(&draft.caller, kept).await,
        }
    }

    /// Refuses early what the transaction would refuse, before the engine is asked.
    async fn refuse_stale(
        &self,
        group_id: Uuid,
        name: &str,
        worked_from: &str,
        drawn_after: Option<Source>,
        prepared: &Prepared,
    ) -> AppResult<()> {
        let conn = self.store.read();
        let Some(design) = designs::by_name(conn, group_id, name).await? else {
            return refuse_other_than_latest(conn, None, worked_from).await;
        };
        let latest = revisions::heading(conn, design.id, design.latest_ordinal).await?;
        if latest.as_ref().is_none_or(|latest| latest.content_id != prepared.content.id) {
            refuse_other_than_latest(conn, latest.as_ref(), worked_from).await?;
        }
        drawn_after::refuse_late(&design, drawn_after)
    }

    /// Findings that are stored, or computed within the time a submit waits; else the ticket of the check.
    async fn findings_in_time(
        &self,
        caller: &Caller,
        key: &Key,
        prepared: &Prepared,
    ) -> AppResult<(Known, Option<Ticket>)> {
        if store::findings::body(self.store.read(), key).await?.is_some() {
            return Ok((Known::Stored, None));
        }
        proofs::refuse_too_many(self, caller.account_id).await?;
        let unfinished = checks::count_unfinished(self.store.read(), caller.account_id).await?;
        if unfinished >= i64::try_from(self.limits.checks_stored_of_account).unwrap_or(i64::MAX) {
            let what = "too many of your checks are waiting";
            return Err(AppError::TooMany { what, retry_after: Duration::from_secs(5) });
        }
        let job = Job {
            account: caller.account_id,
            key: Some(key.clone()),
            frame: prepared.frame.clone(),
            ask: engine::ASK_STORED,
            longest: Duration::from_secs(self.limits.check_s),
        };
        let mut ticket = match self.checks.submit(job) {
            Ok(ticket) => ticket,
            // A full queue here is no reason to refuse a revision: its check waits in the database.
            Err(AppError::TooMany { .. }) => return Ok((Known::Coming, None)),
            Err(error) => return Err(error),
        };
        let wait = Duration::from_millis(self.limits.submit_wait_ms);
        let Ok(outcome) = tokio::time::timeout(wait, ticket.outcome()).await else {
            // What runs is followed to its end; what still waits had better wait in the database.
            let runs = !ticket.withdraw();
            return Ok((Known::Coming, runs.then_some(ticket)));
        };
        match outcome.as_ref() {
            Err(failure @ Failure::TooLarge(_)) => Err(findings::refusal(failure)),
            _ => Ok((Known::Found(outcome), None)),
        }
    }

    /// The transaction. The check that is still on its way is followed to its end afterwards.
    async fn keep(
        self: &Arc<Self>,
        draft: &Draft,
        ticket: Option<Ticket>,
        ahead: Option<Ahead>,
    ) -> AppResult<(Kept, Option<Fresh>)> {
        let tx = self.store.write_tx().await?;
        let (group, _) = groups::enter(&tx, &draft.caller, &draft.group).await?;
        if let Some(kept) = draft.request.find::<Kept, _>(&tx).await? {
            return Ok((kept, None));
        }
        let now = now_micros();
        let design = lock_design(&tx, draft, group.id, now).await?;
        let latest = revisions::heading(&tx, design.id, design.latest_ordinal).await?;
        if let Some(latest) = latest.as_ref().filter(|latest| latest.content_id == draft.prepared.content.id) {
            drawn_after::refuse_late(&design, draft.drawn_after)?;
            let kept = Kept { design_id: design.id, ordinal: latest.ordinal, unchanged: true };
            // Whoever submits a frame again whose check has failed asks for it again.
            let asked = draft.key == key_of(latest);
            let check =
                if asked { self.write_outcome(&tx, draft, latest.id, ticket.is_some(), now).await? } else { None };
            draft.request.keep(&tx, &kept).await?;
            self.store.commit(tx).await?;
            self.see_to(check, ticket);
            return Ok((kept, None));
        }
        refuse_other_than_latest(&tx, latest.as_ref(), &draft.worked_from).await?;
        drawn_after::refuse_late(&design, draft.drawn_after)?;
        let (revision, survey) = write_revision(&tx, draft, &design, now).await?;
        self.carry_within(&tx, &design, ahead, revision.ordinal, draft.prepared.frame.design()).await?;
        let check = self.write_outcome(&tx, draft, revision.id, ticket.is_some(), now).await?;
        let proving = proofs::queue_for_revision(&tx, &revision, now).await?;
        let kept = Kept { design_id: design.id, ordinal: revision.ordinal, unchanged: false };
        let standings = vehicles::standings(&tx, revision.vehicle_survey_id.into_iter().collect()).await?;
        let withheld = store::reviews::open_own_sums(&tx, design.id, draft.caller.account_id).await?.is_some();
        draft.request.keep(&tx, &kept).await?;
        let news = events::News {
            kind: "revision",
            actor_id: Some(draft.caller.account_id),
            design_id: Some(design.id),
            ordinal: Some(revision.ordinal),
            subject_id: Some(revision.id),
        };
        // All of the group's stream, so that nobody else's lock comes between them.
        if let Some(survey) = survey {
            events::append(&tx, group.id, app_vehicles::news(&survey), now).await?;
        }
        events::append(&tx, group.id, news, now).await?;
        self.store.commit(tx).await?;
        if check.is_none() && proving {
            self.tell_checks_changed();
        }
        self.see_to(check, ticket);
        let (heading, survey) = ((&revision).into(), standings.into_values().next());
        Ok((kept, Some(Fresh { withheld, group: group.name, design: design.name, heading, survey })))
    }

    /// Follows a check that runs here to its end; one that waits is told to whoever takes checks up.
    fn see_to(self: &Arc<Self>, check: Option<checks::Check>, ticket: Option<Ticket>) {
        match (check, ticket) {
            (Some(check), Some(ticket)) => self.follow(check, ticket, None),
            (Some(_), None) => self.tell_checks_changed(),
            (None, _) => {}
        }
    }

    /// Writes findings, or a check that is still to come; gives the check. One that failed before is asked for again.
    async fn write_outcome(
        &self,
        tx: &WriteTx,
        draft: &Draft,
        revision_id: Uuid,
        held_here: bool,
        now: i64,
    ) -> AppResult<Option<checks::Check>> {
        let (state, failure) = match &draft.known {
            Known::Stored => return Ok(None),
            Known::Found(outcome) => match outcome.as_ref() {
                Ok(found) => {
                    store::findings::insert_if_new(tx, engine::row(&draft.key, found, now)?).await?;
                    // Another revision of the same content may be waiting for these.
                    checks::end(tx, &draft.key, checks::DONE, None, now).await?;
                    return Ok(None);
                }
                // Stopped before its time: it is taken up from the database.
                Err(Failure::Stopped) => (checks::QUEUED, None),
                Err(failure) => (checks::FAILED, Some(failure.to_string())),
            },
            Known::Coming if held_here => (checks::RUNNING, None),
            Known::Coming => (checks::QUEUED, None),
        };
        let running = state == checks::RUNNING;
        let check = checks::Check {
            id: new_id(),
            content_id: draft.key.content_id.clone(),
            settings_id: draft.key.settings_id.clone(),
            engine_fingerprint: draft.key.engine_fingerprint.clone(),
            revision_id,
            account_id: draft.caller.account_id,
            state: state.to_owned(),
            attempts: i64::from(running),
            holder: running.then_some(self.server_id),
            leased_until: running.then(|| self.lease_end(now)),
            heartbeat_at: running.then_some(now),
            failure,
            created_at: now,
            ended_at: (state == checks::FAILED).then_some(now),
        };
        checks::forget_failed(tx, &draft.key).await?;
        checks::insert_if_new(tx, check).await?;
        Ok(checks::by_key(tx, &draft.key).await?)
    }

    /// The answer, from what is stored now.
    async fn submitted(&self, caller: &Caller, kept: Kept) -> AppResult<Submitted> {
        let conn = self.store.read();
        let gone = || AppError::not_found("design", "");
        let place = access::enter(conn, caller, kept.design_id, kept.ordinal).await?.ok_or_else(gone)?;
        let heading = place.heading(conn, kept.ordinal).await?;
        let standing = findings::standing(conn, &heading).await?.seen_by(&place.access);
        let revision = view_of(conn, &place, heading).await?;
        let (findings, check_state): (Option<Findings>, CheckState) = (standing.findings, standing.state);
        Ok(Submitted { revision, unchanged: kept.unchanged, findings, check_state })
    }
}

/// The answer to a revision that was just kept with its findings: nothing need be read again.
fn fresh_answer(draft: &Draft, fresh: Fresh) -> Option<Submitted> {
    let Known::Found(outcome) = &draft.known else { return None };
    let found = outcome.as_ref().as_ref().ok()?;
    let Fresh { withheld: false, group, design, heading, survey } = fresh else { return None };
    let revision = RevisionView {
        group,
        design,
        ordinal: heading.ordinal,
        author: draft.caller.account.clone(),
        note: heading.note,
        worked_from: heading.worked_from,
        content_id: heading.content_id,
        created_at: heading.created_at,
        check_state: CheckState::Done,
        summary: Some(SummaryView::of(found)),
        withheld: false,
        stamp: None,
        survey,
    };
    Some(Submitted { revision, unchanged: false, findings: Some(found.clone()), check_state: CheckState::Done })
}

/// The design's row, made if it is new, locked: letters are taken one at a time.
async fn lock_design(tx: &WriteTx, draft: &Draft, group_id: Uuid, now: i64) -> AppResult<designs::Design> {
    let new = designs::Design {
        id: new_id(),
        group_id,
        name: draft.design.clone(),
        title: draft.prepared.frame.design().title.clone(),
        latest_ordinal: 0,
        latest_remark: 0,
        created_by: draft.caller.account_id,
        created_at: now,
        visibility: Visibility::Group.word().to_owned(),
        drawn_after_id: draft.drawn_after.map(|source| source.design_id),
        drawn_after_ordinal: draft.drawn_after.map(|source| source.ordinal),
    };
    if let Some(design) = designs::by_name_for_update(tx, group_id, &draft.design).await? {
        return Ok(design);
    }
    designs::insert_if_new(tx, new).await?;
    let found = designs::by_name_for_update(tx, group_id, &draft.design).await?;
    found.ok_or_else(|| AppError::internal("a design went away within a transaction"))
}

/// Takes the next letter and writes the revision under it; gives the survey that was recorded with it, if one was.
async fn write_revision(
    tx: &WriteTx,
    draft: &Draft,
    design: &designs::Design,
    now: i64,
) -> AppResult<(revisions::Revision, Option<vehicles::Survey>)> {
    let Prepared { frame, content, text } = &draft.prepared;
    let stated = frame.design();
    let survey = i64::from(stated.vehicle.survey);
    let survey_id = designs::survey(tx, design.group_id, &stated.vehicle.name, survey, now).await?;
    revisions::put_settings(tx, &draft.key.settings_id, engine::SETTINGS, now).await?;
    let ordinal_taken = designs::take_ordinal(tx, design.id, &stated.title).await?;
    let (by, came_with) = (draft.caller.account_id, (design.id, ordinal_taken));
    let drawn_on = app_vehicles::draw_on(tx, design.group_id, &stated.vehicle, by, came_with, now).await?;
    let revision = revisions::Revision {
        id: new_id(),
        design_id: design.id,
        ordinal: ordinal_taken,
        body_format: content::FORMAT,
        body: content.body.clone(),
        text_as_written: (!text.is_empty()).then(|| text.clone().into_bytes()),
        content_id: content.id.clone(),
        author_id: draft.caller.account_id,
        note: draft.note.clone(),
        worked_from: ordinal(&draft.worked_from),
        survey_id,
        settings_id: draft.key.settings_id.clone(),
        engine_fingerprint: draft.key.engine_fingerprint.clone(),
        created_at: now,
        vehicle_survey_id: drawn_on.as_ref().map(|(survey, _)| survey.id),
    };
    revisions::insert(tx, revision.clone()).await?;
    Ok((revision, drawn_on.filter(|(_, new)| *new).map(|(survey, _)| survey)))
}

/// Refuses a revision that was not worked from the latest.
async fn refuse_other_than_latest<C: store::Connection>(
    conn: &C,
    latest: Option<&revisions::Heading>,
    worked_from: &str,
) -> AppResult<()> {
    let shown: String = worked_from.chars().take(8).collect();
    let Some(latest) = latest else {
        if worked_from.is_empty() {
            return Ok(());
        }
        let message = format!("there is no revision `{shown}` yet: this would be the first of its design");
        return Err(AppError::invalid("worked_from", message));
    };
    if ordinal(worked_from) == Some(latest.ordinal) {
        return Ok(());
    }
    let mut names = store::accounts::names(conn, [latest.author_id]).await?;
    let author = names.remove(&latest.author_id).unwrap_or_default();
    Err(AppError::NotLatest { latest_letter: letter(latest.ordinal), author, worked_from: shown })
}
