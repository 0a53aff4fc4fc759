//! What is done to a remark. Nothing of it is ever rewritten: each act adds an entry.

use super::read::find_remark;
use super::{Reference, RemarkState, RemarkView};
use crate::app::access::Place;
use crate::app::names::text_faults;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::{App, AppError, AppResult, REMARK_BYTES, proofs};
use crate::auth::{Caller, Right};
use crate::clock::now_micros;
use crate::store::{self, WriteTx, events, groups, remarks, take_ups};
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
    /// Sets it aside: a keeper, what came from outside the crew.
    SetAside,
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
            Self::SetAside => "set_aside",
            Self::Proved => "proved",
            Self::FellShortAgain => "fell_short_again",
        }
    }

    /// The act of a word in the database.
    pub fn of_word(word: &str) -> Option<Self> {
        let all = [Self::Answer, Self::Clear, Self::RaiseAgain, Self::SetAside, Self::Proved, Self::FellShortAgain];
        all.into_iter().find(|act| act.word() == word)
    }

    /// The state that follows, or why the act makes no sense now.
    pub(in crate::app) fn follows(self, state: RemarkState) -> Result<RemarkState, &'static str> {
        match (self, state) {
            (Self::Answer, RemarkState::Open | RemarkState::Answered) => Ok(RemarkState::Answered),
            (Self::Clear | Self::Proved, RemarkState::Open | RemarkState::Answered) => Ok(RemarkState::Cleared),
            (Self::RaiseAgain, RemarkState::Answered | RemarkState::Cleared | RemarkState::SetAside) => {
                Ok(RemarkState::Open)
            }
            (Self::FellShortAgain, RemarkState::Cleared) => Ok(RemarkState::Open),
            (Self::SetAside, RemarkState::Open | RemarkState::Answered) => Ok(RemarkState::SetAside),
            (Self::Answer, RemarkState::Cleared) => Err("it is cleared: raise it again first"),
            (Self::Clear | Self::Proved | Self::SetAside, RemarkState::Cleared) => Err("it is cleared already"),
            (Self::Answer | Self::Clear | Self::Proved | Self::FellShortAgain, RemarkState::SetAside) => {
                Err("it is set aside: a keeper raises it again first")
            }
            (Self::SetAside, RemarkState::SetAside) => Err("it is set aside already"),
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
    /// what another made, who has not left, and to set aside what one of the crew made.
    pub async fn act_on_remark(
        self: &Arc<Self>,
        caller: &Caller,
        reference: Reference,
        act: Act,
        text: String,
        request: RequestId,
    ) -> AppResult<RemarkView> {
        let field = match act {
            Act::Clear => "note",
            Act::SetAside => "reason",
            Act::Answer | Act::RaiseAgain | Act::Proved | Act::FellShortAgain => "text",
        };
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
        let state = RemarkState::of_word(&remark.state)
            .ok_or_else(|| AppError::internal(format!("stored state `{}` is not known", remark.state)))?;
        refuse_unless_his(&tx, caller, &place, &remark, act, state).await?;
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
            Act::Clear | Act::SetAside => {
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

/// What an act asks for beyond the right to remark.
async fn refuse_unless_his(
    tx: &WriteTx,
    caller: &Caller,
    place: &Place,
    remark: &remarks::Remark,
    act: Act,
    state: RemarkState,
) -> AppResult<()> {
    let not_allowed = |why: &str| Err(AppError::NotAllowed { what: format!("remark {}: {why}", remark.number) });
    let by_keeper = place.access.is_crew() && place.access.right == Right::Keeper;
    match act {
        Act::Clear if remark.author_id != caller.account_id => {
            // A back-check by another reviewer, where whoever made it cannot have his own look any more.
            if has_left(tx, place, remark).await? && !place.has_submitted(tx, caller.account_id).await? {
                return Ok(());
            }
            not_allowed("it is cleared by whoever made it: answer it instead")
        }
        Act::SetAside if !by_keeper => not_allowed("only a keeper sets it aside"),
        Act::SetAside if remark.take_up_id.is_none() => {
            not_allowed("it was made by one of the crew: answer it instead")
        }
        Act::RaiseAgain if state == RemarkState::SetAside && !by_keeper => {
            not_allowed("a keeper set it aside, and only a keeper raises it again")
        }
        // These are the server's own.
        Act::Proved | Act::FellShortAgain => not_allowed("only its proof load does this"),
        Act::Answer | Act::Clear | Act::RaiseAgain | Act::SetAside => Ok(()),
    }
}

/// True where a remark's author is neither of the crew nor has a notice of the design taken up.
async fn has_left(tx: &WriteTx, place: &Place, remark: &remarks::Remark) -> AppResult<bool> {
    let author = remark.author_id;
    Ok(groups::role(tx, place.group.id, author).await?.is_none()
        && take_ups::open_on_design(tx, place.design.id, author).await?.is_none())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn acts_lead_from_state_to_state() {
        use RemarkState::{Answered, Cleared, Open, SetAside};
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
            (Act::SetAside, Open, Some(SetAside)),
            (Act::SetAside, Answered, Some(SetAside)),
            (Act::SetAside, Cleared, None),
            (Act::SetAside, SetAside, None),
            (Act::Answer, SetAside, None),
            (Act::Clear, SetAside, None),
            (Act::RaiseAgain, SetAside, Some(Open)),
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
