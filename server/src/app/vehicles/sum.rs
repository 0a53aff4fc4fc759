//! What all frames of a vehicle weigh together, and what they do to its axles by its latest survey.

use super::surveyed;
use crate::app::error::AppResult;
use crate::app::{App, AppError, content, groups};
use crate::auth::Caller;
use crate::store::{self, Connection, cutting, designs, revisions, vehicles};
use battenboard_engine::design::{Frame, Vehicle};
use battenboard_engine::findings::AxleLine;
use battenboard_engine::mass::{self, Brought, axles};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use uuid::Uuid;

/// Most designs of a vehicle that are reckoned: each is read and made a frame of anew.
const MOST: usize = 50;
/// Designs that are looked at: some may have gone to another vehicle since.
const MOST_LOOKED_AT: u64 = 200;
/// Stamps of a design that are looked through for the one that stands.
const MOST_STAMPS: u64 = 500;
/// As-built records of a design that are looked through for one before the survey.
const MOST_BUILT: u64 = 100;

/// A design of the vehicle by the revision that counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Aboard {
    /// Name of the design.
    pub design: String,
    /// The revision: the one issued for cutting, else the latest.
    pub ordinal: i64,
    /// True where it is issued for cutting.
    pub issued: bool,
    /// Number of the survey it is drawn on.
    pub survey: Option<i64>,
    /// Frame with fixings and bedding, and gear, kg; `None`: kept from the caller, or not to be reckoned.
    pub masses_kg: Option<[f64; 2]>,
    /// True where its figures are kept from the caller.
    pub withheld: bool,
    /// True where this server can't reckon it any more.
    pub not_reckoned: bool,
    /// True where it was recorded as built before the latest survey.
    pub built_before_survey: bool,
}

/// What they come to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Totals {
    /// Frames with fixings and bedding, kg.
    pub frames_kg: f64,
    /// Gear, kg.
    pub gear_kg: f64,
    /// Passengers, kg.
    pub passengers_kg: f64,
    /// All with what was weighed, kg.
    pub total_kg: Option<f64>,
    /// Left to the permissible mass, kg.
    pub payload_left_kg: Option<f64>,
    /// Axle loads in each load state.
    pub axles: Vec<AxleLine>,
}

/// The frames of a vehicle and their sums.
#[derive(Clone, Debug, PartialEq)]
pub struct MassSum {
    /// Name of the group.
    pub group: String,
    /// Name of the vehicle.
    pub vehicle: String,
    /// Number of the survey that they are by.
    pub survey: i64,
    /// When that was recorded.
    pub survey_at: i64,
    /// The designs, by name.
    pub frames: Vec<Aboard>,
    /// True where there are more.
    pub more_frames: bool,
    /// `None` where nothing is summed: more frames, one that can't be reckoned, or one that is kept from the caller.
    pub totals: Option<Totals>,
    /// What was weighed, kg.
    pub weighed_kg: Option<f64>,
    /// What of the survey's figures is missing, as field names.
    pub missing: Vec<String>,
    /// Least payload of a motor caravan, kg.
    pub least_payload_kg: Option<f64>,
    /// Gear of the same name in more than one design.
    pub gear_named_twice: Vec<String>,
}

/// A design with the heading of the revision that counts.
struct Counted {
    design: designs::Design,
    heading: revisions::Heading,
    issued: bool,
}

/// A frame reckoned, with the names of its gear.
struct Reckoned {
    brought: Brought,
    gear: BTreeSet<String>,
}

impl App {
    /// What the frames of a vehicle come to.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::ShuttingDown`].
    pub async fn sum_vehicle_masses(&self, caller: &Caller, group: &str, name: &str) -> AppResult<MassSum> {
        let conn = self.store.read();
        let (group, _) = groups::enter(conn, caller, group).await?;
        let vehicle = surveyed(conn, group.id, name).await?;
        let survey = vehicles::survey_of(conn, vehicle.id, vehicle.latest_survey).await?;
        let survey = survey.ok_or_else(|| AppError::internal("a vehicle lacks its latest survey"))?;
        let figures = content::read_figures(&survey.body)?;
        let mut counted = counted(conn, vehicle.id).await?;
        let more_frames = counted.len() > MOST;
        counted.truncate(MOST);
        let withheld = store::reviews::designs_with_own_sums(conn, caller.account_id).await?;
        let drawn_on = counted.iter().filter_map(|one| one.heading.vehicle_survey_id).collect();
        let numbers = vehicles::numbers(conn, drawn_on).await?;
        let (mut frames, mut brought, mut gear) = (Vec::new(), Vec::new(), BTreeMap::<String, usize>::new());
        for one in counted {
            let reckoned = self.reckon(&one).await?;
            let kept = withheld.contains(&one.design.id);
            let shown = reckoned.as_ref().filter(|_| !kept);
            let built = cutting::as_builts(conn, one.design.id, None, MOST_BUILT).await?;
            frames.push(Aboard {
                ordinal: one.heading.ordinal,
                issued: one.issued,
                survey: one.heading.vehicle_survey_id.and_then(|id| numbers.get(&id)).map(|(_, number)| *number),
                masses_kg: shown.map(|it| [it.brought.own_kg(), it.brought.stowage.mass_kg]),
                withheld: kept,
                not_reckoned: reckoned.is_none(),
                built_before_survey: built.iter().any(|record| record.created_at < survey.created_at),
                design: one.design.name,
            });
            if let Some(Reckoned { brought: one, gear: names }) = reckoned {
                brought.push(one);
                names.into_iter().for_each(|name| *gear.entry(name).or_default() += 1);
            }
        }
        let whole = !more_frames && !frames.iter().any(|frame| frame.withheld || frame.not_reckoned);
        let (axles, missing) = mass::together(&figures, &brought);
        Ok(MassSum {
            group: group.name,
            vehicle: vehicle.name,
            survey: survey.number,
            survey_at: survey.created_at,
            frames,
            more_frames,
            totals: whole.then(|| totals(&figures, &brought, axles)),
            weighed_kg: weighed(&figures),
            missing,
            least_payload_kg: axles::least_payload_kg(&figures),
            gear_named_twice: gear.into_iter().filter(|(_, count)| *count > 1).map(|(name, _)| name).collect(),
        })
    }

    /// Reckons a revision's masses from what is stored of it; `None` where this release can't.
    async fn reckon(&self, one: &Counted) -> AppResult<Option<Reckoned>> {
        let Some(revision) = revisions::by_id(self.store.read(), one.heading.id).await? else { return Ok(None) };
        let permit = Arc::clone(&self.readers).acquire_owned().await.map_err(|_| AppError::ShuttingDown)?;
        let work = move || {
            let _permit = permit;
            let design = content::read(revision.body_format, &revision.body).ok()?;
            let frame = Frame::new(&design).ok()?;
            let gear = design.stowage.into_iter().map(|item| item.name).collect();
            Some(Reckoned { brought: mass::brought(&frame), gear })
        };
        tokio::task::spawn_blocking(work).await.map_err(AppError::internal)
    }
}

/// The designs of a vehicle by name, each by the revision that counts; one more than [`MOST`] where there are more.
async fn counted<C: Connection>(conn: &C, vehicle_id: Uuid) -> AppResult<Vec<Counted>> {
    let ids = vehicles::designs_of(conn, vehicle_id, MOST_LOOKED_AT).await?;
    let mut counting = Vec::new();
    for design in designs::by_ids(conn, ids).await? {
        let stamps = cutting::stamps(conn, design.id, None, MOST_STAMPS).await?;
        let issued = stamps.iter().find(|stamp| stamp.taken_back_at.is_none()).map(|stamp| stamp.ordinal);
        counting.push((issued.unwrap_or(design.latest_ordinal), issued.is_some(), design));
    }
    let wanted: Vec<_> = counting.iter().map(|(ordinal, _, design)| (design.id, *ordinal)).collect();
    let headings = revisions::latest(conn, &wanted).await?;
    let of = vehicles::of_stated(conn, headings.iter().map(|heading| heading.survey_id).collect()).await?;
    // A design may have been drawn for another vehicle before or since.
    let ours = headings.into_iter().filter(|heading| of.get(&heading.survey_id) == Some(&vehicle_id));
    let mut by_design: BTreeMap<Uuid, revisions::Heading> = ours.map(|heading| (heading.design_id, heading)).collect();
    let mut found: Vec<Counted> = counting
        .into_iter()
        .filter_map(|(_, issued, design)| Some(Counted { heading: by_design.remove(&design.id)?, design, issued }))
        .collect();
    found.sort_by(|a, b| a.design.name.cmp(&b.design.name));
    Ok(found)
}

fn weighed(figures: &Vehicle) -> Option<f64> {
    Some(figures.weighed_front_kg? + figures.weighed_rear_kg?)
}

fn totals(figures: &Vehicle, brought: &[Brought], axles: Vec<AxleLine>) -> Totals {
    let frames_kg: f64 = brought.iter().map(Brought::own_kg).sum();
    let gear_kg: f64 = brought.iter().map(|one| one.stowage.mass_kg).sum();
    let passengers_kg: f64 = figures.seats.iter().map(|seat| seat.mass_kg).sum();
    let total_kg = weighed(figures).map(|weighed| weighed + frames_kg + gear_kg + passengers_kg);
    let payload_left_kg = figures.gross_limit_kg.zip(total_kg).map(|(limit, total)| limit - total);
    Totals { frames_kg, gear_kg, passengers_kg, total_kg, payload_left_kg, axles }
}
