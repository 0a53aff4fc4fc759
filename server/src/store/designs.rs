//! Designs with their counters, and the vehicles they are built into.

use super::entity::{designs, surveys, vehicles};
use super::{Connection, StoreError, StoreResult};
use sea_orm::sea_query::{Expr, ExprTrait, OnConflict};
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use std::collections::BTreeMap;
use uuid::Uuid;

pub use designs::Model as Design;

/// Writes a new design unless the group has one of this name.
pub async fn insert_if_new<C: Connection>(conn: &C, design: Design) -> StoreResult<()> {
    let conflict = OnConflict::columns([designs::Column::GroupId, designs::Column::Name]).do_nothing().to_owned();
    designs::Entity::insert(designs::ActiveModel::from(design))
        .on_conflict(conflict)
        .exec_without_returning(conn)
        .await?;
    Ok(())
}

/// The design of this name in a group.
pub async fn by_name<C: Connection>(conn: &C, group_id: Uuid, name: &str) -> StoreResult<Option<Design>> {
    Ok(named(group_id, name).one(conn).await?)
}

/// The same, its row locked for the transaction: letters and remark numbers are taken under this lock.
pub async fn by_name_for_update<C: Connection>(conn: &C, group_id: Uuid, name: &str) -> StoreResult<Option<Design>> {
    Ok(named(group_id, name).lock_exclusive().one(conn).await?)
}

/// The design of this id, its row locked as above.
pub async fn by_id_for_update<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Design>> {
    Ok(designs::Entity::find_by_id(id).lock_exclusive().one(conn).await?)
}

fn named(group_id: Uuid, name: &str) -> sea_orm::Select<designs::Entity> {
    designs::Entity::find().filter(designs::Column::GroupId.eq(group_id)).filter(designs::Column::Name.eq(name))
}

/// The design of this id.
pub async fn by_id<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Design>> {
    Ok(designs::Entity::find_by_id(id).one(conn).await?)
}

/// The designs of these ids; in no order.
pub async fn by_ids<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<Vec<Design>> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    Ok(designs::Entity::find().filter(designs::Column::Id.is_in(ids)).all(conn).await?)
}

/// Locks a design's row for the transaction and gives it as it is now.
pub async fn for_update<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Design>> {
    Ok(designs::Entity::find_by_id(id).lock_exclusive().one(conn).await?)
}

/// Says who beyond its crew may see a design.
pub async fn set_visibility<C: Connection>(conn: &C, id: Uuid, visibility: &str) -> StoreResult<()> {
    designs::Entity::update_many()
        .col_expr(designs::Column::Visibility, Expr::value(visibility))
        .filter(designs::Column::Id.eq(id))
        .exec(conn)
        .await?;
    Ok(())
}

/// A group's designs, by name, after `after`.
pub async fn page<C: Connection>(
    conn: &C,
    group_id: Uuid,
    after: Option<&str>,
    limit: u64,
) -> StoreResult<Vec<Design>> {
    let mut query = designs::Entity::find().filter(designs::Column::GroupId.eq(group_id));
    if let Some(after) = after {
        query = query.filter(designs::Column::Name.gt(after));
    }
    Ok(query.order_by_asc(designs::Column::Name).limit(limit).all(conn).await?)
}

/// Takes the next ordinal of a design and sets its title.
pub async fn take_ordinal<C: Connection>(conn: &C, id: Uuid, title: &str) -> StoreResult<i64> {
    let rows = designs::Entity::update_many()
        .col_expr(designs::Column::LatestOrdinal, Expr::col(designs::Column::LatestOrdinal).add(1))
        .col_expr(designs::Column::Title, Expr::value(title))
        .filter(designs::Column::Id.eq(id))
        .exec_with_returning(conn)
        .await?;
    only(rows).map(|row| row.latest_ordinal)
}

/// Takes the next remark number of a design.
pub async fn take_remark_number<C: Connection>(conn: &C, id: Uuid) -> StoreResult<i64> {
    let rows = designs::Entity::update_many()
        .col_expr(designs::Column::LatestRemark, Expr::col(designs::Column::LatestRemark).add(1))
        .filter(designs::Column::Id.eq(id))
        .exec_with_returning(conn)
        .await?;
    only(rows).map(|row| row.latest_remark)
}

fn only(rows: Vec<Design>) -> StoreResult<Design> {
    rows.into_iter()
        .next()
        .ok_or(StoreError::Unreadable { what: "design", cause: "its row went away within a transaction".into() })
}

/// The id of the number that a design file states as the survey of its vehicle; both are written if they are new. Which
/// survey a revision names is another matter: see [`vehicles`](super::vehicles).
pub async fn survey<C: Connection>(
    conn: &C,
    group_id: Uuid,
    vehicle: &str,
    number: i64,
    now: i64,
) -> StoreResult<Uuid> {
    let find_vehicle = || {
        vehicles::Entity::find()
            .filter(vehicles::Column::GroupId.eq(group_id))
            .filter(vehicles::Column::Name.eq(vehicle))
            .one(conn)
    };
    let vehicle_id = match find_vehicle().await? {
        Some(row) => row.id,
        None => {
            let row = vehicles::Model {
                id: crate::clock::new_id(),
                group_id,
                name: vehicle.to_owned(),
                created_at: now,
                latest_survey: 0,
            };
            let conflict =
                OnConflict::columns([vehicles::Column::GroupId, vehicles::Column::Name]).do_nothing().to_owned();
            vehicles::Entity::insert(vehicles::ActiveModel::from(row))
                .on_conflict(conflict)
                .exec_without_returning(conn)
                .await?;
            find_vehicle().await?.ok_or_else(|| vanished("vehicle"))?.id
        }
    };
    let find_survey = || {
        surveys::Entity::find()
            .filter(surveys::Column::VehicleId.eq(vehicle_id))
            .filter(surveys::Column::Number.eq(number))
            .one(conn)
    };
    if let Some(row) = find_survey().await? {
        return Ok(row.id);
    }
    let row = surveys::Model { id: crate::clock::new_id(), vehicle_id, number, created_at: now };
    let conflict = OnConflict::columns([surveys::Column::VehicleId, surveys::Column::Number]).do_nothing().to_owned();
    surveys::Entity::insert(surveys::ActiveModel::from(row)).on_conflict(conflict).exec_without_returning(conn).await?;
    Ok(find_survey().await?.ok_or_else(|| vanished("survey"))?.id)
}

fn vanished(what: &'static str) -> StoreError {
    StoreError::Unreadable { what, cause: "its row went away within a transaction".into() }
}

/// Names of the vehicles that these surveys belong to, by survey.
pub async fn vehicle_names<C: Connection>(conn: &C, survey_ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, String>> {
    if survey_ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let surveys = surveys::Entity::find().filter(surveys::Column::Id.is_in(survey_ids)).all(conn).await?;
    let vehicle_ids: Vec<Uuid> = surveys.iter().map(|row| row.vehicle_id).collect();
    let vehicles = vehicles::Entity::find().filter(vehicles::Column::Id.is_in(vehicle_ids)).all(conn).await?;
    let names: BTreeMap<Uuid, String> = vehicles.into_iter().map(|row| (row.id, row.name)).collect();
    Ok(surveys.into_iter().filter_map(|row| Some((row.id, names.get(&row.vehicle_id)?.clone()))).collect())
}
