//! Issuing a revision for cutting, and taking the stamp back.

use super::obstacles::{Accepted, Known, Obstacle, obstacles};
use super::stamps::{StampView, view};
use super::{check_of_word, findings_now};
use crate::app::access::{Place, find};
use crate::app::names::text_faults;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::reviews::{self as opinions, Disposition};
use crate::app::tags::PlaceKind;
use crate::app::{App, AppError, AppResult, NOTE_BYTES, content};
use crate::auth::{Caller, Right};
use crate::clock::{new_id, now_micros};
use crate::store::{self, Connection, cutting, designs, events, remarks, reviews, revisions};
use battenboard_engine::design::Design;
use battenboard_engine::findings::Findings;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use uuid::Uuid;

/// Concessions, dispositions and snags that are looked through.
const MOST: u64 = 5000;

/// A stamp wanted.
#[derive(Clone, Debug)]
pub struct NewIssue {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Letter of the revision.
    pub letter: String,
    /// Why, though something stands in the way; empty: nothing should.
    pub override_reason: String,
}

#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Kept {
    id: Uuid,
}

impl App {
    /// Issues a revision for cutting.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::NotAllowed`]; [`AppError::InTheWay`].
    pub async fn issue_for_cutting(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewIssue,
        request: RequestId,
    ) -> AppResult<StampView> {
        let mut faults = text_faults("override_reason", &new.override_reason, NOTE_BYTES, false);
        faults.extend(text_faults("letter", &new.letter, NOTE_BYTES, true));
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (group, design) = (new.group.clone(), new.design.clone());
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_stamp(&by, new, &request).await };
        let id = match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<Kept, _>(self.store.read()).await?.ok_or(error)?.id,
            other => other?,
        };
        let place = find(self.store.read(), caller, &group, &design).await?;
        self.stamp_view(id, place.access.withheld).await
    }

    async fn write_stamp(&self, caller: &Caller, new: NewIssue, request: &RequestId) -> AppResult<Uuid> {
        // Bodies are read before the transaction; whatever may change is asked for again within it.
        let conn = self.store.read();
        let place = find(conn, caller, &new.group, &new.design).await?;
        let revision = place.revision(conn, place.ordinal(&new.letter)?).await?;
        let found = findings_now(conn, &(&revision).into()).await?;

        let now = now_micros();
        let tx = self.store.write_tx().await?;
        if let Some(Kept { id }) = request.find(&tx).await? {
            return Ok(id);
        }
        let place = find(&tx, caller, &new.group, &new.design).await?;
        let keeper = place.access.right == Right::Keeper;
        if !keeper && !place.has_submitted(&tx, caller.account_id).await? {
            let what = format!("`{}` is not yours: who submitted to it, or a keeper, issues it", place.design.name);
            return Err(AppError::NotAllowed { what });
        }
        // Under the design's lock: no snag comes between the look and the stamp.
        designs::for_update(&tx, place.design.id).await?;
        let in_the_way = in_the_way(&tx, &place, &revision, found.as_ref().map(|(findings, _)| findings)).await?;
        refuse(&in_the_way, &new.override_reason, keeper)?;
        let overridden: Vec<String> = in_the_way.iter().map(|obstacle| obstacle.said.clone()).collect();
        let stamp = cutting::Stamp {
            id: new_id(),
            design_id: place.design.id,
            revision_id: revision.id,
            ordinal: revision.ordinal,
            account_id: caller.account_id,
            override_reason: if overridden.is_empty() { String::new() } else { new.override_reason },
            overridden: overridden.join("\n"),
            engine_fingerprint: found.map(|(_, fingerprint)| fingerprint).unwrap_or_default(),
            issued_at: now,
            taken_back_at: None,
            taken_back_by: None,
            taken_back_reason: String::new(),
        };
        let id = stamp.id;
        cutting::insert_stamp(&tx, stamp).await?;
        request.keep(&tx, &Kept { id }).await?;
        append_news(&tx, &place, "issued", caller, revision.ordinal, id, now).await?;
        self.store.commit(tx).await?;
        Ok(id)
    }

    async fn stamp_view(&self, id: Uuid, withheld: bool) -> AppResult<StampView> {
        let conn = self.store.read();
        let gone = || AppError::not_found("stamp", "");
        let row = cutting::stamp(conn, id).await?.ok_or_else(gone)?;
        let heading = revisions::heading(conn, row.design_id, row.ordinal).await?.ok_or_else(gone)?;
        let newest = cutting::stamps(conn, row.design_id, None, MOST).await?;
        let standing = newest.iter().find(|row| row.taken_back_at.is_none()).map(|row| row.id);
        let view = view(conn, row, standing, &heading).await?;
        Ok(if withheld { view.without_figures() } else { view })
    }

    /// Takes the stamp of a revision back.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::NotAllowed`]; [`AppError::WrongState`] where there is none.
    pub async fn take_back_stamp(
        self: &Arc<Self>,
        caller: &Caller,
        group: String,
        design: String,
        letter: String,
        reason: String,
    ) -> AppResult<StampView> {
        let mut faults = text_faults("reason", &reason, NOTE_BYTES, true);
        faults.extend(text_faults("letter", &letter, NOTE_BYTES, true));
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (app, by) = (Arc::clone(self), caller.clone());
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let place = find(&tx, &by, &group, &design).await?;
            let ordinal = place.ordinal(&letter)?;
            designs::for_update(&tx, place.design.id).await?;
            let rows = cutting::stamps(&tx, place.design.id, None, MOST).await?;
            let standing = rows.into_iter().find(|row| row.ordinal == ordinal && row.taken_back_at.is_none());
            let Some(row) = standing else {
                let what = format!("revision {} is not issued for cutting", letter.to_uppercase());
                return Err(AppError::WrongState { what, reason: "NOT_ISSUED" });
            };
            if row.account_id != by.account_id && place.access.right != Right::Keeper {
                let what = "a stamp is taken back by who issued the revision, or by a keeper".to_owned();
                return Err(AppError::NotAllowed { what });
            }
            cutting::take_back(&tx, row.id, by.account_id, &reason, now).await?;
            append_news(&tx, &place, "stamp_taken_back", &by, ordinal, row.id, now).await?;
            app.store.commit(tx).await?;
            Ok((row.id, place.access.withheld))
        };
        let (id, withheld) = self.finish(work).await?;
        self.stamp_view(id, withheld).await
    }
}

/// What stands in the way of cutting this revision.
async fn in_the_way<C: Connection>(
    conn: &C,
    place: &Place,
    revision: &revisions::Revision,
    findings: Option<&Findings>,
) -> AppResult<Vec<Obstacle>> {
    let (design_id, ordinal) = (place.design.id, revision.ordinal);
    let concessions = cutting::concessions(conn, design_id, ordinal, None, MOST).await?;
    let accepted = concessions.into_iter().filter_map(|row| {
        let kind = check_of_word(&row.check_kind)?;
        Some(Accepted { tag: row.tag, kind, utilisation: row.utilisation })
    });
    let snags = remarks::uncleared_snags(conn, design_id, ordinal, MOST).await?;
    let on = |remark: &remarks::Remark| match PlaceKind::of_word(&remark.place_kind) {
        Some(PlaceKind::Whole) | None => "the whole".to_owned(),
        Some(_) => remark.place_tag.clone(),
    };
    let rows = reviews::dispositions(conn, design_id, vec![ordinal], MOST).await?;
    let latest = opinions::latest(&rows);
    let names = store::accounts::names(conn, latest.iter().map(|row| row.account_id)).await?;
    let dispositions = latest.into_iter().filter_map(|row| {
        let account = names.get(&row.account_id).cloned().unwrap_or_default();
        Some((account, row.tag.clone(), Disposition::of_word(&row.kind)?))
    });
    let design = content::read(revision.body_format, &revision.body)?;
    let known = Known {
        findings,
        accepted: accepted.collect(),
        to_be_measured: to_be_measured(&design),
        snags: snags.iter().map(|remark| (remark.number, on(remark))).collect(),
        dispositions: dispositions.collect(),
        without_figures: place.access.withheld,
    };
    Ok(obstacles(&known))
}

fn to_be_measured(design: &Design) -> Vec<(String, String)> {
    design.to_be_measured.iter().map(|item| (item.tag.clone(), item.what.clone())).collect()
}

fn refuse(in_the_way: &[Obstacle], reason: &str, keeper: bool) -> AppResult<()> {
    let stands = in_the_way.iter().any(|obstacle| !obstacle.kind.can_be_overridden());
    if in_the_way.is_empty() || (!stands && keeper && !reason.trim().is_empty()) {
        return Ok(());
    }
    if !stands && !keeper && !reason.trim().is_empty() {
        let what = "only a keeper issues a revision for cutting over what stands in the way".to_owned();
        return Err(AppError::NotAllowed { what });
    }
    Err(AppError::InTheWay { what: "this revision cannot be issued for cutting", obstacles: in_the_way.to_vec() })
}

async fn append_news(
    tx: &store::WriteTx,
    place: &Place,
    kind: &'static str,
    by: &Caller,
    ordinal: i64,
    subject: Uuid,
    now: i64,
) -> AppResult<()> {
    let news = events::News {
        kind,
        actor_id: Some(by.account_id),
        design_id: Some(place.design.id),
        ordinal: Some(ordinal),
        subject_id: Some(subject),
    };
    events::append(tx, place.group.id, news, now).await?;
    Ok(())
}
