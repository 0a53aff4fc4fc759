//! Designs and their revisions, read.

use super::access::{Access, Standing, Visibility};
pub use super::access::{Place, find};
use super::cutting::{StampView, stamps_of};
use super::drawn_after::{self, DrawnAfter};
use super::engine::Axles;
use super::error::AppResult;
use super::{App, AppError, content, engine, groups};
use crate::auth::Caller;
use crate::clock::now_micros;
use crate::store::findings::{Key, Summary};
use crate::store::{self, Connection, checks, designs, events, revisions};
use battenboard_engine::design::Design;
use battenboard_engine::findings::{Findings, Verdict};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Where the check of a revision stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckState {
    /// Waits for its turn.
    Waiting,
    /// Being computed.
    Running,
    /// Findings are there.
    Done,
    /// The server failed at it.
    Failed,
}

/// A design as its crew sees it.
#[derive(Clone, Debug)]
pub struct DesignView {
    /// Name of its group.
    pub group: String,
    /// Short name.
    pub name: String,
    /// Title of the latest revision.
    pub title: String,
    /// Vehicle of the latest revision.
    pub vehicle: String,
    /// When the first revision came.
    pub created_at: i64,
    /// The latest revision.
    pub latest: RevisionView,
    /// Who beyond the crew may see it.
    pub visibility: Visibility,
    /// What the caller may see of it and do to it.
    pub access: Access,
    /// The revision it was started from, if the caller may see that.
    pub drawn_after: Option<DrawnAfter>,
}

/// A revision as the crew sees it.
#[derive(Clone, Debug)]
pub struct RevisionView {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// From 1.
    pub ordinal: i64,
    /// Account name of its author.
    pub author: String,
    /// What he said of it.
    pub note: String,
    /// Ordinal of the revision it was worked from.
    pub worked_from: Option<i64>,
    /// SHA-256 of its canonical text.
    pub content_id: Vec<u8>,
    /// When it came.
    pub created_at: i64,
    /// Where its check stands.
    pub check_state: CheckState,
    /// What the findings say in short, once they are there.
    pub summary: Option<SummaryView>,
    /// True where it is kept from the caller.
    pub withheld: bool,
    /// Its stamp, if it was ever issued for cutting; for the crew.
    pub stamp: Option<StampView>,
    /// The survey of its vehicle that it is drawn on, if it names one, beside the latest; for the crew.
    pub survey: Option<store::vehicles::Standing>,
}

impl RevisionView {
    /// What of it somebody with this access sees.
    #[must_use]
    pub fn seen_by(mut self, access: &Access) -> Self {
        if access.withheld {
            (self.summary, self.withheld) = (None, true);
            self.stamp = self.stamp.map(StampView::without_figures);
        }
        if !access.is_crew() {
            (self.stamp, self.survey) = (None, None);
            // They would tell the weighings.
            if let Some(summary) = &mut self.summary {
                summary.axles = None;
            }
        }
        self
    }
}

/// What lists show of findings.
#[derive(Clone, Debug, PartialEq)]
pub struct SummaryView {
    /// The worst of all checks and faults.
    pub verdict: Verdict,
    /// Total mass, kg.
    pub total_mass_kg: f64,
    /// Greatest utilisation.
    pub worst_utilisation: Option<f64>,
    /// Its member or deck.
    pub worst_tag: String,
    /// Axle loads, where the vehicle was weighed; for the crew.
    pub axles: Option<Axles>,
}

impl SummaryView {
    /// What lists show of these findings.
    pub fn of(findings: &Findings) -> Self {
        let (worst_utilisation, worst_tag) = engine::worst(findings);
        let (verdict, total_mass_kg) = (findings.verdict, findings.weight.total_kg);
        Self { verdict, total_mass_kg, worst_utilisation, worst_tag, axles: engine::axles(findings) }
    }
}

/// The key of a revision's findings.
pub fn key_of(heading: &revisions::Heading) -> Key {
    Key {
        content_id: heading.content_id.clone(),
        settings_id: heading.settings_id.clone(),
        engine_fingerprint: heading.engine_fingerprint.clone(),
    }
}

/// What there is of these keys: summaries of findings, and states of checks that have none.
async fn outcomes<C: Connection>(
    conn: &C,
    keys: &[Key],
) -> AppResult<(BTreeMap<Key, SummaryView>, BTreeMap<Key, CheckState>)> {
    let mut summaries = BTreeMap::new();
    for summary in store::findings::summaries(conn, keys).await? {
        summaries.insert(summary.key(), summary_view(summary)?);
    }
    let open: Vec<Key> = keys.iter().filter(|key| !summaries.contains_key(key)).cloned().collect();
    let mut states = BTreeMap::new();
    for check in checks::by_keys(conn, &open).await? {
        let state = state_of(&check.state);
        let key = Key {
            content_id: check.content_id,
            settings_id: check.settings_id,
            engine_fingerprint: check.engine_fingerprint,
        };
        states.insert(key, state);
    }
    Ok((summaries, states))
}

fn summary_view(summary: Summary) -> AppResult<SummaryView> {
    let axles = axles_of(&summary)?;
    let Summary { verdict, total_mass_kg, worst_utilisation, worst_tag, .. } = summary;
    let known = engine::verdict_of_word(&verdict);
    let verdict = known.ok_or_else(|| AppError::internal(format!("stored verdict `{verdict}` is not known")))?;
    Ok(SummaryView { verdict, total_mass_kg, worst_utilisation, worst_tag, axles })
}

/// Axle loads of stored findings; an older release kept none.
fn axles_of(summary: &Summary) -> AppResult<Option<Axles>> {
    let kept = (&summary.axle_state, summary.front_axle_kg, summary.rear_axle_kg);
    let (Some(word), Some(front_kg), Some(rear_kg)) = kept else { return Ok(None) };
    let state = engine::load_state_of_word(word);
    let state = state.ok_or_else(|| AppError::internal(format!("stored load state `{word}` is not known")))?;
    let (front_limit_kg, rear_limit_kg) = (summary.front_limit_kg, summary.rear_limit_kg);
    Ok(Some(Axles { state, front_kg, rear_kg, front_limit_kg, rear_limit_kg }))
}

/// Where a stored check stands.
pub fn state_of(word: &str) -> CheckState {
    match word {
        checks::QUEUED => CheckState::Waiting,
        checks::RUNNING => CheckState::Running,
        checks::FAILED => CheckState::Failed,
        _ => CheckState::Done,
    }
}

/// Views of revisions, in the order given. `names` says group and design of each.
pub async fn views<C: Connection>(
    conn: &C,
    headings: Vec<revisions::Heading>,
    names: impl Fn(&revisions::Heading) -> (String, String),
) -> AppResult<Vec<RevisionView>> {
    let authors = store::accounts::names(conn, headings.iter().map(|heading| heading.author_id)).await?;
    let keys: Vec<Key> = headings.iter().map(key_of).collect();
    let (mut summaries, states) = outcomes(conn, &keys).await?;
    let mut stamps = stamps_of(conn, &headings).await?;
    let drawn_on = headings.iter().filter_map(|heading| heading.vehicle_survey_id).collect();
    let surveys = store::vehicles::standings(conn, drawn_on).await?;
    let view = |heading: revisions::Heading| {
        let (group, design) = names(&heading);
        let key = key_of(&heading);
        // Two revisions may share a key, so the summary is not taken out of the map.
        let summary = summaries.get_mut(&key).cloned();
        let waiting = || states.get(&key).copied().unwrap_or(CheckState::Waiting);
        let check_state = if summary.is_some() { CheckState::Done } else { waiting() };
        RevisionView {
            group,
            design,
            ordinal: heading.ordinal,
            author: authors.get(&heading.author_id).cloned().unwrap_or_default(),
            note: heading.note,
            worked_from: heading.worked_from,
            content_id: heading.content_id,
            created_at: heading.created_at,
            check_state,
            summary,
            withheld: false,
            stamp: stamps.remove(&heading.id),
            survey: heading.vehicle_survey_id.and_then(|id| surveys.get(&id)).copied(),
        }
    };
    Ok(headings.into_iter().map(view).collect())
}

/// The view of one revision.
pub async fn view_of<C: Connection>(conn: &C, place: &Place, heading: revisions::Heading) -> AppResult<RevisionView> {
    let names = |_: &revisions::Heading| (place.group.name.clone(), place.design.name.clone());
    let mut views = views(conn, vec![heading], names).await?;
    views.pop().map(|view| view.seen_by(&place.access)).ok_or_else(|| AppError::internal("a revision has no view"))
}

impl App {
    /// A group's designs by name, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_designs(
        &self,
        caller: &Caller,
        group: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<DesignView>, String)> {
        let conn = self.store.read();
        let (group, right) = groups::enter(conn, caller, group).await?;
        let access = Access { standing: Standing::Crew, right, from: 1, allowed_from: 1, withheld: false };
        let page = self.pages.read(format!("designs of {}", group.id), size, token)?;
        let mut rows = designs::page(conn, group.id, page.after.as_deref(), page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |design| design.name.clone());
        Ok((self.design_views(caller, &group, access, rows).await?, next))
    }

    /// One design.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_design(&self, caller: &Caller, group: &str, design: &str) -> AppResult<DesignView> {
        let place = find(self.store.read(), caller, group, design).await?;
        let mut views = self.design_views(caller, &place.group, place.access, vec![place.design]).await?;
        views.pop().ok_or_else(|| AppError::not_found("design", design))
    }

    async fn design_views(
        &self,
        caller: &Caller,
        group: &store::groups::Group,
        access: Access,
        rows: Vec<designs::Design>,
    ) -> AppResult<Vec<DesignView>> {
        let conn = self.store.read();
        let wanted: Vec<_> = rows.iter().map(|design| (design.id, design.latest_ordinal)).collect();
        let headings = revisions::latest(conn, &wanted).await?;
        let surveys = headings.iter().map(|heading| heading.survey_id).collect();
        let vehicles = designs::vehicle_names(conn, surveys).await?;
        let withheld = store::reviews::designs_with_own_sums(conn, caller.account_id).await?;
        let mut sources = drawn_after::seen(conn, caller, group, access, &rows).await?;
        let by_id: BTreeMap<_, _> = rows.iter().map(|design| (design.id, design.clone())).collect();
        let facts: Vec<_> = headings.iter().map(|heading| (heading.design_id, heading.survey_id)).collect();
        let named = |heading: &revisions::Heading| {
            let name = by_id.get(&heading.design_id).map(|design| design.name.clone()).unwrap_or_default();
            (group.name.clone(), name)
        };
        let latest = views(conn, headings, named).await?;
        let mut by_design: BTreeMap<_, _> = facts
            .into_iter()
            .zip(latest)
            .map(|((design, survey), view)| (design, (vehicles.get(&survey).cloned().unwrap_or_default(), view)))
            .collect();
        let view = |design: designs::Design| {
            let (vehicle, latest) = by_design.remove(&design.id)?;
            let access = Access { withheld: withheld.contains(&design.id), ..access };
            let latest = latest.seen_by(&access);
            let (name, title, created_at) = (design.name, design.title, design.created_at);
            let (group, visibility) = (group.name.clone(), Visibility::of_word(&design.visibility));
            let drawn_after = sources.remove(&design.id);
            Some(DesignView { group, name, title, vehicle, created_at, latest, visibility, access, drawn_after })
        };
        Ok(rows.into_iter().filter_map(view).collect())
    }

    /// Says who beyond the crew may see a design.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::NotAllowed`].
    pub async fn update_visibility(
        self: &Arc<Self>,
        caller: &Caller,
        group: String,
        design: String,
        visibility: Visibility,
    ) -> AppResult<DesignView> {
        let (app, by, names) = (Arc::clone(self), caller.clone(), (group.clone(), design.clone()));
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let place = find(&tx, &by, &names.0, &names.1).await?;
            let row = designs::for_update(&tx, place.design.id).await?;
            if row.is_none_or(|row| row.visibility == visibility.word()) {
                return Ok(());
            }
            designs::set_visibility(&tx, place.design.id, visibility.word()).await?;
            let (actor_id, design_id) = (Some(by.account_id), Some(place.design.id));
            let news = events::News { kind: "visibility", actor_id, design_id, ..events::News::default() };
            events::append(&tx, place.group.id, news, now).await?;
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await?;
        self.get_design(caller, &group, &design).await
    }

    /// A design's revisions, newest first, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_revisions(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<RevisionView>, String)> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let page =
            self.pages.read(format!("revisions of {} from {}", place.design.id, place.access.from), size, token)?;
        let mut rows =
            revisions::page(conn, place.design.id, place.access.from, page.after_number()?, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |heading| heading.ordinal.to_string());
        let named = |_: &revisions::Heading| (place.group.name.clone(), place.design.name.clone());
        let views = views(conn, rows, named).await?;
        Ok((views.into_iter().map(|view| view.seen_by(&place.access)).collect(), next))
    }

    /// One revision; without a letter, the latest.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_revision(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        letter: &str,
    ) -> AppResult<RevisionView> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let heading = place.heading(conn, place.ordinal(letter)?).await?;
        view_of(conn, &place, heading).await
    }

    /// One revision with its design and the text as it was written; for others than its crew, without the plate.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_revision_body(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        letter: &str,
    ) -> AppResult<(RevisionView, Design, String)> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let revision = place.revision(conn, place.ordinal(letter)?).await?;
        let mut design = content::read(revision.body_format, &revision.body)?;
        let view = view_of(conn, &place, (&revision).into()).await?;
        if place.access.is_crew() {
            let text = String::from_utf8(revision.text_as_written.unwrap_or_default()).map_err(AppError::internal)?;
            return Ok((view, design, text));
        }
        // Who is not of the crew gets a file written anew: what was written may tell the plate, in a comment too.
        place.access.cut_vehicle(&mut design.vehicle);
        let text = battenboard_designfile::write(&design);
        Ok((view, design, text))
    }
}
