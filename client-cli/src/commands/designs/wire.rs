//! Designs and revisions from the wire, as the command shows them.

use crate::commands::{cutting, online, vehicles};
use crate::compare::{ChangeKind, Changes, FieldChange, ItemChange};
use crate::output::compare_screen::Effect;
use crate::output::revisions_screen::{Axles, Line};
use crate::output::{vehicle_screen, words};
use crate::review::Conclusion;
use battenboard_engine::findings::LoadState;
use battenboard_proto::v1;
use jiff::tz::TimeZone;

/// What it was drawn after, as far as the caller may see it.
pub fn drawn_after(design: &v1::Design) -> Option<String> {
    let v1::DrawnAfter { group, design: source, letter } = design.drawn_after.as_ref()?;
    Some(words::drawn_after(&design.group, group, source, letter))
}

pub fn drawn_after_json(design: &v1::Design) -> Option<serde_json::Value> {
    let v1::DrawnAfter { group, design, letter } = design.drawn_after.as_ref()?;
    Some(serde_json::json!({ "group": group, "design": design, "letter": letter }))
}

/// A revision as the list shows it, with the conclusions that stand.
pub fn line(revision: v1::Revision, conclusions: Vec<Conclusion>, zone: &TimeZone) -> Line {
    let standing = conclusions.into_iter().filter(|conclusion| !conclusion.superseded);
    let outdated = vehicles::drawn_on(&revision).and_then(|it| vehicle_screen::outdated(&it, zone));
    Line {
        verdict: online::verdict(revision.verdict),
        worst: revision.worst_utilisation.map(|value| (value, revision.worst_tag)),
        mass_kg: revision.total_mass_kg,
        axles: revision.axle_loads.and_then(axles),
        outdated,
        came_us: online::instant(revision.create_time),
        stamp: revision.stamp.map(cutting::stamp),
        concluded: standing.map(|conclusion| (conclusion.account, conclusion.disposition)).collect(),
        withheld: revision.figures_withheld,
        letter: revision.letter,
        author: revision.author,
        note: revision.note,
    }
}

/// Axle loads as the list shows them; `None` for a load state that this command does not know.
fn axles(wire: v1::AxleLoads) -> Option<Axles> {
    let state = match wire.state() {
        v1::LoadState::Unspecified => return None,
        v1::LoadState::Empty => LoadState::Empty,
        v1::LoadState::Touring => LoadState::Touring,
    };
    let v1::AxleLoads { state: _, front_kg, rear_kg, front_limit_kg, rear_limit_kg } = wire;
    Some(Axles { state, loads_kg: [front_kg, rear_kg], limits_kg: [front_limit_kg, rear_limit_kg] })
}

fn axles_json(wire: v1::AxleLoads) -> Option<serde_json::Value> {
    let Axles { state, loads_kg: [front, rear], limits_kg: [front_limit, rear_limit] } = axles(wire)?;
    Some(serde_json::json!({
        "state": state, "front_kg": front, "rear_kg": rear, "front_limit_kg": front_limit, "rear_limit_kg": rear_limit,
    }))
}

pub fn revision_json(revision: &v1::Revision) -> serde_json::Value {
    serde_json::json!({
        "letter": revision.letter, "ordinal": revision.ordinal, "author": revision.author, "note": revision.note,
        "worked_from": revision.worked_from, "content_id": revision.content_id,
        "came_us": online::instant(revision.create_time), "verdict": online::verdict(revision.verdict),
        "total_mass_kg": revision.total_mass_kg, "worst_utilisation": revision.worst_utilisation,
        "worst_tag": revision.worst_tag, "axle_loads": revision.axle_loads.and_then(axles_json),
        "figures_withheld": revision.figures_withheld,
        "stamp": revision.stamp.clone().map(cutting::stamp), "drawn_on": vehicles::drawn_on(revision),
    })
}

/// The wire's comparison, made plain; without its effect where the server keeps its figures from whoever asks.
pub fn comparison(wire: v1::Comparison) -> (Changes, Option<Effect>) {
    let v1::Comparison {
        group: _,
        design: _,
        from_letter: _,
        to_letter: _,
        members,
        joints,
        anchors,
        decks,
        stock,
        stowage,
        people,
        loads,
        whole,
        verdict_before,
        verdict_after,
        mass_before_kg,
        mass_after_kg,
        utilisations,
        figures_withheld,
        to_be_measured,
        sags,
    } = wire;
    let named = [
        ("member", members),
        ("joint", joints),
        ("anchor", anchors),
        ("deck", decks),
        ("stock", stock),
        ("stowage", stowage),
        ("people", people),
        ("load", loads),
        ("to be measured", to_be_measured),
    ];
    let changes = Changes {
        items: named
            .into_iter()
            .map(|(name, items)| (name.to_owned(), items.into_iter().filter_map(item).collect()))
            .collect(),
        whole: whole.into_iter().map(field).collect(),
    };
    let effect = Effect {
        verdict_before: online::verdict(verdict_before),
        verdict_after: online::verdict(verdict_after),
        mass_before_kg,
        mass_after_kg,
        utilisations: utilisations
            .into_iter()
            .map(|change| (change.tag, change.utilisation_before, change.utilisation_after))
            .collect(),
        sags_mm: sags.into_iter().map(|change| (change.tag, change.sag_before_mm, change.sag_after_mm)).collect(),
    };
    (changes, (!figures_withheld).then_some(effect))
}

fn item(wire: v1::ItemChange) -> Option<ItemChange> {
    let kind = match v1::ChangeKind::try_from(wire.kind).ok()? {
        v1::ChangeKind::Unspecified => return None,
        v1::ChangeKind::Added => ChangeKind::Added,
        v1::ChangeKind::Gone => ChangeKind::Gone,
        v1::ChangeKind::Changed => ChangeKind::Changed,
    };
    Some(ItemChange { tag: wire.tag, kind, fields: wire.fields.into_iter().map(field).collect() })
}

fn field(wire: v1::FieldChange) -> FieldChange {
    let v1::FieldChange { field, before, after } = wire;
    FieldChange { field, before, after }
}
