//! Making proof loads, and the rows of the results that are to come.

use super::read_load;
use crate::app::designs::Place;
use crate::app::error::Fault;
use crate::app::{App, AppError, AppResult, engine};
use crate::clock::new_id;
use crate::store::{Connection, designs, proofs, remarks, revisions};
use battenboard_engine::design::{Design, Frame};
use battenboard_engine::proof::{PROOF_LOADS_MAX, ProofLoad, Target};
use std::time::Duration;
use uuid::Uuid;

/// A new proof load is run on its own revision and so many of the newest later ones.
const LATER_MOST: u64 = 50;
/// Results that one account may have waiting.
const WAITING_MOST: i64 = 2_500;

/// A revision that a proof load is to be run on.
#[derive(Clone, Copy)]
struct On<'a> {
    revision_id: Uuid,
    ordinal: i64,
    settings_id: &'a [u8],
}

/// A result that is to come. `account_id`: whose turn in the queue it uses.
fn waiting(remark_id: Uuid, account_id: Uuid, on: On<'_>, now: i64) -> proofs::ProofResult {
    proofs::ProofResult {
        id: new_id(),
        remark_id,
        revision_id: on.revision_id,
        ordinal: on.ordinal,
        engine_fingerprint: engine::fingerprint().to_owned(),
        settings_id: on.settings_id.to_vec(),
        account_id,
        state: proofs::QUEUED.to_owned(),
        outcome: None,
        sag_mm: None,
        utilisation: None,
        detail: None,
        attempts: 0,
        holder: None,
        leased_until: None,
        created_at: now,
        ended_at: None,
    }
}

/// Refuses a deck's point that is not on the deck, before anything is written. Tags and distances are the remark's own.
pub(in crate::app) async fn refuse_no_such_point(design: Design, load: &ProofLoad) -> AppResult<()> {
    let Target::Deck { tag, at_mm, .. } = load.target.clone() else { return Ok(()) };
    let work = move || {
        let frame = Frame::new(&design).map_err(|_| AppError::internal("a stored design is not sound any more"))?;
        let index = design.decks.iter().position(|deck| deck.tag == tag);
        let Some(deck) = index.and_then(|index| frame.decks.get(index)).filter(|deck| !deck.covers(at_mm)) else {
            return Ok(());
        };
        let message = format!("({}, {}) is not on deck `{tag}`", at_mm[0], at_mm[1]);
        let (x, y) = match deck.along {
            0 => (deck.along_mm, deck.across_mm),
            _ => (deck.across_mm, deck.along_mm),
        };
        let mend = format!("it reaches from x {:.0} to {:.0} and from y {:.0} to {:.0}", x[0], x[1], y[0], y[1]);
        Err(AppError::Invalid { faults: vec![Fault::of("proof_load.point", message).mend(mend)] })
    };
    tokio::task::spawn_blocking(work).await.map_err(AppError::internal)?
}

/// Refuses more than a design may have; asked under the design's lock.
async fn refuse_full<C: Connection>(conn: &C, design_id: Uuid) -> AppResult<()> {
    let limit = u64::try_from(PROOF_LOADS_MAX).unwrap_or(u64::MAX);
    if proofs::live(conn, design_id, limit).await?.len() < PROOF_LOADS_MAX {
        return Ok(());
    }
    let what = format!(
        "this design has {PROOF_LOADS_MAX} proof loads, as many as one may have: one of their authors has to clear his \
         remark first"
    );
    Err(AppError::WrongState { what, reason: "PROOF_LOADS_FULL" })
}

/// Refuses an account that has too many results waiting.
pub(in crate::app) async fn refuse_too_many(app: &App, account_id: Uuid) -> AppResult<()> {
    if proofs::count_unfinished(app.store.read(), account_id).await? < WAITING_MOST {
        return Ok(());
    }
    let what = "too many of your proof loads are waiting to be run";
    Err(AppError::TooMany { what, retry_after: Duration::from_secs(10) })
}

/// Writes the proof load of a remark that was just written, with a result to come for its revision and the later ones.
/// The design is locked.
pub(in crate::app) async fn made<C: Connection>(
    conn: &C,
    remark: &remarks::Remark,
    load: &ProofLoad,
    now: i64,
) -> AppResult<()> {
    refuse_full(conn, remark.design_id).await?;
    let row = proofs::ProofLoad {
        remark_id: remark.id,
        design_id: remark.design_id,
        body: serde_json::to_vec(load).map_err(AppError::internal)?,
        live: 1,
        created_at: now,
    };
    proofs::insert_load(conn, row).await?;
    queue_for_remark(conn, remark, remark.author_id, now).await
}

/// Results to come for a remark's own revision and the newest later ones, but for those that are there.
async fn queue_for_remark<C: Connection>(
    conn: &C,
    remark: &remarks::Remark,
    account_id: Uuid,
    now: i64,
) -> AppResult<()> {
    let mut headings = revisions::page(conn, remark.design_id, 1, None, LATER_MOST).await?;
    headings.retain(|heading| heading.ordinal > remark.ordinal);
    headings.extend(revisions::heading(conn, remark.design_id, remark.ordinal).await?);
    headings.sort_by_key(|heading| heading.ordinal);
    let on = |heading: &revisions::Heading| {
        let on = On { revision_id: heading.id, ordinal: heading.ordinal, settings_id: &heading.settings_id };
        waiting(remark.id, account_id, on, now)
    };
    Ok(proofs::insert_if_new(conn, headings.iter().map(on).collect()).await?)
}

/// Results to come of all of a design's proof loads on a revision that was just written, under the design's lock. True
/// where there are any.
pub(in crate::app) async fn queue_for_revision<C: Connection>(
    conn: &C,
    revision: &revisions::Revision,
    now: i64,
) -> AppResult<bool> {
    let limit = u64::try_from(PROOF_LOADS_MAX).unwrap_or(u64::MAX);
    let live = proofs::live(conn, revision.design_id, limit).await?;
    let on = On { revision_id: revision.id, ordinal: revision.ordinal, settings_id: &revision.settings_id };
    let rows: Vec<proofs::ProofResult> =
        live.into_iter().map(|remark_id| waiting(remark_id, revision.author_id, on, now)).collect();
    let any = !rows.is_empty();
    proofs::insert_if_new(conn, rows).await?;
    Ok(any)
}

/// A remark whose author had cleared it is open again: its proof load is run again, on what it has missed as well. The
/// design is locked. True where there is something to be run.
pub(in crate::app) async fn raised_again<C: Connection>(
    conn: &C,
    place: &Place,
    remark: &remarks::Remark,
    account_id: Uuid,
    now: i64,
) -> AppResult<bool> {
    let Some(load) = proofs::load_of(conn, remark.id).await? else { return Ok(false) };
    if load.live == 1 {
        return Ok(false);
    }
    read_load(&load.body)?;
    refuse_full(conn, place.design.id).await?;
    proofs::set_live(conn, remark.id, true).await?;
    queue_for_remark(conn, remark, account_id, now).await?;
    Ok(true)
}

/// Locks a design, so that no revision of it comes while proof loads are written.
pub(in crate::app) async fn lock<C: Connection>(conn: &C, place: &Place) -> AppResult<()> {
    designs::by_name_for_update(conn, place.group.id, &place.design.name).await?;
    Ok(())
}
