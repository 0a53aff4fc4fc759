//! Hanging a notice and taking it down.

use super::{MOST_HANGING, NoticeState, NoticeView, free_code, unknown};
use crate::app::access::find;
use crate::app::error::Fault;
use crate::app::names::text_faults;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::{App, AppError, AppResult, NOTE_BYTES};
use crate::auth::{Caller, Right};
use crate::clock::{SECOND, new_id, now_micros};
use crate::store::{WriteTx, designs, events, groups, notices};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use uuid::Uuid;

/// Longest words for a vehicle or a kind of frame, bytes.
const WORDS_BYTES: usize = 60;
/// Longest skill, bytes, and most of them.
const SKILL: (usize, usize) = (40, 5);
/// Reviewers that may have a notice when nothing is said, and at most.
const TAKERS: (i64, i64) = (3, 20);
/// A notice hangs at most so long.
const LONGEST: i64 = 366 * 24 * 3600 * SECOND;
/// Notices that are written down as run out in one transaction.
const AT_ONCE: u64 = 50;

/// A notice wanted.
#[derive(Clone, Debug)]
pub struct NewNotice {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Letter of the revision; empty: the latest.
    pub letter: String,
    /// What worries the builder.
    pub worry: String,
    /// The vehicle in words; empty: by its name.
    pub vehicle: String,
    /// The kind of frame in words.
    pub frame_kind: String,
    /// What a reviewer should know about.
    pub skills: Vec<String>,
    /// When it runs out.
    pub ends_at: i64,
    /// How many reviewers may have it at a time; 0: the usual number.
    pub most_takers: i64,
}

#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Kept {
    id: Uuid,
}

/// Words by which notices are found: one space between them, small letters.
pub(super) fn plain(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

impl NewNotice {
    fn faults(&self, now: i64) -> Vec<Fault> {
        let mut faults = text_faults("worry", &self.worry, NOTE_BYTES, true);
        faults.extend(text_faults("vehicle", &self.vehicle, WORDS_BYTES, false));
        faults.extend(text_faults("frame_kind", &self.frame_kind, WORDS_BYTES, true));
        if self.skills.len() > SKILL.1 {
            faults
                .push(Fault::of("skills", format!("{} skills, at most {} are asked for", self.skills.len(), SKILL.1)));
        }
        for (place, skill) in self.skills.iter().take(SKILL.1).enumerate() {
            faults.extend(text_faults(&format!("skills[{place}]"), skill, SKILL.0, true));
        }
        if self.ends_at <= now {
            faults.push(Fault::of("expire_time", "that day is over").mend("a day to come"));
        } else if self.ends_at > now + LONGEST {
            faults.push(Fault::of("expire_time", "a notice hangs for a year at most").mend("an earlier day"));
        }
        if !(0..=TAKERS.1).contains(&self.most_takers) {
            faults.push(Fault::of("most_takers", format!("{} is not between 1 and {}", self.most_takers, TAKERS.1)));
        }
        faults
    }
}

impl App {
    /// Hangs a notice.
    ///
    /// # Errors
    /// Faults of the notice; [`AppError::NotFound`]; [`AppError::WrongState`] where enough of the group hang.
    pub async fn hang_notice(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewNotice,
        request: RequestId,
    ) -> AppResult<NoticeView> {
        let mut faults = new.faults(now_micros());
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_notice(&by, new, &request).await };
        let id = match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<Kept, _>(self.store.read()).await?.ok_or(error)?.id,
            other => other?,
        };
        self.get_notice(caller, &id.to_string()).await
    }

    async fn write_notice(&self, caller: &Caller, new: NewNotice, request: &RequestId) -> AppResult<Uuid> {
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        let place = find(&tx, caller, &new.group, &new.design).await?;
        // Under the group's lock, so that two at one moment cannot both be the fifth.
        groups::lock(&tx, place.group.id).await?;
        if let Some(Kept { id }) = request.find(&tx).await? {
            return Ok(id);
        }
        let ordinal = place.ordinal(&new.letter)?;
        let heading = place.heading(&tx, ordinal).await?;
        if notices::count_hanging(&tx, place.group.id, now).await? >= MOST_HANGING {
            let what = format!("{MOST_HANGING} notices of `{}` hang already: take one down first", place.group.name);
            return Err(AppError::WrongState { what, reason: "ENOUGH_NOTICES" });
        }
        let vehicle = if new.vehicle.trim().is_empty() {
            let names = designs::vehicle_names(&tx, vec![heading.survey_id]).await?;
            names.into_values().next().unwrap_or_default()
        } else {
            new.vehicle
        };
        let notice = notices::Notice {
            id: new_id(),
            code: free_code(&tx).await?,
            group_id: place.group.id,
            design_id: place.design.id,
            ordinal,
            worry: new.worry,
            vehicle: plain(&vehicle),
            frame_kind: plain(&new.frame_kind),
            state: NoticeState::Hanging.word().to_owned(),
            most_takers: if new.most_takers == 0 { TAKERS.0 } else { new.most_takers },
            takers: 0,
            hung_by: caller.account_id,
            hung_at: now,
            ends_at: new.ends_at,
            ended_at: None,
        };
        let id = notice.id;
        let mut skills: Vec<String> = new.skills.iter().map(|skill| plain(skill)).collect();
        skills.sort_unstable();
        skills.dedup();
        notices::insert(&tx, notice.clone(), &skills).await?;
        request.keep(&tx, &Kept { id }).await?;
        append_news(&tx, &notice, "notice", Some(caller.account_id), now).await?;
        self.store.commit(tx).await?;
        Ok(id)
    }

    /// Takes a notice down.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::NotAllowed`]; [`AppError::WrongState`] where it hangs no more.
    pub async fn take_down_notice(self: &Arc<Self>, caller: &Caller, id: String) -> AppResult<NoticeView> {
        let (app, by, asked) = (Arc::clone(self), caller.clone(), id.clone());
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let notice = app.seen_notice(&tx, &by, &asked, now).await?.notice;
            let notice = notices::for_update(&tx, notice.id).await?.ok_or_else(|| unknown(&asked))?;
            let right = app.right_in(&tx, notice.group_id, &by).await?;
            let his = notice.hung_by == by.account_id && right >= Some(Right::Builder);
            if !his && right != Some(Right::Keeper) {
                let what = "a notice is taken down by who hung it, or by a keeper of its group".to_owned();
                return Err(AppError::NotAllowed { what });
            }
            refuse_unless_hanging(&notice, now)?;
            notices::end(&tx, notice.id, NoticeState::TakenDown.word(), now).await?;
            append_news(&tx, &notice, "notice_ended", Some(by.account_id), now).await?;
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await?;
        self.get_notice(caller, &id).await
    }

    /// Writes down which notices have run out; gives how many.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn end_notices_run_out(&self) -> AppResult<usize> {
        let now = now_micros();
        let mut ended = 0;
        for notice in notices::run_out(self.store.read(), now, AT_ONCE).await? {
            let tx = self.store.write_tx().await?;
            let Some(notice) = notices::for_update(&tx, notice.id).await? else { continue };
            if notice.state != notices::HANGING {
                continue;
            }
            notices::end(&tx, notice.id, NoticeState::RunOut.word(), now).await?;
            append_news(&tx, &notice, "notice_ended", None, now).await?;
            self.store.commit(tx).await?;
            ended += 1;
        }
        Ok(ended)
    }
}

pub(super) fn refuse_unless_hanging(notice: &notices::Notice, now: i64) -> AppResult<()> {
    let why = match NoticeState::of(notice, now)? {
        NoticeState::Hanging => return Ok(()),
        NoticeState::RunOut => "its day is over",
        NoticeState::TakenDown => "it was taken down",
    };
    Err(AppError::WrongState { what: format!("this notice hangs no more: {why}"), reason: "NOTICE_STATE" })
}

/// Tells the noticeboard and the group, in the order of their streams' ids.
pub(super) async fn append_news(
    tx: &WriteTx,
    notice: &notices::Notice,
    kind: &'static str,
    actor_id: Option<Uuid>,
    now: i64,
) -> AppResult<()> {
    let news = events::News {
        kind,
        actor_id,
        design_id: Some(notice.design_id),
        ordinal: Some(notice.ordinal),
        subject_id: Some(notice.id),
    };
    events::append(tx, events::NOTICEBOARD, news, now).await?;
    events::append(tx, notice.group_id, news, now).await?;
    Ok(())
}
