//! What a remark may be placed on, as it was in one design: all that makes it this item and where it is, without the
//! names of its neighbours, so that a new name of a member is no change of its joints, anchors and decks.

use super::NEAR_MM;
use crate::design::canonical::{canonical_json, hex_digest};
use crate::design::line::{self, Line};
use crate::design::vector::{norm, sub};
use crate::design::{Anchor, Deck, DeckSurface, Design, Joint, Member, Stock, Vector, anchor_tags, joint_tag, section};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Kinds of item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum On {
    /// A member.
    Member,
    /// A joint.
    Joint,
    /// An anchor.
    Anchor,
    /// A deck.
    Deck,
    /// The whole design.
    Whole,
}

/// An item as it was in one design.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Item {
    /// A member with its stock.
    Member {
        /// All of it.
        member: Member,
        /// What it is made of; `None` where the design does not say.
        stock: Option<Stock>,
    },
    /// A joint.
    Joint {
        /// All of it but the names.
        joint: Joint,
        /// Where it is, on the carried member's axis.
        at: Vector,
        /// What the carrying and the carried member are made of.
        stock: Box<[Option<Stock>; 2]>,
    },
    /// An anchor.
    Anchor {
        /// All of it but the names of member and anchor.
        anchor: Anchor,
        /// Where it is, on the member's axis.
        at: Vector,
        /// What its member is made of.
        stock: Option<Stock>,
    },
    /// A deck.
    Deck {
        /// All of it but the names.
        deck: Deck,
        /// Least and greatest x, least and greatest y, and the height of the axes under it, mm.
        outline: [f64; 5],
        /// Sha256 of the axes it lies on: a deck may lie on very many members.
        under: String,
        /// What its slats are made of.
        stock: Option<Stock>,
    },
    /// The whole design.
    Whole,
}

impl Item {
    /// The member it is, if it is one.
    pub(super) fn member(&self) -> Option<&Member> {
        match self {
            Self::Member { member, .. } => Some(member),
            _ => None,
        }
    }

    /// True where both are of one kind and lie at one place.
    pub(super) fn same_place(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Member { member: one, .. }, Self::Member { member: other, .. }) => same_place(one, other),
            (Self::Joint { at: one, .. }, Self::Joint { at: other, .. })
            | (Self::Anchor { at: one, .. }, Self::Anchor { at: other, .. }) => near(*one, *other),
            (Self::Deck { outline: one, .. }, Self::Deck { outline: other, .. }) => {
                one.iter().zip(other).all(|(a, b)| (a - b).abs() <= NEAR_MM)
            }
            (Self::Whole, Self::Whole) => true,
            _ => false,
        }
    }

    /// Distance between two places of one kind, mm; of decks the sum over their sides.
    pub(super) fn apart_mm(&self, other: &Self) -> f64 {
        match (self, other) {
            (Self::Joint { at: one, .. }, Self::Joint { at: other, .. })
            | (Self::Anchor { at: one, .. }, Self::Anchor { at: other, .. }) => norm(sub(*one, *other)),
            (Self::Deck { outline: one, .. }, Self::Deck { outline: other, .. }) => {
                one.iter().zip(other).map(|(a, b)| (a - b).abs()).sum()
            }
            _ => 0.0,
        }
    }

    /// A point by which it is looked up; two items at one place have theirs within [`NEAR_MM`] in each direction.
    pub(super) fn point(&self) -> Vector {
        match self {
            Self::Member { member, .. } => middle(member),
            Self::Joint { at, .. } | Self::Anchor { at, .. } => *at,
            Self::Deck { outline, .. } => [outline[0], outline[2], outline[4]],
            Self::Whole => [0.0; 3],
        }
    }
}

fn near(one: Vector, other: Vector) -> bool {
    norm(sub(one, other)) <= NEAR_MM
}

/// True where the ends of both lie together, either way round.
pub(super) fn same_place(one: &Member, other: &Member) -> bool {
    (near(one.from, other.from) && near(one.to, other.to)) || (near(one.from, other.to) && near(one.to, other.from))
}

/// The middle of a member's axis.
pub(super) fn middle(member: &Member) -> Vector {
    std::array::from_fn(|axis| 0.5 * (member.from[axis] + member.to[axis]))
}

/// An item with what it hangs on.
#[derive(Clone, Debug)]
pub(super) struct Part {
    /// The item.
    pub item: Item,
    /// Tags of its members: of a joint the carrying and the carried one.
    pub members: Vec<String>,
    /// What an anchor is fixed to.
    pub to: String,
    /// True where its tag is made of the names above and of nothing else.
    pub named_by_members: bool,
}

/// Parts by their tags.
pub(super) type Parts = BTreeMap<String, Part>;

/// All items of one design.
#[derive(Clone, Debug)]
pub(super) struct Side {
    members: Parts,
    joints: Parts,
    anchors: Parts,
    decks: Parts,
}

impl Side {
    /// Everything of a design that a remark may be placed on.
    pub fn of(design: &Design) -> Self {
        let known = Known::of(design);
        let joints = design.joints.iter().map(|joint| (joint_tag(joint), known.joint(joint)));
        let tags = anchor_tags(design);
        let anchors = design.anchors.iter().zip(tags).map(|(anchor, tag)| {
            let part = known.anchor(anchor, &tag);
            (tag, part)
        });
        let decks = design.decks.iter().map(|deck| (deck.tag.clone(), alone(known.deck(deck))));
        Self {
            members: design.members.iter().map(|member| (member.tag.clone(), alone(known.member(member)))).collect(),
            joints: joints.collect(),
            anchors: anchors.collect(),
            decks: decks.collect(),
        }
    }

    /// The parts of a kind; `None` for the whole.
    pub fn parts(&self, on: On) -> Option<&Parts> {
        match on {
            On::Member => Some(&self.members),
            On::Joint => Some(&self.joints),
            On::Anchor => Some(&self.anchors),
            On::Deck => Some(&self.decks),
            On::Whole => None,
        }
    }

    /// The item of a tag.
    pub fn item(&self, on: On, tag: &str) -> Option<&Item> {
        self.parts(on)?.get(tag).map(|part| &part.item)
    }
}

/// One item of a design; `None` where it has none of this tag.
pub(super) fn item_of(design: &Design, on: On, tag: &str) -> Option<Item> {
    let known = Known::of(design);
    match on {
        On::Member => known.members.get(tag).map(|member| known.member(member)),
        On::Joint => {
            let joint = design.joints.iter().find(|joint| joint_tag(joint) == tag)?;
            Some(known.joint(joint).item)
        }
        On::Anchor => {
            let (anchor, _) = design.anchors.iter().zip(anchor_tags(design)).find(|(_, other)| other == tag)?;
            Some(known.anchor(anchor, tag).item)
        }
        On::Deck => design.decks.iter().find(|deck| deck.tag == tag).map(|deck| known.deck(deck)),
        On::Whole => Some(Item::Whole),
    }
}

fn alone(item: Item) -> Part {
    Part { item, members: Vec::new(), to: String::new(), named_by_members: false }
}

/// Members and stock of a design by name.
struct Known<'d> {
    members: BTreeMap<&'d str, &'d Member>,
    stock: BTreeMap<&'d str, &'d Stock>,
}

impl<'d> Known<'d> {
    fn of(design: &'d Design) -> Self {
        Self {
            members: design.members.iter().map(|member| (member.tag.as_str(), member)).collect(),
            stock: design.stock.iter().map(|stock| (stock.name.as_str(), stock)).collect(),
        }
    }

    fn stock_of(&self, member: &str) -> Option<Stock> {
        let stock = &self.members.get(member)?.stock;
        self.stock.get(stock.as_str()).copied().cloned()
    }

    fn line(&self, member: &str) -> Option<Line> {
        let member = self.members.get(member)?;
        Line::between(member.from, member.to)
    }

    fn member(&self, member: &Member) -> Item {
        Item::Member { member: member.clone(), stock: self.stock.get(member.stock.as_str()).copied().cloned() }
    }

    fn joint(&self, joint: &Joint) -> Part {
        let at = match (self.line(&joint.member), self.line(&joint.on)) {
            (Some(carried), Some(carrying)) => carried.point(line::nearest(&carried, &carrying, joint.at_mm).0),
            _ => [0.0; 3],
        };
        let stock = Box::new([self.stock_of(&joint.on), self.stock_of(&joint.member)]);
        let nameless = Joint { tag: None, member: String::new(), on: String::new(), ..joint.clone() };
        Part {
            item: Item::Joint { joint: nameless, at, stock },
            members: vec![joint.on.clone(), joint.member.clone()],
            to: String::new(),
            named_by_members: joint.tag.is_none(),
        }
    }

    fn anchor(&self, anchor: &Anchor, tag: &str) -> Part {
        let at = self.line(&anchor.member).map_or([0.0; 3], |line| line.point(anchor.at_mm));
        let nameless = Anchor { tag: None, member: String::new(), ..anchor.clone() };
        Part {
            item: Item::Anchor { anchor: nameless, at, stock: self.stock_of(&anchor.member) },
            members: vec![anchor.member.clone()],
            to: anchor.to.clone(),
            named_by_members: anchor.tag.is_none() && tag == format!("{}/{}", anchor.member, anchor.to),
        }
    }

    fn deck(&self, deck: &Deck) -> Item {
        let under: Vec<&Member> =
            deck.carried_by.iter().filter_map(|tag| self.members.get(tag.as_str()).copied()).collect();
        let mut axes: Vec<String> = under.iter().map(|member| canonical_json(&[member.from, member.to])).collect();
        axes.sort_unstable();
        let stock = match &deck.surface {
            DeckSurface::Slats { stock, .. } => self.stock.get(stock.as_str()).copied().cloned(),
            DeckSurface::Sheet { .. } => None,
        };
        let nameless = Deck { tag: String::new(), carried_by: Vec::new(), ..deck.clone() };
        let outline = self.outline(deck, &under);
        Item::Deck { deck: nameless, outline, under: hex_digest(&axes.join(" ")), stock }
    }

    /// As stated; what is not stated, from the members under it: along them their ends, across them their outer sides.
    fn outline(&self, deck: &Deck, under: &[&Member]) -> [f64; 5] {
        let mut hull = [[f64::MAX, f64::MIN]; 3];
        for member in under {
            let wide =
                self.stock.get(member.stock.as_str()).and_then(|stock| section::properties(&stock.section).width_mm);
            let half = 0.5 * wide.unwrap_or(0.0);
            let along_x = (member.to[0] - member.from[0]).abs() >= (member.to[1] - member.from[1]).abs();
            let beside = [if along_x { 0.0 } else { half }, if along_x { half } else { 0.0 }, 0.0];
            for point in [member.from, member.to] {
                for axis in 0..3 {
                    hull[axis][0] = hull[axis][0].min(point[axis] - beside[axis]);
                    hull[axis][1] = hull[axis][1].max(point[axis] + beside[axis]);
                }
            }
        }
        if under.is_empty() {
            hull = [[0.0; 2]; 3];
        }
        let stated = |axis: usize| match (deck.from_mm, deck.to_mm) {
            (Some(from), Some(to)) => [from[axis].min(to[axis]), from[axis].max(to[axis])],
            (Some(from), None) => [from[axis], hull[axis][1]],
            (None, Some(to)) => [hull[axis][0], to[axis]],
            (None, None) => hull[axis],
        };
        let ([left, right], [front, rear]) = (stated(0), stated(1));
        [left, right, front, rear, hull[2][1]]
    }
}
