//! Tags of a design's items, as findings and remarks use them.

use battenboard_engine::design::carry::On;
use battenboard_engine::design::{Design, anchor_tags};

pub use battenboard_engine::design::joint_tag;

/// What a remark may be placed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlaceKind {
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

impl PlaceKind {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::Member => "member",
            Self::Joint => "joint",
            Self::Anchor => "anchor",
            Self::Deck => "deck",
            Self::Whole => "whole",
        }
    }

    /// What the engine calls it.
    pub fn on(self) -> On {
        match self {
            Self::Member => On::Member,
            Self::Joint => On::Joint,
            Self::Anchor => On::Anchor,
            Self::Deck => On::Deck,
            Self::Whole => On::Whole,
        }
    }

    /// The kind of a word in the database.
    pub fn of_word(word: &str) -> Option<Self> {
        [Self::Member, Self::Joint, Self::Anchor, Self::Deck, Self::Whole].into_iter().find(|kind| kind.word() == word)
    }
}

/// All tags of a kind.
pub fn tags(design: &Design, kind: PlaceKind) -> Vec<String> {
    match kind {
        PlaceKind::Member => design.members.iter().map(|member| member.tag.clone()).collect(),
        PlaceKind::Joint => design.joints.iter().map(joint_tag).collect(),
        PlaceKind::Anchor => anchor_tags(design),
        PlaceKind::Deck => design.decks.iter().map(|deck| deck.tag.clone()).collect(),
        PlaceKind::Whole => Vec::new(),
    }
}

/// Length of a member's axis, mm.
pub fn member_length_mm(design: &Design, tag: &str) -> Option<f64> {
    let member = design.members.iter().find(|member| member.tag == tag)?;
    let squares = member.from.iter().zip(member.to).map(|(from, to)| (to - from).powi(2));
    Some(squares.sum::<f64>().sqrt())
}
