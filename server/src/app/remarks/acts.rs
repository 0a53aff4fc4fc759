//! What is done to a remark. Nothing of it is ever rewritten: each act adds an entry.

use super::read::find_remark;
use super::{Reference, RemarkState, RemarkView};
use crate::app::names::text_faults;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::{App, AppError, AppResult, REMARK_BYTES, proofs};
use crate::auth::Caller;
use crate::clock::now_micros;
use crate::store::{self, events, remarks};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use uuid::Uuid;

/// Entries of one remark; more than anybody reads.
pub(in crate::app) const MOST_ENTRIES: i64 = 1000;

/// An act on a remark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Act {
    /// Answers it.
    Answer,
    /// Clears it.
    Clear,
    /// Raises it again.
    RaiseAgain,
    /// Clears it, by the server: a later revision passes its proof load.
    Proved,
    /// Opens it again, by the server: a revision fails the proof load that an earlier one passed.
    FellShortAgain,
}

#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Kept {
    id: Uuid,
}

impl Act {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::Answer => "answer",
            Self::Clear => "clear",
            Self::RaiseAgain => "raise_again",
            Self::Proved => "proved",
            Self::FellShortAgain => "fell_short_again",
        }
    }

    /// The act of a word in the database.
    pub fn of_word(word: &str) -> Option<Self> {
        let all = [Self::Answer, Self::Clear, Self::RaiseAgain, Self::Proved, Self::FellShortAgain];
        all.into_iter().find(|act| act.word() == word)
    }

    /// The state that follows, or why the act makes no sense now.
    pub(in crate::app) fn follows(self, state: RemarkState) -> Result<RemarkState, &'static str> {
        match (self, state) {
            (Self::Answer, RemarkState::Open | RemarkState::Answered) => Ok(RemarkState::Answered),
            (Self::Clear | Self::Proved, RemarkState::Open | RemarkState::Answered) => Ok(RemarkState::Cleared),
            (Self::RaiseAgain, RemarkState::Answered | RemarkState::Cleared) => Ok(RemarkState::Open),
            (Self::FellShortAgain, RemarkState::Cleared) => Ok(RemarkState::Open),
            (Self::Answer, RemarkState::Cleared) => Err("it is cleared: raise it again first"),
            (Self::Clear | Self::Proved, RemarkState::Cleared) => Err("it is cleared already"),
            (Self::RaiseAgain | Self::FellShortAgain, RemarkState::Open) => Err("it is open already"),
            (Self::FellShortAgain, RemarkState::Answered) => Err("it is not cleared"),
        }
    }
}

impl App {
    /// Answers, clears or raises a remark again.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; an empty or too long text; [`AppError::WrongState`]; [`AppError::NotAllowed`] to clear
    /// what another made.
    pub async fn act_on_remark(
        self: &Arc<Self>,
        caller: &Caller,
        reference: Reference,
        act: Act,
        text: String,
        request: RequestId,
    ) -> AppResult<RemarkView> {
        let field = if act == Act::Clear { "note" } else { "text" };
        let mut faults = text_faults(field, &text, REMARK_BYTES, act != Act::Clear);
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_act(&by, &reference, act, text, &request).await };
        let id = match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<Kept, _>(self.store.read()).await?.ok_or(error)?.id,
            other => other?,
        };
        self.get_remark(caller, &Reference::Id(id.to_string())).await
    }

    async fn write_act(
        &self,
        caller: &Caller,
        reference: &Reference,
        act: Act,
        text: String,
        request: &RequestId,
    ) -> AppResult<Uuid> {
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        let (place, remark) = find_remark(&tx, caller, reference).await?;
        if act == Act::RaiseAgain {
            // Before the remark, as everywhere: no revision comes while its proof load is being taken up again.
            proofs::lock(&tx, &place).await?;
        }
        let gone = || AppError::not_found("remark", remark.number.to_string());
        let remark = remarks::for_update(&tx, remark.id).await?.ok_or_else(gone)?;
        // Looked for under the lock: a repeat that waited for it must find the answer and not a changed state.
        if let Some(Kept { id }) = request.find(&tx).await? {
            return Ok(id);
        }
        if act == Act::Clear && remark.author_id != caller.account_id {
            let what = format!("remark {} is cleared by whoever made it: answer it instead", remark.number);
            return Err(AppError::NotAllowed { what });
        }
        let state = RemarkState::of_word(&remark.state)
            .ok_or_else(|| AppError::internal(format!("stored state `{}` is not known", remark.state)))?;
        let refused = |why: &str| AppError::WrongState {
            what: format!("remark {}: {why}", remark.number),
            reason: "REMARK_STATE",
        };
        let follows = act.follows(state).map_err(refused)?;
        if remark.entries >= MOST_ENTRIES {
            return Err(refused("it has as many entries as a remark may have"));
        }
        let entry = remarks::Entry {
            remark_id: remark.id,
            number: remark.entries + 1,
            act: act.word().to_owned(),
            author_id: caller.account_id,
            text,
            ordinal: place.design.latest_ordinal,
            created_at: now,
        };
        remarks::append(&tx, entry, follows.word()).await?;
        let proving = match act {
            Act::Clear => {
                store::proofs::set_live(&tx, remark.id, false).await?;
                false
            }
            Act::RaiseAgain => proofs::raised_again(&tx, &place, &remark, caller.account_id, now).await?,
            Act::Answer | Act::Proved | Act::FellShortAgain => false,
        };
        request.keep(&tx, &Kept { id: remark.id }).await?;
        let news = events::News {
            kind: act.word(),
            actor_id: Some(caller.account_id),
            design_id: Some(place.design.id),
            ordinal: Some(remark.ordinal),
            subject_id: Some(remark.id),
        };
        events::append(&tx, place.group.id, news, now).await?;
        self.store.commit(tx).await?;
        if proving {
            self.tell_checks_changed();
        }
        Ok(remark.id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn acts_lead_from_state_to_state() {
        use RemarkState::{Answered, Cleared, Open};
        let table = [
            (Act::Answer, Open, Some(Answered)),
            (Act::Answer, Answered, Some(Answered)),
            (Act::Answer, Cleared, None),
            (Act::Clear, Open, Some(Cleared)),
            (Act::Clear, Answered, Some(Cleared)),
            (Act::Clear, Cleared, None),
            (Act::RaiseAgain, Open, None),
            (Act::RaiseAgain, Answered, Some(Open)),
            (Act::RaiseAgain, Cleared, Some(Open)),
            (Act::Proved, Open, Some(Cleared)),
            (Act::Proved, Answered, Some(Cleared)),
            (Act::Proved, Cleared, None),
            (Act::FellShortAgain, Open, None),
            (Act::FellShortAgain, Answered, None),
            (Act::FellShortAgain, Cleared, Some(Open)),
        ];
        for (act, before, after) in table {
            assert_eq!(act.follows(before).ok(), after, "{act:?} on {before:?}");
        }
    }
}
