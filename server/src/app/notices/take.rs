//! Taking a notice up, handing it back, ending it.

use super::board::TakeUpEnd;
use super::hang::{append_news, refuse_unless_hanging};
use super::{MOST_TAKEN, NoticeView, unknown};
use crate::app::access;
use crate::app::names::text_faults;
use crate::app::{App, AppError, AppResult, NOTE_BYTES};
use crate::auth::{Caller, Right};
use crate::clock::{new_id, now_micros};
use crate::store::{self, WriteTx, notices, revisions, take_ups};
use std::sync::Arc;

fn refused(what: impl Into<String>, reason: &'static str) -> AppError {
    AppError::WrongState { what: what.into(), reason }
}

impl App {
    /// Takes a notice up. Who has it already keeps it.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::WrongState`].
    pub async fn take_up_notice(self: &Arc<Self>, caller: &Caller, id: String) -> AppResult<NoticeView> {
        let (app, by, asked) = (Arc::clone(self), caller.clone(), id.clone());
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let notice = app.seen_notice(&tx, &by, &asked, now).await?.notice;
            // Under the account's lock before the notice's, so that one account cannot take up an eleventh of two at once.
            store::accounts::lock(&tx, by.account_id).await?;
            let notice = notices::for_update(&tx, notice.id).await?.ok_or_else(|| unknown(&asked))?;
            if take_ups::open_on_notice(&tx, notice.id, by.account_id).await?.is_some() {
                return Ok(());
            }
            refuse_taking(&tx, &notice, &by, now).await?;
            let take_up = take_ups::TakeUp {
                id: new_id(),
                notice_id: notice.id,
                design_id: notice.design_id,
                account_id: by.account_id,
                from_ordinal: notice.ordinal,
                taken_at: now,
                ended_at: None,
                ended_how: None,
                reason: String::new(),
            };
            take_ups::insert(&tx, take_up).await?;
            notices::add_takers(&tx, notice.id, 1).await?;
            append_news(&tx, &notice, "taken_up", Some(by.account_id), now).await?;
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await?;
        self.get_notice(caller, &id).await
    }

    /// Hands a notice back; gives it as the caller sees it afterwards, if he does.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::WrongState`] where he has not taken it up.
    pub async fn hand_back_notice(self: &Arc<Self>, caller: &Caller, id: String) -> AppResult<Option<NoticeView>> {
        let (app, by, asked) = (Arc::clone(self), caller.clone(), id.clone());
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let notice = app.seen_notice(&tx, &by, &asked, now).await?.notice;
            let notice = notices::for_update(&tx, notice.id).await?.ok_or_else(|| unknown(&asked))?;
            let Some(taken) = take_ups::open_on_notice(&tx, notice.id, by.account_id).await? else {
                return Err(refused("you have not taken this notice up", "NOT_TAKEN_UP"));
            };
            end(&tx, &notice, &taken, TakeUpEnd::HandedBack, "", now).await?;
            append_news(&tx, &notice, "handed_back", Some(by.account_id), now).await?;
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await?;
        match self.get_notice(caller, &id).await {
            Ok(view) => Ok(Some(view)),
            Err(AppError::NotFound { .. }) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// Ends somebody's taking up.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::NotAllowed`] but for keepers; [`AppError::WrongState`].
    pub async fn end_take_up(
        self: &Arc<Self>,
        caller: &Caller,
        id: String,
        account: String,
        reason: String,
    ) -> AppResult<NoticeView> {
        let mut faults = text_faults("reason", &reason, NOTE_BYTES, true);
        faults.extend(text_faults("account", &account, NOTE_BYTES, true));
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (app, by, asked) = (Arc::clone(self), caller.clone(), id.clone());
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let notice = app.seen_notice(&tx, &by, &asked, now).await?.notice;
            if app.right_in(&tx, notice.group_id, &by).await? != Some(Right::Keeper) {
                let what = "only a keeper of its group ends somebody's taking up of a notice".to_owned();
                return Err(AppError::NotAllowed { what });
            }
            let notice = notices::for_update(&tx, notice.id).await?.ok_or_else(|| unknown(&asked))?;
            let shown = || account.chars().take(40).collect::<String>();
            let found = store::accounts::by_name(&tx, &account).await?;
            let (taker, _) = found.ok_or_else(|| AppError::not_found("account", shown()))?;
            let Some(taken) = take_ups::open_on_notice(&tx, notice.id, taker.id).await? else {
                return Err(refused(format!("`{}` has not taken this notice up", shown()), "NOT_TAKEN_UP"));
            };
            end(&tx, &notice, &taken, TakeUpEnd::ByKeeper, &reason, now).await?;
            append_news(&tx, &notice, "take_up_ended", Some(by.account_id), now).await?;
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await?;
        self.get_notice(caller, &id).await
    }
}

async fn refuse_taking(tx: &WriteTx, notice: &notices::Notice, by: &Caller, now: i64) -> AppResult<()> {
    refuse_unless_hanging(notice, now)?;
    if revisions::any_by(tx, notice.design_id, by.account_id).await? {
        return Err(refused("you have submitted to this design: a second opinion is another's", "OWN_DESIGN"));
    }
    if notice.takers >= notice.most_takers {
        let what = format!("{} have it already, as many as it asks for", notice.takers);
        return Err(refused(what, "ENOUGH_TAKERS"));
    }
    if take_ups::open_of_account(tx, by.account_id, MOST_TAKEN).await?.len() as u64 >= MOST_TAKEN {
        let what = format!("you have {MOST_TAKEN} notices taken up: hand one back first");
        return Err(refused(what, "ENOUGH_TAKEN_UP"));
    }
    // Asked last and only of those who are strangers here: one of the crew needs the right to remark.
    match access::crew_of(tx, notice.group_id, by).await? {
        Some(right) if right < Right::Reviewer => {
            Err(AppError::NotAllowed { what: format!("as {} of its group you may not do this", right.word()) })
        }
        _ => Ok(()),
    }
}

async fn end(
    tx: &WriteTx,
    notice: &notices::Notice,
    taken: &take_ups::TakeUp,
    how: TakeUpEnd,
    reason: &str,
    now: i64,
) -> AppResult<()> {
    take_ups::end(tx, taken.id, how.word(), reason, now).await?;
    notices::add_takers(tx, notice.id, -1).await?;
    Ok(())
}
