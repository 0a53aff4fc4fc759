//! `[[anchors]]`: where members are fixed to the vehicle.

use crate::JOINT_LIMIT;
use crate::desk::Desk;
use crate::fields::Fields;
use crate::hold::{Along, along, axes, hold};
use crate::places::Origin;
use crate::tags::Tags;
use crate::unit::Kind;
use crate::value::Node;
use battenboard_engine::design::Anchor;
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::DeValue;

const ANCHOR: [&str; 8] = ["member", "at", "to", "hold", "axes", "settlement", "tag", "bearing"];

pub(crate) fn read(desk: &mut Desk<'_>, root: &Fields<'_>, tags: &mut Tags) -> (Vec<Anchor>, Vec<Origin>) {
    let nodes = root.tables(desk, "anchors", JOINT_LIMIT);
    let (mut anchors, mut origins) = (Vec::new(), Vec::new());
    let mut met: BTreeMap<(usize, u64, String), Range<usize>> = BTreeMap::new();
    let mut total = 0_usize;
    for (item, node) in nodes.iter().enumerate() {
        if tags.is_exhausted() {
            break;
        }
        let Some(fields) = Fields::open(desk, node, "an anchor", &ANCHOR) else { continue };
        let member = fields.need(desk, "member", "[\"P1\", \"P2\"]");
        let members = member.as_ref().and_then(|node| tags.resolve(desk, node));
        let places = fields.need(desk, "at", "\"start\"").and_then(|node| places(desk, &node));
        let pattern = pattern(desk, &fields);
        let (Some(members), Some(places), Some(pattern), Some(member)) = (members, places, pattern, member) else {
            continue;
        };
        let made = members.len().saturating_mul(places.len());
        total = total.saturating_add(made);
        if total > JOINT_LIMIT {
            desk.say(
                member.draft(format!("with these the design has {total} anchors, at most {JOINT_LIMIT} are taken")),
            );
            break;
        }
        if let (Some(tag), true) = (fields.get("tag"), made > 1) {
            let message = format!("`tag` names one anchor, but this entry stands for {made}");
            desk.say(tag.draft(message).mend("leave `tag` out, or name one member and one place"));
            continue;
        }
        let name = pattern.tag.clone().unwrap_or_else(|| pattern.to.clone());
        let listed = matches!(member.value, DeValue::Array(_));
        let mut said = false;
        for picked in &members {
            for (place, span) in &places {
                let on = &tags.members[picked.member];
                let at_mm = place.on(on);
                if let Some(first) = met.insert((picked.member, at_mm.to_bits(), name.clone()), node.span.clone())
                    && !said
                {
                    said = true;
                    let (tag, line) = (&on.tag, desk.line(&first));
                    let message = format!(
                        "`{tag}` is fixed to `{}` twice at the same place ({at_mm} mm from its start), first on line {line}",
                        pattern.to
                    );
                    desk.say(node.draft(message).mend("take one of the two out"));
                }
                let mut origin = Origin::new(item);
                origin.picks.extend(listed.then(|| ("member", None, picked.span.clone())));
                origin.picks.push(("at", None, span.clone()));
                origins.push(origin);
                anchors.push(Anchor { member: on.tag.clone(), at_mm, ..pattern.clone() });
            }
        }
    }
    (anchors, origins)
}

/// What all anchors of an entry share.
fn pattern(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Option<Anchor> {
    let tag = fields.get("tag").and_then(|node| node.text(desk));
    let to = fields.need_text(desk, "to", "\"floor\"");
    let hold = fields.need(desk, "hold", "\"pinned\"").and_then(|node| hold(desk, &node));
    let axes = axes(desk, fields);
    let [way, turn] = [Kind::Length, Kind::Turn];
    let kinds = [way, way, way, turn, turn, turn];
    let what = "three movements and three turns [x, y, z, turn_x, turn_y, turn_z]";
    let settlement = fields.get("settlement").map(|node| node.numbers(desk, kinds, what));
    let settlement = settlement.unwrap_or(Some([0.0; 6]));
    let contact_mm = match fields.get("bearing") {
        Some(node) => Some(node.number(desk, Kind::Length)?),
        None => None,
    };
    Some(Anchor { tag, to, hold: hold?, axes, settlement: settlement?, contact_mm, ..Anchor::default() })
}

/// The places that `at` names, each with where it is written.
fn places(desk: &mut Desk<'_>, node: &Node<'_>) -> Option<Vec<(Along, Range<usize>)>> {
    let items = match node.value {
        DeValue::Array(items) if items.is_empty() => {
            desk.say(node.draft("`at` is an empty list").mend("name at least one place"));
            return None;
        }
        DeValue::Array(_) => node.items(desk, "places"),
        _ => vec![node.clone()],
    };
    let mut places = Vec::new();
    let mut whole = true;
    for item in items {
        let both = matches!(item.value, DeValue::String(text) if text == "both");
        if both {
            places.push((Along::Start, item.span.clone()));
            places.push((Along::End, item.span.clone()));
        } else if let Some(place) = anchor_place(desk, &item) {
            places.push((place, item.span.clone()));
        } else {
            whole = false;
        }
    }
    whole.then_some(places)
}

fn anchor_place(desk: &mut Desk<'_>, node: &Node<'_>) -> Option<Along> {
    if let DeValue::String(text) = node.value
        && text.trim_start().starts_with(|c: char| c.is_ascii_alphabetic())
    {
        // The third word is read by the caller; it stands here for the list of words.
        return node.choice(desk, &[("start", Along::Start), ("end", Along::End), ("both", Along::Start)]);
    }
    along(desk, node)
}
