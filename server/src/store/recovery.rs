//! Codes that set a new password, by their hashes: lasting ones of the account, and those of the host, which end.

use super::entity::recovery_codes::{self as table, Column};
use super::{Connection, StoreResult};
use crate::clock::new_id;
use sea_orm::sea_query::{Condition, Expr};
use sea_orm::{ActiveValue::Set, ColumnTrait, EntityTrait, PaginatorTrait, QueryFilter};
use uuid::Uuid;

/// Writes codes of an account; with an end they are the host's.
pub async fn insert<C: Connection>(
    conn: &C,
    account_id: Uuid,
    hashes: Vec<Vec<u8>>,
    expires_at: Option<i64>,
    now: i64,
) -> StoreResult<()> {
    let rows = hashes.into_iter().map(|hash| table::ActiveModel {
        id: Set(new_id()),
        account_id: Set(account_id),
        code_hash: Set(hash),
        made_at: Set(now),
        expires_at: Set(expires_at),
        used_at: Set(None),
    });
    table::Entity::insert_many(rows).exec_without_returning(conn).await?;
    Ok(())
}

/// Takes out an account's lasting codes, used and unused.
pub async fn remove_lasting<C: Connection>(conn: &C, account_id: Uuid) -> StoreResult<()> {
    let of_account = table::Entity::delete_many().filter(Column::AccountId.eq(account_id));
    of_account.filter(Column::ExpiresAt.is_null()).exec(conn).await?;
    Ok(())
}

/// Takes out the codes that the host made for an account.
pub async fn remove_resets<C: Connection>(conn: &C, account_id: Uuid) -> StoreResult<()> {
    let of_account = table::Entity::delete_many().filter(Column::AccountId.eq(account_id));
    of_account.filter(Column::ExpiresAt.is_not_null()).exec(conn).await?;
    Ok(())
}

fn good(account_id: Uuid, hash: &[u8], now: i64) -> Condition {
    Condition::all()
        .add(Column::AccountId.eq(account_id))
        .add(Column::CodeHash.eq(hash.to_vec()))
        .add(Column::UsedAt.is_null())
        .add(Condition::any().add(Column::ExpiresAt.is_null()).add(Column::ExpiresAt.gt(now)))
}

/// True when an account has this code, neither used nor ended.
pub async fn is_good<C: Connection>(conn: &C, account_id: Uuid, hash: &[u8], now: i64) -> StoreResult<bool> {
    Ok(table::Entity::find().filter(good(account_id, hash, now)).one(conn).await?.is_some())
}

/// Uses up a code; false where it is not good (any more), also when it is being used elsewhere at this moment.
pub async fn take<C: Connection>(conn: &C, account_id: Uuid, hash: &[u8], now: i64) -> StoreResult<bool> {
    let done = table::Entity::update_many()
        .col_expr(Column::UsedAt, Expr::value(now))
        .filter(good(account_id, hash, now))
        .exec(conn)
        .await?;
    Ok(done.rows_affected == 1)
}

/// How many lasting codes of an account are unused.
pub async fn count_left<C: Connection>(conn: &C, account_id: Uuid) -> StoreResult<u64> {
    let lasting = table::Entity::find().filter(Column::AccountId.eq(account_id)).filter(Column::ExpiresAt.is_null());
    Ok(lasting.filter(Column::UsedAt.is_null()).count(conn).await?)
}

/// Takes out codes of the host that ended before an instant.
pub async fn prune<C: Connection>(conn: &C, ended_before: i64) -> StoreResult<u64> {
    Ok(table::Entity::delete_many().filter(Column::ExpiresAt.lt(ended_before)).exec(conn).await?.rows_affected)
}
