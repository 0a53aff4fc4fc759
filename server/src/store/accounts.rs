//! Accounts and their password hashes.

use super::entity::{accounts, passwords};
use super::{Connection, StoreResult};
use sea_orm::sea_query::OnConflict;
use sea_orm::{ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use std::collections::BTreeMap;
use uuid::Uuid;

pub use accounts::Model as Account;

/// Writes a new account with its password hash.
///
/// # Errors
/// [`StoreError::Taken`](super::StoreError::Taken) where the name is taken.
pub async fn insert<C: Connection>(conn: &C, account: Account, hash: String) -> StoreResult<()> {
    let (id, created_at) = (account.id, account.created_at);
    accounts::Entity::insert(accounts::ActiveModel::from(account)).exec_without_returning(conn).await?;
    put_hash(conn, id, hash, created_at).await
}

/// Sets the password hash of an account.
pub async fn put_hash<C: Connection>(conn: &C, account_id: Uuid, hash: String, now: i64) -> StoreResult<()> {
    let row = passwords::ActiveModel { account_id: Set(account_id), hash: Set(hash), changed_at: Set(now) };
    let conflict = OnConflict::column(passwords::Column::AccountId)
        .update_columns([passwords::Column::Hash, passwords::Column::ChangedAt])
        .to_owned();
    passwords::Entity::insert(row).on_conflict(conflict).exec_without_returning(conn).await?;
    Ok(())
}

/// The account of this name with its password hash.
pub async fn by_name<C: Connection>(conn: &C, name: &str) -> StoreResult<Option<(Account, String)>> {
    let Some(account) = accounts::Entity::find().filter(accounts::Column::Name.eq(name)).one(conn).await? else {
        return Ok(None);
    };
    let hash = hash_of(conn, account.id).await?.unwrap_or_default();
    Ok(Some((account, hash)))
}

/// The account of this id.
pub async fn by_id<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Account>> {
    Ok(accounts::Entity::find_by_id(id).one(conn).await?)
}

/// Locks an account's row for the transaction.
pub async fn lock<C: Connection>(conn: &C, id: Uuid) -> StoreResult<()> {
    accounts::Entity::find_by_id(id).lock_exclusive().one(conn).await?;
    Ok(())
}

/// The password hash of an account.
pub async fn hash_of<C: Connection>(conn: &C, account_id: Uuid) -> StoreResult<Option<String>> {
    Ok(passwords::Entity::find_by_id(account_id).one(conn).await?.map(|row| row.hash))
}

/// True when there is at least one account.
pub async fn any<C: Connection>(conn: &C) -> StoreResult<bool> {
    Ok(accounts::Entity::find().one(conn).await?.is_some())
}

/// Accounts in the order of their names, after one.
pub async fn page<C: Connection>(conn: &C, after: Option<&str>, limit: u64) -> StoreResult<Vec<Account>> {
    let mut query = accounts::Entity::find();
    if let Some(after) = after {
        query = query.filter(accounts::Column::Name.gt(after));
    }
    Ok(query.order_by_asc(accounts::Column::Name).limit(limit).all(conn).await?)
}

/// Says since when an account is suspended, or that it is not.
pub async fn put_suspended<C: Connection>(conn: &C, id: Uuid, since: Option<i64>) -> StoreResult<()> {
    let row = accounts::ActiveModel { id: Set(id), suspended_at: Set(since), ..Default::default() };
    accounts::Entity::update(row).exec(conn).await?;
    Ok(())
}

/// Names of the accounts with these ids.
pub async fn names<C: Connection>(
    conn: &C,
    ids: impl IntoIterator<Item = Uuid>,
) -> StoreResult<BTreeMap<Uuid, String>> {
    let mut ids: Vec<Uuid> = ids.into_iter().collect();
    ids.sort_unstable();
    ids.dedup();
    if ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let rows = accounts::Entity::find().filter(accounts::Column::Id.is_in(ids)).all(conn).await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}
