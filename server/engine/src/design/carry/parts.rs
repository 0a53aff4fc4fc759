//! What a step makes of joints, anchors and decks.
//!
//! The same tag is the same item. A tag that is not there any more goes on in the new tag that the new names of its
//! members make; else in a new one at its place: of the same members under whatever names, of an anchor also on the same
//! thing, of a deck with the same outline. Ties: the nearest, then the byte order of tags.

use super::Fate;
use super::grid::Grid;
use super::items::{On, Part, Parts};
use std::collections::{BTreeMap, BTreeSet};

/// What a step makes of the parts of one kind, by tag, when it makes that of the members.
pub(super) fn fates(on: On, old: &Parts, new: &Parts, members: &BTreeMap<String, Fate>) -> BTreeMap<String, Fate> {
    let mut fates = BTreeMap::new();
    let mut open: Vec<(&str, &Part)> = Vec::new();
    let everywhere = Grid::of(new.iter().map(|(tag, part)| (tag.as_str(), part)));
    for (tag, part) in old {
        match new.get(tag) {
            Some(now) if now.item.same_place(&part.item) => _ = fates.insert(tag.clone(), Fate::Kept),
            Some(_) => {
                let there = everywhere.there(&part.item).filter(|(other, _)| other != tag);
                let nearest = there.min_by(|a, b| {
                    let [a_mm, b_mm] = [a, b].map(|(_, other)| other.item.apart_mm(&part.item));
                    a_mm.total_cmp(&b_mm).then_with(|| a.0.cmp(b.0))
                });
                fates.insert(tag.clone(), Fate::Moved { there_now: nearest.map(|(other, _)| other.to_owned()) });
            }
            None => open.push((tag, part)),
        }
    }
    let fresh = new.iter().filter(|(tag, _)| !old.contains_key(*tag)).map(|(tag, part)| (tag.as_str(), part));
    let fresh: BTreeMap<&str, &Part> = fresh.collect();
    let mut renamed = renamed(on, &open, &fresh, members);
    for (tag, _) in open {
        let fate = renamed.remove(tag).map_or(Fate::Gone, |to| Fate::Renamed { to });
        fates.insert(tag.to_owned(), fate);
    }
    fates
}

/// New tags by old ones, each once.
fn renamed(
    on: On,
    open: &[(&str, &Part)],
    fresh: &BTreeMap<&str, &Part>,
    members: &BTreeMap<String, Fate>,
) -> BTreeMap<String, String> {
    let places = Grid::of(fresh.iter().map(|(tag, part)| (*tag, *part)));
    // First by the names of the members, then by place, nearest first.
    let mut pairs: Vec<(bool, f64, &str, &str)> = Vec::new();
    for (tag, part) in open {
        if let Some((to, _)) = new_name(on, part, members).and_then(|name| fresh.get_key_value(name.as_str())) {
            pairs.push((false, 0.0, tag, to));
        }
        let there = places.there(&part.item).filter(|(_, now)| goes_on(on, part, now, members));
        pairs.extend(there.map(|(to, now)| (true, now.item.apart_mm(&part.item), *tag, to)));
    }
    pairs.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then_with(|| (a.2, a.3).cmp(&(b.2, b.3))));
    let mut renamed = BTreeMap::new();
    let mut taken: BTreeSet<&str> = BTreeSet::new();
    for (_, _, old, new) in pairs {
        if !renamed.contains_key(old) && taken.insert(new) {
            renamed.insert(old.to_owned(), new.to_owned());
        }
    }
    renamed
}

/// The tag that a part without one of its own bears now that its members have new names.
fn new_name(on: On, part: &Part, members: &BTreeMap<String, Fate>) -> Option<String> {
    if !part.named_by_members {
        return None;
    }
    let now = |tag: &String| match members.get(tag)? {
        Fate::Kept | Fate::Moved { .. } => Some(tag.clone()),
        Fate::Renamed { to } => Some(to.clone()),
        Fate::Split { .. } | Fate::Gone => None,
    };
    match (on, &part.members[..]) {
        (On::Joint, [carrying, carried]) => Some(format!("{}/{}", now(carrying)?, now(carried)?)),
        (On::Anchor, [member]) => Some(format!("{}/{}", now(member)?, part.to)),
        _ => None,
    }
}

/// True where a new part at the place of an old one is what that goes on in.
fn goes_on(on: On, old: &Part, new: &Part, members: &BTreeMap<String, Fate>) -> bool {
    let becomes = |old: &String, new: &String| match members.get(old) {
        Some(Fate::Kept | Fate::Moved { .. }) => old == new,
        Some(Fate::Renamed { to }) => to == new,
        Some(Fate::Split { pieces }) => pieces.contains(new),
        Some(Fate::Gone) | None => false,
    };
    match (on, &old.members[..], &new.members[..]) {
        (On::Joint, [a, b], [c, d]) => (becomes(a, c) && becomes(b, d)) || (becomes(a, d) && becomes(b, c)),
        (On::Anchor, [a], [c]) => becomes(a, c) || old.to == new.to,
        (On::Deck, ..) => true,
        _ => false,
    }
}
