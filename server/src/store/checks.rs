//! Checks that wait, run or are over: one row a findings key. Whoever holds the lease computes; a lease that runs out
//! (its server was killed) is taken up by another.

use super::entity::checks;
use super::findings::Key;
use super::{Connection, StoreResult};
use sea_orm::sea_query::{Expr, ExprTrait, LockBehavior, LockType, OnConflict};
use sea_orm::{ColumnTrait, Condition, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use uuid::Uuid;

pub use checks::Model as Check;

/// Waits for its turn.
pub const QUEUED: &str = "queued";
/// Being computed under a lease.
pub const RUNNING: &str = "running";
/// Findings are stored.
pub const DONE: &str = "done";
/// Given up.
pub const FAILED: &str = "failed";

/// A check that was taken up so often and never ended may be what takes its servers down: it rests before it is taken up
/// again.
const SUSPECT_AFTER: i64 = 4;
/// How long it rests, microseconds.
const REST: i64 = 30 * crate::clock::SECOND;

/// Writes a check unless there is one under its key.
pub async fn insert_if_new<C: Connection>(conn: &C, check: Check) -> StoreResult<()> {
    let key = [checks::Column::ContentId, checks::Column::SettingsId, checks::Column::EngineFingerprint];
    let conflict = OnConflict::columns(key).do_nothing().to_owned();
    checks::Entity::insert(checks::ActiveModel::from(check)).on_conflict(conflict).exec_without_returning(conn).await?;
    Ok(())
}

/// Takes away a check that failed, so that it can be asked for again.
pub async fn forget_failed<C: Connection>(conn: &C, key: &Key) -> StoreResult<()> {
    checks::Entity::delete_many().filter(is_key(key)).filter(checks::Column::State.eq(FAILED)).exec(conn).await?;
    Ok(())
}

/// The check under a key.
pub async fn by_key<C: Connection>(conn: &C, key: &Key) -> StoreResult<Option<Check>> {
    Ok(checks::Entity::find().filter(is_key(key)).one(conn).await?)
}

/// The checks under these keys; in no order.
pub async fn by_keys<C: Connection>(conn: &C, keys: &[Key]) -> StoreResult<Vec<Check>> {
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    let any = keys.iter().fold(Condition::any(), |any, key| any.add(is_key(key)));
    Ok(checks::Entity::find().filter(any).all(conn).await?)
}

fn is_key(key: &Key) -> Condition {
    Condition::all()
        .add(checks::Column::ContentId.eq(key.content_id.clone()))
        .add(checks::Column::SettingsId.eq(key.settings_id.clone()))
        .add(checks::Column::EngineFingerprint.eq(key.engine_fingerprint.clone()))
}

/// Checks an account has waiting or running.
pub async fn count_unfinished<C: Connection>(conn: &C, account_id: Uuid) -> StoreResult<i64> {
    let count: Option<i64> = checks::Entity::find()
        .select_only()
        .column_as(checks::Column::Id.count(), "n")
        .filter(checks::Column::AccountId.eq(account_id))
        .filter(checks::Column::State.is_in([QUEUED, RUNNING]))
        .into_tuple()
        .one(conn)
        .await?;
    Ok(count.unwrap_or(0))
}

/// How many checks were queued before this one.
pub async fn count_ahead<C: Connection>(conn: &C, check: &Check) -> StoreResult<i64> {
    let count: Option<i64> = checks::Entity::find()
        .select_only()
        .column_as(checks::Column::Id.count(), "n")
        .filter(checks::Column::State.eq(QUEUED))
        .filter(checks::Column::Id.lt(check.id))
        .into_tuple()
        .one(conn)
        .await?;
    Ok(count.unwrap_or(0))
}

/// Accounts that have a check to be taken up now, in the order of their ids.
pub async fn accounts_waiting<C: Connection>(conn: &C, now: i64, fingerprint: &str) -> StoreResult<Vec<Uuid>> {
    let rows: Vec<Uuid> = checks::Entity::find()
        .select_only()
        .column(checks::Column::AccountId)
        .filter(free(now, fingerprint))
        .group_by(checks::Column::AccountId)
        .order_by_asc(checks::Column::AccountId)
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows)
}

/// Queued, or running under a lease that has run out, and rested where it is suspect; only for this engine, since another cannot compute it.
fn free(now: i64, fingerprint: &str) -> Condition {
    let lapsed = Condition::all().add(checks::Column::State.eq(RUNNING)).add(checks::Column::LeasedUntil.lt(now));
    let rested = Condition::any()
        .add(checks::Column::Attempts.lt(SUSPECT_AFTER))
        .add(checks::Column::HeartbeatAt.is_null())
        .add(checks::Column::HeartbeatAt.lt(now - REST));
    Condition::all()
        .add(checks::Column::EngineFingerprint.eq(fingerprint))
        .add(Condition::any().add(checks::Column::State.eq(QUEUED)).add(lapsed))
        .add(rested)
}

/// Takes the oldest free check of an account under a lease.
pub async fn claim<C: Connection>(
    conn: &C,
    account_id: Uuid,
    holder: Uuid,
    now: i64,
    leased_until: i64,
    fingerprint: &str,
) -> StoreResult<Option<Check>> {
    let found = checks::Entity::find()
        .filter(free(now, fingerprint))
        .filter(checks::Column::AccountId.eq(account_id))
        .order_by_asc(checks::Column::Id)
        .limit(1)
        .lock_with_behavior(LockType::Update, LockBehavior::SkipLocked)
        .one(conn)
        .await?;
    let Some(check) = found else { return Ok(None) };
    let rows = checks::Entity::update_many()
        .col_expr(checks::Column::State, Expr::value(RUNNING))
        .col_expr(checks::Column::Holder, Expr::value(holder))
        .col_expr(checks::Column::LeasedUntil, Expr::value(leased_until))
        .col_expr(checks::Column::HeartbeatAt, Expr::value(now))
        .col_expr(checks::Column::Attempts, Expr::col(checks::Column::Attempts).add(1))
        .filter(checks::Column::Id.eq(check.id))
        .exec_with_returning(conn)
        .await?;
    Ok(rows.into_iter().next())
}

/// Prolongs a lease; false when it was lost.
pub async fn heartbeat<C: Connection>(
    conn: &C,
    id: Uuid,
    holder: Uuid,
    now: i64,
    leased_until: i64,
) -> StoreResult<bool> {
    let done = checks::Entity::update_many()
        .col_expr(checks::Column::LeasedUntil, Expr::value(leased_until))
        .col_expr(checks::Column::HeartbeatAt, Expr::value(now))
        .filter(checks::Column::Id.eq(id))
        .filter(checks::Column::Holder.eq(holder))
        .filter(checks::Column::State.eq(RUNNING))
        .exec(conn)
        .await?;
    Ok(done.rows_affected > 0)
}

/// Ends the check under a key, whoever holds it: findings are the same from everyone.
pub async fn end<C: Connection>(conn: &C, key: &Key, state: &str, failure: Option<&str>, now: i64) -> StoreResult<()> {
    checks::Entity::update_many()
        .col_expr(checks::Column::State, Expr::value(state))
        .col_expr(checks::Column::Failure, Expr::value(failure.map(str::to_owned)))
        .col_expr(checks::Column::EndedAt, Expr::value(now))
        .filter(is_key(key))
        .exec(conn)
        .await?;
    Ok(())
}

/// Lets go of a check so that it is taken up again. Nothing happened to its server: the attempt does not count.
pub async fn release<C: Connection>(conn: &C, id: Uuid, holder: Uuid) -> StoreResult<()> {
    checks::Entity::update_many()
        .col_expr(checks::Column::State, Expr::value(QUEUED))
        .col_expr(checks::Column::LeasedUntil, Expr::value(None::<i64>))
        .col_expr(checks::Column::Attempts, Expr::col(checks::Column::Attempts).sub(1))
        .filter(checks::Column::Id.eq(id))
        .filter(checks::Column::Holder.eq(holder))
        .filter(checks::Column::State.eq(RUNNING))
        .exec(conn)
        .await?;
    Ok(())
}

/// True when any check is running under a lease, good or not.
pub async fn any_running<C: Connection>(conn: &C) -> StoreResult<bool> {
    Ok(checks::Entity::find().filter(checks::Column::State.eq(RUNNING)).one(conn).await?.is_some())
}

/// Lets go of every check, whoever holds it.
pub async fn release_all<C: Connection>(conn: &C) -> StoreResult<u64> {
    let done = checks::Entity::update_many()
        .col_expr(checks::Column::State, Expr::value(QUEUED))
        .col_expr(checks::Column::LeasedUntil, Expr::value(None::<i64>))
        .filter(checks::Column::State.eq(RUNNING))
        .exec(conn)
        .await?;
    Ok(done.rows_affected)
}
