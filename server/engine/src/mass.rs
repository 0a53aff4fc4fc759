//! Mass of a frame and its gear, centre of mass, and what they do to the vehicle's axles.
//!
//! Masses kg, places mm in vehicle axes. What is weighed here is what the statics load: own weight is volume times
//! mean density, decks by their area. An opinion on mass: weigh the real vehicle, both axles, then left and right.

pub mod axles;

use crate::design::frame::FrameMaterial;
use crate::design::vector::{add, scale};
use crate::design::{Action, DeckSurface, Frame, LoadKind, Vector, Vehicle};
use crate::findings::{AxleLine, MassLine, WeightTable};

/// Fixings and finish as a share of the timber's mass (common practice, no source: 5 to 8 %).
pub const FIXINGS_SHARE: f64 = 0.06;

/// A mass with its place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PlacedMass {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Its centre, vehicle axes, mm.
    pub at_mm: Vector,
}

/// A sum of masses with its first moment.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    mass_kg: f64,
    moment_kg_mm: Vector,
}

impl Sum {
    fn put(&mut self, mass_kg: f64, at_mm: Vector) {
        self.mass_kg += mass_kg;
        self.moment_kg_mm = add(self.moment_kg_mm, scale(at_mm, mass_kg));
    }

    fn placed(&self) -> PlacedMass {
        // Not times 1/mass: that is infinite for masses under 1e-308 kg.
        let at_mm = if self.mass_kg > 0.0 { self.moment_kg_mm.map(|part| part / self.mass_kg) } else { [0.0; 3] };
        PlacedMass { mass_kg: self.mass_kg, at_mm }
    }
}

/// What a frame weighs, part by part.
#[derive(Clone, Debug, Default)]
struct Parts {
    frame: Sum,
    /// Of the frame: what fixings are reckoned on.
    timber: Sum,
    bedding: Sum,
    stowage: Sum,
    by_stock: Vec<MassLine>,
    by_kind: Vec<MassLine>,
}

impl Parts {
    fn put(&mut self, stock: &str, kind: &str, mass_kg: f64, at_mm: Vector) {
        self.frame.put(mass_kg, at_mm);
        line(&mut self.by_stock, stock, mass_kg);
        line(&mut self.by_kind, kind, mass_kg);
    }

    fn brought(&self) -> Brought {
        let timber = self.timber.placed();
        let fixings = PlacedMass { mass_kg: FIXINGS_SHARE * timber.mass_kg, at_mm: timber.at_mm };
        Brought { own: [self.frame.placed(), fixings, self.bedding.placed()], stowage: self.stowage.placed() }
    }
}

/// Adds to the line of that name, in order of first appearance.
fn line(lines: &mut Vec<MassLine>, name: &str, mass_kg: f64) {
    match lines.iter_mut().find(|line| line.name == name) {
        Some(line) => line.mass_kg += mass_kg,
        None => lines.push(MassLine { name: name.to_owned(), mass_kg }),
    }
}

/// What a frame brings aboard a vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Brought {
    /// The frame, its fixings, its bedding.
    pub own: [PlacedMass; 3],
    /// Gear, wherever it lies.
    pub stowage: PlacedMass,
}

impl Brought {
    /// Frame, fixings and bedding, kg.
    pub fn own_kg(&self) -> f64 {
        self.own.iter().map(|part| part.mass_kg).sum()
    }
}

/// What a frame brings aboard; the same as in its weight table.
pub fn brought(frame: &Frame) -> Brought {
    parts(frame).brought()
}

/// What several frames do to one vehicle together: the lines of a weight table as if they were one frame, and the names of
/// the vehicle's figures that are missing. What was weighed and the passengers are the vehicle's, and there once.
pub fn together(vehicle: &Vehicle, frames: &[Brought]) -> (Vec<AxleLine>, Vec<String>) {
    let own: Vec<PlacedMass> = frames.iter().flat_map(|frame| frame.own).collect();
    let mut stowage = Sum::default();
    for frame in frames {
        stowage.put(frame.stowage.mass_kg, frame.stowage.at_mm);
    }
    axles::lines(vehicle, &own, &stowage.placed())
}

/// The weight table of a frame. Axle lines are there only where the vehicle's wheelbase and both weighed axle loads
/// are known; what is not known is named.
pub fn weight_table(frame: &Frame) -> WeightTable {
    let parts = parts(frame);
    let Brought { own, stowage } = parts.brought();
    let [_, fixings, _] = own;
    let mut total = Sum::default();
    for part in own.iter().chain([&stowage]) {
        total.put(part.mass_kg, part.at_mm);
    }
    let vehicle = &frame.design().vehicle;
    let (axles, missing) = axles::lines(vehicle, &own, &stowage);
    WeightTable {
        frame_kg: parts.frame.mass_kg,
        fixings_kg: fixings.mass_kg,
        bedding_kg: parts.bedding.mass_kg,
        stowage_kg: parts.stowage.mass_kg,
        total_kg: total.mass_kg,
        centre_mm: total.placed().at_mm,
        by_stock: parts.by_stock,
        by_kind: parts.by_kind,
        axles,
        missing,
        least_payload_kg: axles::least_payload_kg(vehicle),
    }
}

fn parts(frame: &Frame) -> Parts {
    let mut parts = Parts::default();
    members(frame, &mut parts);
    decks(frame, &mut parts);
    gear(frame, &mut parts);
    parts
}

fn members(frame: &Frame, parts: &mut Parts) {
    let design = frame.design();
    for (placed, stated) in frame.members.iter().zip(&design.members) {
        let (mass, middle) = (placed.mass_kg(), placed.point(0.5 * placed.length_mm));
        parts.put(&stated.stock, &stated.kind, mass, middle);
        if !matches!(placed.material, FrameMaterial::Metal(_)) {
            parts.timber.put(mass, middle);
        }
    }
}

fn decks(frame: &Frame, parts: &mut Parts) {
    for (deck, stated) in frame.decks.iter().zip(&frame.design().decks) {
        let mass = deck.mass_kg_m2 * deck.area_m2();
        let mut middle = [0.0, 0.0, deck.top_mm + 0.5 * deck.thickness_mm];
        middle[deck.across()] = 0.5 * (deck.across_mm[0] + deck.across_mm[1]);
        middle[deck.along] = 0.5 * (deck.along_mm[0] + deck.along_mm[1]);
        let name = match &stated.surface {
            DeckSurface::Slats { stock, .. } => stock.clone(),
            DeckSurface::Sheet { material, thickness_mm, .. } => format!("{material} {thickness_mm} mm"),
        };
        parts.put(&name, "deck", mass, middle);
        parts.timber.put(mass, middle);
        // Bedding lies on the deck; its own thickness is not known.
        middle[2] = deck.top_mm + deck.thickness_mm;
        parts.bedding.put(stated.bedding_kg, middle);
    }
}

/// Boxes of gear, on the frame or on the floor, and masses fixed to members.
fn gear(frame: &Frame, parts: &mut Parts) {
    let design = frame.design();
    for item in &design.stowage {
        parts.stowage.put(item.mass_kg, item.at);
    }
    for load in &design.loads {
        let LoadKind::Mass { member, at_mm, mass_kg } = &load.what else { continue };
        let Some(index) = design.members.iter().position(|m| m.tag == *member) else { continue };
        let at = frame.members[index].point(*at_mm);
        match load.action {
            Action::Permanent => parts.put("fixed kit", "fixed kit", *mass_kg, at),
            Action::Stowage => parts.stowage.put(*mass_kg, at),
            // People are passengers or no part of the vehicle.
            Action::Lying | Action::Moving => {}
        }
    }
}
