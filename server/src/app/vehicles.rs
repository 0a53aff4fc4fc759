//! Vehicles of a group and their numbered surveys, which several designs share.

mod record;
mod sum;

pub use record::{NewSurvey, draw_on, news};
pub use sum::{Aboard, MassSum};

use super::error::AppResult;
use super::{App, AppError, content, groups};
use crate::auth::Caller;
use crate::store::{self, Connection, designs, vehicles};
use battenboard_engine::design::Vehicle;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Most surveyed vehicles of a group.
pub const MOST_VEHICLES: u64 = 100;
/// Most surveys of a vehicle.
pub const MOST_SURVEYS: i64 = 100;

/// A surveyed vehicle as the crew see it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VehicleView {
    /// Name of its group.
    pub group: String,
    /// Its name.
    pub name: String,
    /// Number of its latest survey.
    pub latest: i64,
    /// When that was recorded.
    pub latest_at: i64,
}

/// A survey as the crew see it.
#[derive(Clone, Debug, PartialEq)]
pub struct SurveyView {
    /// The figures, with the vehicle's name and this survey's number.
    pub figures: Vehicle,
    /// Its number.
    pub number: i64,
    /// What was said of it.
    pub note: String,
    /// Account name of who recorded it.
    pub author: String,
    /// When.
    pub created_at: i64,
    /// Design and ordinal of the revision it came with, if with one.
    pub came_with: Option<(String, i64)>,
}

/// Views of surveys of one vehicle, in their order.
async fn survey_views<C: Connection>(
    conn: &C,
    vehicle: &str,
    rows: Vec<vehicles::Survey>,
) -> AppResult<Vec<SurveyView>> {
    let authors = store::accounts::names(conn, rows.iter().map(|row| row.author_id)).await?;
    let came_with = designs::by_ids(conn, rows.iter().filter_map(|row| row.design_id).collect()).await?;
    let names: BTreeMap<Uuid, String> = came_with.into_iter().map(|design| (design.id, design.name)).collect();
    let view = |row: vehicles::Survey| {
        let figures = content::read_figures(&row.body)?;
        let survey = u32::try_from(row.number).unwrap_or_default();
        Ok(SurveyView {
            figures: Vehicle { name: vehicle.to_owned(), survey, ..figures },
            number: row.number,
            note: row.note,
            author: authors.get(&row.author_id).cloned().unwrap_or_default(),
            created_at: row.created_at,
            came_with: row.design_id.and_then(|id| names.get(&id).cloned()).zip(row.ordinal),
        })
    };
    rows.into_iter().map(view).collect()
}

/// A surveyed vehicle of a group, by name.
async fn surveyed<C: Connection>(conn: &C, group_id: Uuid, name: &str) -> AppResult<vehicles::Vehicle> {
    let unknown = || AppError::not_found("vehicle", name.chars().take(40).collect::<String>());
    if name.contains('\0') {
        return Err(unknown());
    }
    let found = vehicles::by_name(conn, group_id, name).await?;
    found.filter(|row| row.latest_survey > 0).ok_or_else(unknown)
}

impl App {
    /// Surveyed vehicles of a group by name, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_vehicles(
        &self,
        caller: &Caller,
        group: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<VehicleView>, String)> {
        let conn = self.store.read();
        let (group, _) = groups::enter(conn, caller, group).await?;
        let page = self.pages.read(format!("vehicles of {}", group.id), size, token)?;
        let mut rows = vehicles::page(conn, group.id, page.after.as_deref(), page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |row| row.name.clone());
        let times = vehicles::latest_times(conn, &rows).await?;
        let view = |row: vehicles::Vehicle| VehicleView {
            group: group.name.clone(),
            latest_at: times.get(&row.id).copied().unwrap_or(row.created_at),
            name: row.name,
            latest: row.latest_survey,
        };
        Ok((rows.into_iter().map(view).collect(), next))
    }

    /// A vehicle with a page of its surveys, newest first, and the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn get_vehicle(
        &self,
        caller: &Caller,
        group: &str,
        name: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(VehicleView, Vec<SurveyView>, String)> {
        let conn = self.store.read();
        let (group, _) = groups::enter(conn, caller, group).await?;
        let row = surveyed(conn, group.id, name).await?;
        let page = self.pages.read(format!("surveys of {}", row.id), size, token)?;
        let mut rows = vehicles::surveys(conn, row.id, page.after_number()?, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |survey| survey.number.to_string());
        let times = vehicles::latest_times(conn, std::slice::from_ref(&row)).await?;
        let latest_at = times.get(&row.id).copied().unwrap_or(row.created_at);
        let surveys = survey_views(conn, &row.name, rows).await?;
        Ok((VehicleView { group: group.name, name: row.name, latest: row.latest_survey, latest_at }, surveys, next))
    }
}
