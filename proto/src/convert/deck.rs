//! Decks, gear and people.

use super::{
    onwire::{OnWire, chosen, required, required_value},
    path::Path,
};
use crate::v1::{self, deck_surface};
use battenboard_engine::design::{Deck, DeckSurface, Heading, People, Posture, Stowage, Violation};

impl OnWire for Deck {
    type Wire = v1::Deck;

    fn to_wire(&self) -> v1::Deck {
        let Self { tag, surface, carried_by, from_mm, to_mm, bedding_kg, mattress_mm, screwed } = self;
        v1::Deck {
            tag: tag.clone(),
            surface: Some(surface.to_wire()),
            carried_by: carried_by.clone(),
            from: from_mm.map(Into::into),
            to: to_mm.map(Into::into),
            bedding_kg: *bedding_kg,
            mattress_mm: *mattress_mm,
            screwed: *screwed,
        }
    }

    fn from_wire(wire: v1::Deck, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Deck { tag, surface, carried_by, from, to, bedding_kg, mattress_mm, screwed } = wire;
        let surface = required(surface, &at.field("surface"), faults);
        Some(Self {
            tag,
            surface: surface?,
            carried_by,
            from_mm: from.map(Into::into),
            to_mm: to.map(Into::into),
            bedding_kg,
            mattress_mm,
            screwed,
        })
    }
}

impl OnWire for DeckSurface {
    type Wire = v1::DeckSurface;

    fn to_wire(&self) -> v1::DeckSurface {
        let surface = match self {
            Self::Slats { stock, gap_mm } => {
                deck_surface::Surface::Slats(v1::SlatSurface { stock: stock.clone(), gap_mm: *gap_mm })
            }
            Self::Sheet { material, thickness_mm, grain_across } => deck_surface::Surface::Sheet(v1::SheetSurface {
                material: material.clone(),
                thickness_mm: *thickness_mm,
                grain_across: *grain_across,
            }),
        };
        v1::DeckSurface { surface: Some(surface) }
    }

    fn from_wire(wire: v1::DeckSurface, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::DeckSurface { surface } = wire;
        Some(match chosen(surface, at, faults)? {
            deck_surface::Surface::Slats(v1::SlatSurface { stock, gap_mm }) => Self::Slats { stock, gap_mm },
            deck_surface::Surface::Sheet(v1::SheetSurface { material, thickness_mm, grain_across }) => {
                Self::Sheet { material, thickness_mm, grain_across }
            }
        })
    }
}

impl OnWire for Stowage {
    type Wire = v1::Stowage;

    fn to_wire(&self) -> v1::Stowage {
        let Self { name, mass_kg, at, size, on } = self;
        v1::Stowage {
            name: name.clone(),
            mass_kg: *mass_kg,
            at: Some((*at).into()),
            size: Some((*size).into()),
            on: on.clone(),
        }
    }

    fn from_wire(wire: v1::Stowage, path: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Stowage { name, mass_kg, at, size, on } = wire;
        let at = required_value(at, &path.field("at"), faults);
        let size = required_value(size, &path.field("size"), faults);
        Some(Self { name, mass_kg, at: at?, size: size?, on })
    }
}

impl OnWire for People {
    type Wire = v1::People;

    fn to_wire(&self) -> v1::People {
        let Self { name, posture, deck, at_mm, heads, mass_kg } = self;
        v1::People {
            name: name.clone(),
            posture: posture.to_wire(),
            deck: deck.clone(),
            at: at_mm.iter().map(|&place| place.into()).collect(),
            heads: heads.to_wire(),
            mass_kg: *mass_kg,
        }
    }

    fn from_wire(wire: v1::People, path: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::People { name, posture, deck, at, heads, mass_kg } = wire;
        let posture = Posture::from_wire(posture, &path.field("posture"), faults);
        let heads = Heading::from_wire(heads, &path.field("heads"), faults);
        let at_mm = at.into_iter().map(Into::into).collect();
        Some(Self { name, posture: posture?, deck, at_mm, heads: heads?, mass_kg })
    }
}
