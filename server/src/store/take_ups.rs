//! Who took up which notice, from which revision on, and until when.

use super::entity::take_ups;
use super::{Connection, StoreResult};
use sea_orm::sea_query::Expr;
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use uuid::Uuid;

pub use take_ups::Model as TakeUp;

/// Writes a new one.
pub async fn insert<C: Connection>(conn: &C, take_up: TakeUp) -> StoreResult<()> {
    take_ups::Entity::insert(take_ups::ActiveModel::from(take_up)).exec_without_returning(conn).await?;
    Ok(())
}

/// What an account has taken up of a design and not handed back, the earliest revision first.
pub async fn open_on_design<C: Connection>(conn: &C, design_id: Uuid, account_id: Uuid) -> StoreResult<Option<TakeUp>> {
    let query = take_ups::Entity::find()
        .filter(take_ups::Column::DesignId.eq(design_id))
        .filter(take_ups::Column::AccountId.eq(account_id))
        .filter(take_ups::Column::EndedAt.is_null())
        .order_by_asc(take_ups::Column::FromOrdinal)
        .order_by_asc(take_ups::Column::Id);
    Ok(query.one(conn).await?)
}

/// All that an account has taken up and not handed back, oldest first.
pub async fn open_of_account<C: Connection>(conn: &C, account_id: Uuid, limit: u64) -> StoreResult<Vec<TakeUp>> {
    let query = take_ups::Entity::find()
        .filter(take_ups::Column::AccountId.eq(account_id))
        .filter(take_ups::Column::EndedAt.is_null())
        .order_by_asc(take_ups::Column::Id);
    Ok(query.limit(limit).all(conn).await?)
}

/// An account's open taking up of a notice.
pub async fn open_on_notice<C: Connection>(conn: &C, notice_id: Uuid, account_id: Uuid) -> StoreResult<Option<TakeUp>> {
    let query = take_ups::Entity::find()
        .filter(take_ups::Column::NoticeId.eq(notice_id))
        .filter(take_ups::Column::AccountId.eq(account_id))
        .filter(take_ups::Column::EndedAt.is_null())
        .order_by_asc(take_ups::Column::Id);
    Ok(query.one(conn).await?)
}

/// True where an account has taken a notice up, now or once.
pub async fn any_on_notice<C: Connection>(conn: &C, notice_id: Uuid, account_id: Uuid) -> StoreResult<bool> {
    let query = take_ups::Entity::find()
        .filter(take_ups::Column::NoticeId.eq(notice_id))
        .filter(take_ups::Column::AccountId.eq(account_id));
    Ok(query.one(conn).await?.is_some())
}

/// Everybody who took one of these notices up, oldest first within each.
pub async fn of_notices<C: Connection>(conn: &C, notice_ids: Vec<Uuid>) -> StoreResult<Vec<TakeUp>> {
    if notice_ids.is_empty() {
        return Ok(Vec::new());
    }
    let query = take_ups::Entity::find()
        .filter(take_ups::Column::NoticeId.is_in(notice_ids))
        .order_by_asc(take_ups::Column::NoticeId)
        .order_by_asc(take_ups::Column::Id);
    Ok(query.all(conn).await?)
}

/// Ends one: how (a word) and why.
pub async fn end<C: Connection>(conn: &C, id: Uuid, how: &str, reason: &str, now: i64) -> StoreResult<()> {
    take_ups::Entity::update_many()
        .col_expr(take_ups::Column::EndedAt, Expr::value(now))
        .col_expr(take_ups::Column::EndedHow, Expr::value(how))
        .col_expr(take_ups::Column::Reason, Expr::value(reason))
        .filter(take_ups::Column::Id.eq(id))
        .exec(conn)
        .await?;
    Ok(())
}
