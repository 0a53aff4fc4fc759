//! What a design says of itself that nobody knows yet, and which members and decks wait for it.

use super::{Design, Joint, anchor_tags};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Most entries of a design.
pub const TO_BE_MEASURED_MAX: usize = 64;
/// Longest text of an entry, bytes.
pub const TO_BE_MEASURED_TEXT_MAX: usize = 200;
/// The name under which the vehicle is to be measured.
pub const VEHICLE: &str = "vehicle";

/// A dimension or choice not yet known; nothing that depends on it can be issued for cutting.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ToBeMeasured {
    /// Tag of a member, joint, anchor or deck, name of a stock, [`VEHICLE`]; empty: the whole design.
    pub tag: String,
    /// What of it, in the builder's words, 1 to [`TO_BE_MEASURED_TEXT_MAX`] bytes.
    pub what: String,
}

impl ToBeMeasured {
    /// Tag and text in one: `B3: wall to wheel arch`.
    pub fn name(&self) -> String {
        if self.tag.is_empty() { self.what.clone() } else { format!("{}: {}", self.tag, self.what) }
    }
}

/// Tag of a joint: its own, else `ON/MEMBER`.
fn joint_tag(joint: &Joint) -> String {
    joint.tag.clone().unwrap_or_else(|| format!("{}/{}", joint.on, joint.member))
}

/// Every name an entry may have: tags of members, decks, joints and anchors, names of stock, [`VEHICLE`].
pub fn measurable(design: &Design) -> BTreeSet<String> {
    let members = design.members.iter().map(|member| member.tag.clone());
    let decks = design.decks.iter().map(|deck| deck.tag.clone());
    let stock = design.stock.iter().map(|stock| stock.name.clone());
    let mut names: BTreeSet<String> = members.chain(decks).chain(stock).collect();
    names.extend(design.joints.iter().map(joint_tag));
    names.extend(anchor_tags(design));
    names.insert(VEHICLE.to_owned());
    names
}

/// The members and decks, by tag, whose shape or support depends on something that is still to be measured; with each the
/// entries of [`Design::to_be_measured`] it waits for, by index.
///
/// An entry holds up the member or deck it names; one on a stock every member of it and every deck with slats of it; one on
/// a joint both its members, one on an anchor its member; one on the vehicle or the whole all there is. A name that several
/// things bear (a stock called as a member is) stands for all of them.
pub fn depends_on(design: &Design) -> BTreeMap<String, BTreeSet<usize>> {
    let mut asked: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (index, item) in design.to_be_measured.iter().enumerate() {
        asked.entry(&item.tag).or_default().push(index);
    }
    let mut waits = Waits { asked, found: BTreeMap::new() };
    if waits.asked.is_empty() {
        return waits.found;
    }
    for member in &design.members {
        for name in ["", VEHICLE, member.tag.as_str(), member.stock.as_str()] {
            waits.put(&member.tag, name);
        }
    }
    for deck in &design.decks {
        for name in ["", VEHICLE, deck.tag.as_str()].into_iter().chain(deck.surface.slats()) {
            waits.put(&deck.tag, name);
        }
    }
    for joint in &design.joints {
        let tag = joint_tag(joint);
        waits.put(&joint.member, &tag);
        waits.put(&joint.on, &tag);
    }
    for (anchor, tag) in design.anchors.iter().zip(anchor_tags(design)) {
        waits.put(&anchor.member, &tag);
    }
    waits.found
}

/// Entries by the name they are on, and who waits for them.
struct Waits<'a> {
    asked: BTreeMap<&'a str, Vec<usize>>,
    found: BTreeMap<String, BTreeSet<usize>>,
}

impl Waits<'_> {
    /// `tag` waits for all entries on `name`.
    fn put(&mut self, tag: &str, name: &str) {
        let Some(entries) = self.asked.get(name) else { return };
        match self.found.get_mut(tag) {
            Some(known) => known.extend(entries),
            None => _ = self.found.insert(tag.to_owned(), entries.iter().copied().collect()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::{Anchor, Deck, DeckSurface, Member};

    /// Rails RL and RR of `45x70`, bearers B1 and B2 of `38x63` on RL, a post P under RL, a deck of slats `38x63` on the
    /// bearers and a sheet.
    fn platform(entries: &[(&str, &str)]) -> Design {
        let member = |tag: &str, stock: &str| Member { tag: tag.into(), stock: stock.into(), ..Member::default() };
        let joint = |on: &str, tag: Option<&str>| Joint {
            tag: tag.map(Into::into),
            member: "B1".into(),
            on: on.into(),
            ..Joint::default()
        };
        let anchor = |at_mm: f64| Anchor { member: "P".into(), to: "floor".into(), at_mm, ..Anchor::default() };
        let slats = DeckSurface::Slats { stock: "38x63".into(), gap_mm: 50.0 };
        Design {
            members: vec![
                member("RL", "45x70"),
                member("RR", "45x70"),
                member("B1", "38x63"),
                member("B2", "38x63"),
                member("P", "45x45"),
            ],
            joints: vec![joint("RL", None), joint("RR", Some("corner"))],
            anchors: vec![anchor(0.0), anchor(400.0)],
            decks: vec![
                Deck { tag: "D1".into(), surface: slats, ..Deck::default() },
                Deck { tag: "D2".into(), ..Deck::default() },
            ],
            to_be_measured: entries
                .iter()
                .map(|(tag, what)| ToBeMeasured { tag: (*tag).into(), what: (*what).into() })
                .collect(),
            ..Design::default()
        }
    }

    fn waiting(tag: &str) -> Vec<String> {
        depends_on(&platform(&[(tag, "a length")])).into_keys().collect()
    }

    #[test]
    fn each_kind_of_thing_holds_up_what_depends_on_it() {
        assert_eq!(depends_on(&platform(&[])), BTreeMap::new());
        assert_eq!(waiting("B2"), ["B2"]);
        assert_eq!(waiting("45x70"), ["RL", "RR"]);
        assert_eq!(waiting("38x63"), ["B1", "B2", "D1"], "the slats too");
        assert_eq!(waiting("RL/B1"), ["B1", "RL"]);
        assert_eq!(waiting("corner"), ["B1", "RR"]);
        assert_eq!(waiting("RR/B1"), [] as [&str; 0], "that joint has a tag of its own");
        assert_eq!(waiting("P/floor@400"), ["P"]);
        assert_eq!(waiting("D2"), ["D2"]);
        let all = ["B1", "B2", "D1", "D2", "P", "RL", "RR"];
        assert_eq!(waiting("vehicle"), all);
        assert_eq!(waiting(""), all);
        assert_eq!(waiting("nothing"), [] as [&str; 0]);
    }

    #[test]
    fn each_says_which_entries_it_waits_for() {
        let found =
            depends_on(&platform(&[("B1", "length"), ("38x63", "what is sold"), ("B1", "which end"), ("", "x")]));
        let of = |tag: &str| found[tag].iter().copied().collect::<Vec<_>>();
        assert_eq!((of("B1"), of("B2"), of("RL")), (vec![0, 1, 2, 3], vec![1, 3], vec![3]));
    }

    #[test]
    fn what_may_be_named_is_what_depends_on_knows() {
        for name in measurable(&platform(&[])) {
            // A stock that nothing is made of may wait for its size too.
            assert!(!waiting(&name).is_empty(), "{name}");
        }
    }
}
