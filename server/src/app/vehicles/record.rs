//! Recording a survey: by itself, or with the revision that states figures no survey has.

use super::{MOST_SURVEYS, MOST_VEHICLES, SurveyView, survey_views};
use crate::app::error::Fault;
use crate::app::names::text_faults;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::{App, AppError, AppResult, NOTE_BYTES, content, groups};
use crate::auth::Caller;
use crate::clock::{new_id, now_micros};
use crate::store::{WriteTx, events, vehicles};
use battenboard_engine::design::{Vehicle, vehicle_faults};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use uuid::Uuid;

/// A survey wanted.
#[derive(Clone, Debug)]
pub struct NewSurvey {
    /// Name of the group.
    pub group: String,
    /// The figures, with the vehicle's name.
    pub figures: Vehicle,
    /// What is said of it.
    pub note: String,
}

/// What became of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    /// The survey; where nothing changed, the latest.
    pub survey: SurveyView,
    /// True where the figures equal those of the latest.
    pub unchanged: bool,
}

#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Kept {
    id: Uuid,
    unchanged: bool,
}

/// Why there is no next survey.
enum Full {
    Vehicles,
    Surveys,
}

/// Who records a survey, and with what.
struct Author<'a> {
    account_id: Uuid,
    note: &'a str,
    /// Design and ordinal of the revision it comes with.
    came_with: Option<(Uuid, i64)>,
}

impl App {
    /// Records the next survey of a vehicle.
    ///
    /// # Errors
    /// Faults of the figures; [`AppError::NotFound`], [`AppError::NotAllowed`]; [`AppError::WrongState`] where there is no room
    /// for another.
    pub async fn record_survey(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewSurvey,
        request: RequestId,
    ) -> AppResult<Recorded> {
        // Rights first: who may not is not told what is wrong with his figures.
        groups::enter(self.store.read(), caller, &new.group).await?;
        let mut faults: Vec<Fault> = vehicle_faults(&new.figures).into_iter().map(Fault::from).collect();
        faults.extend(text_faults("note", &new.note, NOTE_BYTES, false));
        faults.extend(text_faults("request_id", &request.id, NOTE_BYTES, true));
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_survey(&by, new, &request).await };
        let kept = match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<Kept, _>(self.store.read()).await?.ok_or(error)?,
            other => other?,
        };
        let conn = self.store.read();
        let gone = || AppError::not_found("survey", "");
        let row = vehicles::survey(conn, kept.id).await?.ok_or_else(gone)?;
        let of = vehicles::by_ids(conn, vec![row.vehicle_id]).await?;
        let name = of.into_iter().next().map(|vehicle| vehicle.name).ok_or_else(gone)?;
        let survey = survey_views(conn, &name, vec![row]).await?.pop().ok_or_else(gone)?;
        Ok(Recorded { survey, unchanged: kept.unchanged })
    }

    async fn write_survey(&self, caller: &Caller, new: NewSurvey, request: &RequestId) -> AppResult<Kept> {
        let NewSurvey { group, figures, note } = new;
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        let (group, _) = groups::enter(&tx, caller, &group).await?;
        if let Some(kept) = request.find::<Kept, _>(&tx).await? {
            return Ok(kept);
        }
        let vehicle = lock(&tx, group.id, &figures.name, now).await?;
        let latest = vehicles::survey_of(&tx, vehicle.id, vehicle.latest_survey).await?;
        let content = content::write_figures(&figures);
        if let Some(latest) = latest.filter(|latest| latest.content_id == content.id) {
            let kept = Kept { id: latest.id, unchanged: true };
            request.keep(&tx, &kept).await?;
            self.store.commit(tx).await?;
            return Ok(kept);
        }
        let author = Author { account_id: caller.account_id, note: &note, came_with: None };
        let survey = match next(&tx, &vehicle, content, author, now).await? {
            Ok(survey) => survey,
            Err(full) => return Err(refusal(&full, &group.name, &vehicle.name)),
        };
        let kept = Kept { id: survey.id, unchanged: false };
        request.keep(&tx, &kept).await?;
        events::append(&tx, group.id, news(&survey), now).await?;
        self.store.commit(tx).await?;
        Ok(kept)
    }
}

fn refusal(full: &Full, group: &str, vehicle: &str) -> AppError {
    match full {
        Full::Vehicles => AppError::WrongState {
            what: format!("`{group}` has {MOST_VEHICLES} vehicles, there is no room for another"),
            reason: "VEHICLES_FULL",
        },
        Full::Surveys => AppError::WrongState {
            what: format!("`{vehicle}` has {MOST_SURVEYS} surveys, there is no room for another"),
            reason: "SURVEYS_FULL",
        },
    }
}

/// The vehicle's row, made if it is new, locked. For a first survey the group is locked before it, so that two new vehicles
/// are counted one after the other; the row is made before that, as a submit has made it when it comes here.
async fn lock(tx: &WriteTx, group_id: Uuid, name: &str, now: i64) -> AppResult<vehicles::Vehicle> {
    let known = vehicles::by_name_or_new(tx, group_id, name, now).await?;
    if known.latest_survey == 0 {
        vehicles::lock_group(tx, group_id).await?;
    }
    Ok(vehicles::for_update(tx, known.id).await?)
}

/// Writes the next survey of a locked vehicle, if there is room.
async fn next(
    tx: &WriteTx,
    vehicle: &vehicles::Vehicle,
    content: content::Content,
    author: Author<'_>,
    now: i64,
) -> AppResult<Result<vehicles::Survey, Full>> {
    if vehicle.latest_survey >= MOST_SURVEYS {
        return Ok(Err(Full::Surveys));
    }
    if vehicle.latest_survey == 0 && vehicles::count_surveyed(tx, vehicle.group_id).await? >= MOST_VEHICLES {
        return Ok(Err(Full::Vehicles));
    }
    let survey = vehicles::Survey {
        id: new_id(),
        vehicle_id: vehicle.id,
        number: vehicle.latest_survey + 1,
        body: content.body,
        content_id: content.id,
        note: author.note.to_owned(),
        author_id: author.account_id,
        design_id: author.came_with.map(|(design_id, _)| design_id),
        ordinal: author.came_with.map(|(_, ordinal)| ordinal),
        created_at: now,
    };
    vehicles::insert_survey(tx, survey.clone()).await?;
    Ok(Ok(survey))
}

/// What is told of a new survey: to the crew alone, so of no design.
pub fn news(survey: &vehicles::Survey) -> events::News {
    events::News {
        kind: "survey",
        actor_id: Some(survey.author_id),
        subject_id: Some(survey.id),
        ..events::News::default()
    }
}

/// The survey that a revision is drawn on, and whether it is new: the newest of its vehicle with the figures it states, else
/// the next one, recorded here. `None` where it states none, and where there is no room: that is no reason to refuse it.
///
/// # Errors
/// Those of the store.
pub async fn draw_on(
    tx: &WriteTx,
    group_id: Uuid,
    stated: &Vehicle,
    by: Uuid,
    revision: (Uuid, i64),
    now: i64,
) -> AppResult<Option<(vehicles::Survey, bool)>> {
    // A frame is checked less strictly than a survey: its vehicle may have no name, or nothing but one.
    if !vehicle_faults(stated).is_empty() {
        return Ok(None);
    }
    let content = content::write_figures(stated);
    if let Some(vehicle) = vehicles::by_name(tx, group_id, &stated.name).await?
        && let Some(found) = vehicles::with_figures(tx, vehicle.id, &content.id).await?
    {
        return Ok(Some((found, false)));
    }
    let vehicle = lock(tx, group_id, &stated.name, now).await?;
    // Somebody may have recorded the same meanwhile.
    if let Some(found) = vehicles::with_figures(tx, vehicle.id, &content.id).await? {
        return Ok(Some((found, false)));
    }
    let author = Author { account_id: by, note: "", came_with: Some(revision) };
    Ok(next(tx, &vehicle, content, author, now).await?.ok().map(|survey| (survey, true)))
}
