//! Answers kept for repeated requests.

use super::entity::requests;
use super::{Connection, StoreResult};
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter};
use uuid::Uuid;

pub use requests::Model as Request;

/// The answer once given to this request id within a scope.
pub async fn find<C: Connection>(conn: &C, scope: Uuid, request_id: &str) -> StoreResult<Option<Request>> {
    Ok(requests::Entity::find_by_id((scope, request_id.to_owned())).one(conn).await?)
}

/// Keeps an answer.
///
/// # Errors
/// [`StoreError::Taken`](super::StoreError::Taken) when the same request was answered meanwhile.
pub async fn insert<C: Connection>(conn: &C, request: Request) -> StoreResult<()> {
    requests::Entity::insert(requests::ActiveModel::from(request)).exec_without_returning(conn).await?;
    Ok(())
}

/// Forgets answers older than an instant.
pub async fn prune<C: Connection>(conn: &C, before: i64) -> StoreResult<u64> {
    let done = requests::Entity::delete_many().filter(requests::Column::CreatedAt.lt(before)).exec(conn).await?;
    Ok(done.rows_affected)
}
