//! Build groups and their crew.

use super::entity::{accounts, crew, groups};
use super::{Connection, StoreError, StoreResult};
use sea_orm::sea_query::{Expr, Order};
use sea_orm::{ColumnTrait, EntityTrait, JoinType, QueryFilter, QueryOrder, QuerySelect, RelationDef};
use std::collections::BTreeSet;
use uuid::Uuid;

pub use crew::Model as Crew;
pub use groups::Model as Group;

/// Writes a new group.
///
/// # Errors
/// [`StoreError::Taken`] where the name is taken.
pub async fn insert<C: Connection>(conn: &C, group: Group) -> StoreResult<()> {
    groups::Entity::insert(groups::ActiveModel::from(group)).exec_without_returning(conn).await?;
    Ok(())
}

/// The group of this name.
pub async fn by_name<C: Connection>(conn: &C, name: &str) -> StoreResult<Option<Group>> {
    Ok(groups::Entity::find().filter(groups::Column::Name.eq(name)).one(conn).await?)
}

/// The group of this id.
pub async fn by_id<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Group>> {
    Ok(groups::Entity::find_by_id(id).one(conn).await?)
}

/// The groups of these ids; in no order.
pub async fn by_ids<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<Vec<Group>> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    Ok(groups::Entity::find().filter(groups::Column::Id.is_in(ids)).all(conn).await?)
}

/// Those of these groups that an account is in.
pub async fn entered_of<C: Connection>(conn: &C, account_id: Uuid, ids: Vec<Uuid>) -> StoreResult<BTreeSet<Uuid>> {
    if ids.is_empty() {
        return Ok(BTreeSet::new());
    }
    let query =
        crew::Entity::find().filter(crew::Column::AccountId.eq(account_id)).filter(crew::Column::GroupId.is_in(ids));
    Ok(query.all(conn).await?.into_iter().map(|entry| entry.group_id).collect())
}

/// Locks a group's row for the transaction, so that two keepers cannot both leave.
pub async fn lock<C: Connection>(conn: &C, id: Uuid) -> StoreResult<()> {
    groups::Entity::find_by_id(id).lock_exclusive().one(conn).await?;
    Ok(())
}

/// The groups an account is in with its role, by name, after `after`.
pub async fn page<C: Connection>(
    conn: &C,
    account_id: Uuid,
    after: Option<&str>,
    limit: u64,
) -> StoreResult<Vec<(Group, String)>> {
    let to_group: RelationDef =
        crew::Entity::belongs_to(groups::Entity).from(crew::Column::GroupId).to(groups::Column::Id).into();
    let mut query = groups::Entity::find()
        .join(JoinType::InnerJoin, to_group.rev())
        .select_also(crew::Entity)
        .filter(crew::Column::AccountId.eq(account_id));
    if let Some(after) = after {
        query = query.filter(groups::Column::Name.gt(after));
    }
    let rows = query.order_by_asc(groups::Column::Name).limit(limit).all(conn).await?;
    Ok(rows.into_iter().filter_map(|(group, crew)| Some((group, crew?.role))).collect())
}

/// The role of an account in a group.
pub async fn role<C: Connection>(conn: &C, group_id: Uuid, account_id: Uuid) -> StoreResult<Option<Crew>> {
    Ok(crew::Entity::find_by_id((group_id, account_id)).one(conn).await?)
}

/// Brings an account into a group.
///
/// # Errors
/// [`StoreError::Taken`] where it is in it already.
pub async fn insert_crew<C: Connection>(conn: &C, entry: Crew) -> StoreResult<()> {
    crew::Entity::insert(crew::ActiveModel::from(entry)).exec_without_returning(conn).await?;
    Ok(())
}

/// Gives one of the crew another role.
pub async fn set_role<C: Connection>(conn: &C, group_id: Uuid, account_id: Uuid, role: &str) -> StoreResult<()> {
    crew::Entity::update_many()
        .col_expr(crew::Column::Role, Expr::value(role))
        .filter(crew::Column::GroupId.eq(group_id))
        .filter(crew::Column::AccountId.eq(account_id))
        .exec(conn)
        .await?;
    Ok(())
}

/// Takes an account out of a group.
pub async fn remove_crew<C: Connection>(conn: &C, group_id: Uuid, account_id: Uuid) -> StoreResult<()> {
    crew::Entity::delete_by_id((group_id, account_id)).exec(conn).await?;
    Ok(())
}

/// How many of a group's crew have a role.
pub async fn count_role<C: Connection>(conn: &C, group_id: Uuid, role: &str) -> StoreResult<u64> {
    let count: Option<i64> = crew::Entity::find()
        .select_only()
        .column_as(crew::Column::AccountId.count(), "n")
        .filter(crew::Column::GroupId.eq(group_id))
        .filter(crew::Column::Role.eq(role))
        .into_tuple()
        .one(conn)
        .await?;
    u64::try_from(count.unwrap_or(0))
        .map_err(|error| StoreError::Unreadable { what: "count", cause: error.to_string() })
}

/// A group's crew with their names, by name, after `after`.
pub async fn crew_page<C: Connection>(
    conn: &C,
    group_id: Uuid,
    after: Option<&str>,
    limit: u64,
) -> StoreResult<Vec<(Crew, String)>> {
    let to_account: RelationDef =
        crew::Entity::belongs_to(accounts::Entity).from(crew::Column::AccountId).to(accounts::Column::Id).into();
    let mut query = crew::Entity::find()
        .join(JoinType::InnerJoin, to_account)
        .select_also(accounts::Entity)
        .filter(crew::Column::GroupId.eq(group_id));
    if let Some(after) = after {
        query = query.filter(accounts::Column::Name.gt(after));
    }
    let rows = query.order_by(accounts::Column::Name, Order::Asc).limit(limit).all(conn).await?;
    Ok(rows.into_iter().filter_map(|(entry, account)| Some((entry, account?.name))).collect())
}
