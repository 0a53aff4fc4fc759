//! From stored events, which hold ids alone, to what a reader is told: names and numbers, looked up for many at once.

use super::kind::{EventKind, Subject};
use crate::app::AppResult;
use crate::store::events::{Event, NOTICEBOARD};
use crate::store::{Connection, accounts, designs, groups, remarks, vehicles};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// An event as a reader is told of it. What has been erased since is told without its name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EventView {
    /// Its stream.
    pub stream_id: Uuid,
    /// Its number there.
    pub number: i64,
    /// Whether its stream is the noticeboard's.
    pub on_noticeboard: bool,
    /// What happened.
    pub kind: EventKind,
    /// Name of the group.
    pub group: String,
    /// Name of the design; empty: of none.
    pub design: String,
    /// Which revision of it.
    pub ordinal: Option<i64>,
    /// Account name of who did it.
    pub actor: String,
    /// Account name of whom it is about.
    pub account: String,
    /// Number of the remark it is about.
    pub remark: Option<i64>,
    /// Name of the vehicle and number of the survey it is about.
    pub survey: Option<(String, i64)>,
    /// When.
    pub created_at: i64,
}

fn subject(event: &Event, wanted: Subject) -> Option<Uuid> {
    event.subject_id.filter(|_| EventKind::of_word(&event.kind).subject() == wanted)
}

/// The views of some events, in their order.
///
/// # Errors
/// Those of the store.
pub async fn resolve<C: Connection>(conn: &C, events: &[Event]) -> AppResult<Vec<EventView>> {
    let ids = |of: fn(&Event) -> Option<Uuid>| -> Vec<Uuid> {
        events.iter().filter_map(of).collect::<BTreeSet<_>>().into_iter().collect()
    };
    let found = designs::by_ids(conn, ids(|event| event.design_id)).await?;
    let designs: BTreeMap<Uuid, designs::Design> = found.into_iter().map(|design| (design.id, design)).collect();
    // The noticeboard is read by all, but designs and groups are not theirs to see: there they have no names.
    let group_of = |event: &Event| (event.stream_id != NOTICEBOARD).then_some(event.stream_id);
    let design_of = |event: &Event| event.design_id.filter(|_| event.stream_id != NOTICEBOARD);
    let group_ids: BTreeSet<Uuid> = events.iter().filter_map(group_of).collect();
    let groups = groups::names(conn, group_ids.into_iter().collect()).await?;
    let people = ids(|event| event.actor_id).into_iter().chain(ids(|event| subject(event, Subject::Account)));
    let people = accounts::names(conn, people).await?;
    let numbers = remarks::numbers(conn, ids(|event| subject(event, Subject::Remark))).await?;
    let surveys = vehicles::numbers(conn, ids(|event| subject(event, Subject::Survey))).await?;
    let found = vehicles::by_ids(conn, surveys.values().map(|(vehicle_id, _)| *vehicle_id).collect()).await?;
    let vehicles: BTreeMap<Uuid, String> = found.into_iter().map(|vehicle| (vehicle.id, vehicle.name)).collect();
    let survey_of = |id: Uuid| {
        let (vehicle_id, number) = surveys.get(&id)?;
        Some((vehicles.get(vehicle_id)?.clone(), *number))
    };
    let person = |id: Option<Uuid>| id.and_then(|id| people.get(&id)).cloned().unwrap_or_default();
    let view = |event: &Event| EventView {
        stream_id: event.stream_id,
        number: event.number,
        on_noticeboard: event.stream_id == NOTICEBOARD,
        kind: EventKind::of_word(&event.kind),
        group: group_of(event).and_then(|id| groups.get(&id)).cloned().unwrap_or_default(),
        design: design_of(event).and_then(|id| designs.get(&id)).map(|design| design.name.clone()).unwrap_or_default(),
        ordinal: event.ordinal,
        actor: person(event.actor_id),
        account: person(subject(event, Subject::Account)),
        remark: subject(event, Subject::Remark).and_then(|id| numbers.get(&id)).copied(),
        survey: subject(event, Subject::Survey).and_then(survey_of),
        created_at: event.created_at,
    };
    Ok(events.iter().map(view).collect())
}
