//! `[[decks]]`: surfaces and what carries them.

use crate::desk::Desk;
use crate::fields::Fields;
use crate::pattern::tag_fault;
use crate::places::Origin;
use crate::stock::Shelf;
use crate::tags::{Picked, Tags};
use crate::unit::Kind;
use crate::value::Node;
use crate::{DECK_LIMIT, JOINT_LIMIT};
use battenboard_engine::design::{Deck, DeckSurface};
use std::collections::BTreeSet;
use toml::de::DeValue;

const DECK: [&str; 9] = ["tag", "sheet", "slats", "carried_by", "bedding", "from", "to", "mattress", "screwed"];

pub(crate) fn read(desk: &mut Desk<'_>, root: &Fields<'_>, shelf: &Shelf, tags: &mut Tags) -> (Vec<Deck>, Vec<Origin>) {
    let nodes = root.tables(desk, "decks", DECK_LIMIT);
    if root.is_unread("decks", nodes.len()) {
        tags.complete = false;
    }
    let (mut decks, mut origins) = (Vec::new(), Vec::new());
    let mut total = 0_usize;
    for (item, node) in nodes.iter().enumerate() {
        let Some(fields) = Fields::open(desk, node, "a deck", &DECK) else {
            tags.complete = false;
            continue;
        };
        let tag = deck_tag(desk, &fields, tags);
        let surface = surface(desk, &fields, node, shelf);
        let carried = fields.need(desk, "carried_by", "\"B*\"");
        let picked = carried.as_ref().and_then(|node| tags.resolve(desk, node)).unwrap_or_default();
        if let Some(node) = &carried {
            named_twice(desk, node, tags, &picked);
        }
        total = total.saturating_add(picked.len());
        if total > JOINT_LIMIT {
            desk.say(node.draft(format!("the decks lie on {total} members in all, at most {JOINT_LIMIT} are taken")));
            break;
        }
        let mut origin = Origin::new(item);
        if carried.is_some_and(|node| matches!(node.value, DeValue::Array(_))) {
            let spans = picked.iter().enumerate();
            origin.picks = spans.map(|(index, picked)| ("carried_by", Some(index), picked.span.clone())).collect();
        }
        origins.push(origin);
        decks.push(Deck {
            tag,
            surface,
            carried_by: picked.iter().map(|picked| tags.members[picked.member].tag.clone()).collect(),
            from_mm: fields.get("from").and_then(|node| node.flat_point(desk)),
            to_mm: fields.get("to").and_then(|node| node.flat_point(desk)),
            bedding_kg: fields.number(desk, "bedding", Kind::Mass).unwrap_or_default(),
            mattress_mm: fields.number(desk, "mattress", Kind::Length),
            screwed: fields.get("screwed").and_then(|node| node.truth(desk)).unwrap_or_default(),
        });
    }
    (decks, origins)
}

fn deck_tag(desk: &mut Desk<'_>, fields: &Fields<'_>, tags: &mut Tags) -> String {
    let Some((node, tag)) = fields.need(desk, "tag", "\"D1\"").and_then(|node| Some((node.clone(), node.text(desk)?)))
    else {
        tags.complete = false;
        return String::new();
    };
    if let Some(fault) = tag_fault(&tag) {
        desk.say(node.draft(format!("`{}` is no tag", crate::lines::shorten(&tag))).mend(fault));
        tags.complete = false;
    } else if let Err(first) = tags.take_in_tag(&tag, node.span.clone()) {
        Tags::doubled(desk, &node, &tag, &first);
        tags.complete = false;
    }
    tag
}

fn named_twice(desk: &mut Desk<'_>, node: &Node<'_>, tags: &Tags, picked: &[Picked]) {
    let mut seen = BTreeSet::new();
    if let Some(twice) = picked.iter().find(|picked| !seen.insert(picked.member)) {
        let tag = &tags.members[twice.member].tag;
        let mut draft = node.draft(format!("`{tag}` is named twice in `carried_by`"));
        draft.span = twice.span.clone();
        desk.say(draft.mend("name it once"));
    }
}

fn surface(desk: &mut Desk<'_>, fields: &Fields<'_>, deck: &Node<'_>, shelf: &Shelf) -> DeckSurface {
    match (fields.get("sheet"), fields.get("slats")) {
        (Some(node), None) => sheet(desk, &node).unwrap_or_default(),
        (None, Some(node)) => slats(desk, &node, shelf).unwrap_or_default(),
        (None, None) => {
            let mend = "such as `sheet = { material = \"birch plywood\", thickness = 12 }` or `slats = { stock = \"18x70\", gap = 50 }`";
            desk.say(deck.draft("a deck needs `sheet` or `slats`").mend(mend));
            DeckSurface::default()
        }
        (Some(_), Some(node)) => {
            desk.say(node.draft("a deck is of a sheet or of slats, not of both").mend("take one of the two out"));
            DeckSurface::default()
        }
    }
}

fn sheet(desk: &mut Desk<'_>, node: &Node<'_>) -> Option<DeckSurface> {
    let fields = Fields::open(desk, node, "a sheet", &["material", "thickness", "grain"])?;
    let grain = fields.get("grain").and_then(|node| node.choice(desk, &[("across", true), ("along", false)]));
    Some(DeckSurface::Sheet {
        material: fields.need_text(desk, "material", "\"birch plywood\""),
        thickness_mm: fields.need_number(desk, "thickness", Kind::Length, "12"),
        grain_across: grain.unwrap_or(true),
    })
}

fn slats(desk: &mut Desk<'_>, node: &Node<'_>, shelf: &Shelf) -> Option<DeckSurface> {
    let fields = Fields::open(desk, node, "slats", &["stock", "gap"])?;
    let stock = fields.need(desk, "stock", "\"18x70\"");
    let stock = shelf.name(desk, stock);
    Some(DeckSurface::Slats { stock, gap_mm: fields.need_number(desk, "gap", Kind::Length, "50") })
}
