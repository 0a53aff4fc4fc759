//! What became of the items a remark was placed on, from revision to revision: a pure function of the original and the
//! chain of designs after it, one step at a time.
//!
//! A step from one design to the next is one-to-one. The same tag is the same member, kept or moved. A tag that is not
//! there any more goes on in a new tag of the same kind whose ends lie within [`NEAR_MM`] (renamed), else in the new
//! members that together cover its axis (split: the remark goes to the piece that holds its place), else it is gone. Ties:
//! the longest common axis, then the byte order of tags. When a tag that was gone returns to its place, it is back; so it
//! is when the tag and the place return on which the remark was made. Joints, anchors and decks go with their members
//! (`carry/parts.rs`); the whole stays the whole.
//!
//! One step needs the remark's [`Origin`], how it stood ([`Carried`]) and the two designs, never the chain: a submit
//! carries all remarks of a design with one [`Step`].

mod grid;
mod items;
mod members;
mod parts;

use super::Design;
use items::Side;
pub use items::{Item, On};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Ends that lie closer are the same place, mm.
const NEAR_MM: f64 = 20.0;

/// What a step makes of one item.
#[derive(Clone, Debug, PartialEq)]
pub enum Fate {
    /// Same tag, same place; all else may have changed.
    Kept,
    /// Same tag, elsewhere.
    Moved {
        /// Tag of the item that now lies where it lay, if one does.
        there_now: Option<String>,
    },
    /// Another tag at its place.
    Renamed {
        /// The new tag.
        to: String,
    },
    /// Pieces with new tags cover its axis; members only.
    Split {
        /// Their tags, along the old axis.
        pieces: Vec<String>,
    },
    /// Nothing goes on in its place.
    Gone,
}

/// How a remark stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// Tag of the item it is on now; the last one where that is gone; empty for the whole.
    pub tag: String,
    /// Place along that member from its start, mm, where the remark has one.
    pub at_mm: Option<f64>,
    /// What became of the item.
    pub what: What,
    /// Number of the design that made it so; that of the original where nothing did.
    pub since: usize,
}

/// What became of a remark's item.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// As it was when the remark was made.
    AsItWas,
    /// Another stock, orientation, notch, hole or hold, or a place that differs by less than [`NEAR_MM`].
    Changed,
    /// Elsewhere.
    Moved {
        /// Tag of the item that lies where it lay, if one does.
        there_now: Option<String>,
    },
    /// Renamed from this tag.
    Renamed {
        /// The tag before.
        from: String,
    },
    /// Cut up.
    Split {
        /// Tags of all pieces.
        pieces: Vec<String>,
    },
    /// Not there any more.
    Gone,
    /// There again, at its place.
    Back {
        /// Number of the design in which it was gone first.
        gone_since: usize,
    },
}

impl What {
    /// Its one word, for lists and records; never changes.
    pub fn word(&self) -> &'static str {
        match self {
            Self::AsItWas => "as_it_was",
            Self::Changed => "changed",
            Self::Moved { .. } => "moved",
            Self::Renamed { .. } => "renamed",
            Self::Split { .. } => "split",
            Self::Gone => "gone",
            Self::Back { .. } => "back",
        }
    }
}

/// What a remark was made on, as it was then.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Origin {
    /// Kind of the item.
    pub on: On,
    /// Its tag; empty for the whole.
    pub tag: String,
    /// Place along a member from its start, mm, where one was said.
    pub at_mm: Option<f64>,
    /// All of the item.
    pub item: Item,
}

impl Origin {
    /// What a remark on this item of this design is made on; `None` where the design has no such item.
    pub fn of(design: &Design, on: On, tag: &str, at_mm: Option<f64>) -> Option<Self> {
        let item = items::item_of(design, on, tag)?;
        Some(Self { on, tag: tag.to_owned(), at_mm, item })
    }
}

/// How a remark stands, with what the next step needs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Carried {
    /// How it stands.
    pub standing: Standing,
    /// The item as it was last seen, where it is gone: by it, it is known when it returns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lost: Option<Item>,
}

impl Carried {
    /// How a remark stands on the design it was made on, which has this number.
    pub fn made(origin: &Origin, number: usize) -> Self {
        let (tag, at_mm) = (origin.tag.clone(), origin.at_mm);
        Self { standing: Standing { tag, at_mm, what: What::AsItWas, since: number }, lost: None }
    }

    fn is_gone(&self) -> bool {
        self.standing.what == What::Gone
    }
}

/// A step from one design to the next, reckoned once for all remarks.
#[derive(Clone, Debug)]
pub struct Step {
    before: Side,
    after: Side,
    fates: BTreeMap<On, BTreeMap<String, Fate>>,
}

impl Step {
    /// From one design to the next.
    pub fn between(before: &Design, after: &Design) -> Self {
        let (before, after) = (Side::of(before), Side::of(after));
        let mut fates = BTreeMap::new();
        let mut members = BTreeMap::new();
        if let (Some(old), Some(new)) = (before.parts(On::Member), after.parts(On::Member)) {
            members = members::fates(old, new);
        }
        for on in [On::Joint, On::Anchor, On::Deck] {
            if let (Some(old), Some(new)) = (before.parts(on), after.parts(on)) {
                fates.insert(on, parts::fates(on, old, new, &members));
            }
        }
        fates.insert(On::Member, members);
        Self { before, after, fates }
    }

    /// What it makes of an item of the first design; gone where that has none of this tag.
    pub fn fate(&self, on: On, tag: &str) -> &Fate {
        self.fates.get(&on).and_then(|fates| fates.get(tag)).unwrap_or(&Fate::Gone)
    }

    /// True where a remark that stands on this tag, or whose item of this tag is gone, stands afterwards as before: then
    /// its origin need not be looked up. `made_on` is the tag it was made on.
    pub fn leaves(&self, on: On, tag: &str, gone: bool, made_on: &str) -> bool {
        if on == On::Whole {
            return true;
        }
        if gone {
            return self.after.item(on, tag).is_none() && self.after.item(on, made_on).is_none();
        }
        let (seen, now) = (self.before.item(on, tag), self.after.item(on, tag));
        seen.is_some() && seen == now
    }

    /// How a remark stands after this step, which leads to the design of this number.
    pub fn carry(&self, origin: &Origin, carried: &Carried, number: usize) -> Carried {
        let on = origin.on;
        let tag = &carried.standing.tag;
        if self.leaves(on, tag, carried.is_gone(), &origin.tag) {
            return carried.clone();
        }
        let next = match carried.is_gone() {
            true => self.found_again(origin, carried, number),
            false => self.followed(origin, carried, number),
        };
        let now = self.after.item(on, &next.standing.tag).filter(|_| !next.is_gone());
        let Some(now) = now else { return next };
        let untouched = self.before.item(on, tag) == Some(now);
        Carried { standing: settle(next.standing, origin, now, untouched, number), ..next }
    }

    /// A remark whose item is gone.
    fn found_again(&self, origin: &Origin, carried: &Carried, number: usize) -> Carried {
        let standing = &carried.standing;
        let lost = carried.lost.as_ref().unwrap_or(&origin.item);
        let at_its_place = |tag: &str, was: &Item| self.after.item(origin.on, tag).filter(|now| now.same_place(was));
        let (tag, was, now, at_mm) = match at_its_place(&standing.tag, lost) {
            Some(now) => (&standing.tag, lost, now, standing.at_mm),
            None => match at_its_place(&origin.tag, &origin.item) {
                Some(now) => (&origin.tag, &origin.item, now, origin.at_mm),
                None => return carried.clone(),
            },
        };
        let what = What::Back { gone_since: standing.since };
        let at_mm = place_on(was, now, at_mm);
        Carried { standing: Standing { tag: tag.clone(), at_mm, what, since: number }, lost: None }
    }

    /// A remark whose item was there.
    fn followed(&self, origin: &Origin, carried: &Carried, number: usize) -> Carried {
        let (on, standing) = (origin.on, &carried.standing);
        let seen = self.before.item(on, &standing.tag);
        let anew = |tag: String, at_mm: Option<f64>, what: What| Carried {
            standing: Standing { tag, at_mm, what, since: number },
            lost: None,
        };
        let at_on = |tag: &str| place_on(seen?, self.after.item(on, tag)?, standing.at_mm);
        match self.fate(on, &standing.tag) {
            Fate::Kept => {
                Carried { standing: Standing { at_mm: at_on(&standing.tag), ..standing.clone() }, lost: None }
            }
            Fate::Moved { there_now } => {
                let member = self.after.item(on, &standing.tag).and_then(Item::member);
                let length = member.map_or(f64::MAX, members::length_mm);
                // Elsewhere, the place goes along from the marked end.
                let at_mm = standing.at_mm.map(|at| at.min(length));
                anew(standing.tag.clone(), at_mm, What::Moved { there_now: there_now.clone() })
            }
            Fate::Renamed { to } => anew(to.clone(), at_on(to), What::Renamed { from: standing.tag.clone() }),
            Fate::Split { pieces } => {
                let all = pieces.iter().filter_map(|tag| self.after.item(on, tag)?.member()).collect::<Vec<_>>();
                let pick = seen.and_then(Item::member).and_then(|seen| members::piece_at(seen, &all, standing.at_mm));
                let tag = pick.map_or_else(|| standing.tag.clone(), |member| member.tag.clone());
                let at_mm = at_on(&tag);
                anew(tag, at_mm, What::Split { pieces: pieces.clone() })
            }
            Fate::Gone => match self.after.item(on, &origin.tag).filter(|now| now.same_place(&origin.item)) {
                // Pieces that were joined up again: what the remark was made on is there.
                Some(now) if standing.tag != origin.tag => {
                    anew(origin.tag.clone(), place_on(&origin.item, now, origin.at_mm), What::Changed)
                }
                _ => {
                    let gone = anew(standing.tag.clone(), standing.at_mm, What::Gone);
                    Carried { lost: Some(seen.unwrap_or(&origin.item).clone()), ..gone }
                }
            },
        }
    }
}

/// A place on an item as a place on another that lies there; members only.
fn place_on(was: &Item, now: &Item, at_mm: Option<f64>) -> Option<f64> {
    Some(members::along(was.member()?, now.member()?, at_mm?))
}

/// An item that is there: as it was, changed, or what was said before.
fn settle(standing: Standing, origin: &Origin, now: &Item, untouched: bool, number: usize) -> Standing {
    let own_tag = standing.tag == origin.tag;
    let as_it_was = own_tag && *now == origin.item;
    let at_home = own_tag && now.same_place(&origin.item);
    // At home the place is that of the remark as it was made: what was cut off by a shorter member on the way is not lost.
    let at_mm = if at_home { place_on(&origin.item, now, origin.at_mm) } else { standing.at_mm };
    let at_mm = if as_it_was { origin.at_mm } else { at_mm };
    let what = match &standing.what {
        // Whatever was said of it, it is again what the remark was made on.
        What::Changed | What::Moved { .. } | What::Renamed { .. } | What::Split { .. } if as_it_was => What::AsItWas,
        // Where it was and called what it was, though not what it was.
        What::Moved { .. } | What::Renamed { .. } | What::Split { .. } if at_home => What::Changed,
        What::AsItWas if !as_it_was => What::Changed,
        What::Changed if !untouched => What::Changed,
        _ => return Standing { at_mm, ..standing },
    };
    Standing { what, at_mm, since: number, ..standing }
}

/// What a step from one design to the next makes of every member of the first, by tag.
pub fn step(before: &Design, after: &Design) -> BTreeMap<String, Fate> {
    Step::between(before, after).fates.remove(&On::Member).unwrap_or_default()
}

/// Follows a remark on a member of the first design through the chain; one standing a design, the first as it was. `None`
/// where the first design has no such member.
pub fn follow(chain: &[&Design], tag: &str, at_mm: Option<f64>) -> Option<Vec<Standing>> {
    follow_item(chain, On::Member, tag, at_mm)
}

/// The same for any kind of item.
pub fn follow_item(chain: &[&Design], on: On, tag: &str, at_mm: Option<f64>) -> Option<Vec<Standing>> {
    let origin = Origin::of(chain.first()?, on, tag, at_mm)?;
    let mut carried = Carried::made(&origin, 0);
    let mut list = vec![carried.standing.clone()];
    for (index, pair) in chain.windows(2).enumerate() {
        carried = Step::between(pair[0], pair[1]).carry(&origin, &carried, index + 1);
        list.push(carried.standing.clone());
    }
    Some(list)
}

#[cfg(test)]
mod tests;
