//! Concessions: a finding accepted as it is, signed, for one revision.

use super::{check_of_word, check_word, findings_now};
use crate::app::access::find;
use crate::app::names::text_faults;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::{App, AppError, AppResult, NOTE_BYTES};
use crate::auth::Caller;
use crate::clock::{new_id, now_micros};
use crate::store::{self, cutting, events};
use battenboard_engine::findings::{CheckKind, Findings};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use uuid::Uuid;

/// A concession wanted.
#[derive(Clone, Debug)]
pub struct NewConcession {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Letter of the revision.
    pub letter: String,
    /// Member or deck.
    pub tag: String,
    /// What of it.
    pub kind: CheckKind,
    /// Why.
    pub reason: String,
}

/// A concession as the crew see it.
#[derive(Clone, Debug, PartialEq)]
pub struct ConcessionView {
    /// The revision.
    pub ordinal: i64,
    /// Member or deck.
    pub tag: String,
    /// What of it.
    pub kind: CheckKind,
    /// The utilisation that was accepted; `None`: kept from the caller.
    pub utilisation: Option<f64>,
    /// Why.
    pub reason: String,
    /// Account name of the keeper.
    pub account: String,
    /// When.
    pub created_at: i64,
    /// True where a later engine finds a greater utilisation.
    pub lapsed: bool,
}

#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Kept {
    id: Uuid,
}

impl App {
    /// Accepts a finding as it is.
    ///
    /// # Errors
    /// [`AppError::NotFound`] also for a finding that is not there; [`AppError::WrongState`] before the check is done.
    pub async fn grant_concession(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewConcession,
        request: RequestId,
    ) -> AppResult<ConcessionView> {
        let mut faults = text_faults("reason", &new.reason, NOTE_BYTES, true);
        faults.extend(text_faults("tag", &new.tag, NOTE_BYTES, true));
        faults.extend(text_faults("letter", &new.letter, NOTE_BYTES, true));
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (group, design) = (new.group.clone(), new.design.clone());
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_concession(&by, new, &request).await };
        let id = match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<Kept, _>(self.store.read()).await?.ok_or(error)?.id,
            other => other?,
        };
        let conn = self.store.read();
        let place = find(conn, caller, &group, &design).await?;
        let row = cutting::concession(conn, id).await?.ok_or_else(|| AppError::not_found("concession", ""))?;
        let heading = place.heading(conn, row.ordinal).await?;
        let found = findings_now(conn, &heading).await?;
        let names = store::accounts::names(conn, [row.account_id]).await?;
        let name = names.get(&row.account_id).cloned().unwrap_or_default();
        view(row, name, found.as_ref().map(|(findings, _)| findings), place.access.withheld)
    }

    async fn write_concession(&self, caller: &Caller, new: NewConcession, request: &RequestId) -> AppResult<Uuid> {
        let conn = self.store.read();
        let place = find(conn, caller, &new.group, &new.design).await?;
        let ordinal = place.ordinal(&new.letter)?;
        let heading = place.heading(conn, ordinal).await?;
        let Some((findings, engine_fingerprint)) = findings_now(conn, &heading).await? else {
            let what = "the check of this revision is not done yet".to_owned();
            return Err(AppError::WrongState { what, reason: "CHECK_NOT_DONE" });
        };
        let Some(utilisation) = greatest(&findings, &new.tag, new.kind) else {
            let shown: String = new.tag.chars().take(40).collect();
            return Err(AppError::not_found("finding of this kind on", shown));
        };
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        if let Some(Kept { id }) = request.find(&tx).await? {
            return Ok(id);
        }
        let place = find(&tx, caller, &new.group, &new.design).await?;
        let row = cutting::Concession {
            id: new_id(),
            design_id: place.design.id,
            ordinal,
            tag: new.tag,
            check_kind: check_word(new.kind),
            utilisation,
            engine_fingerprint,
            reason: new.reason,
            account_id: caller.account_id,
            created_at: now,
        };
        let id = row.id;
        cutting::insert_concession(&tx, row).await?;
        request.keep(&tx, &Kept { id }).await?;
        let news = events::News {
            kind: "concession",
            actor_id: Some(caller.account_id),
            design_id: Some(place.design.id),
            ordinal: Some(ordinal),
            subject_id: Some(id),
        };
        events::append(&tx, place.group.id, news, now).await?;
        self.store.commit(tx).await?;
        Ok(id)
    }

    /// Concessions on a revision, newest first, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_concessions(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        letter: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<ConcessionView>, String)> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let ordinal = place.ordinal(letter)?;
        let page = self.pages.read(format!("concessions of {} on {ordinal}", place.design.id), size, token)?;
        let before = page.after.as_deref().map(|after| Uuid::try_parse(after).map_err(AppError::internal));
        let mut rows = cutting::concessions(conn, place.design.id, ordinal, before.transpose()?, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |row| row.id.to_string());
        let found = findings_now(conn, &place.heading(conn, ordinal).await?).await?;
        let findings = found.as_ref().map(|(findings, _)| findings);
        let names = store::accounts::names(conn, rows.iter().map(|row| row.account_id)).await?;
        let name = |id: Uuid| names.get(&id).cloned().unwrap_or_default();
        let views = rows.into_iter().map(|row| {
            let account = name(row.account_id);
            view(row, account, findings, place.access.withheld)
        });
        Ok((views.collect::<AppResult<_>>()?, next))
    }
}

fn greatest(findings: &Findings, tag: &str, kind: CheckKind) -> Option<f64> {
    let of = findings.checks.iter().filter(|check| check.tag == tag && check.kind == kind);
    of.map(|check| check.utilisation).reduce(f64::max)
}

fn view(
    row: cutting::Concession,
    account: String,
    findings: Option<&Findings>,
    withheld: bool,
) -> AppResult<ConcessionView> {
    let unknown = || AppError::internal(format!("stored check `{}` is not known", row.check_kind));
    let kind = check_of_word(&row.check_kind).ok_or_else(unknown)?;
    let now = findings.and_then(|findings| greatest(findings, &row.tag, kind));
    Ok(ConcessionView {
        ordinal: row.ordinal,
        lapsed: now.is_some_and(|now| now > row.utilisation + 1e-6),
        tag: row.tag,
        kind,
        utilisation: (!withheld).then_some(row.utilisation),
        reason: row.reason,
        account,
        created_at: row.created_at,
    })
}
