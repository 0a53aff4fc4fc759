//! Looks, conclusions, and sums of one's own. Nothing here is ever rewritten but the end of own sums.

use super::entity::{dispositions, looks, own_sums};
use super::{Connection, StoreResult};
use sea_orm::sea_query::Expr;
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use std::collections::BTreeSet;
use uuid::Uuid;

pub use dispositions::Model as Disposition;
pub use looks::Model as Look;
pub use own_sums::Model as OwnSums;

/// Rows written by one statement; SQLite takes at most 32,766 values.
const AT_ONCE: usize = 500;

/// Writes looks.
pub async fn insert_looks<C: Connection>(conn: &C, rows: Vec<Look>) -> StoreResult<()> {
    for rows in rows.chunks(AT_ONCE) {
        let rows = rows.iter().cloned().map(looks::ActiveModel::from);
        looks::Entity::insert_many(rows).exec_without_returning(conn).await?;
    }
    Ok(())
}

/// Looks at a design's revisions up to an ordinal, oldest first; of many the latest.
pub async fn looks<C: Connection>(conn: &C, design_id: Uuid, from: i64, to: i64, limit: u64) -> StoreResult<Vec<Look>> {
    let query = looks::Entity::find()
        .filter(looks::Column::DesignId.eq(design_id))
        .filter(looks::Column::Ordinal.between(from, to))
        .order_by_desc(looks::Column::Ordinal)
        .order_by_desc(looks::Column::Id);
    let mut rows = query.limit(limit).all(conn).await?;
    rows.reverse();
    Ok(rows)
}

/// True where an account has put figures of its own into a look at a design since an instant.
pub async fn any_own_figure<C: Connection>(
    conn: &C,
    design_id: Uuid,
    account_id: Uuid,
    since: i64,
) -> StoreResult<bool> {
    use sea_orm::Condition;
    let figure =
        Condition::any().add(looks::Column::OwnUtilisation.is_not_null()).add(looks::Column::OwnSagMm.is_not_null());
    let query = looks::Entity::find()
        .filter(looks::Column::DesignId.eq(design_id))
        .filter(looks::Column::AccountId.eq(account_id))
        .filter(looks::Column::CreatedAt.gte(since))
        .filter(figure);
    Ok(query.one(conn).await?.is_some())
}

/// Writes the rows of a conclusion.
pub async fn insert_dispositions<C: Connection>(conn: &C, rows: Vec<Disposition>) -> StoreResult<()> {
    for rows in rows.chunks(AT_ONCE) {
        let rows = rows.iter().cloned().map(dispositions::ActiveModel::from);
        dispositions::Entity::insert_many(rows).exec_without_returning(conn).await?;
    }
    Ok(())
}

/// Dispositions on revisions of a design, oldest first; of many the latest.
pub async fn dispositions<C: Connection>(
    conn: &C,
    design_id: Uuid,
    ordinals: Vec<i64>,
    limit: u64,
) -> StoreResult<Vec<Disposition>> {
    if ordinals.is_empty() {
        return Ok(Vec::new());
    }
    let query = dispositions::Entity::find()
        .filter(dispositions::Column::DesignId.eq(design_id))
        .filter(dispositions::Column::Ordinal.is_in(ordinals))
        .order_by_desc(dispositions::Column::Id);
    let mut rows = query.limit(limit).all(conn).await?;
    rows.reverse();
    Ok(rows)
}

/// Begins sums of one's own.
pub async fn insert_own_sums<C: Connection>(conn: &C, row: OwnSums) -> StoreResult<()> {
    own_sums::Entity::insert(own_sums::ActiveModel::from(row)).exec_without_returning(conn).await?;
    Ok(())
}

/// An account's sums of its own on a design that have not ended.
pub async fn open_own_sums<C: Connection>(conn: &C, design_id: Uuid, account_id: Uuid) -> StoreResult<Option<OwnSums>> {
    let query = own_sums::Entity::find()
        .filter(own_sums::Column::DesignId.eq(design_id))
        .filter(own_sums::Column::AccountId.eq(account_id))
        .filter(own_sums::Column::EndedAt.is_null())
        .order_by_asc(own_sums::Column::Id);
    Ok(query.one(conn).await?)
}

/// The designs on which an account has sums of its own that have not ended.
pub async fn designs_with_own_sums<C: Connection>(conn: &C, account_id: Uuid) -> StoreResult<BTreeSet<Uuid>> {
    let query = own_sums::Entity::find()
        .filter(own_sums::Column::AccountId.eq(account_id))
        .filter(own_sums::Column::EndedAt.is_null());
    Ok(query.all(conn).await?.into_iter().map(|row| row.design_id).collect())
}

/// Everybody's sums of their own on a design, newest first.
pub async fn own_sums<C: Connection>(conn: &C, design_id: Uuid, limit: u64) -> StoreResult<Vec<OwnSums>> {
    let query =
        own_sums::Entity::find().filter(own_sums::Column::DesignId.eq(design_id)).order_by_desc(own_sums::Column::Id);
    Ok(query.limit(limit).all(conn).await?)
}

/// Ends sums of one's own: how (a word) and why.
pub async fn end_own_sums<C: Connection>(conn: &C, id: Uuid, how: &str, reason: &str, now: i64) -> StoreResult<()> {
    own_sums::Entity::update_many()
        .col_expr(own_sums::Column::EndedAt, Expr::value(now))
        .col_expr(own_sums::Column::EndedHow, Expr::value(how))
        .col_expr(own_sums::Column::Reason, Expr::value(reason))
        .filter(own_sums::Column::Id.eq(id))
        .exec(conn)
        .await?;
    Ok(())
}
