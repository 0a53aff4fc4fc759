//! Vehicles of a group and their surveys. Surveys are written once, never changed.

use super::entity::{groups, revisions, surveys, vehicle_surveys, vehicles};
use super::{Connection, StoreError, StoreResult};
use sea_orm::sea_query::{Expr, LockType, OnConflict, Query};
use sea_orm::{ColumnTrait, EntityTrait, PaginatorTrait, QueryFilter, QueryOrder, QuerySelect};
use std::collections::BTreeMap;
use uuid::Uuid;

pub use vehicle_surveys::Model as Survey;
pub use vehicles::Model as Vehicle;

/// A survey by its number, and the latest of the same vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Standing {
    /// Number of the survey.
    pub number: i64,
    /// Number of the latest.
    pub latest: i64,
    /// When the latest was recorded.
    pub latest_at: i64,
}

fn named(group_id: Uuid, name: &str) -> sea_orm::Select<vehicles::Entity> {
    vehicles::Entity::find().filter(vehicles::Column::GroupId.eq(group_id)).filter(vehicles::Column::Name.eq(name))
}

/// The vehicle of this name in a group, surveyed or not.
pub async fn by_name<C: Connection>(conn: &C, group_id: Uuid, name: &str) -> StoreResult<Option<Vehicle>> {
    Ok(named(group_id, name).one(conn).await?)
}

/// The same, made if it is new.
pub async fn by_name_or_new<C: Connection>(conn: &C, group_id: Uuid, name: &str, now: i64) -> StoreResult<Vehicle> {
    if let Some(found) = by_name(conn, group_id, name).await? {
        return Ok(found);
    }
    let id = crate::clock::new_id();
    let row = vehicles::Model { id, group_id, name: name.to_owned(), created_at: now, latest_survey: 0 };
    let conflict = OnConflict::columns([vehicles::Column::GroupId, vehicles::Column::Name]).do_nothing().to_owned();
    vehicles::Entity::insert(vehicles::ActiveModel::from(row))
        .on_conflict(conflict)
        .exec_without_returning(conn)
        .await?;
    by_name(conn, group_id, name).await?.ok_or_else(|| vanished("vehicle"))
}

/// Locks a vehicle's row for the transaction and gives it as it is now: survey numbers are taken under this lock. Rows that
/// refer to the vehicle or its group may be written meanwhile, else two submits that each wrote one would wait for each other.
pub async fn for_update<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Vehicle> {
    let found = vehicles::Entity::find_by_id(id).lock(LockType::NoKeyUpdate).one(conn).await?;
    found.ok_or_else(|| vanished("vehicle"))
}

/// Locks a group's row in the same way: its vehicles are counted under this lock.
pub async fn lock_group<C: Connection>(conn: &C, group_id: Uuid) -> StoreResult<()> {
    groups::Entity::find_by_id(group_id).lock(LockType::NoKeyUpdate).one(conn).await?;
    Ok(())
}

/// How many vehicles of a group were surveyed.
pub async fn count_surveyed<C: Connection>(conn: &C, group_id: Uuid) -> StoreResult<u64> {
    Ok(surveyed(group_id).count(conn).await?)
}

fn surveyed(group_id: Uuid) -> sea_orm::Select<vehicles::Entity> {
    vehicles::Entity::find().filter(vehicles::Column::GroupId.eq(group_id)).filter(vehicles::Column::LatestSurvey.gt(0))
}

/// Surveyed vehicles of a group, by name, after `after`.
pub async fn page<C: Connection>(
    conn: &C,
    group_id: Uuid,
    after: Option<&str>,
    limit: u64,
) -> StoreResult<Vec<Vehicle>> {
    let mut query = surveyed(group_id);
    if let Some(after) = after {
        query = query.filter(vehicles::Column::Name.gt(after));
    }
    Ok(query.order_by_asc(vehicles::Column::Name).limit(limit).all(conn).await?)
}

/// Writes the next survey of a vehicle whose row is locked.
///
/// # Errors
/// [`StoreError::Taken`] where the vehicle has one of this number.
pub async fn insert_survey<C: Connection>(conn: &C, survey: Survey) -> StoreResult<()> {
    vehicles::Entity::update_many()
        .col_expr(vehicles::Column::LatestSurvey, Expr::value(survey.number))
        .filter(vehicles::Column::Id.eq(survey.vehicle_id))
        .exec(conn)
        .await?;
    vehicle_surveys::Entity::insert(vehicle_surveys::ActiveModel::from(survey)).exec_without_returning(conn).await?;
    Ok(())
}

/// The survey of this id.
pub async fn survey<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Survey>> {
    Ok(vehicle_surveys::Entity::find_by_id(id).one(conn).await?)
}

/// The survey of this number of a vehicle.
pub async fn survey_of<C: Connection>(conn: &C, vehicle_id: Uuid, number: i64) -> StoreResult<Option<Survey>> {
    let query = vehicle_surveys::Entity::find()
        .filter(vehicle_surveys::Column::VehicleId.eq(vehicle_id))
        .filter(vehicle_surveys::Column::Number.eq(number));
    Ok(query.one(conn).await?)
}

/// The newest survey of a vehicle with these figures.
pub async fn with_figures<C: Connection>(conn: &C, vehicle_id: Uuid, content_id: &[u8]) -> StoreResult<Option<Survey>> {
    let query = vehicle_surveys::Entity::find()
        .filter(vehicle_surveys::Column::VehicleId.eq(vehicle_id))
        .filter(vehicle_surveys::Column::ContentId.eq(content_id.to_vec()))
        .order_by_desc(vehicle_surveys::Column::Number);
    Ok(query.one(conn).await?)
}

/// Surveys of a vehicle, newest first, before `before`.
pub async fn surveys<C: Connection>(
    conn: &C,
    vehicle_id: Uuid,
    before: Option<i64>,
    limit: u64,
) -> StoreResult<Vec<Survey>> {
    let mut query = vehicle_surveys::Entity::find().filter(vehicle_surveys::Column::VehicleId.eq(vehicle_id));
    if let Some(before) = before {
        query = query.filter(vehicle_surveys::Column::Number.lt(before));
    }
    Ok(query.order_by_desc(vehicle_surveys::Column::Number).limit(limit).all(conn).await?)
}

/// When the latest survey of each of these vehicles was recorded, by vehicle.
pub async fn latest_times<C: Connection>(conn: &C, of: &[Vehicle]) -> StoreResult<BTreeMap<Uuid, i64>> {
    if of.is_empty() {
        return Ok(BTreeMap::new());
    }
    // Survey times of a vehicle rise with their numbers, and the greatest is the latest's.
    let rows: Vec<(Uuid, i64)> = vehicle_surveys::Entity::find()
        .select_only()
        .column(vehicle_surveys::Column::VehicleId)
        .column_as(vehicle_surveys::Column::CreatedAt.max(), "latest")
        .filter(vehicle_surveys::Column::VehicleId.is_in(of.iter().map(|vehicle| vehicle.id)))
        .group_by(vehicle_surveys::Column::VehicleId)
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows.into_iter().collect())
}

/// Vehicle and number of these surveys, by survey.
pub async fn numbers<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, (Uuid, i64)>> {
    if ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let rows: Vec<(Uuid, Uuid, i64)> = vehicle_surveys::Entity::find()
        .select_only()
        .columns([vehicle_surveys::Column::Id, vehicle_surveys::Column::VehicleId, vehicle_surveys::Column::Number])
        .filter(vehicle_surveys::Column::Id.is_in(ids))
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows.into_iter().map(|(id, vehicle_id, number)| (id, (vehicle_id, number))).collect())
}

/// The vehicles of these ids; in no order.
pub async fn by_ids<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<Vec<Vehicle>> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    Ok(vehicles::Entity::find().filter(vehicles::Column::Id.is_in(ids)).all(conn).await?)
}

/// These surveys, each beside the latest of its vehicle, by survey.
pub async fn standings<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, Standing>> {
    let numbers = numbers(conn, ids).await?;
    let mut of: Vec<Uuid> = numbers.values().map(|(vehicle_id, _)| *vehicle_id).collect();
    of.sort_unstable();
    of.dedup();
    let vehicles = by_ids(conn, of).await?;
    let times = latest_times(conn, &vehicles).await?;
    let latest: BTreeMap<Uuid, i64> = vehicles.into_iter().map(|row| (row.id, row.latest_survey)).collect();
    let standing = |(id, (vehicle_id, number)): (Uuid, (Uuid, i64))| {
        let (latest, latest_at) = (*latest.get(&vehicle_id)?, *times.get(&vehicle_id)?);
        Some((id, Standing { number, latest, latest_at }))
    };
    Ok(numbers.into_iter().filter_map(standing).collect())
}

/// Designs of which a revision was ever submitted for a vehicle; at most `limit`, by id.
pub async fn designs_of<C: Connection>(conn: &C, vehicle_id: Uuid, limit: u64) -> StoreResult<Vec<Uuid>> {
    let stated = Query::select()
        .column(surveys::Column::Id)
        .from(surveys::Entity)
        .and_where(surveys::Column::VehicleId.eq(vehicle_id))
        .to_owned();
    let query = revisions::Entity::find()
        .select_only()
        .column(revisions::Column::DesignId)
        .filter(revisions::Column::SurveyId.in_subquery(stated))
        .group_by(revisions::Column::DesignId)
        .order_by_asc(revisions::Column::DesignId)
        .limit(limit);
    Ok(query.into_tuple().all(conn).await?)
}

/// The vehicle of each of these stated numbers (`revisions.survey_id`), by that.
pub async fn of_stated<C: Connection>(conn: &C, survey_ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, Uuid>> {
    if survey_ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let rows = surveys::Entity::find().filter(surveys::Column::Id.is_in(survey_ids)).all(conn).await?;
    Ok(rows.into_iter().map(|row| (row.id, row.vehicle_id)).collect())
}

fn vanished(what: &'static str) -> StoreError {
    StoreError::Unreadable { what, cause: "its row went away within a transaction".into() }
}
