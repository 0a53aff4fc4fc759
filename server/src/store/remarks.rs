//! Remarks and their entries.

use super::entity::{remark_entries, remarks};
use super::{Connection, StoreResult};
use sea_orm::sea_query::Expr;
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
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
    /// Only those made on this revision.
    pub ordinal: Option<i64>,
    /// Only those in one of these states; empty: all.
    pub states: Vec<String>,
    /// Only those with a lesser number.
    pub before: Option<i64>,
}

/// Remarks of a design, newest first.
pub async fn page<C: Connection>(conn: &C, design_id: Uuid, wanted: &Wanted, limit: u64) -> StoreResult<Vec<Remark>> {
    let mut query = remarks::Entity::find().filter(remarks::Column::DesignId.eq(design_id));
    if let Some(ordinal) = wanted.ordinal {
        query = query.filter(remarks::Column::Ordinal.eq(ordinal));
    }
    if !wanted.states.is_empty() {
        query = query.filter(remarks::Column::State.is_in(wanted.states.iter().map(String::as_str)));
    }
    if let Some(before) = wanted.before {
        query = query.filter(remarks::Column::Number.lt(before));
    }
    Ok(query.order_by_desc(remarks::Column::Number).limit(limit).all(conn).await?)
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

/// The last entry of a remark that does one of these acts.
pub async fn last_act<C: Connection>(conn: &C, remark_id: Uuid, acts: &[&str]) -> StoreResult<Option<Entry>> {
    let query = remark_entries::Entity::find()
        .filter(remark_entries::Column::RemarkId.eq(remark_id))
        .filter(remark_entries::Column::Act.is_in(acts.iter().copied()))
        .order_by_desc(remark_entries::Column::Number);
    Ok(query.one(conn).await?)
}
