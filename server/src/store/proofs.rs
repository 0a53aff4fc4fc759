//! Proof loads and the row of their results. What waits is taken under a lease, a revision at a time; a lease that runs
//! out (its server was killed) is taken up by another.

use super::entity::{proof_loads, proof_results};
use super::{Connection, StoreResult};
use sea_orm::sea_query::{Expr, ExprTrait, LockBehavior, LockType, OnConflict};
use sea_orm::{ColumnTrait, Condition, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use uuid::Uuid;

pub use proof_loads::Model as ProofLoad;
pub use proof_results::Model as ProofResult;

/// Waits for its turn.
pub const QUEUED: &str = "queued";
/// Being computed under a lease.
pub const RUNNING: &str = "running";
/// There is an outcome.
pub const DONE: &str = "done";

/// Writes the proof load of a new remark.
pub async fn insert_load<C: Connection>(conn: &C, load: ProofLoad) -> StoreResult<()> {
    proof_loads::Entity::insert(proof_loads::ActiveModel::from(load)).exec_without_returning(conn).await?;
    Ok(())
}

/// The proof load of a remark.
pub async fn load_of<C: Connection>(conn: &C, remark_id: Uuid) -> StoreResult<Option<ProofLoad>> {
    Ok(proof_loads::Entity::find_by_id(remark_id).one(conn).await?)
}

/// The proof loads of these remarks; in no order.
pub async fn loads_of<C: Connection>(conn: &C, remark_ids: Vec<Uuid>) -> StoreResult<Vec<ProofLoad>> {
    if remark_ids.is_empty() {
        return Ok(Vec::new());
    }
    Ok(proof_loads::Entity::find().filter(proof_loads::Column::RemarkId.is_in(remark_ids)).all(conn).await?)
}

/// Remarks of a design whose proof loads are run on later revisions, in the order of their making; at most `limit`.
pub async fn live<C: Connection>(conn: &C, design_id: Uuid, limit: u64) -> StoreResult<Vec<Uuid>> {
    let query = proof_loads::Entity::find()
        .select_only()
        .column(proof_loads::Column::RemarkId)
        .filter(proof_loads::Column::DesignId.eq(design_id))
        .filter(proof_loads::Column::Live.eq(1))
        .order_by_asc(proof_loads::Column::RemarkId)
        .limit(limit);
    Ok(query.into_tuple().all(conn).await?)
}

/// Says whether a proof load is run on later revisions.
pub async fn set_live<C: Connection>(conn: &C, remark_id: Uuid, live: bool) -> StoreResult<()> {
    proof_loads::Entity::update_many()
        .col_expr(proof_loads::Column::Live, Expr::value(i64::from(live)))
        .filter(proof_loads::Column::RemarkId.eq(remark_id))
        .exec(conn)
        .await?;
    Ok(())
}

/// Writes results that are to come, but for those that are there.
pub async fn insert_if_new<C: Connection>(conn: &C, rows: Vec<ProofResult>) -> StoreResult<()> {
    use proof_results::Column as C;
    if rows.is_empty() {
        return Ok(());
    }
    let key = [C::RemarkId, C::RevisionId, C::EngineFingerprint, C::SettingsId];
    let conflict = OnConflict::columns(key).do_nothing().to_owned();
    let rows = rows.into_iter().map(proof_results::ActiveModel::from);
    proof_results::Entity::insert_many(rows).on_conflict(conflict).exec_without_returning(conn).await?;
    Ok(())
}

/// Results of a remark, newest revision first, behind a revision and id.
pub async fn page<C: Connection>(
    conn: &C,
    remark_id: Uuid,
    after: Option<(i64, Uuid)>,
    limit: u64,
) -> StoreResult<Vec<ProofResult>> {
    use proof_results::Column as C;
    let mut query = proof_results::Entity::find().filter(C::RemarkId.eq(remark_id));
    if let Some((ordinal, id)) = after {
        let same = Condition::all().add(C::Ordinal.eq(ordinal)).add(C::Id.lt(id));
        query = query.filter(Condition::any().add(C::Ordinal.lt(ordinal)).add(same));
    }
    Ok(query.order_by_desc(C::Ordinal).order_by_desc(C::Id).limit(limit).all(conn).await?)
}

/// The result of the newest revision that has one.
pub async fn newest_done<C: Connection>(conn: &C, remark_id: Uuid) -> StoreResult<Option<ProofResult>> {
    use proof_results::Column as C;
    let query = proof_results::Entity::find().filter(C::RemarkId.eq(remark_id)).filter(C::State.eq(DONE));
    Ok(query.order_by_desc(C::Ordinal).order_by_desc(C::Id).one(conn).await?)
}

/// True while a result of this remark on this revision is not done.
pub async fn is_coming<C: Connection>(conn: &C, remark_id: Uuid, ordinal: i64) -> StoreResult<bool> {
    use proof_results::Column as C;
    let query = proof_results::Entity::find()
        .filter(C::RemarkId.eq(remark_id))
        .filter(C::Ordinal.eq(ordinal))
        .filter(C::State.ne(DONE));
    Ok(query.one(conn).await?.is_some())
}

/// Results that an account has waiting or running.
pub async fn count_unfinished<C: Connection>(conn: &C, account_id: Uuid) -> StoreResult<i64> {
    let count: Option<i64> = proof_results::Entity::find()
        .select_only()
        .column_as(proof_results::Column::Id.count(), "n")
        .filter(proof_results::Column::AccountId.eq(account_id))
        .filter(proof_results::Column::State.is_in([QUEUED, RUNNING]))
        .into_tuple()
        .one(conn)
        .await?;
    Ok(count.unwrap_or(0))
}

/// Accounts that have a result to be run now, in the order of their ids.
pub async fn accounts_waiting<C: Connection>(conn: &C, now: i64, fingerprint: &str) -> StoreResult<Vec<Uuid>> {
    let rows: Vec<Uuid> = proof_results::Entity::find()
        .select_only()
        .column(proof_results::Column::AccountId)
        .filter(free(now, fingerprint))
        .group_by(proof_results::Column::AccountId)
        .order_by_asc(proof_results::Column::AccountId)
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows)
}

/// Queued, or running under a lease that has run out; only for this engine, since another cannot compute it.
fn free(now: i64, fingerprint: &str) -> Condition {
    use proof_results::Column as C;
    let lapsed = Condition::all().add(C::State.eq(RUNNING)).add(C::LeasedUntil.lt(now));
    Condition::all()
        .add(C::EngineFingerprint.eq(fingerprint))
        .add(Condition::any().add(C::State.eq(QUEUED)).add(lapsed))
}

/// Who takes results, and until when.
#[derive(Clone, Copy, Debug)]
pub struct Lease<'a> {
    /// The server.
    pub holder: Uuid,
    /// Now.
    pub now: i64,
    /// When the lease ends.
    pub until: i64,
    /// Its engine.
    pub fingerprint: &'a str,
}

/// Takes the oldest free result of an account under a lease, with all other free ones of the same revision (of whatever
/// account); none where nothing is free.
pub async fn claim<C: Connection>(conn: &C, account_id: Uuid, lease: Lease<'_>) -> StoreResult<Vec<ProofResult>> {
    use proof_results::Column as C;
    let found = proof_results::Entity::find()
        .filter(free(lease.now, lease.fingerprint))
        .filter(C::AccountId.eq(account_id))
        .order_by_asc(C::Id)
        .limit(1)
        .lock_with_behavior(LockType::Update, LockBehavior::SkipLocked)
        .one(conn)
        .await?;
    let Some(first) = found else { return Ok(Vec::new()) };
    let mut rows = proof_results::Entity::update_many()
        .col_expr(C::State, Expr::value(RUNNING))
        .col_expr(C::Holder, Expr::value(lease.holder))
        .col_expr(C::LeasedUntil, Expr::value(lease.until))
        .col_expr(C::Attempts, Expr::col(C::Attempts).add(1))
        .filter(free(lease.now, lease.fingerprint))
        .filter(C::RevisionId.eq(first.revision_id))
        .exec_with_returning(conn)
        .await?;
    rows.sort_by_key(|row| (row.remark_id, row.id));
    Ok(rows)
}

/// Rows of these ids that this server holds.
fn held(ids: &[Uuid], holder: Uuid) -> Condition {
    use proof_results::Column as C;
    Condition::all().add(C::Id.is_in(ids.iter().copied())).add(C::Holder.eq(holder)).add(C::State.eq(RUNNING))
}

/// Prolongs a lease; false when all of it was lost.
pub async fn heartbeat<C: Connection>(conn: &C, ids: &[Uuid], holder: Uuid, until: i64) -> StoreResult<bool> {
    let done = proof_results::Entity::update_many()
        .col_expr(proof_results::Column::LeasedUntil, Expr::value(until))
        .filter(held(ids, holder))
        .exec(conn)
        .await?;
    Ok(done.rows_affected > 0)
}

/// Lets go of results so that they are taken up again.
pub async fn release<C: Connection>(conn: &C, ids: &[Uuid], holder: Uuid) -> StoreResult<()> {
    proof_results::Entity::update_many()
        .col_expr(proof_results::Column::State, Expr::value(QUEUED))
        .col_expr(proof_results::Column::LeasedUntil, Expr::value(None::<i64>))
        .filter(held(ids, holder))
        .exec(conn)
        .await?;
    Ok(())
}

/// What a result comes to.
#[derive(Clone, Debug)]
pub struct Ended {
    /// Which.
    pub id: Uuid,
    /// Word of the outcome.
    pub outcome: &'static str,
    /// Sag of the place, mm.
    pub sag_mm: Option<f64>,
    /// Greatest utilisation.
    pub utilisation: Option<f64>,
    /// The whole.
    pub detail: Vec<u8>,
}

/// Ends a result, whoever holds it: it is the same from everyone. False where it had ended.
pub async fn end<C: Connection>(conn: &C, ended: Ended, now: i64) -> StoreResult<bool> {
    use proof_results::Column as C;
    let Ended { id, outcome, sag_mm, utilisation, detail } = ended;
    let done = proof_results::Entity::update_many()
        .col_expr(C::State, Expr::value(DONE))
        .col_expr(C::Outcome, Expr::value(outcome))
        .col_expr(C::SagMm, Expr::value(sag_mm))
        .col_expr(C::Utilisation, Expr::value(utilisation))
        .col_expr(C::Detail, Expr::value(detail))
        .col_expr(C::EndedAt, Expr::value(now))
        .filter(C::Id.eq(id))
        .filter(C::State.ne(DONE))
        .exec(conn)
        .await?;
    Ok(done.rows_affected > 0)
}

/// True when any result is not done.
pub async fn any_unfinished<C: Connection>(conn: &C) -> StoreResult<bool> {
    Ok(proof_results::Entity::find().filter(proof_results::Column::State.ne(DONE)).one(conn).await?.is_some())
}

/// Lets go of every result, whoever holds it, and hands what an older engine left undone to this one, unless this one has
/// it already.
pub async fn release_all<C: Connection>(conn: &C, fingerprint: &str) -> StoreResult<u64> {
    use proof_results::Column as C;
    let done = proof_results::Entity::update_many()
        .col_expr(C::State, Expr::value(QUEUED))
        .col_expr(C::LeasedUntil, Expr::value(None::<i64>))
        .filter(C::State.eq(RUNNING))
        .exec(conn)
        .await?;
    let left = proof_results::Entity::find()
        .filter(C::State.eq(QUEUED))
        .filter(C::EngineFingerprint.ne(fingerprint))
        .all(conn)
        .await?;
    let adopted = left.into_iter().map(|row| ProofResult {
        id: crate::clock::new_id(),
        engine_fingerprint: fingerprint.to_owned(),
        attempts: 0,
        ..row
    });
    for chunk in adopted.collect::<Vec<_>>().chunks(CHUNK) {
        insert_if_new(conn, chunk.to_vec()).await?;
    }
    proof_results::Entity::delete_many()
        .filter(C::State.eq(QUEUED))
        .filter(C::EngineFingerprint.ne(fingerprint))
        .exec(conn)
        .await?;
    Ok(done.rows_affected)
}

/// Rows of one statement: each has 17 values, and SQLite takes 32,766 in one.
pub const CHUNK: usize = 500;
