//! Masses as loads: what each weighs and what it pushes with when the vehicle brakes or turns.
//!
//! A push of 1 g is the mass times g, level, at the height of the mass. Over the axes of what carries it that is a
//! force and a couple. Members push at their axes. On a deck the force is spread as the weight is, and the couple is a
//! vertical pressure over the same patch, straight from less to more, of sum zero. On a single member the couple is a
//! moment at its axis. A push towards +x at height h turns about y by +F h, one towards +y about x by -F h.

use super::{GRAVITY, Loads, MemberLoad};
use crate::design::surface::{FrameDeck, MATTRESS_MM};
use crate::design::vector::{cross, dot, norm, scale, sub, to_local, to_vehicle};
use crate::design::{Frame, Stowage, Vector};
use crate::statics::patch::{self, Patch};

/// Unit vectors of the two level axes.
const LEVEL: [Vector; 2] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]];

/// A push of 1 g.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Push {
    /// The level force, spread as the weight is, with moments where it stands off a single member.
    pub even: Loads,
    /// The couple of its height over a deck's members.
    pub couple: Loads,
}

/// A mass that is one thing with one factor: a member, a deck with its bedding, a box, a fixed piece of kit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mass {
    /// Index of the standing case it weighs in.
    pub case: usize,
    /// Its weight.
    pub weight: Loads,
    /// Its pushes towards +x and +y.
    pub push: [Push; 2],
}

/// Members, and decks with their bedding.
pub fn own(frame: &Frame, masses: &mut Vec<Mass>) {
    for index in 0..frame.members.len() {
        masses.extend(member(frame, index));
    }
    for (deck, stated) in frame.decks.iter().zip(&frame.design().decks) {
        let surface_kg = deck.mass_kg_m2 * deck.area_m2();
        let on_top = deck.top_mm + deck.thickness_mm;
        let bedding_mm = on_top + 0.5 * stated.mattress_mm.unwrap_or(MATTRESS_MM);
        let mass_kg = surface_kg + stated.bedding_kg;
        if mass_kg > 0.0 {
            let surface_mm = deck.top_mm + 0.5 * deck.thickness_mm;
            let height_mm = (surface_kg * surface_mm + stated.bedding_kg * bedding_mm) / mass_kg;
            masses.push(on_deck(frame, deck, Patch::whole(deck), mass_kg, height_mm, 0));
        }
    }
}

/// A member's own mass, even along its axis.
fn member(frame: &Frame, index: usize) -> Option<Mass> {
    let member = &frame.members[index];
    let line = member.mass_kg() / member.length_mm * GRAVITY;
    let along = |direction: Vector| -> Loads {
        let value = to_local(&member.axes, scale(direction, line));
        vec![(index, MemberLoad::Line { from: 0.0, to: member.length_mm, start: value, end: value })]
    };
    (line > 0.0).then(|| Mass {
        case: 0,
        weight: along([0.0, 0.0, -1.0]),
        push: LEVEL.map(|axis| Push { even: along(axis), couple: Loads::new() }),
    })
}

/// A box that lies on a deck: its middle as stated, but at least half its height above the deck. One that hangs wholly
/// under the members' tops is taken where it is stated.
pub fn box_on_deck(frame: &Frame, deck: &FrameDeck, item: &Stowage, case: usize) -> Mass {
    let around = |axis: usize| [item.at[axis] - 0.5 * item.size[axis], item.at[axis] + 0.5 * item.size[axis]];
    let patch = Patch { across: around(deck.across()), along: around(deck.along) }.moved_onto(deck);
    let hangs = item.at[2] + 0.5 * item.size[2] <= deck.top_mm;
    let lying_mm = deck.top_mm + deck.thickness_mm + 0.5 * item.size[2];
    let height_mm = if hangs { item.at[2] } else { item.at[2].max(lying_mm) };
    on_deck(frame, deck, patch, item.mass_kg, height_mm, case)
}

/// A box on a single member: at the place nearest to its middle, pushing at its own height.
pub fn box_on_member(frame: &Frame, index: usize, item: &Stowage, case: usize) -> Mass {
    let member = &frame.members[index];
    let at_mm = dot(sub(item.at, member.from), member.axes[0]).clamp(0.0, member.length_mm);
    let arm_mm = item.at[2] - member.point(at_mm)[2];
    at_point(frame, index, at_mm, item.mass_kg, arm_mm, case)
}

/// A mass fixed to a member, at its axis.
pub fn on_member(frame: &Frame, index: usize, at_mm: f64, mass_kg: f64, case: usize) -> Mass {
    let at_mm = at_mm.clamp(0.0, frame.members[index].length_mm);
    at_point(frame, index, at_mm, mass_kg, 0.0, case)
}

fn at_point(frame: &Frame, index: usize, at: f64, mass_kg: f64, arm_mm: f64, case: usize) -> Mass {
    let axes = &frame.members[index].axes;
    let force_n = mass_kg * GRAVITY;
    let with = |direction: Vector, arm: f64| -> Loads {
        let force = scale(direction, force_n);
        let moment = to_local(axes, cross([0.0, 0.0, arm], force));
        vec![(index, MemberLoad::Point { at, force: to_local(axes, force), moment })]
    };
    let push = LEVEL.map(|axis| Push { even: with(axis, arm_mm), couple: Loads::new() });
    Mass { case, weight: with([0.0, 0.0, -1.0], 0.0), push }
}

/// A mass over a patch of a deck with its middle at a height (vehicle z).
fn on_deck(frame: &Frame, deck: &FrameDeck, patch: Patch, mass_kg: f64, height_mm: f64, case: usize) -> Mass {
    let force_n = mass_kg * GRAVITY;
    let mut mass = Mass { case, ..Mass::default() };
    patch::spread(frame, deck, patch, patch::down(force_n), &mut mass.weight);
    for (axis, push) in mass.push.iter_mut().enumerate() {
        patch::spread(frame, deck, patch, scale(LEVEL[axis], force_n), &mut push.even);
        couple(frame, deck, patch, axis, height_mm, push);
    }
    mass
}

/// Adds the couple of a push whose force stands at the members' axes but acts at a height. The pressure is scaled to
/// the moment its own loads make, so that moments agree also where a patch reaches past the members' ends.
fn couple(frame: &Frame, deck: &FrameDeck, patch: Patch, axis: usize, height_mm: f64, push: &mut Push) {
    let arms = |(index, load): &(usize, MemberLoad)| {
        let member = &frame.members[*index];
        to_vehicle(&member.axes, load.force())[axis] * (height_mm - member.from[2])
    };
    let wanted: f64 = push.even.iter().map(arms).sum();
    let mut tilted = Loads::new();
    patch::tilt(frame, deck, patch, axis, &mut tilted);
    let made = -tilted.iter().map(|(index, load)| moment_of_z(frame, *index, load, axis)).sum::<f64>();
    // Where all of it falls on one place its arm is nothing but rounding.
    let reach: f64 = tilted.iter().map(|(_, load)| norm(load.force())).sum::<f64>() * 1e-6;
    if made > reach {
        push.couple.extend(tilted.into_iter().map(|(index, load)| (index, times(load, wanted / made))));
    } else {
        let standing: Vec<(usize, MemberLoad)> = push.even.clone();
        push.couple.extend(standing.iter().map(|load| as_moment(frame, load, height_mm)));
    }
}

/// Moment of a load's upward force: the sum of force times place along a vehicle axis, N·mm.
fn moment_of_z(frame: &Frame, index: usize, load: &MemberLoad, axis: usize) -> f64 {
    let member = &frame.members[index];
    let up = |local: Vector| to_vehicle(&member.axes, local)[2];
    let place = |at: f64| member.point(at)[axis];
    match load {
        MemberLoad::Point { at, force, .. } => up(*force) * place(*at),
        MemberLoad::Line { from, to, start, end } => {
            let (q1, q2, s1, s2) = (up(*start), up(*end), place(*from), place(*to));
            (to - from) / 6.0 * (q1 * (2.0 * s1 + s2) + q2 * (s1 + 2.0 * s2))
        }
    }
}

fn times(load: MemberLoad, factor: f64) -> MemberLoad {
    match load {
        MemberLoad::Point { at, force, moment } => {
            MemberLoad::Point { at, force: scale(force, factor), moment: scale(moment, factor) }
        }
        MemberLoad::Line { from, to, start, end } => {
            MemberLoad::Line { from, to, start: scale(start, factor), end: scale(end, factor) }
        }
    }
}

/// The couple of a load that acts at a height, as a moment at its middle: where a patch has no length to press on.
fn as_moment(frame: &Frame, (index, load): &(usize, MemberLoad), height_mm: f64) -> (usize, MemberLoad) {
    let member = &frame.members[*index];
    let at = match load {
        MemberLoad::Point { at, .. } => *at,
        MemberLoad::Line { from, to, .. } => 0.5 * (from + to),
    };
    let arm = [0.0, 0.0, height_mm - member.from[2]];
    let moment = cross(arm, to_vehicle(&member.axes, load.force()));
    (*index, MemberLoad::Point { at, force: [0.0; 3], moment: to_local(&member.axes, moment) })
}
