//! `[[people]]` and `[[stowage]]`: who and what lies on the decks.

use crate::desk::Desk;
use crate::fields::Fields;
use crate::places::Origin;
use crate::tags::{Tags, with_near};
use crate::unit::Kind;
use crate::value::Node;
use crate::{PEOPLE_LIMIT, STOWAGE_LIMIT};
use battenboard_engine::design::{Deck, Heading, Member, People, Posture, Stowage};
use battenboard_engine::nearest::nearest;
use std::collections::BTreeSet;
use toml::de::DeValue;

const PEOPLE: [&str; 6] = ["name", "posture", "deck", "at", "heads", "mass"];
const STOWAGE: [&str; 5] = ["name", "mass", "at", "size", "on"];

const POSTURES: [(&str, Posture); 3] =
    [("lying", Posture::Lying), ("sitting", Posture::Sitting), ("kneeling", Posture::Kneeling)];
const HEADINGS: [(&str, Heading); 4] =
    [("front", Heading::Front), ("rear", Heading::Rear), ("left", Heading::Left), ("right", Heading::Right)];

pub(crate) fn people(
    desk: &mut Desk<'_>,
    root: &Fields<'_>,
    tags: &Tags,
    decks: &[Deck],
) -> (Vec<People>, Vec<Origin>) {
    let nodes = root.tables(desk, "people", PEOPLE_LIMIT);
    let (mut people, mut origins) = (Vec::new(), Vec::new());
    for (item, node) in nodes.iter().enumerate() {
        let Some(fields) = Fields::open(desk, node, "an entry of people", &PEOPLE) else { continue };
        let posture = fields.need(desk, "posture", "\"lying\"").and_then(|node| node.choice(desk, &POSTURES));
        let deck = fields.need(desk, "deck", "\"D1\"").and_then(|node| deck_tag(desk, &node, tags, decks));
        let at_mm = match fields.get("at") {
            Some(node) => places(desk, &node),
            None => deck.and_then(|deck| middle(deck, tags)).into_iter().collect(),
        };
        origins.push(Origin::new(item));
        people.push(People {
            name: fields.need_text(desk, "name", "\"both asleep\""),
            posture: posture.unwrap_or_default(),
            deck: deck.map(|deck| deck.tag.clone()).unwrap_or_default(),
            at_mm,
            heads: fields.get("heads").and_then(|node| node.choice(desk, &HEADINGS)).unwrap_or_default(),
            mass_kg: fields.number(desk, "mass", Kind::Mass),
        });
    }
    (people, origins)
}

/// The deck that a value names; said where there is none of that tag.
pub(crate) fn deck_tag<'d>(desk: &mut Desk<'_>, node: &Node<'_>, tags: &Tags, decks: &'d [Deck]) -> Option<&'d Deck> {
    let tag = node.text(desk)?;
    let found = decks.iter().find(|deck| deck.tag == tag);
    if found.is_none() && tags.complete {
        let draft = node.draft(format!("`{}` in `{}` is no deck", crate::lines::shorten(&tag), node.label()));
        let near = nearest(&tag, decks.iter().map(|deck| deck.tag.as_str())).map(str::to_owned);
        desk.say(with_near(draft, near));
    }
    found
}

fn places(desk: &mut Desk<'_>, node: &Node<'_>) -> Vec<[f64; 2]> {
    let nodes = node.items(desk, "points, one a person: [[x, y], ...]");
    let plain = |node: &Node<'_>| !matches!(node.value, DeValue::Array(_));
    if !nodes.is_empty() && nodes.iter().all(plain) {
        let here = desk.quote(&node.span);
        let draft = node.draft(format!("`at` is a list of points, here is `{here}`"));
        desk.say(draft.mend(format!("write it in brackets once more: `[{here}]`")));
        return Vec::new();
    }
    if let Some(over) = nodes.get(PEOPLE_LIMIT) {
        desk.say(
            over.draft(format!("there are {} people in one entry, at most {PEOPLE_LIMIT} are taken", nodes.len())),
        );
        return Vec::new();
    }
    nodes.iter().filter_map(|node| node.flat_point(desk)).collect()
}

/// Middle of a deck: of its corners where they are stated, else of the members under it.
fn middle(deck: &Deck, tags: &Tags) -> Option<[f64; 2]> {
    let carrying: BTreeSet<&str> = deck.carried_by.iter().map(String::as_str).collect();
    let under: Vec<&Member> = tags.members.iter().filter(|member| carrying.contains(member.tag.as_str())).collect();
    let ends = |axis: usize| under.iter().flat_map(move |member| [member.from[axis], member.to[axis]]);
    let mut middle = [0.0; 2];
    for (axis, middle) in middle.iter_mut().enumerate() {
        let least = deck.from_mm.map(|corner| corner[axis]).or_else(|| ends(axis).reduce(f64::min))?;
        let most = deck.to_mm.map(|corner| corner[axis]).or_else(|| ends(axis).reduce(f64::max))?;
        *middle = 0.5 * (least + most);
    }
    Some(middle)
}

pub(crate) fn stowage(desk: &mut Desk<'_>, root: &Fields<'_>, tags: &Tags) -> (Vec<Stowage>, Vec<Origin>) {
    let nodes = root.tables(desk, "stowage", STOWAGE_LIMIT);
    let (mut stowage, mut origins) = (Vec::new(), Vec::new());
    for (item, node) in nodes.iter().enumerate() {
        let Some(fields) = Fields::open(desk, node, "a piece of stowage", &STOWAGE) else { continue };
        let at = fields.need(desk, "at", "[2600, 0, 200]").and_then(|node| node.point(desk));
        let size = fields.need(desk, "size", "[600, 500, 400]").and_then(|node| node.point(desk));
        origins.push(Origin::new(item));
        stowage.push(Stowage {
            name: fields.need_text(desk, "name", "\"dive bottles\""),
            mass_kg: fields.need_number(desk, "mass", Kind::Mass, "60"),
            at: at.unwrap_or_default(),
            size: size.unwrap_or_default(),
            on: fields.get("on").and_then(|node| lies_on(desk, &node, tags)),
        });
    }
    (stowage, origins)
}

fn lies_on(desk: &mut Desk<'_>, node: &Node<'_>, tags: &Tags) -> Option<String> {
    let tag = node.text(desk)?;
    if tags.complete && !tags.knows(&tag) {
        let draft = node.draft(format!("`{}` in `on` is no deck and no member", crate::lines::shorten(&tag)));
        desk.say(with_near(draft, nearest(&tag, tags.all()).map(str::to_owned)));
    }
    Some(tag)
}
