//! Sessions and their refresh tokens.

use super::entity::{accounts, refresh_tokens, sessions};
use super::{Connection, StoreResult};
use sea_orm::sea_query::Expr;
use sea_orm::{
    ActiveValue::Set, ColumnTrait, EntityTrait, JoinType, QueryFilter, QueryOrder, QuerySelect, QueryTrait, RelationDef,
};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

pub use refresh_tokens::Model as RefreshToken;
pub use sessions::Model as Session;

/// Opens a session with its first refresh token.
pub async fn insert<C: Connection>(conn: &C, session: Session, token: RefreshToken) -> StoreResult<()> {
    sessions::Entity::insert(sessions::ActiveModel::from(session)).exec_without_returning(conn).await?;
    insert_token(conn, token).await
}

/// Writes a refresh token of a session.
pub async fn insert_token<C: Connection>(conn: &C, token: RefreshToken) -> StoreResult<()> {
    refresh_tokens::Entity::insert(refresh_tokens::ActiveModel::from(token)).exec_without_returning(conn).await?;
    Ok(())
}

/// The refresh token with this hash, its row locked for the transaction.
pub async fn token_for_update<C: Connection>(conn: &C, hash: &[u8]) -> StoreResult<Option<RefreshToken>> {
    // SQLite has no row locks and ignores the clause: its writing transactions are one at a time.
    Ok(refresh_tokens::Entity::find_by_id(hash.to_vec()).lock_exclusive().one(conn).await?)
}

/// Marks a refresh token as used at an instant, with so many siblings given for it.
pub async fn mark_used<C: Connection>(conn: &C, hash: &[u8], used_at: i64, siblings: i64) -> StoreResult<()> {
    let row = refresh_tokens::ActiveModel {
        hash: Set(hash.to_vec()),
        used_at: Set(Some(used_at)),
        siblings: Set(siblings),
        ..Default::default()
    };
    refresh_tokens::Entity::update(row).exec(conn).await?;
    Ok(())
}

/// Takes a session's spent tokens out, which are older than an instant and too old to be told from unknown ones.
pub async fn prune_tokens<C: Connection>(conn: &C, expired_before: i64) -> StoreResult<u64> {
    let done = refresh_tokens::Entity::delete_many()
        .filter(refresh_tokens::Column::ExpiresAt.lt(expired_before))
        .exec(conn)
        .await?;
    Ok(done.rows_affected)
}

/// A session that has not ended, with its account's name, where the account is not suspended.
pub async fn live<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<(Session, String)>> {
    let found = sessions::Entity::find_by_id(id).filter(sessions::Column::EndedAt.is_null()).one(conn).await?;
    let Some(session) = found else { return Ok(None) };
    let account = accounts::Entity::find_by_id(session.account_id)
        .filter(accounts::Column::SuspendedAt.is_null())
        .one(conn)
        .await?;
    Ok(account.map(|account| (session, account.name)))
}

/// Which of these sessions have not ended, of accounts that are not suspended.
pub async fn live_among<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<BTreeSet<Uuid>> {
    if ids.is_empty() {
        return Ok(BTreeSet::new());
    }
    let to_account: RelationDef = sessions::Entity::belongs_to(accounts::Entity)
        .from(sessions::Column::AccountId)
        .to(accounts::Column::Id)
        .into();
    let rows: Vec<Uuid> = sessions::Entity::find()
        .select_only()
        .column(sessions::Column::Id)
        .join(JoinType::InnerJoin, to_account)
        .filter(sessions::Column::Id.is_in(ids))
        .filter(sessions::Column::EndedAt.is_null())
        .filter(accounts::Column::SuspendedAt.is_null())
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows.into_iter().collect())
}

/// Says that a session was refreshed.
pub async fn touch<C: Connection>(conn: &C, id: Uuid, now: i64) -> StoreResult<()> {
    let row = sessions::ActiveModel { id: Set(id), refreshed_at: Set(now), ..Default::default() };
    sessions::Entity::update(row).exec(conn).await?;
    Ok(())
}

/// Ends one session of an account; false where there was none to end.
pub async fn end<C: Connection>(conn: &C, account_id: Uuid, id: Uuid, now: i64, reason: &str) -> StoreResult<bool> {
    let done = ending(account_id, now, reason).filter(sessions::Column::Id.eq(id)).exec(conn).await?;
    Ok(done.rows_affected > 0)
}

/// Ends all sessions of an account.
pub async fn end_all<C: Connection>(conn: &C, account_id: Uuid, now: i64, reason: &str) -> StoreResult<u64> {
    Ok(ending(account_id, now, reason).exec(conn).await?.rows_affected)
}

fn ending(account_id: Uuid, now: i64, reason: &str) -> sea_orm::UpdateMany<sessions::Entity> {
    sessions::Entity::update_many()
        .col_expr(sessions::Column::EndedAt, Expr::value(now))
        .col_expr(sessions::Column::EndReason, Expr::value(reason))
        .filter(sessions::Column::AccountId.eq(account_id))
        .filter(sessions::Column::EndedAt.is_null())
}

/// An account's sessions that can still be refreshed, newest first, older than `before`.
pub async fn page<C: Connection>(
    conn: &C,
    account_id: Uuid,
    before: Option<Uuid>,
    limit: u64,
) -> StoreResult<Vec<Session>> {
    let mut query = sessions::Entity::find()
        .filter(sessions::Column::AccountId.eq(account_id))
        .filter(sessions::Column::EndedAt.is_null());
    if let Some(before) = before {
        query = query.filter(sessions::Column::Id.lt(before));
    }
    Ok(query.order_by_desc(sessions::Column::Id).limit(limit).all(conn).await?)
}

/// When the last refresh token of each of these sessions ends.
pub async fn expiries<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, i64>> {
    if ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let rows: Vec<(Uuid, i64)> = refresh_tokens::Entity::find()
        .select_only()
        .column(refresh_tokens::Column::SessionId)
        .column_as(refresh_tokens::Column::ExpiresAt.max(), "expires_at")
        .filter(refresh_tokens::Column::SessionId.is_in(ids))
        .group_by(refresh_tokens::Column::SessionId)
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows.into_iter().collect())
}

/// How many sessions of each of these accounts are open; accounts without any are left out.
pub async fn open_counts<C: Connection>(conn: &C, account_ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, i64>> {
    if account_ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let rows: Vec<(Uuid, i64)> = sessions::Entity::find()
        .select_only()
        .column(sessions::Column::AccountId)
        .column_as(sessions::Column::Id.count(), "open")
        .filter(sessions::Column::AccountId.is_in(account_ids))
        .filter(sessions::Column::EndedAt.is_null())
        .group_by(sessions::Column::AccountId)
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows.into_iter().collect())
}

/// Ends an account's oldest live sessions beyond so many.
pub async fn end_beyond<C: Connection>(conn: &C, account_id: Uuid, most: u64, now: i64) -> StoreResult<u64> {
    let oldest_kept: Option<Uuid> = sessions::Entity::find()
        .select_only()
        .column(sessions::Column::Id)
        .filter(sessions::Column::AccountId.eq(account_id))
        .filter(sessions::Column::EndedAt.is_null())
        .order_by_desc(sessions::Column::Id)
        .offset(most.saturating_sub(1))
        .limit(1)
        .into_tuple()
        .one(conn)
        .await?;
    let Some(oldest_kept) = oldest_kept else { return Ok(0) };
    let done =
        ending(account_id, now, "too many sessions").filter(sessions::Column::Id.lt(oldest_kept)).exec(conn).await?;
    Ok(done.rows_affected)
}

/// Takes out sessions that have no token left and were not refreshed since an instant.
pub async fn prune<C: Connection>(conn: &C, unused_since: i64) -> StoreResult<u64> {
    let with_token =
        refresh_tokens::Entity::find().select_only().column(refresh_tokens::Column::SessionId).into_query();
    let done = sessions::Entity::delete_many()
        .filter(sessions::Column::RefreshedAt.lt(unused_since))
        .filter(sessions::Column::Id.not_in_subquery(with_token))
        .exec(conn)
        .await?;
    Ok(done.rows_affected)
}
