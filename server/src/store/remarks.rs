//! Remarks and their entries.

use super::entity::{remark_entries, remark_standings, remarks};
use super::standings::last_ordinal;
use super::{Connection, StoreResult};
use sea_orm::sea_query::{Alias, Expr, ExprTrait, Order, Query, SelectStatement, UnionType};
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

impl Wanted {
    /// All of it but the tag.
    fn apart_from_the_tag(&self, design_id: Uuid) -> Condition {
        use remarks::Column as R;
        Condition::all()
            .add(R::DesignId.eq(design_id))
            .add_option((self.from > 1).then(|| R::Ordinal.gte(self.from)))
            .add_option(self.ordinal.map(|ordinal| R::Ordinal.eq(ordinal)))
            .add_option((!self.states.is_empty()).then(|| R::State.is_in(self.states.iter().map(String::as_str))))
            .add_option(self.before.map(|before| R::Number.lt(before)))
            .add_option(self.made_by.map(|made_by| R::Ordinal.lte(made_by)))
    }
}

/// Remarks of a design, newest first.
pub async fn page<C: Connection>(conn: &C, design_id: Uuid, wanted: &Wanted, limit: u64) -> StoreResult<Vec<Remark>> {
    let mut query = remarks::Entity::find().filter(wanted.apart_from_the_tag(design_id));
    if let Some((tag, ordinal)) = &wanted.on {
        query = query.filter(remarks::Column::Id.in_subquery(stand_on(design_id, wanted, tag, *ordinal, limit)));
    }
    Ok(query.order_by_desc(remarks::Column::Number).limit(limit).all(conn).await?)
}

/// Ids among which are the newest so many remarks that stand on a tag on the revision of an ordinal: those that were made
/// on it and whose standing did not change by then, and those whose last change by then put them there. Each part is read
/// in the order of numbers and no further than the page goes, however many remarks stand on the tag.
fn stand_on(design_id: Uuid, wanted: &Wanted, tag: &str, ordinal: i64, limit: u64) -> SelectStatement {
    use remark_standings::Column as S;
    let of_remark = |column| Expr::col((remarks::Entity, column));
    let of_standing = |column| Expr::col((remark_standings::Entity, column));
    let made = Query::select()
        .column((remarks::Entity, remarks::Column::Id))
        .from(remarks::Entity)
        .cond_where(wanted.apart_from_the_tag(design_id))
        .and_where(of_remark(remarks::Column::PlaceTag).eq(tag))
        .and_where(last_ordinal(ordinal).is_null())
        .order_by((remarks::Entity, remarks::Column::Number), Order::Desc)
        .limit(limit)
        .to_owned();
    let put = Query::select()
        .column((remarks::Entity, remarks::Column::Id))
        .from(remark_standings::Entity)
        .inner_join(remarks::Entity, of_remark(remarks::Column::Id).equals((remark_standings::Entity, S::RemarkId)))
        .cond_where(wanted.apart_from_the_tag(design_id))
        .and_where(of_standing(S::DesignId).eq(design_id))
        .and_where(of_standing(S::Tag).eq(tag))
        .and_where(of_standing(S::What).ne("gone"))
        .and_where(of_standing(S::Ordinal).eq(last_ordinal(ordinal)))
        .to_owned();
    let numbered = put
        .clone()
        .and_where(of_standing(S::Number).is_not_null())
        .and_where_option(wanted.before.map(|before| of_standing(S::Number).lt(before)))
        .order_by((remark_standings::Entity, S::Number), Order::Desc)
        .limit(limit)
        .to_owned();
    // Rows of an earlier release have no number: those that it wrote while a server of this one ran, if any.
    let unnumbered = put.clone().and_where(of_standing(S::Number).is_null()).to_owned();
    let part = |query, name: &'static str| {
        Query::select().column(remarks::Column::Id).from_subquery(query, Alias::new(name)).to_owned()
    };
    part(made, "made")
        .union(UnionType::All, part(numbered, "numbered"))
        .union(UnionType::All, part(unnumbered, "unnumbered"))
        .to_owned()
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
