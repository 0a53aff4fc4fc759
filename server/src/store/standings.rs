//! How remarks stand on later revisions: the changes of it, what each was made on, and how far a design's were carried.

use super::entity::{carried_designs, remark_origins, remark_standings, remarks};
use super::{Connection, StoreResult};
use sea_orm::sea_query::{Alias, Expr, ExprTrait, Func, JoinType, OnConflict, Order, Query, SelectStatement};
use sea_orm::{ColumnTrait, DbBackend, EntityTrait, FromQueryResult, QueryFilter, QueryOrder, QuerySelect};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

pub use remark_standings::Model as Standing;

/// Rows written by one statement: SQLite takes 32,766 values in one.
const ROWS_AT_ONCE: usize = 500;

/// Where a remark was placed, without what it says.
#[derive(Clone, Debug, PartialEq, FromQueryResult)]
pub struct Placed {
    pub id: Uuid,
    pub number: i64,
    pub ordinal: i64,
    pub place_kind: String,
    pub place_tag: String,
    pub at_mm: Option<f64>,
}

/// Places of a design's remarks by number, after `after`.
pub async fn placed<C: Connection>(conn: &C, design_id: Uuid, after: i64, limit: u64) -> StoreResult<Vec<Placed>> {
    use remarks::Column as R;
    let query = remarks::Entity::find()
        .select_only()
        .columns([R::Id, R::Number, R::Ordinal, R::PlaceKind, R::PlaceTag, R::AtMm])
        .filter(R::DesignId.eq(design_id))
        .filter(R::Number.gt(after))
        .order_by_asc(R::Number)
        .limit(limit)
        .into_model::<Placed>();
    Ok(query.all(conn).await?)
}

/// Writes standings; those that are there already stay, since they are the same: they follow from what never changes.
pub async fn insert<C: Connection>(conn: &C, rows: Vec<Standing>) -> StoreResult<()> {
    use remark_standings::Column as S;
    let mut rows = rows.into_iter().map(remark_standings::ActiveModel::from).peekable();
    while rows.peek().is_some() {
        let some: Vec<_> = rows.by_ref().take(ROWS_AT_ONCE).collect();
        let conflict = OnConflict::columns([S::RemarkId, S::Ordinal]).do_nothing().to_owned();
        remark_standings::Entity::insert_many(some).on_conflict(conflict).exec_without_returning(conn).await?;
    }
    Ok(())
}

/// How each of these remarks stands on the revision of this ordinal; those that stand as they were made have no row.
pub async fn latest<C: Connection>(
    conn: &C,
    remark_ids: Vec<Uuid>,
    ordinal: i64,
) -> StoreResult<BTreeMap<Uuid, Standing>> {
    if remark_ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let query = match conn.get_database_backend() {
        DbBackend::Postgres => last_rows_lateral(remark_ids, ordinal),
        _ => last_rows(remark_ids, ordinal),
    };
    let rows = conn.query_all(&query).await?;
    let rows = rows.iter().map(|row| Standing::from_query_result(row, "")).collect::<Result<Vec<_>, _>>()?;
    Ok(rows.into_iter().map(|row| (row.remark_id, row)).collect())
}

const STANDING: [remark_standings::Column; 8] = {
    use remark_standings::Column as S;
    [S::RemarkId, S::Ordinal, S::DesignId, S::What, S::Tag, S::AtMm, S::Detail, S::Number]
};

/// From each remark to its one row: a remark that changed a hundred times costs no more than one that did once.
fn last_rows(remark_ids: Vec<Uuid>, ordinal: i64) -> SelectStatement {
    use remark_standings::Column as S;
    let on = Expr::col((remark_standings::Entity, S::RemarkId))
        .equals((remarks::Entity, remarks::Column::Id))
        .and(Expr::col((remark_standings::Entity, S::Ordinal)).eq(last_ordinal(ordinal)));
    Query::select()
        .columns(STANDING.map(|column| (remark_standings::Entity, column)))
        .from(remarks::Entity)
        .inner_join(remark_standings::Entity, on)
        .and_where(Expr::col((remarks::Entity, remarks::Column::Id)).is_in(remark_ids))
        .to_owned()
}

/// The same for PostgreSQL, which is free to take the join above the other way round and, while it has no statistics of a
/// table that has just grown, does: 30 ms in place of 3 with 1,000 remarks. SQLite has no such join.
fn last_rows_lateral(remark_ids: Vec<Uuid>, ordinal: i64) -> SelectStatement {
    use remark_standings::Column as S;
    let last = Alias::new("last");
    let row = Query::select()
        .columns(STANDING)
        .from(remark_standings::Entity)
        .and_where(Expr::col((remark_standings::Entity, S::RemarkId)).equals((remarks::Entity, remarks::Column::Id)))
        .and_where(Expr::col((remark_standings::Entity, S::Ordinal)).lte(ordinal))
        .order_by((remark_standings::Entity, S::Ordinal), Order::Desc)
        .limit(1)
        .to_owned();
    Query::select()
        .columns(STANDING.map(|column| (last.clone(), column)))
        .from(remarks::Entity)
        .join_lateral(JoinType::InnerJoin, row, last, Expr::val(true))
        .and_where(Expr::col((remarks::Entity, remarks::Column::Id)).is_in(remark_ids))
        .to_owned()
}

/// Ordinal of the last row, up to one ordinal, of the remark of a query's row; NULL where it has none.
pub(super) fn last_ordinal(ordinal: i64) -> Expr {
    use remark_standings::Column as S;
    let other = Alias::new("other");
    let query = Query::select()
        .expr(Func::max(Expr::col((other.clone(), S::Ordinal))))
        .from_as(remark_standings::Entity, other.clone())
        .and_where(Expr::col((other.clone(), S::RemarkId)).equals((remarks::Entity, remarks::Column::Id)))
        .and_where(Expr::col((other, S::Ordinal)).lte(ordinal))
        .to_owned();
    Expr::SubQuery(None, Box::new(query.into()))
}

/// Writes what remarks were made on; what is there already stays.
pub async fn insert_origins<C: Connection>(conn: &C, rows: Vec<(Uuid, Vec<u8>)>) -> StoreResult<()> {
    let row = |(remark_id, body)| remark_origins::ActiveModel::from(remark_origins::Model { remark_id, body });
    let mut rows = rows.into_iter().map(row).peekable();
    while rows.peek().is_some() {
        let some: Vec<_> = rows.by_ref().take(ROWS_AT_ONCE).collect();
        let conflict = OnConflict::column(remark_origins::Column::RemarkId).do_nothing().to_owned();
        remark_origins::Entity::insert_many(some).on_conflict(conflict).exec_without_returning(conn).await?;
    }
    Ok(())
}

/// What these remarks were made on.
pub async fn origins<C: Connection>(conn: &C, remark_ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, Vec<u8>>> {
    if remark_ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let query = remark_origins::Entity::find().filter(remark_origins::Column::RemarkId.is_in(remark_ids));
    Ok(query.all(conn).await?.into_iter().map(|row| (row.remark_id, row.body)).collect())
}

/// Those of these remarks of which it is stored what they were made on.
pub async fn with_origin<C: Connection>(conn: &C, remark_ids: Vec<Uuid>) -> StoreResult<BTreeSet<Uuid>> {
    if remark_ids.is_empty() {
        return Ok(BTreeSet::new());
    }
    let ids: Vec<Uuid> = remark_origins::Entity::find()
        .select_only()
        .column(remark_origins::Column::RemarkId)
        .filter(remark_origins::Column::RemarkId.is_in(remark_ids))
        .into_tuple()
        .all(conn)
        .await?;
    Ok(ids.into_iter().collect())
}

/// The revision up to which a design's remarks were carried; 0: none.
pub async fn carried_to<C: Connection>(conn: &C, design_id: Uuid) -> StoreResult<i64> {
    let row = carried_designs::Entity::find_by_id(design_id).one(conn).await?;
    Ok(row.map_or(0, |row| row.ordinal))
}

/// Says up to which revision a design's remarks were carried.
pub async fn set_carried<C: Connection>(conn: &C, design_id: Uuid, ordinal: i64) -> StoreResult<()> {
    let row = carried_designs::Model { design_id, ordinal };
    let mut conflict = OnConflict::column(carried_designs::Column::DesignId);
    conflict.update_column(carried_designs::Column::Ordinal);
    carried_designs::Entity::insert(carried_designs::ActiveModel::from(row))
        .on_conflict(conflict)
        .exec_without_returning(conn)
        .await?;
    Ok(())
}

/// Makes a design as a release before this left it: of its remarks nothing is stored but where they were made. With an
/// ordinal: that was so from the revision after it on.
#[cfg(test)]
pub async fn forget_for_tests<C: Connection>(conn: &C, design_id: Uuid, after: Option<i64>) -> StoreResult<()> {
    use remark_standings::Column as S;
    let ordinal = after.unwrap_or(0);
    let later = S::DesignId.eq(design_id).and(S::Ordinal.gt(ordinal));
    remark_standings::Entity::delete_many().filter(later).exec(conn).await?;
    if after.is_some() {
        return set_carried(conn, design_id, ordinal).await;
    }
    carried_designs::Entity::delete_by_id(design_id).exec(conn).await?;
    let ids: Vec<Uuid> = placed(conn, design_id, 0, 10_000).await?.into_iter().map(|one| one.id).collect();
    remark_origins::Entity::delete_many().filter(remark_origins::Column::RemarkId.is_in(ids)).exec(conn).await?;
    Ok(())
}
