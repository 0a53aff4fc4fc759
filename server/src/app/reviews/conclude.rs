//! Concluding on a revision.

use super::{Disposition, ReviewView};
use crate::app::access::find;
use crate::app::error::Fault;
use crate::app::names::{nearest, text_faults};
use crate::app::requests::{RequestId, is_repeat};
use crate::app::{App, AppError, AppResult, NOTE_BYTES, content};
use crate::auth::Caller;
use crate::clock::{new_id, now_micros};
use crate::store::{events, reviews};
use battenboard_engine::design::Design;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Members that one conclusion may name.
const MOST_MEMBERS: usize = 200;

/// Disposition of one member.
#[derive(Clone, Debug)]
pub struct MemberDisposition {
    /// Its tag.
    pub tag: String,
    /// What is concluded of it.
    pub disposition: Disposition,
    /// Why.
    pub note: String,
}

/// A conclusion.
#[derive(Clone, Debug)]
pub struct NewConclusion {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Letter of the revision; empty: the latest.
    pub letter: String,
    /// Of the whole.
    pub disposition: Disposition,
    /// What is to be said of it.
    pub note: String,
    /// Of members, where it differs.
    pub members: Vec<MemberDisposition>,
}

impl NewConclusion {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = text_faults("note", &self.note, NOTE_BYTES, false);
        if self.members.len() > MOST_MEMBERS {
            faults.push(Fault::of("members", format!("{} members, at most {MOST_MEMBERS}", self.members.len())));
        }
        for (at, member) in self.members.iter().take(MOST_MEMBERS).enumerate() {
            faults.extend(text_faults(&format!("members[{at}].note"), &member.note, NOTE_BYTES, false));
        }
        faults
    }

    fn refuse_unknown(&self, design: &Design) -> AppResult<()> {
        let known = || design.members.iter().map(|member| member.tag.as_str());
        let mut seen = BTreeSet::new();
        let mut faults = Vec::new();
        for (at, MemberDisposition { tag, .. }) in self.members.iter().enumerate() {
            let path = format!("members[{at}].tag");
            if !known().any(|member| member == tag) {
                let shown: String = tag.chars().take(40).collect();
                let fault = Fault::of(path, format!("this revision has no member `{shown}`"));
                let near = nearest(tag, known()).map(|near| format!("`{near}`"));
                faults.push(near.map_or(fault.clone(), |near| fault.mend(near)));
            } else if !seen.insert(tag) {
                faults.push(Fault::of(path, format!("`{tag}` stands twice")));
            }
        }
        if faults.is_empty() { Ok(()) } else { Err(AppError::Invalid { faults }) }
    }
}

impl App {
    /// Concludes on a revision.
    ///
    /// # Errors
    /// Faults of the conclusion; [`AppError::NotFound`]; [`AppError::NotAllowed`] on a design one has submitted to.
    pub async fn conclude_review(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewConclusion,
        request: RequestId,
    ) -> AppResult<ReviewView> {
        let mut faults = new.faults();
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (group, design, letter) = (new.group.clone(), new.design.clone(), new.letter.clone());
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_conclusion(&by, new, &request).await };
        match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<(), _>(self.store.read()).await?.ok_or(error)?,
            other => other?,
        }
        self.get_review(caller, &group, &design, &letter).await
    }

    async fn write_conclusion(&self, caller: &Caller, new: NewConclusion, request: &RequestId) -> AppResult<()> {
        let conn = self.store.read();
        let place = find(conn, caller, &new.group, &new.design).await?;
        let ordinal = place.ordinal(&new.letter)?;
        let revision = place.revision(conn, ordinal).await?;
        new.refuse_unknown(&content::read(revision.body_format, &revision.body)?)?;

        let now = now_micros();
        let tx = self.store.write_tx().await?;
        if request.find::<(), _>(&tx).await?.is_some() {
            return Ok(());
        }
        let place = find(&tx, caller, &new.group, &new.design).await?;
        if place.has_submitted(&tx, caller.account_id).await? {
            let what = format!("you have submitted to `{}`: somebody else concludes on it", place.design.name);
            return Err(AppError::NotAllowed { what });
        }
        let conclusion_id = new_id();
        let row = |tag: String, kind: Disposition, note: String| reviews::Disposition {
            id: new_id(),
            conclusion_id,
            design_id: place.design.id,
            ordinal,
            account_id: caller.account_id,
            tag,
            kind: kind.word().to_owned(),
            note,
            take_up_id: place.access.take_up_id(),
            engine_fingerprint: revision.engine_fingerprint.clone(),
            created_at: now,
        };
        let mut rows = vec![row(String::new(), new.disposition, new.note)];
        rows.extend(new.members.into_iter().map(|member| row(member.tag, member.disposition, member.note)));
        reviews::insert_dispositions(&tx, rows).await?;
        request.keep(&tx, &()).await?;
        let news = events::News {
            kind: "concluded",
            actor_id: Some(caller.account_id),
            design_id: Some(place.design.id),
            ordinal: Some(ordinal),
            subject_id: Some(conclusion_id),
        };
        events::append(&tx, place.group.id, news, now).await?;
        Ok(self.store.commit(tx).await?)
    }
}
