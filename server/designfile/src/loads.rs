//! `[[loads]]`: loads given outright.

use crate::LOAD_LIMIT;
use crate::desk::Desk;
use crate::fields::Fields;
use crate::hold::{Along, along, axes, length_mm};
use crate::people::deck_tag;
use crate::places::Origin;
use crate::tags::Tags;
use crate::unit::Kind;
use crate::value::Node;
use battenboard_engine::design::{Action, Deck, Load, LoadKind, Vector};

const LOAD: [&str; 14] = [
    "case", "action", "member", "at", "force", "moment", "axes", "from", "to", "line", "line_end", "mass", "deck",
    "pressure",
];

const ACTIONS: [(&str, Action); 4] = [
    ("permanent", Action::Permanent),
    ("stowage", Action::Stowage),
    ("lying", Action::Lying),
    ("moving", Action::Moving),
];

/// The four kinds: the keys that tell each, and the keys that go with it beside `case` and `action`.
const KINDS: [(&[&str], &[&str]); 4] = [
    (&["force", "moment"], &["member", "at", "force", "moment", "axes"]),
    (&["line", "line_end"], &["member", "from", "to", "line", "line_end", "axes"]),
    (&["mass"], &["member", "at", "mass"]),
    (&["pressure"], &["deck", "pressure"]),
];

pub(crate) fn read(desk: &mut Desk<'_>, root: &Fields<'_>, tags: &Tags, decks: &[Deck]) -> (Vec<Load>, Vec<Origin>) {
    let nodes = root.tables(desk, "loads", LOAD_LIMIT);
    let (mut loads, mut origins) = (Vec::new(), Vec::new());
    for (item, node) in nodes.iter().enumerate() {
        let Some(fields) = Fields::open(desk, node, "a load", &LOAD) else { continue };
        let case = fields.need_text(desk, "case", "\"roof bars\"");
        let action = fields.need(desk, "action", "\"permanent\"").and_then(|node| node.choice(desk, &ACTIONS));
        let what = match kind(desk, &fields, node) {
            Some(0) => point(desk, &fields, tags),
            Some(1) => line(desk, &fields, tags),
            Some(2) => mass(desk, &fields, tags),
            Some(_) => area(desk, &fields, tags, decks),
            None => None,
        };
        if let (Some(action), Some(what)) = (action, what) {
            origins.push(Origin::new(item));
            loads.push(Load { case, action, what });
        }
    }
    (loads, origins)
}

/// Index of the kind of a load; said where it is none, or two at once.
fn kind(desk: &mut Desk<'_>, fields: &Fields<'_>, load: &Node<'_>) -> Option<usize> {
    let told = |(tells, _): &(&[&'static str], &[&'static str])| tells.iter().find(|key| fields.has(key)).copied();
    let found: Vec<(usize, &str)> =
        KINDS.iter().enumerate().filter_map(|(index, kind)| told(kind).map(|key| (index, key))).collect();
    let Some((index, first)) = found.first().copied() else {
        let mend = "one of `force` and `moment`, `line`, `mass`, `pressure`";
        desk.say(load.draft("a load needs to say how much it is").mend(mend));
        return None;
    };
    for (_, other) in &found[1..] {
        if let Some(node) = fields.get(other) {
            let message = format!("a load is one thing: here are `{first}` and `{other}`");
            desk.say(node.draft(message).mend("write two entries with the same `case`"));
        }
    }
    if found.len() > 1 {
        return None;
    }
    for key in LOAD.iter().skip(2).filter(|key| !KINDS[index].1.contains(key)) {
        if let Some(node) = fields.get(key) {
            desk.say(node.draft(format!("`{key}` does not go with `{first}`")).mend("take it out"));
        }
    }
    Some(index)
}

fn member(desk: &mut Desk<'_>, fields: &Fields<'_>, tags: &Tags) -> Option<usize> {
    fields.need(desk, "member", "\"RL\"").and_then(|node| tags.one(desk, &node))
}

fn place(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Option<Along> {
    fields.need(desk, "at", "900").and_then(|node| along(desk, &node))
}

fn vector(desk: &mut Desk<'_>, fields: &Fields<'_>, key: &str, kind: Kind, what: &str) -> Option<Vector> {
    fields.get(key).and_then(|node| node.numbers(desk, [kind; 3], what))
}

fn point(desk: &mut Desk<'_>, fields: &Fields<'_>, tags: &Tags) -> Option<LoadKind> {
    let (member, at) = (member(desk, fields, tags), place(desk, fields));
    let force = vector(desk, fields, "force", Kind::Force, "three forces [x, y, z]");
    let moment = vector(desk, fields, "moment", Kind::Moment, "three moments [x, y, z]");
    let axes = axes(desk, fields);
    let member = tags.members.get(member?)?;
    Some(LoadKind::Point {
        member: member.tag.clone(),
        at_mm: at?.on(member),
        force_n: force.unwrap_or_default(),
        moment_n_mm: moment.unwrap_or_default(),
        axes,
    })
}

fn line(desk: &mut Desk<'_>, fields: &Fields<'_>, tags: &Tags) -> Option<LoadKind> {
    let member = member(desk, fields, tags);
    let from = fields.get("from").map_or(Some(Along::Start), |node| along(desk, &node));
    let to = fields.get("to").map_or(Some(Along::End), |node| along(desk, &node));
    let what = "three loads along the member [x, y, z]";
    let start = fields.need(desk, "line", "[0, 0, -1.5]").and_then(|node| node.numbers(desk, [Kind::Line; 3], what));
    let end = if fields.has("line_end") { vector(desk, fields, "line_end", Kind::Line, what) } else { start };
    let axes = axes(desk, fields);
    let member = tags.members.get(member?)?;
    let to_mm = match to? {
        Along::End => length_mm(member),
        other => other.on(member),
    };
    Some(LoadKind::Line {
        member: member.tag.clone(),
        from_mm: from?.on(member),
        to_mm,
        start_n_mm: start?,
        end_n_mm: end?,
        axes,
    })
}

fn mass(desk: &mut Desk<'_>, fields: &Fields<'_>, tags: &Tags) -> Option<LoadKind> {
    let (member, at) = (member(desk, fields, tags), place(desk, fields));
    let mass = fields.number(desk, "mass", Kind::Mass);
    let member = tags.members.get(member?)?;
    Some(LoadKind::Mass { member: member.tag.clone(), at_mm: at?.on(member), mass_kg: mass? })
}

fn area(desk: &mut Desk<'_>, fields: &Fields<'_>, tags: &Tags, decks: &[Deck]) -> Option<LoadKind> {
    let deck = fields.need(desk, "deck", "\"D1\"").and_then(|node| deck_tag(desk, &node, tags, decks));
    let pressure = fields.number(desk, "pressure", Kind::Pressure);
    Some(LoadKind::Area { deck: deck?.tag.clone(), pressure_n_mm2: pressure? })
}
