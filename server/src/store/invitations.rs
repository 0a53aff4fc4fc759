//! One-time codes, by their hashes.

use super::entity::invitations;
use super::{Connection, StoreResult};
use sea_orm::{ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter, QuerySelect};
use uuid::Uuid;

pub use invitations::Model as Invitation;

/// Writes a new invitation.
pub async fn insert<C: Connection>(conn: &C, invitation: Invitation) -> StoreResult<()> {
    invitations::Entity::insert(invitations::ActiveModel::from(invitation)).exec_without_returning(conn).await?;
    Ok(())
}

/// The invitation whose code has this hash, where it is neither used nor expired; locked for the transaction.
pub async fn open_for_update<C: Connection>(conn: &C, code_hash: &[u8], now: i64) -> StoreResult<Option<Invitation>> {
    let found = invitations::Entity::find()
        .filter(invitations::Column::CodeHash.eq(code_hash.to_vec()))
        .filter(invitations::Column::UsedAt.is_null())
        .filter(invitations::Column::ExpiresAt.gt(now))
        .lock_exclusive()
        .one(conn)
        .await?;
    Ok(found)
}

/// Says who used an invitation, and when.
pub async fn mark_used<C: Connection>(conn: &C, id: Uuid, used_by: Uuid, now: i64) -> StoreResult<()> {
    let row = invitations::ActiveModel {
        id: Set(id),
        used_by: Set(Some(used_by)),
        used_at: Set(Some(now)),
        ..Default::default()
    };
    invitations::Entity::update(row).exec(conn).await?;
    Ok(())
}

/// True when an invitation with this code's hash is neither used nor expired.
pub async fn is_open<C: Connection>(conn: &C, code_hash: &[u8], now: i64) -> StoreResult<bool> {
    let found = invitations::Entity::find()
        .filter(invitations::Column::CodeHash.eq(code_hash.to_vec()))
        .filter(invitations::Column::UsedAt.is_null())
        .filter(invitations::Column::ExpiresAt.gt(now))
        .one(conn)
        .await?;
    Ok(found.is_some())
}
