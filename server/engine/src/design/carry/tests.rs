#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

//! Each kind of edit by itself, then chains of thirty chance edits against a reckoning of its own.

mod parts;

use super::*;
use crate::design::{Grading, Material, Member, Section, Stock};

fn member(tag: &str, y: f64, from: f64, to: f64) -> Member {
    Member {
        tag: tag.into(),
        kind: "bearer".into(),
        stock: "45x70".into(),
        from: [from, y, 400.0],
        to: [to, y, 400.0],
        ..Member::default()
    }
}

fn design(members: &[Member]) -> Design {
    let stock = ["45x70", "45x95"].map(|name| Stock {
        name: name.into(),
        section: Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 },
        material: Material::Class("C16".into()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    });
    Design { members: members.to_vec(), stock: stock.to_vec(), ..Design::default() }
}

fn bearers() -> Vec<Member> {
    (0..4).map(|n| member(&format!("B{n}"), 300.0 * f64::from(n), 0.0, 1200.0)).collect()
}

/// Where a remark on B1 at 900 mm stands at the end of a chain of members.
fn last(chain: &[Vec<Member>]) -> Standing {
    let designs: Vec<Design> = chain.iter().map(|members| design(members)).collect();
    let chain: Vec<&Design> = designs.iter().collect();
    follow(&chain, "B1", Some(900.0)).unwrap().pop().unwrap()
}

fn edited(edit: impl FnOnce(&mut Vec<Member>)) -> Vec<Member> {
    let mut members = bearers();
    edit(&mut members);
    members
}

#[test]
fn what_stays_is_as_it_was() {
    let other = edited(|members| members[2].stock = "45x95".into());
    let standing = last(&[bearers(), other, bearers()]);
    assert_eq!(standing, Standing { tag: "B1".into(), at_mm: Some(900.0), what: What::AsItWas, since: 0 });
}

#[test]
fn a_change_is_told_from_its_revision_on_and_taken_back_with_it() {
    let changed = edited(|members| members[1].stock = "45x95".into());
    let standing = last(&[bearers(), changed.clone(), changed.clone()]);
    assert_eq!((standing.what, standing.since), (What::Changed, 1));
    assert_eq!(last(&[bearers(), changed, bearers()]).what, What::AsItWas);
    // Another timber under the same name is a change, too.
    let mut after = design(&bearers());
    after.stock[0].resawn = true;
    let before = design(&bearers());
    let list = follow(&[&before, &after], "B1", None).unwrap();
    assert_eq!(list[1].what, What::Changed);
    // A few millimetres are no move.
    let nudged = edited(|members| members[1].from[0] = 15.0);
    let standing = last(&[bearers(), nudged]);
    assert_eq!((standing.what, standing.at_mm), (What::Changed, Some(885.0)));
}

#[test]
fn a_moved_member_names_the_one_that_lies_there_now() {
    let away = edited(|members| {
        members[1].from[1] = 350.0;
        members[1].to[1] = 350.0;
    });
    assert_eq!(last(&[bearers(), away]).what, What::Moved { there_now: None });
    let swapped = edited(|members| {
        members[1].tag = "B2".into();
        members[2].tag = "B1".into();
    });
    let standing = last(&[bearers(), swapped.clone()]);
    assert_eq!((standing.tag.as_str(), standing.what), ("B1", What::Moved { there_now: Some("B2".into()) }));
    let (before, after) = (design(&bearers()), design(&swapped));
    let list = follow(&[&before, &after], "B2", None).unwrap();
    assert_eq!(list[1].what, What::Moved { there_now: Some("B1".into()) });
}

#[test]
fn a_new_tag_at_its_place_is_a_new_name_whichever_way_it_lies() {
    let renamed = edited(|members| members[1].tag = "K7".into());
    let standing = last(&[bearers(), renamed.clone()]);
    assert_eq!((standing.tag.as_str(), standing.at_mm), ("K7", Some(900.0)));
    assert_eq!(standing.what, What::Renamed { from: "B1".into() });
    let turned = edited(|members| {
        members[1].tag = "K7".into();
        (members[1].from, members[1].to) = (members[1].to, members[1].from);
    });
    assert_eq!(last(&[bearers(), turned]).at_mm, Some(300.0));
    // Another kind there is no new name of it: the one piece that covers it.
    let other = edited(|members| {
        members[1].tag = "K7".into();
        members[1].kind = "rail".into();
    });
    assert_eq!(last(&[bearers(), other]).what, What::Split { pieces: vec!["K7".into()] });
    // And it goes on under its new name.
    let mut moved = renamed.clone();
    moved[1].from[1] += 60.0;
    moved[1].to[1] += 60.0;
    assert_eq!(last(&[bearers(), renamed.clone(), moved]).what, What::Moved { there_now: None });
    // The old name taken back, it is what it was.
    let standing = last(&[bearers(), renamed, bearers()]);
    assert_eq!((standing.tag.as_str(), standing.what, standing.since), ("B1", What::AsItWas, 2));
}

#[test]
fn moved_home_it_is_as_it_was_or_changed_and_its_place_is_the_old_one() {
    let short = edited(|members| members[1] = member("B1", 5000.0, 0.0, 600.0));
    assert_eq!(last(&[bearers(), short.clone()]).at_mm, Some(600.0), "no longer than the member");
    let standing = last(&[bearers(), short.clone(), bearers()]);
    assert_eq!((standing.what, standing.at_mm), (What::AsItWas, Some(900.0)));
    let thicker = edited(|members| members[1].stock = "45x95".into());
    let standing = last(&[bearers(), short, thicker]);
    assert_eq!((standing.what, standing.since, standing.at_mm), (What::Changed, 2, Some(900.0)));
}

#[test]
fn of_two_at_its_place_each_goes_to_one() {
    let both = |tags: [&str; 2]| vec![member(tags[0], 300.0, 0.0, 1200.0), member(tags[1], 310.0, 0.0, 1195.0)];
    let (before, after) = (design(&both(["B1", "B2"])), design(&both(["D1", "D2"])));
    let fates = step(&before, &after);
    assert_eq!(fates["B1"], Fate::Renamed { to: "D1".into() });
    assert_eq!(fates["B2"], Fate::Renamed { to: "D2".into() });
}

#[test]
fn cut_up_it_goes_to_the_piece_that_holds_its_place() {
    let cut = edited(|members| {
        members[1] = member("B1a", 300.0, 0.0, 500.0);
        members.push(member("B1b", 300.0, 500.0, 1200.0));
    });
    let standing = last(&[bearers(), cut.clone()]);
    assert_eq!((standing.tag.as_str(), standing.at_mm), ("B1b", Some(400.0)));
    assert_eq!(standing.what, What::Split { pieces: vec!["B1a".into(), "B1b".into()] });
    // Half of it is not the whole.
    let mut half = cut;
    half.pop();
    assert_eq!(last(&[bearers(), half]).what, What::Gone);
}

#[test]
fn pieces_joined_up_again_are_what_they_were() {
    let cut = edited(|members| {
        members[1] = member("B1a", 300.0, 0.0, 500.0);
        members.push(member("B1b", 300.0, 500.0, 1200.0));
    });
    // Both the remark on the piece that goes on in B1 and the one on the piece that does not.
    let designs = [design(&bearers()), design(&cut), design(&bearers())];
    let chain: Vec<&Design> = designs.iter().collect();
    for at_mm in [100.0, 900.0] {
        let standing = follow(&chain, "B1", Some(at_mm)).unwrap().pop().unwrap();
        let wanted = Standing { tag: "B1".into(), at_mm: Some(at_mm), what: What::AsItWas, since: 2 };
        assert_eq!(standing, wanted);
    }
}

#[test]
fn a_step_leaves_alone_what_nobody_touched() {
    let edited = edited(|members| members[1].stock = "45x95".into());
    let step = Step::between(&design(&bearers()), &design(&edited));
    assert!(step.leaves(On::Member, "B0", false, "B0"));
    assert!(!step.leaves(On::Member, "B1", false, "B1"), "changed");
    assert!(!step.leaves(On::Member, "B2", true, "B2"), "a tag that is there may be back");
    assert!(step.leaves(On::Member, "Q7", true, "Q7"));
    assert!(!step.leaves(On::Member, "Q7", true, "B2"), "the tag it was made on is there");
    assert!(step.leaves(On::Whole, "", false, ""));
}

#[test]
fn how_a_remark_stands_reads_back_from_its_text() {
    let chain = [bearers(), edited(|members| _ = members.remove(1))];
    let designs = chain.map(|members| design(&members));
    let origin = Origin::of(&designs[0], On::Member, "B1", Some(0.1 + 0.2)).unwrap();
    let carried = Step::between(&designs[0], &designs[1]).carry(&origin, &Carried::made(&origin, 0), 1);
    assert!(carried.lost.is_some());
    let text = crate::design::canonical::canonical_json(&carried);
    assert_eq!(serde_json::from_str::<Carried>(&text).unwrap(), carried);
    let text = crate::design::canonical::canonical_json(&origin);
    assert_eq!(serde_json::from_str::<Origin>(&text).unwrap(), origin);
}

#[test]
fn what_is_gone_may_come_back_to_its_place() {
    let without = edited(|members| _ = members.remove(1));
    let standing = last(&[bearers(), without.clone(), without.clone()]);
    assert_eq!((standing.tag.as_str(), standing.what, standing.since), ("B1", What::Gone, 1));
    let back = last(&[bearers(), without.clone(), bearers()]);
    assert_eq!((back.what, back.since, back.at_mm), (What::Back { gone_since: 1 }, 2, Some(900.0)));
    // The same tag elsewhere is another member.
    let elsewhere = edited(|members| {
        members[1].from[1] = 3000.0;
        members[1].to[1] = 3000.0;
    });
    assert_eq!(last(&[bearers(), without, elsewhere]).what, What::Gone);
}

#[test]
fn a_tag_that_never_was_has_no_standing() {
    let design = design(&bearers());
    assert_eq!(follow(&[&design], "Q9", None), None);
    assert_eq!(follow(&[], "B1", None), None);
}

/// Xorshift.
struct Chance(u64);

impl Chance {
    fn below(&mut self, count: usize) -> usize {
        for _ in 0..2 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
        }
        (self.0 >> 11) as usize % count.max(1)
    }
}

/// What thirty edits should make of remarks on all members, kept by hand edit by edit.
struct Ledger {
    /// The members of the first design; a remark each.
    first: Vec<Member>,
    members: Vec<Member>,
    /// Per remark, by the first tags: current tag and what became of it; the place of a member that is gone is kept.
    remarks: Vec<(String, What)>,
    /// Where each is along its member, mm.
    at_mm: Vec<f64>,
    gone: Vec<Option<(Member, usize)>>,
    next: usize,
}

impl Ledger {
    fn fresh(&mut self) -> String {
        self.next += 1;
        format!("N{}", self.next)
    }

    fn tell(&mut self, tag: &str, to: &str, what: &What) {
        let now = self.members.iter().find(|member| member.tag == to);
        for ((remark, first), at_mm) in self.remarks.iter_mut().zip(&self.first).zip(&mut self.at_mm) {
            if remark.0 == tag && remark.1 != What::Gone {
                let returned = matches!(what, What::Moved { .. }) && now == Some(first);
                *at_mm = now.map_or(*at_mm, |now| at_mm.min(now.to[0] - now.from[0]));
                // What it was made on has the place it was made at, whatever was too short for it meanwhile.
                *at_mm = if returned { 4096.0 } else { *at_mm };
                *remark = (to.to_owned(), if returned { What::AsItWas } else { what.clone() });
            }
        }
    }

    fn edit(&mut self, chance: &mut Chance, index: usize) {
        let number = chance.below(self.members.len());
        let tag = self.members[number].tag.clone();
        match chance.below(6) {
            0 => {
                let to = self.fresh();
                self.members[number].tag.clone_from(&to);
                self.tell(&tag, &to, &What::Renamed { from: tag.clone() });
            }
            1 => {
                // Where nothing ever was.
                self.next += 1;
                let y = 10_000.0 + 100.0 * self.next as f64;
                self.members[number].from[1] = y;
                self.members[number].to[1] = y;
                self.tell(&tag, &tag, &What::Moved { there_now: None });
            }
            2 if self.members[number].to[0] - self.members[number].from[0] > 200.0 => {
                let (left, right) = (self.fresh(), self.fresh());
                let before = self.members[number].clone();
                let mut piece = before.clone();
                let middle = 0.5 * (piece.from[0] + piece.to[0]);
                self.members[number] =
                    Member { tag: left.clone(), to: [middle, piece.to[1], piece.to[2]], ..piece.clone() };
                piece.from[0] = middle;
                piece.tag.clone_from(&right);
                self.members.push(piece);
                let half = 0.5 * (before.to[0] - before.from[0]);
                let pieces = vec![left.clone(), right.clone()];
                for remark in 0..self.remarks.len() {
                    if self.remarks[remark].0 != tag || self.remarks[remark].1 == What::Gone {
                        continue;
                    }
                    let at = self.at_mm[remark];
                    let first = at <= half - NEAR_MM || (at <= half + NEAR_MM && left < right);
                    self.at_mm[remark] = if first { at.min(half) } else { (at - half).max(0.0) };
                    let to = if first { &left } else { &right };
                    self.remarks[remark] = (to.clone(), What::Split { pieces: pieces.clone() });
                }
            }
            3 if self.members.len() > 2 => {
                let member = self.members.remove(number);
                for (slot, (now, state)) in self.gone.iter_mut().zip(&self.remarks) {
                    if *now == tag && *state != What::Gone {
                        *slot = Some((member.clone(), index));
                    }
                }
                self.tell(&tag, &tag, &What::Gone);
            }
            4 => {
                let Some(slot) = self.gone.iter().position(Option::is_some) else { return };
                let Some((member, since)) = self.gone[slot].take() else { return };
                // Whoever was on it comes back with it.
                for (remark, gone) in self.remarks.iter_mut().zip(&mut self.gone) {
                    let same = gone.as_ref().is_some_and(|(other, _)| other.tag == member.tag);
                    if remark.0 == member.tag && remark.1 == What::Gone {
                        remark.1 = What::Back { gone_since: since };
                        if same {
                            *gone = None;
                        }
                    }
                }
                self.members.push(member);
            }
            5 => {
                let other = (number + 1) % self.members.len();
                let other_tag = self.members[other].tag.clone();
                self.members[number].tag.clone_from(&other_tag);
                self.members[other].tag.clone_from(&tag);
                self.tell(&tag, &tag, &What::Moved { there_now: Some(other_tag.clone()) });
                self.tell(&other_tag, &other_tag, &What::Moved { there_now: Some(tag.clone()) });
            }
            _ => {}
        }
    }
}

#[test]
fn thirty_chance_edits_come_out_as_reckoned() {
    for seed in 0..200 {
        let mut chance = Chance(seed + 1);
        let first: Vec<Member> = (0..6).map(|n| member(&format!("B{n}"), 300.0 * f64::from(n), 0.0, 4096.0)).collect();
        let tags: Vec<String> = first.iter().map(|member| member.tag.clone()).collect();
        let remarks = tags.iter().map(|tag| (tag.clone(), What::AsItWas)).collect();
        let mut ledger = Ledger {
            first: first.clone(),
            members: first.clone(),
            remarks,
            at_mm: vec![4096.0; tags.len()],
            gone: vec![None; tags.len()],
            next: 0,
        };
        let mut chain = vec![design(&first)];
        let mut expected = vec![ledger.remarks.clone()];
        for index in 1..=30 {
            ledger.edit(&mut chance, index);
            chain.push(design(&ledger.members));
            expected.push(ledger.remarks.clone());
        }
        let designs: Vec<&Design> = chain.iter().collect();
        for (number, tag) in tags.iter().enumerate() {
            let list = follow(&designs, tag, Some(4096.0)).unwrap();
            for (index, (standing, expected)) in list.iter().zip(&expected).enumerate() {
                let (now, what) = &expected[number];
                assert_eq!((&standing.tag, &standing.what), (now, what), "seed {seed}, remark on {tag}, edit {index}");
            }
        }
    }
}
