//! Random space frames: a tree of members grown from one anchored at its foot, then closing members and further
//! anchors; joints rigid, springy or partly free, axes that do not meet, sections turned every way.

use crate::chance::Chance;
use crate::{build, vectors};
use battenboard_engine::design::{Action, Axes, Design, Grip, Hold, Load, LoadKind, Member, Vector};

/// What a random frame may contain.
#[derive(Clone, Copy, Debug)]
pub struct Kinds {
    /// Members of the tree.
    pub members: usize,
    /// Members that close loops, each at most springy or partly free.
    pub closing: usize,
    /// Anchors beside the first.
    pub anchors: usize,
    /// Springy grips where a joint or anchor is not rigid.
    pub springs: bool,
    /// Movement forced on some anchors.
    pub settlement: bool,
    /// Load cases.
    pub cases: usize,
}

impl Kinds {
    /// A mix that differs with the seed.
    pub fn mixed(chance: &mut Chance) -> Self {
        Self {
            members: 1 + chance.below(6),
            closing: chance.below(3),
            anchors: chance.below(4),
            springs: chance.percent(70),
            settlement: false,
            cases: 1 + chance.below(3),
        }
    }

    /// A tree alone, held by its first anchor only: statically determinate.
    pub fn tree(members: usize) -> Self {
        Self { members, closing: 0, anchors: 0, springs: false, settlement: false, cases: 1 }
    }
}

/// Name of a load case by its number.
pub fn case_name(number: usize) -> String {
    format!("case {number}")
}

/// Tag of a member by its number.
pub fn tag(number: usize) -> String {
    format!("M{number}")
}

/// A frame that cannot move: the tree's joints hold all six directions and its foot is held in all six.
pub fn frame(seed: u64, kinds: Kinds) -> Design {
    let mut chance = Chance::new(seed);
    let mut design = build::blank(&format!("random-{seed}"));
    put_stocks(&mut design, &mut chance);
    let foot = [chance.between(0.0, 2000.0), chance.between(-500.0, 500.0), chance.between(0.0, 300.0)];
    put_member(&mut design, &mut chance, foot, None);
    let hold = full_hold(&mut chance, kinds.springs);
    design.anchors.push(build::anchor("A0", &tag(0), 0.0, hold));
    for _ in 1..kinds.members {
        grow(&mut design, &mut chance, kinds.springs);
    }
    for _ in 0..kinds.closing {
        close(&mut design, &mut chance);
    }
    for number in 0..kinds.anchors {
        put_anchor(&mut design, &mut chance, number + 1);
    }
    if kinds.settlement {
        settle(&mut design, &mut chance);
    }
    for number in 0..kinds.cases {
        put_loads(&mut design, &mut chance, &case_name(number));
    }
    design
}

fn put_stocks(design: &mut Design, chance: &mut Chance) {
    for (name, e, g) in [("timber", 9_000.0, 560.0), ("steel", 210_000.0, 81_000.0)] {
        let (width, depth) = (chance.between(30.0, 60.0), chance.between(40.0, 120.0));
        design.stock.push(build::stock(name, e, g, build::rectangle(width, depth)));
    }
    let (width, depth) = (chance.between(20.0, 60.0), chance.between(40.0, 90.0));
    let mut slender = build::rectangle(width, depth);
    (slender.shear_area_y_mm2, slender.shear_area_z_mm2) = (None, None);
    design.stock.push(build::stock("no shear", 11_000.0, 690.0, slender));
}

/// A member from a place to a chance point, or to the point given.
fn put_member(design: &mut Design, chance: &mut Chance, from: Vector, to: Option<Vector>) {
    let to = to.unwrap_or_else(|| {
        let reach = chance.between(300.0, 1500.0);
        // Many members of real frames run along an axis or stand upright; so do some here.
        let direction = match chance.below(8) {
            0 => [1.0, 0.0, 0.0],
            1 => [0.0, -1.0, 0.0],
            2 | 3 => [0.0, 0.0, 1.0],
            _ => chance.direction(),
        };
        vectors::add(from, vectors::scale(direction, reach))
    });
    let along = vectors::unit(vectors::sub(to, from));
    let up = chance.percent(50).then(|| away_from(along, chance));
    let roll = if chance.percent(50) { chance.between(-180.0, 180.0) } else { 0.0 };
    let stock = design.stock[chance.below(design.stock.len())].name.clone();
    let member = Member { up, roll_deg: roll, ..build::member(&tag(design.members.len()), &stock, from, to) };
    design.members.push(member);
}

/// A direction well away from a member's own.
fn away_from(along: Vector, chance: &mut Chance) -> Vector {
    loop {
        let direction = chance.direction();
        if vectors::norm(vectors::cross(direction, along)) > 0.3 {
            return direction;
        }
    }
}

/// A hold of all six directions, rigid or with some springs among them.
pub fn full_hold(chance: &mut Chance, springs: bool) -> Hold {
    if !springs || chance.percent(40) {
        return Hold::Rigid;
    }
    Hold::Given(std::array::from_fn(
        |direction| {
            if chance.percent(60) { Grip::Rigid } else { spring(chance, direction) }
        },
    ))
}

fn spring(chance: &mut Chance, direction: usize) -> Grip {
    Grip::Spring(if direction < 3 { chance.decades(3e2, 3e4) } else { chance.decades(3e7, 3e9) })
}

/// Any hold, most of them partly free.
fn any_hold(chance: &mut Chance) -> Hold {
    match chance.below(5) {
        0 => Hold::Rigid,
        1 => Hold::Pinned,
        2 => Hold::Seated,
        _ => Hold::Given(std::array::from_fn(|direction| match chance.below(3) {
            0 => Grip::Free,
            1 => Grip::Rigid,
            _ => spring(chance, direction),
        })),
    }
}

fn any_axes(chance: &mut Chance) -> Axes {
    if chance.percent(50) { Axes::Vehicle } else { Axes::Member }
}

/// A place along a member: often an end, otherwise anywhere.
fn any_place(design: &Design, chance: &mut Chance, number: usize) -> f64 {
    let length = vectors::length(&design.members[number]);
    match chance.below(4) {
        0 => 0.0,
        1 => length,
        _ => chance.between(0.05, 0.95) * length,
    }
}

/// Places of a member that joints and anchors use.
fn used(design: &Design, number: usize) -> Vec<f64> {
    let tag = tag(number);
    let carried = design.joints.iter().filter(|joint| joint.member == tag).filter_map(|joint| joint.at_mm);
    let carrying = design.joints.iter().filter(|joint| joint.on == tag).filter_map(|joint| joint.on_at_mm);
    let anchored = design.anchors.iter().filter(|anchor| anchor.member == tag).map(|anchor| anchor.at_mm);
    carried.chain(carrying).chain(anchored).collect()
}

/// A place within a member that is at least 30 mm from all others.
pub fn clear_place(design: &Design, chance: &mut Chance, number: usize) -> Option<f64> {
    let (taken, whole) = (used(design, number), vectors::length(&design.members[number]));
    let mut tries = (0..50).map(|_| chance.between(30.0, whole - 30.0));
    tries.find(|at| taken.iter().all(|other| (at - other).abs() > 30.0))
}

/// A place that nothing uses yet. Two rigid holds that meet within no length at all would share a force in a way that
/// nothing decides, so that no two solvers need agree on it.
fn own_place(design: &Design, chance: &mut Chance, number: usize) -> f64 {
    let taken = used(design, number);
    loop {
        let at = any_place(design, chance, number);
        if taken.iter().all(|other| (at - other).abs() > 10.0) {
            return at;
        }
    }
}

/// An arm between the places of a joint: none, or up to 80 mm.
fn arm(chance: &mut Chance) -> Vector {
    if chance.percent(40) {
        return [0.0; 3];
    }
    let reach = chance.between(5.0, 80.0);
    chance.vector(reach)
}

/// A new member whose start is joined to an older one.
fn grow(design: &mut Design, chance: &mut Chance, springs: bool) {
    let on = chance.below(design.members.len());
    let on_at = any_place(design, chance, on);
    let start = vectors::add(vectors::point(&design.members[on], on_at), arm(chance));
    put_member(design, chance, start, None);
    let new = design.members.len() - 1;
    let (hold, axes) = (full_hold(chance, springs), any_axes(chance));
    let name = format!("J{new}");
    // Either side may carry: the arm is then on the other side.
    let joint = if chance.percent(70) {
        build::joint(&name, (&tag(new), 0.0), (&tag(on), on_at), hold, axes)
    } else {
        build::joint(&name, (&tag(on), on_at), (&tag(new), 0.0), hold, axes)
    };
    design.joints.push(joint);
}

/// A member between two older ones: its start holds all six directions, its end anything.
fn close(design: &mut Design, chance: &mut Chance) {
    if design.members.len() < 2 {
        return;
    }
    let order = chance.shuffled(design.members.len());
    let (first, second) = (order[0], order[1]);
    let (first_at, second_at) = (own_place(design, chance, first), own_place(design, chance, second));
    let from = vectors::add(vectors::point(&design.members[first], first_at), arm(chance));
    let to = vectors::add(vectors::point(&design.members[second], second_at), arm(chance));
    if vectors::norm(vectors::sub(to, from)) < 150.0 {
        return;
    }
    put_member(design, chance, from, Some(to));
    let new = design.members.len() - 1;
    let length = vectors::length(&design.members[new]);
    let (hold, axes) = (full_hold(chance, true), any_axes(chance));
    let near = build::joint(&format!("J{new}a"), (&tag(new), 0.0), (&tag(first), first_at), hold, axes);
    let (hold, axes) = (any_hold(chance), any_axes(chance));
    let far = build::joint(&format!("J{new}b"), (&tag(new), length), (&tag(second), second_at), hold, axes);
    design.joints.extend([near, far]);
}

fn put_anchor(design: &mut Design, chance: &mut Chance, number: usize) {
    let member = chance.below(design.members.len());
    let at = own_place(design, chance, member);
    let hold = any_hold(chance);
    let mut anchor = build::anchor(&format!("A{number}"), &tag(member), at, hold);
    anchor.axes = any_axes(chance);
    design.anchors.push(anchor);
}

fn settle(design: &mut Design, chance: &mut Chance) {
    for anchor in &mut design.anchors {
        let grips = match anchor.hold {
            Hold::Rigid => [Grip::Rigid; 6],
            Hold::Given(grips) => grips,
            // The turns that a pinned or seated hold leaves free must not be forced; neither of them is.
            Hold::Pinned | Hold::Seated => {
                let mut grips = [Grip::Free; 6];
                grips[..3].fill(Grip::Rigid);
                grips
            }
        };
        for (direction, grip) in grips.iter().enumerate() {
            if *grip != Grip::Free && chance.percent(50) {
                let most = if direction < 3 { 5.0 } else { 0.005 };
                anchor.settlement[direction] = chance.between(-most, most);
            }
        }
    }
}

fn put_loads(design: &mut Design, chance: &mut Chance, case: &str) {
    for _ in 0..1 + chance.below(4) {
        let number = chance.below(design.members.len());
        let length = vectors::length(&design.members[number]);
        let axes = any_axes(chance);
        let what = if chance.percent(50) {
            let (force, moment) = (chance.between(50.0, 1000.0), chance.between(0.0, 2e5));
            LoadKind::Point {
                member: tag(number),
                at_mm: any_place(design, chance, number),
                force_n: chance.vector(force),
                moment_n_mm: chance.vector(moment),
                axes,
            }
        } else {
            let (one, other) = (chance.between(0.0, 1.0) * length, chance.between(0.0, 1.0) * length);
            let whole = chance.percent(40) || (one - other).abs() < 20.0;
            let (start, end) = (chance.between(0.1, 2.0), chance.between(0.0, 2.0));
            LoadKind::Line {
                member: tag(number),
                from_mm: if whole { 0.0 } else { one.min(other) },
                to_mm: if whole { length } else { one.max(other) },
                start_n_mm: chance.vector(start),
                end_n_mm: chance.vector(end),
                axes,
            }
        };
        design.loads.push(Load { case: case.into(), action: Action::Permanent, what });
    }
}
