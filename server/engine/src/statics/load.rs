//! Load cases as forces on members. The only place where kilograms become newtons.
//!
//! Masses come as [`Mass`]: their weight and what they push with on the road. Standing cases hold weights and loads as
//! they rest; behind them come cases that only the road combines ([`Role`]).

pub mod mass;

use super::patch;
use crate::design::vector::to_local;
use crate::design::{Action, Axes, Design, Frame, LoadKind, Posture, Stowage, Vector};
pub use mass::Mass;

/// Standard gravity, m/s² (ISO 80000-3), so newtons of a kilogram.
pub const GRAVITY: f64 = 9.80665;

/// What a mass weighs, N.
pub fn weight_n(mass_kg: f64) -> f64 {
    mass_kg * GRAVITY
}

/// Mass of a person where the design says nothing, kg (common practice, no source).
pub const PERSON_KG: f64 = 100.0;
/// Up to this many boxes each are an action of their own; more are one.
const SEPARATE_BOXES: usize = 3;

/// A load on a member, in its local axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MemberLoad {
    /// Force (N) and moment (N·mm) at a place.
    Point {
        /// mm from the member's start.
        at: f64,
        /// Force.
        force: Vector,
        /// Moment.
        moment: Vector,
    },
    /// Line load (N/mm) from a place to another, straight between its end values.
    Line {
        /// Where it begins.
        from: f64,
        /// Where it ends.
        to: f64,
        /// Value where it begins.
        start: Vector,
        /// Value where it ends.
        end: Vector,
    },
}

impl MemberLoad {
    /// Resultant force, local axes.
    pub fn force(&self) -> Vector {
        match self {
            Self::Point { force, .. } => *force,
            Self::Line { from, to, start, end } => [0, 1, 2].map(|i| 0.5 * (start[i] + end[i]) * (to - from)),
        }
    }
}

/// Loads with the member each is on.
pub type Loads = Vec<(usize, MemberLoad)>;

/// What a load case is there for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Role {
    /// Weights and loads as they rest.
    #[default]
    Standing,
    /// For the road alone: the weight of the masses in a standing case (its index) that holds loads in newtons, too.
    Weight(usize),
    /// For the road alone: the push of 1 g of a standing case's masses (its index) towards +x (0) or +y (1).
    Push(usize, usize),
}

/// Loads that are present together.
#[derive(Clone, Debug)]
pub struct LoadCase {
    /// Its name.
    pub name: String,
    /// Kind of action.
    pub action: Action,
    /// True for what people do: at most one such case at a time.
    pub people: bool,
    /// True for the movements forced on anchors.
    pub settlement: bool,
    /// What it is there for.
    pub role: Role,
    /// Loads by member index, sorted by member.
    pub loads: Loads,
}

impl LoadCase {
    fn new(name: impl Into<String>, action: Action) -> Self {
        let role = Role::Standing;
        Self { name: name.into(), action, people: false, settlement: false, role, loads: Vec::new() }
    }

    /// Loads that are present together, sorted by member, as a case of no name.
    pub fn of(loads: Vec<(usize, MemberLoad)>) -> Self {
        Self { loads, ..Self::new("", Action::Permanent) }
    }

    /// Loads on one member.
    pub fn on(&self, member: usize) -> &[(usize, MemberLoad)] {
        let first = self.loads.partition_point(|l| l.0 < member);
        let last = self.loads.partition_point(|l| l.0 <= member);
        &self.loads[first..last]
    }
}

/// The standing cases with what is given in newtons alone, and the masses.
#[derive(Clone, Debug, Default)]
pub struct Parts {
    /// Own weight first, settlements, gear, people, then given ones in their order; without the weight of masses.
    pub cases: Vec<LoadCase>,
    /// All masses but people's.
    pub masses: Vec<Mass>,
}

/// All load cases of a frame: own weight first, settlements, gear, people, then given ones in their order; behind them
/// those of the road.
pub fn cases(frame: &Frame) -> Vec<LoadCase> {
    let parts = parts(frame);
    let road: Vec<LoadCase> =
        (0..parts.cases.len()).flat_map(|case| on_the_road(&parts.cases, &parts.masses, case)).collect();
    let mut cases = weighed(parts);
    cases.extend(road);
    sort(&mut cases);
    cases
}

/// The standing cases that are the weight of a mass, people among them: what is given in newtons is left out.
pub fn masses(frame: &Frame) -> Vec<LoadCase> {
    let mut cases = weighed(made(frame, false));
    sort(&mut cases);
    cases
}

/// The standing cases with the weight of their masses.
fn weighed(parts: Parts) -> Vec<LoadCase> {
    let Parts { mut cases, masses } = parts;
    for mass in &masses {
        cases[mass.case].loads.extend(&mass.weight);
    }
    cases
}

/// By members; stable, so that a member's loads keep the order of the design.
fn sort(cases: &mut [LoadCase]) {
    cases.iter_mut().for_each(|case| case.loads.sort_by_key(|load| load.0));
}

/// What the road needs of a standing case; nothing where it holds no mass that is aboard while driving.
fn on_the_road(cases: &[LoadCase], masses: &[Mass], index: usize) -> Vec<LoadCase> {
    let case = &cases[index];
    let own: Vec<&Mass> = masses.iter().filter(|m| m.case == index).collect();
    if own.is_empty() || !matches!(case.action, Action::Permanent | Action::Stowage) {
        return Vec::new();
    }
    let with = |what: &str, role: Role, loads: Loads| LoadCase {
        role,
        loads,
        ..LoadCase::new(format!("{}, {what}", case.name), case.action)
    };
    let mut made = Vec::new();
    if !case.loads.is_empty() {
        let weight = own.iter().flat_map(|m| m.weight.iter().copied()).collect();
        made.push(with("masses alone", Role::Weight(index), weight));
    }
    for (axis, what) in ["1 g rearwards", "1 g to the right"].into_iter().enumerate() {
        let push = |m: &&Mass| -> Loads { m.push[axis].even.iter().chain(&m.push[axis].couple).copied().collect() };
        made.push(with(what, Role::Push(index, axis), own.iter().flat_map(push).collect()));
    }
    made
}

/// The standing cases and the masses of a frame, apart.
pub fn parts(frame: &Frame) -> Parts {
    made(frame, true)
}

/// The same, with or without what is given in newtons.
fn made(frame: &Frame, newtons: bool) -> Parts {
    let mut parts = Parts::default();
    parts.cases.push(LoadCase::new("own weight", Action::Permanent));
    mass::own(frame, &mut parts.masses);
    if frame.anchors.iter().any(|a| a.settlement.iter().any(|s| *s != 0.0)) {
        parts.cases.push(LoadCase { settlement: true, ..LoadCase::new("settlement", Action::Permanent) });
    }
    gear(frame, &mut parts);
    people(frame, &mut parts.cases);
    given(frame, &mut parts, newtons);
    parts
}

fn deck_index(design: &Design, tag: &str) -> Option<usize> {
    design.decks.iter().position(|d| d.tag == tag)
}

/// Gear that lies on the frame: each box an action of its own, or all one when there are many.
fn gear(frame: &Frame, parts: &mut Parts) {
    let design = frame.design();
    let aboard: Vec<&Stowage> = design.stowage.iter().filter(|s| s.on.is_some() && s.mass_kg > 0.0).collect();
    let together = aboard.len() > SEPARATE_BOXES;
    for (index, item) in aboard.into_iter().enumerate() {
        if index == 0 || !together {
            parts.cases.push(LoadCase::new(if together { "gear" } else { &item.name }, Action::Stowage));
        }
        let case = parts.cases.len() - 1;
        let deck = item.on.as_deref().and_then(|on| deck_index(design, on));
        if let Some(deck) = deck.and_then(|i| frame.decks.get(i)) {
            parts.masses.push(mass::box_on_deck(frame, deck, item, case));
        } else if let Some(member) = item.on.as_deref().and_then(|on| frame.member(on)) {
            parts.masses.push(mass::box_on_member(frame, member, item, case));
        }
    }
}

/// What people do, entry by entry.
fn people(frame: &Frame, cases: &mut Vec<LoadCase>) {
    let design = frame.design();
    for entry in &design.people {
        let (name, action) = match entry.posture {
            Posture::Lying => (&entry.name, Action::Lying),
            Posture::Sitting | Posture::Kneeling => (&entry.name, Action::Moving),
        };
        let mut case = LoadCase { people: true, ..LoadCase::new(name.clone(), action) };
        let force = entry.mass_kg.or(design.settings.person_kg).unwrap_or(PERSON_KG) * GRAVITY;
        if let Some(deck) = deck_index(design, &entry.deck).and_then(|i| frame.decks.get(i)) {
            for at in &entry.at_mm {
                for (patch, share) in patch::person(deck, entry.posture, entry.heads, *at) {
                    patch::spread(frame, deck, patch, patch::down(force * share), &mut case.loads);
                }
            }
        }
        cases.push(case);
    }
}

/// Loads given outright; masses fixed to members join the case of their name. Without newtons the other cases stay empty.
fn given(frame: &Frame, parts: &mut Parts, newtons: bool) {
    for load in &frame.design().loads {
        let found = parts.cases.iter().position(|c| c.name == load.case && c.action == load.action && !c.people);
        let case = found.unwrap_or(parts.cases.len());
        if found.is_none() {
            parts.cases.push(LoadCase::new(load.case.clone(), load.action));
        }
        if let LoadKind::Mass { member, at_mm, mass_kg } = &load.what {
            if let Some(member) = frame.member(member).filter(|_| *mass_kg > 0.0) {
                parts.masses.push(mass::on_member(frame, member, *at_mm, *mass_kg, case));
            }
        } else if newtons {
            in_newtons(frame, &load.what, &mut parts.cases[case].loads);
        }
    }
}

fn in_newtons(frame: &Frame, what: &LoadKind, loads: &mut Loads) {
    match what {
        LoadKind::Point { member, at_mm, force_n, moment_n_mm, axes } => {
            let Some(member) = frame.member(member) else { return };
            let turn = |v: Vector| turned(frame, member, *axes, v);
            let at = at_mm.clamp(0.0, frame.members[member].length_mm);
            loads.push((member, MemberLoad::Point { at, force: turn(*force_n), moment: turn(*moment_n_mm) }));
        }
        LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, axes } => {
            let Some(member) = frame.member(member) else { return };
            let turn = |v: Vector| turned(frame, member, *axes, v);
            let clamp = |at: f64| at.clamp(0.0, frame.members[member].length_mm);
            let (from, to) = (clamp(*from_mm), clamp(*to_mm));
            loads.push((member, MemberLoad::Line { from, to, start: turn(*start_n_mm), end: turn(*end_n_mm) }));
        }
        LoadKind::Area { deck, pressure_n_mm2 } => {
            let Some(deck) = deck_index(frame.design(), deck).and_then(|i| frame.decks.get(i)) else { return };
            let force = pressure_n_mm2 * deck.area_m2() * 1e6;
            patch::spread(frame, deck, patch::Patch::whole(deck), patch::down(force), loads);
        }
        LoadKind::Mass { .. } => {}
    }
}

fn turned(frame: &Frame, member: usize, axes: Axes, vector: Vector) -> Vector {
    match axes {
        Axes::Member => vector,
        Axes::Vehicle => to_local(&frame.members[member].axes, vector),
    }
}

#[cfg(test)]
mod tests;
