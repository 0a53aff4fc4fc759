//! What lies on a deck, case by case: its own weight and bedding, gear, people, given pressures.

use super::strip::{Reach, Spread};
use crate::design::surface::FrameDeck;
use crate::design::{Action, Deck, Frame, LoadKind, Posture};
use crate::rules::combine::{Case, OnRoad};
use crate::statics::load::{GRAVITY, PERSON_KG};
use crate::statics::patch::{Patch, person};

/// More boxes than this on one deck are one action, as in the statics.
const SEPARATE_BOXES: usize = 3;

/// A mass of which a deck feels the bumps; what tips it in bends goes to the members under the deck.
const MASS: OnRoad = OnRoad::Mass { weight: None, push: None };

/// A load case of one deck.
#[derive(Clone, Debug)]
pub(super) struct DeckCase {
    pub(super) case: Case,
    /// Patches with their forces, N.
    pub(super) patches: Vec<(Patch, f64)>,
    /// Pressure on the whole deck, N/mm².
    pub(super) pressure_n_mm2: f64,
}

impl DeckCase {
    pub(super) fn new(name: &str, action: Action, people: bool, road: OnRoad) -> Self {
        let case = Case { name: name.to_owned(), action, people, road };
        Self { case, patches: Vec::new(), pressure_n_mm2: 0.0 }
    }

    /// Whether any of its patches lies on a reach within a strip's range.
    pub(super) fn touches(&self, reach: &Reach, range: [f64; 2]) -> bool {
        self.patches.iter().any(|(patch, _)| reach.cut(patch.across).is_some() && share(patch.along, range) > 0.0)
    }

    /// Its loads on a strip over a reach, with or without its patches.
    pub(super) fn on(&self, reach: &Reach, range: [f64; 2], patches: bool) -> Vec<Spread> {
        let mut loads = Vec::new();
        if self.pressure_n_mm2 != 0.0 {
            let line_n_mm = self.pressure_n_mm2 * (range[1] - range[0]);
            loads.push(Spread { from_mm: 0.0, to_mm: reach.length_mm, line_n_mm });
        }
        for (patch, force) in self.patches.iter().filter(|_| patches) {
            let Some([from_mm, to_mm]) = reach.cut(patch.across) else { continue };
            let line_n_mm = force * share(patch.along, range) / (patch.across[1] - patch.across[0]);
            if line_n_mm != 0.0 {
                loads.push(Spread { from_mm, to_mm, line_n_mm });
            }
        }
        loads
    }
}

/// Share of a patch's stretch along the members that lies within a strip's range.
fn share(patch: [f64; 2], range: [f64; 2]) -> f64 {
    let common = patch[1].min(range[1]) - patch[0].max(range[0]);
    (common / (patch[1] - patch[0])).clamp(0.0, 1.0)
}

/// A patch of at least 1 mm each way.
pub(super) fn solid(patch: Patch) -> Patch {
    let widen = |[from, to]: [f64; 2]| if to - from < 1.0 { [from - 0.5, to + 0.5] } else { [from, to] };
    Patch { across: widen(patch.across), along: widen(patch.along) }
}

/// All cases of a deck, its own weight first.
pub(super) fn cases(frame: &Frame, deck: &FrameDeck, stated: &Deck) -> Vec<DeckCase> {
    let design = frame.design();
    let mut own = DeckCase::new("own weight", Action::Permanent, false, MASS);
    let area_mm2 = deck.area_m2() * 1e6;
    own.pressure_n_mm2 = (deck.mass_kg_m2 * 1e-6 + stated.bedding_kg / area_mm2) * GRAVITY;
    let mut cases = vec![own];
    gear(frame, deck, stated, &mut cases);
    for entry in design.people.iter().filter(|entry| entry.deck == stated.tag) {
        let action = match entry.posture {
            Posture::Lying => Action::Lying,
            Posture::Sitting | Posture::Kneeling => Action::Moving,
        };
        let mut case = DeckCase::new(&entry.name, action, true, OnRoad::Away);
        let force = entry.mass_kg.or(design.settings.person_kg).unwrap_or(PERSON_KG) * GRAVITY;
        for at in &entry.at_mm {
            let patches = person(deck, entry.posture, entry.heads, *at);
            case.patches.extend(patches.into_iter().map(|(patch, part)| (solid(patch), force * part)));
        }
        cases.push(case);
    }
    for load in &design.loads {
        let LoadKind::Area { deck: on, pressure_n_mm2 } = &load.what else { continue };
        if *on != stated.tag {
            continue;
        }
        let same = |c: &DeckCase| c.case.name == load.case && c.case.action == load.action && !c.case.people;
        match cases.iter_mut().find(|c| same(c)) {
            Some(case) => case.pressure_n_mm2 += pressure_n_mm2,
            None => {
                let rides = matches!(load.action, Action::Permanent | Action::Stowage);
                let road = if rides { OnRoad::Still } else { OnRoad::Away };
                let mut case = DeckCase::new(&load.case, load.action, false, road);
                case.pressure_n_mm2 = *pressure_n_mm2;
                cases.push(case);
            }
        }
    }
    cases
}

fn gear(frame: &Frame, deck: &FrameDeck, stated: &Deck, cases: &mut Vec<DeckCase>) {
    let stowage = &frame.design().stowage;
    let on_it: Vec<_> = stowage.iter().filter(|s| s.on.as_ref() == Some(&stated.tag) && s.mass_kg > 0.0).collect();
    let together = on_it.len() > SEPARATE_BOXES;
    let first = cases.len();
    for item in on_it {
        if cases.len() == first || !together {
            cases.push(DeckCase::new(if together { "gear" } else { &item.name }, Action::Stowage, false, MASS));
        }
        let around = |axis: usize| [item.at[axis] - 0.5 * item.size[axis], item.at[axis] + 0.5 * item.size[axis]];
        let patch = Patch { across: around(deck.across()), along: around(deck.along) };
        if let Some(case) = cases.last_mut() {
            case.patches.push((solid(patch.moved_onto(deck)), item.mass_kg * GRAVITY));
        }
    }
}
