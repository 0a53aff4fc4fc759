//! Load cases as forces on members. The only place where kilograms become newtons.

use super::patch;
use crate::design::vector::{dot, scale, sub, to_local};
use crate::design::{Action, Axes, Design, Frame, LoadKind, Posture, Stowage, Vector};

/// Standard gravity, m/s² (ISO 80000-3), so newtons of a kilogram.
pub const GRAVITY: f64 = 9.80665;
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
    /// Loads by member index, sorted by member.
    pub loads: Vec<(usize, MemberLoad)>,
}

impl LoadCase {
    fn new(name: impl Into<String>, action: Action) -> Self {
        Self { name: name.into(), action, people: false, settlement: false, loads: Vec::new() }
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

/// All load cases of a frame: own weight first, settlements, gear, people, then given ones in their order.
pub fn cases(frame: &Frame) -> Vec<LoadCase> {
    made(frame, true)
}

/// The load cases that are the weight of a mass: forces and pressures given outright are left out.
pub fn masses(frame: &Frame) -> Vec<LoadCase> {
    made(frame, false)
}

fn made(frame: &Frame, forces: bool) -> Vec<LoadCase> {
    let design = frame.design();
    let mut cases = vec![own_weight(frame)];
    if frame.anchors.iter().any(|a| a.settlement.iter().any(|s| *s != 0.0)) {
        cases.push(LoadCase { settlement: true, ..LoadCase::new("settlement", Action::Permanent) });
    }
    cases.extend(gear(frame));
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
                    patch::spread(frame, deck, patch, force * share, &mut case.loads);
                }
            }
        }
        cases.push(case);
    }
    given(frame, &mut cases, forces);
    for case in &mut cases {
        // Stable, so that a member's loads keep the order of the design.
        case.loads.sort_by_key(|l| l.0);
    }
    cases
}

fn deck_index(design: &Design, tag: &str) -> Option<usize> {
    design.decks.iter().position(|d| d.tag == tag)
}

/// Members, decks, bedding and fixed kit.
fn own_weight(frame: &Frame) -> LoadCase {
    let design = frame.design();
    let mut case = LoadCase::new("own weight", Action::Permanent);
    for (index, member) in frame.members.iter().enumerate() {
        let line = member.mass_kg() / member.length_mm * GRAVITY;
        if line > 0.0 {
            let value = to_local(&member.axes, [0.0, 0.0, -line]);
            case.loads.push((index, MemberLoad::Line { from: 0.0, to: member.length_mm, start: value, end: value }));
        }
    }
    for (deck, stated) in frame.decks.iter().zip(&design.decks) {
        let force = (deck.mass_kg_m2 * deck.area_m2() + stated.bedding_kg) * GRAVITY;
        patch::spread(
            frame,
            deck,
            patch::Patch { across: deck.across_mm, along: deck.along_mm },
            force,
            &mut case.loads,
        );
    }
    case
}

/// Gear that lies on the frame: each box an action of its own, or all one when there are many.
fn gear(frame: &Frame) -> Vec<LoadCase> {
    let design = frame.design();
    let aboard: Vec<&Stowage> = design.stowage.iter().filter(|s| s.on.is_some() && s.mass_kg > 0.0).collect();
    let together = aboard.len() > SEPARATE_BOXES;
    let mut cases: Vec<LoadCase> = Vec::new();
    for item in aboard {
        if cases.is_empty() || !together {
            cases.push(LoadCase::new(if together { "gear" } else { &item.name }, Action::Stowage));
        }
        if let Some(case) = cases.last_mut() {
            place_box(frame, item, &mut case.loads);
        }
    }
    cases
}

fn place_box(frame: &Frame, item: &Stowage, loads: &mut Vec<(usize, MemberLoad)>) {
    let design = frame.design();
    let Some(on) = &item.on else { return };
    let force = item.mass_kg * GRAVITY;
    if let Some(deck) = deck_index(design, on).and_then(|i| frame.decks.get(i)) {
        let around = |axis: usize| [item.at[axis] - 0.5 * item.size[axis], item.at[axis] + 0.5 * item.size[axis]];
        let patch = patch::Patch { across: around(deck.across()), along: around(deck.along) };
        patch::spread(frame, deck, patch.moved_onto(deck), force, loads);
    } else if let Some(index) = frame.member(on) {
        let member = &frame.members[index];
        let at = dot(sub(item.at, member.from), member.axes[0]).clamp(0.0, member.length_mm);
        loads.push((
            index,
            MemberLoad::Point { at, force: to_local(&member.axes, [0.0, 0.0, -force]), moment: [0.0; 3] },
        ));
    }
}

/// Loads given outright; masses fixed to members join the own weight.
fn given(frame: &Frame, cases: &mut Vec<LoadCase>, forces: bool) {
    let design = frame.design();
    for load in design.loads.iter().filter(|l| forces || matches!(l.what, LoadKind::Mass { .. })) {
        let found = cases.iter().position(|c| c.name == load.case && c.action == load.action && !c.people);
        let index = found.unwrap_or(cases.len());
        if found.is_none() {
            cases.push(LoadCase::new(load.case.clone(), load.action));
        }
        let loads = &mut cases[index].loads;
        match &load.what {
            LoadKind::Point { member, at_mm, force_n, moment_n_mm, axes } => {
                let Some(member) = frame.member(member) else { continue };
                let turn = |v: Vector| turned(frame, member, *axes, v);
                let at = at_mm.clamp(0.0, frame.members[member].length_mm);
                loads.push((member, MemberLoad::Point { at, force: turn(*force_n), moment: turn(*moment_n_mm) }));
            }
            LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, axes } => {
                let Some(member) = frame.member(member) else { continue };
                let turn = |v: Vector| turned(frame, member, *axes, v);
                let clamp = |at: f64| at.clamp(0.0, frame.members[member].length_mm);
                let (from, to) = (clamp(*from_mm), clamp(*to_mm));
                loads.push((member, MemberLoad::Line { from, to, start: turn(*start_n_mm), end: turn(*end_n_mm) }));
            }
            LoadKind::Mass { member, at_mm, mass_kg } => {
                let Some(member) = frame.member(member) else { continue };
                let force = turned(frame, member, Axes::Vehicle, scale([0.0, 0.0, -1.0], mass_kg * GRAVITY));
                let at = at_mm.clamp(0.0, frame.members[member].length_mm);
                loads.push((member, MemberLoad::Point { at, force, moment: [0.0; 3] }));
            }
            LoadKind::Area { deck, pressure_n_mm2 } => {
                let Some(deck) = deck_index(design, deck).and_then(|i| frame.decks.get(i)) else { continue };
                let force = pressure_n_mm2 * deck.area_m2() * 1e6;
                patch::spread(frame, deck, patch::Patch { across: deck.across_mm, along: deck.along_mm }, force, loads);
            }
        }
    }
}

fn turned(frame: &Frame, member: usize, axes: Axes, vector: Vector) -> Vector {
    match axes {
        Axes::Member => vector,
        Axes::Vehicle => to_local(&frame.members[member].axes, vector),
    }
}
