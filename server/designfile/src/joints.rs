//! `[[joints]]`: where members meet.

use crate::JOINT_LIMIT;
use crate::desk::Desk;
use crate::fields::Fields;
use crate::hold::{Along, along, axes, hold};
use crate::pairing::{PAIRS, Pair, count, pairs};
use crate::places::Origin;
use crate::tags::{Picked, Tags};
use crate::unit::Kind;
use crate::value::Node;
use battenboard_engine::design::{Axes, Hold, Joint};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::DeValue;

const JOINT: [&str; 9] = ["member", "on", "hold", "at", "on_at", "axes", "tag", "pair", "bearing"];

/// Distances reckoned by all `pair = "nearest"` of a file together.
const DISTANCES: usize = 4_000_000;

/// What all joints of one entry share.
struct Entry {
    tag: Option<String>,
    at: Option<Along>,
    on_at: Option<Along>,
    hold: Hold,
    axes: Axes,
    contact_mm: Option<[f64; 2]>,
}

/// Joints that were made, to find doubled ones.
#[derive(Default)]
struct Met {
    pairs: BTreeMap<(usize, usize), Range<usize>>,
    tags: BTreeMap<String, Range<usize>>,
}

pub(crate) fn read(desk: &mut Desk<'_>, root: &Fields<'_>, tags: &mut Tags) -> (Vec<Joint>, Vec<Origin>) {
    let nodes = root.tables(desk, "joints", JOINT_LIMIT);
    let (mut joints, mut origins) = (Vec::new(), Vec::new());
    let (mut met, mut total, mut distances) = (Met::default(), 0_usize, 0_usize);
    for (item, node) in nodes.iter().enumerate() {
        if tags.is_exhausted() {
            break;
        }
        let Some(fields) = Fields::open(desk, node, "a joint", &JOINT) else { continue };
        let member = fields.need(desk, "member", "\"B*\"");
        let on = fields.need(desk, "on", "[\"RL\", \"RR\"]");
        let members = member.as_ref().and_then(|node| tags.resolve(desk, node));
        let ons = on.as_ref().and_then(|node| tags.resolve(desk, node));
        let pair = fields.get("pair").and_then(|node| node.choice(desk, &PAIRS)).unwrap_or_default();
        let entry = entry(desk, &fields);
        let (Some(members), Some(ons), Some(entry), Some(member), Some(on)) = (members, ons, entry, member, on) else {
            continue;
        };
        let at = fields.get("pair").unwrap_or_else(|| member.clone());
        if pair == Pair::InOrder && members.len() != ons.len() {
            let message = format!(
                "`member` stands for {} members and `on` for {}: in order they can't be paired",
                members.len(),
                ons.len()
            );
            desk.say(at.draft(message).mend("make the two lists equally long, or leave `pair` out"));
            continue;
        }
        total = total.saturating_add(count(pair, members.len(), ons.len()));
        distances = distances.saturating_add(if pair == Pair::Nearest { members.len() * ons.len() } else { 0 });
        if total > JOINT_LIMIT || distances > DISTANCES {
            desk.say(too_many(&at, total, distances));
            break;
        }
        let paired = pairs(pair, &tags.members, &members, &ons);
        if paired.is_empty() {
            let message =
                format!("`member` and `on` are both `{}`: a member is not joined to itself", names(tags, &members));
            desk.say(on.draft(message));
        }
        if let (Some(tag), true) = (fields.get("tag"), paired.len() > 1) {
            let message = format!("`tag` names one joint, but this entry stands for {}", paired.len());
            desk.say(tag.draft(message).mend("leave `tag` out, or name one member and one `on`"));
            continue;
        }
        let lists = [&member, &on].map(|node| matches!(node.value, DeValue::Array(_)));
        let mut said = false;
        for (a, b) in paired {
            let joint = joint(tags, &entry, &members[a], &ons[b]);
            said = said || met.meets(desk, node, &joint, members[a].member, ons[b].member);
            let mut origin = Origin::new(item);
            origin.picks.extend(lists[0].then(|| ("member", None, members[a].span.clone())));
            origin.picks.extend(lists[1].then(|| ("on", None, ons[b].span.clone())));
            origins.push(origin);
            joints.push(joint);
        }
    }
    (joints, origins)
}

fn too_many(at: &Node<'_>, total: usize, distances: usize) -> crate::desk::Draft {
    if total > JOINT_LIMIT {
        at.draft(format!("with these the design has {total} joints, at most {JOINT_LIMIT} are taken"))
    } else {
        let message =
            format!("to find the nearest members {distances} distances are needed, at most {DISTANCES} are reckoned");
        at.draft(message).mend("pair smaller rows, or use `pair = \"in order\"`")
    }
}

fn names(tags: &Tags, members: &[Picked]) -> String {
    members
        .first()
        .and_then(|picked| tags.members.get(picked.member))
        .map(|member| member.tag.clone())
        .unwrap_or_default()
}

fn entry(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Option<Entry> {
    let tag = fields.get("tag").map(|node| node.text(desk));
    let at = fields.get("at").map(|node| along(desk, &node));
    let on_at = fields.get("on_at").map(|node| along(desk, &node));
    let hold = fields.get("hold").map_or(Some(Hold::default()), |node| hold(desk, &node));
    let axes = axes(desk, fields);
    let contact = fields.get("bearing").map(|node| bearing(desk, &node));
    // An inner `None` was said already.
    let contact_mm = contact.map_or(Some(None), |contact| contact.map(Some))?;
    let stated = |place: Option<Option<Along>>| place.map_or(Some(None), |place| place.map(Some));
    let tag = tag.map_or(Some(None), |tag| tag.map(Some))?;
    Some(Entry { tag, at: stated(at)?, on_at: stated(on_at)?, hold: hold?, axes, contact_mm })
}

/// Length of the touching faces along the carried member, then along the carrying one; one number for both.
fn bearing(desk: &mut Desk<'_>, node: &Node<'_>) -> Option<[f64; 2]> {
    if matches!(node.value, DeValue::Array(_)) {
        let what = "two lengths [along the carried member, along the carrying one]";
        return node.numbers(desk, [Kind::Length; 2], what);
    }
    node.number(desk, Kind::Length).map(|length| [length; 2])
}

fn joint(tags: &Tags, entry: &Entry, member: &Picked, on: &Picked) -> Joint {
    let (carried, carrying) = (&tags.members[member.member], &tags.members[on.member]);
    Joint {
        tag: entry.tag.clone(),
        member: carried.tag.clone(),
        on: carrying.tag.clone(),
        at_mm: entry.at.map(|at| at.on(carried)),
        on_at_mm: entry.on_at.map(|at| at.on(carrying)),
        hold: entry.hold,
        axes: entry.axes,
        contact_mm: entry.contact_mm,
    }
}

impl Met {
    /// Notes a joint; true once it was said that it stands twice or the other way round.
    fn meets(&mut self, desk: &mut Desk<'_>, node: &Node<'_>, joint: &Joint, member: usize, on: usize) -> bool {
        let name = joint.tag.clone().unwrap_or_else(|| format!("{}/{}", joint.on, joint.member));
        let (a, b) = (&joint.member, &joint.on);
        if let Some(first) = self.pairs.get(&(on, member)) {
            let line = desk.line(first);
            let message =
                format!("`{a}` lies on `{b}` here, and `{b}` on `{a}` on line {line}: only one can carry the other");
            desk.say(node.draft(message).mend("take one of the two joints out"));
            return true;
        }
        if let Some(first) = self.tags.get(&name) {
            let message = format!("the joint `{name}` stands twice, first on line {}", desk.line(first));
            let mend = "take one of the two out, or give them tags of their own if the members meet twice";
            desk.say(node.draft(message).mend(mend));
            return true;
        }
        self.pairs.insert((member, on), node.span.clone());
        self.tags.insert(name, node.span.clone());
        false
    }
}
