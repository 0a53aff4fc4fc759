//! Single published quantities out of a state's results.

use crate::book::{Quantity, Wanted, direction};
use crate::convert::{Converted, anchor_tag, tag};
use crate::read;
use battenboard_engine::findings::StateResults;

/// A quantity of one state; `None` where it takes unit loads of its own.
pub fn value(made: &Converted, state: &StateResults, wanted: &Wanted) -> Option<f64> {
    let node_movement = |node: &str, dof: &str| {
        let (hub, at) = made.hub(node);
        read::place(state, hub, at).displacement[direction(dof)]
    };
    let ground = |node: &str, dof: &str| read::reaction(state, &anchor_tag(node))[direction(dof)];
    Some(match wanted {
        Wanted::Disp { node, dof } => node_movement(node, dof),
        Wanted::Absdisp { node, dof } => node_movement(node, dof).abs(),
        Wanted::Reaction { node, dof } => ground(node, dof),
        Wanted::Absreaction { node, dof } => ground(node, dof).abs(),
        Wanted::Mdisp { member, x, dof } => read::place(state, &tag(member), *x).displacement[direction(dof)],
        Wanted::Internal { member, x, comp } => internal(state, member, *x, comp),
        Wanted::Absinternal { member, x, comp } => internal(state, member, *x, comp).abs(),
        Wanted::Absend { member, end, comp } => {
            let at = if end == "i" { 0.0 } else { made.length(&tag(member)) };
            internal(state, member, at, comp).abs()
        }
        Wanted::Max { members, comp } => largest(state, members, comp),
        Wanted::Maxabs { members, comp } => largest_size(state, members, comp),
        Wanted::Influence { .. } | Wanted::MovingMax { .. } => return None,
    })
}

/// A quantity for a unit load.
pub fn quantity(state: &StateResults, wanted: &Quantity) -> f64 {
    match wanted {
        Quantity::Reaction { node, dof } => read::reaction(state, &anchor_tag(node))[direction(dof)],
        Quantity::Internal { member, x, comp } => internal(state, member, *x, comp),
        Quantity::Extreme { members, comp, which } => {
            assert_eq!(which, "max");
            largest(state, members, comp)
        }
    }
}

fn internal(state: &StateResults, member: &str, x: f64, comp: &str) -> f64 {
    component(read::six(read::forces(state, &tag(member), x)), comp)
}

fn largest(state: &StateResults, members: &[String], comp: &str) -> f64 {
    let (name, sign) = extreme(comp);
    let ends = members.iter().map(|member| {
        let (least, greatest) = read::extreme(state, &tag(member), name);
        if sign > 0.0 { greatest } else { -least }
    });
    ends.fold(f64::NEG_INFINITY, f64::max)
}

fn largest_size(state: &StateResults, members: &[String], comp: &str) -> f64 {
    let (name, _) = extreme(comp);
    let sizes = members.iter().map(|member| {
        let (least, greatest) = read::extreme(state, &tag(member), name);
        least.abs().max(greatest.abs())
    });
    sizes.fold(0.0, f64::max)
}

/// A stress resultant by the book's name for it: as a component, or as an end force in local axes.
fn component([n, vy, vz, t, my, mz]: [f64; 6], comp: &str) -> f64 {
    match comp {
        "N" | "Fx" => n,
        "Vy" | "Fy" => vy,
        "Vz" | "Fz" => vz,
        "T" | "Mx" => t,
        "My" => my,
        "Mz" => mz,
        "Msag" => -my,
        other => panic!("no stress resultant `{other}`"),
    }
}

/// The engine's name of a component's extreme, and its sign.
fn extreme(comp: &str) -> (&'static str, f64) {
    match comp {
        "My" => ("my", 1.0),
        "Msag" => ("my", -1.0),
        other => panic!("no extreme of `{other}` asked for so far"),
    }
}
