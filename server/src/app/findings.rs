//! Findings of stored revisions, and trial checks of frames that are not kept.

use super::access::Access;
use super::designs::{CheckState, find, key_of, state_of};
use super::runner::{Failure, Job};
use super::submit::Sent;
use super::{App, AppError, AppResult, engine};
use crate::auth::Caller;
use crate::store::{self, Connection, checks, revisions};
use battenboard_engine::Ask;
use battenboard_engine::findings::Findings;
use std::sync::Arc;
use std::time::Duration;

/// Where a check stands, with its findings once they are there.
#[derive(Clone, Debug)]
pub struct Standing {
    /// Where it stands.
    pub state: CheckState,
    /// Checks that have their turn before it.
    pub ahead: i64,
    /// Its findings.
    pub findings: Option<Findings>,
    /// True where they are kept from the caller.
    pub withheld: bool,
}

impl Standing {
    /// What of it somebody with this access sees.
    #[must_use]
    pub fn seen_by(mut self, access: &Access) -> Self {
        self.withheld = access.withheld;
        if access.withheld {
            self.findings = None;
        }
        if let Some(findings) = &mut self.findings {
            access.cut_weights(&mut findings.weight);
        }
        self
    }
}

/// Where the check of a revision stands.
///
/// # Errors
/// Those of the store.
pub async fn standing<C: Connection>(conn: &C, heading: &revisions::Heading) -> AppResult<Standing> {
    let key = key_of(heading);
    // The check is read first: if it ends between the two reads, its findings are there for the second.
    let check = checks::by_key(conn, &key).await?;
    if let Some(body) = store::findings::body(conn, &key).await? {
        return Ok(Standing {
            state: CheckState::Done,
            ahead: 0,
            findings: Some(engine::read(&body)?),
            withheld: false,
        });
    }
    let Some(check) = check else {
        return Ok(Standing { state: CheckState::Failed, ahead: 0, findings: None, withheld: false });
    };
    let state = state_of(&check.state);
    let ahead = if state == CheckState::Waiting { checks::count_ahead(conn, &check).await? } else { 0 };
    Ok(Standing { state, ahead, findings: None, withheld: false })
}

/// What a failed trial check is to its caller.
pub fn refusal(failure: &Failure) -> AppError {
    match failure {
        Failure::Stopped => AppError::ShuttingDown,
        Failure::TooLong => AppError::TooLong,
        Failure::TooLarge(message) => AppError::invalid("frame", message.clone()),
        Failure::Unreadable(cause) | Failure::Crashed(cause) => AppError::internal(cause),
    }
}

impl App {
    /// Ordinal and standing of a revision's check; without a letter, of the latest.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_findings(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        letter: &str,
    ) -> AppResult<(i64, Standing)> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let heading = place.heading(conn, place.ordinal(letter)?).await?;
        Ok((heading.ordinal, standing(conn, &heading).await?.seen_by(&place.access)))
    }

    /// Checks a frame without keeping it. Stops when the caller has gone.
    ///
    /// # Errors
    /// Faults of the frame; a full queue; too long.
    pub async fn try_frame(self: &Arc<Self>, caller: &Caller, sent: Sent, ask: Ask) -> AppResult<Findings> {
        let prepared = self.prepare(sent, None).await?;
        self.refuse_withheld(caller, &prepared.content.id).await?;
        let job = Job {
            account: caller.account_id,
            key: None,
            frame: prepared.frame,
            ask,
            longest: Duration::from_secs(self.limits.trial_check_s),
        };
        let mut ticket = self.checks.submit(job)?;
        let outcome = ticket.outcome().await;
        match outcome.as_ref() {
            Ok(findings) => Ok(findings.clone()),
            Err(failure) => Err(refusal(failure)),
        }
    }

    /// A trial check of what one makes sums of one's own on would tell what is kept from one.
    async fn refuse_withheld(&self, caller: &Caller, content_id: &[u8]) -> AppResult<()> {
        let conn = self.store.read();
        let designs = store::reviews::designs_with_own_sums(conn, caller.account_id).await?;
        if designs.is_empty() || !revisions::any_of_content(conn, designs, content_id).await? {
            return Ok(());
        }
        let what = "you make sums of your own on this frame: end them before you ask for the server's".to_owned();
        Err(AppError::WrongState { what, reason: "OWN_SUMS" })
    }
}
