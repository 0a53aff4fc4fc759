//! Remarks and their entries.

use super::entity::{remark_entries, remark_standings, remarks};
use super::standings::sub_query;
use super::{Connection, StoreResult};
use sea_orm::sea_query::{CaseStatement, Expr, ExprTrait, Func, Order, Query, UnionType};
use sea_orm::{ColumnTrait, Condition, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use std::collections::BTreeMap;
use uuid::Uuid;

pub use remark_entries::Model as Entry;
pub use remarks::Model as Remark;

/// Writes a new remark.
pub async fn insert<C: Connection>(conn: &C, remark: Remark) -> StoreResult<()> {
    remarks::Entity::insert(remarks::ActiveModel::from(remark)).exec_without_returning(conn).await?;
    Ok(())
}

/// The remark of this id.
pub async fn by_id<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Remark>> {
    Ok(remarks::Entity::find_by_id(id).one(conn).await?)
}

/// The remark of this number within a design.
pub async fn by_number<C: Connection>(conn: &C, design_id: Uuid, number: i64) -> StoreResult<Option<Remark>> {
    let query = remarks::Entity::find()
        .filter(remarks::Column::DesignId.eq(design_id))
        .filter(remarks::Column::Number.eq(number));
    Ok(query.one(conn).await?)
}

/// Numbers of the remarks with these ids.
pub async fn numbers<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, i64>> {
    if ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let rows: Vec<(Uuid, i64)> = remarks::Entity::find()
        .select_only()
        .column(remarks::Column::Id)
        .column(remarks::Column::Number)
        .filter(remarks::Column::Id.is_in(ids))
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows.into_iter().collect())
}

/// Locks a remark for the transaction and gives it as it is now.
pub async fn for_update<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Remark>> {
    Ok(remarks::Entity::find_by_id(id).lock_exclusive().one(conn).await?)
}

/// Adds an entry and sets the state that follows from it.
pub async fn append<C: Connection>(conn: &C, entry: Entry, state: &str) -> StoreResult<()> {
    let (remark_id, number) = (entry.remark_id, entry.number);
    remark_entries::Entity::insert(remark_entries::ActiveModel::from(entry)).exec_without_returning(conn).await?;
    remarks::Entity::update_many()
        .col_expr(remarks::Column::State, Expr::value(state))
        .col_expr(remarks::Column::Entries, Expr::value(number))
        .filter(remarks::Column::Id.eq(remark_id))
        .exec(conn)
        .await?;
    Ok(())
}

/// Which remarks of a design are wanted.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// Only those made on this revision or later.
    pub from: i64,
    /// Only those made on this revision.
    pub ordinal: Option<i64>,
    /// Only those in one of these states; empty: all.
    pub states: Vec<String>,
    /// Only those with a lesser number.
    pub before: Option<i64>,
    /// Only those made on this revision or an earlier one.
    pub made_by: Option<i64>,
    /// Only those that stand on this tag on the revision of this ordinal.
    pub on: Option<(String, i64)>,
}

/// Remarks of a design, newest first.
pub async fn page<C: Connection>(conn: &C, design_id: Uuid, wanted: &Wanted, limit: u64) -> StoreResult<Vec<Remark>> {
    let mut query = remarks::Entity::find().filter(remarks::Column::DesignId.eq(design_id));
    if wanted.from > 1 {
        query = query.filter(remarks::Column::Ordinal.gte(wanted.from));
    }
    if let Some(ordinal) = wanted.ordinal {
        query = query.filter(remarks::Column::Ordinal.eq(ordinal));
    }
    if !wanted.states.is_empty() {
        query = query.filter(remarks::Column::State.is_in(wanted.states.iter().map(String::as_str)));
    }
    if let Some(before) = wanted.before {
        query = query.filter(remarks::Column::Number.lt(before));
    }
    if let Some(made_by) = wanted.made_by {
        query = query.filter(remarks::Column::Ordinal.lte(made_by));
    }
    if let Some((tag, ordinal)) = &wanted.on {
        query = query.filter(stands_on(design_id, tag, *ordinal));
    }
    Ok(query.order_by_desc(remarks::Column::Number).limit(limit).all(conn).await?)
}

/// Remarks whose item has this tag on the revision of this ordinal. Looked for among those that ever stood on it; what is
/// gone stands on nothing.
fn stands_on(design_id: Uuid, tag: &str, ordinal: i64) -> Condition {
    use remark_standings::Column as S;
    let mut ever = Query::select()
        .column((remarks::Entity, remarks::Column::Id))
        .from(remarks::Entity)
        .and_where(Expr::col((remarks::Entity, remarks::Column::DesignId)).eq(design_id))
        .and_where(Expr::col((remarks::Entity, remarks::Column::PlaceTag)).eq(tag))
        .to_owned();
    let later = Query::select()
        .column(S::RemarkId)
        .from(remark_standings::Entity)
        .and_where(Expr::col(S::DesignId).eq(design_id))
        .and_where(Expr::col(S::Tag).eq(tag))
        .to_owned();
    ever.union(UnionType::Distinct, later);
    let there = CaseStatement::new().case(Expr::col(S::What).eq("gone"), "").finally(Expr::col(S::Tag));
    let now = Query::select()
        .expr(there)
        .from(remark_standings::Entity)
        .and_where(Expr::col((remark_standings::Entity, S::RemarkId)).equals((remarks::Entity, remarks::Column::Id)))
        .and_where(Expr::col((remark_standings::Entity, S::Ordinal)).lte(ordinal))
        .order_by((remark_standings::Entity, S::Ordinal), Order::Desc)
        .limit(1)
        .to_owned();
    let made_on = Expr::col((remarks::Entity, remarks::Column::PlaceTag));
    let tag_now = Func::coalesce([sub_query(now), made_on]);
    Condition::all().add(remarks::Column::Id.in_subquery(ever)).add(Expr::from(tag_now).eq(tag))
}

/// Entries of these remarks, oldest first within each.
pub async fn entries<C: Connection>(conn: &C, remark_ids: Vec<Uuid>) -> StoreResult<Vec<Entry>> {
    if remark_ids.is_empty() {
        return Ok(Vec::new());
    }
    let query = remark_entries::Entity::find()
        .filter(remark_entries::Column::RemarkId.is_in(remark_ids))
        .order_by_asc(remark_entries::Column::RemarkId)
        .order_by_asc(remark_entries::Column::Number);
    Ok(query.all(conn).await?)
}

/// How many remarks of a design, made on a revision from `from` on, are in one of these states: snags, or all others.
pub async fn count<C: Connection>(
    conn: &C,
    design_id: Uuid,
    from: i64,
    snags: bool,
    states: &[&str],
) -> StoreResult<i64> {
    let kind = remarks::Column::Kind;
    let count: Option<i64> = remarks::Entity::find()
        .select_only()
        .column_as(remarks::Column::Id.count(), "n")
        .filter(remarks::Column::DesignId.eq(design_id))
        .filter(remarks::Column::Ordinal.gte(from))
        .filter(if snags { kind.eq("snag") } else { kind.ne("snag") })
        .filter(remarks::Column::State.is_in(states.iter().copied()))
        .into_tuple()
        .one(conn)
        .await?;
    Ok(count.unwrap_or(0))
}

/// Snags made on a revision up to `ordinal` that are open or answered, oldest first.
pub async fn uncleared_snags<C: Connection>(
    conn: &C,
    design_id: Uuid,
    ordinal: i64,
    limit: u64,
) -> StoreResult<Vec<Remark>> {
    let query = remarks::Entity::find()
        .filter(remarks::Column::DesignId.eq(design_id))
        .filter(remarks::Column::Ordinal.lte(ordinal))
        .filter(remarks::Column::Kind.eq("snag"))
        .filter(remarks::Column::State.is_in(["open", "answered"]))
        .order_by_asc(remarks::Column::Number);
    Ok(query.limit(limit).all(conn).await?)
}

/// The last entry of a remark that does one of these acts.
pub async fn last_act<C: Connection>(conn: &C, remark_id: Uuid, acts: &[&str]) -> StoreResult<Option<Entry>> {
    let query = remark_entries::Entity::find()
        .filter(remark_entries::Column::RemarkId.eq(remark_id))
        .filter(remark_entries::Column::Act.is_in(acts.iter().copied()))
        .order_by_desc(remark_entries::Column::Number);
    Ok(query.one(conn).await?)
}
