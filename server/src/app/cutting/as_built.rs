//! What was built and measured, beside what was computed.

use super::findings_now;
use crate::app::access::find;
use crate::app::error::Fault;
use crate::app::names::text_faults;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::runner::Failure;
use crate::app::tags::member_length_mm;
use crate::app::{App, AppError, AppResult, NOTE_BYTES, content};
use crate::auth::Caller;
use crate::clock::{new_id, now_micros};
use crate::store::{self, Connection, cutting, events, revisions};
use battenboard_engine::design::{Design, Frame};
use battenboard_engine::findings::WeightTable;
use battenboard_engine::proof::{Lasts, Press, ProofLoad, ProofResult, SAG_MAX_MM, SagWhen, Target};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use std::time::Duration;
use uuid::Uuid;

/// Measurements in one record.
const MOST: usize = 50;

/// What a mass was taken of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MassOf {
    /// The frame with its fixings, without bedding and gear.
    Frame,
    /// All of one stock.
    Stock(String),
    /// All of one kind of member.
    Kind(String),
}

/// A mass on the scales.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeasuredMass {
    /// Of what.
    pub of: MassOf,
    /// What the scales said.
    pub mass_kg: f64,
    /// What was computed.
    #[serde(skip)]
    pub computed_kg: Option<f64>,
}

/// A sag under a known mass.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeasuredSag {
    /// Member.
    pub tag: String,
    /// Place along it from its start.
    pub at_mm: f64,
    /// The mass that was put there.
    pub load_kg: f64,
    /// How much further it sagged than before.
    pub sag_mm: f64,
    /// What was computed for that mass alone, when it was recorded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub computed_mm: Option<f64>,
}

/// A record wanted.
#[derive(Clone, Debug)]
pub struct NewAsBuilt {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Letter of the revision that was built.
    pub letter: String,
    /// What was built otherwise than drawn.
    pub note: String,
    /// Masses.
    pub masses: Vec<MeasuredMass>,
    /// Sags.
    pub sags: Vec<MeasuredSag>,
}

/// A record as the crew see it.
#[derive(Clone, Debug, PartialEq)]
pub struct AsBuiltView {
    /// The revision.
    pub ordinal: i64,
    /// Account name of who recorded it.
    pub account: String,
    /// When.
    pub created_at: i64,
    /// What was built otherwise than drawn.
    pub note: String,
    /// Masses.
    pub masses: Vec<MeasuredMass>,
    /// Sags.
    pub sags: Vec<MeasuredSag>,
}

#[derive(Debug, Default, Serialize, Deserialize)]
struct Body {
    masses: Vec<MeasuredMass>,
    sags: Vec<MeasuredSag>,
}

#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Kept {
    id: Uuid,
}

impl NewAsBuilt {
    fn faults(&self, design: &Design) -> Vec<Fault> {
        let mut faults = text_faults("note", &self.note, NOTE_BYTES, false);
        if self.masses.len() + self.sags.len() > MOST {
            faults.push(Fault::of("masses", format!("at most {MOST} measurements go into one record")));
        }
        if self.note.trim().is_empty() && self.masses.is_empty() && self.sags.is_empty() {
            faults.push(Fault::of("note", "say what was built, or put a measurement in"));
        }
        let in_range = |path: String, value: f64, above: f64, most: f64| {
            let sound = value > above && value <= most;
            (!sound).then(|| Fault::of(path, format!("{value} is not over {above} and at most {most}")))
        };
        for (at, mass) in self.masses.iter().take(MOST).enumerate() {
            faults.extend(in_range(format!("masses[{at}].mass_kg"), mass.mass_kg, 0.0, 100_000.0));
            let known = match &mass.of {
                MassOf::Frame => true,
                MassOf::Stock(name) => design.stock.iter().any(|stock| stock.name == *name),
                MassOf::Kind(kind) => design.members.iter().any(|member| member.kind == *kind),
            };
            if !known {
                faults.push(Fault::of(format!("masses[{at}].name"), "this revision has none of that name"));
            }
        }
        for (at, sag) in self.sags.iter().take(MOST).enumerate() {
            faults.extend(in_range(format!("sags[{at}].load_kg"), sag.load_kg, 0.0, 10_000.0));
            faults.extend(in_range(format!("sags[{at}].sag_mm"), sag.sag_mm, -1e-9, 10_000.0));
            match member_length_mm(design, &sag.tag) {
                None => faults.push(Fault::of(format!("sags[{at}].tag"), "this revision has no such member")),
                Some(length) if !(0.0..=length).contains(&sag.at_mm) => {
                    let message = format!("the member is {length:.0} mm long");
                    faults.push(Fault::of(format!("sags[{at}].at_mm"), message));
                }
                Some(_) => {}
            }
        }
        faults
    }
}

impl App {
    /// Records what was built and measured.
    ///
    /// # Errors
    /// Faults of the record; [`AppError::NotFound`].
    pub async fn record_as_built(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewAsBuilt,
        request: RequestId,
    ) -> AppResult<AsBuiltView> {
        let mut faults = text_faults("letter", &new.letter, NOTE_BYTES, true);
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (group, design) = (new.group.clone(), new.design.clone());
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_as_built(&by, new, &request).await };
        let id = match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<Kept, _>(self.store.read()).await?.ok_or(error)?.id,
            other => other?,
        };
        let row = cutting::as_built(self.store.read(), id).await?;
        let view = self.as_built_view(row.ok_or_else(|| AppError::not_found("as-built record", ""))?).await?;
        Ok(view.seen(find(self.store.read(), caller, &group, &design).await?.access.withheld))
    }

    async fn write_as_built(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewAsBuilt,
        request: &RequestId,
    ) -> AppResult<Uuid> {
        let conn = self.store.read();
        let place = find(conn, caller, &new.group, &new.design).await?;
        let revision = place.revision(conn, place.ordinal(&new.letter)?).await?;
        let design = content::read(revision.body_format, &revision.body)?;
        let faults = new.faults(&design);
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let mut body = Body { masses: new.masses, sags: new.sags };
        self.compute_sags(caller, design, &mut body.sags).await?;
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        if let Some(Kept { id }) = request.find(&tx).await? {
            return Ok(id);
        }
        let place = find(&tx, caller, &new.group, &new.design).await?;
        let row = cutting::AsBuilt {
            id: new_id(),
            design_id: place.design.id,
            revision_id: revision.id,
            ordinal: revision.ordinal,
            account_id: caller.account_id,
            note: new.note,
            body: serde_json::to_vec(&body).map_err(AppError::internal)?,
            created_at: now,
        };
        let id = row.id;
        cutting::insert_as_built(&tx, row).await?;
        request.keep(&tx, &Kept { id }).await?;
        let news = events::News {
            kind: "as_built",
            actor_id: Some(caller.account_id),
            design_id: Some(place.design.id),
            ordinal: Some(revision.ordinal),
            subject_id: Some(id),
        };
        events::append(&tx, place.group.id, news, now).await?;
        self.store.commit(tx).await?;
        Ok(id)
    }

    /// Puts beside each measured sag what its mass alone does by the engine: twice what the second half of it adds, since own
    /// weight and all else were there before the measurement. What cannot be computed, or not now, stays unset.
    async fn compute_sags(&self, caller: &Caller, design: Design, sags: &mut [MeasuredSag]) -> AppResult<()> {
        if sags.is_empty() {
            return Ok(());
        }
        let load = |sag: &MeasuredSag, share: f64| ProofLoad {
            target: Target::Member { tag: sag.tag.clone(), at_mm: sag.at_mm },
            press: Press::Mass(sag.load_kg * share),
            most_sag_mm: Some(SAG_MAX_MM),
            most_utilisation: None,
            sag: SagWhen::AtOnce,
            lasts: Lasts::Short,
        };
        let loads: Vec<ProofLoad> = sags.iter().flat_map(|sag| [load(sag, 1.0), load(sag, 0.5)]).collect();
        let sound =
            move || Frame::new(&design).map_err(|_| AppError::internal("a stored design is not sound any more"));
        let frame = tokio::task::spawn_blocking(sound).await.map_err(AppError::internal)??;
        let longest = Duration::from_secs(self.limits.trial_check_s);
        let mut ticket = self.checks.prove(caller.account_id, frame, loads, longest)?;
        match ticket.outcome().await.as_ref() {
            Ok(results) => {
                for (sag, pair) in sags.iter_mut().zip(results.chunks_exact(2)) {
                    let at = |result: &ProofResult| result.sag.as_ref().map(|sag| sag.at_place_mm);
                    sag.computed_mm = at(&pair[0]).zip(at(&pair[1])).map(|(whole, half)| 2.0 * (whole - half));
                }
                Ok(())
            }
            Err(Failure::Stopped) => Err(AppError::ShuttingDown),
            Err(failure) => {
                tracing::warn!(%failure, "sags of an as-built record could not be computed");
                Ok(())
            }
        }
    }

    async fn as_built_view(&self, row: cutting::AsBuilt) -> AppResult<AsBuiltView> {
        let conn = self.store.read();
        let mut body: Body = serde_json::from_slice(&row.body).map_err(AppError::internal)?;
        self.put_beside(conn, &row, &mut body).await?;
        let names = store::accounts::names(conn, [row.account_id]).await?;
        Ok(AsBuiltView {
            ordinal: row.ordinal,
            account: names.get(&row.account_id).cloned().unwrap_or_default(),
            created_at: row.created_at,
            note: row.note,
            masses: body.masses,
            sags: body.sags,
        })
    }

    /// Puts beside each measured figure what was computed.
    async fn put_beside<C: Connection>(&self, conn: &C, row: &cutting::AsBuilt, body: &mut Body) -> AppResult<()> {
        let Some(revision) = revisions::by_id(conn, row.revision_id).await? else { return Ok(()) };
        if let Some((findings, _)) = findings_now(conn, &(&revision).into()).await? {
            for mass in &mut body.masses {
                mass.computed_kg = computed(&findings.weight, &mass.of);
            }
        }
        Ok(())
    }

    /// As-built records of a design, newest first, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_as_builts(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<AsBuiltView>, String)> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let page = self.pages.read(format!("as-built records of {}", place.design.id), size, token)?;
        let before = page.after.as_deref().map(|after| Uuid::try_parse(after).map_err(AppError::internal));
        let mut rows = cutting::as_builts(conn, place.design.id, before.transpose()?, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |row| row.id.to_string());
        let mut views = Vec::new();
        for row in rows {
            views.push(self.as_built_view(row).await?.seen(place.access.withheld));
        }
        Ok((views, next))
    }
}

impl AsBuiltView {
    /// The same without what was computed, where that is kept from the caller.
    fn seen(mut self, withheld: bool) -> Self {
        if withheld {
            self.masses.iter_mut().for_each(|mass| mass.computed_kg = None);
            self.sags.iter_mut().for_each(|sag| sag.computed_mm = None);
        }
        self
    }
}

fn computed(weight: &WeightTable, of: &MassOf) -> Option<f64> {
    let line = |lines: &[battenboard_engine::findings::MassLine], name: &str| {
        lines.iter().find(|line| line.name == name).map(|line| line.mass_kg)
    };
    match of {
        MassOf::Frame => Some(weight.frame_kg + weight.fixings_kg),
        MassOf::Stock(name) => line(&weight.by_stock, name),
        MassOf::Kind(kind) => line(&weight.by_kind, kind),
    }
}
