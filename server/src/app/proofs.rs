//! Proof loads: made with a remark, run on its revision and every later one, and what follows from their results.

mod acts;
mod write;

pub(in crate::app) use acts::follow_up;
pub(in crate::app) use write::{lock, made, queue_for_revision, raised_again, refuse_no_such_point, refuse_too_many};

use super::access::Access;
use super::designs::find;
use super::remarks::{Spot, standing_of};
use super::tags::PlaceKind;
use super::{App, AppError, AppResult};
use crate::auth::Caller;
use crate::store::{Connection, proofs, remarks, standings};
use battenboard_engine::design::carry::What;
use battenboard_engine::proof::{ProofLoad, ProofOutcome, ProofResult, Target};
use std::time::Duration;
use tokio::time::Instant;
use uuid::Uuid;

/// Results that a remark is shown with.
const SHOWN: u64 = 10;
/// How long the making of a remark waits for its first result.
const WAIT: Duration = Duration::from_secs(2);
/// How often the database is looked at meanwhile, for what other servers did.
const LOOK: Duration = Duration::from_millis(100);

/// How far a result is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProofState {
    /// Waits for its turn.
    Waiting,
    /// Being computed.
    Running,
    /// Done.
    Done,
}

/// One result of a proof load.
#[derive(Clone, Debug, PartialEq)]
pub struct ProofResultView {
    /// Of the revision.
    pub ordinal: i64,
    /// How far it is.
    pub state: ProofState,
    /// What it is, once it is done.
    pub result: Option<ProofResult>,
    /// Hash of the engine's sources it is of.
    pub engine_fingerprint: String,
    /// When it was done.
    pub ended_at: Option<i64>,
}

/// A proof load with its latest results, newest revision last.
#[derive(Clone, Debug, PartialEq)]
pub struct ProofView {
    /// The load.
    pub load: ProofLoad,
    /// The results.
    pub results: Vec<ProofResultView>,
}

impl ProofView {
    /// What of it somebody with this access sees: no result of a revision before his first, and none while the server keeps
    /// its figures from him.
    #[must_use]
    pub fn seen_by(self, access: &Access) -> Self {
        let results = self.results.into_iter().filter(|result| result.ordinal >= access.from);
        Self { load: self.load, results: results.map(|result| result.seen_by(access)).collect() }
    }
}

impl ProofResultView {
    fn seen_by(self, access: &Access) -> Self {
        if access.withheld { Self { result: None, ..self } } else { self }
    }
}

/// The load of a stored body.
pub(in crate::app) fn read_load(body: &[u8]) -> AppResult<ProofLoad> {
    serde_json::from_slice(body).map_err(|error| AppError::internal(format!("stored proof load: {error}")))
}

/// An outcome's word in the database.
pub(in crate::app) fn outcome_word(outcome: ProofOutcome) -> &'static str {
    match outcome {
        ProofOutcome::Passed => "passed",
        ProofOutcome::Failed => "failed",
        ProofOutcome::CannotBeRun => "cannot_be_run",
    }
}

fn view_of(row: proofs::ProofResult) -> AppResult<ProofResultView> {
    let state = match row.state.as_str() {
        proofs::QUEUED => ProofState::Waiting,
        proofs::RUNNING => ProofState::Running,
        proofs::DONE => ProofState::Done,
        other => return Err(AppError::internal(format!("stored state `{other}` of a proof load is not known"))),
    };
    let read = |detail: Vec<u8>| {
        serde_json::from_slice(&detail).map_err(|error| AppError::internal(format!("stored proof result: {error}")))
    };
    Ok(ProofResultView {
        ordinal: row.ordinal,
        state,
        result: row.detail.map(read).transpose()?,
        engine_fingerprint: row.engine_fingerprint,
        ended_at: row.ended_at,
    })
}

/// The proof load of a remark with its latest results, if it carries one.
///
/// # Errors
/// Those of the store; a stored body that this release cannot read.
pub(in crate::app) async fn view<C: Connection>(conn: &C, load: proofs::ProofLoad) -> AppResult<ProofView> {
    let mut rows = proofs::page(conn, load.remark_id, None, SHOWN).await?;
    rows.reverse();
    let results = rows.into_iter().map(view_of).collect::<AppResult<_>>()?;
    Ok(ProofView { load: read_load(&load.body)?, results })
}

/// Where a remark stands on a revision of its design; `None` where what it was placed on is gone.
///
/// # Errors
/// Those of the store; a stored standing that this release cannot read.
pub(in crate::app) async fn place_on<C: Connection>(
    conn: &C,
    remark: &remarks::Remark,
    ordinal: i64,
) -> AppResult<Option<Spot>> {
    let kind = PlaceKind::of_word(&remark.place_kind)
        .ok_or_else(|| AppError::internal(format!("stored place `{}` is not known", remark.place_kind)))?;
    let row = standings::latest(conn, vec![remark.id], ordinal).await?.remove(&remark.id);
    let standing = standing_of(remark, row.as_ref())?;
    // What was moved is loaded at its distance from the marked end, and not at its end where it became too short for that.
    let at_mm = standing.at_mm.filter(|_| !matches!(standing.what, What::Moved { .. }));
    let there = standing.what != What::Gone;
    Ok(there.then_some(Spot { kind, tag: standing.tag, at_mm }))
}

/// The same load on another place: what its remark was carried to.
pub(in crate::app) fn moved_to(mut load: ProofLoad, spot: Spot) -> ProofLoad {
    match &mut load.target {
        Target::Member { tag, at_mm } => {
            *tag = spot.tag;
            *at_mm = spot.at_mm.unwrap_or(*at_mm);
        }
        Target::Deck { tag, .. } => *tag = spot.tag,
    }
    load
}

impl App {
    /// Results of a remark's proof load, newest revision first, with the load and the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_proof_results(
        &self,
        caller: &Caller,
        (group, design, number): (&str, &str, i64),
        size: i32,
        token: &str,
    ) -> AppResult<(ProofLoad, Vec<ProofResultView>, String)> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let gone = || AppError::not_found("remark", number.to_string());
        let remark = remarks::by_number(conn, place.design.id, number).await?;
        let remark = remark.filter(|remark| remark.ordinal >= place.access.from).ok_or_else(gone)?;
        let without = || AppError::not_found("proof load of remark", number.to_string());
        let load = proofs::load_of(conn, remark.id).await?.ok_or_else(without)?;
        let page = self.pages.read(format!("proof results of {}", remark.id), size, token)?;
        let after = page.after.as_deref().map(cursor).transpose()?;
        let mut rows = proofs::page(conn, remark.id, after, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |row| format!("{}:{}", row.ordinal, row.id));
        let views = rows.into_iter().map(|row| Ok(view_of(row)?.seen_by(&place.access)));
        Ok((read_load(&load.body)?, views.collect::<AppResult<_>>()?, next))
    }

    /// Waits a little for the result of a remark's proof load on its own revision.
    ///
    /// # Errors
    /// Those of the store.
    pub(in crate::app) async fn wait_for_proof(&self, remark_id: Uuid, ordinal: i64) -> AppResult<()> {
        let mut changed = self.checks_changed.subscribe();
        let until = Instant::now() + WAIT;
        while Instant::now() < until && proofs::is_coming(self.store.read(), remark_id, ordinal).await? {
            tokio::select! {
                () = self.stopping.cancelled() => return Ok(()),
                () = tokio::time::sleep(LOOK) => {}
                _ = changed.changed() => {}
            }
        }
        Ok(())
    }
}

/// Revision and id after which a page begins. Tokens are ours, so anything else is a mistake of ours.
fn cursor(text: &str) -> AppResult<(i64, Uuid)> {
    let (ordinal, id) = text.split_once(':').ok_or_else(|| AppError::internal("a page token without its parts"))?;
    Ok((ordinal.parse().map_err(AppError::internal)?, Uuid::try_parse(id).map_err(AppError::internal)?))
}
