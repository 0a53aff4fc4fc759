//! A design that is edited by chance, and what its remarks should say, kept by hand edit by edit: this file knows
//! nothing of how the server reckons.

use battenboard_proto::v1;
use std::collections::BTreeMap;
use std::fmt::Write;

/// How near is the same place, mm: service.md, Data.
const NEAR_MM: f64 = 20.0;

/// Xorshift.
pub struct Chance(pub u64);

impl Chance {
    pub fn below(&mut self, count: usize) -> usize {
        for _ in 0..2 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
        }
        (self.0 >> 11) as usize % count.max(1)
    }
}

/// A bearer between two things of the vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct Bearer {
    pub tag: String,
    x: f64,
    y: [f64; 2],
    stock: &'static str,
    ends: [String; 2],
    /// How far its anchors are in from its ends, mm: two at one post would lie at one place.
    inset: [f64; 2],
}

/// Tag, place and make of an item.
#[derive(Clone, Debug, PartialEq)]
struct Item {
    tag: String,
    place: [f64; 3],
    stock: &'static str,
}

/// A remark, and how it should stand.
#[derive(Clone, Debug)]
pub struct Record {
    pub kind: v1::PlaceKind,
    first: Item,
    first_at: Option<f64>,
    now: Item,
    pub expected: v1::Standing,
}

impl Record {
    pub fn tag(&self) -> &str {
        &self.first.tag
    }

    pub fn at_mm(&self) -> Option<f64> {
        self.first_at
    }

    /// The tag it is on now; `None`: its item is gone, or it is on the whole.
    pub fn on(&self) -> Option<&str> {
        let there = self.expected.what() != v1::StandingKind::Gone && !self.expected.tag.is_empty();
        there.then_some(self.expected.tag.as_str())
    }

    /// Where it is what and where the remark was made on, or at least called and lies so, it says that.
    fn comes_home(&mut self, letter: &str) -> bool {
        let home = (&self.now.tag, self.now.place) == (&self.first.tag, self.first.place);
        if home {
            let same = self.now == self.first;
            self.becomes(if same { v1::StandingKind::AsItWas } else { v1::StandingKind::Changed }, letter);
            self.expected.at_mm = self.first_at;
        }
        home
    }

    fn becomes(&mut self, what: v1::StandingKind, letter: &str) {
        self.expected = v1::Standing {
            tag: self.now.tag.clone(),
            at_mm: self.expected.at_mm,
            since_letter: letter.to_owned(),
            ..v1::Standing::default()
        };
        self.expected.set_what(what);
    }
}

enum Event {
    Renamed(String),
    Moved([f64; 3], Option<String>, &'static str),
    Stock(&'static str),
    Gone,
}

/// The design and its remarks.
pub struct Ledger {
    pub bearers: Vec<Bearer>,
    pub records: Vec<Record>,
    slats: usize,
    out: Vec<Bearer>,
    next: usize,
}

fn member_of(bearer: &Bearer) -> Item {
    Item { tag: bearer.tag.clone(), place: [bearer.x, bearer.y[0], bearer.y[1]], stock: bearer.stock }
}

fn slat(n: usize) -> Item {
    Item { tag: format!("S{n}"), place: [300.0 * n as f64, 5000.0, 5400.0], stock: "45x70" }
}

fn anchor_of(bearer: &Bearer, end: usize) -> Item {
    let y = if end == 0 { bearer.y[0] + bearer.inset[0] } else { bearer.y[1] - bearer.inset[1] };
    let place = [bearer.x, y, y];
    Item { tag: format!("{}/{}", bearer.tag, bearer.ends[end]), place, stock: bearer.stock }
}

impl Ledger {
    /// Five bearers and four slats, with a remark on each, on each bearer's anchors and on the whole.
    pub fn new() -> Self {
        let bearer = |n: usize| Bearer {
            tag: format!("B{n}"),
            x: 300.0 * n as f64,
            y: [0.0, 1200.0],
            stock: "45x70",
            ends: ["left rib".into(), "right rib".into()],
            inset: [0.0; 2],
        };
        let bearers: Vec<Bearer> = (1..=5).map(bearer).collect();
        let mut records = Vec::new();
        let mut record = |kind, first: Item, first_at| {
            let mut new = Record { kind, now: first.clone(), first, first_at, expected: v1::Standing::default() };
            new.becomes(v1::StandingKind::AsItWas, "A");
            new.expected.at_mm = first_at;
            records.push(new);
        };
        for (number, bearer) in bearers.iter().enumerate() {
            record(v1::PlaceKind::Member, member_of(bearer), Some(150.0 + 220.0 * number as f64));
            record(v1::PlaceKind::Anchor, anchor_of(bearer, 0), None);
            record(v1::PlaceKind::Anchor, anchor_of(bearer, 1), None);
        }
        for n in 1..=4 {
            record(v1::PlaceKind::Member, slat(n), None);
        }
        record(v1::PlaceKind::Whole, Item { tag: String::new(), place: [0.0; 3], stock: "" }, None);
        Self { bearers, records, slats: 4, out: Vec::new(), next: 0 }
    }

    /// The design's file.
    pub fn text(&self) -> String {
        let mut text =
            String::from("format = 1\nname = \"rack\"\ntitle = \"A rack\"\n[vehicle]\nname = \"Curlew\"\nsurvey = 1\n");
        for (name, depth) in [("45x70", 70), ("45x95", 95)] {
            let section = format!("section = {{ width = 45, depth = {depth} }}");
            let _ = write!(text, "[[stock]]\nname = \"{name}\"\n{section}\nmaterial = \"C24\"\ngrade = \"stamped\"\n");
        }
        let slats = self.slats;
        let _ = write!(
            text,
            "[[members]]\ntag = \"S*\"\nkind = \"slat\"\nstock = \"45x70\"\nfrom = [300, 5000, 500]\nto = [300, 5400, 500]\n\
             count = {slats}\nstep = [300, 0, 0]\n[[anchors]]\nmember = \"S*\"\nat = \"start\"\nto = \"wall\"\nhold = \"rigid\"\n"
        );
        for Bearer { tag, x, y, stock, ends, inset } in &self.bearers {
            let _ = write!(
                text,
                "[[members]]\ntag = \"{tag}\"\nkind = \"bearer\"\nstock = \"{stock}\"\nfrom = [{x}, {}, 500]\nto = [{x}, {}, 500]\n",
                y[0], y[1]
            );
            let at = [inset[0], y[1] - y[0] - inset[1]];
            for (at, (to, hold)) in at.iter().zip(ends.iter().zip(["seated", "pinned"])) {
                let _ = write!(text, "[[anchors]]\nmember = \"{tag}\"\nat = {at}\nto = \"{to}\"\nhold = \"{hold}\"\n");
            }
        }
        text
    }

    fn fresh(&mut self) -> usize {
        self.next += 1;
        self.next
    }

    /// Tells every remark on this tag what happened.
    fn tell(&mut self, kind: v1::PlaceKind, tag: &str, event: &Event, letter: &str) {
        use v1::StandingKind::{AsItWas, Changed, Gone, Moved, Renamed};
        for record in self.records.iter_mut().filter(|record| record.kind == kind && record.now.tag == tag) {
            if record.expected.what() == Gone {
                continue;
            }
            let before = record.expected.what();
            match event {
                Event::Renamed(to) => {
                    record.now.tag.clone_from(to);
                    let home = record.comes_home(letter);
                    if !home {
                        record.becomes(Renamed, letter);
                        record.expected.renamed_from = tag.to_owned();
                    }
                }
                Event::Moved(place, there, stock) => {
                    (record.now.place, record.now.stock) = (*place, stock);
                    if !record.comes_home(letter) {
                        record.becomes(Moved, letter);
                        record.expected.there_now = there.clone().unwrap_or_default();
                        record.expected.at_mm = record.expected.at_mm.map(|at| at.min(place[2] - place[1]));
                    }
                }
                Event::Stock(stock) => {
                    record.now.stock = stock;
                    let what = match before {
                        AsItWas => Some(Changed),
                        Changed => Some(if record.now == record.first { AsItWas } else { Changed }),
                        _ => None,
                    };
                    what.into_iter().for_each(|what| record.becomes(what, letter));
                }
                Event::Gone => {
                    record.becomes(Gone, letter);
                    record.expected.gone_since_letter = letter.to_owned();
                }
            }
        }
    }

    /// What is gone is back when its tag and place return, or those that the remark was made on; in the very step in which
    /// it went, it was not gone at all.
    fn returns(&mut self, letter: &str) {
        use v1::PlaceKind::{Anchor, Member};
        let mut there: Vec<(v1::PlaceKind, Item)> = Vec::new();
        for bearer in &self.bearers {
            there.push((Member, member_of(bearer)));
            there.extend([0, 1].map(|end| (Anchor, anchor_of(bearer, end))));
        }
        there.extend((1..=self.slats).map(|n| (Member, slat(n))));
        for record in self.records.iter_mut().filter(|record| record.expected.what() == v1::StandingKind::Gone) {
            let at = |was: &Item| {
                let same = |(kind, item): &&(v1::PlaceKind, Item)| {
                    (*kind, &item.tag, &item.place) == (record.kind, &was.tag, &was.place)
                };
                there.iter().find(same).map(|(_, item)| item.clone())
            };
            let just_gone = record.expected.since_letter == letter;
            let Some(item) = at(&record.now).filter(|_| !just_gone).or_else(|| at(&record.first)) else { continue };
            record.now = item;
            if !just_gone {
                let gone_since = record.expected.gone_since_letter.clone();
                record.becomes(v1::StandingKind::Back, letter);
                record.expected.gone_since_letter = gone_since;
            } else if !record.comes_home(letter) {
                continue;
            }
            if (&record.now.tag, record.now.place) == (&record.first.tag, record.first.place) {
                record.expected.at_mm = record.first_at;
            }
        }
    }

    /// Tells the remarks on a bearer and on its anchors the same.
    fn tell_all(&mut self, bearer: &Bearer, event: impl Fn(Option<usize>) -> Event, letter: &str) {
        self.tell(v1::PlaceKind::Member, &bearer.tag, &event(None), letter);
        for end in [0, 1] {
            self.tell(v1::PlaceKind::Anchor, &anchor_of(bearer, end).tag, &event(Some(end)), letter);
        }
    }

    /// One edit, which leads to the revision of this letter; its name, or `None` where it would have changed nothing.
    pub fn edit(&mut self, chance: &mut Chance, letter: &str) -> Option<&'static str> {
        let edit = self.edit_one(chance, letter)?;
        self.returns(letter);
        Some(edit)
    }

    fn edit_one(&mut self, chance: &mut Chance, letter: &str) -> Option<&'static str> {
        let number = chance.below(self.bearers.len());
        let before = self.bearers[number].clone();
        let item = |bearer: &Bearer, end: Option<usize>| end.map_or(member_of(bearer), |end| anchor_of(bearer, end));
        match chance.below(8) {
            0 => {
                let mut after = before.clone();
                after.tag = format!("N{}", self.fresh());
                self.tell_all(&before, |end| Event::Renamed(item(&after, end).tag), letter);
                self.bearers[number] = after;
                Some("renamed")
            }
            1 => {
                // Home if it can, else where nothing ever was.
                let home =
                    self.records.iter().find(|record| record.now.tag == before.tag).map(|record| record.first.place[0]);
                let home = home.filter(|x| self.bearers.iter().all(|other| other.x != *x));
                let mut after = before.clone();
                after.x = home.unwrap_or(20_000.0 + 100.0 * self.fresh() as f64);
                self.tell_all(&before, |end| Event::Moved(item(&after, end).place, None, after.stock), letter);
                self.bearers[number] = after;
                Some("moved")
            }
            2 if before.y[1] - before.y[0] >= 600.0 => Some(self.split(number, letter)),
            3 if self.bearers.len() > 2 => {
                self.bearers.remove(number);
                self.tell_all(&before, |_| Event::Gone, letter);
                self.out.push(before);
                Some("taken out")
            }
            4 => {
                let free = |out: &Bearer| self.bearers.iter().all(|other| other.x != out.x);
                let at = self.out.iter().position(free)?;
                let bearer = self.out.remove(at);
                self.bearers.push(bearer);
                Some("put back")
            }
            5 => {
                let other = (number + 1) % self.bearers.len();
                Some(self.swap(number, other, letter))
            }
            6 => {
                let stock = if before.stock == "45x70" { "45x95" } else { "45x70" };
                self.bearers[number].stock = stock;
                self.tell_all(&before, |_| Event::Stock(stock), letter);
                Some("other stock")
            }
            _ => {
                let count = 1 + chance.below(6);
                (count != self.slats).then(|| self.count(count, letter))
            }
        }
    }

    fn split(&mut self, number: usize, letter: &str) -> &'static str {
        let before = self.bearers[number].clone();
        let half = 0.5 * (before.y[1] - before.y[0]);
        let middle = format!("post {}", self.fresh());
        let (mut left, mut right) = (before.clone(), before.clone());
        (left.tag, right.tag) = (format!("N{}", self.fresh()), format!("N{}", self.fresh()));
        (left.y[1], right.y[0]) = (before.y[0] + half, before.y[0] + half);
        (left.ends[1], right.ends[0]) = (middle.clone(), middle);
        (left.inset[1], right.inset[0]) = (30.0, 0.0);
        for record in self.records.iter_mut().filter(|record| record.kind == v1::PlaceKind::Member) {
            if record.now.tag != before.tag || record.expected.what() == v1::StandingKind::Gone {
                continue;
            }
            let Some(at) = record.expected.at_mm else { continue };
            // Both halves hold a place near the cut: they are equally long, so the first by its tag has it.
            let first = at <= half - NEAR_MM || (at <= half + NEAR_MM && left.tag < right.tag);
            record.now = member_of(if first { &left } else { &right });
            record.becomes(v1::StandingKind::Split, letter);
            record.expected.at_mm = Some(if first { at.min(half) } else { (at - half).max(0.0) });
            record.expected.pieces = vec![left.tag.clone(), right.tag.clone()];
        }
        for (end, piece) in [(0, &left), (1, &right)] {
            let to = anchor_of(piece, end).tag;
            self.tell(v1::PlaceKind::Anchor, &anchor_of(&before, end).tag, &Event::Renamed(to), letter);
        }
        self.bearers[number] = left;
        self.bearers.push(right);
        "cut up"
    }

    /// Exchanges the tags of two bearers: the tag wins, and both are said.
    fn swap(&mut self, one: usize, other: usize, letter: &str) -> &'static str {
        let (first, second) = (self.bearers[one].clone(), self.bearers[other].clone());
        for (from, to) in [(&first, &second), (&second, &first)] {
            // Under the tag of the one, there is now what lies where the other lay.
            let mut after = to.clone();
            after.tag.clone_from(&from.tag);
            let there = (from.tag != to.tag).then(|| to.tag.clone());
            self.tell(
                v1::PlaceKind::Member,
                &from.tag,
                &Event::Moved(member_of(&after).place, there, after.stock),
                letter,
            );
        }
        (self.bearers[one].tag, self.bearers[other].tag) = (second.tag.clone(), first.tag.clone());
        // Anchors are named by tag and by what they are fixed to; a tag may come to have no such anchor.
        let mut after = BTreeMap::new();
        for bearer in [&self.bearers[one], &self.bearers[other]] {
            after.extend([0, 1].map(|end| (anchor_of(bearer, end).tag, anchor_of(bearer, end))));
        }
        let old = [&first, &second].map(|bearer| [anchor_of(bearer, 0), anchor_of(bearer, 1)]).concat();
        for item in &old {
            let there = after.values().find(|other| other.place == item.place).cloned();
            let event = match after.get(&item.tag) {
                Some(now) => Event::Moved(now.place, there.map(|there| there.tag), now.stock),
                None => match there.filter(|there| old.iter().all(|other| other.tag != there.tag)) {
                    Some(there) => Event::Renamed(there.tag),
                    None => Event::Gone,
                },
            };
            self.tell(v1::PlaceKind::Anchor, &item.tag, &event, letter);
        }
        "tags exchanged"
    }

    fn count(&mut self, count: usize, letter: &str) -> &'static str {
        for n in count + 1..=self.slats {
            self.tell(v1::PlaceKind::Member, &slat(n).tag, &Event::Gone, letter);
        }
        self.slats = count;
        "another count"
    }
}
