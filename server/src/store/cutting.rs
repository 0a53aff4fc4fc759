//! Stamps "issued for cutting", concessions and as-built records.

use super::entity::{as_builts, concessions, cutting_stamps};
use super::{Connection, StoreResult};
use sea_orm::sea_query::Expr;
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use uuid::Uuid;

pub use as_builts::Model as AsBuilt;
pub use concessions::Model as Concession;
pub use cutting_stamps::Model as Stamp;

/// Writes a stamp.
pub async fn insert_stamp<C: Connection>(conn: &C, stamp: Stamp) -> StoreResult<()> {
    cutting_stamps::Entity::insert(cutting_stamps::ActiveModel::from(stamp)).exec_without_returning(conn).await?;
    Ok(())
}

/// The stamp of this id.
pub async fn stamp<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Stamp>> {
    Ok(cutting_stamps::Entity::find_by_id(id).one(conn).await?)
}

/// Stamps of a design, newest first, older than `before`.
pub async fn stamps<C: Connection>(
    conn: &C,
    design_id: Uuid,
    before: Option<Uuid>,
    limit: u64,
) -> StoreResult<Vec<Stamp>> {
    let mut query = cutting_stamps::Entity::find().filter(cutting_stamps::Column::DesignId.eq(design_id));
    if let Some(before) = before {
        query = query.filter(cutting_stamps::Column::Id.lt(before));
    }
    Ok(query.order_by_desc(cutting_stamps::Column::Id).limit(limit).all(conn).await?)
}

/// Stamps that stand, oldest first, after `after`.
pub async fn standing_stamps<C: Connection>(conn: &C, after: Option<Uuid>, limit: u64) -> StoreResult<Vec<Stamp>> {
    let mut query = cutting_stamps::Entity::find().filter(cutting_stamps::Column::TakenBackAt.is_null());
    if let Some(after) = after {
        query = query.filter(cutting_stamps::Column::Id.gt(after));
    }
    Ok(query.order_by_asc(cutting_stamps::Column::Id).limit(limit).all(conn).await?)
}

/// Takes a stamp back.
pub async fn take_back<C: Connection>(conn: &C, id: Uuid, by: Uuid, reason: &str, now: i64) -> StoreResult<()> {
    cutting_stamps::Entity::update_many()
        .col_expr(cutting_stamps::Column::TakenBackAt, Expr::value(now))
        .col_expr(cutting_stamps::Column::TakenBackBy, Expr::value(by))
        .col_expr(cutting_stamps::Column::TakenBackReason, Expr::value(reason))
        .filter(cutting_stamps::Column::Id.eq(id))
        .exec(conn)
        .await?;
    Ok(())
}

/// Writes a concession.
pub async fn insert_concession<C: Connection>(conn: &C, row: Concession) -> StoreResult<()> {
    concessions::Entity::insert(concessions::ActiveModel::from(row)).exec_without_returning(conn).await?;
    Ok(())
}

/// Concessions on a revision, newest first, older than `before`.
pub async fn concessions<C: Connection>(
    conn: &C,
    design_id: Uuid,
    ordinal: i64,
    before: Option<Uuid>,
    limit: u64,
) -> StoreResult<Vec<Concession>> {
    let mut query = concessions::Entity::find()
        .filter(concessions::Column::DesignId.eq(design_id))
        .filter(concessions::Column::Ordinal.eq(ordinal));
    if let Some(before) = before {
        query = query.filter(concessions::Column::Id.lt(before));
    }
    Ok(query.order_by_desc(concessions::Column::Id).limit(limit).all(conn).await?)
}

/// The concession of this id.
pub async fn concession<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Concession>> {
    Ok(concessions::Entity::find_by_id(id).one(conn).await?)
}

/// Writes an as-built record.
pub async fn insert_as_built<C: Connection>(conn: &C, row: AsBuilt) -> StoreResult<()> {
    as_builts::Entity::insert(as_builts::ActiveModel::from(row)).exec_without_returning(conn).await?;
    Ok(())
}

/// The as-built record of this id.
pub async fn as_built<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<AsBuilt>> {
    Ok(as_builts::Entity::find_by_id(id).one(conn).await?)
}

/// As-built records of a design, newest first, older than `before`.
pub async fn as_builts<C: Connection>(
    conn: &C,
    design_id: Uuid,
    before: Option<Uuid>,
    limit: u64,
) -> StoreResult<Vec<AsBuilt>> {
    let mut query = as_builts::Entity::find().filter(as_builts::Column::DesignId.eq(design_id));
    if let Some(before) = before {
        query = query.filter(as_builts::Column::Id.lt(before));
    }
    Ok(query.order_by_desc(as_builts::Column::Id).limit(limit).all(conn).await?)
}
