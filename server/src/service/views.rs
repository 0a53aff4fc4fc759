//! From the app's views to wire messages.

use crate::app::access::Visibility;
use crate::app::accounts::{SessionView, Tokens};
use crate::app::comparison::{ChangeKind, Compared, Comparison, FieldChange, FigureChange, ItemChange};
use crate::app::designs::{CheckState, DesignView, RevisionView};
use crate::app::drawn_after::DrawnAfter;
use crate::app::engine::Axles;
use crate::app::groups::{CrewView, GroupView};
use crate::app::letters::letter;
use crate::app::news::{EventKind, EventView};
use crate::app::proofs::{ProofResultView, ProofState, ProofView};
use crate::app::remarks::{Act, PlaceKind, RemarkKind, RemarkState, RemarkView, StandingView};
use crate::auth::Right;
use crate::auth::codes::hex;
use crate::clock::SECOND;
use battenboard_engine::design::carry::{Standing, What};
use battenboard_engine::findings::{LoadState, Verdict};
use battenboard_proto::{convert, v1};
use prost_types::Timestamp;
use uuid::Uuid;

/// An instant on the wire.
pub fn instant(micros: i64) -> Option<Timestamp> {
    let nanos = i32::try_from(micros.rem_euclid(SECOND) * 1000).unwrap_or_default();
    Some(Timestamp { seconds: micros.div_euclid(SECOND), nanos })
}

/// Tokens of a session.
pub fn tokens(tokens: Tokens) -> v1::Tokens {
    let Tokens { access, access_ends_at, refresh, refresh_ends_at } = tokens;
    v1::Tokens {
        access_token: access,
        access_expire_time: instant(access_ends_at),
        refresh_token: refresh,
        refresh_expire_time: instant(refresh_ends_at),
    }
}

/// A session; `current` is the calling one.
pub fn session(session: SessionView, current: Uuid) -> v1::Session {
    let SessionView { id, program, created_at, refreshed_at, ends_at } = session;
    v1::Session {
        session_id: id.to_string(),
        program,
        create_time: instant(created_at),
        last_use_time: instant(refreshed_at),
        expire_time: instant(ends_at),
        current: id == current,
    }
}

/// A right.
pub fn right(right: Right) -> v1::Right {
    match right {
        Right::Onlooker => v1::Right::Onlooker,
        Right::Reviewer => v1::Right::Reviewer,
        Right::Builder => v1::Right::Builder,
        Right::Keeper => v1::Right::Keeper,
    }
}

/// A group.
pub fn group(group: GroupView) -> v1::Group {
    let GroupView { name, title, created_at, right: mine } = group;
    v1::Group { name, title, create_time: instant(created_at), my_right: right(mine).into() }
}

/// One of the crew.
pub fn crew(entry: CrewView) -> v1::CrewEntry {
    let CrewView { account, right: his, joined_at } = entry;
    v1::CrewEntry { account, right: right(his).into(), join_time: instant(joined_at) }
}

/// Where a check stands.
pub fn check_state(state: CheckState) -> v1::CheckState {
    match state {
        CheckState::Waiting => v1::CheckState::Waiting,
        CheckState::Running => v1::CheckState::Running,
        CheckState::Done => v1::CheckState::Done,
        CheckState::Failed => v1::CheckState::Failed,
    }
}

/// A verdict, or none yet.
pub fn verdict(verdict: Option<Verdict>) -> v1::Verdict {
    match verdict {
        None => v1::Verdict::Unspecified,
        Some(Verdict::Holds) => v1::Verdict::Holds,
        Some(Verdict::Near) => v1::Verdict::Near,
        Some(Verdict::NotChecked) => v1::Verdict::NotChecked,
        Some(Verdict::FallsShort) => v1::Verdict::FallsShort,
    }
}

/// A design.
pub fn design(design: DesignView) -> v1::Design {
    let DesignView { group, name, title, vehicle, created_at, latest, visibility: shown_to, access, drawn_after } =
        design;
    v1::Design {
        group,
        name,
        title,
        vehicle,
        latest_letter: letter(latest.ordinal),
        create_time: instant(created_at),
        latest_time: instant(latest.created_at),
        latest_verdict: verdict(latest.summary.map(|summary| summary.verdict)).into(),
        latest_check_state: check_state(latest.check_state).into(),
        visibility: visibility(shown_to).into(),
        my_right: right(access.right).into(),
        first_letter: letter(access.from),
        drawn_after: drawn_after.map(|DrawnAfter { group, design, letter }| v1::DrawnAfter { group, design, letter }),
        figures_withheld: latest.withheld,
    }
}

/// What a design was drawn after, as it was sent.
pub fn drawn_after_of(wire: v1::DrawnAfter) -> DrawnAfter {
    let v1::DrawnAfter { group, design, letter } = wire;
    DrawnAfter { group, design, letter }
}

fn axle_loads(axles: Axles) -> v1::AxleLoads {
    let Axles { state, front_kg, rear_kg, front_limit_kg, rear_limit_kg } = axles;
    let state = match state {
        LoadState::Empty => v1::LoadState::Empty,
        LoadState::Touring => v1::LoadState::Touring,
    };
    v1::AxleLoads { state: state.into(), front_kg, rear_kg, front_limit_kg, rear_limit_kg }
}

/// Who beyond its crew may see a design.
pub fn visibility(visibility: Visibility) -> v1::Visibility {
    match visibility {
        Visibility::Group => v1::Visibility::Group,
        Visibility::Noticeboard => v1::Visibility::Noticeboard,
        Visibility::Open => v1::Visibility::Open,
    }
}

/// A revision.
pub fn revision(revision: RevisionView) -> v1::Revision {
    let RevisionView {
        group,
        design,
        ordinal,
        author,
        note,
        worked_from,
        content_id,
        created_at,
        check_state: state,
        summary,
        withheld,
        stamp,
        survey,
    } = revision;
    v1::Revision {
        group,
        design,
        letter: letter(ordinal),
        ordinal,
        author,
        note,
        worked_from: worked_from.map(letter).unwrap_or_default(),
        content_id: hex(&content_id),
        create_time: instant(created_at),
        check_state: check_state(state).into(),
        verdict: verdict(summary.as_ref().map(|summary| summary.verdict)).into(),
        total_mass_kg: summary.as_ref().map(|summary| summary.total_mass_kg),
        worst_utilisation: summary.as_ref().and_then(|summary| summary.worst_utilisation),
        axle_loads: summary.as_ref().and_then(|summary| summary.axles).map(axle_loads),
        worst_tag: summary.map(|summary| summary.worst_tag).unwrap_or_default(),
        figures_withheld: withheld,
        stamp: stamp.map(super::cutting::stamp),
        vehicle_survey: survey.map(|survey| survey.number).unwrap_or_default(),
        latest_vehicle_survey: survey.map(|survey| survey.latest).unwrap_or_default(),
        latest_vehicle_survey_time: survey.and_then(|survey| instant(survey.latest_at)),
    }
}

fn field_change(change: FieldChange) -> v1::FieldChange {
    let FieldChange { field, before, after } = change;
    v1::FieldChange { field, before, after }
}

fn item_change(change: ItemChange) -> v1::ItemChange {
    let ItemChange { tag, kind, fields } = change;
    let kind = match kind {
        ChangeKind::Added => v1::ChangeKind::Added,
        ChangeKind::Gone => v1::ChangeKind::Gone,
        ChangeKind::Changed => v1::ChangeKind::Changed,
    };
    v1::ItemChange { tag, kind: kind.into(), fields: fields.into_iter().map(field_change).collect() }
}

fn item_changes(changes: Vec<ItemChange>) -> Vec<v1::ItemChange> {
    changes.into_iter().map(item_change).collect()
}

fn utilisation_change(change: FigureChange) -> v1::UtilisationChange {
    let FigureChange { tag, before, after } = change;
    v1::UtilisationChange { tag, utilisation_before: before, utilisation_after: after }
}

fn sag_change(change: FigureChange) -> v1::SagChange {
    let FigureChange { tag, before, after } = change;
    v1::SagChange { tag, sag_before_mm: before, sag_after_mm: after }
}

/// What changed between two revisions.
pub fn comparison(compared: Compared) -> v1::Comparison {
    let Compared { group, design, from, to, comparison } = compared;
    let Comparison {
        members,
        joints,
        anchors,
        decks,
        stock,
        stowage,
        people,
        loads,
        to_be_measured,
        whole,
        verdicts: [verdict_before, verdict_after],
        masses_kg: [mass_before_kg, mass_after_kg],
        utilisations,
        sags_mm,
        withheld,
    } = comparison;
    v1::Comparison {
        group,
        design,
        from_letter: letter(from),
        to_letter: letter(to),
        members: item_changes(members),
        joints: item_changes(joints),
        anchors: item_changes(anchors),
        decks: item_changes(decks),
        stock: item_changes(stock),
        stowage: item_changes(stowage),
        people: item_changes(people),
        loads: item_changes(loads),
        whole: whole.into_iter().map(field_change).collect(),
        verdict_before: verdict(verdict_before).into(),
        verdict_after: verdict(verdict_after).into(),
        mass_before_kg,
        mass_after_kg,
        utilisations: utilisations.into_iter().map(utilisation_change).collect(),
        sags: sags_mm.into_iter().map(sag_change).collect(),
        figures_withheld: withheld,
        to_be_measured: item_changes(to_be_measured),
    }
}

/// What a remark or a look is placed on.
pub fn place_kind(kind: PlaceKind) -> v1::PlaceKind {
    match kind {
        PlaceKind::Member => v1::PlaceKind::Member,
        PlaceKind::Joint => v1::PlaceKind::Joint,
        PlaceKind::Anchor => v1::PlaceKind::Anchor,
        PlaceKind::Deck => v1::PlaceKind::Deck,
        PlaceKind::Whole => v1::PlaceKind::Whole,
    }
}

fn remark_kind(kind: RemarkKind) -> v1::RemarkKind {
    match kind {
        RemarkKind::Snag => v1::RemarkKind::Snag,
        RemarkKind::Advice => v1::RemarkKind::Advice,
        RemarkKind::Question => v1::RemarkKind::Question,
        RemarkKind::WellMade => v1::RemarkKind::WellMade,
    }
}

fn remark_state(state: RemarkState) -> v1::RemarkState {
    match state {
        RemarkState::Open => v1::RemarkState::Open,
        RemarkState::Answered => v1::RemarkState::Answered,
        RemarkState::Cleared => v1::RemarkState::Cleared,
        RemarkState::SetAside => v1::RemarkState::SetAside,
    }
}

fn remark_act(act: Act) -> v1::RemarkAct {
    match act {
        Act::Answer => v1::RemarkAct::Answer,
        Act::Clear => v1::RemarkAct::Clear,
        Act::RaiseAgain => v1::RemarkAct::RaiseAgain,
        Act::SetAside => v1::RemarkAct::SetAside,
        Act::Proved => v1::RemarkAct::Proved,
        Act::FellShortAgain => v1::RemarkAct::FellShortAgain,
    }
}

/// A result of a proof load.
pub fn proof_result(view: ProofResultView) -> v1::ProofResult {
    let ProofResultView { ordinal, state, result, engine_fingerprint, ended_at } = view;
    let state = match state {
        ProofState::Waiting => v1::ProofState::Waiting,
        ProofState::Running => v1::ProofState::Running,
        ProofState::Done => v1::ProofState::Done,
    };
    v1::ProofResult {
        letter: letter(ordinal),
        state: state.into(),
        engine_fingerprint,
        end_time: ended_at.and_then(instant),
        ..result.as_ref().map(convert::proof_result_to_wire).unwrap_or_default()
    }
}

/// How a remark stands.
fn standing(view: StandingView) -> v1::Standing {
    let StandingView { as_of, standing: Standing { tag, at_mm, what, since } } = view;
    let letter_of = |number: usize| letter(i64::try_from(number).unwrap_or_default());
    let mut wire = v1::Standing {
        tag,
        at_mm,
        since_letter: letter_of(since),
        as_of_letter: letter(as_of),
        ..v1::Standing::default()
    };
    let kind = match what {
        What::AsItWas => v1::StandingKind::AsItWas,
        What::Changed => v1::StandingKind::Changed,
        What::Moved { there_now } => {
            wire.there_now = there_now.unwrap_or_default();
            v1::StandingKind::Moved
        }
        What::Renamed { from } => {
            wire.renamed_from = from;
            v1::StandingKind::Renamed
        }
        What::Split { pieces } => {
            wire.pieces = pieces;
            v1::StandingKind::Split
        }
        What::Gone => {
            wire.gone_since_letter.clone_from(&wire.since_letter);
            v1::StandingKind::Gone
        }
        What::Back { gone_since } => {
            wire.gone_since_letter = letter_of(gone_since);
            v1::StandingKind::Back
        }
    };
    wire.set_what(kind);
    wire
}

/// A remark with its entries.
pub fn remark(remark: RemarkView) -> v1::Remark {
    let RemarkView {
        id,
        number,
        group,
        design,
        ordinal,
        spot,
        kind,
        text,
        author,
        created_at,
        state,
        entries,
        from_outside,
        standing: stands,
        proof,
    } = remark;
    let (proof_load, proof_results) = match proof {
        Some(ProofView { load, results }) => (Some(convert::proof_load_to_wire(&load)), results),
        None => (None, Vec::new()),
    };
    let entries = entries.into_iter().map(|entry| v1::RemarkEntry {
        author: entry.author,
        create_time: instant(entry.created_at),
        act: remark_act(entry.act).into(),
        text: entry.text,
    });
    v1::Remark {
        id: id.to_string(),
        number,
        group,
        design,
        letter: letter(ordinal),
        place: Some(v1::Place { kind: place_kind(spot.kind).into(), tag: spot.tag, at_mm: spot.at_mm }),
        kind: remark_kind(kind).into(),
        text,
        author,
        create_time: instant(created_at),
        state: remark_state(state).into(),
        entries: entries.collect(),
        proof_load,
        proof_results: proof_results.into_iter().map(proof_result).collect(),
        standing: Some(standing(stands)),
        from_outside,
    }
}

fn event_kind(kind: EventKind) -> v1::EventKind {
    match kind {
        EventKind::Unknown => v1::EventKind::Unspecified,
        EventKind::GroupFounded => v1::EventKind::GroupFounded,
        EventKind::CrewChanged => v1::EventKind::CrewChanged,
        EventKind::RevisionSubmitted => v1::EventKind::RevisionSubmitted,
        EventKind::Checked => v1::EventKind::Checked,
        EventKind::RemarkMade => v1::EventKind::RemarkMade,
        EventKind::RemarkAnswered => v1::EventKind::RemarkAnswered,
        EventKind::RemarkCleared => v1::EventKind::RemarkCleared,
        EventKind::RemarkRaisedAgain => v1::EventKind::RemarkRaisedAgain,
        EventKind::RemarkSetAside => v1::EventKind::RemarkSetAside,
        EventKind::RemarkCarried => v1::EventKind::RemarkCarried,
        EventKind::ProofLoadRan => v1::EventKind::ProofLoadRan,
        EventKind::LookedAt => v1::EventKind::LookedAt,
        EventKind::Concluded => v1::EventKind::Concluded,
        EventKind::IssuedForCutting => v1::EventKind::IssuedForCutting,
        EventKind::StampTakenBack => v1::EventKind::StampTakenBack,
        EventKind::ConcessionGiven => v1::EventKind::ConcessionGiven,
        EventKind::AsBuiltRecorded => v1::EventKind::AsBuiltRecorded,
        EventKind::VisibilityChanged => v1::EventKind::VisibilityChanged,
        EventKind::NoticeHung => v1::EventKind::NoticeHung,
        EventKind::NoticeTakenUp => v1::EventKind::NoticeTakenUp,
        EventKind::NoticeHandedBack => v1::EventKind::NoticeHandedBack,
        EventKind::NoticeEnded => v1::EventKind::NoticeEnded,
        EventKind::TakingUpEnded => v1::EventKind::TakingUpEnded,
        EventKind::FallsShortNow => v1::EventKind::FallsShortNow,
        EventKind::SurveyRecorded => v1::EventKind::SurveyRecorded,
    }
}

/// Something that happened.
pub fn event(event: &EventView) -> v1::Event {
    // One view is told to many: its texts are copied here.
    let EventView {
        stream_id: _,
        number,
        on_noticeboard,
        kind,
        group,
        design,
        ordinal,
        actor,
        account,
        remark,
        survey,
        created_at,
    } = event.clone();
    let (vehicle, survey_number) = survey.unwrap_or_default();
    v1::Event {
        number,
        on_noticeboard,
        kind: event_kind(kind).into(),
        group,
        design,
        letter: ordinal.map(letter).unwrap_or_default(),
        actor,
        account,
        remark_number: remark.unwrap_or_default(),
        create_time: instant(created_at),
        vehicle,
        survey_number,
    }
}
