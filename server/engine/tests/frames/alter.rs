//! The same frame said differently: members turned end for end, shuffled, cut in two, the whole turned in plan; and the
//! results of the changed frame said in the terms of the old one.

use crate::chance::Chance;
use crate::vectors::{add, length, point, scale, sub, unit};
use crate::{build, read};
use battenboard_engine::design::{Axes, Design, Hold, LoadKind, Member, Vector};
use battenboard_engine::findings::{MemberResults, PlaceResults, StateResults};

/// Turns the named members end for end, their depth pointing the same way.
pub fn reversed(design: &Design, tags: &[&str]) -> Design {
    let mut design = design.clone();
    let mut lengths = Vec::new();
    for member in design.members.iter_mut().filter(|member| tags.contains(&member.tag.as_str())) {
        lengths.push((member.tag.clone(), length(member)));
        std::mem::swap(&mut member.from, &mut member.to);
        member.roll_deg = -member.roll_deg;
    }
    let back = |tag: &str, at: f64| {
        lengths.iter().find(|(known, _)| known == tag).map_or(at, |(_, length)| (length - at).max(0.0))
    };
    let turned = |tag: &str| lengths.iter().any(|(known, _)| known == tag);
    for joint in &mut design.joints {
        joint.at_mm = joint.at_mm.map(|at| back(&joint.member, at));
        joint.on_at_mm = joint.on_at_mm.map(|at| back(&joint.on, at));
    }
    for anchor in &mut design.anchors {
        anchor.at_mm = back(&anchor.member, anchor.at_mm);
    }
    // Local x and y point the other way, z the same.
    let flip = |axes: Axes, v: Vector| if axes == Axes::Member { [-v[0], -v[1], v[2]] } else { v };
    for load in &mut design.loads {
        match &mut load.what {
            LoadKind::Point { member, at_mm, force_n, moment_n_mm, axes } if turned(member) => {
                *at_mm = back(member, *at_mm);
                *force_n = flip(*axes, *force_n);
                *moment_n_mm = flip(*axes, *moment_n_mm);
            }
            LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, axes } if turned(member) => {
                (*from_mm, *to_mm) = (back(member, *to_mm), back(member, *from_mm));
                (*start_n_mm, *end_n_mm) = (flip(*axes, *end_n_mm), flip(*axes, *start_n_mm));
            }
            _ => {}
        }
    }
    design
}

/// Results of [`reversed`] in the terms of the frame before.
pub fn reversed_back(state: &StateResults, tags: &[&str]) -> StateResults {
    let mut state = state.clone();
    for member in state.members.iter_mut().filter(|member| tags.contains(&member.tag.as_str())) {
        let whole = member.places.last().map_or(0.0, |place| place.at_mm);
        member.places.reverse();
        for place in &mut member.places {
            place.at_mm = (whole - place.at_mm).max(0.0);
            // The face looks the other way and so do x and y: N, Vy, T and My keep their sign.
            let flip = |forces| {
                let [n, vy, vz, t, my, mz] = read::six(forces);
                read::resultants([n, vy, -vz, t, my, -mz])
            };
            (place.forces_before, place.forces_after) = (flip(place.forces_after), flip(place.forces_before));
        }
    }
    state
}

/// Members, joints, anchors, loads and stocks in another order.
pub fn shuffled(design: &Design, chance: &mut Chance) -> Design {
    fn mix<T: Clone>(items: &[T], chance: &mut Chance) -> Vec<T> {
        chance.shuffled(items.len()).into_iter().map(|index| items[index].clone()).collect()
    }
    Design {
        stock: mix(&design.stock, chance),
        members: mix(&design.members, chance),
        joints: mix(&design.joints, chance),
        anchors: mix(&design.anchors, chance),
        loads: mix(&design.loads, chance),
        ..design.clone()
    }
}

/// Tag of the second part of a member that was cut.
fn rest(tag: &str) -> String {
    format!("{tag}x")
}

/// Cuts a member in two that are joined rigidly.
pub fn cut(design: &Design, tag: &str, at: f64) -> Design {
    let mut design = design.clone();
    let index = design.members.iter().position(|member| member.tag == tag).expect("known member");
    let middle = point(&design.members[index], at);
    let whole = length(&design.members[index]);
    let second = Member { tag: rest(tag), from: middle, ..design.members[index].clone() };
    design.members[index].to = middle;
    design.members.push(second);
    let moved = |member: &mut String, place: &mut f64| {
        if member == tag && *place > at {
            *member = rest(tag);
            *place = (*place - at).min(whole - at);
        }
    };
    for joint in &mut design.joints {
        let (mut carried, mut carrying) = (joint.at_mm.expect("given"), joint.on_at_mm.expect("given"));
        moved(&mut joint.member, &mut carried);
        moved(&mut joint.on, &mut carrying);
        (joint.at_mm, joint.on_at_mm) = (Some(carried), Some(carrying));
    }
    for anchor in &mut design.anchors {
        moved(&mut anchor.member, &mut anchor.at_mm);
    }
    let mut further = Vec::new();
    for load in &mut design.loads {
        match &mut load.what {
            LoadKind::Point { member, at_mm, .. } => moved(member, at_mm),
            LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, .. } if member == tag && *to_mm > at => {
                if *from_mm >= at {
                    *member = rest(tag);
                    (*from_mm, *to_mm) = (*from_mm - at, (*to_mm - at).min(whole - at));
                    continue;
                }
                let share = (at - *from_mm) / (*to_mm - *from_mm);
                let value = add(scale(*start_n_mm, 1.0 - share), scale(*end_n_mm, share));
                let mut second = load.clone();
                if let LoadKind::Line { member, from_mm, to_mm, start_n_mm, .. } = &mut second.what {
                    *member = rest(tag);
                    (*from_mm, *to_mm, *start_n_mm) = (0.0, (*to_mm - at).min(whole - at), value);
                }
                further.push(second);
                if let LoadKind::Line { to_mm, end_n_mm, .. } = &mut load.what {
                    (*to_mm, *end_n_mm) = (at, value);
                }
            }
            _ => {}
        }
    }
    design.loads.extend(further);
    let name = format!("cut-{tag}");
    design.joints.push(build::joint(&name, (&rest(tag), 0.0), (tag, at), Hold::Rigid, Axes::Member));
    design
}

/// Results of [`cut`] in the terms of the frame before.
pub fn cut_back(state: &StateResults, tag: &str, at: f64) -> StateResults {
    let mut state = state.clone();
    let second = state.members.iter().position(|member| member.tag == rest(tag)).expect("the second part");
    let second = state.members.remove(second);
    let first = state.members.iter_mut().find(|member| member.tag == tag).expect("the first part");
    let mut places = second.places.into_iter().map(|place| PlaceResults { at_mm: place.at_mm + at, ..place });
    let begins = places.next().expect("a member has places");
    if let Some(last) = first.places.last_mut() {
        last.forces_after = begins.forces_after;
    }
    first.places.extend(places);
    state.joints.retain(|joint| joint.tag != format!("cut-{tag}"));
    state
}

/// Turns a vector in plan.
pub fn turned_vector(v: Vector, angle: f64) -> Vector {
    let (sine, cosine) = angle.sin_cos();
    [cosine * v[0] - sine * v[1], sine * v[0] + cosine * v[1], v[2]]
}

/// Turns the whole frame and its loads in plan about the origin. All stated holds must be in member axes.
pub fn turned(design: &Design, angle: f64) -> Design {
    let mut design = design.clone();
    let stated = |hold: &Hold| matches!(hold, Hold::Given(_));
    let told = design.joints.iter().map(|j| (j.hold, j.axes)).chain(design.anchors.iter().map(|a| (a.hold, a.axes)));
    for (hold, axes) in told {
        assert!(!stated(&hold) || axes == Axes::Member, "a hold in vehicle axes cannot be turned");
    }
    for member in &mut design.members {
        // What `None` means depends on where the vehicle's x points, so it is said outright.
        let along = unit(sub(member.to, member.from));
        let upright = along[0].hypot(along[1]) < 1e-9;
        let up = member.up.unwrap_or(if upright { [1.0, 0.0, 0.0] } else { [0.0, 0.0, 1.0] });
        member.up = Some(turned_vector(up, angle));
        member.from = turned_vector(member.from, angle);
        member.to = turned_vector(member.to, angle);
    }
    let turn = |axes: Axes, v: &mut Vector| {
        if axes == Axes::Vehicle {
            *v = turned_vector(*v, angle);
        }
    };
    for load in &mut design.loads {
        match &mut load.what {
            LoadKind::Point { force_n, moment_n_mm, axes, .. } => {
                turn(*axes, force_n);
                turn(*axes, moment_n_mm);
            }
            LoadKind::Line { start_n_mm, end_n_mm, axes, .. } => {
                turn(*axes, start_n_mm);
                turn(*axes, end_n_mm);
            }
            _ => {}
        }
    }
    design
}

/// Results of [`turned`] in the terms of the frame before.
pub fn turned_back(state: &StateResults, angle: f64) -> StateResults {
    let back = |v: [f64; 6]| {
        let (slide, turn) = (turned_vector([v[0], v[1], v[2]], -angle), turned_vector([v[3], v[4], v[5]], -angle));
        [slide[0], slide[1], slide[2], turn[0], turn[1], turn[2]]
    };
    let mut state = state.clone();
    for MemberResults { places, .. } in &mut state.members {
        places.iter_mut().for_each(|place| place.displacement = back(place.displacement));
    }
    for forces in state.reactions.iter_mut().chain(&mut state.joints) {
        forces.force_n = turned_vector(forces.force_n, -angle);
        forces.moment_n_mm = turned_vector(forces.moment_n_mm, -angle);
    }
    state
}

/// Says every stated hold in member axes; the frame is another one afterwards.
pub fn holds_in_member_axes(design: &mut Design) {
    design.joints.iter_mut().for_each(|joint| joint.axes = Axes::Member);
    design.anchors.iter_mut().for_each(|anchor| anchor.axes = Axes::Member);
}
