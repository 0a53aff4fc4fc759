//! Joints, anchors, decks and the whole: each kind of edit by itself, then chance edits against a reckoning of its own.

use super::{Chance, member};
use crate::design::carry::*;
use crate::design::{Anchor, Deck, Joint, Member};

/// A bearer across two rails, with a joint on each and an anchor on a wall; a part that is `None` was left out. Numbers
/// tell how a part is made.
#[derive(Clone)]
struct Bearer {
    tag: String,
    x: f64,
    left: Option<u32>,
    right: Option<(String, u32)>,
    anchor: Option<u32>,
}

#[derive(Clone, PartialEq)]
struct Top {
    tag: String,
    x: f64,
    made: u32,
}

#[derive(Clone)]
struct Model {
    bearers: Vec<Bearer>,
    decks: Vec<Top>,
}

fn model() -> Model {
    let bearer = |n: u32| Bearer {
        tag: format!("B{n}"),
        x: 300.0 * f64::from(n),
        left: Some(1),
        right: Some((format!("J{n}"), 1)),
        anchor: Some(1),
    };
    let deck = |n: u32| Top { tag: format!("D{n}"), x: 700.0 * f64::from(n), made: 1 };
    Model { bearers: (0..5).map(bearer).collect(), decks: (0..3).map(deck).collect() }
}

fn drawn(model: &Model) -> Design {
    let rails = [("RL", 0.0), ("RR", 1000.0)].map(|(tag, y)| member(tag, y, -100.0, 2000.0));
    let across = |bearer: &Bearer| Member {
        from: [bearer.x, 0.0, 450.0],
        to: [bearer.x, 1000.0, 450.0],
        ..member(&bearer.tag, 0.0, 0.0, 0.0)
    };
    let mut design = Design { members: rails.into_iter().collect(), ..Design::default() };
    for bearer in &model.bearers {
        design.members.push(across(bearer));
        let joint = |tag: Option<String>, on: &str, made: u32| Joint {
            tag,
            member: bearer.tag.clone(),
            on: on.into(),
            contact_mm: Some([f64::from(made), 45.0]),
            ..Joint::default()
        };
        design.joints.extend(bearer.left.map(|made| joint(None, "RL", made)));
        design.joints.extend(bearer.right.clone().map(|(tag, made)| joint(Some(tag), "RR", made)));
        let anchor = |made: u32| Anchor {
            member: bearer.tag.clone(),
            at_mm: 500.0,
            to: "wall".into(),
            contact_mm: Some(f64::from(made)),
            ..Anchor::default()
        };
        design.anchors.extend(bearer.anchor.map(anchor));
    }
    design.decks.extend(model.decks.iter().map(|deck| Deck {
        tag: deck.tag.clone(),
        carried_by: vec!["RL".into(), "RR".into()],
        from_mm: Some([deck.x, 0.0]),
        to_mm: Some([deck.x + 600.0, 1000.0]),
        bedding_kg: f64::from(deck.made),
        ..Deck::default()
    }));
    design
}

fn last(chain: &[Model], on: On, tag: &str) -> Standing {
    let designs: Vec<Design> = chain.iter().map(drawn).collect();
    follow_item(&designs.iter().collect::<Vec<_>>(), on, tag, None).unwrap().pop().unwrap()
}

fn edited(edit: impl FnOnce(&mut Model)) -> Model {
    let mut model = model();
    edit(&mut model);
    model
}

#[test]
fn joints_and_anchors_go_with_a_member_that_has_a_new_name() {
    let chain = [model(), edited(|model| model.bearers[1].tag = "K7".into())];
    let of = |on, tag| last(&chain, on, tag);
    let joint = of(On::Joint, "RL/B1");
    assert_eq!((joint.tag.as_str(), joint.what), ("RL/K7", What::Renamed { from: "RL/B1".into() }));
    let anchor = of(On::Anchor, "B1/wall");
    assert_eq!((anchor.tag.as_str(), anchor.what), ("K7/wall", What::Renamed { from: "B1/wall".into() }));
    // A joint with a tag of its own keeps it, and nothing of it has changed but a neighbour's name.
    assert_eq!(of(On::Joint, "J1").what, What::AsItWas);
    assert_eq!(of(On::Deck, "D1").what, What::AsItWas);
}

#[test]
fn a_joint_goes_to_the_piece_that_holds_its_place() {
    let mut after = drawn(&model());
    let across = after.members[3].clone();
    after.members[3] = Member { tag: "B1a".into(), to: [300.0, 500.0, 450.0], ..across.clone() };
    after.members.push(Member { tag: "B1b".into(), from: [300.0, 500.0, 450.0], ..across });
    for joint in &mut after.joints {
        let piece = if joint.on == "RL" { "B1a" } else { "B1b" };
        if joint.member == "B1" {
            joint.member = piece.into();
            joint.tag = None;
        }
    }
    after.anchors.remove(1);
    let step = Step::between(&drawn(&model()), &after);
    assert_eq!(step.fate(On::Member, "B1"), &Fate::Split { pieces: vec!["B1a".into(), "B1b".into()] });
    assert_eq!(step.fate(On::Joint, "RL/B1"), &Fate::Renamed { to: "RL/B1a".into() });
    assert_eq!(step.fate(On::Joint, "J1"), &Fate::Renamed { to: "RR/B1b".into() });
    assert_eq!(step.fate(On::Anchor, "B1/wall"), &Fate::Gone);
}

#[test]
fn an_anchor_is_known_by_its_place_when_another_comes_beside_it() {
    let mut after = drawn(&model());
    let second = Anchor { at_mm: 0.0, ..after.anchors[1].clone() };
    after.anchors.push(second);
    let step = Step::between(&drawn(&model()), &after);
    assert_eq!(step.fate(On::Anchor, "B1/wall"), &Fate::Renamed { to: "B1/wall@500".into() });
    // On another member, but to the same thing at the same place.
    let mut after = drawn(&model());
    after.members.push(Member { tag: "P9".into(), from: [300.0, 500.0, 0.0], ..after.members[3].clone() });
    after.members.last_mut().unwrap().to = [300.0, 500.0, 450.0];
    (after.anchors[1].member, after.anchors[1].at_mm) = ("P9".into(), 450.0);
    let step = Step::between(&drawn(&model()), &after);
    assert_eq!(step.fate(On::Anchor, "B1/wall"), &Fate::Renamed { to: "P9/wall".into() });
    after.anchors[1].to = "floor".into();
    assert_eq!(Step::between(&drawn(&model()), &after).fate(On::Anchor, "B1/wall"), &Fate::Gone);
}

#[test]
fn a_deck_goes_by_its_tag_then_by_its_outline() {
    let renamed = edited(|model| model.decks[1].tag = "Top".into());
    let standing = last(&[model(), renamed], On::Deck, "D1");
    assert_eq!((standing.tag.as_str(), standing.what), ("Top", What::Renamed { from: "D1".into() }));
    let moved = edited(|model| model.decks[1].x += 21.0);
    assert_eq!(last(&[model(), moved], On::Deck, "D1").what, What::Moved { there_now: None });
    let nudged = edited(|model| model.decks[1].x += 19.0);
    assert_eq!(last(&[model(), nudged], On::Deck, "D1").what, What::Changed);
    let elsewhere = edited(|model| (model.decks[1].tag, model.decks[1].x) = ("Top".into(), 5000.0));
    assert_eq!(last(&[model(), elsewhere], On::Deck, "D1").what, What::Gone);
    // Without an outline stated, it is that of the members under it.
    let mut designs = [drawn(&model()), drawn(&model())];
    for design in &mut designs {
        (design.decks[1].from_mm, design.decks[1].to_mm) = (None, None);
    }
    designs[1].decks[1].tag = "Top".into();
    let step = Step::between(&designs[0], &designs[1]);
    assert_eq!(step.fate(On::Deck, "D1"), &Fate::Renamed { to: "Top".into() });
    designs[1].members[0].to[0] += 100.0;
    assert_eq!(Step::between(&designs[0], &designs[1]).fate(On::Deck, "D1"), &Fate::Gone);
}

#[test]
fn the_whole_stays_the_whole() {
    let empty = edited(|model| (model.bearers, model.decks) = (Vec::new(), Vec::new()));
    let standing = last(&[model(), empty], On::Whole, "");
    assert_eq!(standing, Standing { tag: String::new(), at_mm: None, what: What::AsItWas, since: 0 });
}

#[test]
fn what_is_not_there_has_no_standing() {
    let design = drawn(&model());
    for (on, tag) in [(On::Joint, "B1"), (On::Anchor, "RL/B1"), (On::Deck, "RL"), (On::Member, "D1")] {
        assert_eq!(follow_item(&[&design], on, tag, None), None, "{on:?} {tag}");
    }
}

/// A remark, as the reckoning by hand keeps it.
struct Record {
    on: On,
    first: (String, f64, u32),
    now: (String, f64, u32),
    what: What,
    gone_since: usize,
}

enum Event {
    Renamed(String),
    Moved(f64, Option<String>),
    Made(u32),
    Gone(usize),
}

struct Ledger {
    model: Model,
    records: Vec<Record>,
    /// Bearers and decks that were taken out.
    out: Vec<Bearer>,
    decks_out: Vec<Top>,
    next: u32,
}

/// The parts of a bearer: kind, tag, how it is made.
fn parts(bearer: &Bearer) -> Vec<(On, String, u32)> {
    let left = bearer.left.map(|made| (On::Joint, format!("RL/{}", bearer.tag), made));
    let right = bearer.right.clone().map(|(tag, made)| (On::Joint, tag, made));
    let anchor = bearer.anchor.map(|made| (On::Anchor, format!("{}/wall", bearer.tag), made));
    left.into_iter().chain(right).chain(anchor).collect()
}

impl Ledger {
    fn of(model: Model) -> Self {
        let mut records = Vec::new();
        let mut record = |on, tag: String, x, made| {
            let first = (tag, x, made);
            records.push(Record { on, now: first.clone(), first, what: What::AsItWas, gone_since: 0 });
        };
        for bearer in &model.bearers {
            parts(bearer).into_iter().for_each(|(on, tag, made)| record(on, tag, bearer.x, made));
        }
        model.decks.iter().for_each(|deck| record(On::Deck, deck.tag.clone(), deck.x, deck.made));
        Self { model, records, out: Vec::new(), decks_out: Vec::new(), next: 0 }
    }

    fn fresh(&mut self) -> u32 {
        self.next += 1;
        self.next
    }

    fn tell(&mut self, on: On, tag: &str, event: &Event) {
        for record in self.records.iter_mut().filter(|record| record.on == on && record.now.0 == tag) {
            if record.what == What::Gone {
                continue;
            }
            match event {
                Event::Renamed(to) => {
                    record.what = What::Renamed { from: record.now.0.clone() };
                    record.now.0.clone_from(to);
                }
                Event::Moved(x, there) => {
                    record.now.1 = *x;
                    record.what = What::Moved { there_now: there.clone() };
                    if (&record.now.0, *x) == (&record.first.0, record.first.1) {
                        record.what = if record.now == record.first { What::AsItWas } else { What::Changed };
                    }
                }
                Event::Made(made) => {
                    record.now.2 = *made;
                    if record.what == What::AsItWas {
                        record.what = What::Changed;
                    }
                }
                Event::Gone(index) => (record.what, record.gone_since) = (What::Gone, *index),
            }
        }
    }

    fn back(&mut self, on: On, tag: &str, x: f64) {
        for record in self.records.iter_mut().filter(|record| record.on == on && record.what == What::Gone) {
            if record.now.0 == tag && (record.now.1 - x).abs() < 1.0 {
                record.what = What::Back { gone_since: record.gone_since };
            }
        }
    }

    fn edit(&mut self, chance: &mut Chance, index: usize) {
        match chance.below(3) {
            0 => self.edit_deck(chance, index),
            _ => self.edit_bearer(chance, index),
        }
    }

    fn edit_bearer(&mut self, chance: &mut Chance, index: usize) {
        let number = chance.below(self.model.bearers.len());
        let fresh = self.fresh();
        let before = self.model.bearers[number].clone();
        match chance.below(6) {
            0 => {
                self.model.bearers[number].tag = format!("N{fresh}");
                let after = self.model.bearers[number].clone();
                for ((on, old, _), (_, new, _)) in parts(&before).iter().zip(parts(&after)) {
                    if *old != new {
                        self.tell(*on, old, &Event::Renamed(new));
                    }
                }
            }
            1 => {
                // Where nothing ever was, or home.
                let home = self.records.iter().find(|record| parts(&before).iter().any(|part| part.1 == record.now.0));
                let home = home.map(|record| record.first.1).filter(|_| chance.below(2) == 0);
                let home = home.filter(|x| self.model.bearers.iter().all(|bearer| (bearer.x - x).abs() > 1.0));
                let x = home.unwrap_or(10_000.0 + 100.0 * f64::from(fresh));
                self.model.bearers[number].x = x;
                parts(&before).iter().for_each(|(on, tag, _)| self.tell(*on, tag, &Event::Moved(x, None)));
            }
            2 if self.model.bearers.len() > 2 => {
                self.model.bearers.remove(number);
                parts(&before).iter().for_each(|(on, tag, _)| self.tell(*on, tag, &Event::Gone(index)));
                self.out.push(before);
            }
            3 => {
                let free = |out: &Bearer| self.model.bearers.iter().all(|other| (other.x - out.x).abs() > 1.0);
                let Some(at) = self.out.iter().position(free) else { return };
                let bearer = self.out.remove(at);
                parts(&bearer).iter().for_each(|(on, tag, _)| self.back(*on, tag, bearer.x));
                self.model.bearers.push(bearer);
            }
            4 => {
                // The tags of two bearers are exchanged; what is written of their joints and anchors stays.
                let other = (number + 1) % self.model.bearers.len();
                let second = self.model.bearers[other].clone();
                (self.model.bearers[number].x, self.model.bearers[other].x) = (second.x, before.x);
                for (one, two) in [(&before, &second), (&second, &before)] {
                    // Its counterpart on the other: the same joint of that bearer, if it has one.
                    let counterpart = |on: On, tag: &str| {
                        let right = one.right.as_ref().is_some_and(|(own, _)| own == tag);
                        match on {
                            On::Joint if right => two.right.clone().map(|(own, _)| own),
                            On::Joint => two.left.map(|_| format!("RL/{}", two.tag)),
                            _ => two.anchor.map(|_| format!("{}/wall", two.tag)),
                        }
                    };
                    for (on, tag, _) in parts(one) {
                        self.tell(on, &tag, &Event::Moved(two.x, counterpart(on, &tag)));
                    }
                }
            }
            _ => {
                let bearer = &mut self.model.bearers[number];
                let (on, tag) = match chance.below(4) {
                    0 if bearer.left.is_some() => (On::Joint, format!("RL/{}", bearer.tag)),
                    1 if bearer.anchor.is_some() => (On::Anchor, format!("{}/wall", bearer.tag)),
                    2 if bearer.left.is_some() => {
                        bearer.left = None;
                        let tag = format!("RL/{}", bearer.tag);
                        return self.tell(On::Joint, &tag, &Event::Gone(index));
                    }
                    _ => return,
                };
                let made = if on == On::Joint { &mut bearer.left } else { &mut bearer.anchor };
                *made = Some(100 + fresh);
                self.tell(on, &tag, &Event::Made(100 + fresh));
            }
        }
    }

    fn edit_deck(&mut self, chance: &mut Chance, index: usize) {
        let number = chance.below(self.model.decks.len());
        let fresh = self.fresh();
        let before = self.model.decks[number].clone();
        let deck = &mut self.model.decks[number];
        let event = match chance.below(6) {
            0 => {
                deck.tag = format!("N{fresh}");
                Event::Renamed(deck.tag.clone())
            }
            1 => {
                deck.x = 10_000.0 + 1000.0 * f64::from(fresh);
                Event::Moved(deck.x, None)
            }
            2 => {
                deck.made = 100 + fresh;
                Event::Made(deck.made)
            }
            3 if self.model.decks.len() > 1 => {
                self.decks_out.push(self.model.decks.remove(number));
                Event::Gone(index)
            }
            4 => {
                let Some(deck) = self.decks_out.pop() else { return };
                self.back(On::Deck, &deck.tag, deck.x);
                return self.model.decks.push(deck);
            }
            _ if self.model.decks.len() > 1 => {
                let other = (number + 1) % self.model.decks.len();
                let second = self.model.decks[other].clone();
                (self.model.decks[number].tag, self.model.decks[other].tag) = (second.tag.clone(), before.tag.clone());
                // The tag wins: a tag has now the place, and the make, of the other.
                for (tag, there) in [(&before.tag, &second), (&second.tag, &before)] {
                    for record in self.records.iter_mut().filter(|record| record.on == On::Deck && record.now.0 == *tag)
                    {
                        record.now.2 = if record.what == What::Gone { record.now.2 } else { there.made };
                    }
                    self.tell(On::Deck, tag, &Event::Moved(there.x, Some(there.tag.clone())));
                }
                return;
            }
            _ => return,
        };
        self.tell(On::Deck, &before.tag, &event);
    }
}

#[test]
fn thirty_chance_edits_of_parts_come_out_as_reckoned() {
    let mut seen: BTreeMap<(On, &'static str), usize> = BTreeMap::new();
    for seed in 0..200 {
        let mut chance = Chance(1000 + seed);
        let mut ledger = Ledger::of(model());
        let mut carried: Vec<(Origin, Carried)> = Vec::new();
        let mut before = drawn(&ledger.model);
        for record in &ledger.records {
            let origin = Origin::of(&before, record.on, &record.first.0, None).unwrap();
            let made = Carried::made(&origin, 0);
            carried.push((origin, made));
        }
        for index in 1..=30 {
            ledger.edit(&mut chance, index);
            let after = drawn(&ledger.model);
            let step = Step::between(&before, &after);
            for ((origin, carried), record) in carried.iter_mut().zip(&ledger.records) {
                *carried = step.carry(origin, carried, index);
                let standing = &carried.standing;
                let place = format!("seed {seed}, edit {index}, remark on {:?} {}", record.on, record.first.0);
                assert_eq!((&standing.tag, &standing.what), (&record.now.0, &record.what), "{place}");
                *seen.entry((record.on, record.what.word())).or_default() += 1;
            }
            before = after;
        }
    }
    // The chance edits reach every state of every kind; parts are not split.
    for on in [On::Joint, On::Anchor, On::Deck] {
        for word in ["as_it_was", "changed", "moved", "renamed", "gone", "back"] {
            assert!(seen.get(&(on, word)).is_some_and(|count| *count > 50), "{on:?} {word}: {seen:?}");
        }
    }
}
